"""The fields a formula may ask for. Which of them one does is its preparation's word."""

from __future__ import annotations

from typing import Any

from django import forms

from batches.forms.numbers import NumberField, RatioField
from batches.models import FormulaVersion
from batches.stages.limits import BY_NAME, LIMITS
from inventory.models import Material
from workshop.fields import CountField, QuantityField
from workshop.web import ActForm

Kind = Material.Kind
COLD, WARM = "cold", "warm"
LIQUIDS = ("1", "2", "3", "4")


def goods(*kinds: str) -> Any:
    return Material.objects.filter(kind__in=kinds, archived=False)


def _choice(label: str, *kinds: str, **more: Any) -> forms.ModelChoiceField:
    return forms.ModelChoiceField(goods(*kinds), label=label, **({"empty_label": "Choose"} | more))


def _liquid(number: str) -> forms.ModelChoiceField:
    return _choice(f"Liquid {number}", Kind.BULK, Kind.VINEGAR, Kind.GLYCEROL, Kind.HONEY, Kind.OIL)


def _share(number: str) -> NumberField:
    return NumberField(said="%", label=f"Share of liquid {number}", low=0.1, high=99.9)


def _limit(name: str, words: str) -> NumberField:
    one = BY_NAME[name]
    return NumberField(
        said=one.unit, label=f"{one.title}, {words}", low=one.least, high=one.most, required=False
    )


def _heat_limit(title: str, words: str) -> QuantityField:
    return QuantityField(units=["°C", "°F"], label=f"{title}, {words}", low=20, high=120, required=False)


class RecipeFields(ActForm):
    """Every field there is. Volumes in mL at 20 °C, strengths in % vol at 20 °C once cleaned."""

    herb = _choice("Herb", Kind.HERB, Kind.FUNGUS)
    herb_state = forms.ChoiceField(
        label="The herb is",
        choices=FormulaVersion.HerbState.choices,
        widget=forms.RadioSelect,
        initial="dried",
    )
    spirit = _choice("Spirit", Kind.SPIRIT)
    menstruum = _choice(
        "Or a finished liquid, poured as it is",
        Kind.BULK,
        empty_label="None",
        help_text="A tincture on new herb, say. Spirit and strength are then left empty.",
    )
    glycerol = _choice("Glycerol", Kind.GLYCEROL)
    acid = _choice("Vinegar", Kind.VINEGAR)
    oil = _choice("Oil", Kind.OIL)
    ratio = RatioField(label="Menstruum", said="to a gram of herb", help_text="5, or 1:5.", low=0.1, high=100)
    ratio_basis = forms.ChoiceField(
        label="The ratio counts",
        choices=FormulaVersion.RatioBasis.choices,
        widget=forms.RadioSelect,
        initial=FormulaVersion.RatioBasis.BY_VOLUME,
        help_text="The pharmacopoeia counts parts by mass, most practitioners mL to a gram.",
    )
    menstruum_abv = QuantityField(
        units=["% vol"], label="Strength of the menstruum", low=1, high=100, initial="80"
    )
    glycerol_share = NumberField(said="% by volume", label="Glycerol in the menstruum", low=1, high=100)
    reduce_to = NumberField(
        said="of the water poured on", label="Reduced to", low=0.05, high=1, help_text="0.5 is a half."
    )
    sweetener = _choice("Sugar or honey", Kind.SUGAR, Kind.HONEY)
    sweetener_g = NumberField(said="g to 100 mL", label="Sugar or honey to the liquid", low=1, high=600)
    target_abv = QuantityField(units=["% vol"], label="Strength in the bottle", low=1, high=100)
    liquid_1, share_1 = _liquid("1"), _share("1")
    liquid_2, share_2 = _liquid("2"), _share("2")
    liquid_3, share_3 = _liquid("3"), _share("3")
    liquid_4, share_4 = _liquid("4"), _share("4")
    warm = forms.ChoiceField(
        label="It stands",
        choices=[(COLD, "Cold, for weeks"), (WARM, "Warm, for hours")],
        widget=forms.RadioSelect,
        initial=COLD,
    )
    bottle = _choice("Bottle", Kind.BOTTLE)
    closure = _choice("Closure or dropper", Kind.CLOSURE, empty_label="None")
    fill_ml = QuantityField(
        units=["mL", "fl oz", "L"], label="In each bottle", low=1, high=20000, initial="50"
    )

    min_days = CountField(unit="days", label="Press opens after", min_value=1, max_value=730, initial=14)
    target_days = CountField(unit="days", label="Press wanted on day", min_value=1, max_value=730, initial=28)
    max_days = CountField(
        unit="days", label="Press closes after", min_value=1, max_value=730, required=False, initial=42
    )
    shake_daily_days = CountField(unit="days", label="Shaken every day for", max_value=730, initial=7)
    shake_every_days = CountField(
        unit="days", label="Then every", max_value=365, initial=2, help_text="0 turns shaking off."
    )
    squeezes = CountField(label="Squeezes", min_value=1, max_value=9, initial=2)
    retention = NumberField(
        said="mL per g dry",
        label="Held back by the marc",
        low=0,
        high=20,
        initial="1",
        help_text="0.8 to 1.5 when wrung by hand, 0.2 to 0.6 from a screw press: common practice, no source.",
    )
    again_days = CountField(
        unit="days", label="A second menstruum stands", min_value=1, max_value=365, initial=7
    )
    filtered = forms.BooleanField(label="Filtered after the press", required=False)

    minutes = CountField(unit="min", label="Draws for", min_value=5, max_value=1440, initial=15)
    oil_hours = NumberField(said="h", label="Warm for", low=0.25, high=240, initial="4")
    oil_low_c = QuantityField(units=["°C", "°F"], label="Oil, from", low=20, high=100, initial="38")
    oil_high_c = QuantityField(units=["°C", "°F"], label="Oil, up to", low=20, high=100, initial="60")

    low_c = QuantityField(units=["°C", "°F"], label="Pot, from", low=30, high=100, initial="71")
    high_c = QuantityField(units=["°C", "°F"], label="Pot, up to", low=30, high=100, initial="82")
    pot_hours = NumberField(said="h", label="On the heat", low=0.25, high=72, initial="4")
    watch_minutes = CountField(unit="min", label="Look at the pot every", max_value=1440, initial=30)
    pot_loss = QuantityField(
        units=["mL", "fl oz"], label="Water lost in an hour", low=1, high=20000, initial="250"
    )
    spent = NumberField(said="mL per g dry", label="Held by the spent marc", low=0, high=20, initial="1.5")

    settle_days = CountField(unit="days", label="Settles for", max_value=365, initial=3)
    settle_loss = NumberField(said="%", label="Stays with the sludge", low=0, high=49, initial="2")
    bottle_loss = NumberField(said="%", label="Lost in bottling", low=0, high=49, initial="1")

    herb_off = NumberField(
        said="%",
        label="Herb off the plan: ask why from",
        low=0.1,
        high=100,
        required=False,
        help_text="Whoever charges a jar with more or less than this off the planned herb gives a reason.",
    )

    abv_off = NumberField(
        said="% vol",
        label="Menstruum off the plan: ask why from",
        low=0.1,
        high=100,
        required=False,
        help_text="Whoever charges a jar with spirit more than this off its strength gives a reason. 5 % vol "
        "when left empty.",
    )

    pot_c_low, pot_c_high = _heat_limit("Pot read", "not under"), _heat_limit("Pot read", "not over")
    oil_c_low, oil_c_high = _heat_limit("Oil read", "not under"), _heat_limit("Oil read", "not over")
    press_day_low, press_day_high = _limit("press_day", "not before"), _limit("press_day", "not after")
    press_yield_low, press_yield_high = _limit("press_yield", "at least"), _limit("press_yield", "at most")
    reduced_low, reduced_high = _limit("reduced", "at least"), _limit("reduced", "at most")
    strength_low, strength_high = _limit("strength", "at least"), _limit("strength", "at most")

    best_before_months = CountField(
        unit="months", label="Best before", min_value=1, max_value=600, initial=24
    )
    herb_basis = forms.ChoiceField(
        label="Herb per mL on the label",
        choices=FormulaVersion.HerbBasis.choices,
        widget=forms.RadioSelect,
        initial=FormulaVersion.HerbBasis.ALL,
    )
    dose_ml = QuantityField(units=["mL"], label="Dose, by your own note", low=0.05, high=500, required=False)
    dose_note = forms.CharField(
        label="Dose note",
        max_length=200,
        required=False,
        help_text="Your own words, printed as they stand. Doses belong to licensed practice.",
    )
    cautions = forms.CharField(label="Cautions on the label", widget=forms.Textarea, required=False)
    note = forms.CharField(label="What changes", max_length=300, required=False)


# form field -> (stage kind, setting)
STEPS = {
    "min_days": ("macerate", "min_days"),
    "target_days": ("macerate", "target_days"),
    "max_days": ("macerate", "max_days"),
    "shake_daily_days": ("macerate", "shake_daily_days"),
    "shake_every_days": ("macerate", "shake_every_days"),
    "squeezes": ("press", "squeezes"),
    "again_days": ("press", "again_days"),
    "minutes": ("infuse", "minutes"),
    "oil_hours": ("infuse", "oil_hours"),
    "oil_low_c": ("infuse", "oil_low_c"),
    "oil_high_c": ("infuse", "oil_high_c"),
    "low_c": ("decoct", "low_c"),
    "high_c": ("decoct", "high_c"),
    "pot_hours": ("decoct", "hours"),
    "watch_minutes": ("decoct", "watch_minutes"),
    "pot_loss": ("decoct", "loss_ml_per_h"),
    "spent": ("decoct", "spent_ml_per_g"),
    "reduce_to": ("reduce", "to_share"),
    "settle_days": ("settle", "days"),
    "settle_loss": ("settle", "loss_percent"),
    "bottle_loss": ("bottle", "loss_percent"),
}
LIMITED = {f"{one.name}_{end}": one for one in LIMITS for end in ("low", "high")}
LIMIT_FIELDS = " ".join(("herb_off", "abv_off", *LIMITED))
GROUPS = (
    ("Days and shaking", "min_days target_days max_days shake_daily_days shake_every_days"),
    ("Drawing", "minutes"),
    ("If it stands warm", "oil_hours oil_low_c oil_high_c"),
    ("Press", "squeezes retention again_days filtered"),
    ("Pot", "low_c high_c pot_hours watch_minutes pot_loss spent"),
    ("Settle and bottle", "settle_days settle_loss bottle_loss"),
    ("Limits: outside them a reason is asked", LIMIT_FIELDS),
    ("Label", "best_before_months herb_basis dose_ml dose_note cautions"),
)
MAY = {
    "max_days": "if there is a limit",
    "spirit": "to make it keep",
    "target_abv": "to make it keep",
}
IN_UNITS = {
    "fill_ml": "mL",
    "pot_loss": "mL",
    "low_c": "°C",
    "high_c": "°C",
    "oil_low_c": "°C",
    "oil_high_c": "°C",
}
