"""What was poured on a pressed marc again, rinse or second menstruum, and what a cold rinse would do now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from batches.calc.amounts import from_volume
from batches.calc.errors import OutOfRange
from batches.calc.fill import whole_bottles
from batches.calc.mixing import to_target
from batches.calc.rinse import Rinse, rinses
from batches.calc.rinsed import Poured, Rinsed, rinsed
from batches.models import Stage, StageAct
from batches.queries.batch import standing_acts
from batches.queries.jar import Jar, jar_of
from batches.queries.pours import poured_so_far
from workshop.calc.working import Figure
from workshop.models import Workshop

TIMES = (0.0, 1.0, 2.0)
FILL_ML = 50.0


def rinses_of(stage: Stage) -> list[StageAct]:
    """The rinses and second menstrua that were pressed off again, oldest first."""
    return standing_acts(stage, "rinse", "again_off")


def standing_again(stage: Stage) -> StageAct | None:
    """The second menstruum that still stands on the marc; None when none does."""
    acts = standing_acts(stage, "pour_again", "again_off")
    return acts[-1] if acts and acts[-1].act == "pour_again" else None


def poured_again_pure_ml(stage: Stage) -> float:
    """mL of pure alcohol that second menstrua brought onto the marc."""
    acts = standing_acts(stage, "pour_again")
    return float(sum(act.data["water_ml"] * act.data["abv"] / 100 for act in acts))


def marc_after(jar: Jar, pressed_ml: float, acts: Sequence[StageAct]) -> Rinsed | None:
    """The marc and the tincture after these rinses; None without one, or with nothing to reckon from.

    Raises `OutOfRange` when more is said to have come off than there was.
    """
    if not acts or jar.abv is None:
        return None
    pours = [
        Poured(one.data["water_ml"], one.data["off_ml"], one.data["joins"], one.data.get("abv", 0.0))
        for one in acts
    ]
    retained = max(jar.liquid_ml - pressed_ml, 0.0)
    return rinsed(pressed_ml=pressed_ml, abv=jar.abv, retained_ml=retained, pours=pours)


def marc_holds(stage: Stage) -> float | None:
    """mL of liquid that the marc of an open pressing holds now; None where it cannot be said."""
    jar, pressed_ml = jar_of(stage.batch), poured_so_far(stage)
    if jar is None or jar.abv is None or not 0 < pressed_ml < jar.liquid_ml:
        return None
    try:
        after = marc_after(jar, pressed_ml, rinses_of(stage))
    except OutOfRange:
        return None
    if standing_again(stage) is not None:
        return None
    return after.retained_ml if after else jar.liquid_ml - pressed_ml


@dataclass(frozen=True, slots=True)
class CameOff:
    """What a pressing gave, rinses and all: mL at 20 °C, g, % vol; None where the strength is unknown."""

    tincture_ml: float
    tincture_g: float
    abv: float | None
    carried_ml: float
    retained_ml: float | None
    marc_pure_ml: float | None
    water_g: float = 0.0
    apart_ml: float = 0.0
    apart_abv: float = 0.0
    apart_g: float = 0.0


def came_off(stage: Stage, jar: Jar, pressed_ml: float) -> CameOff:
    """The pours, and the rinses after them where there were any. Raises `OutOfRange` as `marc_after` does."""
    acts = rinses_of(stage)
    after = marc_after(jar, pressed_ml, acts)
    if after is None:
        retained = jar.liquid_ml - pressed_ml if jar.abv is not None else None
        pure = retained * jar.abv / 100 if jar.abv is not None and retained is not None else None
        grams = from_volume(pressed_ml, jar.abv, density=jar.density).g
        return CameOff(pressed_ml, grams, jar.abv, pressed_ml, retained, pure)
    return CameOff(
        tincture_ml=after.tincture_ml,
        tincture_g=after.tincture_g,
        abv=after.tincture_abv,
        carried_ml=after.carried_ml,
        retained_ml=after.retained_ml,
        marc_pure_ml=after.left_ml,
        water_g=sum(one.data["water_g"] for one in acts),
        apart_ml=after.apart_ml,
        apart_abv=after.apart_abv,
        apart_g=after.apart_g,
    )


@dataclass(frozen=True, slots=True)
class Advice:
    """One rinse beside the others: `result` as reckoned, and what the batch makes of it in the end.

    `makes_ml` and `bottles` are of the batch's target strength where it has one (`target`), else of the
    tincture as it is.
    """

    result: Rinse
    makes_ml: float
    bottles: int
    target: float | None

    @property
    def litres(self) -> float:
        return self.makes_ml / 1000.0

    @property
    def figures(self) -> dict[str, Figure]:
        return self.result.figures()

    @property
    def misses_target(self) -> bool:
        return self.target is not None and self.result.final_abv < self.target


def advise(stage: Stage, jar: Jar | None, pressed_ml: float) -> list[Advice]:
    """No rinse, one with as much water as the marc holds, one with twice as much.

    Empty while it cannot be said, and once the marc was rinsed.
    """
    if jar is None or jar.abv is None or not jar.herb_g or not 0 < pressed_ml < jar.liquid_ml:
        return []
    if rinses_of(stage) or standing_again(stage) or jar.density is not None:
        return []
    batch = stage.batch
    fill = batch.version.fill_ml if batch.version else FILL_ML
    target = batch.version.target_abv if batch.version else batch.plan.get("target_abv")
    retained = jar.liquid_ml - pressed_ml
    floor = float(Workshop.objects.get().strength_floor)
    try:
        found = rinses(
            tincture_ml=pressed_ml,
            abv=jar.abv,
            herb_g=jar.herb_g,
            retained_ml=retained,
            times=TIMES,
            floor_abv=floor,
            fill_ml=fill,
        )
    except OutOfRange:
        return []
    return [_advice(one, target, fill) for one in found]


def _advice(one: Rinse, target: float | None, fill: float) -> Advice:
    makes = one.final_ml
    if target and one.final_abv >= target:
        makes = to_target(one.final_ml, one.final_abv, target).final_ml
    return Advice(one, makes, whole_bottles(makes, fill), target or None)
