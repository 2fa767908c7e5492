"""Two versions of a formula side by side: what changed comes first and is said by word."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from batches.queries.formulas import version
from batches.queries.versions import STEP_WORDS, Row, side_by_side
from batches.stages import kinds
from tests.builders import a_maker
from tests.builders_batches import a_draft, goods, two_versions

pytestmark = pytest.mark.django_db


def rows_of(**changes: object) -> list[Row]:
    old, new = (version(one.pk) for one in two_versions(**changes))
    assert old is not None and new is not None
    return side_by_side(old, new)


def tied(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_changed_rows_come_first_with_their_units() -> None:
    rows = rows_of(menstruum_abv=70.0, stages={"decoct": {"hours": 3.0}})
    changed = [(row.group, row.words, tied(row.old), tied(row.new)) for row in rows if row.changed]
    assert changed == [
        ("Amounts and label", "Menstruum strength", "80.0 % vol", "70.0 % vol"),
        ("Simmer in water", "On the heat", "4 h", "3 h"),
    ]
    assert [row.changed for row in rows] == [True, True] + [False] * (len(rows) - 2)


def test_a_ratio_by_mass_is_said_in_grams() -> None:
    ratio = next(row for row in rows_of(ratio_basis="mm") if row.words == "Menstruum")
    assert (tied(ratio.old), tied(ratio.new)) == ("5 mL to a gram of herb", "5 g to a gram of herb")


def test_other_goods_and_reworded_cautions_are_changes() -> None:
    old, _ = two_versions()
    parts = {part.role: part.material for part in old.parts.all()} | {"herb": goods("fungus", "Reishi")}
    new = a_draft(name="Another", parts=parts, cautions="Contains alcohol.")
    said = {row.words: (row.old, row.new) for row in side_by_side(old, new) if row.changed}
    assert said == {"Herb": ("Turkey tail", "Reishi"), "Cautions": ("none", "Contains alcohol.")}


def test_every_setting_of_every_step_has_words() -> None:
    written = {f"{kind.kind}.{name}" for kind in kinds().values() for name in kind.write(kind.settings())}
    assert written == set(STEP_WORDS)


def test_the_page_marks_by_word_and_puts_the_earlier_one_left(client: Client) -> None:
    old, new = two_versions()
    client.force_login(a_maker())
    page = tied(client.get(reverse("batches:formula-beside", args=[new.pk, old.pk])).content.decode())
    assert "1 thing changed from version 1 to 2." in page
    assert page.count(">changed</span>") == 1
    assert page.index("80.0 % vol") < page.index("70.0 % vol") < page.index("the same")
    formula = client.get(reverse("batches:formula", args=[old.formula_id])).content.decode()
    assert reverse("batches:formula-beside", args=[old.pk, new.pk]) in formula


def test_versions_of_two_formulas_are_not_put_side_by_side(client: Client) -> None:
    old, _ = two_versions()
    client.force_login(a_maker())
    for other in (old, a_draft(name="Another")):
        assert client.get(reverse("batches:formula-beside", args=[old.pk, other.pk])).status_code == 404
