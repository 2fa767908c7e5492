"""Forms from the weighing-in to the press."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import Case, QuerySet, When

from batches.calc.amounts import from_volume
from batches.forms.acts import LimitedForm, StageForm, VesselChoice, WeighedForm
from batches.forms.planned import plan_to_charge, plan_to_make_up
from batches.models import BatchLot, Occupancy, Stage, Vessel
from batches.queries import stock
from batches.queries.batch import lot_in_role
from batches.queries.charging import made_up_with_glycerol
from batches.queries.deviations import herb_rule
from batches.queries.jar import jar_of
from batches.queries.liquids import MENSTRUA
from batches.queries.menstruum import asks_why_strength, fitting, planned_abv
from batches.queries.rinsing import marc_holds
from inventory.models import Lot, Material
from workshop.fields import CountField, QuantityField
from workshop.measures import measures

LIQUID = ["mL", "L", "g", "kg", "fl oz", "oz"]
LIQUID_G = ["g", "kg", "mL", "L", "oz", "fl oz"]
DRY = ["g", "kg", "oz", "lb"]
HEAT = ["°C", "°F"]
SPIRITS = [Material.Kind.SPIRIT]
PLANTS = [Material.Kind.HERB, Material.Kind.FUNGUS]


def warmth(label: str = "Read at", **kwargs: Any) -> QuantityField:
    """The temperature at which a volume was read."""
    return QuantityField(
        label=label,
        units=HEAT,
        low=-20,
        high=100,
        required=False,
        help_text="Only for a volume; 20 °C when left empty.",
        **kwargs,
    )


class LotChoice(forms.ModelChoiceField):
    """Released lots in the order they are offered, each by its code with what is there."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Lot.objects.none(), **kwargs)
        self.on_hand: dict[int, str] = {}

    def offer(self, found: list[stock.Offer]) -> None:
        turn = Case(*(When(pk=offer.lot.pk, then=n) for n, offer in enumerate(found)), default=len(found))
        lots = Lot.objects.filter(pk__in=[offer.lot.pk for offer in found]).select_related("material")
        self.queryset = lots.order_by(turn, "pk") if found else lots
        kept = (offer for offer in found if offer.lot.material.metered)
        self.on_hand = {offer.lot.pk: measures().shown(offer.on_hand, "g", 0) for offer in kept}

    def label_from_instance(self, obj: Any) -> str:
        strength = f", {measures().shown(obj.abv, '% vol', 1)}" if obj.abv else ""
        left = self.on_hand.get(obj.pk)
        return f"{obj.code}, {obj.material}{strength}" + (f", {left} left" if left else "")


def free_vessels(*, pots: bool = False) -> QuerySet[Vessel]:
    """Vessels that nothing stands in now; open pots only where asked for: herb stands closed for weeks."""
    busy = Occupancy.objects.filter(during__endswith__isnull=True).values("vessel_id")
    free = Vessel.objects.filter(archived=False).exclude(pk__in=busy)
    return free if pots else free.exclude(form=Vessel.Form.POT)


def liquids_of(form: StageForm, name: str, *, water_too: bool = False) -> list[stock.Offer]:
    """Liquids of the planned kind, and the one that was sent: the act says better than a list why not."""
    found = stock.offers(*MENSTRUA)
    fit = {offer.lot.pk for offer in fitting(form.stage.batch, found, water_too=water_too)}
    sent = str(form.data.get(form.add_prefix(name), ""))
    return [offer for offer in found if offer.lot.pk in fit or str(offer.lot.pk) == sent]


class MakeUpForm(StageForm):
    """Spirit and water for the menstruum; glycerol and water where the formula says so."""

    spirit_lot = LotChoice(label="Spirit")
    spirit = QuantityField(label="Spirit poured", units=LIQUID)
    water = QuantityField(label="Water poured", units=LIQUID)
    celsius = warmth()

    def prepare(self) -> None:
        glycerol = made_up_with_glycerol(self.stage.batch)
        kinds = [Material.Kind.GLYCEROL] if glycerol else SPIRITS
        self.fields["spirit_lot"].offer(stock.offers(*kinds))
        if glycerol:
            self.fields["spirit_lot"].label = "Glycerol"
            self.fields["spirit"].label = "Glycerol poured"
        plan_to_make_up(self, self.stage.batch.plan, base="glycerol" if glycerol else "spirit")


def _is_key(sent: str) -> bool:
    return sent.isascii() and sent.isdigit() and len(sent) < 10


class ChargeForm(StageForm):
    """Herb and menstruum into a vessel."""

    herb_lot = LotChoice(label="Herb")
    herb_g = QuantityField(label="Herb on the scale", units=DRY, low=0.1)
    second_lot = LotChoice(label="Second herb lot", required=False)
    second_g = QuantityField(label="Of the second lot", units=DRY, required=False)
    menstruum_lot = LotChoice(label="Menstruum")
    menstruum = QuantityField(label="Menstruum poured", units=LIQUID)
    celsius = warmth()
    vessel = forms.ModelChoiceField(label="Vessel", queryset=Vessel.objects.none())
    reason = forms.CharField(label="Reason", max_length=300, required=False)
    in_pots = False

    def prepare(self) -> None:
        self._ask_why()
        herbs = stock.offers(*PLANTS)
        batch = self.stage.batch
        if batch.herb_id:
            herbs = [offer for offer in herbs if offer.lot.material_id == batch.herb_id] or herbs
        planned = [batch.plan.get("herb_lot"), *(pk for pk, _ in batch.plan.get("herbs", []))]
        herbs.sort(key=lambda offer: offer.lot.pk not in planned)
        self.fields["herb_lot"].offer(herbs)
        self.fields["second_lot"].offer(herbs)
        liquids = liquids_of(self, "menstruum_lot")
        own = lot_in_role(batch, BatchLot.Role.MENSTRUUM)
        if own is not None:
            liquids.insert(0, stock.Offer(own.lot, own.on_hand))
            self.fields["menstruum_lot"].initial = own.lot.pk
        self.fields["menstruum_lot"].offer(liquids)
        if "vessel" in self.fields:
            self.fields["vessel"].queryset = free_vessels(pots=self.in_pots)
        plan_to_charge(self, batch.plan, quick=batch.version is None)

    def _ask_why(self) -> None:
        """A reason is asked where the formula has a rule for the herb, or the liquid is off in strength."""
        rule = herb_rule(self.stage.batch)
        if "reason" not in self.fields:
            return
        if rule is not None:
            off = measures().shown(rule, "%", 1)
            self.fields["reason"].help_text = f"Only if the herb is more than {off} off the plan."
        elif not self._strength_is_off():
            del self.fields["reason"]

    def _strength_is_off(self) -> bool:
        """Whether the liquid that was sent, or would be by itself, is well off the planned strength."""
        if planned_abv(self.stage.batch) is None:
            return False
        sent = str(self.data.get(self.add_prefix("menstruum_lot"), ""))
        own = lot_in_role(self.stage.batch, BatchLot.Role.MENSTRUUM)
        if self.is_bound:
            lot = Lot.objects.select_related("material").filter(pk=sent).first() if _is_key(sent) else None
        else:
            lot = own.lot if own is not None else None
        return lot is not None and bool(asks_why_strength(self.stage.batch, lot))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if bool(data.get("second_lot")) != bool(data.get("second_g")):
            self.add_error("second_g", "Second herb lot: give both the lot and its weight, or neither.")
        return data

    def values(self) -> dict[str, Any]:
        data = super().values()
        herbs = [(data.pop("herb_lot"), data.pop("herb_g").base)]
        second, second_g = data.pop("second_lot"), data.pop("second_g")
        if second is not None:
            herbs.append((second, second_g.base))
        return {**data, "herbs": herbs}


class TopUpForm(StageForm):
    """More menstruum into a standing jar."""

    lot = LotChoice(label="Menstruum")
    amount = QuantityField(label="Poured in", units=LIQUID, low=0.1)
    celsius = warmth()

    def prepare(self) -> None:
        found = liquids_of(self, "lot", water_too=True)
        own = lot_in_role(self.stage.batch, BatchLot.Role.MENSTRUUM)
        if own is not None:
            found.insert(0, stock.Offer(own.lot, own.on_hand))
            self.fields["lot"].initial = own.lot.pk
        self.fields["lot"].offer(found)


class SampleForm(StageForm):
    """A sample out of the jar."""

    amount = QuantityField(label="Sample", units=LIQUID, low=0.1)
    reason = forms.CharField(label="What for", max_length=300, required=False)


class SpilledForm(StageForm):
    """Some of the jar is gone."""

    amount = QuantityField(label="Lost", units=LIQUID, low=0.1)
    reason = forms.CharField(label="How it happened", max_length=300)


class WholeJarForm(StageForm):
    """The whole jar is gone."""

    reason = forms.CharField(
        label="How it happened",
        max_length=300,
        help_text="All that is in the jar is written off, and the batch ends. It can be undone.",
    )


class NoteForm(StageForm):
    """Something seen."""

    words = forms.CharField(label="Note", widget=forms.Textarea(attrs={"rows": 3}), required=False)
    photo = forms.ImageField(label="Picture", required=False)


class MoreDaysForm(StageForm):
    """The press window moves."""

    days = CountField(label="How many more", unit="days", min_value=1, max_value=365)
    reason = forms.CharField(label="Why", max_length=300)


class SplitForm(StageForm):
    """Part of the jar into a second vessel."""

    vessel = forms.ModelChoiceField(label="Second vessel", queryset=Vessel.objects.none())
    percent = CountField(label="Share that goes there", unit="%", min_value=1, max_value=99)

    def prepare(self) -> None:
        self.fields["vessel"].queryset = free_vessels()


class JoinForm(StageForm):
    """Another jar of the same goods."""

    other = forms.ModelChoiceField(label="The jar that is poured in", queryset=Stage.objects.none())

    def prepare(self) -> None:
        mine = self.stage.batch
        self.fields["other"].queryset = (
            Stage.objects.filter(kind="macerate", state=Stage.State.OPEN, batch__herb=mine.herb)
            .exclude(batch=mine)
            .select_related("batch")
        )
        self.fields["other"].label_from_instance = lambda stage: str(stage.batch)


class PressNowForm(StageForm):
    """To the press, early or in time."""

    reason = forms.CharField(
        label="Why early", max_length=300, required=False, help_text="Only before the press window opens."
    )


class PourForm(WeighedForm):
    """One pour off the cloth."""

    amount = QuantityField(label="Poured off", units=LIQUID, low=0.1)
    celsius = warmth()

    def prepare(self) -> None:
        jar = jar_of(self.stage.batch) if self.is_bound else None
        if jar is not None:
            grams = from_volume(jar.liquid_ml, jar.abv, density=jar.density).g
            self.expect("amount", ml=jar.liquid_ml, g=grams, short=False, what="that went into the jar")


class RinseForm(WeighedForm):
    """Cold water on the pressed marc, pressed again."""

    weighed = "off"
    water = QuantityField(label="Cold water poured on", units=LIQUID, low=0.1)
    off = QuantityField(label="Pressed off again", units=LIQUID, low=0.1)
    celsius = warmth()
    apart = forms.BooleanField(
        label="Keep it apart", required=False, help_text="Left empty, the rinse joins the tincture."
    )

    field_order = ("once_key", "water", "off", "weighed_in", "celsius", "apart")

    def prepare(self) -> None:
        held = marc_holds(self.stage)
        if held:
            shown = measures().shown(held, "mL", 0)
            self.fields[
                "water"
            ].help_text = f"The marc holds {shown}: as much water about halves its ethanol."


class AgainForm(TopUpForm):
    """A second menstruum on the pressed marc."""

    def prepare(self) -> None:
        super().prepare()
        self.fields["amount"].label = "Poured on"
        held = marc_holds(self.stage)
        if held:
            self.fields["amount"].help_text = f"The marc holds {measures().shown(held, 'mL', 0)} already."


class AgainOffForm(WeighedForm):
    """What was pressed off it."""

    weighed = "off"
    off = QuantityField(label="Pressed off again", units=LIQUID, low=0.1)
    celsius = warmth()
    apart = forms.BooleanField(
        label="Keep it apart", required=False, help_text="Left empty, it joins the tincture."
    )

    field_order = ("once_key", "off", "weighed_in", "celsius", "apart")


class PressedForm(LimitedForm):
    """The end of a pressing."""

    limit = "press_yield"

    marc = QuantityField(
        label="Wet marc on the scale",
        units=DRY,
        required=False,
        help_text="Without its vessel. Left empty, it is taken as what is left by mass.",
    )
    vessel = VesselChoice(
        label="The tincture stands in", required=False, help_text="Left empty: in no vessel with a tag."
    )

    def prepare(self) -> None:
        self.fields["vessel"].offer(self.stage)  # type: ignore[attr-defined]
