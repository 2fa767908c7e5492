"""The preparations that a workshop makes, as plain data: their steps, what they ask, what they start from.

A preparation is offered once every step of its course is a stage kind that stands (`courses.ready`).
`defaults` fill a new formula's form, by field name as typed there; `settings` fill stage settings.
Figures without another source are common practice and the owner's to change.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from batches.stages.base import Caution

PRACTICE: Final = "common practice, no source"
SPIRIT, GLYCEROL, VINEGAR, OIL, HONEY, WATER, ANY, NONE = (
    "spirit",
    "glycerol",
    "vinegar",
    "oil",
    "honey",
    "water",
    "any",
    "none",
)
DRIED, FRESH = "dried", "fresh"


@dataclass(frozen=True, slots=True)
class Preparation:
    """One way of making something.

    `course` are stage kinds in order; those in `optional` join only when the formula names them, and
    `instead` says which kind may stand for another. `needs` names acts that a kind must offer before this
    can run. `menstruum` is the family of what is poured on, `herb` the states it may be in ("" for none),
    `keeps_by` what keeps the result. `asks` are the fields of its formula, `may` those that can stay empty;
    `warnings` name the checks of wrong pairs (`batches/calc/pairs.py`).
    """

    key: str
    title: str
    words: str
    course: tuple[str, ...]
    menstruum: str
    herb: tuple[str, ...]
    keeps_by: str
    asks: tuple[str, ...]
    may: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()
    instead: Mapping[str, str] = field(default_factory=dict)
    needs: Mapping[str, str] = field(default_factory=dict)
    defaults: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    cautions: tuple[Caution, ...] = ()
    warnings: tuple[str, ...] = ()

    def steps(self, named: frozenset[str] = frozenset()) -> tuple[str, ...]:
        """The course with the optional kinds and stand-ins that are `named`."""
        return tuple(
            self.instead[kind] if self.instead.get(kind) in named else kind
            for kind in self.course
            if kind not in self.optional or kind in named
        )


STEEPED: Final = ("prepare", "macerate", "press", "filter", "settle", "bottle")
SPIRITED: Final = ("herb", "spirit", "ratio", "ratio_basis", "menstruum_abv")
PACKED: Final = ("bottle", "closure", "fill_ml")
NOT_OIL: Final = Caution(
    "Only dried herb: water in oil lets Clostridium botulinum grow, since an oil is above pH 4.6 and its "
    "drops of water above a water activity of 0.85.",
    "21 CFR 114.3 (pH 4.6, water activity 0.85); extension bulletins on infused oils",
)
NEVER_BARE_METAL: Final = Caution(
    "Vinegar eats a bare metal lid: lay waxed paper between, or use a plastic one.", PRACTICE
)
NO_FLAME_COLUMN: Final = Caution(
    "Cover cone and receiver; never leave an open column of spirit near a flame or spark.", PRACTICE
)
USED_TODAY: Final = Caution(
    "What is neither sugared nor fortified is used the same day; else cool it from 57 to 21 °C within 2 h "
    "and to 5 °C within 6 h in all.",
    "US Food Code 3-501.14",
)
UNKNOWN_RATIO: Final = Caution(
    "No ratio is known until herb and menstruum are weighed; none is printed on a label.", PRACTICE
)

_ALL: Final = (
    Preparation(
        key="maceration",
        title="Maceration",
        words="Dried herb stands in spirit and is pressed.",
        course=STEEPED,
        optional=("filter",),
        menstruum=SPIRIT,
        herb=(DRIED,),
        keeps_by="ethanol",
        asks=(*SPIRITED, *PACKED),
        may=("menstruum",),
        defaults={"ratio": "5", "menstruum_abv": "60"},
        warnings=("floor",),
    ),
    Preparation(
        key="folk",
        title="Folk jar",
        words="The jar is filled with herb and covered by a finger of spirit; weighing tells the ratio.",
        course=STEEPED,
        optional=("filter",),
        menstruum=SPIRIT,
        herb=(DRIED, FRESH),
        keeps_by="ethanol",
        asks=("herb", "herb_state", "spirit", "menstruum_abv", *PACKED),
        defaults={"menstruum_abv": "60"},
        cautions=(UNKNOWN_RATIO,),
        warnings=("packed_fresh",),
    ),
    Preparation(
        key="fresh",
        title="Fresh maceration",
        words="Fresh herb stands in strong spirit; its own water joins the menstruum.",
        course=STEEPED,
        optional=("filter",),
        menstruum=SPIRIT,
        herb=(FRESH,),
        keeps_by="ethanol",
        asks=(*SPIRITED, *PACKED),
        may=("menstruum",),
        defaults={"ratio": "2", "menstruum_abv": "95", "retention": "1"},
        settings={"macerate": {"min_days": 7, "target_days": 14, "max_days": 42, "shake_every_days": 0}},
        warnings=("packed_fresh", "floor"),
    ),
    Preparation(
        key="percolation",
        title="Percolation",
        words="Powder is moistened, packed and dripped through.",
        course=("prepare", "percolate", "settle", "bottle"),
        menstruum=SPIRIT,
        herb=(DRIED,),
        keeps_by="ethanol",
        asks=(*SPIRITED, *PACKED),
        may=("menstruum",),
        defaults={"ratio": "5", "menstruum_abv": "60"},
        cautions=(NO_FLAME_COLUMN,),
        warnings=("weak_column", "floor"),
    ),
    Preparation(
        key="double",
        title="Double extraction",
        words="Spirit first, then the marc is simmered in water, and both are combined to a strength.",
        course=("prepare", "macerate", "press", "decoct", "reduce", "combine", "settle", "bottle"),
        menstruum=SPIRIT,
        herb=(DRIED,),
        keeps_by="ethanol",
        asks=("herb", "spirit", "ratio", "ratio_basis", "menstruum_abv", "target_abv", *PACKED),
        defaults={"ratio": "5", "menstruum_abv": "80", "target_abv": "28"},
        warnings=("resin", "floor"),
    ),
    Preparation(
        key="infusion",
        title="Infusion",
        words="Hot water is poured on, stands and is strained.",
        course=("infuse", "press", "adjust", "bottle"),
        menstruum=WATER,
        herb=(DRIED, FRESH),
        keeps_by="none",
        asks=("herb", "herb_state", "water", "ratio", *PACKED),
        may=("spirit", "target_abv"),
        defaults={"ratio": "20", "retention": "1", "best_before_months": "0"},
        cautions=(USED_TODAY,),
        warnings=("keeps_a_day",),
    ),
    Preparation(
        key="decoction",
        title="Decoction",
        words="Hard parts are simmered in water and reduced.",
        course=("decoct", "reduce", "adjust", "bottle"),
        needs={"decoct": "weigh_in"},
        menstruum=WATER,
        herb=(DRIED, FRESH),
        keeps_by="none",
        asks=("herb", "herb_state", "water", "ratio", "reduce_to", *PACKED),
        may=("spirit", "target_abv"),
        defaults={"ratio": "32", "reduce_to": "0.5", "retention": "1", "best_before_months": "0"},
        cautions=(USED_TODAY,),
        warnings=("keeps_a_day",),
    ),
    Preparation(
        key="glycerite",
        title="Glycerite",
        words="Glycerol with water draws the herb, without spirit.",
        course=STEEPED,
        optional=("filter",),
        menstruum=GLYCEROL,
        herb=(DRIED, FRESH),
        keeps_by="glycerol",
        asks=("herb", "herb_state", "glycerol", "water", "ratio", "glycerol_share", *PACKED),
        defaults={"ratio": "5", "glycerol_share": "75", "best_before_months": "12", "retention": "1.5"},
        settings={"macerate": {"min_days": 14, "target_days": 35, "max_days": 56, "shake_every_days": 2}},
        warnings=("weak_glycerol",),
    ),
    Preparation(
        key="vinegar",
        title="Vinegar extract",
        words="The herb stands in vinegar of 5 % acid or more.",
        course=STEEPED,
        optional=("filter",),
        menstruum=VINEGAR,
        herb=(DRIED, FRESH),
        keeps_by="acid",
        asks=("herb", "herb_state", "acid", "acidity", "ratio", *PACKED),
        defaults={"ratio": "5", "acidity": "5", "best_before_months": "3"},
        settings={"macerate": {"min_days": 14, "target_days": 21, "max_days": 28}},
        cautions=(NEVER_BARE_METAL,),
        warnings=("weak_acid",),
    ),
    Preparation(
        key="oxymel",
        title="Oxymel",
        words="A vinegar extract, pressed and sweetened with honey.",
        course=("prepare", "macerate", "press", "adjust", "settle", "bottle"),
        menstruum=VINEGAR,
        herb=(DRIED, FRESH),
        keeps_by="acid",
        asks=("herb", "herb_state", "acid", "acidity", "ratio", "sweetener", "sweetener_g", *PACKED),
        defaults={"ratio": "5", "acidity": "5", "sweetener_g": "100", "best_before_months": "6"},
        settings={"macerate": {"min_days": 14, "target_days": 21, "max_days": 28}},
        cautions=(
            NEVER_BARE_METAL,
            Caution("Honey is not for infants under 12 months.", "from memory, to confirm"),
        ),
        warnings=("weak_acid", "honey_fresh"),
    ),
    Preparation(
        key="syrup",
        title="Syrup",
        words="A reduced decoction holds sugar or honey enough to keep.",
        course=("decoct", "reduce", "adjust", "bottle"),
        needs={"decoct": "weigh_in"},
        menstruum=WATER,
        herb=(DRIED, FRESH),
        keeps_by="sugar",
        asks=("herb", "herb_state", "water", "ratio", "reduce_to", "sweetener", "sweetener_g", *PACKED),
        may=("spirit", "target_abv"),
        defaults={
            "ratio": "20",
            "reduce_to": "0.5",
            "sweetener_g": "190",
            "retention": "1",
            "best_before_months": "6",
        },
        warnings=("thin_syrup", "honey_fresh"),
    ),
    Preparation(
        key="oil",
        title="Infused oil",
        words="Dried herb stands in oil, cold for weeks or warm for hours.",
        course=("prepare", "macerate", "press", "settle", "bottle"),
        instead={"macerate": "infuse"},
        menstruum=OIL,
        herb=(DRIED,),
        keeps_by="oil",
        asks=("herb", "herb_state", "oil", "ratio", "warm", *PACKED),
        defaults={"ratio": "5", "best_before_months": "12", "retention": "1.5"},
        settings={"macerate": {"min_days": 14, "target_days": 28, "max_days": 42}},
        cautions=(NOT_OIL,),
        warnings=("oil_fresh",),
    ),
    Preparation(
        key="fluid_extract",
        title="Fluid extract",
        words="A percolate made up to one millilitre for each gram of herb.",
        course=("prepare", "percolate", "adjust", "settle", "bottle"),
        menstruum=SPIRIT,
        herb=(DRIED,),
        keeps_by="ethanol",
        asks=(*SPIRITED, *PACKED),
        defaults={"ratio": "2", "menstruum_abv": "60"},
        cautions=(NO_FLAME_COLUMN,),
        warnings=("weak_column", "floor"),
    ),
    Preparation(
        key="blend",
        title="Blend",
        words="Finished liquids are poured together in their shares.",
        course=("adjust", "settle", "bottle"),
        menstruum=ANY,
        herb=(),
        keeps_by="ethanol",
        asks=("liquids", *PACKED),
        may=("spirit", "water", "target_abv"),
        warnings=("floor",),
    ),
    Preparation(
        key="menstruum",
        title="House menstruum",
        words="Spirit and water made up to a strength, ahead of the herb.",
        course=("adjust",),
        menstruum=SPIRIT,
        herb=(),
        keeps_by="ethanol",
        asks=("spirit", "water", "menstruum_abv"),
        defaults={"menstruum_abv": "60"},
    ),
)
PREPARATIONS: Final[Mapping[str, Preparation]] = {one.key: one for one in _ALL}
