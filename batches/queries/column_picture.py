"""The drawing of a percolator, from what is known of it now."""

from __future__ import annotations

from django.utils.safestring import SafeString

from batches.queries.percolation import Column
from batches.queries.vessels import HERB_ML_PER_G
from inventory.models import Material
from workshop.charts.column import ColumnPicture, column_svg
from workshop.charts.vessels import VesselDrawing
from workshop.measures import measures

PALE = "#7d8f4a"


def column_picture(column: Column) -> SafeString | str:
    """Herb, level and drip of a packed column; nothing before it is packed."""
    if column.vessel is None:
        return ""
    shown, vessel = measures().shown, column.vessel.vessel
    herb_ml = column.herb_g * HERB_ML_PER_G
    content_ml = column.liquid_ml + herb_ml
    # The bed holds what wets it; what is more than that stands above it.
    bed = min(herb_ml + column.settings.drained_ml_per_g * column.herb_g, content_ml)
    drip = column.drip
    dripping = column.phase == "dripping"
    words = (
        f"{shown(drip.drops_min, '', 0)} drops a minute" if drip else "drips" if dripping else "tap closed"
    )
    herb = column.stage.batch.herb
    tint = herb.tint if herb and herb.kind in (Material.Kind.HERB, Material.Kind.FUNGUS) else ""
    drawing = VesselDrawing(
        tag=vessel.tag,
        form="percolator",
        capacity_ml=vessel.capacity_ml,
        level=min(content_ml / vessel.capacity_ml, 1.0),
        marc=min(bed / vessel.capacity_ml, 1.0),
        tint=tint or PALE,
        title=column.stage.batch.title,
        phrase="",
        url="",
    )
    level = f"{shown(column.liquid_ml, 'mL', 0)} of liquid"
    picture = ColumnPicture(drawing, dripping, level, f"{shown(column.herb_g, 'g', 0)} of herb", words)
    return column_svg(picture, key=f"column-{column.stage.pk}")
