"""What the bad-input tests send, and where: hostile texts, forms as a page shows them, all stages."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import timedelta
from html.parser import HTMLParser
from typing import Any

from django import forms

from batches.actions import combine, jar_notes, make_up, pot, pot_strain, press
from batches.models import Batch
from tests import builders_batches, builders_infuse, builders_jar, builders_percolate
from tests.builders import NOON, PASSWORD, an_owner
from workshop.fields import CountField, QuantityField

TEXTS = (
    "\x00",
    "12\x00",
    "x" * 10_000,
    "<script>alert(1)</script>",
    "🌿🍄",
    "1,5",
    "1e9",
    "-1",
    "9" * 30,
    "٣٤٥",
    "0001-01-01",
    "99999-01-01",
    "2026-02-30",
    "NaN",
    "999999",  # a row that does not exist, a number that is too large
    "9223372036854775808",  # one more than a bigint of PostgreSQL holds (its manual, 8.1.1)
    "-9223372036854775809",
    "%s %(x)d {0} {{ 1 }}",
    "\u202e\u200b ",
)
NUMBERS = ("0", "0.0001", "9999999", "99.99")
DAYS = ("9999-12-31", "0001-01-01")

SECRET = (forms.PasswordInput, forms.FileInput)


def plausible(form: forms.BaseForm) -> dict[str, Any]:
    """Something that each field may well take, without a thought for whether it fits together."""
    found: dict[str, Any] = {}
    for name, field in form.fields.items():
        value = _plausible(form, name, field)
        if value is not None:
            found[form.add_prefix(name)] = value
    return found


def _plausible(form: forms.BaseForm, name: str, field: forms.Field) -> Any:
    shown = form[name].value()
    if isinstance(field.widget, forms.FileInput):
        return None
    if isinstance(field.widget, forms.PasswordInput):
        return PASSWORD
    if isinstance(field, forms.BooleanField):
        return "on"
    if hasattr(field, "choices"):
        return str(shown) if shown not in (None, "", []) else first_choice(field)
    if shown not in (None, ""):
        return field.widget.format_value(shown) if isinstance(field, forms.DateField) else str(shown)
    if isinstance(field, QuantityField | CountField | forms.IntegerField | forms.FloatField):
        return "1"
    if isinstance(field, forms.DateField):
        return "2026-03-02"
    return "wren@owlpenny.example" if isinstance(field, forms.EmailField) else "Wren"


def first_choice(field: Any) -> str:
    """The first value of a list that is no "choose one"."""
    for value, label in field.choices:
        inside = label if isinstance(label, list | tuple) else [(value, label)]
        for one, _ in inside:
            if str(one):
                return str(one)
    return ""


def awkward(field: forms.Field) -> tuple[str, ...]:
    """What the field's own grammar takes, and perhaps nothing behind it."""
    if isinstance(field, forms.DateField):
        return DAYS
    return NUMBERS if isinstance(field, QuantityField | CountField | forms.IntegerField) else ()


def awkwardly(form: forms.BaseForm, *, few: int) -> Iterator[dict[str, str]]:
    """Each field with each of its awkward texts, alone; of more than `few` some others with it."""
    told = [(form.add_prefix(name), awkward(field)) for name, field in form.fields.items()]
    told = [(name, texts) for name, texts in told if texts]
    apart = min(len(told), few)
    for start in range(apart):
        for turn in range(max(len(texts) for _, texts in told)):
            yield {name: texts[turn % len(texts)] for name, texts in told[start::apart]}


def keyed(body: Mapping[str, Any], key: str) -> dict[str, Any]:
    return {**body, "once_key": key}


def rotations(names: list[str], *, every: int = 1) -> Iterator[dict[str, str]]:
    """Every field gets every text once (or each `every`-th), each time another beside it."""
    for turn in range(0, len(TEXTS), every):
        yield {name: TEXTS[(place + turn) % len(TEXTS)] for place, name in enumerate(names)}


class Typed(HTMLParser):
    """What stands in the boxes of a page: a value for each name, or several for lists."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.boxes: dict[str, list[str]] = {}
        self.picked: dict[str, list[str]] = {}
        self._select = self._area = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        name, value = given.get("name") or "", given.get("value") or ""
        if tag == "select":
            self._select = name
            self.picked.setdefault(name, [])
        elif tag == "option" and self._select and "selected" in given:
            self.picked[self._select].append(value)
        elif tag == "textarea":
            self._area = name
            self.boxes.setdefault(name, []).append("")
        elif tag == "input" and given.get("type") in ("radio", "checkbox"):
            kept = self.picked.setdefault(name, [])
            if "checked" in given:
                kept.append(value or "on")
        elif tag == "input":
            self.boxes.setdefault(name, []).append(value)

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self._select = ""
        elif tag == "textarea":
            self._area = ""

    def handle_data(self, data: str) -> None:
        if self._area:
            self.boxes[self._area][-1] += data


def _prepared() -> Batch:
    batch = builders_jar.a_batch()
    builders_jar.a_lot(amount="400", moisture=0.09)
    builders_jar.a_spirit()
    builders_jar.a_vessel(capacity_ml=5000)
    return batch


def _made_up() -> Batch:
    batch = _prepared()
    make_up.make_up(
        stage=batch.stages.get(kind="prepare"),
        spirit_lot=builders_jar.a_spirit(),
        spirit=builders_jar.typed("750 mL"),
        water=builders_jar.typed("168 mL"),
        by=an_owner(),
        at=NOON,
    )
    return batch


def _for_the_percolator() -> Batch:
    batch = builders_percolate.a_batch()
    builders_jar.a_lot(amount="400", moisture=0.09)
    return batch


def _for_the_oil() -> Batch:
    batch = builders_infuse.an_oil_to_pour()
    builders_jar.a_lot(builders_infuse.calendula(), amount="400", moisture=0.09)
    builders_infuse.an_oil()
    return batch


def _pressing() -> Batch:
    batch = builders_jar.a_charged_batch()
    later = NOON + timedelta(days=28)
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=an_owner(), at=later)
    pour = builders_jar.typed("760 mL")
    press.pour(stage=batch.stages.get(kind="press"), amount=pour, by=an_owner(), at=later)
    return batch


def _on_the_heat() -> Batch:
    batch = builders_jar.a_pressed_batch()
    kettle = builders_jar.a_vessel("P1", 6000, 900, form="pot", diameter_cm=24.0)
    water = builders_jar.typed("3200 mL")
    later = NOON + timedelta(days=28, hours=2)
    pot.set_pot(stage=batch.stages.get(kind="decoct"), vessel=kettle, water=water, by=an_owner(), at=later)
    return batch


def _strained() -> Batch:
    batch = _on_the_heat()
    later = NOON + timedelta(days=28, hours=6)
    extract = builders_jar.typed("1500 mL")
    pot_strain.strained(stage=batch.stages.get(kind="decoct"), extract=extract, by=an_owner(), at=later)
    return batch


def _combined() -> Batch:
    batch = builders_jar.a_strained_batch()
    extract, later = builders_jar.typed("1407.1 mL"), NOON + timedelta(days=29)
    combine.combine(stage=batch.stages.get(kind="combine"), extract=extract, by=an_owner(), at=later)
    return batch


AT_STAGE: dict[str, list[Callable[[], Batch]]] = {
    "prepare": [_prepared, _made_up, _for_the_percolator, _for_the_oil],
    "macerate": [builders_jar.a_charged_batch],
    "percolate": [
        builders_percolate.a_moistened_batch,
        builders_percolate.a_packed_batch,
        builders_percolate.a_steeping_batch,
        builders_percolate.a_dripping_batch,
        builders_percolate.a_collected_batch,
    ],
    "infuse": [
        builders_infuse.a_tea,
        builders_infuse.a_drawing_tea,
        builders_infuse.a_warm_oil,
    ],
    "dry": [builders_infuse.a_drying, builders_infuse.a_rack, builders_infuse.a_weighed_rack],
    "filter": [builders_infuse.a_pressed_tea],
    "press": [_pressing],
    "decoct": [builders_jar.a_pressed_batch, _on_the_heat],
    "reduce": [_strained],
    "combine": [builders_jar.a_strained_batch],
    "settle": [_combined],
    "bottle": [builders_jar.a_bulk_batch],
}


def at_stage(kind: str, number: int) -> dict[str, int]:
    """A batch whose open stage is of that kind, with vessels and lots beside it to choose from."""
    batch = AT_STAGE[kind][number]()
    builders_jar.a_spirit()
    builders_jar.a_vessel("K8", 3000)
    builders_batches.a_vessel("P8", 9000, form="pot", diameter_cm=26.0)
    builders_batches.a_vessel("R8", 2000, form="percolator")
    stage = batch.stages.get(kind=kind)
    assert stage.state == "open", f"{kind} is {stage.state}"
    return {"number": batch.number, "order": stage.order}
