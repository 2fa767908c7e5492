"""Labels on paper: bottle labels by the sheet, a test sheet with its ruler, the label of a jar."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from django.template.loader import render_to_string

from batches.labels.drawing import label_group, plain_svg, sheet_svg
from batches.labels.fit import Laid
from batches.labels.jar import JarLabel, jar_sheet, laid
from batches.labels.lettering import FACES, MM_PER_PT
from batches.labels.sheet import Sheet, pages
from workshop import pdf


def labels_pdf(*, laid: Laid, code: str, sheet: Sheet, count: int, first: int = 1, title: str) -> bytes:
    """`count` equal labels: one is drawn and placed wherever the sheet has a label."""
    one = _render(plain_svg(laid, code), (sheet.width, sheet.height))
    places = [
        ([_in_pt(sheet.spot(number)) for number in page.numbers], page.times)
        for page in pages(sheet, count, first)
    ]
    return pdf.stamped(one, pages=places, size=_in_pt(sheet.paper_mm), title=title)


def test_sheet(*, laid: Laid, code: str, sheet: Sheet, title: str) -> bytes:
    """One sheet on plain paper, with outlines and a ruler, to be held against the label sheet."""
    svg = sheet_svg(sheet, range(sheet.each), label_group(laid, code), test=True)
    return pdf.titled(_render(svg, sheet.paper_mm), title)


def jar_pdf(label: JarLabel, *, paper: str) -> bytes:
    """The label of a jar on plain paper, with its outline to cut along."""
    sheet = jar_sheet(paper)
    svg = sheet_svg(sheet, [0], label_group(laid(label), label.code), outline=True)
    return pdf.titled(_render(svg, sheet.paper_mm), f"Jar label {label.code}")


def _in_pt(mm: tuple[float, float]) -> tuple[float, float]:
    return mm[0] / MM_PER_PT, mm[1] / MM_PER_PT


def _render(svg: str, paper_mm: tuple[float, float]) -> bytes:
    return pdf.render(
        f'<!doctype html><html lang="en"><body>{svg}</body></html>',
        css=stylesheet(paper_mm),
        bundled=fonts(),
    )


def stylesheet(paper_mm: tuple[float, float]) -> str:
    """The page box and the faces."""
    wide, high = paper_mm
    return render_to_string("labels/sheet.css", {"wide": wide, "high": high, "faces": FACES.values()})


@cache
def fonts() -> dict[str, bytes]:
    """The bytes of every face, by file name."""
    return {face.file: (files(face.package) / "files" / face.file).read_bytes() for face in FACES.values()}
