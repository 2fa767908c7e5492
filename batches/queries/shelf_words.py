"""What the shelf says of a vessel: its caption, its tag, how full it is drawn, and in which tint."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.http import urlencode

from batches.models import BatchLot
from batches.queries.jar import Jar
from batches.queries.pot_dry import span
from batches.queries.press_days import day_of, press_told, short
from batches.queries.shelf import InVessel
from batches.queries.vessels import contents_ml
from inventory.models import Material
from workshop.calc.rounding import NBSP
from workshop.charts.shelf import DrawnState, PlaceShelf, Shelf, VesselDrawing
from workshop.measures import measures

Role = BatchLot.Role
# Tints for goods that say none of their own, by kind: a pale brew, a fungus's ochre, a leaf's green.
TINTS = {Material.Kind.HERB: "#7d8f4a", Material.Kind.FUNGUS: "#b08a4a"}
WATER_TINT = "#9c8260"  # a decoction
OTHER_TINT = "#c8b480"
MARC_ML_PER_G = 2.0  # room that wetted marc takes at the bottom: for the drawing only
LAST_DAYS = timedelta(days=3)  # a window this near its end hurries
AT_TARGET_H = 0.05


def shelf_drawing(vessels: list[InVessel], *, at: datetime, zone: ZoneInfo, selected: str = "") -> Shelf:
    """Every place with a vessel in use, in walking order."""
    places: dict[int, tuple[str, str, list[VesselDrawing]]] = {}
    page = reverse("batches:shelf")
    for one in vessels:
        place = one.seat.vessel.place
        drawn = draw(one, at=at, zone=zone, page=page, selected=one.seat.vessel.tag == selected)
        places.setdefault(place.pk, (place.name, place.kind, []))[2].append(drawn)
    return Shelf([PlaceShelf(name, kind, drawn) for name, kind, drawn in places.values()])


def draw(
    one: InVessel, *, at: datetime, zone: ZoneInfo, page: str = "", selected: bool = False
) -> VesselDrawing:
    """One vessel as it stands, a link into `page`."""
    vessel = one.seat.vessel
    level = round(level_of(one), 2)  # finer is not seen, and a drawing that stays the same is kept
    return VesselDrawing(
        tag=vessel.tag,
        form=vessel.form,
        capacity_ml=vessel.capacity_ml,
        level=level,
        marc=_marc(one, level),
        tint=tint_of(one),
        title=title_of(one),
        phrase=phrase_of(one, at=at, zone=zone),
        url=f"{page}?{urlencode({'vessel': vessel.tag})}#sheet",
        state=tag_of(one, at=at, zone=zone),
        selected=selected,
        dry_out=round(min(one.pot.dry_ml / vessel.capacity_ml, 1.0), 2) if one.pot else None,
    )


def content_ml(one: InVessel) -> float | None:
    """mL that stand in the vessel, liquid and herb together; of a shared jar all of it."""
    if one.pot is not None:
        return one.pot.now_ml
    if one.jar is not None:
        return contents_ml(one.jar.liquid_ml, one.jar.herb_g or 0.0)
    return one.held_ml


def level_of(one: InVessel) -> float:
    """How full it stands, 0..1; vessels that share a content stand equally full."""
    ml = content_ml(one)
    room = one.seat.vessel.capacity_ml if one.pot is not None else one.shared_ml
    return 0.0 if ml is None or room <= 0 else min(ml / room, 1.0)


def _marc(one: InVessel, level: float) -> float:
    if one.role == Role.PERCOLATION:
        return level * 0.8
    if one.jar is None or not one.jar.herb_g:
        return level * 0.3 if one.pot is not None else 0.0
    return min(one.jar.herb_g * MARC_ML_PER_G / one.shared_ml, level * 0.6)


def tint_of(one: InVessel) -> str:
    """The colour of its liquid."""
    herb = one.batch.herb
    if one.pot is not None or one.role == Role.EXTRACT:
        return WATER_TINT
    if herb is None:
        return OTHER_TINT
    return herb.tint or TINTS.get(Material.Kind(herb.kind), OTHER_TINT)


def title_of(one: InVessel, *, heat: bool = True) -> str:
    """The name under the plank; of a pot with its last temperature."""
    title = name_of(one)
    if one.pot is not None:
        hot = heat and one.pot.celsius is not None
        named = title if one.role == Role.POT_HERB else f"Marc of {title[:1].lower()}{title[1:]}"
        return named + (f", {measures().shown(one.pot.celsius or 0.0, '°C', 0)}" if hot else "")
    if one.role in (Role.TINCTURE, Role.COMBINED, Role.BULK, Role.EXTRACT):
        return f"{title}, {_part(one.role)}"
    return title


def name_of(one: InVessel) -> str:
    """The batch's title with a capital."""
    return one.batch.title[:1].upper() + one.batch.title[1:]


def _part(role: str) -> str:
    return {Role.COMBINED: "combined", Role.EXTRACT: "extract", Role.BULK: "bulk"}.get(Role(role), "tincture")


def phrase_of(one: InVessel, *, at: datetime, zone: ZoneInfo) -> str:
    """The line below the name: days, or what it waits for."""
    if one.pot is not None:
        return _pot_phrase(one, zone)
    if one.steeping and one.jar is not None:
        return _jar_phrase(one, at, zone)
    if one.drawing:
        draw = one.due.get("draw")
        return f"draws until {draw.due_at.astimezone(zone):%H:%M}" if draw and draw.due_at > at else "drawn"
    if one.role == Role.MACERATION:
        return "at the press"
    if one.settling:
        clear = one.due.get("settle")
        return f"clear by {day_words(clear.due_at, at, zone)}" if clear and clear.due_at > at else "clear now"
    return measures().shown(one.held_ml, "mL", 0) if one.held_ml is not None else ""


def _jar_phrase(one: InVessel, at: datetime, zone: ZoneInfo) -> str:
    jar = one.jar
    assert jar is not None
    day, (opens, target, end) = day_of(jar, at, zone), _window(one, jar, zone)
    if day < opens:
        said = f"day{NBSP}{day}, press from{NBSP}{opens}"
    else:
        said = f"day{NBSP}{day} of{NBSP}{target if day <= target else end}"
    if not jar.day_known:
        said = f"found {day} day{'' if day == 1 else 's'} ago"
    shaken = one.shaken_at
    today = at.astimezone(zone).date()
    if shaken is not None and shaken.astimezone(zone).date() == today and "shake" not in one.open_due:
        return f"shaken, {said}" if day >= opens else said
    return said


def _window(one: InVessel, jar: Jar, zone: ZoneInfo) -> tuple[int, int, int]:
    """The days after charging on which it may, is planned to and must be pressed."""
    days, press, zero = jar.window, one.press, jar.charged_at.astimezone(zone).date()
    if press is None:
        return days.min_days, days.target_days, days.max_days or days.target_days
    planned = (press.due_at.astimezone(zone).date() - zero).days
    return (press.opens - zero).days, planned, (press.closes - zero).days if press.closes else planned


def _pot_phrase(one: InVessel, zone: ZoneInfo) -> str:
    pot = one.pot
    assert pot is not None
    if pot.paused_at is not None:
        return f"off the heat since {pot.paused_at.astimezone(zone):%H:%M}"
    dry = one.dry
    if dry is not None:
        return dry.short.removeprefix("is ")
    if pot.target_ml is None:
        return f"about {measures().shown(pot.now_ml, 'mL', 0)}"
    if pot.forecast.hours < AT_TARGET_H:
        return "at its target"
    return f"{span(pot.forecast.hours)} to target"


def tag_of(one: InVessel, *, at: datetime, zone: ZoneInfo) -> DrawnState | None:
    """The tag at its neck; None when no hand is needed."""
    if one.pot is not None:
        return _pot_tag(one, at)
    if one.steeping:
        return _jar_tag(one, at, zone)
    if one.drawing:
        return _infusion_tag(one)
    if one.role == Role.MACERATION and one.stage is not None:
        return DrawnState("due", "press", "Press it")
    if one.settling:
        ready = one.is_due("settle")
        return (
            DrawnState("ready", "settle", "Decant")
            if ready
            else DrawnState("settling", "hourglass", "Settling")
        )
    if one.stage is not None and one.stage.kind == "combine":
        return DrawnState("ready", "pour", "Combine")
    if one.stage is not None and one.stage.kind == "filter":
        return DrawnState("ready" if one.is_due("filter") is None else "due", "funnel", "Filter")
    return None


def _infusion_tag(one: InVessel) -> DrawnState | None:
    """Drawn comes before the look at the oil; while nothing is due it stands without a tag."""
    drawn, warm = one.is_due("draw"), one.is_due("warm")
    if drawn is not None:
        return DrawnState("late" if drawn.late else "due", "press", "It has drawn")
    if warm is not None:
        return DrawnState("late" if warm.late else "due", "pot", "Read the oil")
    return None


def _pot_tag(one: InVessel, at: datetime) -> DrawnState | None:
    assert one.pot is not None
    if one.pot.paused_at is not None:
        return None
    dry = one.dry
    if dry is not None:
        return DrawnState("late" if dry.soon else "due", "warn", dry.tag)
    if one.pot.target_ml and one.pot.forecast.hours < AT_TARGET_H:
        return DrawnState("due", "funnel", "Strain it")
    due, watch = one.is_due("watch"), one.due.get("watch")
    if due is not None:
        return DrawnState("late" if due.late else "due", "pot", "Read it now")
    if watch is None:
        return None
    return DrawnState("heat", "pot", f"Read in {minutes_to(watch.due_at, at)}{NBSP}min")


def minutes_to(when: datetime, at: datetime) -> int:
    """Whole minutes until `when`, at least one."""
    return max(1, round((when - at).total_seconds() / 60))


def _jar_tag(one: InVessel, at: datetime, zone: ZoneInfo) -> DrawnState | None:
    press, shake, check = one.is_due("press"), one.is_due("shake"), one.is_due("top-up")
    hurry = press is not None and press.kind in ("target", "closes")
    if press is not None and hurry and hurries(one, press.late, at, zone):
        return DrawnState("late", "press", press_words(one, at, zone))
    if check is not None:
        return DrawnState("late" if check.late else "due", "top-up", "Covered?")
    if shake is not None:
        return DrawnState("late" if shake.late else "due", "shake", "Shake")
    if hurry:
        return DrawnState("due", "press", press_words(one, at, zone))
    return None


def hurries(one: InVessel, late: bool, at: datetime, zone: ZoneInfo) -> bool:
    """Whether the press window is past its end or within its last days."""
    closes = closes_on(one)
    return late or (closes is not None and closes - at.astimezone(zone).date() <= LAST_DAYS)


def closes_on(one: InVessel) -> date | None:
    """The last day of the press window; None for one without an end."""
    return one.press.closes if one.press is not None else None


def press_words(one: InVessel, at: datetime, zone: ZoneInfo) -> str:
    """ "Press by Sat", "Press today", or "Press" without an end."""
    closes = closes_on(one)
    if closes is None:
        return "Press"
    days = (closes - at.astimezone(zone).date()).days
    if days <= 0:
        return "Press today" if days == 0 else "Press now"
    return f"Press by {closes:%a}" if days < 7 else f"Press by {short(closes)}"


def day_words(when: datetime | date, at: datetime, zone: ZoneInfo) -> str:
    """ "today", "tomorrow", "Thursday", "5 Dec": the day of `when` seen from `at`."""
    day = when.astimezone(zone).date() if isinstance(when, datetime) else when
    today = at.astimezone(zone).date()
    ahead = (day - today).days
    if ahead <= 1:
        return "today" if ahead <= 0 else "tomorrow"
    return f"{day:%A}" if ahead < 7 else short(day)


def moment_words(when: datetime, at: datetime, zone: ZoneInfo) -> str:
    """ "today, 07:41", "yesterday, 07:41", "Monday, 07:41", "5 Dec, 07:41": a past moment seen from `at`."""
    local, today = when.astimezone(zone), at.astimezone(zone).date()
    ago = (today - local.date()).days
    day = {0: "today", 1: "yesterday"}.get(ago) or (f"{local:%A}" if 0 < ago < 7 else short(local))
    return f"{day}, {local:%H:%M}"


def press_when(one: InVessel, at: datetime, zone: ZoneInfo) -> str:
    """ "on 1 Dec (may be done now, last day 15 Dec)"; "" where nothing asks for its pressing."""
    return press_told(one.press, at=at, zone=zone) if one.press is not None else ""
