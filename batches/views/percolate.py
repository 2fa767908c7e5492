"""The acts and the panel of a percolator."""

from __future__ import annotations

from typing import Any

from batches.actions import percolate, percolate_off
from batches.forms import percolate as forms
from batches.models import Stage
from batches.queries import percolation
from batches.queries.batch import standing_acts
from batches.queries.column_picture import column_picture
from batches.stages import kind_of
from batches.stages.base import StageFacts
from batches.views.spec import ActSpec

ACTS = [
    ActSpec(
        "moistened", "Moistened", "Moisten the herb", percolate.moistened, forms.MoistenForm, icon="drip"
    ),
    ActSpec("packed", "Packed", "Pack the percolator", percolate.packed, forms.PackedForm, icon="drip"),
    ActSpec("filled", "Filled", "Fill the column", percolate.filled, forms.FilledForm, icon="top-up"),
    ActSpec(
        "tap_opened", "Tap opened", "Open the tap", percolate.tap_opened, icon="drip", quick=True,
        said="The tap is open. Cover the receiver, and count the drip.",
    ),
    ActSpec("drip", "Drip read", "Read the drip", percolate.drip, forms.DripForm, icon="drip"),
    ActSpec("poured_on", "Poured on", "Pour more on", percolate.poured_on, forms.FilledForm, icon="top-up"),
    ActSpec("fraction", "Collected", "Collect what dripped", percolate_off.fraction, forms.FractionForm,
            icon="bottle"),
    ActSpec(
        "percolated", "It has run off", "The column has run off", percolate_off.percolated,
        forms.PercolatedForm, icon="done",
    ),
    ActSpec(
        "column_lost", "Thrown away", "The column is thrown away", percolate_off.column_lost,
        forms.ColumnLostForm, icon="bad",
    ),
]  # fmt: skip
BY_NAME = {spec.name: spec for spec in ACTS}


def percolate_panel(stage: Stage) -> dict[str, Any]:
    """The column as it stands, the drip that it wants, and the act that comes next."""
    column, kind = percolation.column_of(stage.batch), kind_of(stage.kind)
    settings = kind.read(stage.settings)
    facts = StageFacts(
        title=stage.batch.title,
        herb_g=column.herb_g if column else None,
        abv=column.menstruum_abv if column else None,
    )
    context: dict[str, Any] = {"column": column, "cautions": kind.cautions(settings, facts)}
    if column is None:
        return context
    names = percolation.next_acts(stage)
    drip = column.drip
    return context | {
        "settings": settings,
        "next_act": BY_NAME[names[0]],
        "others": [BY_NAME[name] for name in names[1:] if name in BY_NAME and name != "column_lost"],
        "rest": [BY_NAME["column_lost"]],
        "wanted": column.wanted.figures(),
        "drip": drip.figures() if drip else None,
        "pace": _pace(column),
        "fractions": standing_acts(stage, "fraction"),
        "drip_form": forms.DripForm(stage=stage) if column.phase == "dripping" else None,
        "picture": column_picture(column),
    }


def _pace(column: percolation.Column) -> str:
    """Whether the drip that was read is too slow or too fast; nothing while it is neither."""
    drip, wanted = column.drip, column.wanted
    if drip is None or wanted.low_ml_min * 0.999 <= drip.ml_min <= wanted.high_ml_min * 1.001:
        return ""
    return "slow" if drip.ml_min < wanted.low_ml_min else "fast"


PANELS = {"percolate": percolate_panel}
