"""The bench's own database under build/, kept from run to run while tables and seed are the same."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import time
from datetime import datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
HERE = Path(__file__).parent
KEPT = ROOT / "build" / "bench"
NOTE = "seeded.json"
SEED = ("rows.py", "history.py", "seed.py")
FRESH = 3  # days: an older shop has nothing on its shelf that fits today


def use() -> Path:
    """Point the settings, not yet read, at the bench's own database and away from the workshop's."""
    for name in ("DATABASE_URL", "DATABASE_URL_FILE", "TLS", "DEBUG"):
        os.environ.pop(name, None)
    var = KEPT / schema()
    os.environ["COLATURE_VAR"] = str(var)
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.performance.served"
    return var


def schema() -> str:
    """Twelve hex digits over all migrations and the seed: another table or another seed, another database."""
    files = [*ROOT.glob("*/migrations/*.py"), *ROOT.glob("*/*/migrations/*.py")]
    files += [HERE / name for name in SEED]
    parts = [hashlib.sha256(path.read_bytes()).hexdigest() for path in sorted(files)]
    return hashlib.sha256("".join(parts).encode()).hexdigest()[:12]


def open_shop(var: Path, at: datetime) -> None:
    """Migrate and fill the database unless it stands already; say what it holds and whether that adds up."""
    from django.core.management import call_command

    from tests.performance import seed

    begun, note = time.perf_counter(), var / NOTE
    call_command("migrate", interactive=False, verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    age = (at - datetime.fromisoformat(json.loads(note.read_text())["at"])).days if note.exists() else None
    if age is None or age > FRESH:
        if age is not None or _half_filled():
            call_command("flush", interactive=False, verbosity=0)
        seed.seed(seed.Size(), at=at)
        wrong = seed.check()
        if wrong:
            raise SystemExit("\n".join(["The seeded shop does not add up:", *wrong[:10]]))
        note.write_text(json.dumps({"at": at.isoformat()}))
        print("Every link of the chain and every balance was worked out again: they hold.")
    held = seed.filled()
    print(
        f"{held.lots:,} lots, {held.movements:,} movements in {held.postings:,} postings, "
        f"{held.vessels} vessels in use ({time.perf_counter() - begun:.0f} s to be ready)."
    )


def _half_filled() -> bool:
    from workshop.models import Workshop

    return Workshop.objects.exists()


def forget_others(var: Path) -> None:
    """Remove the databases of other schemas; one that is in use is left alone by its keeper's lock."""
    for old in KEPT.glob("*"):
        if old != var and old.is_dir() and not (old / "postgres" / "data" / "postmaster.pid").exists():
            shutil.rmtree(old, ignore_errors=True)
