"""What a label still wants for a market, in words. It helps with a label and certifies nothing.

Rules known only from memory say so: "confirm with your authority".
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass

from batches.labels import pack
from batches.labels.facts import LabelFacts
from batches.labels.fit import Laid
from batches.labels.lettering import EU_SMALL_X_HEIGHT_MM, US_LETTER_MM
from batches.labels.wording import printed_date, printed_lot

MARKETS = {"plain": "your own rules", "us": "the US", "eu": "the EU or UK"}
HAIR = 0.005


@dataclass(frozen=True, slots=True)
class Wanted:
    """One thing that is not on the label yet, and who asks for it. `sure` is False for rules from memory."""

    words: str
    source: str
    sure: bool = True


Check = Callable[[LabelFacts, Laid, Collection[str]], bool]


def wanted(facts: LabelFacts, laid: Laid, left_out: Collection[str] = ()) -> list[Wanted]:
    """What the market's list asks for and the label does not show."""
    gone = {*left_out, *laid.missing}
    rows = COMMON + {"us": US, "eu": EU}.get(facts.market, [])
    return [want for want, shown in rows if not shown(facts, laid, gone)]


def _block(name: str) -> Check:
    return lambda facts, laid, gone: name not in gone


def _says(pattern: str) -> Check:
    """The cautions or the dose note say it, and stand on the label."""

    def shown(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
        cautions = "" if "cautions" in gone else facts.cautions
        note = "" if "dose" in gone else facts.dose_note
        return re.search(pattern, f"{cautions} {note} {facts.storage}", re.IGNORECASE) is not None

    return shown


def _ingredients(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    return bool(facts.ingredients) and "ingredients" not in gone


def _latin(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    plants = [one for one in facts.ingredients if one.part or one.latin]
    return bool(plants) and all(one.latin and one.part for one in plants)


def _lot_mark(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    return pack.lot_mark_fits(
        lot=printed_lot(facts.lot), best_before=printed_date(facts), largest_side_cm2=None
    )


def _strength(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    return facts.abv is not None


def _warned(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    return bool(facts.cautions) and "cautions" not in gone


def _address(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    return bool(facts.address.strip()) and "maker" not in gone


def _portion(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    return bool(facts.dose_note) and "dose" not in gone


def _per_portion(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    return facts.dose_herb_mg is not None and "dose" not in gone


def _us_contact(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    return pack.address_has_us_contact(facts.address)


def _eu_letters(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    return laid.least_x_height_mm >= EU_SMALL_X_HEIGHT_MM - HAIR


def _us_letters(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    return laid.least_o_mm >= US_LETTER_MM - HAIR


def _never(facts: LabelFacts, laid: Laid, gone: Collection[str]) -> bool:
    """We do not make it, so it is always still wanted."""
    return False


COMMON: list[tuple[Wanted, Check]] = [
    (Wanted("the strength, which is not known", "common practice, no source"), _strength),
    (Wanted("cautions", "common practice, no source"), _warned),
    (Wanted("the maker’s address", "common practice, no source"), _address),
]
EU: list[tuple[Wanted, Check]] = [
    (Wanted("the words “food supplement”", "Directive 2002/46/EC Art. 6(1)"), _block("identity")),
    (Wanted("a list of ingredients", "Reg. (EU) 1169/2011 Art. 9(1)(b)"), _ingredients),
    (Wanted("how to store it", "Reg. (EU) 1169/2011 Art. 9(1)(g)"), _block("storage")),
    (Wanted("the portion for a day", "Directive 2002/46/EC Art. 6(3)(b)"), _portion),
    (Wanted("the herb in a portion", "Directive 2002/46/EC Art. 8", sure=False), _per_portion),
    (Wanted("not to exceed the stated portion", "Directive 2002/46/EC Art. 6(3)(c)"), _says(r"exceed")),
    (
        Wanted("that it does not replace a varied diet", "Directive 2002/46/EC Art. 6(3)(d)"),
        _says(r"(replace|substitute).*diet"),
    ),
    (
        Wanted("out of the reach of young children", "Directive 2002/46/EC Art. 6(3)(e)"),
        _says(r"reach of (young )?children"),
    ),
    (Wanted("a lot mark", "Directive 2011/91/EU Art. 3"), _lot_mark),
    (
        Wanted("letters of 1.2 mm, or 0.9 mm on a small pack", "Reg. (EU) 1169/2011 Art. 13(2)-(3)"),
        _eu_letters,
    ),
]
US: list[tuple[Wanted, Check]] = [
    (Wanted("the words “dietary supplement” or “herbal supplement”", "21 CFR 101.3(g)"), _block("identity")),
    (Wanted("a Supplement Facts box, unless your shop is exempt", "21 CFR 101.36"), _never),
    (Wanted("a list of ingredients", "21 CFR 101.4"), _ingredients),
    (Wanted("Latin name and part of each herb", "21 CFR 101.4(h)"), _latin),
    (
        Wanted("a full US address with ZIP, or a US phone number with area code", "21 U.S.C. 343(y)"),
        _us_contact,
    ),
    (
        Wanted("letters (o) 1/16 inch high, unless the pack is exempt", "21 CFR 101.2(c)", sure=False),
        _us_letters,
    ),
]
