"""Saving a row that people typed: what the model refuses becomes a sentence."""

from __future__ import annotations

from typing import Any, TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import IntegrityError, models, transaction

from workshop.errors import Refused

Row = TypeVar("Row", bound=models.Model)


def saved(row: Row) -> Row:
    """Validate and save. Raises `Refused` with the field and the sentence of the first thing wrong."""
    try:
        row.full_clean()
        with transaction.atomic():
            row.save()
    except ValidationError as wrong:
        field, sentences = next(iter(wrong.message_dict.items()))
        raise Refused(" ".join(sentences), field=None if field == NON_FIELD_ERRORS else field) from wrong
    except IntegrityError as twin:  # somebody saved the same in the meantime
        raise Refused("Somebody just saved the same. Look at the list before you go on.") from twin
    return row


def changed(row: Row, facts: dict[str, Any]) -> Row:
    """Set `facts` on `row` and save it."""
    for name, value in facts.items():
        setattr(row, name, value)
    return saved(row)
