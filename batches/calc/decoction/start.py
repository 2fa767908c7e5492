"""How much water to start a pot with: by what is wanted and lost, and by the dispensary's rules."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive
from batches.calc.result import ARITHMETIC, Result, figure, g, mL, plain, share
from batches.calc.sources import Mark, Sourced
from workshop.calc.working import Figure

DISPENSARY = "water rules of Chinese decoction practice, as printed by tcmmaintenance.com"
ABSORBED = Sourced(1.0, "mL/g", "water that a gram of dry herb drinks", DISPENSARY, Mark.READ)
STEAM = Sourced(150.0, "mL", "water lost as steam in the first boil", DISPENSARY, Mark.READ)
STEAM_AGAIN = Sourced(200.0, "mL", "water lost as steam in the second boil", DISPENSARY, Mark.READ)
PER_GRAM = Sourced(10.0, "mL/g", "water for both boils by the weight of the herb", DISPENSARY, Mark.READ)
FIRST_SHARE = Sourced(0.65, "", "share of that water in the first boil", DISPENSARY, Mark.READ)


@dataclass(frozen=True, slots=True)
class StartWater(Result):
    """Water to start a pot with."""

    target_ml: float
    dry_g: float
    spent_retention: float
    rate_ml_h: float
    hours: float
    marc_ml: float
    held_ml: float
    evaporated_ml: float
    start_ml: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("Vt", "water extract wanted", self.target_ml),
            g("D", "dry matter in the pot", self.dry_g),
            plain("h", "held back by the spent marc", self.spent_retention, "mL/g", 2),
            plain("r", "water lost", self.rate_ml_h, "mL/h", 0),
            plain("t", "time on the heat", self.hours, "h", 1),
            mL("Vm", "liquid already in the wet marc", self.marc_ml),
        )
        return {
            "start_ml": figure(
                "Start water",
                self.start_ml,
                "mL",
                "Vt + D * h + r * t - Vm",
                "Wanted, kept by the spent marc and boiled away, less what the wet marc brings.",
                inputs,
                source=ARITHMETIC,
            )
        }


def start_water(
    *,
    target_ml: float,
    dry_g: float,
    spent_retention: float,
    rate_ml_h: float,
    hours: float,
    marc_ml: float = 0.0,
) -> StartWater:
    """Start water = target + held by the spent marc + rate x hours - liquid in the wet marc."""
    for value, what in (
        (target_ml, "The water extract wanted"),
        (dry_g, "The dry matter"),
        (spent_retention, "What the spent marc holds"),
        (rate_ml_h, "The rate of water lost"),
        (hours, "The time on the heat"),
        (marc_ml, "The liquid in the wet marc"),
    ):
        need_not_negative(value, what)
    held, lost = dry_g * spent_retention, rate_ml_h * hours
    start = target_ml + held + lost - marc_ml
    if start < 0.0:
        raise OutOfRange("The wet marc alone brings more liquid than is wanted: heat it longer or want more.")
    return StartWater(target_ml, dry_g, spent_retention, rate_ml_h, hours, marc_ml, held, lost, start)


@dataclass(frozen=True, slots=True)
class BoilWater(Result):
    """Water for a first and a second boil of the same dry herb; `second_*` only where there is one.

    The first boil's herb drinks `absorbed` mL a gram; in the second it is wet already.
    """

    herb_g: float
    wanted_ml: float
    wanted_again_ml: float
    absorbed: float
    steam_ml: float
    steam_again_ml: float
    first_ml: float
    second_ml: float

    def figures(self) -> dict[str, Figure]:
        herb = (g("W", "dry herb", self.herb_g), plain("h", ABSORBED.words, self.absorbed, ABSORBED.unit))
        first = (mL("D", "wanted of the first boil", self.wanted_ml), mL("S", STEAM.words, self.steam_ml))
        again = mL("D", "wanted of the second boil", self.wanted_again_ml)
        found = {
            "first_ml": figure(
                "Water for the first boil",
                self.first_ml,
                "mL",
                "W * h + S + D",
                "What the herb drinks, what goes as steam, and what is wanted.",
                (*herb, *first),
                source=DISPENSARY,
            )
        }
        if self.wanted_again_ml:
            found["second_ml"] = figure(
                "Water for the second boil",
                self.second_ml,
                "mL",
                "S + D",
                "The herb is wet already: what goes as steam, and what is wanted.",
                (again, mL("S", STEAM_AGAIN.words, self.steam_again_ml)),
                source=DISPENSARY,
            )
        return found


def boil_water(
    *,
    herb_g: float,
    wanted_ml: float,
    wanted_again_ml: float = 0.0,
    absorbed: float = ABSORBED.value,
    steam_ml: float = STEAM.value,
    steam_again_ml: float = STEAM_AGAIN.value,
) -> BoilWater:
    """Water for `wanted_ml` of a first boil of `herb_g` g and, unless 0, `wanted_again_ml` of a second.

    `absorbed` mL/g and the two steams in mL are the dispensary's; a wide pot or a long boil loses more: see
    `start_water`.
    """
    need_positive(herb_g, "The herb")
    need_positive(wanted_ml, "What is wanted of the first boil")
    for value, what in (
        (wanted_again_ml, "What is wanted of the second boil"),
        (absorbed, "What the herb drinks"),
        (steam_ml, "The steam of the first boil"),
        (steam_again_ml, "The steam of the second boil"),
    ):
        need_not_negative(value, what)
    first = herb_g * absorbed + steam_ml + wanted_ml
    second = steam_again_ml + wanted_again_ml if wanted_again_ml else 0.0
    return BoilWater(herb_g, wanted_ml, wanted_again_ml, absorbed, steam_ml, steam_again_ml, first, second)


@dataclass(frozen=True, slots=True)
class ByHerb(Result):
    """The shorter rule: `per_g` mL of water a gram of herb, `share` of it in the first of two boils."""

    herb_g: float
    per_g: float
    share: float
    total_ml: float
    first_ml: float
    second_ml: float

    def figures(self) -> dict[str, Figure]:
        whole = (g("W", "dry herb", self.herb_g), plain("k", PER_GRAM.words, self.per_g, PER_GRAM.unit))
        parted = (*whole, share("s", FIRST_SHARE.words, self.share))
        words = "A round figure by weight, whatever is wanted of it."
        return {
            "total_ml": figure(
                "Water for both boils", self.total_ml, "mL", "W * k", words, whole, source=DISPENSARY
            ),
            "first_ml": figure(
                "In the first", self.first_ml, "mL", "W * k * s", words, parted, source=DISPENSARY
            ),
            "second_ml": figure(
                "In the second", self.second_ml, "mL", "W * k * (1 - s)", words, parted, source=DISPENSARY
            ),
        }


def water_by_herb(
    *, herb_g: float, per_g: float = PER_GRAM.value, first_share: float = FIRST_SHARE.value
) -> ByHerb:
    """Water for two boils of `herb_g` g by the dispensary's round figure: 10 mL/g, 65 % in the first."""
    need_positive(herb_g, "The herb")
    need_positive(per_g, "The water for a gram")
    need_fraction(first_share, "The share of the first boil")
    total = herb_g * per_g
    return ByHerb(herb_g, per_g, first_share, total, total * first_share, total * (1.0 - first_share))
