"""`manage.py calc NAME key=value ...`: the Reckoner from the command line. It asks no database."""

from __future__ import annotations

import json
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandParser

from batches.calc.reckoner import CALCULATIONS, Calculation, Reckoned, Values, changes, inputs_of
from batches.forms.reckoner import ReckonerForm
from workshop.calc.rounding import show
from workshop.calc.working import Figure
from workshop.measures import PLAIN, read_in

REFUSED = 2


class Command(BaseCommand):
    help = "Work something out: calc dilute volume=1000mL abv=96 target=40. Without a name: what there is."
    requires_system_checks = []  # noqa: RUF012

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", nargs="?", help="Which calculation; none lists them.")
        parser.add_argument(
            "values", nargs="*", metavar="key=value", help="What goes in, with or without units."
        )
        parser.add_argument("--json", action="store_true", help="The result as JSON.")

    def handle(self, *args: Any, **options: Any) -> None:
        name, pairs = options["name"], options["values"]
        if name is None:
            self._list()
        elif name not in CALCULATIONS:
            self._refuse(f"There is no calculation called {name}. There are: {', '.join(CALCULATIONS)}.")
        elif not pairs:
            self._asks(CALCULATIONS[name])
        else:
            with read_in(PLAIN):
                self._reckon(CALCULATIONS[name], self._typed(pairs), as_json=options["json"])

    def _list(self) -> None:
        for one in CALCULATIONS.values():
            self.stdout.write(f"{one.name:<12} {one.answers}")

    def _asks(self, asked: Calculation) -> None:
        self.stdout.write(f"{asked.title}: {asked.words}")
        for name, title in asked.ways:
            self.stdout.write(f"  way={name:<12} {title}")
        for one in asked.fields:
            unit = ", ".join(one.units) or one.said or "|".join(name for name, _ in one.choices)
            only = f" (way={'|'.join(one.ways)})" if one.ways else ""
            empty = "" if one.required else ", or empty"
            self.stdout.write(f"  {one.name + '=':<16} {one.label}, {unit or 'a number'}{empty}{only}")

    def _typed(self, pairs: list[str]) -> dict[str, str]:
        typed: dict[str, str] = {}
        for pair in pairs:
            key, found, text = pair.partition("=")
            if not found:
                self._refuse(f"Write {key}=… with its value; “{pair}” has none.")
            if key in typed:
                self._refuse(f"{key} is given twice: give it once.")
            typed[key] = text
        return typed

    def _reckon(self, asked: Calculation, typed: dict[str, str], *, as_json: bool) -> None:
        way = typed.get("way", "")
        if way and way != asked.way(way):
            ways = ", ".join(name for name, _ in asked.ways) or "none"
            self._refuse(f"{asked.name} has no way called {way}. There are: {ways}.")
        known = [one.name for one in asked.fields_for(asked.way(way))]
        for key in typed:
            if key not in (*known, "way"):
                self._refuse(f"{asked.name} takes no {key} here. It takes: {', '.join(known)}.")
        form = ReckonerForm(asked, typed, example=False)
        found = form.answer()
        if found is None:
            self._refuse(*_reasons(form))
        say = self._say_json if as_json else self._say
        say(asked, form, *found)

    def _say(self, asked: Calculation, form: ReckonerForm, values: Values, answer: Reckoned) -> None:
        if answer.verdict:
            self.stdout.write(answer.verdict)
        for one in answer.shown.values():
            self.stdout.write(f"{one.name}: {_shown(one)}")
            self.stdout.write(f"    {one.working.formula}")
            for given in one.working.inputs:
                self.stdout.write(f"    {given.symbol} = {show(given.value, given.unit, 6)}  {given.words}")
            self.stdout.write(f"    Source: {one.working.source}")
        for said in changes(asked, values, answer):
            self.stdout.write(f"{said.words}, {said.of}: {show(said.difference, said.unit, said.digits)}")
        thumb = (f"Rule of thumb: {answer.thumb}",) if answer.thumb else ()
        for words in (*thumb, *answer.notes, *answer.cautions):
            self.stdout.write(words)

    def _say_json(self, asked: Calculation, form: ReckonerForm, values: Values, answer: Reckoned) -> None:
        first, *rest = [_as_json(key, one) for key, one in answer.shown.items()]
        whole = {"calculation": asked.name, "given": inputs_of(form.used, values), **first, "also": rest}
        whole |= {"verdict": answer.verdict, "notes": answer.notes, "cautions": answer.cautions}
        self.stdout.write(json.dumps(whole, ensure_ascii=False, indent=2))

    def _refuse(self, *sentences: str) -> NoReturn:
        for one in sentences:
            self.stderr.write(one)
        raise SystemExit(REFUSED)


def _reasons(form: ReckonerForm) -> list[str]:
    """Every refusal, with the key it is about."""
    found = []
    for name, said in form.errors.items():
        key = f" ({name}=…)" if name in form.fields else ""
        found += [f"{sentence}{key}" for sentence in said]
    return found


def _shown(one: Figure) -> str:
    said = show(one.value, one.unit, one.digits)
    if one.low is None or one.high is None:
        return said
    return f"{said} ({show(one.low, one.unit, one.digits)} to {show(one.high, one.unit, one.digits)})"


def _as_json(key: str, one: Figure) -> dict[str, Any]:
    inputs = {
        given.symbol: {"words": given.words, "value": given.value, "unit": given.unit}
        for given in one.working.inputs
    }
    return {
        "key": key,
        "name": one.name,
        "value": one.value,
        "unit": one.unit,
        "low": one.low,
        "high": one.high,
        "inputs": inputs,
        "formula": one.working.formula,
        "source": one.working.source,
    }
