"""`make bench`: the busy pages of a large shop, timed against the floors of the same run. Never a test.

The shop lies in a database of its own under build/; the first run fills it, which takes some minutes.
"""

from __future__ import annotations

import os
import platform
import sys
import time
from collections.abc import Callable
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.performance import shop
from tests.performance.server import CONNECTIONS, free_port, serving

MOST_QUERIES = 15
HEADS = ("", "req/s", "p50 ms", "p95 ms", "p95 alone", "queries", "bytes", "gzip", "× SELECT", "goal")
WIDTHS = (22, 8, 8, 8, 11, 9, 11, 9, 10, 0)


def main() -> None:
    var = shop.use()
    os.environ["PORT"] = str(port := free_port())
    import django

    django.setup()
    from tests.performance import pages, sums
    from workshop import clock
    from workshop.management.commands.up import WEB_PROCESSES, WEB_THREADS, web
    from workshop.reminders.series import plan_ahead

    print(machine())
    shop.forget_others(var)
    shop.open_shop(var, clock.now())
    plan_ahead(at=clock.now())
    say_sums(sums.calculations())
    say_sums(sums.papers())
    client = pages.signed_in()
    print(
        f"\nPages: gunicorn, {WEB_PROCESSES} processes of {WEB_THREADS} threads; {CONNECTIONS} connections, "
        "kept open, from this same machine.\n“Alone” is one connection, a single tablet; "
        "“× SELECT” is how many requests of one SELECT go into one of the page. Shelf and trace keep what "
        "they read until\nsomebody writes; “after a write” is the same page read anew each time."
    )
    row(*HEADS)
    with serving(web(), port):
        floor = 0.0
        for page in pages.pages():
            got = pages.measure(page, client, port)
            floor = got.pace.per_second if "SELECT" in page.name else floor
            tell(got, floor)
    print(f"Load at the end: {load()}")


def machine() -> str:
    """What the figures were measured on, and how busy it was with other things."""
    cores = os.cpu_count() or 1
    return (
        f"{time.strftime('%Y-%m-%d %H:%M')}  {platform.system()} {platform.machine()}, {cores} cores, "
        f"Python {platform.python_version()}. Load before: {load()} (figures hold when it is below 1)"
    )


def load() -> str:
    return " ".join(f"{value:.1f}" for value in os.getloadavg())


def say_sums(found: list[tuple[str, float, str, Callable[[float], bool] | None, str]]) -> None:
    for name, value, unit, holds, goal in found:
        verdict = "" if holds is None else f"   goal {goal}: {'kept' if holds(value) else 'MISSED'}"
        print(f"{name:<46}{value:>14,.2f} {unit:<10}{verdict}")


def tell(got: object, floor: float) -> None:
    from tests.performance.pages import Measured

    assert isinstance(got, Measured)
    page, pace = got.page, got.pace
    p95, alone = pace.percentile(0.95), got.alone.percentile(0.95)
    row(
        page.name,
        f"{pace.per_second:,.0f}",
        f"{pace.percentile(0.5):,.1f}",
        f"{p95:,.1f}",
        f"{alone:,.1f}",
        str(got.queries),
        f"{got.plain:,}",
        f"{got.zipped:,}",
        f"{floor / pace.per_second:,.1f}" if floor else "",
        verdict(page.goal_ms, p95, alone, got.queries),
    )


def verdict(goal_ms: float | None, p95: float, alone: float, queries: int) -> str:
    """Both halves of a page's goal."""
    many = f"queries <= {MOST_QUERIES}: {'kept' if queries <= MOST_QUERIES else 'MISSED'}"
    if goal_ms is None:
        return many if queries > MOST_QUERIES else ""
    kept = "kept" if p95 <= goal_ms else "kept alone" if alone <= goal_ms else "MISSED"
    return f"p95 <= {goal_ms:g} ms: {kept}, {many}"


def row(*cells: str) -> None:
    first, *rest = zip(cells, WIDTHS, strict=True)
    print(
        f"{first[0]:<{first[1]}}" + "".join(f"{cell:>{wide}}" if wide else f"  {cell}" for cell, wide in rest)
    )


if __name__ == "__main__":
    main()
