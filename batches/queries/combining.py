"""What is at hand to combine, and where it lands.

mL at 20 °C, % vol at 20 °C. The floor (nothing left in the extract) decides keeping; the best estimate is
kept on record for the label; the high end goes into the ethanol of a dose.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from batches.calc.alcohol import grams, millilitres
from batches.calc.combine import USUAL_SHARES, Landing, landing
from batches.calc.errors import OutOfRange
from batches.calc.extraction import HerbPerMl, herb_per_ml
from batches.calc.instruments import USUAL, Instruments
from batches.calc.mixing import blend, to_target
from batches.calc.mixtures import Dilution
from batches.calc.sure import extract_wanted, share_u, together, with_all, with_u
from batches.calc.sure import herb_per_ml as herb_sure
from batches.calc.uncertain import Known, Uncertain
from batches.models import Batch, BatchLot
from batches.queries.batch import HeldLot, last_act, lot_in_role
from batches.queries.instruments import amount_u, in_use, strength_u
from batches.queries.jar import jar_of
from inventory.models import Lot
from workshop.calc.working import Figure
from workshop.models import Workshop

MOST_USUAL = 0.10


@dataclass(frozen=True, slots=True)
class AtHand:
    """Tincture and extract of a batch with what was measured of them."""

    tincture: HeldLot | None
    extract: HeldLot | None
    tincture_ml: float
    abv: float | None
    extract_ml: float
    target: float | None
    marc_ethanol_ml: float
    left_share: float
    pressed: Known = Known(0.0)
    strength: Uncertain = Uncertain(0.0)
    tools: Instruments = USUAL

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

    @property
    def left(self) -> Known:
        """The same with its uncertainty: anywhere from nothing to the high end is as likely."""
        if self.extract_ml <= 0 or not self.marc_ethanol_ml:
            return Known(0.0)
        most = 100 * max(self.shares) * self.marc_ethanol_ml / self.extract_ml
        return Known(self.left_in_extract_abv, share_u(0.0, most))

    def tincture_of(self, ml: float) -> Known:
        """`ml` of the tincture at hand; its error is in proportion to what was pressed."""
        return Known(ml, self.pressed.u * ml / self.pressed.value if self.pressed.value else 0.0)

    def extract_of(self, ml: float, *, by_weight: bool) -> Known:
        """`ml` of water extract, weighed out or read in a cylinder."""
        return Known(ml, amount_u(ml, grams(ml, 0.0), 0.0, self.tools, by_weight=by_weight))


def at_hand(batch: Batch, workshop: Workshop | None = None) -> AtHand:
    """What the batch has to combine now; volumes from the masses on hand."""
    tincture = lot_in_role(batch, BatchLot.Role.TINCTURE)
    extract = lot_in_role(batch, BatchLot.Role.EXTRACT)
    # Only spirit and water can be let down by the alcohol tables; anything else is adjusted, not combined.
    abv = tincture.lot.abv if tincture and not tincture.lot.composition else None
    pot = last_act(batch, "strained")
    marc = (pot.data.get("marc_ethanol_ml") or 0.0) if pot else 0.0
    left = (pot.data.get("left_ml") or 0.0) if pot else 0.0
    tools, ml = in_use(workshop), millilitres(float(tincture.on_hand), abv or 0.0) if tincture else 0.0
    off = last_act(batch, "pressed")
    return AtHand(
        tincture=tincture,
        extract=extract,
        tincture_ml=ml,
        abv=abv,
        extract_ml=millilitres(float(extract.on_hand), 0.0) if extract else 0.0,
        target=batch.version.target_abv if batch.version else batch.plan.get("target_abv"),
        marc_ethanol_ml=marc,
        left_share=left / marc if marc else 0.0,
        pressed=_pressed(off.data if off else {}, ml, abv or 0.0, tools),
        strength=_strength(tincture.lot, off.data if off else {}, tools) if tincture else Uncertain(0.0),
        tools=tools,
    )


def _pressed(off: Mapping[str, Any], ml: float, abv: float, tools: Instruments) -> Known:
    """mL of tincture as it came off the press, with how it was read."""
    was = off.get("tincture_ml") or 0.0
    u = off.get("pressed_u")
    return Known(ml, u * ml / was if u is not None and was else tools.volume_u(ml, abv))


def _strength(lot: Lot, off: Mapping[str, Any], tools: Instruments) -> Uncertain:
    """The tincture's strength by its sources while it is the one reckoned at the press; else as on record."""
    abv, parts = lot.abv or 0.0, off.get("abv_parts")
    if parts and lot.abv_basis == Lot.Basis.BALANCE and abs(abv - (off.get("abv") or 0.0)) < 1e-9:
        return Uncertain(abv, parts)
    return Uncertain(abv, {"tincture": strength_u(lot, tools)})


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


@dataclass(frozen=True, slots=True)
class Plan:
    """The one pour that a page goes by: the least of what the target wants and what is there.

    `pour_ml`, `pour_g` of water extract to all the tincture; `short_ml` of it are missing to the target.
    """

    pour_ml: float
    pour_g: float
    short_ml: float
    landing: Landing | None
    wanted: Dilution | None

    @property
    def short(self) -> bool:
        return self.short_ml >= 0.5


def plan_of(hand: AtHand) -> Plan:
    """What to pour now, and where that lands."""
    wanted = needed(hand)
    pour_ml = min(wanted.water_ml, hand.extract_ml) if wanted else hand.extract_ml
    landing = lands(hand, tincture_ml=hand.tincture_ml, extract_ml=pour_ml)
    short = wanted.water_ml - pour_ml if wanted else 0.0
    return Plan(pour_ml, grams(pour_ml, 0.0), short, landing, wanted)


@dataclass(frozen=True, slots=True)
class Combined:
    """The strength of what was poured together: floor with its uncertainty, and the best estimate."""

    ml: float
    g: float
    floor: Uncertain
    best: Uncertain

    @property
    def best_abv(self) -> float:
        """% vol with what the pot may have left."""
        return self.best.value


def combined(
    hand: AtHand, parts: list[tuple[float, float]], *, spirit_u: float = 0.0, by_weight: bool = True
) -> Combined:
    """`parts`: tincture, extract (as water) and spirit as (mL, % vol), in that order.

    `spirit_u` is the standard uncertainty of the spirit's strength; `by_weight`: the extract was weighed.
    """
    (tincture_ml, _), (extract_ml, _) = parts[0], parts[1]
    more = None
    if len(parts) > 2:
        ml, abv = parts[2]
        more = Known(ml, hand.tools.volume_u(ml, abv)), Known(abv, spirit_u)
    known = {
        "pressed": hand.tincture_of(tincture_ml),
        "tincture": hand.strength,
        "extract": hand.extract_of(extract_ml, by_weight=by_weight),
    }
    whole = blend(parts)
    _, floor = together(**known, left=Known(0.0), more=more)
    _, best = together(**known, left=hand.left, more=more)
    return Combined(whole.ml, whole.g, floor, best)


def landing_figures(hand: AtHand, found: Landing) -> dict[str, Figure]:
    """Where it lands, with how sure that is."""
    sure = combined(hand, [(found.tincture_ml, found.abv), (found.extract_ml, 0.0)])
    shown = found.figures()
    return shown | {"floor_abv": with_u(shown["floor_abv"], sure.floor)}


def needed_figures(hand: AtHand, wanted: Dilution) -> dict[str, Figure]:
    """The extract wanted and what it makes, with how sure they are."""
    try:
        sure = extract_wanted(
            pressed=hand.tincture_of(wanted.volume_ml), tincture=hand.strength, target=wanted.target
        )
    except OutOfRange:
        return wanted.figures()
    return with_all(wanted.figures(), sure)


def herb_figures(hand: AtHand, herb: HerbPerMl, extract_ml: float) -> dict[str, Figure]:
    """Herb per mL with how sure it is."""
    off = hand.tincture_of(hand.tincture_ml)
    whole, _ = together(
        pressed=off,
        tincture=hand.strength,
        extract=hand.extract_of(extract_ml, by_weight=True),
        left=Known(0.0),
    )
    sure = herb_sure(
        herb=Known(herb.herb_g, hand.tools.weight_u(herb.herb_g)),
        jar_ml=Known(herb.jar_ml, hand.tools.volume_u(herb.jar_ml)),
        pressed=hand.tincture_of(herb.pressed_ml),
        final_ml=Uncertain(herb.final_ml, whole.parts),
    )
    return with_all(herb.figures(), sure)


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
