"""The facts in the words of the label, block by block, in the order in which they are read."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from batches.labels import lettering
from batches.labels.alcohol import NBSP, statement
from batches.labels.facts import ALL, SHAKE, LabelFacts
from batches.labels.pack import eu_figure_mm, fl_oz_words

Span = tuple[str, str]  # face, text

IDENTITY = {"us": "Herbal supplement", "eu": "Food supplement"}
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]

# What may stand elsewhere (a leaflet, a second label, the box) when a label is small: block, its words.
MAY_LEAVE_OUT: dict[str, str] = {
    "herb": "Herb per mL",
    "dose": "Dose note and what a dose contains",
    "ingredients": "Ingredients",
    "cautions": "Cautions",
    "storage": "Storage",
    "qr": "Square code",
}


NAMES = {
    "name": "the product",
    "identity": "what it is",
    "content": "content and strength",
    "herb": "herb per mL",
    "dose": "the dose note",
    "ingredients": "the ingredients",
    "cautions": "the cautions",
    "storage": "how to store it",
    "lot": "lot and best before",
    "maker": "the maker",
    "qr": "the square code",
}


@dataclass(frozen=True, slots=True)
class Block:
    """A paragraph of the label. `scale` of the body's size, but at least `least_pt`; `foot` stands below."""

    name: str
    spans: tuple[Span, ...]
    scale: float = 1.0
    least_pt: float = 0.0
    foot: bool = False
    gap: float = 0.3  # lines of body text before it
    ruled: bool = False
    right: tuple[Span, ...] = ()

    @property
    def text(self) -> str:
        return "".join(text for _, text in (*self.spans, *self.right))


def blocks(facts: LabelFacts, leave_out: Collection[str] = ()) -> list[Block]:
    """All that a label of these facts says, without what is left out."""
    found = [_name(facts), *_identity(facts), _content(facts)]
    found += _herb(facts) + _dose(facts) + _ingredients(facts) + _cautions(facts)
    if storage := storage_words(facts):
        found.append(Block("storage", (("sans", storage),)))
    found += [_lot(facts), _maker(facts)]
    return [block for block in found if block.name not in leave_out]


def net_quantity(facts: LabelFacts) -> str:
    """ "50 mL", or "1.7 fl oz (50 mL)" in the US."""
    ml = f"{number(facts.fill_ml, 1, facts.decimal_mark)}{NBSP}mL"
    if facts.market != "us":
        return ml
    ounces = fl_oz_words(facts.fill_ml).replace(".", facts.decimal_mark)
    return f"{ounces}{NBSP}fl{NBSP}oz ({ml})"


def printed_lot(code: str) -> str:
    """ "L T26-014-8": an L in front, as Directive 2011/91/EU asks."""
    return f"L{NBSP}{code}"


def printed_date(facts: LabelFacts) -> str:
    """Day, month and year in clear."""
    day = facts.best_before
    return f"{day.day}{NBSP}{MONTHS[day.month - 1]}{NBSP}{day.year}"


def number(value: float, digits: int, mark: str = ".") -> str:
    """A number without trailing zeros."""
    text = f"{value:.{digits}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace(".", mark)


def herb_words(facts: LabelFacts) -> str:
    """ "84 mg of dried herb per mL, by all herb put in"."""
    if facts.herb_mg_per_ml is None:
        return ""
    amount = number(facts.herb_mg_per_ml, 0 if facts.herb_mg_per_ml >= 10 else 1, facts.decimal_mark)
    basis = "by all herb put in" if facts.herb_basis == ALL else "carried by the pressed tincture alone"
    return f"{amount}{NBSP}mg of {facts.herb_state} herb per{NBSP}mL, {basis}"


def contains_words(facts: LabelFacts) -> str:
    """What the owner's dose holds; no advice."""
    if not facts.dose_ml or (facts.dose_herb_mg is None and facts.dose_ethanol_mg is None):
        return ""
    holds = []
    if facts.dose_herb_mg is not None:
        holds.append(f"{number(facts.dose_herb_mg, 0)}{NBSP}mg of {facts.herb_state} herb")
    if facts.dose_ethanol_mg is not None:
        holds.append(f"up to {number(facts.dose_ethanol_mg, 0)}{NBSP}mg of alcohol")
    dose = number(facts.dose_ml, 2, facts.decimal_mark)
    contain = "contains" if facts.dose_ml <= 1 else "contain"
    return f"{dose}{NBSP}mL {contain} {' and '.join(holds)}."


def storage_words(facts: LabelFacts) -> str:
    """How to store it; to shake it is not said twice where the cautions say so already."""
    shaken = "shake" in facts.cautions.lower()
    return facts.storage.removeprefix(SHAKE).strip() if shaken else facts.storage


def _name(facts: LabelFacts) -> Block:
    return Block("name", (("serif", facts.product),), scale=1.55, gap=0)


def _identity(facts: LabelFacts) -> list[Block]:
    words = IDENTITY.get(facts.market, "")
    if facts.trial:
        words = "Trial, not for sale"
    return [Block("identity", (("italic", words),), gap=0)] if words else []


def _content(facts: LabelFacts) -> Block:
    least = 0.0
    if facts.market == "eu":
        least = lettering.least_pt(eu_figure_mm(facts.fill_ml), lettering.metrics("bold").figure)
    return Block(
        "content",
        (("bold", net_quantity(facts)),),
        scale=1.2,
        least_pt=least,
        gap=0.2,
        ruled=True,
        right=(("bold", _alcohol(facts)),) if facts.abv is not None else (),
    )


def _alcohol(facts: LabelFacts) -> str:
    assert facts.abv is not None
    return f"alc.{NBSP}{statement(facts.abv, decimal_mark=facts.decimal_mark)}"


def _herb(facts: LabelFacts) -> list[Block]:
    words = herb_words(facts)
    return [Block("herb", (("sans", words),))] if words else []


def _dose(facts: LabelFacts) -> list[Block]:
    said = " ".join(part for part in (facts.dose_note.strip(), contains_words(facts)) if part)
    return [Block("dose", (("sans", said),))] if said else []


def _ingredients(facts: LabelFacts) -> list[Block]:
    if not facts.ingredients:
        return []
    spans: list[Span] = [("bold", "Ingredients: ")]
    listed = sorted(facts.ingredients, key=lambda one: -one.grams)
    for place, one in enumerate(listed):
        part = f" {one.part}" if one.part else ""
        name = one.name if place == 0 else one.name[:1].lower() + one.name[1:]
        spans.append(("sans", f"{name}{part}"))
        if one.latin:
            spans += [("sans", " ("), ("italic", one.latin), ("sans", ")")]
        if one.allergens:
            spans += [("sans", " ("), ("bold", one.allergens), ("sans", ")")]
        spans.append(("sans", ", " if place < len(listed) - 1 else "."))
    return [Block("ingredients", tuple(spans))]


def _cautions(facts: LabelFacts) -> list[Block]:
    said = " ".join(facts.cautions.split())
    return [Block("cautions", (("sans", said),))] if said else []


def _lot(facts: LabelFacts) -> Block:
    lot, day = printed_lot(facts.lot), printed_date(facts)
    return Block("lot", (("bold", lot), ("sans", f"   Best{NBSP}before {day}")), foot=True)


def _maker(facts: LabelFacts) -> Block:
    where = ", ".join(line.strip().rstrip(",") for line in facts.address.splitlines() if line.strip())
    said = ", ".join(part for part in (facts.maker, where) if part)
    return Block("maker", (("sans", said),), foot=True, gap=0)
