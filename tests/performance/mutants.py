"""What `make mutants` found: the score, and every planted fault that no test noticed.

A fault that only a time limit stopped counts as found; one in a function that no test of `tests/calc` calls
counts as not found.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path

FOUND = {1, 3, 24, 36, 37, 152, 255, -24, -9}  # exit codes of pytest with failures, and of a time limit
SURVIVED = {0, 33}
GOAL = 0.90


def read(folder: Path) -> dict[str, int | None]:
    """Exit code of the tests by planted fault."""
    found: dict[str, int | None] = {}
    for meta in sorted(folder.rglob("*.meta")):
        found |= json.loads(meta.read_text(encoding="utf-8"))["exit_code_by_key"]
    return found


def main(folder: str = "mutants") -> int:
    codes = read(Path(folder))
    survivors = sorted(name for name, code in codes.items() if code in SURVIVED or code is None)
    score = 1 - len(survivors) / len(codes) if codes else 0.0
    for name in survivors:
        print(name)
    print(f"exit codes: {dict(Counter(codes.values()))}")
    print(f"{len(codes)} faults planted, {len(codes) - len(survivors)} found: {score:.1%} (goal {GOAL:.0%})")
    return 0 if score >= GOAL else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
