"""The runs of the invented workshop: each a list of steps on days, carried out in the order of time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from batches.actions import charge, combine, jar_notes, make_up, pot, pot_read, pot_strain, press, settle
from batches.actions.formulas import Recipe, approve_version, create_formula
from batches.actions.plan_batch import plan_batch
from batches.calc.mixing import make_up as solve_menstruum
from batches.management.demo.stock import Shelves
from batches.models import Batch, BatchLot, FormulaVersion, Stage
from batches.queries.batch import lot_in_role
from batches.queries.combining import at_hand, needed
from batches.queries.jar import jar_of
from batches.queries.plans.asked import GRAMS
from inventory.models import Lot
from workshop.calc.units import Quantity
from workshop.people.models import Person

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


def said(value: float, unit: str) -> Quantity:
    """An amount as somebody would have typed it."""
    number = Decimal(repr(round(value, 1)))
    return Quantity(number, unit, number, f"{number} {unit}")


@dataclass(order=True)
class Step:
    """Something that happened at a moment."""

    at: datetime
    order: int
    do: Callable[[datetime], Any] = field(compare=False)


class Story:
    """Collects steps and tells them in the order of time, none later than `until`."""

    def __init__(self, until: datetime) -> None:
        self.until = until
        self.steps: list[Step] = []

    def add(self, at: datetime, do: Callable[[datetime], Any]) -> None:
        self.steps.append(Step(at, len(self.steps), do))

    def tell(self) -> None:
        for step in sorted(self.steps):
            if step.at <= self.until:
                step.do(step.at)


@dataclass
class Run:
    """One batch of the demo: what is charged and how long it stands. Masses g, volumes mL, days."""

    version: FormulaVersion
    herb: str
    herb_g: float
    spirit: str
    vessel: str
    days: int
    pressed_share: float = 0.83
    pot: str = "P1"
    stands: str = "T3"
    batch: Batch | None = None
    stages: dict[str, Stage] = field(default_factory=dict)

    @property
    def made(self) -> Batch:
        assert self.batch is not None
        return self.batch

    def stage(self, kind: str) -> Stage:
        """The step, looked up once: every act locks it and reads it afresh."""
        if not self.stages:
            self.stages = {stage.kind: stage for stage in self.made.stages.select_related("batch")}
        return self.stages[kind]


class Bench:
    """The hands that carry out the runs."""

    def __init__(self, shelves: Shelves, story: Story) -> None:
        self.shelves, self.story = shelves, story
        self.maker, self.owner = shelves.maker, shelves.owner

    def start(self, run: Run, at: datetime) -> None:
        """Plan, make up the menstruum, charge; then shake through the days."""
        self.story.add(at, lambda when: self._plan(run, when))
        self.story.add(at + HOUR, lambda when: self._charge(run, when))
        self.story.add(
            at + DAY + HOUR,
            lambda when: jar_notes.covered(stage=run.stage("macerate"), by=self.maker, at=when),
        )
        shakes = [*range(1, 8), *range(8, run.days, 2)]
        for number in shakes:
            day = at + number * DAY
            if day.weekday() == 6:  # nobody is there on a Sunday
                day += DAY
            if number % 11:  # now and then a day is missed, as in any shop
                by = self.owner if number % 5 == 0 else self.maker
                self.story.add(
                    day,
                    lambda when, by=by: jar_notes.shake(stage=run.stage("macerate"), by=by, at=when),
                )

    def finish(self, run: Run, at: datetime, *, until: str = "settle") -> None:
        """Press, simmer, combine, decant; `until` names the last step that is done."""
        steps: list[tuple[str, timedelta, Callable[[datetime], Any]]] = [
            ("press", timedelta(0), lambda when: self._press(run, when)),
        ]
        if run.version.target_abv:
            steps += [
                ("set_pot", 1.5 * HOUR, lambda when: self._set_pot(run, when)),
                ("first reading", 2 * HOUR, lambda when: self._read(run, when, 76.0, 0.06)),
                ("second reading", 3 * HOUR, lambda when: self._read(run, when, 79.0, 0.12)),
                ("strain", 5.5 * HOUR, lambda when: self._strain(run, when)),
                ("combine", 9 * HOUR, lambda when: self._combine(run, when)),
            ]
        steps.append(("settle", 3 * DAY, lambda when: self._decant(run, when)))
        for name, after, do in steps:
            self.story.add(at + after, do)
            if name == until:
                break

    def _plan(self, run: Run, at: datetime) -> None:
        run.batch = plan_batch(
            version=run.version,
            way=GRAMS,
            today=at.date(),
            herb_g=run.herb_g,
            herb_lot=self.shelves.lots[run.herb],
            spirit_lot=self.shelves.lots[run.spirit],
            vessel=self.shelves.vessels[run.vessel],
            by=self.owner,
            at=at,
        )

    def _charge(self, run: Run, at: datetime) -> None:
        version, stage = run.version, run.stage("prepare")
        ml = run.herb_g * version.menstruum_ml_per_g
        spirit = fresh(self.shelves.lots[run.spirit])
        solved = solve_menstruum(ml, version.menstruum_abv, spirit.abv or 96.0)
        make_up.make_up(
            stage=stage,
            spirit_lot=spirit,
            spirit=said(solved.spirit_ml, "mL"),
            water=said(solved.water_ml, "mL"),
            by=self.maker,
            at=at,
        )
        menstruum = lot_in_role(run.made, BatchLot.Role.MENSTRUUM)
        assert menstruum is not None
        charge.charge(
            stage=stage,
            herbs=[(self.shelves.lots[run.herb], Decimal(str(run.herb_g)))],
            menstruum_lot=menstruum.lot,
            menstruum=said(float(menstruum.on_hand), "g"),
            vessel=self.shelves.vessels[run.vessel],
            by=self.maker,
            at=at,
        )

    def _press(self, run: Run, at: datetime) -> None:
        jar_notes.press_now(stage=run.stage("macerate"), by=self.maker, at=at)
        jar = jar_of(run.made)
        assert jar is not None
        stage, total = run.stage("press"), jar.liquid_ml * run.pressed_share
        press.pour(stage=stage, amount=said(total * 0.9, "mL"), by=self.maker, at=at)
        press.pour(stage=stage, amount=said(total * 0.1, "mL"), by=self.maker, at=at)
        stands = self.shelves.vessels[run.stands] if run.version.target_abv is None else None
        press.pressed(stage=stage, vessel=stands, by=self.maker, at=at + 0.5 * HOUR)

    def _set_pot(self, run: Run, at: datetime) -> None:
        pot.set_pot(
            stage=run.stage("decoct"),
            vessel=self.shelves.vessels[run.pot],
            water=said(self._water(run), "mL"),
            by=self.maker,
            at=at,
        )

    def _water(self, run: Run) -> float:
        wanted = needed(at_hand(run.made))
        return (wanted.water_ml if wanted else 1500.0) * 1.6 + run.herb_g

    def _read(self, run: Run, at: datetime, celsius: float, gone: float) -> None:
        volume = said(self._water(run) * (1 - gone), "mL")
        pot_read.pot_reading(
            stage=run.stage("decoct"), celsius=said(celsius, "°C"), volume=volume, by=self.maker, at=at
        )

    def _strain(self, run: Run, at: datetime) -> None:
        wanted = needed(at_hand(run.made))
        ml = (wanted.water_ml if wanted else 1500.0) * 1.002
        pot_strain.strained(stage=run.stage("decoct"), extract=said(ml, "mL"), by=self.maker, at=at)
        settle.leave_out(stage=run.stage("reduce"), by=self.maker, at=at)

    def _combine(self, run: Run, at: datetime) -> None:
        hand = at_hand(run.made)
        combine.combine(
            stage=run.stage("combine"),
            extract=said(hand.extract_ml, "mL"),
            vessel=self.shelves.vessels[run.stands],
            by=self.maker,
            at=at,
        )

    def _decant(self, run: Run, at: datetime) -> None:
        held = lot_in_role(run.made, BatchLot.Role.COMBINED) or lot_in_role(run.made, BatchLot.Role.TINCTURE)
        assert held is not None
        clear = said(float(held.on_hand) * 0.985, "g")
        settle.decanted(stage=run.stage("settle"), clear=clear, by=self.maker, at=at)


def fresh(lot: Lot) -> Lot:
    """The lot as the database has it now."""
    return Lot.objects.select_related("material").get(pk=lot.pk)


def double(shelves: Shelves, herb: str, *, by: Person, at: datetime) -> FormulaVersion:
    """A double extraction of a fungus, to 28 % vol."""
    goods = shelves.goods
    recipe = Recipe(
        parts=_parts(goods, herb),
        ratio=5.0,
        menstruum_abv=80.0,
        target_abv=28.0,
        dose_ml=2.0,
        dose_note="2 mL once a day in water, as the owner wrote it for this demo.",
        cautions=CAUTIONS,
    )
    return _approved(f"{herb} double extract", "double", recipe, by, at)


def single(shelves: Shelves, herb: str, *, abv: float, by: Person, at: datetime) -> FormulaVersion:
    """A plain maceration of a dried herb."""
    recipe = Recipe(
        parts=_parts(shelves.goods, herb),
        ratio=5.0,
        menstruum_abv=abv,
        herb_basis=FormulaVersion.HerbBasis.TINCTURE,
        dose_ml=1.0,
        dose_note="1 mL in water, as the owner wrote it for this demo.",
        cautions=CAUTIONS,
    )
    return _approved(f"{herb} tincture", "maceration", recipe, by, at)


CAUTIONS = (
    "Contains alcohol. Ask a licensed practitioner when pregnant, nursing or on medicine. "
    "Keep from children. Shake well. Keep cool and dark."
)


def _parts(goods: dict[str, Any], herb: str) -> dict[str, Any]:
    return {
        "herb": goods[herb],
        "spirit": goods["Grain spirit"],
        "water": goods["Tap water"],
        "pot_water": goods["Tap water"],
        "bottle": goods["Amber bottle 50 mL"],
        "closure": goods["Dropper 50 mL"],
    }


def _approved(name: str, preparation: str, recipe: Recipe, by: Person, at: datetime) -> FormulaVersion:
    version = create_formula(name=name, preparation=preparation, recipe=recipe, by=by, at=at)
    return approve_version(version=version, by=by, at=at)
