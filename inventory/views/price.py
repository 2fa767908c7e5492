"""What was paid for a lot: the owner's page."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from inventory.actions.price import price_lot
from inventory.forms.price import PriceForm
from inventory.forms.receive import price_kept
from inventory.queries.costs import came_in, money
from inventory.views.common import form_page, the_lot
from workshop.people import rights
from workshop.web import act, door


@door(rights.OWN)
def price(request: HttpRequest, code: str) -> HttpResponse:
    lot = the_lot(code)
    form = PriceForm(request.POST or None, lot=lot, money=money())
    back = reverse("inventory:lot", args=[lot.code])

    def do(at: datetime) -> str:
        paid = form.paid(came_in(lot))
        kept = price_kept(form.cleaned_data)
        price_lot(lot=lot, paid=paid, as_entered=kept, by=request.user, at=at)  # type: ignore[arg-type]
        return back

    done = act(request, form, name=f"price {lot.code}", do=do, said="Noted.") if request.POST else None
    more = "Nothing is changed in what was noted before: the latest price counts."
    return done or form_page(
        request, form, opening="What was paid for it?", act="Paid", back=back, more=more, lot=lot
    )
