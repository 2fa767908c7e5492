"""Messages through any mail or push service that the Apprise library speaks with.

The person types the service's address; the library's own parser reads it. What would do something else than
carry a message to a person is refused: posting to any web address, using this machine's own files.
Only the worker sends. The library is loaded when it is first needed: it is large.
"""

from __future__ import annotations

import ipaddress
import re
import socket
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qsl, unquote, urlsplit

from workshop.errors import Refused

FIELD = "service_address"  # as in the form and among what is never kept half typed
LONGEST = 1000
SENDING_SECONDS = 20.0
# Kinds of address that carry no message to a person: any web address, this machine's own desktop and logs,
# and those that need a key file lying on this machine.
ANY_WEB = frozenset({"json", "jsons", "xml", "xmls", "form", "forms"})
THIS_MACHINE = frozenset(
    {"dbus", "qt", "kde", "glib", "gio", "gnome", "macosx", "windows", "syslog", "rsyslog", "blink1", "file"}
)
KEY_FILES = frozenset({"fcm", "vapid"})
# What may follow the "?": words for the message and who gets it. Some services take file names and further
# web addresses there (a template, a key file, a callback); those are not for typing.
FOLLOWING = (
    "to from cc bcc reply name user pass smtp mode port token key apikey secret auth priority "
    "sound topic topics channel channels group tags device devices region verify silent thread "
    "format image footer batch level badge id sid source sender ttl urgency host overflow"
)
MAY_FOLLOW = frozenset(FOLLOWING.split())


class NotDelivered(Exception):
    """The service did not take the message; the text is its own words, trimmed."""


@dataclass(frozen=True, slots=True)
class Service:
    """What an address leads to: the service's name, and the host where it is one's own choice."""

    name: str
    host: str


def read_address(typed: str) -> Service:
    """The service that an address leads to. Raises Refused in words; nothing is called."""
    address = typed.strip()
    _check_words(address)
    plugin = _plugin(address)
    if plugin is None or [] in (getattr(plugin, "targets", None), getattr(plugin, "topics", None)):
        raise Refused(
            "This cannot be read as a service's address, or its own parser finds a part missing. "
            "Write it as service://..., such as ntfys://ntfy.example.org/your-topic.",
            field=FIELD,
        )
    for host in _hosts(plugin):
        if _is_literally_ours(host):
            raise Refused(f"{host} is this machine itself. Use the service's own host name.", field=FIELD)
    return Service(
        str(plugin.service_name)[:60], str(plugin.host) if "host" in plugin.template_tokens else ""
    )


def send(*, address: str, title: str, body: str) -> None:
    """Hand a message to the service. Raises NotDelivered with the service's words, secrets blotted out."""
    import apprise

    plugin = _plugin(address)
    if plugin is None:
        raise NotDelivered("The address can no longer be read. Take the service away and add it again.")
    for host in _hosts(plugin):
        if leads_home(host):
            raise NotDelivered("The host name leads to this machine itself.")
    line, said = apprise.Apprise(asset=plugin.asset), []
    line.add(plugin)
    taken = line.notify(title=title, body=body, log_callback=lambda entry, _: said.append(entry.message))
    if not taken:
        raise NotDelivered(without_secrets(" ".join(said) or "The service did not take it.", address))


def leads_home(host: str) -> bool:
    """Whether a host name stands for this machine, or for none: asked of the resolver at sending."""
    try:
        found = socket.getaddrinfo(host, None, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        return False  # then it cannot be reached either, and the service says so
    return any(_is_ours(str(place[4][0])) for place in found)


def without_secrets(words: str, address: str) -> str:
    """The words without any part of the address but its scheme; at most 280 characters, on one line."""
    parts = {part for part in re.split(r"[/?&=@:#]+", f"{address}/{unquote(address)}") if len(part) > 3}
    scheme = address.partition(":")[0]
    for part in sorted(parts - {scheme}, key=len, reverse=True):
        words = words.replace(part, "…")
    return " ".join(words.split())[:280]


def _check_words(address: str) -> None:
    """What can be told from the text alone."""
    scheme = address.partition("://")[0].lower()
    if len(address) > LONGEST or any(ord(sign) < 33 for sign in address):
        raise Refused("An address is one line without spaces, at most 1,000 characters.", field=FIELD)
    if scheme in ANY_WEB:
        raise Refused(
            f"{scheme}:// posts to any web address. Only mail and push services are taken here.", field=FIELD
        )
    if scheme in THIS_MACHINE:
        raise Refused(f"{scheme}:// writes to this machine itself, which reaches nobody.", field=FIELD)
    if scheme in KEY_FILES:
        raise Refused(f"{scheme}:// needs a key file on this machine. Use another service.", field=FIELD)
    for name, _ in parse_qsl(urlsplit(address).query, keep_blank_values=True):
        if name.lower() not in MAY_FOLLOW:
            raise Refused(f"The part “{name[:20]}=” is not taken here. Leave it out.", field=FIELD)


def _plugin(address: str) -> Any:
    """The library's own reading of an address; None when it makes nothing of it."""
    import apprise

    asset = apprise.AppriseAsset(
        app_id="Colature",
        app_desc="Colature",
        app_url="",
        image_url_mask="",
        image_url_logo="",
        http_redirects=False,
        storage_mode="memory",
        allow_templates=False,
        secure_logging=True,
        service_timeout=SENDING_SECONDS,
    )
    return apprise.Apprise.instantiate(address, asset=asset)


def _hosts(plugin: Any) -> list[str]:
    """The host names in an address; not where the library keeps a token in their place."""
    own = [plugin.host] if "host" in plugin.template_tokens else []
    return [str(host) for host in (*own, getattr(plugin, "smtp_host", "")) if host]


def _is_literally_ours(host: str) -> bool:
    name = host.strip("[]").rstrip(".").lower()
    return name == "localhost" or name.endswith(".localhost") or _is_ours(name)


def _is_ours(number: str) -> bool:
    """Loopback, link-local (where clouds keep their secrets), unspecified, multicast: RFC 6890."""
    try:
        address = ipaddress.ip_address(number.partition("%")[0])
    except ValueError:
        return False
    address = getattr(address, "ipv4_mapped", None) or address
    return address.is_loopback or address.is_link_local or address.is_unspecified or address.is_multicast
