"""The workshop's own certificate authority, and the one certificate it signs (RFC 5280).

The authority can only sign for private addresses and names of a local network (name constraints, 4.2.1.10):
whoever stole its key could not use it against any other site that the tablet visits.
"""

from __future__ import annotations

import ipaddress
import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from workshop.lan.addresses import Reach

AUTHORITY_LASTS = timedelta(days=3650)
CERTIFICATE_LASTS = timedelta(days=397)  # browsers take 825 days at most from an authority of one's own
RENEW = timedelta(days=60)
EARLIER = timedelta(days=1)  # a tablet's clock may be behind
NETWORKS = (
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "169.254.0.0/16",
    "127.0.0.0/8",
    "fc00::/7",
    "fe80::/10",
    "::1/128",
)  # RFC 1918, 3927, 4193, 4291
LOCAL_NAMES = ("local", "lan", "home.arpa", "internal", "localhost")  # RFC 6762, 8375, 6761
Key = ec.EllipticCurvePrivateKey


@dataclass(frozen=True, slots=True)
class Papers:
    """The files that TLS needs, and what was made anew just now."""

    authority: Path
    certificate: Path
    key: Path
    new_authority: bool
    new_certificate: bool


def papers(folder: Path, reach: Reach, *, at: datetime, afresh: bool = False) -> Papers:
    """Authority and certificate under `folder` for these names, made or renewed where they must be.

    A new authority has to be trusted on every tablet anew; it is made when there is none, when `afresh`,
    when it ends before a certificate would, or when it may not sign for these names.
    """
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    folder.chmod(0o700)
    root, root_key = folder / "authority.crt", folder / "authority.key"
    new_authority = afresh or not _authority_serves(root, root_key, reach, at)
    if new_authority:
        _make_authority(root, root_key, reach, at)
    certificate, key = folder / "server.crt", folder / "server.key"
    new = new_authority or not _certificate_serves(certificate, key, root, reach, at)
    if new:
        _make_certificate(certificate, key, root, root_key, reach, at)
    return Papers(root, certificate, key, new_authority, new)


def read(path: Path) -> x509.Certificate:
    """The first certificate of a PEM file. Raises `ValueError` or `OSError` when there is none."""
    return x509.load_pem_x509_certificate(path.read_bytes())


def fingerprint(path: Path) -> str:
    """SHA-256 of a certificate, in groups to compare by eye."""
    digest = read(path).fingerprint(hashes.SHA256()).hex().upper()
    return " ".join(digest[at : at + 4] for at in range(0, len(digest), 4))


def _authority_serves(root: Path, key: Path, reach: Reach, at: datetime) -> bool:
    try:
        found, _ = read(root), _key(key)
    except (OSError, ValueError, TypeError):
        return False
    allowed = found.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    nets = [ipaddress.ip_network(one.value) for one in allowed if isinstance(one, x509.IPAddress)]
    names = [one.value for one in allowed if isinstance(one, x509.DNSName)]
    fits = all(any(ip in net for net in nets if ip.version == net.version) for ip in reach.addresses)
    named = all(any(name == one or name.endswith(f".{one}") for one in names) for name in reach.names)
    return fits and named and found.not_valid_after_utc > at + CERTIFICATE_LASTS


def _certificate_serves(path: Path, key: Path, root: Path, reach: Reach, at: datetime) -> bool:
    try:
        found, own = read(path), _key(key)
        found.verify_directly_issued_by(read(root))
    except Exception:  # whatever is wrong with it, a new one is made
        return False
    names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    same = set(names) == set(_names(reach)) and found.public_key() == own.public_key()
    return same and found.not_valid_before_utc <= at and found.not_valid_after_utc > at + RENEW


def _make_authority(path: Path, key_path: Path, reach: Reach, at: datetime) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    name = _name(f"Colature on {reach.names[0]}, {at:%Y-%m-%d}")
    paper = _begun(name, name, key.public_key(), at, AUTHORITY_LASTS)
    paper = paper.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    paper = paper.add_extension(_usage(signs_certificates=True), critical=True)
    paper = paper.add_extension(x509.NameConstraints(_permitted(reach), None), critical=True)
    paper = paper.add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    _write(key_path, _pem(key))
    _write(path, paper.sign(key, hashes.SHA256()).public_bytes(serialization.Encoding.PEM))


def _permitted(reach: Reach) -> list[x509.GeneralName]:
    nets = [ipaddress.ip_network(net) for net in NETWORKS]
    nets += [
        ipaddress.ip_network(ip)
        for ip in reach.addresses
        if not any(ip in net for net in nets if net.version == ip.version)
    ]
    names = dict.fromkeys((*LOCAL_NAMES, *reach.names))
    return [*map(x509.DNSName, names), *map(x509.IPAddress, nets)]


def _make_certificate(
    path: Path, key_path: Path, root: Path, root_key: Path, reach: Reach, at: datetime
) -> None:
    authority, signer, key = read(root), _key(root_key), ec.generate_private_key(ec.SECP256R1())
    paper = _begun(_name(reach.names[0]), authority.subject, key.public_key(), at, CERTIFICATE_LASTS)
    paper = paper.add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
    paper = paper.add_extension(_usage(signs_certificates=False), critical=True)
    paper = paper.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    paper = paper.add_extension(x509.SubjectAlternativeName(_names(reach)), critical=False)
    paper = paper.add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key())
    paper = paper.add_extension(issuer, critical=False)
    _write(key_path, _pem(key))
    _write(path, paper.sign(signer, hashes.SHA256()).public_bytes(serialization.Encoding.PEM))


def _begun(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePublicKey,
    at: datetime,
    lasts: timedelta,
) -> x509.CertificateBuilder:
    paper = x509.CertificateBuilder().subject_name(subject).issuer_name(issuer).public_key(key)
    paper = paper.serial_number(x509.random_serial_number())
    return paper.not_valid_before(at - EARLIER).not_valid_after(at - EARLIER + lasts)


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _names(reach: Reach) -> Sequence[x509.GeneralName]:
    loopback = ipaddress.ip_address("127.0.0.1")
    return [*map(x509.DNSName, reach.names), *map(x509.IPAddress, (*reach.addresses, loopback))]


def _name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:64])])


def _key(path: Path) -> Key:
    found = serialization.load_pem_private_key(path.read_bytes(), password=None)
    if not isinstance(found, ec.EllipticCurvePrivateKey):
        raise ValueError("not a key of ours")
    return found


def _pem(key: Key) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )


def _write(path: Path, content: bytes) -> None:
    """Whole, or not at all, and for its owner's eyes only."""
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    with open(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        file.write(content)
    draft.replace(path)
