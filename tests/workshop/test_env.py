"""The readers of the environment: they refuse by name what cannot be meant."""

from __future__ import annotations

import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from workshop import env


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("1", True), ("true", True), ("YES", True), ("0", False), ("false", False), ("no", False), ("", False)],
)
def test_a_flag_has_few_spellings(monkeypatch: pytest.MonkeyPatch, typed: str, meant: bool) -> None:
    monkeypatch.setenv("TLS", typed)
    assert env.flag("TLS", not meant) is meant


@pytest.mark.parametrize("typed", ["on", "off", "2", "t", "ja"])
def test_a_flag_refuses_other_spellings(monkeypatch: pytest.MonkeyPatch, typed: str) -> None:
    monkeypatch.setenv("TLS", typed)
    with pytest.raises(env.Misread, match=f"TLS is '{typed}': write 1 or 0"):
        env.flag("TLS")


@pytest.mark.parametrize("typed", ["8k", "-1", "1.5", "٨", "1_000"])
def test_a_number_refuses_what_is_no_whole_number(monkeypatch: pytest.MonkeyPatch, typed: str) -> None:
    monkeypatch.setenv("PORT", typed)
    with pytest.raises(env.Misread, match="PORT is"):
        env.number("PORT", 8000)


def test_a_secret_may_stand_in_a_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "key").write_text("from a file\n")
    monkeypatch.setenv("SECRET_KEY_FILE", str(tmp_path / "key"))
    assert env.secret("SECRET_KEY", tmp_path / "made") == "from a file"
    assert not (tmp_path / "made").exists()


def test_a_missing_secret_file_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("SECRET_KEY_FILE", str(tmp_path / "nowhere"))
    with pytest.raises(env.Misread, match="SECRET_KEY_FILE points to .*nowhere"):
        env.from_file("SECRET_KEY")


def test_many_first_starts_agree_on_one_private_secret(tmp_path: Path) -> None:
    path = tmp_path / "var" / "secret_key"
    with ThreadPoolExecutor(16) as pool:
        made = set(pool.map(env.kept_secret, [path] * 16))
    assert made == {path.read_text()}
    assert len(path.read_text()) >= 50
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [entry.name for entry in path.parent.iterdir()] == ["secret_key"]


def test_a_database_url_is_taken_apart(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "password").write_text("p@ss/word\n")
    monkeypatch.setenv("DATABASE_URL", "postgresql://colature@db.example:5433/work%20shop?sslmode=require")
    monkeypatch.setenv("DATABASE_PASSWORD_FILE", str(tmp_path / "password"))
    found = env.database("DATABASE_URL", tmp_path)
    assert (found["HOST"], found["PORT"], found["USER"]) == ("db.example", "5433", "colature")
    assert (found["NAME"], found["PASSWORD"]) == ("work shop", "p@ss/word")
    assert found["OPTIONS"] == {"sslmode": "require"}


@pytest.mark.parametrize("url", ["mysql://a/b", "postgresql://host", "colature"])
def test_another_kind_of_url_is_refused_without_printing_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, url: str
) -> None:
    monkeypatch.setenv("DATABASE_URL", url)
    with pytest.raises(env.Misread) as refusal:
        env.database("DATABASE_URL", tmp_path)
    assert str(refusal.value) == "DATABASE_URL must look like postgresql://user@host:5432/name."


def test_without_a_url_the_embedded_database_is_meant(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DATABASE_URL", raising=False)
    found = env.database("DATABASE_URL", tmp_path)
    assert found["ENGINE"] == "workshop.embedded.backend"
    assert list(tmp_path.iterdir()) == []
