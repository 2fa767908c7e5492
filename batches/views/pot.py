"""The acts and panels from the pot to the bulk lot."""

from __future__ import annotations

from typing import Any

from batches.actions import combine, pot, pot_herb, pot_read, pot_strain, settle
from batches.calc.sure import why
from batches.forms import pot as forms
from batches.models import Occupancy, Stage
from batches.queries import combining, looks, pictures, pot_lasts, pot_start, pot_water, stock
from batches.queries import jar as jars
from batches.queries import pot as pots
from batches.queries.batch import last_act
from batches.queries.pot_alarm import alarms, heading
from batches.queries.pot_held import what_simmers
from batches.stages import kind_of
from batches.stages.base import StageFacts
from batches.views.spec import ActSpec
from inventory.models import Material
from workshop import clock
from workshop.models import Workshop

ACTS = [
    ActSpec(
        "weigh_in",
        "Weighed in",
        "Weigh herb in for the pot",
        pot_herb.weigh_in,
        forms.WeighInForm,
        icon="weigh",
    ),
    ActSpec(
        "set_pot",
        "On the heat",
        "Set the pot on the heat",
        pot.set_pot,
        forms.SetPotForm,
        icon="pot",
        look=pot_lasts.look_set_pot,
        warns=pot_lasts.typed_cautions,
    ),
    ActSpec("pot_reading", "Read", "Read the pot", pot_read.pot_reading, forms.PotReadingForm, icon="pot"),
    ActSpec(
        "topped_to_line",
        "Topped up",
        "Top up the pot",
        pot_read.topped_to_line,
        forms.TopLineForm,
        icon="top-up",
    ),
    ActSpec("stirred", "Stirred", "Stir the pot", pot.stirred, icon="pot", quick=True),
    ActSpec("pause", "Off the heat", "Take the pot off the heat", pot.pause, icon="clock", quick=True),
    ActSpec("resume", "Back on the heat", "Put the pot back on", pot.resume, icon="pot", quick=True),
    ActSpec(
        "boil_again",
        "Boiled again",
        "Strain off, and simmer it again",
        pot_strain.boil_again,
        forms.BoilAgainForm,
        icon="pot",
    ),
    ActSpec(
        "strained", "Strained", "Strain and squeeze", pot_strain.strained, forms.StrainedForm, icon="funnel"
    ),
    ActSpec("reduced", "Reduced", "The extract is reduced", settle.reduced, forms.ReducedForm, icon="pot"),
    ActSpec("leave_out", "Not needed", "Leave the reducing out", settle.leave_out, quick=True),
    ActSpec(
        "combined",
        "Poured",
        "Pour together",
        combine.combine,
        forms.CombineForm,
        icon="pour",
        look=looks.look_combine,
    ),
    ActSpec(
        "decanted", "Decanted", "Decant from the sludge", settle.decanted, forms.DecantedForm, icon="settle"
    ),
]


def decoct_panel(stage: Stage) -> dict[str, Any]:
    """The pot: what is in it, when it is there, and the caution before any heat."""
    batch, kind, at = stage.batch, kind_of(stage.kind), clock.now()
    pot_now = pots.pot_of(stage, at)
    pressed = last_act(batch, "pressed")
    weighed = last_act(batch, "weigh_in")
    ethanol = pressed.data.get("marc_ethanol_ml") if pressed and not weighed else None
    settings = kind.read(stage.settings)
    context: dict[str, Any] = {
        "pot": pot_now,
        "settings": settings,
        "target": pot_start.target_of(batch),
        "weighed": weighed,
        "simmers": what_simmers(stage),
        "nothing_yet": pressed is None and weighed is None,
        "cautions": kind.cautions(settings, StageFacts(title=batch.title, ethanol_in_marc_ml=ethanol)),
    }
    if pot_now is None:
        return context | _before(stage)
    zone = Workshop.objects.get().tz
    calls = alarms(pot_now, at=at, look_at=None)
    return context | {
        "reading_form": forms.PotReadingForm(stage=stage),
        "picture": pictures.pot_picture(pot_now, zone),
        "alarms": calls,
        "heading": heading(pot_now, calls, zone),
    }


def _before(stage: Stage) -> dict[str, Any]:
    """What was planned for a pot that is not on the heat yet, and what speaks against it."""
    start = pot_water.start_water_for(stage)
    return {
        "planned_g": pot_start.planned_herb_g(stage.batch),
        "planned_water_ml": pot_water.planned_water_ml(stage),
        "start": start.figures()["start_ml"] if start else None,
        "lasting": pot_lasts.planned_cautions(stage),
    }


def reduce_panel(stage: Stage) -> dict[str, Any]:
    """What is there against what is wanted."""
    hand, kind = combining.at_hand(stage.batch), kind_of(stage.kind)
    wanted = combining.needed(hand)
    fits = wanted is None or hand.extract_ml <= wanted.water_ml * 1.005
    return {
        "hand": hand,
        "needed": wanted.figures() if wanted else None,
        "wanted": wanted,
        "fits": fits,
        "cautions": kind.cautions(kind.read(stage.settings), StageFacts()),
    }


def combine_panel(stage: Stage) -> dict[str, Any]:
    """The number that decides the pour, where it lands, and the ways out."""
    batch, kind = stage.batch, kind_of(stage.kind)
    workshop = Workshop.objects.get()
    hand = combining.at_hand(batch, workshop)
    plan = combining.plan_of(hand)
    wanted, pour_ml, landing = plan.wanted, plan.pour_ml, plan.landing
    final_ml = landing.final_ml if landing else 0.0
    herb = None
    if landing and hand.extract_ml:
        share = pour_ml / hand.extract_ml
        herb = combining.herb_in(batch, tincture_share=1.0, extract_share=share, final_ml=final_ml)
    floor = float(workshop.strength_floor)
    scale = _scale(hand, landing)
    stands = {"vessel": scale["vessel"].pk} if scale and scale["fits"] else {}
    return _where_it_lands(hand, landing, pour_ml, workshop) | {
        "hand": hand,
        "plan": plan,
        "wanted": wanted,
        "needed": combining.needed_figures(hand, wanted) if wanted and not plan.short else None,
        "herb": combining.herb_figures(hand, herb, pour_ml) if herb else None,
        "pour_g": plan.pour_g,
        "scale": scale,
        "spirit_abv": _strongest(),
        "combine_form": forms.CombineForm(stage=stage, initial=stands),
        "ladder": pictures.ladder(batch, jar=jars.jar_of(batch), hand=hand, landing=landing, floor=floor),
        "cautions": kind.cautions(kind.read(stage.settings), StageFacts()),
    }


def _where_it_lands(
    hand: combining.AtHand, landing: Any, pour_ml: float, workshop: Workshop
) -> dict[str, Any]:
    """The landing and its warnings, judged on the lower bound as the pouring itself will be."""
    floor = float(workshop.strength_floor)
    if landing is None or hand.abv is None:
        return {"landing": None, "lands": None, "together_g": None, "workshop_floor": floor}
    sure = combining.combined(hand, [(hand.tincture_ml, hand.abv), (pour_ml, 0.0)]).floor
    return {
        "landing": landing,
        "lands": combining.landing_figures(hand, landing),
        "together_g": landing.final_g,
        "weak": sure.low < float(workshop.strength_warning),
        "below": sure.low < floor,
        "low": sure.low,
        "why": why(sure),
        "workshop_floor": floor,
    }


def _scale(hand: combining.AtHand, landing: Any) -> dict[str, Any] | None:
    """What the scale shows with the tincture's own vessel on it; None where its tare is not known."""
    if hand.tincture is None or landing is None:
        return None
    seats = Occupancy.objects.filter(lot=hand.tincture.lot, during__endswith__isnull=True)
    seat = seats.select_related("vessel").first()
    if seat is None or seat.vessel.tare_g is None:
        return None
    fits = landing.final_ml <= seat.vessel.capacity_ml
    return {"vessel": seat.vessel, "until_g": seat.vessel.tare_g + landing.final_g, "fits": fits}


def _strongest() -> float | None:
    """% vol of the strongest spirit at hand; None without one."""
    found = [offer.lot.abv for offer in stock.offers(Material.Kind.SPIRIT) if offer.lot.abv]
    return max(found, default=None)


def settle_panel(stage: Stage) -> dict[str, Any]:
    """What stands to clear."""
    done = last_act(stage.batch, "combined")
    settings = kind_of(stage.kind).read(stage.settings)
    return {"combined": done.data if done else None, "settings": settings}


PANELS = {
    "decoct": decoct_panel,
    "reduce": reduce_panel,
    "combine": combine_panel,
    "settle": settle_panel,
}
