"""Pages on paper. The only file that loads WeasyPrint, and only when a page is asked for (0.8 s).

Nothing is fetched: the renderer gets bundled bytes by name, and every other address is refused.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from io import BytesIO
from typing import Any

from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.generic import DecodedStreamObject, DictionaryObject, NameObject, StreamObject

Spot = tuple[float, float]
SCHEME = "bundled:"


class NotBundled(ValueError):
    """An address that is not among the bytes we brought."""


def render(html: str, *, css: str = "", bundled: Mapping[str, bytes] | None = None) -> bytes:
    """`html` as PDF. `bundled` are the bytes that addresses like `bundled:name` stand for."""
    weasy = _weasyprint()
    fonts = weasy.text.fonts.FontConfiguration()
    fetcher = fetcher_of(bundled or {})
    sheet = weasy.CSS(string=css, font_config=fonts, url_fetcher=fetcher)
    page = weasy.HTML(string=html, url_fetcher=fetcher)
    made: bytes = page.write_pdf(stylesheets=[sheet], font_config=fonts)
    return made


def page_count(made: bytes) -> int:
    """Pages of a document."""
    return len(PdfReader(BytesIO(made)).pages)


def titled(made: bytes, title: str) -> bytes:
    """The same document with its title."""
    writer = PdfWriter(clone_from=BytesIO(made))
    writer.add_metadata({"/Title": title})
    return _written(writer)


def stamped(
    one: bytes, *, pages: Sequence[tuple[Sequence[Spot], int]], size: tuple[float, float], title: str
) -> bytes:
    """Sheets of `size` pt with the first page of `one` at every spot: drawn once, placed many times.

    `pages`: the spots (upper left corners in pt from the sheet's upper left) and how often that page comes.
    """
    writer = PdfWriter()
    source = writer.add_page(PdfReader(BytesIO(one)).pages[0])
    height = float(source.mediabox.height)
    stamp = writer._add_object(_form(source))
    writer.remove_page(0)
    resources = DictionaryObject({NameObject("/XObject"): DictionaryObject({NameObject("/One"): stamp})})
    for spots, times in pages:
        content = DecodedStreamObject()
        content.set_data(_placed(spots, size[1] - height))
        drawn = writer._add_object(content)
        for _ in range(times):
            page = writer.add_blank_page(*size)
            page[NameObject("/Resources")] = resources
            page[NameObject("/Contents")] = drawn
    writer.add_metadata({"/Title": title})
    return _written(writer)


def _placed(spots: Sequence[Spot], base: float) -> bytes:
    return "".join(f"q 1 0 0 1 {x:.4f} {base - y:.4f} cm /One Do Q\n" for x, y in spots).encode("ascii")


def _form(page: PageObject) -> StreamObject:
    """A page's drawing as a thing that other pages can place."""
    form = DecodedStreamObject()
    contents = page.get_contents()
    form.set_data(contents.get_data() if contents is not None else b"")
    form.update(
        {
            NameObject("/Type"): NameObject("/XObject"),
            NameObject("/Subtype"): NameObject("/Form"),
            NameObject("/BBox"): page.mediabox,
            NameObject("/Resources"): page["/Resources"],
        }
    )
    return form.flate_encode()


def _written(writer: PdfWriter) -> bytes:
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def fetcher_of(bundled: Mapping[str, bytes]) -> Any:
    """A fetcher that serves `bundled` and refuses everything else: no file, no network."""
    return _fetcher_class()(bundled)


@cache
def _weasyprint() -> Any:
    import weasyprint
    import weasyprint.text.fonts

    return weasyprint


@cache
def _fetcher_class() -> type[Any]:
    urls = _weasyprint().urls

    class BundledOnly(urls.URLFetcher):  # type: ignore[name-defined, misc]
        def __init__(self, bundled: Mapping[str, bytes]) -> None:
            super().__init__(allowed_protocols=(), allow_redirects=False)
            self.bundled = bundled

        def fetch(self, url: str, headers: Any = None) -> Any:
            name = url.removeprefix(SCHEME)
            if url.startswith(SCHEME) and name in self.bundled:
                return urls.URLFetcherResponse(url, self.bundled[name])
            raise NotBundled(f"Only bundled bytes are printed, not {url[:80]}")

    return BundledOnly
