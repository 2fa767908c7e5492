"""Two people at the same batch at the same moment: one act stands, the other is refused in words."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from batches.actions import charge, jar_notes, jar_split, press
from batches.actions.undo import undo_act
from batches.models import Batch, Stage, StageAct
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_jar import a_batch, a_charged_batch, a_lot, a_spirit, a_vessel, typed
from tests.inventory.at_once import at_once
from workshop.errors import Refused

pytestmark = pytest.mark.django_db(transaction=True)
LATER = NOON + timedelta(days=28)


def a_jar_at_the_press() -> Batch:
    a_workshop()
    batch = a_charged_batch()
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=an_owner(), at=LATER)
    press.pour(stage=batch.stages.get(kind="press"), amount=typed("760 mL"), by=an_owner(), at=LATER)
    return batch


def one_stands(answers: list[Any]) -> None:
    assert sum(isinstance(answer, StageAct) for answer in answers) == 1, answers
    assert sum(isinstance(answer, Refused) for answer in answers) == len(answers) - 1, answers


def test_pressed_by_two_at_once_is_pressed_once() -> None:
    step, by = a_jar_at_the_press().stages.get(kind="press"), a_maker()
    one_stands(at_once([lambda: press.pressed(stage=step, by=by, at=LATER)] * 3))
    assert StageAct.objects.filter(act="pressed").count() == 1


def test_a_pour_undone_while_it_is_pressed_is_one_or_the_other() -> None:
    batch, by = a_jar_at_the_press(), a_maker()
    step, poured = batch.stages.get(kind="press"), StageAct.objects.get(act="pour")
    one_stands(
        at_once(
            [
                lambda: press.pressed(stage=step, by=by, at=LATER),
                lambda: undo_act(act=poured, by=by, at=LATER),
            ]
        )
    )
    stood = Stage.objects.get(pk=step.pk).state == Stage.State.DONE
    assert StageAct.objects.filter(undoes=poured).exists() is not stood


def test_two_jars_poured_into_each_other_at_once_end_in_one() -> None:
    a_workshop()
    one, two, by = a_charged_batch(), a_batch(title="turkey tail, second"), a_maker()
    charge.charge(
        stage=two.stages.get(kind="prepare"),
        herbs=[(a_lot(amount="200", moisture=0.09), Decimal(100))],
        menstruum_lot=a_spirit(),
        menstruum=typed("300 mL"),
        vessel=a_vessel("K2", 2000),
        by=by,
        at=NOON,
    )
    mine, theirs = one.stages.get(kind="macerate"), two.stages.get(kind="macerate")
    one_stands(
        at_once(
            [
                lambda: jar_split.join(stage=mine, other=theirs, by=by, at=LATER),
                lambda: jar_split.join(stage=theirs, other=mine, by=by, at=LATER),
            ]
        )
    )
    assert set(Batch.objects.values_list("state", flat=True)) == {Batch.State.RUNNING, Batch.State.ENDED}
