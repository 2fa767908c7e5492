"""Lot codes against python-stdnum and the standard's promise; which lots to take; counts, days, volumes."""

from __future__ import annotations

import re
import string
from datetime import UTC, date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_2

from inventory.calc.allocation import Offer, Take, allocate
from inventory.calc.balances import Count, in_words, put_right
from inventory.calc.codes import LETTERS, BadCode, code_for, has_shape, read_code
from inventory.calc.days import day_of, moment_on
from inventory.calc.volumes import BadVolume, grams_of, pure_ml, volume_ml
from inventory.models import Material

CODES = [code for kind in LETTERS for serial in range(1, 400) if (code := code_for(kind, 2026, serial))]
CHARACTERS = string.digits + string.ascii_uppercase
LONDON = ZoneInfo("Europe/London")


def test_a_known_code() -> None:
    """T26014 has the check 8: worked by hand after ISO 7064 MOD 37-2 and by python-stdnum."""
    total = 0
    for character in "T26014":
        total = (total + CHARACTERS.index(character)) * 2 % 37
    assert (CHARACTERS + "*")[(1 - total) % 37] == "8"
    assert code_for("product", 2026, 14) == "T26-014-8"


def test_every_code_holds_by_stdnum_and_none_has_a_letter_that_is_misread() -> None:
    assert all(mod_37_2.is_valid(code.replace("-", "")) for code in CODES)
    assert not any(set(code[:-1]) & set("ILOU") or code[-1] in "ILO*" for code in CODES)
    assert max(map(len, CODES)) <= 20
    assert len(code_for("herb", 2026, 999_999) or "") <= 20


def test_a_serial_is_skipped_where_its_check_could_not_be_printed() -> None:
    for serial in range(1, 1000):
        check = mod_37_2.calc_check_digit(f"H26{serial:03d}")
        assert (code_for("herb", 2026, serial) is None) == (check in "ILO*")


def test_letters_tell_the_kinds_apart() -> None:
    assert set(LETTERS) == set(Material.Kind.values)
    assert len(set(LETTERS.values())) == len(LETTERS)
    assert not set(LETTERS.values()) & set("ILOU")


def test_every_single_wrong_character_is_caught() -> None:
    """ISO 7064 MOD 37-2 promises all of them; those that fold to the right one are no mistake."""
    folds = {("1", "I"), ("1", "L"), ("0", "O")}
    for code in CODES[::97]:
        bare = code.replace("-", "")
        for place, right in enumerate(bare):
            for wrong in set(CHARACTERS) - {right}:
                if place > 0 and (right, wrong) in folds:
                    continue
                with pytest.raises(BadCode):
                    read_code(bare[:place] + wrong + bare[place + 1 :])


def test_every_swap_of_neighbours_is_caught() -> None:
    for code in CODES[::13]:
        bare = code.replace("-", "")
        for place in range(len(bare) - 1):
            swapped = bare[:place] + bare[place + 1] + bare[place] + bare[place + 2 :]
            if swapped != bare:
                with pytest.raises(BadCode):
                    read_code(swapped)


@pytest.mark.parametrize(
    "typed",
    [
        "T26-014-8",
        "t26-014-8",
        "T260148",
        " T26 014 8 ",
        "T26-O14-8",
        "T26-0I4-8",
        "t26-ol4-8",
        "LT26-014-8",
        "L T26-014-8",
        "Lot T26-014-8",
        "T26\u2013014\u20118",
    ],
)
def test_a_code_is_read_however_it_is_typed(typed: str) -> None:
    assert read_code(typed) == "T26-014-8"
    assert has_shape(typed)


@pytest.mark.parametrize(
    "typed", ["", "turkey tail", "T26", "T26-014-*", "T26-01\u0664-8", "ÅT26-014-8", "T" * 300]
)
def test_what_is_no_code_is_refused_in_a_sentence(typed: str) -> None:
    with pytest.raises(BadCode, match=r"\.$"):
        read_code(typed)


def test_the_sentence_for_a_wrong_character_says_so() -> None:
    with pytest.raises(BadCode, match="a character is wrong, for the last one does not fit the others"):
        read_code("T26-015-8")


@given(st.sampled_from(CODES))
def test_reading_a_printed_code_gives_it_back(code: str) -> None:
    assert read_code(code) == read_code(code.lower().replace("-", "")) == code


def offer(key: int, grams: int, before: date | None = None, group: int | None = None) -> Offer:
    return Offer(key, Decimal(grams), before, key if group is None else group)


EARLY, LATE = date(2026, 4, 1), date(2027, 4, 1)


def test_one_lot_that_covers_it_comes_before_crumbs_that_expire_first() -> None:
    offers = [offer(1, 50, EARLY), offer(2, 500, LATE)]
    assert allocate(Decimal(180), offers) == [Take(2, Decimal(180))]


def test_of_two_lots_that_cover_it_the_first_to_expire_goes() -> None:
    offers = [offer(1, 500, LATE), offer(2, 200, EARLY), offer(3, 400)]
    assert allocate(Decimal(180), offers) == [Take(2, Decimal(180))]


def test_crumbs_go_first_expiring_first_when_no_lot_covers_it() -> None:
    offers = [offer(1, 100), offer(2, 100, LATE), offer(3, 100, EARLY)]
    assert allocate(Decimal(250), offers) == [
        Take(3, Decimal(100)),
        Take(2, Decimal(100)),
        Take(1, Decimal(50)),
    ]


def test_a_lot_at_two_places_covers_it_as_one() -> None:
    offers = [offer(1, 100, EARLY, group=7), offer(2, 120, EARLY, group=7), offer(3, 200, LATE)]
    assert allocate(Decimal(180), offers) == [Take(2, Decimal(120)), Take(1, Decimal(60))]


def test_too_little_gives_all_there_is_and_nothing_wanted_takes_nothing() -> None:
    assert allocate(Decimal(500), [offer(1, 20), offer(2, 0)]) == [Take(1, Decimal(20))]
    assert allocate(Decimal(0), [offer(1, 20)]) == []


@given(
    st.integers(1, 500),
    st.lists(st.tuples(st.integers(0, 300), st.none() | st.sampled_from([EARLY, LATE])), max_size=8),
)
def test_what_is_taken_is_there_and_sums_to_what_was_wanted(
    wanted: int, lots: list[tuple[int, date | None]]
) -> None:
    offers = [offer(key, grams, before) for key, (grams, before) in enumerate(lots)]
    takes = allocate(Decimal(wanted), offers)
    assert sum(take.amount for take in takes) == min(wanted, sum(grams for grams, _ in lots))
    assert all(0 < take.amount <= lots[take.key][0] for take in takes)
    assert len({take.key for take in takes}) == len(takes)
    if any(grams >= wanted for grams, _ in lots):
        assert len(takes) == 1


@pytest.mark.parametrize(
    ("amount", "counted", "words"),
    [
        ("1407", False, "1,407\u00a0g"),
        ("12.5", False, "12.5\u00a0g"),
        ("0.125", False, "0.125\u00a0g"),
        ("4037.149", False, "4,037.1\u00a0g"),
        ("40", True, "40"),
    ],
)
def test_amounts_in_words(amount: str, counted: bool, words: str) -> None:
    assert in_words(Decimal(amount), counted=counted) == words


def test_a_count_says_by_how_much_the_book_was_wrong() -> None:
    assert (
        put_right(Count(Decimal(172), Decimal(180)), counted_goods=False) == "the count was wrong: +8\u00a0g"
    )
    assert (
        put_right(Count(Decimal(6), Decimal(0)), counted_goods=False) == "the count was wrong: \u22126\u00a0g"
    )
    assert put_right(Count(Decimal(12), Decimal(12)), counted_goods=True) == "the count agrees with the book"


def test_a_day_is_the_workshops_day() -> None:
    """23:30 UTC on 30 June is half past midnight on 1 July in London (summer time, UTC+1)."""
    assert day_of(datetime(2026, 6, 30, 23, 30, tzinfo=UTC), LONDON) == date(2026, 7, 1)


def test_today_is_now_and_another_day_is_its_noon() -> None:
    now = datetime(2026, 7, 2, 9, 15, tzinfo=UTC)
    assert moment_on(date(2026, 7, 2), now, LONDON) == now
    assert moment_on(date(2026, 7, 1), now, LONDON) == datetime(2026, 7, 1, 11, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("abv", "celsius", "kg_m3"),
    [(0.0, 20.0, 998.20), (100.0, 20.0, 789.24), (0.0, 4.0, 999.97)],
)
def test_a_litre_weighs_what_the_tables_say(abv: float, celsius: float, kg_m3: float) -> None:
    """Water and pure ethanol: OIML R 22 (1975), sections 2 and 4; water at 4 °C after CIPM."""
    assert grams_of(1000, abv=abv, density_20=None, celsius=celsius) == pytest.approx(kg_m3, abs=0.02)


def test_a_litre_of_glycerol_weighs_by_its_density() -> None:
    assert grams_of(1000, abv=None, density_20=1261.0) == pytest.approx(1261.0)


def test_a_volume_of_nobody_knows_what_is_refused() -> None:
    with pytest.raises(BadVolume, match="Give the strength, or weigh it"):
        grams_of(1000, abv=None, density_20=None)
    with pytest.raises(BadVolume):
        grams_of(1000, abv=96, density_20=None, celsius=60)


@given(st.floats(1, 100_000), st.floats(0, 100))
def test_grams_and_millilitres_go_back_and_forth(ml: float, abv: float) -> None:
    grams = grams_of(ml, abv=abv, density_20=None)
    assert volume_ml(grams, abv=abv, density_20=None) == pytest.approx(ml)
    assert pure_ml(grams, abv) == pytest.approx(ml * abv / 100, abs=1e-9)


def test_a_measured_density_goes_before_the_strength() -> None:
    assert volume_ml(500, abv=40, density_20=1000) == pytest.approx(500)
    assert volume_ml(500, abv=None, density_20=None) is None


def test_the_shape_in_the_docstring_is_the_shape_we_print() -> None:
    assert all(re.fullmatch(r"[A-Z]\d\d-\d{3,6}-[0-9A-Z]", code) for code in CODES)
