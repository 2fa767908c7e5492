"""The flush between transactional tests: complete, also where rows stand for good."""

from __future__ import annotations

import pytest
from django.core.management import call_command

from tests.builders import a_workshop, an_owner
from workshop.models import Workshop
from workshop.people.models import Person

pytestmark = pytest.mark.django_db(transaction=True)


def test_it_empties_every_table_whatever_the_foreign_keys() -> None:
    a_workshop()
    an_owner()
    call_command("flush", interactive=False)
    assert not Workshop.objects.exists()
    assert not Person.objects.exists()
