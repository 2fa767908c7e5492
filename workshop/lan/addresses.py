"""Under which names and addresses tablets in the same network reach this machine."""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Sequence
from dataclasses import dataclass

IP = ipaddress.IPv4Address | ipaddress.IPv6Address
# The kernel is asked which of our addresses it would use towards these (RFC 1918, 4193). Nothing is sent.
TOWARDS = ("192.168.255.254", "10.255.255.254", "172.31.255.254", "fd00::ffff")


@dataclass(frozen=True, slots=True)
class Reach:
    """The addresses, the one for the tablet first, and the names of this machine."""

    addresses: tuple[IP, ...]
    names: tuple[str, ...]

    @property
    def first(self) -> str:
        return bracketed(str(self.addresses[0]))

    def hosts(self) -> list[str]:
        """As they stand in an address: version 6 in brackets."""
        return [bracketed(str(address)) for address in self.addresses] + list(self.names)


def bracketed(host: str) -> str:
    """An address of version 6 stands in brackets before a port (RFC 3986, 3.2.2)."""
    return f"[{host}]" if ":" in host and not host.startswith("[") else host


def reach(given: Sequence[str] = ()) -> Reach:
    """How this machine is reached; `given` addresses instead of those found.

    Raises `ValueError` for what is no address. Without any address the machine is in no network.
    """
    found = [ipaddress.ip_address(text) for text in given] if given else own_addresses()
    host = socket.gethostname().lower()
    bare = host.partition(".")[0]
    names = dict.fromkeys(name for name in (bare, f"{bare}.local", host) if plain(name))
    return Reach(tuple(dict.fromkeys(found)), (*names, "localhost"))


def plain(name: str) -> bool:
    """True for a name that may stand in a certificate (RFC 1123, 2.1)."""
    parts = name.split(".")
    return all(
        part and len(part) <= 63 and part.replace("-", "a").isalnum() and part.isascii() for part in parts
    )


def own_addresses() -> list[IP]:
    """Private addresses of this machine, as the kernel would use them and as its own name gives them."""
    found: list[IP] = []
    for target in TOWARDS:
        family = socket.AF_INET6 if ":" in target else socket.AF_INET
        with socket.socket(family, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((target, 9))
            except OSError:
                continue
            found.append(ipaddress.ip_address(probe.getsockname()[0].partition("%")[0]))
    try:
        told = socket.getaddrinfo(socket.gethostname(), None)
    except OSError:
        told = []
    found += [ipaddress.ip_address(str(row[4][0]).partition("%")[0]) for row in told]
    return [
        one for one in dict.fromkeys(found) if one.is_private and not (one.is_loopback or one.is_link_local)
    ]
