"""From facts to a laid-out label on a sheet."""

from __future__ import annotations

from collections.abc import Collection

from batches.labels.drawing import code_mm
from batches.labels.facts import LabelFacts
from batches.labels.fit import Laid, lay
from batches.labels.lettering import EU_SMALL_X_HEIGHT_MM, EU_X_HEIGHT_MM
from batches.labels.sheet import Sheet
from batches.labels.wording import blocks


def least_x_mm(small: bool) -> float:
    """Small letters stand at least so high: 1.2 mm, on a small pack 0.9 mm."""
    return EU_SMALL_X_HEIGHT_MM if small else EU_X_HEIGHT_MM


def setting(facts: LabelFacts, sheet: Sheet, *, small: bool = False, leave_out: Collection[str] = ()) -> Laid:
    """The label of `facts` laid out on the labels of `sheet`."""
    return lay(
        blocks(facts, leave_out),
        width_mm=sheet.width,
        height_mm=sheet.height,
        least_x_mm=least_x_mm(small),
        qr_mm=None if "qr" in leave_out or not facts.link else code_mm(facts.link),
    )
