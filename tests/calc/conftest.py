"""What every sum is held to: a refusal is a sentence, whoever raises it and whatever the test looks for."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from workshop.calc.errors import OutOfRange

# Words that are written in capitals: standards and institutions.
CAPITALS = {
    "USP",
    "OIML",
    "OIV",
    "IAPWS",
    "GUM",
    "JCGM",
    "BPC",
    "BP",
    "USDA",
    "TTB",
    "CFR",
    "EU",
    "ABV",
    "SG",
    "US",
}


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--read-anew", action="store_true", help="write what figures say again (tests/calc/said)"
    )


def is_sentence(said: str) -> bool:
    """It begins as a sentence does, ends with a full stop, and shouts nowhere."""
    shouted = set(re.findall(r"\b[A-Z]{2,}\w*", said)) - CAPITALS
    return bool(re.match(r"[A-Z0-9−-]", said)) and said.endswith((".", "?")) and not shouted


@pytest.fixture(autouse=True)
def refusals_are_sentences(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    said: list[str] = []
    kept = OutOfRange.__init__

    def remember(self: OutOfRange, *args: Any) -> None:
        said.extend(str(one) for one in args)
        kept(self, *args)

    monkeypatch.setattr(OutOfRange, "__init__", remember)
    yield
    assert [one for one in said if not is_sentence(one)] == []
