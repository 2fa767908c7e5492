"""Which sheet of labels, what is on it, how many; the label is laid out while the form is checked."""

from __future__ import annotations

from typing import Any

from django import forms

from batches.forms.bottling import Count, Millimetres, RunForm
from batches.labels import sheet as sheets
from batches.labels.facts import LabelFacts
from batches.labels.fit import Laid
from batches.labels.setting import least_x_mm, setting
from batches.labels.wording import MAY_LEAVE_OUT, NAMES
from batches.models import BottlingRun
from batches.queries import bottling as look

CUSTOM = "own"


class PrintForm(RunForm):
    """Which sheet, what is on it, how many."""

    sheet = forms.ChoiceField(label="Sheet")
    count = Count(label="How many labels", unit="labels")
    first = Count(
        label="First label on the sheet", unit="", required=False,
        help_text="For a sheet already begun: 1 is the upper left, counted along the rows.",
    )  # fmt: skip
    small = forms.BooleanField(label="Small pack: its largest face is under 80 cm²", required=False)
    leave_out = forms.MultipleChoiceField(
        label="Said elsewhere (leaflet, second label, box)",
        choices=list(MAY_LEAVE_OUT.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    reason = forms.CharField(label="Why more are printed", max_length=300, required=False)
    paper = forms.ChoiceField(label="Paper", choices=[(one, one) for one in sheets.PAPERS], required=False)
    width, height = Millimetres("Label width"), Millimetres("Label height")
    columns = Count(label="Labels across", unit="", required=False)
    rows = Count(label="Labels down", unit="", required=False)
    left, top = Millimetres("Left margin"), Millimetres("Top margin")
    gap_x, gap_y = Millimetres("Gap across"), Millimetres("Gap down")

    OWN = ("paper", "width", "height", "columns", "rows", "left", "top", "gap_x", "gap_y")

    def __init__(self, *args: Any, run: BottlingRun, facts: LabelFacts, **kwargs: Any) -> None:
        self.facts = facts
        self.laid: Laid | None = None
        self.grid: sheets.Sheet | None = None
        super().__init__(*args, run=run, **kwargs)

    def prepare(self) -> None:
        choices = [(key, sheet.name) for key, sheet in sheets.PRESETS.items()]
        self.fields["sheet"].choices = [*choices, (CUSTOM, "Another sheet, measured below")]  # type: ignore[attr-defined]
        self.fields["leave_out"].may = self.fields["reason"].may = "if any"  # type: ignore[attr-defined]
        printed = look.printed_of(self.run)
        wanted = self.run.filled or self.run.planned
        self.fields["count"].initial = max(wanted - printed, 1) if printed else wanted
        if not printed:
            del self.fields["reason"]
        if not self.is_bound:
            self._propose()

    def _propose(self) -> None:
        """The smallest label of the workshop's paper that says everything, shown from the start."""
        paper = "Letter" if self.facts.market == "us" else "A4"
        own = [(key, one) for key, one in sheets.PRESETS.items() if one.paper == paper]
        for key, grid in sorted(own, key=lambda pair: pair[1].width * pair[1].height):
            self.grid, self.laid = grid, setting(self.facts, grid)
            self.fields["sheet"].initial = key
            if self.laid.fits:
                return

    @property
    def main(self) -> list[Any]:
        """The fields above the measures of a sheet of one's own."""
        return [field for field in self.visible_fields() if field.name not in self.OWN]

    @property
    def own(self) -> list[Any]:
        return [field for field in self.visible_fields() if field.name in self.OWN]

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if "sheet" in data:
            data["grid"] = self._grid(data)
        grid, first = data.get("grid"), data.get("first")
        if grid is not None and first and first > grid.each:
            self.add_error("first", f"First label: this sheet has {grid.each}.")
        if grid is not None:
            self._set(grid, data)
        return data

    def _set(self, grid: sheets.Sheet, data: dict[str, Any]) -> None:
        """Lay the label out; refuse what does not fit, by name."""
        out, small = data.get("leave_out", []), bool(data.get("small"))
        self.grid, self.laid = grid, setting(self.facts, grid, small=small, leave_out=out)
        if not self.laid.fits:
            named = ", ".join(NAMES[name] for name in self.laid.missing)
            least = least_x_mm(small)
            self.add_error(
                "sheet",
                f"Sheet: on {grid.width:g} × {grid.height:g} mm, with letters no smaller than {least} mm, "
                f"there is no room for {named}. Take a larger label, or say it elsewhere.",
            )

    def sheet_data(self) -> dict[str, Any]:
        """What is kept with a printing, so that the same PDF can be made again."""
        data = self.cleaned_data
        return {
            "grid": data["grid"].stored(),
            "first": data.get("first") or 1,
            "small": bool(data.get("small")),
            "leave_out": list(data.get("leave_out", [])),
        }

    def _grid(self, data: dict[str, Any]) -> sheets.Sheet | None:
        if data["sheet"] != CUSTOM:
            return sheets.PRESETS[data["sheet"]]
        for name in ("width", "height", "columns", "rows", "left", "top"):
            if data.get(name) is None and name not in self.errors:
                label = self.fields[name].label
                self.add_error(name, f"{label}: this is needed for a sheet of your own. Measure it.")
        if self.errors:
            return None
        numbers = {name: float(data.get(name) or 0) for name in self.OWN if name != "paper"}
        counts = {"columns": int(data["columns"]), "rows": int(data["rows"])}
        try:
            return sheets.Sheet(**(numbers | counts | {"paper": data["paper"] or "A4"}))  # type: ignore[arg-type]
        except sheets.BadSheet as wrong:
            self.add_error(wrong.field, str(wrong))
            return None
