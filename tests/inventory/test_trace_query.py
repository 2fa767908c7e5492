"""The trace read from the real ledger. Sums by hand: conservation of mass, parts by mass."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from inventory.actions.take_back import take_back
from inventory.calc import trace
from inventory.ledger import Line, loss, reverse
from inventory.models import Lot
from inventory.queries.trace import Traced, find_lots, the_trace
from tests.builders_trace import a_customer, a_dispatch, a_double_extraction, act, later

pytestmark = pytest.mark.django_db
D = Decimal
ONE = Decimal(1)
CLOSE = D("0.00001")


def traced(lot: Lot) -> Traced:
    return the_trace(Lot.objects.select_related("material").get(pk=lot.pk))


def test_the_herb_is_followed_into_the_bottles_and_to_the_customer() -> None:
    flow = a_double_extraction()
    a_dispatch(flow)
    told = traced(flow["turkey"])
    assert told.onward.into[flow["jar"].pk] == D("180")
    assert abs(told.onward.into[flow["tincture"].pk] - D("136.8")) < CLOSE  # 180 x 760/1000
    assert abs(told.onward.into[flow["marc"].pk] - D("39.6")) < CLOSE  # 180 x 220/1000
    decocted = D("39.6") * 1500 / 2720
    assert abs(told.onward.into[flow["decoction"].pk] - decocted) < CLOSE
    bulk = (D("136.8") + decocted * 1400 / 1500) * 2150 / 2160
    assert abs(told.onward.into[flow["bulk"].pk] - bulk) < CLOSE
    assert abs(told.onward.into[flow["filled"].pk] - bulk * 1920 / 2150) < CLOSE
    (holder,) = told.holders
    assert (holder.customer.name, holder.lot, holder.has) == ("Fern & Fallow", flow["filled"], D("12"))


def test_a_clean_story_is_accounted_for_to_the_last_gram() -> None:
    flow = a_double_extraction()
    a_dispatch(flow)
    for name in ("turkey", "reishi", "spirit", "bottles", "jar", "bulk", "filled"):
        sums = traced(flow[name]).account
        assert sums.unexplained == 0, name
        assert sums.accounted == sums.brought_in, name
        assert trace.accounted_figure(sums, unit="g").value == 100.0


def test_twenty_grams_unlogged_at_the_press_are_not_accounted_for() -> None:
    flow = a_double_extraction(unlogged=D("20"))
    jar = traced(flow["jar"]).account
    assert abs(jar.unexplained - D("20")) < CLOSE and jar.brought_in == D("1000")
    assert trace.accounted_figure(jar, unit="g").value == 98.0
    herb = traced(flow["turkey"]).account
    assert abs(herb.unexplained - D("3.6")) < CLOSE  # 20 g x 180/1000
    assert trace.accounted_figure(herb, unit="g").value == 99.2  # 496.4 / 500 = 99.28, rounded down


def test_a_count_that_finds_less_is_not_accounted_for() -> None:
    flow = a_double_extraction()
    act(flow, "counted", turkey="-20")
    sums = traced(flow["turkey"]).account
    assert sums.unexplained == D("20") and trace.accounted_figure(sums, unit="g").value == 96.0


def test_the_bottles_are_followed_back_to_what_went_in() -> None:
    flow = a_double_extraction()
    told = traced(flow["filled"])
    assert told.back.gained_g == D("1920")
    assert told.back.into[flow["bottles"].pk] == 40
    for name in ("turkey", "reishi", "spirit", "water", "jar", "tincture", "marc", "decoction", "bulk"):
        into = traced(flow[name]).onward.into[flow["filled"].pk]
        assert abs(told.back.into[flow[name].pk] - into) < CLOSE, name
    raw = sum(told.back.into_g[flow[name].pk] for name in ("turkey", "reishi", "spirit", "water"))
    assert abs(raw - D("1920")) < CLOSE


def test_amounts_agree_with_a_sum_over_every_path_of_the_rows() -> None:
    flow = a_double_extraction()
    rows = rows_by_posting()
    for name in ("turkey", "reishi", "spirit"):
        told = traced(flow[name])
        for target in ("tincture", "decoction", "bulk", "filled"):
            by_path = every_path(rows, flow[name].pk, flow[target].pk)
            assert abs(told.onward.into[flow[target].pk] - by_path) < CLOSE


def rows_by_posting() -> list[list[tuple[Any, ...]]]:
    from inventory.models.postings import Movement

    found: dict[int, list[tuple[Any, ...]]] = {}
    for row in Movement.objects.filter(posting__balanced=True).order_by("posting__seq"):
        found.setdefault(row.posting_id, []).append((row.lot_id, row.amount, row.mass_g))
    return list(found.values())


def every_path(rows: list[list[tuple[Any, ...]]], lot: int, target: int, part: Decimal = ONE) -> Decimal:
    """Along every chain of postings, the product of (part taken) and (part given); from the rows alone."""
    if lot == target:
        return part
    reached = D(0)
    for lines in rows:
        taken = -sum(amount for one, amount, _ in lines if one == lot and amount < 0)
        made = sum(mass for _, _, mass in lines if mass > 0)
        if taken > 0:
            whole = sum(a for other in rows for one, a, _ in other if one == lot and a > 0)
            share = part * taken / whole if whole else part * taken  # a bought lot: begin with grams
            reached += sum(
                every_path(rows, one, target, share * mass / made)
                for one, amount, mass in lines
                if one is not None and amount > 0
            )
    return reached


def test_what_was_undone_is_not_in_the_trace() -> None:
    flow = a_double_extraction()
    spilled = act(flow, "spilled", [loss("spilled", D("50"))], turkey="-50")
    assert dict(traced(flow["turkey"]).account.losses)["spilled"] == D("50")
    reverse(posting=spilled, by=flow.maker, at=later(12), reason="wrong bag", key="undo:1")
    sums = traced(flow["turkey"]).account
    assert (
        "spilled" not in dict(sums.losses) and sums.on_hand + sums.accounted - sums.on_hand == sums.brought_in
    )


def test_a_batch_undone_leaves_no_trace_of_itself() -> None:
    flow = a_double_extraction()
    posting = act(flow, "topped_up", spirit="-100", bulk="100")
    assert traced(flow["spirit"]).onward.flows[flow["spirit"].pk, flow["bulk"].pk] == D("100")
    reverse(posting=posting, by=flow.maker, at=later(12), reason="wrong jar", key="undo:2")
    assert (flow["spirit"].pk, flow["bulk"].pk) not in traced(flow["spirit"]).onward.flows


def test_a_return_lessens_what_the_customer_has() -> None:
    flow = a_double_extraction()
    sent = a_dispatch(flow)
    take_back(
        dispatch=sent,
        amounts={flow["filled"]: D(5)},
        place=flow.places["shelf"],
        reason="caps loose",
        by=flow.maker,
        at=later(20),
        key="back:1",
    )
    told = traced(flow["turkey"])
    (holder,) = told.holders
    assert (holder.sent, holder.back, holder.has) == (D(12), D(5), D(7))
    bottles = traced(flow["filled"]).account
    assert (bottles.dispatched, bottles.on_hand, bottles.reserve) == (D(7), D(31), D(2))
    assert bottles.accounted == bottles.brought_in == 40


def test_reserve_samples_are_told_apart() -> None:
    flow = a_double_extraction()
    sums = traced(flow["filled"]).account
    assert (sums.reserve, sums.on_hand) == (D(2), D(38))


def test_a_basket_of_lots_moved_together_is_no_lineage() -> None:
    flow = a_double_extraction()
    shelf, shop = flow.places["shelf"], flow.places["shop"]
    lines = [
        Line(D(sign) * amount, flow[name], place)
        for name, amount in (("turkey", D(10)), ("reishi", D(5)))
        for sign, place in ((-1, shelf), (1, shop))
    ]
    act(flow, "moved", lines)
    assert flow["reishi"].pk not in traced(flow["turkey"]).onward.into


def test_what_stands_where_is_told_by_place() -> None:
    flow = a_double_extraction()
    told = traced(flow["turkey"])
    at = {(row.lot, told.places[row.place].name): row.amount for row in told.here}
    assert at[flow["turkey"].pk, "Herb shelf"] == D("320")
    assert at[flow["filled"].pk, "Shop shelf"] == D("38")
    assert at[flow["filled"].pk, "Reserve box"] == D("2")


def test_the_number_of_queries_does_not_grow(django_assert_max_num_queries: Any) -> None:
    flow = a_double_extraction()
    a_dispatch(flow, units=3)
    for number in range(6):
        a_dispatch(flow, units=2, to=a_customer(f"Customer {number}"), key=f"more:{number}")
    with django_assert_max_num_queries(7):
        told = the_trace(flow["turkey"])
        assert len(told.holders) == 7 and told.account.brought_in == D("500")


def test_lots_are_found_by_code_goods_and_latin_name() -> None:
    flow = a_double_extraction()
    assert find_lots(flow["turkey"].code)[0] == flow["turkey"]
    assert flow["turkey"] in find_lots("versicolor") and flow["turkey"] not in find_lots("reishi")
    assert find_lots("turkey %' nothing") == []
