"""Styles and scripts, written by purpose, sent as one file each: a page is few requests.

A finder of static files. What it joins lies under `static/`; the joined files are made anew whenever a part
has changed, under `var/joined`, and are collected from there like any other.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import utils
from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage


def _for_print(css: str) -> str:
    return f"@media print {{\n{css}}}\n"


def _as_it_is(text: str) -> str:
    return text


# In this order: later rules win. What a page has to itself (wall.css, pot.js) is not among them.
JOINED: dict[str, tuple[str, ...]] = {
    "css/colature.css": (
        "css/tokens.css",
        "css/base.css",
        "css/bench.css",
        "css/office.css",
        "css/charts.css",
        "css/work.css",
        "css/reckoner.css",
        "css/labels.css",
        "css/print.css",
    ),
    "js/colature.js": (
        "js/ui.js",
        "js/kept.js",
        "js/store.js",
        "js/entry.js",
        "js/outbox.js",
        "js/waiting.js",  # its page opens without Wi-Fi on a tablet that never asked for it before
        "js/keypad.js",
    ),
}
WRAPPED: dict[str, Callable[[str], str]] = {"css/print.css": _for_print}


class JoinedFinder(BaseFinder):
    """Finds the joined files, and has them made first."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.folder = Path(settings.VAR_DIR) / "joined"
        self.storage = FileSystemStorage(location=self.folder)

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        """The path of a joined file; [] for any other."""
        if path not in JOINED:
            return []
        made = str(make(path, self.folder))
        return [made] if find_all else made

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterator[tuple[str, FileSystemStorage]]:
        for path in JOINED:
            make(path, self.folder)
        for path in utils.get_files(self.storage, ignore_patterns):
            if path in JOINED:
                yield path, self.storage


def joined(path: str) -> str:
    """The text of a joined file."""
    parts = ((name, (Path(settings.BASE_DIR) / "static" / name).read_text()) for name in JOINED[path])
    return "".join(WRAPPED.get(name, _as_it_is)(text) for name, text in parts)


def make(path: str, folder: Path) -> Path:
    """The joined file under `folder`, written when it is not there or not what it should be."""
    target, text = folder / path, joined(path)
    if not target.exists() or target.read_text() != text:
        target.parent.mkdir(parents=True, exist_ok=True)
        fresh = target.with_suffix(f".{os.getpid()}.new")
        fresh.write_text(text)
        fresh.replace(target)  # whole or not at all: another process may be reading
    return target
