"""Labels on paper, measured in the PDF itself: by pdfium, by zxing, by the fonts' own metrics.

ISO 32000-1: 1 pt is 1/72 in. ISO/IEC 18004: a QR code with four modules of quiet zone.
"""

from __future__ import annotations

from io import BytesIO
from itertools import pairwise

import pypdfium2
import pytest
import zxingcpp
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from batches.documents import labels as papers
from batches.labels import lettering
from batches.labels.fit import Laid
from batches.labels.setting import setting
from batches.labels.sheet import PRESETS, Sheet
from tests.batches.test_labels_words import facts
from workshop import pdf

PT = 25.4 / 72
LINK = "https://owlpenny.example/l/T26-014-8"
SHORT = ["cautions", "storage", "dose"]


def sheet_of(key: str = "a4-24", *, count: int = 24, first: int = 1, **changes) -> tuple[bytes, Laid, Sheet]:
    sheet = PRESETS[key]
    label = facts(**changes)
    out = SHORT if sheet.height < 46 else []
    laid = setting(label, sheet, leave_out=out)
    made = papers.labels_pdf(
        laid=laid, code=label.link, sheet=sheet, count=count, first=first, title="Labels"
    )
    return made, laid, sheet


def page_of(made: bytes, number: int = 0) -> pypdfium2.PdfPage:
    return pypdfium2.PdfDocument(made)[number]


def decoded(page: pypdfium2.PdfPage, dpi: int = 300) -> list[str]:
    image = page.render(scale=dpi / 72).to_pil().convert("L")
    return [found.text for found in zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)]


@pytest.mark.parametrize("link", ["T26-014-8", LINK])
@pytest.mark.parametrize("key", ["a4-24", "letter-30", "a4-8"])
def test_every_square_code_of_a_sheet_reads_as_the_lot(key, link):
    made, _, sheet = sheet_of(key, count=PRESETS[key].each, link=link)
    assert decoded(page_of(made)) == [link] * sheet.each


@pytest.mark.parametrize("key", PRESETS)
def test_the_page_is_the_paper(key):
    """ISO 216: A4 is 210 x 297 mm. ANSI Y14.1: Letter is 8.5 x 11 in. Within 0.1 mm."""
    made, _, sheet = sheet_of(key, count=1)
    wide, high = page_of(made).get_size()
    paper = {"A4": (210.0, 297.0), "Letter": (8.5 * 25.4, 11 * 25.4)}[sheet.paper]
    assert wide * PT == pytest.approx(paper[0], abs=0.1)
    assert high * PT == pytest.approx(paper[1], abs=0.1)


def lefts(page: pypdfium2.PdfPage, words: str) -> list[tuple[float, float]]:
    """Left end and baseline in mm from the upper left corner of each place where `words` stand."""
    text, high = page.get_textpage(), page.get_height()
    search, found = text.search(words, match_case=True), []
    while (hit := search.get_next()) is not None:
        x, _, _, _ = text.get_charbox(hit[0], loose=True)
        _, bottom, _, _ = text.get_charbox(hit[0], loose=False)
        found.append((x * PT, (high - bottom) * PT))
    return found


@pytest.mark.parametrize("key", ["a4-24", "letter-12"])
def test_labels_stand_where_the_sheet_has_them(key):
    """Each name begins at its label's corner plus the same offset, within 0.1 mm."""
    made, laid, sheet = sheet_of(key, count=PRESETS[key].each)
    run = laid.runs[[one.block for one in laid.runs].index("name")]
    seen = sorted(lefts(page_of(made), "Turkey tail double"), key=lambda spot: (round(spot[1]), spot[0]))
    assert len(seen) == sheet.each
    for number, (x, y) in enumerate(seen):
        left, top = sheet.spot(number)
        assert x == pytest.approx(left + run.x * PT, abs=0.1)
        assert y == pytest.approx(top + run.baseline * PT, abs=0.1)


def test_small_letters_stand_1_2_mm_high_in_the_pdf():
    """Regulation (EU) 1169/2011 Art. 13(2): the glyphs of x, measured on the page."""
    made, _, sheet = sheet_of("a4-24", count=1)
    text = page_of(made).get_textpage()
    heights = [
        (box[3] - box[1]) * PT
        for index in range(text.count_chars())
        if text.get_text_range(index, 1) in "xz" and (box := text.get_charbox(index))
    ]
    assert heights
    assert min(heights) >= 1.2 - 0.005


def test_the_faces_of_the_print_are_those_of_the_packages():
    """x-heights of Source Sans (0.486 em) and Source Serif (0.475 em) by the fonts' own OS/2 tables."""
    made, laid, _ = sheet_of("a4-8", count=1)
    for run in laid.runs:
        cut = lettering.FACES[run.face]
        font = TTFont(BytesIO(papers.fonts()[cut.file]))
        stated = font["OS/2"].sxHeight / font["head"].unitsPerEm
        assert lettering.metrics(run.face).x_height == stated
        assert run.pt * PT * stated >= 1.2 - 1e-6
    assert all("+Label-" in name for name in embedded(made)), embedded(made)
    assert {name.split("-")[1] for name in embedded(made)} == {"Sans", "Serif"}


def embedded(made: bytes) -> list[str]:
    """The fonts in the PDF: a face of ours keeps the family that the sheet gave it."""
    form = PdfReader(BytesIO(made)).pages[0]["/Resources"]["/XObject"]["/One"]
    return [str(font.get_object()["/BaseFont"]) for font in form["/Resources"]["/Font"].values()]


def test_the_text_holds_lot_strength_date_and_basis():
    made, _, _ = sheet_of("a4-8", count=8)
    text = page_of(made).get_textpage().get_text_range().replace("\u00a0", " ")
    for words in (
        "L T26-014-8",
        "alc. 28.3 % vol",
        "Best before 3 Apr 2028",
        "50 mL",
        "84 mg of dried herb per mL, by all herb put in",
        "Trametes versicolor",
        "Owlpenny Herbs, 3 Mill Lane, Hatherby",
    ):
        assert text.count(words) == 8, words


def test_a_thousand_labels_are_one_label_placed_a_thousand_times():
    """42 sheets of 24: the last one holds 16. Its bytes stay those of one label and its places."""
    made, _, _ = sheet_of(count=1000)
    document = pypdfium2.PdfDocument(made)
    assert len(document) == 42
    assert decoded(document[41]) == ["T26-014-8"] * 16
    one, _, _ = sheet_of(count=24)
    assert len(made) < len(one) + 20_000


def test_a_sheet_already_begun_is_gone_on_with():
    made, _, sheet = sheet_of(count=2, first=23)
    document = pypdfium2.PdfDocument(made)
    seen = lefts(document[0], "Turkey tail double")
    assert len(document) == 1
    assert {
        round(x - lefts(page_of(sheet_of(count=24)[0]), "Turkey tail double")[0][0]) for x, _ in seen
    } == {
        round(sheet.width + sheet.gap_x),
        round(2 * (sheet.width + sheet.gap_x)),
    }


def test_the_test_sheet_has_a_ruler_of_20_mm():
    label = facts()
    sheet = PRESETS["a4-8"]
    made = papers.test_sheet(laid=setting(label, sheet), code=label.link, sheet=sheet, title="Test")
    page = page_of(made)
    text = page.get_textpage().get_text_range()
    assert "Test sheet, not for bottles" in text
    image = page.render(scale=300 / 72).to_pil().convert("L")
    y = round((297 / PT - 12) / 72 * 300)
    dark = [x for x in range(image.width) if min(image.getpixel((x, y + d)) for d in (-1, 0, 1)) < 128]
    runs = [[dark[0]]]
    for before, x in pairwise(dark):
        if x == before + 1:
            runs[-1].append(x)
        else:
            runs.append([x])
    longest = max(len(run) for run in runs)
    assert longest / 300 * 25.4 == pytest.approx(20, abs=0.25)


@pytest.mark.parametrize(
    "url",
    [
        "file:///etc/hostname",
        "http://127.0.0.1/x",
        "https://example.com/x.png",
        "ftp://example.com/x",
        "data:text/plain,x",
        "bundled:other.otf",
    ],
)
def test_the_renderer_fetches_nothing_that_was_not_brought(url):
    """OWASP server-side request forgery: an allow-list of bytes, no address at all."""
    fetcher = pdf.fetcher_of({"face.otf": b"bytes"})
    with pytest.raises(pdf.NotBundled):
        fetcher.fetch(url)
    assert fetcher.fetch("bundled:face.otf").read() == b"bytes"


def test_a_page_that_asks_for_a_file_is_printed_without_it(tmp_path):
    secret = tmp_path / "secret.svg"
    secret.write_text('<svg xmlns="http://www.w3.org/2000/svg"><text y="10">SECRET</text></svg>')
    made = pdf.render(f'<p>seen</p><img src="{secret.as_uri()}"><iframe src="{secret.as_uri()}"></iframe>')
    text = page_of(made).get_textpage().get_text_range()
    assert "seen" in text
    assert "SECRET" not in text
