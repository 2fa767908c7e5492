"""The label of a jar: what somebody has to know who finds it on the shelf, the code the largest."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from batches.labels.alcohol import NBSP
from batches.labels.drawing import code_mm
from batches.labels.fit import Laid, lay
from batches.labels.sheet import Sheet
from batches.labels.wording import Block

WIDE_MM, HIGH_MM = 100.0, 70.0
LEAST_X_MM = 1.8  # to be read at arm's length: our own choice
MOST_PT = 15.0
CODE_SCALE, CODE_PT = 2.2, 26.0


@dataclass(frozen=True, slots=True)
class JarLabel:
    """A jar's facts, in the words that are written on it."""

    title: str
    batch: int
    code: str
    vessel: str
    lines: tuple[str, ...]
    caution: str
    maker: str

    def stored(self) -> dict[str, Any]:
        return asdict(self)


def laid(label: JarLabel) -> Laid:
    """Laid out on 100 by 70 mm."""
    where = f"Batch{NBSP}{label.batch}" + (f", {label.vessel}" if label.vessel else "")
    blocks = [
        Block("name", (("serif", label.title),), scale=1.3, gap=0),
        Block(
            "code",
            (("bold", label.code.replace("-", "\u2011")),),
            scale=CODE_SCALE,
            least_pt=CODE_PT,
            gap=0.1,
        ),
        *(Block(f"line{n}", (("sans", line),), gap=0.05) for n, line in enumerate(label.lines)),
        *([Block("caution", (("bold", label.caution),), foot=True)] if label.caution else []),
        Block("maker", (("sans", f"{where}. {label.maker}"),), foot=True, gap=0),
    ]
    return lay(
        blocks,
        width_mm=WIDE_MM,
        height_mm=HIGH_MM,
        least_x_mm=LEAST_X_MM,
        qr_mm=max(20.0, code_mm(label.code)),
        most_pt=MOST_PT,
    )


def jar_sheet(paper: str) -> Sheet:
    """One label in the upper left of a sheet of plain paper, to be cut out."""
    return Sheet(paper, WIDE_MM, HIGH_MM, 1, 1, left=12, top=12)
