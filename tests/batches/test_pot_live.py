"""The pot at work: when to look again, what it calls out, its acts in the story, its page without scripts.

The sums of the forecast are checked in tests/calc (test_pot.py, test_pot_rates.py); here the way from a
reading to a reminder. Half the time that is left, thirty minutes at most: common practice, no source.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.test import Client

from batches import bell
from batches.actions import pot, pot_read
from batches.actions.undo import undo_act
from batches.models import Stage
from batches.queries.pot import pot_of
from batches.queries.pot_alarm import alarms
from tests import builders
from tests.builders import NOON, an_owner
from tests.builders_jar import a_pot_on_the_heat, typed
from workshop import clock
from workshop.errors import Refused
from workshop.forms import fresh_key
from workshop.reminders.queries import next_due

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)


@pytest.fixture
def stage() -> Stage:
    builders.a_workshop()
    return a_pot_on_the_heat().stages.get(kind="decoct")


def read(stage: Stage, at: datetime, **typed_in: str) -> None:
    values = {name: typed(text, *(["cm"] if name == "level" else [])) for name, text in typed_in.items()}
    pot_read.pot_reading(stage=stage, by=an_owner(), at=at, **values)


def look(stage: Stage, at: datetime) -> datetime:
    due = next_due(key=bell.key_of(stage, "watch"), at=at)
    assert due is not None
    return due.due_at


def test_far_from_the_target_the_next_look_is_half_an_hour_away(stage: Stage) -> None:
    assert look(stage, NOON) == NOON + 30 * MINUTE
    read(stage, NOON + 12 * MINUTE, celsius="78 °C")
    assert look(stage, NOON + 12 * MINUTE) == NOON + 42 * MINUTE


def test_near_the_target_it_is_half_the_time_that_is_left(stage: Stage) -> None:
    """Two levels give the rate; of what is left at that rate, half. Worked from the levels alone."""
    at = NOON + 30 * MINUTE
    read(stage, at, level="11.1 cm")
    now = pot_of(stage, at)
    assert now is not None and now.target_ml is not None
    area = 3.141592653589793 * 24.0**2 / 4
    rate = 0.9 * area / 0.5  # cm3 lost in half an hour, an hour
    wanted = (now.target_ml + rate * 0.4) / area  # 24 minutes before it is there
    soon = at + timedelta(hours=(11.1 - wanted) * area / rate)
    read(stage, soon, level=f"{wanted:.4f} cm")
    assert look(stage, soon) - soon in (11 * MINUTE, 12 * MINUTE)


def test_an_undone_reading_gives_its_reminder_back(stage: Stage) -> None:
    at = NOON + 12 * MINUTE
    read(stage, at, celsius="78 °C")
    act = stage.acts.get(act="pot_reading")
    undo_act(act=act, by=an_owner(), at=at + MINUTE)
    assert look(stage, at + MINUTE) == NOON + 30 * MINUTE


def test_off_the_heat_nobody_is_called(stage: Stage) -> None:
    pot.pause(stage=stage, by=an_owner(), at=NOON + 5 * MINUTE)
    read(stage, NOON + 20 * MINUTE, celsius="40 °C")
    assert next_due(key=bell.key_of(stage, "watch"), at=NOON + 60 * MINUTE) is None
    pot.resume(stage=stage, by=an_owner(), at=NOON + 90 * MINUTE)
    assert look(stage, NOON + 90 * MINUTE) == NOON + 120 * MINUTE


def test_stirring_is_a_sentence_and_no_look(stage: Stage) -> None:
    act = pot.stirred(stage=stage, by=an_owner(), at=NOON + 10 * MINUTE)
    assert act.caption == "Stirred"
    assert look(stage, NOON + 10 * MINUTE) == NOON + 30 * MINUTE


def test_a_pot_that_is_not_on_cannot_be_stirred() -> None:
    builders.a_workshop()
    from tests.builders_jar import a_pressed_batch

    stage = a_pressed_batch().stages.get(kind="decoct")
    with pytest.raises(Refused, match="Set the pot on the heat first"):
        pot.stirred(stage=stage, by=an_owner(), at=NOON + timedelta(days=28))


def calls(stage: Stage, at: datetime, look_at: datetime | None = None) -> dict[str, bool]:
    now = pot_of(stage, at)
    assert now is not None
    return {one.name.partition("-")[0]: one.danger for one in alarms(now, at=at, look_at=look_at)}


@pytest.mark.parametrize(("typed_in", "name"), [("82.5 °C", "hot"), ("70.5 °C", "cool")])
def test_heat_outside_the_band_is_called_out(stage: Stage, typed_in: str, name: str) -> None:
    read(stage, NOON + MINUTE, celsius=typed_in)
    assert calls(stage, NOON + MINUTE) == {name: False}
    read(stage, NOON + 2 * MINUTE, celsius="77 °C")
    assert calls(stage, NOON + 2 * MINUTE) == {}


def test_the_edges_of_the_band_are_inside_it(stage: Stage) -> None:
    for minute, edge in enumerate(("71 °C", "82 °C"), start=1):
        read(stage, NOON + minute * MINUTE, celsius=edge)
        assert calls(stage, NOON + minute * MINUTE) == {}


def test_the_level_at_its_mark_and_past_it(stage: Stage) -> None:
    now = pot_of(stage, NOON)
    assert now is not None and now.target_ml is not None
    at = NOON + timedelta(hours=8)
    read(stage, at, volume=f"{now.target_ml + 5:.0f} mL")
    assert set(calls(stage, at)) == {"target"}
    read(stage, at + 30 * MINUTE, volume=f"{now.target_ml - 200:.0f} mL")
    assert set(calls(stage, at + 30 * MINUTE)) == {"past"}


def test_a_pot_about_to_run_dry_comes_first_and_is_dangerous(stage: Stage) -> None:
    now = pot_of(stage, NOON)
    assert now is not None
    read(stage, NOON + 60 * MINUTE, volume=f"{now.dry_ml + 100:.0f} mL")
    found = alarms(pot_of(stage, NOON + 60 * MINUTE), at=NOON + 60 * MINUTE, look_at=None)  # type: ignore[arg-type]
    assert (found[0].name, found[0].danger) == ("nearly-dry", True)
    later = NOON + timedelta(hours=3)
    assert calls(stage, later)["dry"] is True


def test_a_look_overdue_is_called_out(stage: Stage) -> None:
    due = NOON + 30 * MINUTE
    assert calls(stage, due - MINUTE, due) == {}
    assert calls(stage, due, due) == {"look": False}


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch, stage: Stage) -> tuple[Client, str]:
    monkeypatch.setattr(clock, "now", lambda: NOON + 10 * MINUTE)
    client = Client()
    client.force_login(builders.a_maker())
    return client, f"/batches/{stage.batch.number}/{stage.order}/pot/"


def test_the_page_takes_readings_without_scripts(page: tuple[Client, str], stage: Stage) -> None:
    client, url = page
    sent = {"act": "pot_reading", "celsius": "78", "level": "11.6", "once_key": fresh_key()}
    answer = client.post(url, sent, follow=True)
    assert answer.redirect_chain == [(url, 302)]
    text = answer.content.decode().replace("\u00a0", " ")
    assert "The pot: 78 °C, 11.6 cm" in text
    assert stage.acts.filter(act="pot_reading").count() == 1


def test_a_refusal_names_the_field_and_keeps_what_was_typed(page: tuple[Client, str], stage: Stage) -> None:
    client, url = page
    answer = client.post(url, {"act": "pot_reading", "celsius": "785", "once_key": fresh_key()})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "Temperature: must be at most" in text
    assert 'value="785"' in text
    assert not stage.acts.filter(act="pot_reading").exists()


def test_an_empty_reading_is_refused_in_words(page: tuple[Client, str]) -> None:
    client, url = page
    answer = client.post(url, {"act": "pot_reading", "once_key": fresh_key()})
    assert "give a temperature, a level, a volume or a weight" in answer.content.decode()


def test_topped_and_stirred_stand_in_the_story_with_a_way_back_to_the_pot(
    page: tuple[Client, str],
) -> None:
    client, url = page
    for name, words in (("topped_to_line", "Topped up to the line"), ("stirred", "Stirred")):
        answer = client.post(url, {"act": name, "once_key": fresh_key()}, follow=True)
        text = answer.content.decode()
        assert words in text
        assert f"?back={url}" in text


def test_the_same_tap_twice_is_one_stirring(page: tuple[Client, str], stage: Stage) -> None:
    client, url = page
    key = fresh_key()
    for _ in range(2):
        client.post(url, {"act": "stirred", "once_key": key})
    assert stage.acts.filter(act="stirred").count() == 1


def test_the_part_that_reads_itself_anew_holds_no_form(page: tuple[Client, str]) -> None:
    client, url = page
    part = client.get(f"{url}now/", headers={"HX-Request": "true"}).content.decode()
    assert 'id="pot-now"' in part
    assert "<form" not in part and "<input" not in part


def test_looking_at_the_pot_keeps_the_session(
    page: tuple[Client, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page asks anew every quarter of a minute; hours later the hand is still signed in."""
    client, url = page
    for quarter in range(1, 9):
        monkeypatch.setattr(clock, "now", lambda at=NOON + quarter * timedelta(minutes=20): at)
        assert client.get(f"{url}now/").status_code == 200
    monkeypatch.setattr(clock, "now", lambda: NOON + timedelta(minutes=200))
    assert client.get(f"{url}now/").status_code == 302  # forty minutes without: the quiet time is over


def test_an_act_that_is_none_of_the_pots_is_not_there(page: tuple[Client, str]) -> None:
    client, url = page
    assert client.post(url, {"act": "combined", "once_key": fresh_key()}).status_code == 404


def to_strain(stage: Stage, at: datetime) -> datetime:
    due = next_due(key=bell.key_of(stage, "strain"), at=at)
    assert due is not None
    return due.due_at


def test_when_to_strain_follows_the_forecast_and_a_top_up(stage: Stage) -> None:
    """What is over the target by the rate; by arithmetic. Off the heat nobody is asked to strain it."""
    at, now = NOON + 120 * MINUTE, pot_of(stage, NOON)
    assert now is not None and now.target_ml is not None
    read(stage, at, volume=f"{now.start_ml - 1000:.0f} mL")
    over = (now.start_ml - 1000 - now.target_ml) / pot_of(stage, at).rate_ml_h  # type: ignore[union-attr]
    assert abs(to_strain(stage, at) - at - timedelta(hours=over)) <= MINUTE
    late = at + timedelta(hours=over + 0.2)
    assert to_strain(stage, late) < late
    pot_read.topped_to_line(stage=stage, amount=typed("1000 mL"), by=an_owner(), at=late)
    after = pot_of(stage, late)
    assert after is not None and abs(to_strain(stage, late) - late - after.strain_in) <= MINUTE
    assert to_strain(stage, late) > late + 60 * MINUTE
    pot.pause(stage=stage, by=an_owner(), at=late)
    assert next_due(key=bell.key_of(stage, "strain"), at=late) is None
