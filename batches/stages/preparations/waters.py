"""What hot water draws."""

from __future__ import annotations

from typing import Final

from batches.stages.preparations.base import (
    DRIED,
    FRESH,
    PACKED,
    PRACTICE,
    USED_TODAY,
    WATER,
    Preparation,
)

WATERS: Final = (
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
        hints={
            "ratio": "20 is the old official infusion of 50 g in 1000 mL: " + PRACTICE + ".",
        },
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
        hints={
            "ratio": "32, or 1:32: " + PRACTICE + ".",
            "reduce_to": "A half is usual, a third makes it strong: " + PRACTICE + ".",
        },
        warnings=("keeps_a_day",),
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
        hints={
            "sweetener_g": "190 g of sugar to 100 mL of water make 65 % by weight; USP Syrup has 64.7 %.",
            "reduce_to": "A half is usual: " + PRACTICE + ".",
        },
        warnings=("thin_syrup", "honey_fresh"),
    ),
)
