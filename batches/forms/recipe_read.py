"""Between a formula's form and what it writes: a recipe out of the cleaned fields, and a version as typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from batches.calc import usual
from batches.calc.composition import Composition, of_kind
from batches.forms.numbers import base, system_of, typed
from batches.forms.recipe_fields import COLD, IN_UNITS, LIMITED, LIQUIDS, STEPS, WARM
from batches.models import FormulaPart, FormulaVersion
from batches.queries.deviations import HERB_PERCENT, MENSTRUUM_POINTS
from batches.queries.formulas import part_of
from batches.queries.recipes import GOODS, Recipe
from batches.stages import kind_of
from batches.stages.limits import LIMITS, bounds
from batches.stages.preparations import Preparation
from inventory.models import Material
from workshop.calc.units import Quantity
from workshop.people.models import Person

Role = FormulaPart.Role
PARTS = {name: role for name, (role, _) in GOODS.items()} | {"bottle": Role.BOTTLE, "closure": Role.CLOSURE}
COLUMNS = ("herb_basis", "herb_state", "ratio_basis", "dose_note", "cautions", "best_before_months")
Cleaned = Mapping[str, Any]


def recipe_from(data: Cleaned, one: Preparation) -> Recipe:
    """The cleaned fields of a formula of `one` as a recipe; what it does not ask keeps its default."""
    facts: dict[str, Any] = {name: data[name] for name in COLUMNS if data.get(name) not in (None, "")}
    if len(one.herb) == 1:
        facts["herb_state"] = one.herb[0]
    if "retention" in data:
        facts["retention_ml_per_g"] = data["retention"]
    if data.get("fill_ml"):
        facts["fill_ml"] = base(data["fill_ml"])
    rules = {HERB_PERCENT: data.get("herb_off"), MENSTRUUM_POINTS: data.get("abv_off")}
    if any(rules.values()):
        facts["deviations"] = {name: float(off) for name, off in rules.items() if off}
    facts["limits"] = _limits(data)
    return Recipe(
        parts=_parts(data, one),
        shares=_shares(data, one),
        liquids=_liquids(data),
        ratio=data.get("ratio"),
        menstruum_abv=base(data.get("menstruum_abv")),
        target_abv=base(data.get("target_abv")),
        dose_ml=base(data.get("dose_ml")),
        stages=_stages(data, one),
        **facts,
    )


def bound(typed: Any) -> float | None:
    """One end of a limit, typed as a plain number or as a quantity."""
    return base(typed) if isinstance(typed, Quantity) else typed


def _limits(data: Cleaned) -> dict[str, list[float | None]]:
    """Lower and upper bound of each limit that is set; °C for temperatures."""
    found = {one.name: [bound(data.get(f"{one.name}_{end}")) for end in ("low", "high")] for one in LIMITS}
    return {name: between for name, between in found.items() if between != [None, None]}


def _liquids(data: Cleaned) -> tuple[tuple[Material, float], ...]:
    filled = [n for n in LIQUIDS if data.get(f"liquid_{n}")]
    return tuple((data[f"liquid_{n}"], data[f"share_{n}"] / 100) for n in filled)


def _parts(data: Cleaned, one: Preparation) -> dict[str, Material]:
    parts: dict[str, Material] = {role: data[name] for name, role in PARTS.items() if data.get(name)}
    rows = Material.objects.filter(kind=Material.Kind.WATER, archived=False)
    water = rows.order_by("metered", "pk").first()
    if water is not None and (Role.SPIRIT in parts or "water" in one.asks):
        parts[Role.WATER] = water
        if "decoct" in one.course:
            parts[Role.POT_WATER] = water
    return parts


def _shares(data: Cleaned, one: Preparation) -> dict[str, float]:
    """Grams per gram of herb of what is not spirit."""
    ratio = data.get("ratio") or 0.0
    found: dict[str, float] = {}
    if "glycerol_share" in data:
        share = data["glycerol_share"] / 100
        found[Role.GLYCEROL] = ratio * share * usual.GLYCEROL
        found[Role.WATER] = ratio * (1 - share) * usual.WATER
    elif "water" in one.asks and ratio:
        found[Role.WATER] = ratio * usual.WATER
    if "acid" in data:
        found[Role.ACID] = ratio * usual.VINEGAR
    if "oil" in data:
        found[Role.MENSTRUUM] = ratio * usual.OIL
    if "sweetener_g" in data:
        found[Role.SWEETENER] = data["sweetener_g"] / 100 * ratio * (data.get("reduce_to") or 1.0)
    return found


def _stages(data: Cleaned, one: Preparation) -> dict[str, dict[str, Any]]:
    stages: dict[str, dict[str, Any]] = {}
    for name, (kind, setting) in STEPS.items():
        if name not in data:
            continue
        value = data[name]
        plain = value if value is None or isinstance(value, int | float) else float(value.base)
        stages.setdefault(kind, {})[setting] = plain
    if data.get("filtered"):
        stages["filter"] = {}
    if "warm" in data:
        _warm_or_cold(stages, data["warm"])
    if "adjust" in one.course:
        stages["adjust"] = _to_adjust(data, one)
    return stages


def _warm_or_cold(stages: dict[str, dict[str, Any]], warm: str) -> None:
    """One of the two ways to stand; the settings of the other are nobody's."""
    if warm == WARM:
        stages.pop("macerate", None)
        stages["infuse"] = stages.get("infuse", {}) | {"liquid": "oil"}
    else:
        stages.pop("infuse", None)


def _to_adjust(data: Cleaned, one: Preparation) -> dict[str, float | None]:
    """What the adjusting comes to: a strength, and in a syrup its sugar by mass."""
    target = base(data.get("target_abv"))
    found: dict[str, float | None] = {"target_abv": target}
    if one.key == "menstruum":
        found["target_abv"] = base(data.get("menstruum_abv"))
    if one.key == "syrup" and data.get("sweetener_g"):
        made = of_kind(data["sweetener"].kind, data["sweetener_g"]) if data.get("sweetener") else None
        if made is not None:
            whole = made + Composition.of(water=100.0 * usual.WATER)
            found["sugar_percent"] = round(100.0 * whole.share("sugar"), 1)
    return found


def recipe_as_typed(version: FormulaVersion, person: Person) -> dict[str, Any]:
    """A version as the initial values of a form."""
    system = system_of(person)
    settings = {stage.kind: kind_of(stage.kind).read(stage.settings) for stage in version.stages.all()}
    found: dict[str, Any] = {name: part_of(version, role) for name, role in PARTS.items()}
    found |= {
        "ratio": typed(version.ratio, "", digits=4),
        "menstruum_abv": typed(version.menstruum_abv, ""),
        "target_abv": typed(version.target_abv, ""),
        "retention": typed(version.retention_ml_per_g, "", digits=4),
        "fill_ml": typed(version.fill_ml, "mL", system),
        "dose_ml": typed(version.dose_ml, ""),
        "herb_off": typed(version.deviations.get(HERB_PERCENT), "", digits=4),
        "abv_off": typed(version.deviations.get(MENSTRUUM_POINTS), "", digits=4),
        "filtered": "filter" in settings,
        "warm": WARM if "infuse" in settings else COLD,
    }
    found |= {name: getattr(version, name) for name in COLUMNS}
    for name, limit in LIMITED.items():
        between = bounds(version.limits, limit.name) or (None, None)
        unit = "°C" if limit.unit == "°C" else ""
        found[name] = typed(between[name.endswith("_high")], unit, system, digits=4)
    for name, (kind, setting) in STEPS.items():
        if kind in settings:
            unit = IN_UNITS.get(name, "")
            found[name] = typed(getattr(settings[kind], setting), unit, system)
    return found | _shares_as_typed(version)


def _shares_as_typed(version: FormulaVersion) -> dict[str, Any]:
    parts = list(version.parts.all())
    shares = {part.role: part.share for part in parts if part.role != Role.LIQUID}
    found: dict[str, Any] = {}
    if Role.GLYCEROL in shares and version.ratio:
        found["glycerol_share"] = typed(100 * shares[Role.GLYCEROL] / usual.GLYCEROL / version.ratio, "")
    if Role.SWEETENER in shares and version.ratio:
        reduce = next((stage.settings for stage in version.stages.all() if stage.kind == "reduce"), {})
        liquid = version.ratio * (reduce.get("to_share") or 1.0)
        found["sweetener_g"] = typed(100 * shares[Role.SWEETENER] / liquid, "")
    liquids = [part for part in parts if part.role == Role.LIQUID]
    for n, part in zip(LIQUIDS, liquids, strict=False):
        found |= {f"liquid_{n}": part.material, f"share_{n}": typed(100 * part.share, "", digits=4)}
    return found
