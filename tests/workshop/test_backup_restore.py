"""A backup of a workshop at work, put back into an empty place: the same sums, the same chain."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.conf import settings as django_settings
from django.core.management import CommandError, call_command
from django.db import connection

from inventory.actions.materials import add_goods
from inventory.actions.places import add_place
from inventory.actions.receive import Delivered, receive_delivery
from inventory.models import Material, Place
from tests.builders import NOON, a_workshop, an_owner
from workshop.backups import archive, database, nightly, shelf
from workshop.embedded import postgres
from workshop.errors import Refused

pytestmark = pytest.mark.django_db(transaction=True)
SUMS = """
SELECT (SELECT string_agg(s.lot_id || ' ' || s.on_hand, ',' ORDER BY s.lot_id) FROM inventory_stock s),
       (SELECT sum(mass_g) FROM inventory_movement),
       (SELECT seq || ' ' || hash FROM inventory_chainhead),
       (SELECT string_agg(hash, ',' ORDER BY seq) FROM inventory_posting)
"""


@dataclass(frozen=True)
class AnEmptyPlace:
    """A fresh copy of the program: its own folder, its own embedded database."""

    var: Path

    def manage(self, *words: str) -> subprocess.CompletedProcess[str]:
        kept = {k: v for k, v in os.environ.items() if k not in ("DATABASE_URL", "COLATURE_VAR")}
        settings = kept | {"COLATURE_VAR": str(self.var), "COLATURE_LINGER": "0.5"}
        return subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=django_settings.BASE_DIR,
            env=settings,
            text=True,
            capture_output=True,
        )

    def ask(self, sql: str) -> Any:
        found = postgres.ensure(self.var / "postgres")
        with psycopg.connect(host=found["HOST"], user="postgres", dbname="colature") as db:
            return db.execute(sql).fetchone()  # type: ignore[call-overload]


def a_workshop_at_work(tmp_path: Path) -> Path:
    """Owlpenny Herbs with three lots received and a picture; returns its backup folder."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    a_workshop(backup_folder=str(folder))
    owner = an_owner()
    shelf_place = add_place(name="North shelf", kind=Place.Kind.SHELF, by=owner, at=NOON)
    herb = add_goods(name="Turkey tail", kind=Material.Kind.FUNGUS, by=owner, at=NOON)
    for number, grams in enumerate(("500", "437.5", "0.125")):
        line = Delivered(material=herb, amount=Decimal(grams), place=shelf_place)
        receive_delivery(
            supplier=None, arrived_on=NOON.date(), lines=[line], by=owner, at=NOON, key=f"delivery {number}"
        )
    picture = Path(django_settings.MEDIA_ROOT) / "attachments" / "jar.jpg"
    picture.parent.mkdir(parents=True)
    picture.write_bytes(b"\xff\xd8 a jar in the light")
    return folder


def sums() -> Any:
    with connection.cursor() as cursor:
        cursor.execute(SUMS)
        return cursor.fetchone()


def another_connection() -> psycopg.Connection[Any]:
    """To the same database, as another process would have it."""
    known = connection.settings_dict
    return psycopg.connect(
        host=known["HOST"],
        port=known["PORT"],
        user=known["USER"],
        password=known["PASSWORD"],
        dbname=known["NAME"],
    )


def test_put_back_into_an_empty_place_the_sums_and_the_chain_are_the_same(
    tmp_path: Path, fresh_var: Path, settings: Any
) -> None:
    folder = a_workshop_at_work(tmp_path)
    before = sums()
    assert before[1] == Decimal("937.625") and before[2].startswith("3 ")
    settings.BACKUP_KEYS = [archive.new_key(tmp_path / "key")]
    made = nightly.back_up_if_due(at=datetime(2026, 3, 3, 2, 0, tzinfo=UTC))
    assert made == folder / "colature-20260303T020000Z.backup"
    place = AnEmptyPlace(fresh_var)

    refused = place.manage("restore", str(made))
    assert refused.returncode == 1 and "is sealed: give the secret key's file" in refused.stderr

    done = place.manage("restore", str(made), "--key", str(tmp_path / "key"))
    assert done.returncode == 0, done.stderr
    assert "all counted" in done.stdout
    assert place.ask(SUMS) == before
    assert (place.var / "media" / "attachments" / "jar.jpg").read_bytes() == b"\xff\xd8 a jar in the light"
    assert place.ask("SELECT count(*) FROM pg_trigger WHERE tgname LIKE 'pgtrigger_postings_stand%'") == (1,)

    again = place.manage("restore", str(made), "--key", str(tmp_path / "key"))
    assert again.returncode == 1 and "A workshop has been set up here already" in again.stderr


def test_a_dump_and_its_counts_are_of_one_moment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A row that arrives between the dump and the counting is in neither."""
    a_workshop_at_work(tmp_path)
    run = database.run

    def run_and_be_disturbed(*words: str) -> None:
        run(*words)
        with another_connection() as other:
            other.execute("INSERT INTO workshop_heartbeat (name, beat_at) VALUES ('late', now())")

    monkeypatch.setattr(database, "run", run_and_be_disturbed)
    rows = database.dump(tmp_path / "dump")
    assert rows["workshop_heartbeat"] == 0
    assert database.counts()["workshop_heartbeat"] == 1


def test_only_one_worker_makes_the_nights_backup(tmp_path: Path) -> None:
    a_workshop_at_work(tmp_path)
    at = datetime(2026, 3, 3, 2, 0, tzinfo=UTC)
    with another_connection() as other:
        other.execute("SELECT pg_advisory_lock(%s)", [nightly.LOCK])
        assert nightly.back_up_if_due(at=at) is None
    assert nightly.back_up_if_due(at=at) is not None
    assert nightly.back_up_if_due(at=at) is None


def test_thirty_stay(tmp_path: Path) -> None:
    folder = a_workshop_at_work(tmp_path)
    for day in range(1, 32):
        (folder / f"colature-202601{day:02d}T020000Z.backup").write_bytes(b"")
    made = shelf.make(folder=folder, at=NOON)
    kept = [path for path, _ in shelf.found(folder)]
    assert len(kept) == 30 and kept[0] == made
    assert kept[-1].name == "colature-20260103T020000Z.backup"


def test_a_workshop_in_use_is_never_written_over(tmp_path: Path) -> None:
    folder = a_workshop_at_work(tmp_path)
    made = shelf.make(folder=folder, at=NOON)
    before = sums()
    with pytest.raises(Refused, match="A workshop has been set up here already"):
        shelf.restore(source=made, key=None)
    assert sums() == before


def test_the_command_names_the_file_and_says_if_anyone_can_read_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = a_workshop_at_work(tmp_path)
    call_command("backup")
    said = capsys.readouterr().out
    assert str(folder) in said and "not sealed: anyone who has the file can read it" in said


def test_without_a_folder_the_command_asks_for_one() -> None:
    with pytest.raises(CommandError, match="name one with --folder"):
        call_command("backup")
