"""The arithmetic loads no framework: imported alone, it leaves none in memory."""

from __future__ import annotations

import pkgutil
import subprocess
import sys

import batches.calc
import workshop.calc

FRAMEWORKS = ("django", "celery", "redis", "weasyprint", "pint")


def test_calc_loads_no_framework() -> None:
    names = [
        module.name
        for package in (workshop.calc, batches.calc)
        for module in pkgutil.walk_packages(package.__path__, package.__name__ + ".")
    ]
    code = "\n".join(
        [f"import {name}" for name in names]
        + ["import sys", f"print([m for m in {FRAMEWORKS!r} if m in sys.modules])"]
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
    assert len(names) > 20
