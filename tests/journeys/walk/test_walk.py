"""Every page in a real browser: can wet hands hit it, can tired eyes read it? See walker.py."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests import builders
from tests.journeys.walk import pages
from tests.journeys.walk.walker import ONLY, Walk, walked

pytestmark = [pytest.mark.journey, pytest.mark.django_db(transaction=True)]


def test_the_empty_shop(walk: Callable[[], Walk]) -> None:
    builders.a_workshop()
    walked(walk(), pages.bare())


def test_the_door(walk: Callable[..., Walk]) -> None:
    """Signed out: the setup and the sign-in."""
    opened = walk(signed_in=False)
    walked(opened, {"people:setup": "/setup/"})
    builders.a_workshop()
    builders.an_owner()
    walked(opened, {"people:sign-in": "/sign-in/"})


def test_one_of_everything(walk: Callable[[], Walk]) -> None:
    addresses = pages.built()
    walked(walk(), addresses)


def test_a_batch_at_every_stage(walk: Callable[[], Walk]) -> None:
    addresses = pages.rich()
    walked(walk(), addresses)


def test_what_is_refused(walk: Callable[[], Walk]) -> None:
    """Forms sent empty; a page that is not there."""
    builders.a_workshop()
    opened = walk()
    walked(opened, pages.forms(), refusals=True)
    assert ONLY or opened.refusals >= 10
    walked(opened, {"error: no such page": "/nowhere/", "error: no such lot": "/storeroom/lots/NONE/"})


def test_what_a_maker_may_not_open(walk: Callable[..., Walk]) -> None:
    builders.a_workshop()
    walked(walk(who=builders.a_maker), {"error: not yours": "/staff/"})
