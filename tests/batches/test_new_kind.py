"""Adding a stage kind is adding a module and its template: one is added here, used, and gone again.

Nothing of the house is written to. The two folders and the templates get a second place each, as if the
files had been laid into them; no list of kinds is touched.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterator
from copy import deepcopy
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import LazySettings
from django.test import Client
from django.urls import reverse

import batches.stages
import batches.views
from batches import bell
from batches.actions.undo import undo_act
from batches.models import Batch, Stage, StageAct
from batches.openings import new_batch
from batches.stages import kind_of, kinds
from batches.stages.base import BadSettings
from batches.views import registry
from tests.builders import NOON, a_maker, a_workshop, an_owner
from workshop.reminders.queries import coming_for
from workshop.web import fresh_key

pytestmark = pytest.mark.django_db

KIND = '''
"""Soak: the seed swells in water overnight."""

from dataclasses import dataclass

from batches.stages.base import BadSettings, Caution, SeriesPlan, StageKind


@dataclass(frozen=True, slots=True)
class Soak:
    hours: float = 12.0

    def __post_init__(self):
        if self.hours <= 0:
            raise BadSettings("Soaking: more than 0 hours.")


def series(settings, facts):
    rule = {"kind": "after", "hours": settings.hours}
    return (SeriesPlan("swollen", "soaked", f"{facts.title}: is it swollen?", rule, done_by=("soaked",)),)


def cautions(settings, facts):
    return (Caution("Seed that ferments is thrown away.", "common practice, no source"),)


STAGE = StageKind("soak", "Soak", "soaking", "soaked", Soak, ("soaked", "note"), series, cautions)
'''

SCREEN = '''
"""The act and the panel of the soaking."""

from django import forms
from django.db import transaction

from batches import logbook
from batches.forms.acts import StageForm
from batches.stages import kind_of
from batches.stages.base import StageFacts
from batches.views.spec import ActSpec
from workshop.errors import Refused


class SoakedForm(StageForm):
    looks = forms.CharField(label="How it looks", max_length=60)


@transaction.atomic
def soaked(*, stage, looks, by, at):
    stage = logbook.lock_stage(stage)
    if looks == "dry":
        raise Refused("How it looks: what is dry has not soaked yet. Give it more water.", field="looks")
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=at, moves=moves)
    caption = f"Soaked: {looks}"
    return logbook.log(
        stage=stage, act="soaked", caption=caption, by=by, at=at, recorded_at=at, moves=moves
    )


def panel(stage):
    kind = kind_of(stage.kind)
    settings = kind.read(stage.settings)
    return {"hours": settings.hours, "cautions": kind.cautions(settings, StageFacts())}


ACTS = [ActSpec("soaked", "Soaked", "Look at the seed", soaked, SoakedForm)]
PANELS = {"soak": panel}
'''

PAGE = """<h1 class="opening">It soaks for {% hours hours %}.</h1>
{% include "batches/stages/_offers.html" %}
{% include "batches/stages/_cautions.html" %}
"""


@pytest.fixture
def soak(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, settings: LazySettings) -> Iterator[None]:
    for folder, text in (("stages", KIND), ("views", SCREEN)):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "soak.py").write_text(text, encoding="utf-8")
    page = tmp_path / "templates/batches/stages/_soak.html"
    page.parent.mkdir(parents=True)
    page.write_text(PAGE, encoding="utf-8")
    for package in (batches.stages, batches.views):
        place = str(tmp_path / package.__name__.rpartition(".")[2])
        monkeypatch.setattr(package, "__path__", [*package.__path__, place])
    own = deepcopy(settings.TEMPLATES)
    own[0]["DIRS"] = [*own[0]["DIRS"], tmp_path / "templates"]
    settings.TEMPLATES = own
    _look_again()
    yield
    monkeypatch.undo()
    for name in ("batches.stages.soak", "batches.views.soak"):
        sys.modules.pop(name, None)
        package, _, own_name = name.rpartition(".")
        vars(sys.modules[package]).pop(own_name, None)
    _look_again()


def _look_again() -> None:
    importlib.invalidate_caches()
    batches.stages.read_again()
    registry.read_again()


def a_soaking(**settings: float) -> Batch:
    a_workshop()
    steps = [("soak", settings), ("settle", {})]
    return new_batch(title="flax seed", steps=steps, by=an_owner(), at=NOON)


def test_nobody_knows_the_kind_before() -> None:
    assert "soak" not in kinds() and "soaked" not in registry.ACTS and "soak" not in registry.PANELS


@pytest.mark.usefixtures("soak")
def test_a_module_and_its_template_are_a_stage_kind() -> None:
    batch = a_soaking(hours=8.5)
    client = Client()
    client.force_login(a_maker())
    where = reverse("batches:batch", args=[batch.number])
    act = reverse("batches:act", args=[batch.number, 1, "soaked"])
    page = client.get(where).content.decode()
    assert "It soaks for 8\u00a0h 30\u00a0min." in page and f'href="{act}"' in page
    assert "Seed that ferments is thrown away." in page
    assert 'name="looks"' in client.get(act).content.decode()

    refused = client.post(act, {"once_key": fresh_key(), "looks": "dry"})
    assert refused.status_code == 409 and "has not soaked yet" in refused.content.decode()
    done = client.post(act, {"once_key": fresh_key(), "looks": "plump"}, follow=True)
    assert "Soaked: plump" in done.content.decode() and "It stands to clear" in done.content.decode()

    went = StageAct.objects.get(act="soaked")
    undo_act(act=went, by=an_owner(), at=went.at)
    assert batch.stages.get(kind="soak").state == Stage.State.OPEN
    assert "It soaks for" in client.get(where).content.decode()


@pytest.mark.usefixtures("soak")
def test_its_reminders_and_settings_are_its_own() -> None:
    batch = a_soaking(hours=6.0)
    stage = batch.stages.get(kind="soak")
    bell.ring_batch(batch, NOON)
    key = bell.key_of(stage, "swollen")
    assert coming_for(keys=[key], at=NOON)[key].due_at == NOON + timedelta(hours=6)
    with pytest.raises(BadSettings, match="Soaking"):
        kind_of("soak").read({"hours": 0})


def test_nobody_knows_the_kind_afterwards() -> None:
    assert "soak" not in kinds() and "soaked" not in registry.ACTS and "soak" not in registry.PANELS
