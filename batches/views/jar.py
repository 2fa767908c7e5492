"""The acts and panels from weighing in to the press."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.timezone import get_current_timezone_name

from batches.actions import charge, jar_notes, jar_pours, jar_split, make_up, press, rinse
from batches.forms import jar as forms
from batches.models import BatchLot, Stage, StageAct
from batches.queries import batch as look
from batches.queries import jar as jars
from batches.queries import looks, pours, rinsing
from batches.queries.charging import poured_as_it_is
from batches.queries.press_days import day_of, press_of, press_told
from batches.stages import kind_of
from batches.stages.base import StageFacts
from batches.views.spec import ActSpec
from workshop import clock
from workshop.people.models import Person
from workshop.uploads import keep_picture


def _note(*, stage: Stage, by: Person, at: datetime, words: str, photo: Any) -> StageAct:
    kept = keep_picture(file=photo, by=by, at=at) if photo else None
    return jar_notes.note(stage=stage, words=words, photo=kept, by=by, at=at)


def _whole(what: str) -> Any:
    def gone(*, stage: Stage, by: Person, at: datetime, reason: str) -> StageAct:
        return jar_pours.take_out(stage=stage, what=what, reason=reason, by=by, at=at)

    return gone


def _some(what: str) -> Any:
    def out(*, stage: Stage, by: Person, at: datetime, amount: Any, reason: str) -> StageAct:
        return jar_pours.take_out(stage=stage, what=what, amount=amount, reason=reason, by=by, at=at)

    return out


def _label(stage: Stage, charged: StageAct) -> str:
    """After charging, its label: at once, before the next jar."""
    return reverse("batches:jar-label", args=[stage.batch.number])


ACTS = [
    ActSpec(
        "make_up",
        "Made up",
        "Make up the menstruum",
        make_up.make_up,
        forms.MakeUpForm,
        icon="pour",
        look=looks.look_make_up,
    ),
    ActSpec(
        "charge",
        "Charged",
        "Charge the jar",
        charge.charge,
        forms.ChargeForm,
        icon="jar",
        after=_label,
        look=looks.look_charge,
    ),
    ActSpec("shake", "Shaken", "Shake the jar", jar_notes.shake, icon="shake", quick=True, said="Shaken."),
    ActSpec("covered", "It is covered", "Is the herb covered?", jar_notes.covered, icon="done", quick=True),
    ActSpec(
        "press_now",
        "To the press",
        "Take it to the press",
        jar_notes.press_now,
        forms.PressNowForm,
        icon="press",
    ),
    ActSpec("top_up", "Topped up", "Top up the jar", jar_pours.top_up, forms.TopUpForm, icon="top-up"),
    ActSpec("sample", "Sample taken", "Take a sample", _some("sample"), forms.SampleForm, icon="sample"),
    ActSpec("note", "Noted", "Note what you see", _note, forms.NoteForm, icon="note"),
    ActSpec(
        "more_days",
        "Give more days",
        "Give it more days",
        jar_notes.more_days,
        forms.MoreDaysForm,
        icon="clock",
    ),
    ActSpec("split", "Split", "Split over a second vessel", jar_split.split, forms.SplitForm, icon="split"),
    ActSpec("join", "Joined", "Join with another jar", jar_split.join, forms.JoinForm, icon="join"),
    ActSpec(
        "spilled", "Some spilled", "Some of it spilled", _some("spilled"), forms.SpilledForm, icon="spill"
    ),
    ActSpec("broken", "It broke", "The jar broke", _whole("broken"), forms.WholeJarForm, icon="broken"),
    ActSpec("gone_bad", "Gone bad", "It has gone bad", _whole("gone_bad"), forms.WholeJarForm, icon="bad"),
    ActSpec("pour", "Poured off", "Pour off", press.pour, forms.PourForm, icon="pour"),
    ActSpec(
        "rinse",
        "Rinsed",
        "Rinse the marc with cold water",
        rinse.rinse,
        forms.RinseForm,
        icon="rinse",
    ),
    ActSpec(
        "pour_again",
        "Poured on again",
        "A second menstruum on the marc",
        rinse.pour_again,
        forms.AgainForm,
        icon="pour",
    ),
    ActSpec(
        "again_off",
        "Pressed off again",
        "Press the second menstruum off",
        rinse.again_off,
        forms.AgainOffForm,
        icon="press",
    ),
    ActSpec("pressed", "Pressed", "The pressing is over", press.pressed, forms.PressedForm, icon="press"),
]


def prepare_panel(stage: Stage) -> dict[str, Any]:
    """Weighing in: the plan's amounts, the menstruum if it is made up."""
    batch = stage.batch
    own = look.lot_in_role(batch, BatchLot.Role.MENSTRUUM)
    dripped = batch.stages.filter(kind="percolate").first()
    hot = batch.stages.filter(kind="infuse").first()
    if hot is not None:
        return _prepare_hot(hot)
    herb_act = "charge" if dripped is None else "moistened"
    ready = own is not None or batch.version is None
    acts = [herb_act, "make_up"] if ready else ["make_up", herb_act]
    if poured_as_it_is(batch):
        acts = [herb_act]
    kind = kind_of(stage.kind)
    said = kind.cautions(kind.read(stage.settings), StageFacts(title=batch.title))
    if dripped is not None:
        cone = kind_of(dripped.kind)
        abv = own.lot.abv if own else batch.plan.get("menstruum_abv")
        facts = StageFacts(title=batch.title, herb_g=batch.plan.get("herb_g"), abv=abv)
        said += cone.cautions(cone.read(dripped.settings), facts)
    return {
        "menstruum": own,
        "next_act": acts[0],
        "names": acts,
        "dripped": dripped is not None,
        "plan": batch.plan,
        "cautions": said,
    }


def _prepare_hot(step: Stage) -> dict[str, Any]:
    """Weighing in for an infusion: nothing is made up, and its own cautions stand here already."""
    kind = kind_of(step.kind)
    settings = kind.read(step.settings)
    said = kind.cautions(settings, StageFacts(title=step.batch.title))
    return {"hot": settings, "names": [kind.opened_by], "next_act": kind.opened_by, "cautions": said}


def macerate_panel(stage: Stage) -> dict[str, Any]:
    """The jar as it stands, its day and its window."""
    jar = jars.jar_of(stage.batch)
    if jar is None:
        return {}
    at, kind, zone = clock.now(), kind_of(stage.kind), ZoneInfo(get_current_timezone_name())
    window = press_of(stage, at=at)
    facts = StageFacts(title=stage.batch.title, herb_g=jar.herb_g, abv=jar.abv)
    shaken = look.standing_acts(stage, "shake")
    return {
        "jar": jar,
        "day": day_of(jar, at, zone),
        "in_window": window.opens <= at.astimezone(zone).date()
        if window
        else jar.day(at) >= jar.window.min_days,
        "press": window,
        "press_told": press_told(window, at=at, zone=zone) if window else "",
        "shaken": shaken[-1] if shaken else None,
        "scale_g": jars.scale_target(jar),
        "cautions": kind.cautions(kind.read(stage.settings), facts),
    }


def press_panel(stage: Stage) -> dict[str, Any]:
    """The running pours, and what the marc would hold back if it ended now."""
    jar = jars.jar_of(stage.batch)
    total = pours.poured_so_far(stage)
    kind = kind_of(stage.kind)
    context: dict[str, Any] = {
        "jar": jar,
        "pours": pours.pours(stage),
        "total_ml": total,
        "pour_form": forms.PourForm(stage=stage),
        "press_settings": kind.read(stage.settings),
        "cautions": kind.cautions(kind.read(stage.settings), StageFacts(title=stage.batch.title)),
    }
    context["rinses"] = rinsing.rinses_of(stage)
    context["again"] = rinsing.standing_again(stage)
    context["advice"] = rinsing.advise(stage, jar, total)
    context["more"] = jar is not None and jar.known and jar.density is None and total > 0
    poured_on = context["rinses"] or context["again"]
    held = press.held_back_so_far(jar, total) if jar and not poured_on else None
    return context | ({"held": pours.held_figures(stage, jar, held)} if jar and held else {})


PANELS = {"prepare": prepare_panel, "macerate": macerate_panel, "press": press_panel}
