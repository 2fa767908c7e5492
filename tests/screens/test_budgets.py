"""What a page may weigh, as it travels: compressed.

HTML of the shelf and the bench pages 14 KB, which is what ten first packets of 1,460 bytes carry (RFC 6928);
scripts 50 KB and styles 20 KB in all; ten requests a page. The numbers are the house's own.
"""

from __future__ import annotations

import gzip
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse

from tests import builders
from tests.screens import rich_shop
from workshop import clock, joined

pytestmark = pytest.mark.django_db
STATIC = Path(settings.BASE_DIR) / "static"
HTML, SCRIPTS, STYLES, REQUESTS = 14_000, 50_000, 20_000, 10
ASKED = re.compile(r'<(?:link|script|img)\b[^>]*?(?:href|src)="(/[^"#]+)"[^>]*>')


def small(data: bytes) -> int:
    return len(gzip.compress(data, 6))


@pytest.fixture
def owner() -> Client:
    builders.a_workshop()
    client = Client()
    client.force_login(builders.an_owner())
    return client


def bench_pages() -> dict[str, str]:
    """The shelf, the round, the lists, and a batch at the steps where hands are wet."""
    at, found = clock.now().replace(microsecond=0), {}
    for number, name in enumerate(("jar", "press", "pot", "combine, too much", "settle"), start=1):
        batch = rich_shop.BATCHES[name](at)
        found[name] = reverse("batches:batch", args=[batch.number])
        if name == "pot":
            order = batch.stages.get(kind="decoct").order
            found["at the pot"] = reverse("batches:pot", args=[batch.number, order])
        rich_shop.free_tags(number)
    return found | {name: reverse(f"batches:{name}") for name in ("shelf", "rounds", "batches", "wall")}


def test_pages_of_the_bench_travel_in_the_first_packets_and_ask_for_little(owner: Client) -> None:
    heavy, many = {}, {}
    for name, url in bench_pages().items():
        html = owner.get(url).content
        heavy[name] = small(html)
        asked = {found for found in ASKED.findall(html.decode()) if not found.startswith("/batches/photos/")}
        many[name] = 1 + len(asked)
    assert {name: weight for name, weight in heavy.items() if weight > HTML} == {}
    assert {name: count for name, count in many.items() if count > REQUESTS} == {}


def test_scripts_and_styles_in_all() -> None:
    """Each part once; htmx, which comes with its package, counts as ours."""
    htmx = finders.find("django_htmx/htmx-2.min.js") or finders.find("django_htmx/htmx.min.js")
    assert htmx
    scripts = [Path(str(htmx)), *(STATIC / "js").glob("*.js")]
    assert sum(small(file.read_bytes()) for file in scripts) <= SCRIPTS
    assert sum(small(file.read_bytes()) for file in (STATIC / "css").glob("*.css")) <= STYLES


def test_the_joined_files_hold_every_part_and_those_are_all_parts_but_a_pages_own() -> None:
    for path, parts in joined.JOINED.items():
        made = Path(str(finders.find(path))).read_text()
        for part in parts:
            assert (STATIC / part).read_text() in made, part
    apart = {"css/dark.css", "css/wall.css"}
    there = {f"css/{file.name}" for file in (STATIC / "css").glob("*.css")}
    assert there == set(joined.JOINED["css/colature.css"]) | apart


def test_what_is_for_paper_does_not_touch_the_screen() -> None:
    text = joined.joined("css/colature.css")
    before, _, after = text.partition("@media print {\n/* On paper")
    assert after and (STATIC / "css/print.css").read_text().removeprefix("/* On paper") in after


def test_a_changed_part_is_joined_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made = joined.make("js/colature.js", tmp_path)
    was = made.read_text()
    made.write_text("old")
    assert joined.make("js/colature.js", tmp_path).read_text() == was
    assert [file.name for file in made.parent.iterdir()] == ["colature.js"]
