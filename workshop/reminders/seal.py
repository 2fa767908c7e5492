"""Sealed text: what must be used again by this program, and shown to nobody.

Fernet (AES-128-CBC with HMAC-SHA-256; the `cryptography` library) under a key of its own, derived from the
secret key by HKDF (RFC 5869). A new secret key opens what an old one sealed, as long as that is still given.
"""

from __future__ import annotations

import base64

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

from workshop.errors import Refused

PURPOSE = b"reminders: addresses of services"
LOST = (
    "The address of this service was sealed with a secret key that this program no longer has. "
    "Take the service away and add it again."
)


def seal(text: str) -> str:
    return _ring().encrypt(text.encode()).decode("ascii")


def unseal(sealed: str) -> str:
    """The text again. Raises Refused when no key at hand fits."""
    try:
        return _ring().decrypt(sealed.encode("ascii")).decode()
    except InvalidToken as error:
        raise Refused(LOST) from error


def _ring() -> MultiFernet:
    return MultiFernet([_fernet(key) for key in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)])


def _fernet(key: str) -> Fernet:
    derived = HKDF(algorithm=hashes.SHA256(), length=32, salt=None, info=PURPOSE).derive(key.encode())
    return Fernet(base64.urlsafe_b64encode(derived))
