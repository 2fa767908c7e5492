"""What the house says when it will not do a thing."""

from __future__ import annotations


class Refused(Exception):
    """An act that may not happen, with the sentence the person reads: what, why, what can be done.

    `field` names the form field that the sentence belongs to, when one does.
    """

    def __init__(self, sentence: str, *, field: str | None = None) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field
