"""The Reckoner's screens: what is typed stays, what cannot be read is named, what fits goes into a batch."""

from __future__ import annotations

import html
import re
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.calc.reckoner import CALCULATIONS, Calculation
from batches.calc.reckoner.base import Change
from batches.views.reckoner import _said
from tests import builders, builders_jar
from tests.screens import hostile
from tests.screens.test_workings import figures_of, number
from workshop.calc.rounding import tie
from workshop.models import Workshop

pytestmark = pytest.mark.django_db
NBSP = "\u00a0"
EVERY = [pytest.param(asked, id=asked.name) for asked in CALCULATIONS.values()]
WAYS = [
    pytest.param(asked, way, id=f"{asked.name} {way}".strip())
    for asked in CALCULATIONS.values()
    for way, _ in asked.ways or (("", ""),)
]


@pytest.fixture
def owner(client: Client, db: None) -> Client:
    builders.a_workshop()
    client.force_login(builders.an_owner())
    return client


def where(name: str, **typed: str) -> str:
    return f"{reverse('batches:reckon', args=[name])}?{urlencode(typed)}"


def read(client: Client, name: str, **typed: str) -> str:
    answer = client.get(where(name, **typed))
    assert answer.status_code == 200, answer.status_code
    return answer.content.decode()


def shown(page: str, name: str) -> float:
    return next(float(number(one.worked)) for one in figures_of(page) if one.name == name)


def test_the_index_says_what_each_answers(owner: Client) -> None:
    page = html.unescape(owner.get(reverse("batches:reckoner")).content.decode())
    for asked in CALCULATIONS.values():
        assert asked.title in page and tie(asked.answers) in page


def test_it_stands_in_the_office(owner: Client) -> None:
    assert f'href="{reverse("batches:reckoner")}"' in owner.get(reverse("batches:formulas")).content.decode()


@pytest.mark.parametrize(("asked", "way"), WAYS)
def test_each_opens_with_a_worked_example(owner: Client, asked: Calculation, way: str) -> None:
    page = read(owner, asked.name, **({"way": way} if way else {}))
    assert html.escape(tie(asked.words)) in page and "An example: type your own." in page
    assert figures_of(page)[0].formula


# name, what is typed, the figure, its published value, the tolerance. Sources beside each.
DRY = "bottles=40&fill=50&ratio=5&abv=60&stock=96&moisture=0&retention=0"
PUBLISHED = [
    # Dilution of 95 % vol at 20 °C: 100 volumes to 50 % vol take 95.76 of water (from OIML R 22).
    ("dilute", "volume=100&abv=95&target=50", "To add", 95.8, 0.051),
    # USP 29, Diluted Alcohol: equal volumes of alcohol (94.9 to 96 % vol) and water make about 970 mL.
    ("combine", "volume1=500&abv1=95&volume2=500&abv2=0", "Makes", 970.6, 1.0),
    # 27 CFR 30.66, example: 100 gallons of 191 proof to 188 proof; here 95.5 to 94 % vol, 1.89 by its table.
    ("dilute", "volume=100&abv=95.5&target=94", "To add", 1.9, 0.051),
    # BP 1988: 20 % ethanol takes 207 mL of 96 % (96.3 % vol) made up to 1000 mL.
    ("make-up", "volume=1000&target=20&abv=96.3", "Spirit", 207.7, 1.0),
    # OIML R 22, table VIIIb, glass: 68 read at 0 °C is 74.3 % vol (printed to one decimal).
    ("reading", "reading=68&celsius=0&made_of=glass", "True strength", 74.3, 0.06),
    # 27 CFR 30.32(b): 0.1 g in 100 mL hides 0.4 proof, 0.2 % vol, at 80 to 100 proof: 0.5 g hide 1.0.
    ("reading", "reading=44&celsius=20&made_of=glass&residue=5", "Hidden by the solids", 1.0, 0.15),
    # USP 29, Diluted Alcohol: equal volumes make 48.4 to 49.5 % vol, whether the water is poured or the
    # herb's: 90 % of 554 g fill 500 mL at 25 °C. Turned round, the alcohol of USP has 94.9 to 96.0 % vol.
    ("fresh", "herb=554&moisture=90&menstruum=500&abv=95", "Strength in the jar", 48.95, 0.55),
    (
        "fresh",
        "herb=554&moisture=90&menstruum=500&abv=95&target=48.94&stock=100",
        "Menstruum strength needed",
        95.4,
        0.6,
    ),
    # A ratio of 1:5 w/v is 5 mL to 1 g, and volume times strength is kept, by the definitions of both.
    ("backwards", f"{DRY}&target=", "Herb", 400, 0.51),
    ("backwards", f"{DRY}&target=", "Spirit", 1250, 0.51),
    # USP <565>, Licorice Fluidextract: 1 to 3 mL/min for 1000 g.
    (
        "percolation",
        "way=wanted&herb=1000&volume=5000&drops_per_ml=20&slow=1&fast=3",
        "Fastest drip",
        3.0,
        0.001,
    ),
    # NIST Handbook 44: 4 oz of herb with 20 US fl oz is 1:5.216 in mL to g.
    ("ratio", "herb=4 oz&menstruum=20 fl oz&basis=wv&abv=60", "1 g of herb to", 5.22, 0.0051),
    # Latent heat 2,257 kJ/kg (steam tables): 0.75 kW in the water boils 1,196 g/h: 1,196 mL in an hour.
    ("pot", "now=3196&target=2000&rate=1196", "Time to target", 1.0, 0.0051),
    # UNC pharmaceutics laboratory, Preserving Syrups: 500 g in a litre leaves 411 mL, wants 74 mL ethanol.
    ("keeping", "way=sweet&volume=1000&sugar=500&abv=0", "Pure ethanol needed", 74.0, 0.5),
    # USP 28, Syrup: 85 g in 100 mL, specific gravity 1.313: 64.7 % by weight.
    ("keeping", "way=syrup&sugar=850&water=463", "Sugar", 64.7, 0.06),
    # USP <1101>: a dropper's drops of water weigh 45 to 55 mg: 20 in a millilitre.
    ("dose", "way=drops&count=20&mass=0.998&abv=0&dose=2", "Drops in 1 mL", 20.0, 0.051),
    # WHO, AUDIT (2nd edition, 2001; from memory): 330 mL of beer of 5 % hold 330 * 0.05 * 0.79 = 13 g.
    ("dose", "way=dose&dose=330&abv=5&herb=0&fill=330&per_day=1", "Ethanol in a dose", 13000, 50),
    # Ph. Eur. counts parts by mass: 1:5 of a menstruum of 0.9091 g/mL (60 % vol, OIML R 22) is 550.0 mL.
    ("ratio", "herb=100&ratio=5&basis=mm&abv=60", "Menstruum", 550.0, 0.51),
    # Arithmetic of whole bottles: 2,135.9 mL fill 42 of 50 mL.
    ("fill", "volume=2135.9&abv=28&fill=50", "Bottles", 42, 0.1),
    # 27 CFR 30.11: proof is twice the % vol at 60 °F; OIML R 22 puts 40 % vol at 20 °C at 39.93 there.
    ("proof", "abv=40", "US proof", 79.86, 0.011),
]


@pytest.mark.parametrize(("name", "typed", "figure", "value", "off"), PUBLISHED)
def test_a_page_shows_the_published_value(
    owner: Client, name: str, typed: str, figure: str, value: float, off: float
) -> None:
    answer = owner.get(where(name) + typed)
    assert answer.status_code == 200, answer.context["form"].errors
    assert abs(shown(answer.content.decode(), figure) - value) <= off


@pytest.mark.parametrize("asked", EVERY)
def test_what_is_typed_stays_in_the_address_and_on_the_page(owner: Client, asked: Calculation) -> None:
    first = owner.get(where(asked.name)).context["form"]
    typed = {name: first.data[name] for name in first.fields} | {"way": first.way}
    again = owner.get(where(asked.name, **typed))
    assert not again.context["form"].is_example
    boxes = hostile.Typed(again.content.decode()).boxes
    for name, text in typed.items():
        assert text in boxes.get(name, [text])
    if first.asked.carry and again.context["use_url"]:
        assert all(f"{name}=" in again.context["use_url"] for name in first.fields)


@pytest.mark.parametrize(("asked", "way"), WAYS)
def test_nothing_hostile_breaks_it_and_every_refusal_names_its_field(
    owner: Client, asked: Calculation, way: str
) -> None:
    names = [one.name for one in asked.fields_for(way)]
    fits = {name: owner.get(where(asked.name, way=way)).context["form"].data.get(name, "") for name in names}
    for typed in hostile.rotations(names, every=1):
        _refused(owner, asked.name, {"way": way, **{k: v[:1500] for k, v in typed.items()}})
    for name in names:
        for text in (*hostile.NUMBERS, *hostile.TEXTS[4:12], ""):
            _refused(owner, asked.name, {"way": way, **fits, name: text})


def _refused(client: Client, name: str, typed: dict[str, str]) -> None:
    answer = client.get(where(name, **typed))
    form = answer.context["form"]
    assert answer.status_code == (422 if form.errors else 200), (typed, answer.status_code)
    page = answer.content.decode()
    if not form.errors:
        assert figures_of(page)
        return
    assert not figures_of(page), "a result stands beside what cannot be read"
    boxes = hostile.Typed(page).boxes
    for field, said in form.errors.items():
        assert said[0].rstrip()[-1] in ".?!”)", said
        if field in form.fields:
            assert said[0].casefold().startswith(str(form[field].label).casefold()), said
            if field in boxes:
                assert typed.get(field, "").strip() in [kept.strip() for kept in boxes[field]]


def test_a_target_above_the_liquid_wants_a_spirit(owner: Client) -> None:
    answer = owner.get(where("dilute", volume="1000", abv="30", target="40"))
    assert answer.status_code == 422 and "give the strength of a spirit" in answer.content.decode()


def test_an_impossible_fresh_jar_says_the_ratio_that_is(owner: Client) -> None:
    """100 g at 80 % with 200 mL of 95 % vol reaches 69.5 % at most: 75 % needs more menstruum."""
    answer = owner.get(where("fresh", herb="100", moisture="80", menstruum="200", abv="95", target="75"))
    said = answer.content.decode()
    least = re.search(r"Use a higher ratio, 1:(\d+\.\d+) or more", said)
    assert answer.status_code == 422 and least
    ml = str(float(least[1]) * 100 + 10)
    assert (
        owner.get(where("fresh", herb="100", moisture="80", menstruum=ml, abv="95", target="75")).status_code
        == 200
    )


def test_the_part_alone_is_sent_to_htmx_and_asks_the_database_no_more_than_the_frame(owner: Client) -> None:
    url = where("combine", volume1="760", abv1="78.7", abv2="0", target="28")
    owner.get(url, headers={"HX-Request": "true"})
    with CaptureQueriesContext(connection) as asked:
        answer = owner.get(url, headers={"HX-Request": "true"})
    assert "<html" not in answer.content.decode() and f"1,407{NBSP}mL" in answer.content.decode()
    assert len(asked) <= 3, [one["sql"] for one in asked]


def test_what_is_half_typed_is_said_and_is_no_refusal(owner: Client) -> None:
    answer = owner.get(where("dilute", volume="1,", abv="95", target="50"), headers={"HX-Request": "true"})
    said = answer.content.decode()
    assert answer.status_code == 200 and "At hand: write" in said and not figures_of(said)


def test_one_more_liquid_keeps_the_others(owner: Client) -> None:
    page = read(owner, "combine", volume1="760", abv1="78.7", volume2="1407", abv2="0", target="", more="1")
    boxes = hostile.Typed(page).boxes
    assert boxes["volume1"] == ["760"] and boxes["volume3"] == [""]


def test_the_workshops_own_floor_stands_in_the_example(owner: Client) -> None:
    Workshop.objects.update(strength_floor=25)
    assert hostile.Typed(read(owner, "keeping", way="spirit")).boxes["floor"] == ["25"]


def test_who_reads_us_units_types_them(owner: Client) -> None:
    """1 US fl oz = 29.5735 mL (NIST Handbook 44): 10 of 95 % vol to 50 % take 9.58 of water, 283.2 mL."""
    Workshop.objects.update(units="us")
    page = read(owner, "dilute", volume="10", abv="95", target="50")
    assert abs(shown(page, "To add") - 283.2) <= 0.51


def test_a_made_up_menstruum_goes_on_into_the_batch_that_waits_for_it(owner: Client) -> None:
    batch = builders_jar.a_batch()
    page = owner.get(reverse("batches:reckon-use", args=["make-up"]) + "?volume=900&target=80&abv=96")
    url = reverse("batches:act", args=[batch.number, 1, "make_up"])
    link = next(one for one in _links(page.content.decode()) if one.startswith(url))
    boxes = hostile.Typed(owner.get(link).content.decode()).boxes
    # 900 mL of 80 % vol hold as much ethanol as 750 mL of 96 % vol: volume times strength is kept.
    assert boxes["spirit"] == ["750 mL"] and boxes["water"][0].endswith(" mL")


def test_a_landing_goes_on_to_combine(owner: Client) -> None:
    batch = builders_jar.a_strained_batch(builders.NOON, "1500 mL", plan={"target_abv": 28.0})
    query = urlencode({"volume1": "760", "abv1": "78.69", "abv2": "0", "target": "28"})
    page = owner.get(reverse("batches:reckon-use", args=["combine"]) + f"?{query}")
    order = batch.stages.get(kind="combine").order
    url = reverse("batches:act", args=[batch.number, order, "combined"])
    link = next(one for one in _links(page.content.decode()) if one.startswith(url))
    boxes = hostile.Typed(owner.get(link).content.decode()).boxes
    assert boxes["tincture"] == ["760 mL"] and boxes["extract"] == ["1407.1 mL"]


def test_a_corrected_reading_goes_on_to_the_liquid_it_was_read_in(owner: Client) -> None:
    """OIML R 22 with soda-lime glass: 35 read at 27 °C is 32.15 % vol."""
    batch = builders_jar.a_pressed_batch()
    lot = batch.lots.get(role="tincture").lot
    page = owner.get(reverse("batches:reckon-use", args=["reading"]) + "?reading=35&celsius=27&made_of=glass")
    url = reverse("inventory:measure", args=[lot.code])
    link = next(one for one in _links(page.content.decode()) if one.startswith(url))
    assert hostile.Typed(owner.get(link).content.decode()).boxes["abv"] == ["32.15 % vol"]


def test_where_no_batch_fits_it_says_so(owner: Client) -> None:
    page = owner.get(reverse("batches:reckon-use", args=["pot"]) + "?now=4252&target=2000&rate=778")
    assert "No open batch stands where this fits." in page.content.decode()


def test_what_cannot_be_reckoned_leads_back_with_what_was_typed(owner: Client) -> None:
    answer = owner.get(reverse("batches:reckon-use", args=["make-up"]) + "?volume=900&target=99&abv=96")
    assert answer.status_code == 302 and "target=99" in answer["Location"]


def test_an_act_takes_only_its_own_numbers_from_the_address(owner: Client) -> None:
    batch = builders_jar.a_batch()
    url = reverse("batches:act", args=[batch.number, 1, "make_up"])
    page = owner.get(url + "?spirit=5 mL&once_key=stolen&spirit_lot=1&reason=x").content.decode()
    boxes = hostile.Typed(page).boxes
    assert boxes["spirit"] == ["5 mL"] and "stolen" not in page


def _links(page: str) -> list[str]:
    return [html.unescape(one) for one in re.findall(r'href="([^"]+)"', page)]


@pytest.mark.parametrize(
    ("difference", "said"), [(-1.0, "-1 bottle"), (1.0, "+1 bottle"), (-2.0, "-2 bottles")]
)
def test_one_bottle_more_or_less_is_one_bottle(difference: float, said: str) -> None:
    change = Change("1 mL more overfill", "Bottles", difference, "bottles", 0)
    assert _said(change)[2].replace("\u00a0", " ").replace("\u2212", "-") == said
