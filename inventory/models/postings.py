"""What happened to stock: postings, their movements, the balances, and the head of the chain.

Written by `inventory.ledger` alone. `related_name="+"` everywhere: no reverse accessor can create a row.
"""

from __future__ import annotations

from typing import Any, NoReturn

import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import Q


class AppendOnly(models.QuerySet[Any]):
    """Rows that stand: an update or a deletion is refused before the database refuses it too."""

    def update(self, **kwargs: Any) -> NoReturn:
        raise TypeError("The story is never rewritten; post a correction through inventory.ledger.")

    def delete(self) -> NoReturn:
        raise TypeError("The story is never rewritten; reverse the posting through inventory.ledger.")


STANDS = pgtrigger.Update | pgtrigger.Delete


class ChainHead(models.Model):
    """The last link. One row; locked last by every posting, so `seq` has no gaps and no forks."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    seq = models.BigIntegerField(default=0)
    hash = models.CharField(max_length=64, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(id=1), name="one_chain")]

    def __str__(self) -> str:
        return f"{self.seq} {self.hash[:12]}"


class Posting(models.Model):
    """One thing that happened to stock, once (`key`), by someone, at a time, with a caption people read."""

    seq = models.BigIntegerField(unique=True)
    key = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=20)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    zone = models.CharField(max_length=64)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    witness = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    device = models.CharField(max_length=60, blank=True)
    source_kind = models.CharField(max_length=20, blank=True)
    source_ref = models.CharField(max_length=40, blank=True)
    caption = models.CharField(max_length=300)
    reason = models.CharField(max_length=300, blank=True)
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )
    balanced = models.BooleanField(default=False, help_text="Masses must sum to zero (transformations).")
    prev_hash = models.CharField(max_length=64, blank=True)
    hash = models.CharField(max_length=64)

    objects = AppendOnly.as_manager()

    class Meta:
        ordering = ["seq"]
        indexes = [models.Index(fields=["source_kind", "source_ref"])]
        triggers = [pgtrigger.Protect(name="postings_stand", operation=STANDS)]

    def __str__(self) -> str:
        return f"{self.seq}: {self.caption}"


class Movement(models.Model):
    """One line of a posting. `amount` is signed: grams, or whole units of counted goods.

    `mass_g` is the signed mass of content: equal to `amount` for goods kept by mass, the content of the
    filled units for a bottled lot, zero for empty bottles and closures. A line without a lot is a named
    loss (or the unexplained rest); its mass balances a transformation.
    """

    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="+")
    line = models.PositiveSmallIntegerField()
    lot = models.ForeignKey("inventory.Lot", null=True, on_delete=models.PROTECT, related_name="+")
    place = models.ForeignKey("inventory.Place", null=True, on_delete=models.PROTECT, related_name="+")
    amount = models.DecimalField(max_digits=14, decimal_places=3)
    mass_g = models.DecimalField(max_digits=14, decimal_places=3)
    as_entered = models.JSONField(default=dict, blank=True)
    density_20 = models.FloatField(null=True)
    abv = models.FloatField(null=True)
    abv_u = models.FloatField(null=True)
    abv_basis = models.CharField(max_length=10, blank=True, default="")
    composition = models.JSONField(default=dict, blank=True)
    sets_strength = models.BooleanField(default=False)
    pure_ml = models.FloatField(null=True)
    loss_kind = models.CharField(max_length=16, blank=True, default="")

    objects = AppendOnly.as_manager()

    class Meta:
        ordering = ["posting", "line"]
        indexes = [models.Index(fields=["lot", "posting"]), models.Index(fields=["posting"])]
        constraints = [
            models.UniqueConstraint(fields=["posting", "line"], name="one_line_number_per_posting"),
            models.CheckConstraint(
                condition=Q(lot__isnull=False, place__isnull=False, loss_kind="")
                | (Q(lot__isnull=True) & ~Q(loss_kind="")),
                name="movement_is_a_lot_at_a_place_or_a_named_loss",
            ),
        ]
        triggers = [
            pgtrigger.Protect(name="movements_stand", operation=STANDS),
            pgtrigger.Trigger(
                name="masses_sum_to_zero",
                when=pgtrigger.After,
                operation=pgtrigger.Insert,
                timing=pgtrigger.Deferred,
                declare=[("rest", "numeric")],
                func="""
                    SELECT SUM(m.mass_g) INTO rest
                    FROM inventory_movement m JOIN inventory_posting p ON p.id = m.posting_id
                    WHERE m.posting_id = NEW.posting_id AND p.balanced;
                    IF rest IS NOT NULL AND rest <> 0 THEN
                        RAISE EXCEPTION 'masses of posting % sum to % g, not to zero', NEW.posting_id, rest
                            USING ERRCODE = 'check_violation';
                    END IF;
                    RETURN NULL;
                """,
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount} of {self.lot_id or self.loss_kind}"


class Stock(models.Model):
    """How much of a lot is at a place. The sum of its movements; never below zero."""

    lot = models.ForeignKey("inventory.Lot", on_delete=models.PROTECT, related_name="+")
    place = models.ForeignKey("inventory.Place", on_delete=models.PROTECT, related_name="+")
    on_hand = models.DecimalField(max_digits=14, decimal_places=3, default=0)

    class Meta:
        ordering = ["lot", "place"]
        constraints = [
            models.UniqueConstraint(fields=["lot", "place"], name="one_stock_row_per_lot_and_place"),
            models.CheckConstraint(
                condition=Q(on_hand__gte=0),
                name="stock_is_never_negative",
                violation_error_message="There is not that much of this lot at this place.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot_id} at {self.place_id}: {self.on_hand}"
