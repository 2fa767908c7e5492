"""Run sheets on paper: all that a batch asks for, with room to write when the power is out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.template.loader import render_to_string

from batches.documents.labels import fonts
from batches.labels.lettering import FACES
from workshop import pdf

BLANKS = 12  # lines to write on
FEW = 4  # so many where more of them would begin another sheet


def plan_sheet_pdf(*, context: Mapping[str, Any], paper: str, title: str) -> bytes:
    """A version for one size. `paper` is A4 or Letter."""
    return _made("batches/sheet_plan.html", context, paper, title)


def batch_sheet_pdf(*, context: Mapping[str, Any], paper: str, title: str) -> bytes:
    """A batch as it stands: plan, order of pouring, what was measured, its story. `paper` is A4 or Letter."""
    return _made("batches/sheet_batch.html", context, paper, title)


def round_sheet_pdf(*, context: Mapping[str, Any], paper: str, title: str) -> bytes:
    """A walk: a box to tick for all that is due and all that comes by tomorrow's end."""
    made = _made("batches/sheet_round.html", context, paper, title)
    if pdf.page_count(made) == 1:
        return made
    shorter = _made("batches/sheet_round.html", context, paper, title, blanks=FEW)
    return shorter if pdf.page_count(shorter) < pdf.page_count(made) else made


def _made(
    template: str, context: Mapping[str, Any], paper: str, title: str, *, blanks: int = BLANKS
) -> bytes:
    html = render_to_string(template, {**context, "title": title, "blanks": range(blanks)})
    css = render_to_string("batches/sheet.css", {"paper": paper, "faces": FACES.values()})
    return pdf.titled(pdf.render(html, css=css, bundled=fonts()), title)
