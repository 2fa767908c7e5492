"""Lots leave and come back."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from inventory.actions.dispatch import NewCustomer, Take, dispatch_lots
from inventory.actions.take_back import take_back
from inventory.actions.undo import undo_postings
from inventory.ledger import reverse
from inventory.lotbook import decide
from inventory.models import Decision, Dispatch, Lot, Party
from inventory.models.postings import Movement, Posting
from inventory.queries.dispatch import offers, posting_of, undone, went_with
from inventory.queries.lots import at_place, status_of
from tests.builders_trace import Flow, a_customer, a_dispatch, a_double_extraction, later
from workshop.errors import Refused

pytestmark = pytest.mark.django_db
D = Decimal
TODAY = date(2026, 3, 2)


@pytest.fixture
def flow() -> Flow:
    return a_double_extraction()


def send(flow: Flow, name: str = "filled", units: int = 3, at: str = "shop", **more: object) -> Dispatch:
    facts = {"customer": a_customer(), "by": flow.maker, "at": later(9), "key": "sent:1"} | more
    return dispatch_lots(takes=[Take(flow[name], flow.places[at], D(units))], **facts)  # type: ignore[arg-type]


def bring_back(
    flow: Flow, sent: Dispatch, units: int, key: str = "back:1", reason: str = "caps loose"
) -> Dispatch:
    return take_back(
        dispatch=sent,
        amounts={flow["filled"]: D(units)},
        place=flow.places["shelf"],
        reason=reason,
        by=flow.maker,
        at=later(30),
        key=key,
    )


def test_bottles_leave_the_shelf_with_their_content_and_their_alcohol(flow: Flow) -> None:
    flow.lots["filled"] = Lot.objects.select_related("material").get(pk=flow["filled"].pk)
    sent = a_dispatch(flow)
    assert at_place(flow["filled"], flow.places["shop"]) == 26
    line = Movement.objects.get(posting=posting_of(sent))
    assert (line.amount, line.mass_g) == (D(-12), D(-576))  # 12 bottles of 1920 g / 40
    assert line.pure_ml == pytest.approx(-576 / 0.964 * 0.28)  # g / (g/mL) x % vol
    assert posting_of(sent).caption == f"Sold to Fern & Fallow: 12 of {flow['filled'].code}."  # type: ignore[union-attr]


def test_the_same_key_sends_once(flow: Flow) -> None:
    a_dispatch(flow)
    with pytest.raises(Refused, match="has 26 at Shop shelf"):
        a_dispatch(flow, units=30, key="another")
    assert Posting.objects.filter(kind="dispatched").count() == 1


@pytest.mark.parametrize("status", ["quarantine", "held", "rejected", "recalled"])
def test_only_a_released_lot_may_leave(flow: Flow, status: str) -> None:
    decide(lot=flow["filled"], status=status, by=flow.owner, at=later(9))
    said = Decision.Status(status).label.lower()
    with pytest.raises(Refused, match=f"is {said}, so it may not leave. The owner can look at it"):
        send(flow)
    assert not Dispatch.objects.exists()


def test_a_lot_in_process_may_not_leave(flow: Flow) -> None:
    with pytest.raises(Refused, match="is in process, so it may not leave"):
        send(flow, "decoction", 100, at="shelf")


def test_more_than_is_there_is_refused_and_nothing_is_written(flow: Flow) -> None:
    with pytest.raises(Refused, match="has 38 at Shop shelf, and 39 is wanted"):
        send(flow, units=39)
    assert not Dispatch.objects.exists() and at_place(flow["filled"], flow.places["shop"]) == 38


def test_a_lot_past_its_date_leaves_only_with_a_reason() -> None:
    flow = a_double_extraction(best_before=date(2026, 3, 1))
    with pytest.raises(Refused, match="was best before 1 Mar 2026. Take a fresher lot, or give a reason."):
        send(flow)
    sent = send(flow, reason="the customer knows and wants it")
    assert posting_of(sent).reason == "the customer knows and wants it"  # type: ignore[union-attr]


def test_an_empty_dispatch_is_refused(flow: Flow) -> None:
    with pytest.raises(Refused, match="Nothing is put in this dispatch yet"):
        send(flow, units=0)


def test_a_new_customer_is_written_down_with_the_dispatch(flow: Flow) -> None:
    send(flow, customer=NewCustomer("Marlow Tull", contact="Marlow", phone="01632 960 200"))
    party = Party.objects.get(name="Marlow Tull")
    assert party.is_customer and party.phone == "01632 960 200"
    with pytest.raises(Refused, match="Marlow Tull is already in the list of customers"):
        send(flow, customer=NewCustomer("Marlow Tull"), key="sent:2")


def test_bulk_liquid_leaves_by_the_gram(flow: Flow) -> None:
    sent = send(flow, "bulk", 150, at="shelf")
    line = Movement.objects.get(posting=posting_of(sent))
    assert (line.amount, line.mass_g) == (D(-150), D(-150))


def test_what_comes_back_is_held_for_the_owner(flow: Flow) -> None:
    sent = a_dispatch(flow)
    bring_back(flow, sent, 5)
    assert status_of(flow["filled"]) == Decision.Status.HELD
    last = Decision.objects.filter(lot=flow["filled"]).last()
    assert (
        last is not None
        and last.reason == f"5 of {flow['filled'].code} came back from Fern & Fallow: caps loose"
    )
    assert at_place(flow["filled"], flow.places["shelf"]) == 5
    (went,) = went_with(sent)
    assert (went.sent, went.back, went.left) == (D(12), D(5), D(7))
    with pytest.raises(Refused, match="is held, so it may not leave"):
        send(flow)


def test_a_recalled_lot_stays_recalled_when_bottles_come_back(flow: Flow) -> None:
    sent = a_dispatch(flow)
    decide(lot=flow["filled"], status="recalled", by=flow.owner, at=later(10))
    bring_back(flow, sent, 12, reason="recall")
    assert status_of(flow["filled"]) == Decision.Status.RECALLED


def test_no_more_comes_back_than_went_out(flow: Flow) -> None:
    sent = a_dispatch(flow)
    bring_back(flow, sent, 5)
    with pytest.raises(Refused, match="12 of lot .* went out with this dispatch and 5 came back, so 8"):
        bring_back(flow, sent, 8, key="back:2")
    bring_back(flow, sent, 7, key="back:3")
    masses = Movement.objects.filter(lot=flow["filled"], posting__kind__in=["dispatched", "returned"])
    assert sum(row.mass_g for row in masses) == 0


def test_a_return_needs_a_reason_and_something_in_it(flow: Flow) -> None:
    sent = a_dispatch(flow)
    with pytest.raises(Refused, match="Say why it came back"):
        bring_back(flow, sent, 1, reason=" ")
    with pytest.raises(Refused, match="Nothing is put in this return yet"):
        bring_back(flow, sent, 0)


def test_a_dispatch_is_undone_on_its_day_and_not_after_a_return(flow: Flow) -> None:
    sent = a_dispatch(flow)
    back = take_back(
        dispatch=sent,
        amounts={flow["filled"]: D(2)},
        place=flow.places["shelf"],
        reason="wrong order",
        by=flow.maker,
        at=later(10),
        key="back:1",
    )
    out = posting_of(sent)
    assert out is not None
    with pytest.raises(Refused, match="used by what came after it: Came back from Fern & Fallow"):
        reverse(posting=out, by=flow.maker, at=later(11), reason="not sent", key="undo:1")
    undo(flow, out, [posting_of(back), out])
    assert at_place(flow["filled"], flow.places["shop"]) == 38
    assert went_with(sent) == [] and undone([sent, back]) == {sent.pk, back.pk}


def undo(flow: Flow, posting: Posting, seen: list[Posting | None], hours: int = 11) -> None:
    undo_postings(
        posting=posting.pk,
        seen=[one.pk for one in seen if one],
        reason="the van never came",
        by=flow.maker,
        at=later(hours),
        key="undo",
    )


def test_a_dispatch_of_yesterday_is_not_undone(flow: Flow) -> None:
    out = posting_of(a_dispatch(flow))
    assert out is not None
    with pytest.raises(Refused, match="is of an earlier day. What has left comes back as a return."):
        undo(flow, out, [out], hours=40)


def test_released_lots_are_offered_first_expiring_first_and_reserves_are_not(flow: Flow) -> None:
    names = [(one.lot.pk, one.place.name) for one in offers(today=TODAY)]
    assert names == [(flow["filled"].pk, "Shop shelf"), (flow["bulk"].pk, "Herb shelf")]
    decide(lot=flow["filled"], status="held", by=flow.owner, at=later(9))
    assert [one.lot for one in offers(today=TODAY)] == [flow["bulk"]]
