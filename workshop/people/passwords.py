"""Passwords: long rather than clever. Lengths and the common list after NIST SP 800-63B-4, section 3.1.1."""

from __future__ import annotations

import secrets
from typing import Any

from django.contrib.auth.hashers import Argon2PasswordHasher
from django.contrib.auth.password_validation import CommonPasswordValidator
from django.core.exceptions import ValidationError

SHORTEST, LONGEST = 15, 256
# Crockford's base 32: no I, L, O or U, so a code read aloud or copied by hand comes through.
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
MISREAD = str.maketrans("OIL", "011")
HELP = (
    f"{SHORTEST} characters or more. Four or five words that do not belong together do well; spaces count, "
    "and no digit or sign is asked for."
)


def spoken_code(groups: int = 4) -> str:
    """A random code in groups of four, 20 bits each: "K7QM-2F9D-XW3A-RT6H" holds 80."""
    return "-".join("".join(secrets.choice(ALPHABET) for _ in range(4)) for _ in range(groups))


def as_typed(code: str) -> str:
    """A code as people type it, in one spelling: capitals, no gaps, O read as 0, I and L as 1."""
    letters = "".join(sign for sign in code.upper() if sign.isalnum())
    return letters.translate(MISREAD)


class Hasher(Argon2PasswordHasher):
    """Argon2id above OWASP's least (19 MiB, 2 passes, 1 lane), yet small enough for eight at once."""

    time_cost = 3
    memory_cost = 32 * 1024
    parallelism = 1


class LongEnough:
    """At least fifteen characters: a password alone guards the account."""

    def validate(self, password: str, user: Any = None) -> None:
        if len(password) < SHORTEST:
            raise ValidationError(
                f"This password has {len(password)} characters; {SHORTEST} are the least. Add a word or two."
            )
        if len(password) > LONGEST:
            raise ValidationError(f"This password is longer than {LONGEST} characters. Shorten it.")

    def get_help_text(self) -> str:
        return HELP


class NotCommon(CommonPasswordValidator):
    """Not on the list of common ones, not one of them (or one short piece) written several times."""

    def validate(self, password: str, user: Any = None) -> None:
        plain = password.lower().replace(" ", "")
        if plain in self.passwords or _piece(plain) in self.passwords or len(_piece(plain)) < 5:
            raise ValidationError(
                "Too many people use this password, or one piece of it is repeated. Take other words."
            )

    def get_help_text(self) -> str:
        return HELP


class NotOurNames:
    """Not made of the names that anybody here knows."""

    def validate(self, password: str, user: Any = None) -> None:
        if len(password) < SHORTEST:
            return  # said already
        known = [getattr(user, "login", ""), getattr(user, "name", ""), "colature"]
        rest = password.lower()
        for name in known:
            for word in str(name).lower().split():
                rest = rest.replace(word, "")
        if sum(sign.isalnum() for sign in rest) < 6:
            raise ValidationError(
                "This password is hardly more than a name that people here know. Take other words."
            )

    def get_help_text(self) -> str:
        return HELP


def _piece(text: str) -> str:
    """The shortest piece that, repeated, makes the text: "abcabc" is "abc" twice."""
    return text[: (text + text).find(text, 1)] if text else text
