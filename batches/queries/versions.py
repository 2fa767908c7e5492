"""Two versions of a formula side by side, row by row, in words with their units."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from batches.models import FormulaPart, FormulaVersion
from batches.queries.deviations import HERB_PERCENT, MENSTRUUM_POINTS, words_of
from batches.queries.formulas import PLAIN, part_of
from batches.queries.menstruum import MOST_OFF
from batches.stages import kind_of
from batches.stages.base import StageKind
from batches.stages.limits import LIMITS, bounds
from workshop.measures import measures

NONE = "none"
PER_GRAM = (FormulaPart.Role.GLYCEROL, FormulaPart.Role.ACID, FormulaPart.Role.SWEETENER)

# setting of a step -> (words, unit, digits); words of a setting that is no number have no unit
STEP_WORDS = {
    "adjust.target_abv": ("brought to", "% vol", 1),
    "adjust.sugar_percent": ("brought to sugar", "%", 1),
    "adjust.acid_percent": ("brought to acid", "%", 2),
    "bottle.remind_days": ("reminded after", "days", 0),
    "bottle.loss_percent": ("lost in bottling", "%", 1),
    "combine.cool_below_c": ("both below", "°C", 0),
    "decoct.low_c": ("pot, from", "°C", 0),
    "decoct.high_c": ("pot, up to", "°C", 0),
    "decoct.hours": ("on the heat", "h", 2),
    "decoct.watch_minutes": ("looked at every", "min", 0),
    "decoct.loss_ml_per_h": ("water lost in an hour", "mL", 0),
    "decoct.spent_ml_per_g": ("held by the spent marc", "mL per g dry", 2),
    "dry.target": ("dried to water", "%", 0),
    "dry.most": ("water at most", "%", 0),
    "dry.steady": ("steady below, a day", "%", 1),
    "dry.apart_hours": ("between two weighings", "h", 0),
    "filter.through": ("through", "", 0),
    "filter.hours": ("takes", "h", 1),
    "filter.loss_percent": ("lost", "%", 1),
    "infuse.liquid": ("drawn in", "", 0),
    "infuse.minutes": ("draws for", "min", 0),
    "infuse.oil_hours": ("warm for", "h", 2),
    "infuse.oil_low_c": ("oil, from", "°C", 0),
    "infuse.oil_high_c": ("oil, up to", "°C", 0),
    "infuse.smoke_c": ("oil never above", "°C", 0),
    "infuse.watch_minutes": ("looked at every", "min", 0),
    "infuse.most_moisture": ("herb's moisture at most", "%", 1),
    "infuse.keep_hours": ("kept at most", "h", 0),
    "macerate.min_days": ("press opens after", "days", 0),
    "macerate.target_days": ("press wanted on day", "", 0),
    "macerate.max_days": ("press closes after", "days", 0),
    "macerate.shake_daily_days": ("shaken every day for", "days", 0),
    "macerate.shake_every_days": ("then shaken every", "days", 0),
    "macerate.top_up_check": ("herb checked for a top-up", "", 0),
    "percolate.stand_minutes": ("moistened, stands for", "min", 0),
    "percolate.steep_hours": ("steeps for", "h", 1),
    "percolate.slow": ("drips, slowest", "mL/min per kg", 2),
    "percolate.fast": ("drips, fastest", "mL/min per kg", 2),
    "percolate.drops_per_ml": ("drops to a mL", "", 0),
    "percolate.drained_ml_per_g": ("held once drained", "mL per g dry", 2),
    "percolate.watch_minutes": ("looked at every", "min", 0),
    "prepare.grind": ("ground", "", 0),
    "press.squeezes": ("squeezes", "", 0),
    "press.again_days": ("a second menstruum stands", "days", 0),
    "reduce.optional": ("only if it must", "", 0),
    "reduce.to_share": ("reduced to a share of", "", 2),
    "settle.days": ("settles for", "days", 0),
    "settle.loss_percent": ("stays with the sludge", "%", 1),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One thing that both versions say, or only one of them."""

    group: str
    words: str
    old: str
    new: str

    @property
    def changed(self) -> bool:
        return self.old != self.new


def side_by_side(old: FormulaVersion, new: FormulaVersion) -> list[Row]:
    """Every row of two versions, the changed ones first, each kind in the order of the formula."""
    rows = [*_parts(old, new), *_fields(old, new), *_steps(old, new), *_rules(old, new)]
    return sorted(rows, key=lambda row: not row.changed)


def _parts(old: FormulaVersion, new: FormulaVersion) -> Iterator[Row]:
    for role in FormulaPart.Role:
        if role == FormulaPart.Role.LIQUID:
            continue
        a, b = _goods(old, role), _goods(new, role)
        if (a, b) != (NONE, NONE):
            yield Row("What goes in", str(role.label), a, b)
    before, after = _liquids(old), _liquids(new)
    for name in dict.fromkeys([*before, *after]):
        yield Row("What goes in", name, before.get(name, NONE), after.get(name, NONE))


def _goods(version: FormulaVersion, role: FormulaPart.Role) -> str:
    found = part_of(version, role)
    if found is None:
        return NONE
    share = next(part.share for part in version.parts.all() if part.role == role)
    return f"{found}, {measures().shown(share, 'g per g', 3)} of herb" if role in PER_GRAM else str(found)


def _liquids(version: FormulaVersion) -> dict[str, str]:
    """The liquids of a blend, each with its share."""
    rows = (part for part in version.parts.all() if part.role == FormulaPart.Role.LIQUID)
    return {str(part.material): measures().shown(part.share * 100, "%", 1) for part in rows}


def _fields(old: FormulaVersion, new: FormulaVersion) -> Iterator[Row]:
    for name, (words, unit, digits) in PLAIN.items():
        a, b = (_number(getattr(one, name), _unit(one, name, unit), digits) for one in (old, new))
        if (a, b) != (NONE, NONE):
            yield Row("Amounts and label", words.capitalize(), a, b)
    for words, one, other in (
        ("The herb is", old.get_herb_state_display(), new.get_herb_state_display()),
        ("Herb per mL on the label", old.get_herb_basis_display(), new.get_herb_basis_display()),
        ("Dose note", old.dose_note or NONE, new.dose_note or NONE),
        ("Cautions", old.cautions.strip() or NONE, new.cautions.strip() or NONE),
    ):
        if (one, other) != (NONE, NONE):
            yield Row("Amounts and label", words, str(one), str(other))


USUALLY = {MENSTRUUM_POINTS: MOST_OFF}  # asked where the formula says nothing of it


def _rules(old: FormulaVersion, new: FormulaVersion) -> Iterator[Row]:
    for name, words, unit in (
        (HERB_PERCENT, "Herb off the plan: asks why from", "%"),
        (MENSTRUUM_POINTS, "Menstruum off the plan: asks why from", "% vol"),
    ):
        if name in old.deviations or name in new.deviations:
            a, b = (_number(one.deviations.get(name, USUALLY.get(name)), unit, 1) for one in (old, new))
            yield Row("Limits", words, a, b)
    for limit in LIMITS:
        before, after = (bounds(one.limits, limit.name) for one in (old, new))
        if before != after or before is not None:
            said = (words_of(limit, one) if one is not None else NONE for one in (before, after))
            yield Row("Limits", limit.title, *said)


def _unit(version: FormulaVersion, name: str, unit: str) -> str:
    if name == "ratio":
        return "mL to a gram of herb" if version.ratio_basis == "wv" else "g to a gram of herb"
    return unit


def _steps(old: FormulaVersion, new: FormulaVersion) -> Iterator[Row]:
    before, after = ({row.kind: row.settings for row in one.stages.all()} for one in (old, new))
    for name in dict.fromkeys([*before, *after]):
        kind = kind_of(name)
        a, b = _said(kind, before.get(name)), _said(kind, after.get(name))
        for words in dict.fromkeys([*a, *b]):
            yield Row(kind.title, words, a.get(words, "no such step"), b.get(words, "no such step"))


def _said(kind: StageKind, stored: dict[str, Any] | None) -> dict[str, str]:
    """The settings of a step in words; {} when the version has no such step."""
    if stored is None:
        return {}
    found = {}
    for name, value in kind.write(kind.read(stored)).items():
        plain = (name.replace("_", " "), "", 2)
        words, unit, digits = STEP_WORDS.get(f"{kind.kind}.{name}", plain)
        found[words.capitalize()] = _number(value, unit, digits)
    return found


def _number(value: object, unit: str, digits: int) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return measures().shown(value, unit, digits)
    return str(value) if value else NONE
