"""What comes round in the house, pressing day by day, the round on paper: with a plain client."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime, timedelta
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from batches.models import StageAct
from batches.queries import rounds as round_queries
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests.builders import NOON, a_maker, a_workshop
from workshop import clock
from workshop.forms import fresh_key
from workshop.models import Workshop
from workshop.reminders.models import Due, Mark, Series
from workshop.reminders.queries import next_due
from workshop.reminders.series import plan_ahead

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
MORNING = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)  # a Thursday; the jars were charged on Monday at noon


def page_of(answer: Any) -> str:
    return re.sub(r"\s+", " ", unescape(answer.content.decode())).replace("\u00a0", " ")


@pytest.fixture
def now(monkeypatch: pytest.MonkeyPatch) -> list[datetime]:
    """The clock: what stands at [0] is now."""
    at = [MORNING]
    monkeypatch.setattr(clock, "now", lambda: at[0])
    return at


@pytest.fixture
def maker(now: list[datetime]) -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


def a_chore(client: Client, **other: Any) -> Any:
    sent = {
        "act": "calibrate",
        "what": "the bench scale",
        "place": jars.a_place().pk,
        "every": "30",
        "first": "now",
        "once_key": fresh_key(),
    }
    return client.post(reverse("batches:chores"), sent | other, follow=True)


def test_a_scale_comes_round_is_calibrated_and_undone(maker: Client) -> None:
    assert "Calibrate the bench scale" in page_of(a_chore(maker))
    page = page_of(maker.get("/rounds/"))
    assert "One thing to do" in page and "Calibrated" in page and "What it read" in page
    due = Due.objects.get(series__act="calibrate", state="open", due_at__lte=MORNING)
    sent = {"due": due.pk, "what": "done", "reason": "99.9 at 100 g", "once_key": fresh_key()}
    page = page_of(maker.post(reverse("batches:rounds-settle"), sent, follow=True))
    assert "Nothing is due" in page and "Calibrate the bench scale: done (99.9 at 100 g)" in page
    undo = re.search(r'action="(/rounds/undo/\?due=\d+)"', page_of(maker.get("/rounds/")))
    assert undo is not None
    assert "One thing to do" in page_of(maker.post(undo[1], follow=True))
    assert list(Mark.objects.values_list("what", flat=True)) == ["done", "undone"]


def test_it_comes_again_after_its_days(maker: Client, now: list[datetime]) -> None:
    a_chore(maker, every="7", first="then")
    assert "Nothing is due" in page_of(maker.get("/rounds/"))
    now[0] = MORNING + 7 * DAY
    plan_ahead(at=now[0])
    next_week = Client()
    next_week.force_login(a_maker())
    assert "One thing to do" in page_of(next_week.get("/rounds/"))


def test_one_that_ends_leaves_the_round_and_comes_back(maker: Client) -> None:
    a_chore(maker)
    key = Series.objects.get(act="calibrate").key
    page = page_of(
        maker.post(reverse("batches:chore-end"), {"key": key, "once_key": fresh_key()}, follow=True)
    )
    assert "Nothing of the house comes round yet." in page
    assert "Nothing is due" in page_of(maker.get("/rounds/"))
    undo = re.search(r'action="(/rounds/chores/again/\?[^"]+)"', page)
    assert undo is not None
    maker.post(undo[1])
    assert "One thing to do" in page_of(maker.get("/rounds/"))
    again = maker.post(
        reverse("batches:chore-end"), {"key": "house:clean:000000000000", "once_key": fresh_key()}
    )
    assert again.status_code == 409 and "does not come round any more" in page_of(again)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"every": "0"}, "Every"),
        ({"every": "1.5"}, "write a whole number"),
        ({"act": "burn"}, "What is done"),
        ({"what": ""}, "To what"),
        ({"place": "987654"}, "Stands at"),
    ],
)
def test_a_chore_that_cannot_be_names_the_field(wrong: dict[str, str], said: str, maker: Client) -> None:
    answer = a_chore(maker, **wrong)
    assert answer.status_code == 409 and said in page_of(answer)
    assert not Series.objects.filter(key__startswith="house:").exists()


def test_a_twin_is_refused_and_what_was_typed_stays(maker: Client) -> None:
    a_chore(maker)
    answer = a_chore(maker, what="The bench SCALE")
    assert answer.status_code == 409 and "comes round already" in page_of(answer)
    assert 'value="The bench SCALE"' in page_of(answer)


def to_press(*tags: str) -> None:
    """Jars charged on Monday 2 March: the window is 16 March to 13 April, its target 30 March."""
    for tag in tags:
        shop.looked_at(shop.a_jar(tag, at=NOON, title=f"jar {tag}"), NOON + DAY)
    plan_ahead(at=MORNING)


def the_target(tag: str) -> Due:
    return Due.objects.get(series__act="press", series__title=f"Press jar {tag}", kind="target")


def test_a_day_that_is_too_full_says_so(maker: Client, now: list[datetime]) -> None:
    to_press("K1", "K2", "K3")
    now[0] = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)
    assert "Every day has room for its jars." in page_of(maker.get("/rounds/pressing/"))
    sent = {"number": "2", "once_key": fresh_key()}
    page = page_of(maker.post(reverse("batches:pressing-limit"), sent, follow=True))
    assert Workshop.objects.get().press_per_day == 2
    assert "1 jar more than fits into their day." in page and "30 Mar: 3 of 2 jars" in page


def test_two_taps_move_a_jar_and_one_takes_it_back(maker: Client, now: list[datetime]) -> None:
    to_press("K1")
    now[0] = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)
    due = the_target("K1")
    page = page_of(maker.get(f"/rounds/pressing/?jar={due.pk}"))
    days = re.findall(r'name="day" value="([-\d]+)"', page)
    assert days[0] == "2026-03-21" and days[-1] == "2026-04-13" and "2026-03-30" not in days
    sent = {"due": due.pk, "day": "2026-03-24", "reason": "market on Monday", "once_key": fresh_key()}
    page = page_of(maker.post(reverse("batches:pressing-move"), sent, follow=True))
    assert "planned for Tuesday 24 March." in page
    moved = the_target("K1")
    assert (moved.slot, moved.due_at) == (due.slot, datetime(2026, 3, 24, 7, 30, tzinfo=UTC))
    undo = re.search(r'action="(/rounds/undo/\?due=\d+)"', page)
    assert undo is not None
    maker.post(undo[1])
    assert the_target("K1").due_at == due.slot


@pytest.mark.parametrize(
    ("day", "said"),
    [
        ("2026-03-15", "runs from Monday 16 March to Monday 13 April"),
        ("2026-04-14", "runs from Monday 16 March to Monday 13 April"),
        ("2026-03-20", "its morning is over"),
        ("2026-02-30", "choose one of the days shown"),
        ("", "New day"),
    ],
)
def test_another_day_is_refused(day: str, said: str, maker: Client, now: list[datetime]) -> None:
    to_press("K1")
    now[0] = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)
    due = the_target("K1")
    sent = {"due": due.pk, "day": day, "once_key": fresh_key()}
    answer = maker.post(reverse("batches:pressing-move"), sent)
    assert answer.status_code == 409 and said in page_of(answer)
    assert the_target("K1").due_at == due.due_at


def test_a_closed_day_is_no_choice(maker: Client, now: list[datetime]) -> None:
    Workshop.objects.update(closed_weekdays=[6])
    to_press("K1")
    now[0] = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)
    due = the_target("K1")
    assert 'value="2026-03-22"' not in page_of(maker.get(f"/rounds/pressing/?jar={due.pk}"))
    sent = {"due": due.pk, "day": "2026-03-22", "once_key": fresh_key()}
    answer = maker.post(reverse("batches:pressing-move"), sent)
    assert answer.status_code == 409 and "closed on Sunday 22 March" in page_of(answer)


def test_the_sheet_has_a_box_for_all_that_is_due_and_comes(maker: Client) -> None:
    to_press("K1", "K2")
    answer = maker.get("/rounds/sheet.pdf")
    assert answer["Content-Type"] == "application/pdf"
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)
    said = re.sub(r"\s+", " ", words)
    assert "North shelf" in said and "Shake: Jar K1" in said and "Shake: Jar K2" in said
    assert "Tomorrow" in said and "Written by hand" in said


def test_what_was_ticked_on_paper_is_entered_later_at_its_own_time(maker: Client) -> None:
    to_press("K1", "K2")
    stages = [shop.steeping(jars.Batch.objects.get(title=f"jar {tag}")).pk for tag in ("K1", "K2")]
    assert f'value="{stages[0]}:shake"' in page_of(maker.get("/rounds/paper/"))
    sent = {
        "done": [f"{pk}:shake" for pk in stages],
        "day": "today",
        "when": "08:10",
        "reason": "no power",
        "once_key": fresh_key(),
    }
    page = page_of(maker.post("/rounds/paper/", sent, follow=True))
    assert "Two things entered for today, 08:10." in page and "Nothing is due" in page
    for act in StageAct.objects.filter(act="shake"):
        assert act.at == datetime(2026, 3, 5, 8, 10, tzinfo=UTC) and act.recorded_at == MORNING
    undo = re.search(r'action="(/rounds/undo/\?acts=[^"]+)"', page)
    assert undo is not None
    assert "Two things to do" in page_of(maker.post(undo[1], follow=True))


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"when": "09:30"}, "still to come"),
        ({"when": "8"}, "write the time as hours and minutes"),
        ({"when": ""}, "When"),
        ({"day": "tomorrow"}, "Day"),
        ({"done": []}, "Choose at least one thing"),
    ],
)
def test_a_paper_that_cannot_be_loses_nothing(other: dict[str, Any], said: str, maker: Client) -> None:
    to_press("K1")
    stage = shop.steeping(jars.Batch.objects.get(title="jar K1")).pk
    sent = {"done": [f"{stage}:shake"], "day": "today", "when": "08:10", "reason": "no power"}
    answer = maker.post("/rounds/paper/", sent | other | {"once_key": fresh_key()})
    page = page_of(answer)
    assert answer.status_code == 409 and said in page and 'value="no power"' in page
    assert not StageAct.objects.filter(act="shake").exists()
    if "done" not in other:
        assert re.search(rf'value="{stage}:shake" checked', page)


def test_a_long_walk_is_shown_stop_by_stop(maker: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(round_queries, "ALL", 1)
    to_press("K1")
    shop.looked_at(shop.a_jar("M1", at=NOON, title="jar M1", place=jars.a_place("Cellar")), NOON + DAY)
    plan_ahead(at=MORNING)
    page = page_of(maker.get("/rounds/"))
    assert 'aria-label="Stops of the walk"' in page and "Jar M1" in page and "Jar K1" not in page
    other = page_of(maker.get("/rounds/?stop=North+shelf"))
    assert "Jar K1" in other and "Jar M1" not in other
    form = re.search(r'action="(/rounds/shaken/\?stop=North\+shelf)"', other)
    assert form is not None
    stage = shop.steeping(jars.Batch.objects.get(title="jar K1")).pk
    answer = maker.post(form[1], {"stages": stage, "once_key": fresh_key()})
    assert answer["Location"] == "/rounds/?stop=North+shelf"


def test_a_pot_asks_to_be_strained_when_its_forecast_says_so(maker: Client, now: list[datetime]) -> None:
    stage = shop.a_pot_on(NOON - 28 * DAY).stages.get(kind="decoct")  # on the heat since 14:00 today
    on = NOON + timedelta(hours=2)
    wanted = next_due(key=stage.series_key("strain"), at=on)
    assert wanted is not None and wanted.due_at > on
    for minutes, asked in ((-5, False), (5, True)):
        now[0] = wanted.due_at + timedelta(minutes=minutes)
        plan_ahead(at=now[0])
        assert ("Strain it" in page_of(maker.get("/rounds/"))) is asked
