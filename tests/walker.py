"""One person at the bench with a plain client: every act through the page that offers it and its own form."""

from __future__ import annotations

from datetime import datetime, timedelta
from html.parser import HTMLParser
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.models import Batch, BottlingRun, FormulaPart, FormulaVersion, Stage, StageAct
from inventory.models import Lot
from tests.builders import NOON, an_owner
from tests.builders_batches import a_lot, a_vessel
from tests.screens.hostile import Typed
from tests.screens.test_preparation_forms import typed
from workshop import clock
from workshop.web import fresh_key

ROLE = FormulaPart.Role


class Doors(HTMLParser):
    """Where the links and forms of a page lead to."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: set[str] = set()
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        where = given.get("href") if tag == "a" else given.get("action") if tag == "form" else None
        if where:
            self.found.add(where)


def plain(answer: Any) -> str:
    return str(answer.content.decode()).replace("\u00a0", " ").replace("&nbsp;", " ")


def as_shown(page: str) -> dict[str, Any]:
    """The forms of a page as a browser would send them back untouched; the search box is none of them."""
    typed = Typed(page)
    found: dict[str, Any] = {name: values[-1] for name, values in typed.boxes.items() if name}
    found |= {name: values[0] for name, values in typed.picked.items() if name and values}
    return {name: value for name, value in found.items() if name not in ("q", "csrfmiddlewaretoken")}


class Walker:
    """Works one batch. Time goes on only when told to; the clock of the edge is its own."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, client: Client) -> None:
        self.at: datetime = NOON
        self.client = client
        self.client.cookies.clear()
        self.client.force_login(an_owner())
        self.batch: Batch = None  # type: ignore[assignment]
        monkeypatch.setattr(clock, "now", lambda: self.at)

    def later(self, **by: float) -> None:
        """Another day, signed in again: a session does not last that long."""
        self.at += timedelta(**by)
        self.client.cookies.clear()
        self.client.force_login(an_owner())

    def write(self, key: str, sent: dict[str, Any]) -> FormulaVersion:
        """A formula by its form, approved on its page."""
        answer = self.client.post(reverse("batches:formula-write", args=[key]), sent)
        assert answer.status_code == 302, answer.context["form"].errors
        version = FormulaVersion.objects.latest("pk")
        answer = self.client.post(
            reverse("batches:formula-approve", args=[version.pk]), {"once_key": fresh_key()}
        )
        assert answer.status_code == 302
        return version

    def plan(self, version: FormulaVersion, **asked: str) -> Batch:
        """The plan's page, looked at and approved."""
        url = reverse("batches:plan", args=[version.pk])
        shown = self.client.get(url, asked)
        sent = dict(shown.context["kept_fields"]) | {"once_key": fresh_key()}
        answer = self.client.post(url, sent)
        assert answer.status_code == 302, plain(answer)
        self.batch = Batch.objects.latest("pk")
        return self.batch

    def page(self) -> str:
        answer = self.client.get(reverse("batches:batch", args=[self.batch.number]))
        assert answer.status_code == 200
        return plain(answer)

    def stage(self) -> Stage:
        """The step that the page shows."""
        return self.batch.stages.filter(state=Stage.State.OPEN).order_by("order")[0]

    def url(self, name: str) -> str:
        return reverse("batches:act", args=[self.batch.number, self.stage().order, name])

    def do(self, name: str, **typed: Any) -> StageAct:
        """An act that the batch page offers: its form as shown, with what is typed over it."""
        answer = self.tried(name, **typed)
        if answer.status_code != 302:
            raise AssertionError(f"{name}: {dict(answer.context['form'].errors)}")
        return StageAct.objects.latest("pk")

    def tried(self, name: str, **typed: Any) -> Any:
        url, page = self.url(name), self.page()
        assert url in Doors(page).found, f"{name} is not offered at {self.stage().kind}"
        shown = self.client.get(url)
        assert shown.status_code == 200
        sent = as_shown(plain(shown)) | {name: str(getattr(v, "pk", v)) for name, v in typed.items()}
        return self.client.post(url, sent)

    def offers(self, name: str) -> bool:
        return self.url(name) in Doors(self.page()).found

    def bottle(self, *, count: int, **typed: Any) -> Lot:
        """From the open step of bottling to a closed run with printed labels; returns what may be sold."""
        self.do("open_run", planned=count, **typed)
        run = BottlingRun.objects.latest("pk")
        self._at_run(run, "filled", count=count, reserve=0)
        url = reverse("batches:run-print", args=[run.pk])
        sent = as_shown(plain(self.client.get(url)))
        answer = self.client.post(url, sent | {"sheet": "a4-8", "count": str(count)})
        assert answer.status_code == 302, dict(answer.context["form"].errors)
        assert self.client.get(answer["Location"])["Content-Type"] == "application/pdf"
        self._at_run(run, "closed", spoiled_labels=0, left_labels=0)
        run.refresh_from_db()
        assert run.state == BottlingRun.State.CLOSED
        return run.finished

    def _at_run(self, run: BottlingRun, name: str, **typed: Any) -> None:
        url = reverse("batches:run-act", args=[run.pk, name])
        sent = as_shown(plain(self.client.get(url)))
        answer = self.client.post(url, sent | {name: str(value) for name, value in typed.items()})
        assert answer.status_code == 302, dict(answer.context["form"].errors)


def stocked(version: FormulaVersion, *, moisture: float, strengths: tuple[float, ...]) -> list[Lot]:
    """Released lots of all that the formula names in its order, two jars, a pot and a percolator."""
    found: list[Lot] = []
    left = list(strengths)
    for part in version.parts.all():
        known = [lot.material_id for lot in found]
        if not part.material.metered or part.material_id in known:
            continue
        facts: dict[str, Any] = {"moisture": moisture} if part.role == ROLE.HERB else {}
        facts |= {"abv": left.pop(0)} if part.role in (ROLE.SPIRIT, ROLE.LIQUID) else {}
        few = part.role in (ROLE.HERB, ROLE.BOTTLE, ROLE.CLOSURE)
        found.append(a_lot(part.material, 500 if few else 9000, **facts))
    a_vessel("K7", 2000, tare_g=620)
    a_vessel("K8", 3000, tare_g=820)
    a_vessel("P1", 8000, form="pot", diameter_cm=24, tare_g=1450)
    a_vessel("R1", 2000, form="percolator")
    return found


def begun(
    bench: Walker,
    key: str,
    *,
    moisture: float = 0.1,
    strengths: tuple[float, ...] = (96.0,),
    bag: bool = False,
    **changes: str,
) -> list[Lot]:
    """The formula written and approved, its goods there, and 100 g (or the bag) planned."""
    version = bench.write(key, typed(key, **changes))
    lots = stocked(version, moisture=moisture, strengths=strengths)
    bench.plan(version, **({"way": "bag"} if bag else {"way": "grams", "herb_g": "100"}))
    return lots


def planned(batch: Batch, name: str) -> str:
    """A figure of the approved plan as somebody types it off the page."""
    found = batch.plan["results"][name]
    return f"{found['value']:.1f} {found['unit']}"


def of_kind(kind: str) -> Lot:
    return Lot.objects.get(material__kind=kind)


def made_up(bench: Walker, base: str = "spirit") -> None:
    batch = bench.batch
    bench.do("make_up", spirit=planned(batch, f"{base}_g"), water=planned(batch, "water_g"))


def pressed(bench: Walker, off: str) -> None:
    bench.do("press_now")
    bench.do("pour", amount=off)
    bench.do("pressed")
