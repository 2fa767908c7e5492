"""The settings under which the bench serves: the app's own, with the floors beside its addresses."""

from __future__ import annotations

from workshop.settings import *  # noqa: F403

ROOT_URLCONF = "tests.performance.floors"
