"""Public holidays, closures, and the owner's word about them; dates from the governments' own lists."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from tests.builders import a_maker, a_workshop, an_owner
from tests.builders_reminders import a_series
from workshop import clock
from workshop.errors import Refused
from workshop.reminders import settling
from workshop.reminders.closed import Dates, countries, names, region_of
from workshop.reminders.models import Closure, Due, HouseRules
from workshop.reminders.rules import Once, Window
from workshop.reminders.series import plan_ahead

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
# Wednesday 25 March 2026; Good Friday is 3 April, Easter Monday 6 April (gov.uk/bank-holidays).
START = datetime(2026, 3, 25, 12, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def house() -> None:
    a_workshop()


def keep(country: str, region: str = "", owner_after: int | None = None) -> None:
    settling.change_house(country=country, region=region, owner_after=owner_after, by=an_owner(), at=START)


@pytest.mark.parametrize(
    ("country", "region", "day", "closed"),
    [
        ("GB", "ENG", date(2026, 4, 6), True),  # Easter Monday: England, not Scotland (gov.uk/bank-holidays)
        ("GB", "SCT", date(2026, 4, 6), False),
        ("GB", "SCT", date(2026, 11, 30), True),  # St Andrew's Day
        ("GB", "ENG", date(2026, 12, 28), True),  # Boxing Day, substitute day
        ("US", "", date(2026, 7, 3), True),  # Independence Day observed (opm.gov, federal holidays 2026)
        ("US", "", date(2026, 11, 26), True),  # Thanksgiving
        ("US", "", date(2026, 11, 27), False),
        ("NZ", "CIT", date(2026, 11, 30), True),  # Chatham Islands Anniversary (employment.govt.nz)
        ("NZ", "", date(2026, 11, 30), False),
    ],
)
def test_the_days_are_those_that_the_governments_publish(
    country: str, region: str, day: date, closed: bool
) -> None:
    assert (day in Dates(country, region)) is closed


def test_single_acts_wait_and_what_must_be_done_moves_before() -> None:
    keep("GB", "England")
    assert HouseRules.objects.get().region == "ENG"
    good_friday = datetime(2026, 4, 3, 9, 0, tzinfo=UTC)
    a_series("strain", Once(good_friday), at=START)
    a_series("move", Once(good_friday, must=True), at=START)
    a_series("press", Window(7, 9, 12), at=START)  # the 1st, the 3rd, the 6th of April
    days = {(row.series.key, row.kind): row.day for row in Due.objects.exclude(series__key="shake")}
    # Saturday and Sunday are open here.
    assert days["strain", "once"] == date(2026, 4, 4)
    assert days["move", "must"] == date(2026, 4, 2)
    assert days["press", "opens"] == date(2026, 4, 1)
    assert days["press", "target"] == date(2026, 4, 4)
    assert days["press", "closes"] == date(2026, 4, 5)


def test_a_daily_shake_is_left_out_on_the_day_and_the_settled_rows_stand() -> None:
    a_series(at=START)
    open_days = Due.objects.filter(state="open")
    assert date(2026, 4, 3) in set(open_days.values_list("day", flat=True))
    keep("GB", "ENG")
    assert plan_ahead(at=START) == 1
    assert plan_ahead(at=START) == 0
    days = set(open_days.values_list("day", flat=True))
    assert not days & {date(2026, 4, 3), date(2026, 4, 6)}
    assert {date(2026, 4, 2), date(2026, 4, 4)} <= days


def test_a_closure_moves_reminders_and_opening_again_brings_them_back() -> None:
    a_series(at=START)
    row = settling.close_days(
        first=date(2026, 3, 28), last=date(2026, 3, 30), why="Fair", by=an_owner(), at=START
    )
    plan_ahead(at=START)
    days = Due.objects.filter(state="open").values_list("day", flat=True)
    assert not set(days) & {date(2026, 3, 28), date(2026, 3, 29), date(2026, 3, 30)}
    settling.open_days(closure=row.pk, by=an_owner(), at=START)
    plan_ahead(at=START)
    assert {date(2026, 3, 28), date(2026, 3, 29), date(2026, 3, 30)} <= set(days.all())


def test_regions_by_code_or_name_and_refused_with_what_is_known() -> None:
    assert region_of(country="GB", typed="gb-sct") == "SCT"
    assert region_of(country="GB", typed=" scotland ") == "SCT"
    assert region_of(country="DE", typed="Bayern") == "BY"
    assert region_of(country="", typed="x") == ""
    with pytest.raises(Refused, match="Region: Narnia is not known there. Known: ENG, NIR, SCT, WLS."):
        region_of(country="GB", typed="Narnia")
    with pytest.raises(Refused, match="leave this empty"):
        region_of(country="AX", typed="north")
    assert ("GB", "United Kingdom") in countries()


def test_a_country_that_the_library_no_longer_has_closes_nothing() -> None:
    assert names("XX", "", 2026) == {}
    assert date(2026, 12, 25) not in Dates("XX")


def test_only_the_owner_settles_the_days_of_the_house() -> None:
    for act in (
        lambda: settling.change_house(country="GB", region="", owner_after=None, by=a_maker(), at=START),
        lambda: settling.close_days(first=START.date(), last=None, why="", by=a_maker(), at=START),
        lambda: settling.open_days(closure=1, by=a_maker(), at=START),
    ):
        with pytest.raises(Refused, match="Only the owner"):
            act()


def test_the_page_says_what_is_wrong_and_loses_nothing_typed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: START)
    hand = Client()
    hand.force_login(an_owner())
    wrong = {"country": "GB", "region": "Narnia", "owner_after": "8", "once_key": "k" * 32}
    answer = hand.post(reverse("reminders:house"), wrong)
    assert answer.status_code == 422
    assert 'value="Narnia"' in answer.content.decode()
    hand.post(reverse("reminders:house"), wrong | {"region": "Wales", "once_key": "l" * 32})
    page = hand.get(reverse("reminders:house")).content.decode()
    assert "The next public holiday is Good Friday, Friday 3 April." in page
    swapped = {"first": "2026-05-02", "last": "2026-05-01", "why": "", "once_key": "m" * 32}
    answer = hand.post(reverse("reminders:close"), swapped)
    assert answer.status_code == 422
    assert "Until: The last closed day lies before the first." in answer.content.decode()
    assert Closure.objects.count() == 0
    assert HouseRules.objects.get().owner_after == 8
