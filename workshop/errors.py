"""What the house says when it will not do a thing, and what it can do instead."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Offer:
    """The way out of a refusal: why in `words`, what the button says, and the page it opens.

    `page` is the name of an address, with its `args`; `query` fills the form that stands there.
    """

    words: str
    act: str
    page: str
    args: tuple[str, ...] = ()
    query: Mapping[str, str] = field(default_factory=dict)


class Refused(Exception):
    """An act that may not happen, with the sentence the person reads: what, why, what can be done.

    `field` names the form field that the sentence belongs to, when one does. `offer` is the way out,
    when a page of ours is one.
    """

    def __init__(self, sentence: str, *, field: str | None = None, offer: Offer | None = None) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field
        self.offer = offer
