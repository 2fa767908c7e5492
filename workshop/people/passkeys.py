"""Passkeys: a key that a person's device keeps and unlocks by finger, face or its own code.

W3C Web Authentication, level 3: sections 7.1 (registering) and 7.2 (signing in), checked by the `webauthn`
library. A browser offers them only on a named host with TLS, or on this machine itself.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import webauthn
from django.db import transaction
from webauthn.helpers import base64url_to_bytes, bytes_to_base64url
from webauthn.helpers import structs as parts
from webauthn.helpers.exceptions import WebAuthnException

from workshop.errors import Refused
from workshop.people.models import Passkey, Person

MOST = 10  # of one person
NOT_MADE = "The passkey was not made: the device's answer does not fit this page. Try once more."
NOT_KNOWN = "This passkey opens nothing here. Take your name and password, and make a new one afterwards."


@dataclass(frozen=True, slots=True)
class Site:
    """Where the browser stands: its host without a port, and its origin with scheme and port."""

    host: str
    origin: str
    name: str


@dataclass(frozen=True, slots=True)
class Asked:
    """What the browser is handed, and the challenge that its answer must hold (base64url)."""

    options: dict[str, Any]
    challenge: str


def ask_to_make(*, person: Person, site: Site) -> Asked:
    """Options for a new passkey of this person, on a device that has none of theirs yet."""
    theirs = [
        parts.PublicKeyCredentialDescriptor(id=base64url_to_bytes(key.credential))
        for key in Passkey.objects.filter(person=person)
    ]
    wanted = parts.AuthenticatorSelectionCriteria(
        resident_key=parts.ResidentKeyRequirement.REQUIRED,
        user_verification=parts.UserVerificationRequirement.REQUIRED,
    )
    options = webauthn.generate_registration_options(
        rp_id=site.host,
        rp_name=site.name,
        user_id=f"person-{person.pk}".encode(),
        user_name=person.login,
        user_display_name=person.name,
        exclude_credentials=theirs,
        authenticator_selection=wanted,
    )
    return _asked(options)


def ask_to_come(*, site: Site) -> Asked:
    """Options for signing in. Names nobody: the key on the device says who it is."""
    verified = parts.UserVerificationRequirement.REQUIRED
    return _asked(webauthn.generate_authentication_options(rp_id=site.host, user_verification=verified))


@transaction.atomic
def make(
    *, person: Person, answer: str, challenge: str, site: Site, name: str, by: Person, at: datetime
) -> Passkey:
    """Keep the public half of the new key. Raises `Refused` when the answer does not fit the challenge."""
    if by.pk != person.pk:
        raise Refused("A passkey is made by the person whose it is.")
    if Passkey.objects.filter(person=person).count() >= MOST:
        raise Refused(f"{MOST} passkeys are enough for one person. Drop one first.")
    try:
        found = webauthn.verify_registration_response(
            credential=answer,
            expected_challenge=base64url_to_bytes(challenge),
            expected_rp_id=site.host,
            expected_origin=site.origin,
            require_user_verification=True,
        )
    except (WebAuthnException, ValueError, KeyError, TypeError) as wrong:
        raise Refused(NOT_MADE) from wrong
    return Passkey.objects.create(
        person=person,
        credential=bytes_to_base64url(found.credential_id),
        public_key=found.credential_public_key,
        sign_count=found.sign_count,
        name=name or "Passkey",
        made_at=at,
    )


@transaction.atomic
def whose(*, answer: str, challenge: str, site: Site, at: datetime) -> Person:
    """The person whose key signed the challenge. A copied key that counts backwards is refused too."""
    try:
        named = str(json.loads(answer)["id"])
        key = Passkey.objects.select_for_update(of=("self",)).select_related("person").get(credential=named)
        found = webauthn.verify_authentication_response(
            credential=answer,
            expected_challenge=base64url_to_bytes(challenge),
            expected_rp_id=site.host,
            expected_origin=site.origin,
            credential_public_key=bytes(key.public_key),
            credential_current_sign_count=key.sign_count,
            require_user_verification=True,
        )
    except (WebAuthnException, Passkey.DoesNotExist, ValueError, KeyError, TypeError) as wrong:
        raise Refused(NOT_KNOWN) from wrong
    if not key.person.is_active or key.person.initial_until is not None:
        raise Refused(NOT_KNOWN)
    key.sign_count, key.used_at = found.new_sign_count, at
    key.save(update_fields=["sign_count", "used_at"])
    return key.person


@transaction.atomic
def drop(*, passkey: Passkey, by: Person, at: datetime) -> None:
    """It opens nothing here any more; the device may keep its half."""
    if passkey.person_id != by.pk:
        raise Refused("A passkey is dropped by the person whose it is.")
    passkey.delete()


def _asked(options: Any) -> Asked:
    return Asked(json.loads(webauthn.options_to_json(options)), bytes_to_base64url(options.challenge))
