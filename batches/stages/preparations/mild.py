"""What glycerol, vinegar, honey and oil draw."""

from __future__ import annotations

from typing import Final

from batches.stages.base import Caution
from batches.stages.preparations.base import (
    DRIED,
    FRESH,
    GLYCEROL,
    NEVER_BARE_METAL,
    NOT_OIL,
    OIL,
    PACKED,
    PRACTICE,
    STEEPED,
    VINEGAR,
    Preparation,
)

MILD: Final = (
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
        hints={
            "glycerol_share": "Dried herb 75 %, fresh herb 100 %. Plan for 60 % or more in the jar: "
            + PRACTICE
            + ".",
        },
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
        asks=("herb", "herb_state", "acid", "ratio", *PACKED),
        defaults={"ratio": "5", "best_before_months": "3"},
        settings={"macerate": {"min_days": 14, "target_days": 21, "max_days": 28}},
        cautions=(NEVER_BARE_METAL,),
        hints={
            "ratio": "5, or 1:5, of a vinegar of 5 % acid: " + PRACTICE + ".",
        },
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
        asks=("herb", "herb_state", "acid", "ratio", "sweetener", "sweetener_g", *PACKED),
        defaults={"ratio": "5", "sweetener_g": "100", "best_before_months": "6"},
        settings={"macerate": {"min_days": 14, "target_days": 21, "max_days": 28}},
        cautions=(
            NEVER_BARE_METAL,
            Caution("Honey is not for infants under 12 months.", "from memory, to confirm"),
        ),
        hints={
            "sweetener_g": "As much honey as vinegar, up to three times as much: " + PRACTICE + ".",
        },
        warnings=("weak_acid", "honey_fresh"),
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
        hints={
            "ratio": "3 to 5 mL to a gram: " + PRACTICE + ".",
        },
        warnings=("oil_fresh",),
    ),
)
