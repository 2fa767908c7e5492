"""What was paid for a lot."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from inventory.forms.fields import MoneyField, paid_for
from inventory.models import Lot
from workshop.web import ActForm

CENT_PARTS = Decimal("0.0001")


class PriceForm(ActForm):
    """The price of a lot that is in already."""

    price = MoneyField()
    price_for = paid_for()

    def __init__(self, *args: Any, lot: Lot, money: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.lot = lot
        self.fields["price"].code = money  # type: ignore[attr-defined]
        one = "one piece" if lot.material.counted else "one kg"
        self.fields["price_for"].choices = [("all", "all that came in"), ("one", one)]  # type: ignore[attr-defined]

    def paid(self, came_in: Decimal) -> Decimal:
        """Money for all that came in (g or units)."""
        price: Decimal = self.cleaned_data["price"].base
        if self.cleaned_data["price_for"] != "one":
            return price
        each = Decimal(1) if self.lot.material.counted else Decimal(1000)
        return (price * came_in / each).quantize(CENT_PARTS)
