"""The form of the workshop's own standard drink."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from batches.calc.drinks import DRINKS, Drink
from batches.forms.numbers import name_the_field
from workshop.fields import QuantityField
from workshop.measures import measures
from workshop.web import ActForm

BY_PLACE = {row.place: row for row in DRINKS}


class DrinkForm(ActForm):
    """A place of the table, or own grams with where they come from."""

    place = forms.ChoiceField(
        label="Place", required=False, choices=[("", "none"), *((one, one) for one in BY_PLACE)]
    )
    grams = QuantityField(
        label="Grams of ethanol",
        units=["g"],
        low=1,
        high=100,
        required=False,
        help_text="Empty: as the table says for the place.",
    )
    source = forms.CharField(
        label="Source", max_length=200, required=False, help_text="For grams of your own: the law or table."
    )
    dated = forms.DateField(
        label="Source is of", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        name_the_field(self)

    def clean(self) -> dict[str, Any]:
        found: dict[str, Any] = super().clean() or {}
        if found.get("grams") is None:
            if (found.get("source") or found.get("dated")) and "grams" not in self.errors:
                self.add_error("grams", "Grams of ethanol: a source of your own wants its grams beside it.")
        else:
            for name in ("place", "source", "dated"):
                if not found.get(name) and name not in self.errors:
                    self.add_error(name, f"{self.fields[name].label}: grams of your own want it beside them.")
        return found

    def kept(self) -> dict[str, Any]:
        """As the workshop keeps it; empty for none."""
        place, grams = self.cleaned_data["place"], self.cleaned_data["grams"]
        if not place:
            return {}
        if grams is None:
            row = BY_PLACE[place]
            return {"place": place, "grams": row.grams, "source": row.source, "dated": ""}
        dated: date = self.cleaned_data["dated"]
        source = self.cleaned_data["source"]
        return {"place": place, "grams": float(grams.base), "source": source, "dated": dated.isoformat()}


def as_typed(kept: dict[str, Any]) -> dict[str, str]:
    """What is kept as it would be typed; grams of the table are not one's own."""
    if not kept.get("dated"):
        return {"place": kept.get("place", "")}
    grams = f"{kept['grams']:g}".replace(".", measures().mark)
    return {"place": kept["place"], "grams": grams, "source": kept["source"], "dated": kept["dated"]}


def own_drink(kept: dict[str, Any]) -> Drink | None:
    """What `kept` says, None for none."""
    if not kept:
        return None
    dated = date.fromisoformat(kept["dated"]) if kept["dated"] else None
    return Drink(kept["place"], kept["grams"], source=kept["source"], dated=dated)
