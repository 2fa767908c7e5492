"""What is at hand to combine, where it lands, and the ways out when it does not fit.

mL at 20 °C, % vol at 20 °C. The floor (nothing left in the extract) decides keeping; the best estimate is
kept on record for the label; the high end goes into the ethanol of a dose.
"""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.alcohol import millilitres
from batches.calc.combine import USUAL_SHARES, Landing, landing
from batches.calc.errors import OutOfRange
from batches.calc.extraction import HerbPerMl, herb_per_ml
from batches.calc.mixing import blend, to_target
from batches.calc.mixtures import Dilution
from batches.calc.uncertain import Known, Uncertain, combined_strength
from batches.calc.ways_out import WaysOut, ways_out
from batches.models import Batch, BatchLot
from batches.queries.batch import HeldLot, last_act, lot_in_role
from batches.queries.jar import U_VOLUME, jar_of

MOST_USUAL = 0.10


@dataclass(frozen=True, slots=True)
class AtHand:
    """Tincture and extract of a batch with what was measured of them."""

    tincture: HeldLot | None
    extract: HeldLot | None
    tincture_ml: float
    abv: float | None
    abv_u: float
    extract_ml: float
    target: float | None
    marc_ethanol_ml: float
    left_share: float

    @property
    def shares(self) -> tuple[float, ...]:
        """Shares of the marc's ethanol that may be left: by its time on the heat (USDA retention), and 10 %
        at least as the high end (common practice, no source)."""
        if not self.left_share:
            return USUAL_SHARES
        return (self.left_share, max(MOST_USUAL, self.left_share))

    @property
    def left_in_extract_abv(self) -> float:
        """Best estimate of the extract's own strength, from what the pot may have left."""
        if self.extract_ml <= 0:
            return 0.0
        return 100 * self.left_share * self.marc_ethanol_ml / self.extract_ml


def at_hand(batch: Batch) -> AtHand:
    """What the batch has to combine now; volumes from the masses on hand."""
    tincture = lot_in_role(batch, BatchLot.Role.TINCTURE)
    extract = lot_in_role(batch, BatchLot.Role.EXTRACT)
    # Only spirit and water can be let down by the alcohol tables; anything else is adjusted, not combined.
    abv = tincture.lot.abv if tincture and not tincture.lot.composition else None
    pot = last_act(batch, "strained")
    marc = (pot.data.get("marc_ethanol_ml") or 0.0) if pot else 0.0
    left = (pot.data.get("left_ml") or 0.0) if pot else 0.0
    return AtHand(
        tincture=tincture,
        extract=extract,
        tincture_ml=millilitres(float(tincture.on_hand), abv or 0.0) if tincture else 0.0,
        abv=abv,
        abv_u=(tincture.lot.abv_u or 0.0) if tincture else 0.0,
        extract_ml=millilitres(float(extract.on_hand), 0.0) if extract else 0.0,
        target=batch.version.target_abv if batch.version else batch.plan.get("target_abv"),
        marc_ethanol_ml=marc,
        left_share=left / marc if marc else 0.0,
    )


def needed(hand: AtHand, target: float | None = None) -> Dilution | None:
    """The water extract that brings all the tincture to the target; None when that cannot be said."""
    wanted = target if target is not None else hand.target
    if hand.abv is None or not wanted or hand.tincture_ml <= 0:
        return None
    try:
        return to_target(hand.tincture_ml, hand.abv, wanted)
    except OutOfRange:
        return None


def lands(hand: AtHand, *, tincture_ml: float, extract_ml: float) -> Landing | None:
    """Where these two amounts land, floor to high end."""
    if hand.abv is None or tincture_ml <= 0:
        return None
    share = extract_ml / hand.extract_ml if hand.extract_ml else 0.0
    return landing(
        tincture_ml=tincture_ml,
        abv=hand.abv,
        extract_ml=extract_ml,
        marc_ethanol_ml=hand.marc_ethanol_ml * min(1.0, share),
        shares=hand.shares,
    )


def ways(hand: AtHand, spirit_abv: float) -> WaysOut | None:
    """The ways to the target when the extract at hand is not what is needed."""
    if hand.abv is None or not hand.target or hand.tincture_ml <= 0 or hand.extract_ml <= 0:
        return None
    try:
        return ways_out(
            tincture_ml=hand.tincture_ml,
            abv=hand.abv,
            extract_ml=hand.extract_ml,
            target=hand.target,
            spirit_abv=spirit_abv,
            marc_ethanol_ml=hand.marc_ethanol_ml,
        )
    except OutOfRange:
        return None


@dataclass(frozen=True, slots=True)
class Combined:
    """The strength of what was poured together: floor with its uncertainty, and the best estimate."""

    ml: float
    g: float
    floor: Uncertain
    best_abv: float


def combined(hand: AtHand, parts: list[tuple[float, float]]) -> Combined:
    """`parts`: tincture, extract (as water) and spirit as (mL, % vol), in that order."""
    together = blend(parts)
    (tincture_ml, abv), (extract_ml, _) = parts[0], parts[1]
    floor = combined_strength(
        tincture_ml=Known(tincture_ml, tincture_ml * U_VOLUME),
        abv=Known(abv, hand.abv_u),
        extract_ml=Known(extract_ml, extract_ml * U_VOLUME),
        extract_abv=Known(0.0),
    )
    if len(parts) > 2:
        floor = Uncertain(together.abv, floor.u, floor.shares)
    best = blend([parts[0], (extract_ml, hand.left_in_extract_abv), *parts[2:]]).abv
    return Combined(together.ml, together.g, floor, best)


def herb_in(
    batch: Batch, *, tincture_share: float, extract_share: float, final_ml: float
) -> HerbPerMl | None:
    """Herb per mL on both bases when these shares (0..1) of tincture and extract went in."""
    jar, pressed = jar_of(batch), last_act(batch, "pressed")
    if jar is None or pressed is None or not jar.herb_g or jar.abv is None:
        return None
    carried = pressed.data.get("carried_ml", pressed.data["tincture_ml"]) / jar.liquid_ml
    used = carried * tincture_share + (1 - carried) * extract_share
    if used <= 0:
        return None
    # All herb counts as far as its liquids went in; the tincture's share is then of that herb.
    herb_g = jar.herb_g * used
    return herb_per_ml(
        herb_g=herb_g,
        jar_ml=jar.liquid_ml,
        pressed_ml=jar.liquid_ml * carried * tincture_share / used,
        final_ml=final_ml,
    )
