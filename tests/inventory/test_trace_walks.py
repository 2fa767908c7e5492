"""The pure walks, against an independent sum over every path, and against what may never break.

The check is conservation of mass and the definition of a proportional share, worked here with exact
fractions along each path; the walk itself sums decimals posting by posting.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.calc import trace
from inventory.calc.trace import Act, Move

D = Decimal
CLOSE = D("0.000001")


def act(seq: int, kind: str, *moves: Move, lineage: bool = True, party: int | None = None) -> Act:
    return Act(seq, kind, lineage, moves, party)


def take(lot: int, grams: str) -> Move:
    return Move(lot, -D(grams), -D(grams))


def give(lot: int, grams: str) -> Move:
    return Move(lot, D(grams), D(grams))


def lost(kind: str, grams: str) -> Move:
    return Move(None, D(grams), D(grams), kind)


def received(seq: int, lot: int, grams: str) -> Act:
    return act(seq, "received", give(lot, grams), lineage=False)


TWO_HERBS = [  # 1, 2 herbs; 3 spirit; 4 jar; 5 tincture; 6 marc; 7 combined
    received(1, 1, "500"),
    received(2, 2, "300"),
    received(3, 3, "2000"),
    act(4, "charged", take(1, "180"), take(2, "60"), take(3, "760"), give(4, "1000")),
    act(5, "pressed", take(4, "1000"), give(5, "700"), give(6, "250"), lost("transfer", "50")),
    act(6, "combined", take(5, "700"), take(6, "100"), give(7, "780"), lost("transfer", "20")),
]


def every_path(acts: list[Act], origin: int, target: int) -> Fraction:
    """Grams of `origin` given to `target`: over every chain of postings, the product of the shares.

    Holds where every lot is full before anything is taken from it. Written without the walk's own parts.
    """
    whole = {}
    for one in acts:
        for move in one.moves:
            if move.lot is not None and move.amount > 0:
                whole[move.lot] = whole.get(move.lot, Fraction(0)) + Fraction(move.amount)

    def ways(lot: int, grams: Fraction) -> Fraction:
        reached = Fraction(0)
        for one in acts:
            taken = sum(-Fraction(m.amount) for m in one.moves if m.lot == lot and m.amount < 0)
            made = sum(Fraction(m.mass_g) for m in one.moves if m.amount > 0 and m.mass_g > 0)
            if not one.lineage or not taken:
                continue
            for move in one.moves:
                if move.lot is not None and move.amount > 0:
                    share = grams * taken / whole[lot] * Fraction(move.mass_g) / made
                    reached += share + Fraction(0) if move.lot == target else ways(move.lot, share)
        return reached

    return ways(origin, whole[origin])


def test_forward_agrees_with_the_sum_over_every_path() -> None:
    found = trace.forward(TWO_HERBS, 1)
    for lot in (4, 5, 6, 7):
        assert abs(found.into[lot] - decimal_of(every_path(TWO_HERBS, 1, lot))) < CLOSE
    # by hand: 180 g charged, 0.7 and 0.25 of it pressed out, all of the tincture and 0.4 of the marc combined
    assert found.into[5] == D("126") and found.into[6] == D("45")
    assert abs(found.into[7] - (D("126") + D("18")) * D("780") / D("800")) < CLOSE


def test_backward_tells_the_same_amounts_as_forward_from_each_origin() -> None:
    back = trace.backward(TWO_HERBS, 7)
    assert back.gained_g == D("780")
    for lot in (1, 2, 3, 4, 5, 6):
        assert abs(back.into[lot] - trace.forward(TWO_HERBS, lot).into[7]) < CLOSE
    assert abs(back.into[1] + back.into[2] + back.into[3] - D("780")) < CLOSE


def test_a_clean_story_is_wholly_accounted_for() -> None:
    found = trace.forward(TWO_HERBS, 1)
    stock = [trace.Here(lot, 1, False, found.book[lot]) for lot in (1, 4, 5, 6, 7) if found.book[lot] > 0]
    here, missing = trace.spread(found, stock)
    sums = trace.account(found, here, missing)
    assert sums.accounted == sums.brought_in == D("500")
    assert trace.accounted_figure(sums, unit="g").value == 100.0


def test_an_unexplained_rest_is_not_accounted_for() -> None:
    acts = [*TWO_HERBS, act(7, "weighed", take(1, "20"), lost("unexplained", "20"))]
    found = trace.forward(acts, 1)
    stock = [trace.Here(lot, 1, False, found.book[lot]) for lot in (1, 6, 7)]
    here, missing = trace.spread(found, stock)
    sums = trace.account(found, here, missing)
    assert sums.unexplained == D("20") and sums.accounted == D("480")
    assert trace.accounted_figure(sums, unit="g").value == 96.0  # 480 / 500


def test_mass_that_no_line_explains_is_unexplained() -> None:
    acts = [received(1, 1, "100"), act(2, "prepared", take(1, "100"), give(2, "80"))]
    found = trace.forward(acts, 1)
    assert found.into[2] == D("80") and found.gone[1, "unexplained", None] == D("20")


def test_what_the_book_has_and_no_place_holds_is_unexplained() -> None:
    found = trace.forward([received(1, 1, "100")], 1)
    here, missing = trace.spread(found, [trace.Here(1, 1, False, D("70"))])
    assert missing == D("30") and here[0].of_origin == D("70")


def test_a_count_down_is_unexplained_and_a_count_up_is_brought_in() -> None:
    down = act(2, "counted", take(1, "8"), lineage=False)
    up = act(3, "counted", give(1, "3"), lineage=False)
    found = trace.forward([received(1, 1, "100"), down, up], 1)
    assert found.gone == {(1, "unexplained", None): D("8")} and found.brought_in == D("103")


def test_a_write_off_is_a_named_loss() -> None:
    found = trace.forward([received(1, 1, "100"), act(2, "written_off", take(1, "6"), lineage=False)], 1)
    assert found.gone == {(1, "written_off", None): D("6")}


def test_bottles_follow_the_filled_units_not_the_mass() -> None:
    filled = act(
        3,
        "bottled",
        take(1, "500"),
        Move(2, D(-10), D(0), counted=True),
        Move(3, D(10), D("480"), counted=True),
        lost("overfill", "20"),
    )
    bottles = act(2, "received", Move(2, D(12), D(0), counted=True), lineage=False)
    found = trace.forward([received(1, 1, "500"), bottles, filled], 2)
    assert found.into[3] == 10 and found.held == {2: 2, 3: 10}
    assert trace.backward([received(1, 1, "500"), bottles, filled], 3).into[2] == 10
    assert trace.forward([received(1, 1, "500"), bottles, filled], 1).into[3] == D("480")


def test_several_lots_moved_in_one_posting_do_not_become_each_other() -> None:
    moved = act(3, "moved", take(1, "5"), give(1, "5"), take(2, "7"), give(2, "7"), lineage=False)
    found = trace.forward([received(1, 1, "10"), received(2, 2, "10"), moved], 1)
    assert found.into == {} and found.held == {1: D("10")}


def test_what_comes_back_is_no_longer_away() -> None:
    sent = act(2, "dispatched", take(1, "40"), lineage=False, party=9)
    back = act(3, "returned", give(1, "10"), lineage=False, party=9)
    found = trace.forward([received(1, 1, "100"), sent, back], 1)
    assert found.gone == {(1, "dispatched", 9): D("30")} and found.held == {1: D("70")}
    assert found.brought_in == D("100")


def test_a_rest_poured_back_ends_and_keeps_the_sum() -> None:
    acts = [
        received(1, 1, "100"),
        received(2, 2, "100"),
        act(3, "joined", take(1, "100"), take(2, "100"), give(3, "200")),
        act(4, "split", take(3, "50"), give(1, "50")),
        act(5, "joined", take(1, "50"), give(3, "50")),
    ]
    found = trace.forward(acts, 2)
    assert found.held == {3: D("100")} and found.brought_in == D("100")
    assert trace.forward(acts, 1).held[3] == D("125")  # all that passes through lot 1 counts as lot 1


def test_tap_water_has_no_balance_and_brings_in_what_was_used() -> None:
    acts = [act(1, "simmered", take(1, "300"), give(2, "250"), lost("evaporated", "50"))]
    found = trace.forward(acts, 1, unmetered=frozenset({1}))
    assert found.brought_in == D("300") and found.held == {2: D("250")}


def decimal_of(exact: Fraction) -> Decimal:
    return D(exact.numerator) / D(exact.denominator)


@st.composite
def layered(draw: st.DrawFn) -> list[Act]:
    """A random net of lots, each full before anything is taken from it; masses sum to zero."""
    raw = draw(st.integers(1, 3))
    acts = [received(n, n, str(draw(st.integers(50, 500)))) for n in range(1, raw + 1)]
    left = {n: acts[n - 1].moves[0].amount for n in range(1, raw + 1)}
    for _ in range(draw(st.integers(1, 5))):
        sources = draw(st.lists(st.sampled_from(sorted(left)), min_size=1, max_size=3, unique=True))
        takes = [(lot, (left[lot] * draw(st.integers(1, 10)) / 10).quantize(D("0.001"))) for lot in sources]
        takes = [(lot, grams) for lot, grams in takes if grams > 0]
        whole = sum((grams for _, grams in takes), D(0))
        if whole < D("0.01"):
            continue
        named = (whole * draw(st.integers(0, 3)) / 10).quantize(D("0.001"))
        first = ((whole - named) * draw(st.integers(1, 9)) / 10).quantize(D("0.001"))
        new = max(left) + 1
        outs = {new: first, new + 1: whole - named - first}
        outs = {lot: grams for lot, grams in outs.items() if grams > 0}
        kind = draw(st.sampled_from(["evaporated", "unexplained", "sample", "spent"]))
        moves = [take(lot, str(grams)) for lot, grams in takes] + [
            give(lot, str(g)) for lot, g in outs.items()
        ]
        acts.append(act(len(acts) + 1, "combined", *moves, *([lost(kind, str(named))] if named else [])))
        for lot, grams in takes:
            left[lot] -= grams
        left |= outs
        left = {lot: grams for lot, grams in left.items() if grams > 0}
    return acts


@settings(max_examples=150, deadline=None)
@given(layered())
def test_leaves_losses_and_stock_sum_to_what_was_brought_in(acts: list[Act]) -> None:
    found = trace.forward(acts, 1)
    assert sum(found.held.values(), D(0)) + sum(found.gone.values(), D(0)) == found.brought_in
    assert all(amount >= 0 for amount in [*found.held.values(), *found.gone.values()])
    for lot, into in found.into.items():
        assert into <= found.gained_g[lot] + CLOSE


@settings(max_examples=80, deadline=None)
@given(layered())
def test_both_walks_agree_with_every_path(acts: list[Act]) -> None:
    found = trace.forward(acts, 1)
    for lot, into in found.into.items():
        assert abs(into - decimal_of(every_path(acts, 1, lot))) < CLOSE
        assert abs(trace.backward(acts, lot).into[1] - into) < CLOSE
