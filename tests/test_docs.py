"""The documents name what there is: settings, commands, rights. What is added unsaid fails here."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from workshop.people import rights

ROOT = Path(__file__).resolve().parents[1]
WORDS = (ROOT / "README.md").read_text() + (ROOT / "DEVELOPERS.md").read_text()
READ = re.compile(r"""env\.(?:text|flag|number|words|secret|database|from_file)\(\s*"([A-Z_]+)\"""")
SETTINGS = sorted(set(READ.findall((ROOT / "workshop" / "settings.py").read_text())))
FOUND = [path for app in ("workshop", "batches") for path in (ROOT / app).rglob("management/commands/*.py")]
COMMANDS = sorted(path.stem for path in FOUND if path.stem != "__init__")


def test_there_is_something_to_look_for() -> None:
    assert "DATABASE_URL" in SETTINGS and "up" in COMMANDS


@pytest.mark.parametrize("name", SETTINGS)
def test_every_setting_is_named(name: str) -> None:
    assert f"`{name}`" in WORDS


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_named(name: str) -> None:
    assert re.search(rf"`(manage\.py )?{name}\b", WORDS)


@pytest.mark.parametrize("right", sorted(rights.OWNER))
def test_every_right_is_named(right: str) -> None:
    assert re.search(rf"\b{right}\b", WORDS.split("## Roles and rights")[1])
