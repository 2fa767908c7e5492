"""The workshop's own authority, judged by OpenSSL: RFC 5280 (path validation, name constraints 4.2.1.10),
RFC 9110 for the page, and 825 days as the longest a browser takes from an authority of one's own."""

from __future__ import annotations

import ipaddress
import ssl
import stat
import subprocess
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import urlopen

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from django.core.management import CommandError, call_command

from tests import builders
from workshop import doctor
from workshop.lan import authority, page
from workshop.lan.addresses import Reach, bracketed, plain, reach

AT = datetime.now(UTC)  # noqa: TID251 OpenSSL judges by its own clock
HERE = Reach((ipaddress.ip_address("192.168.7.20"), ipaddress.ip_address("fd00::20")), ("shed", "shed.local"))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> authority.Papers:
    return authority.papers(tmp_path_factory.mktemp("lan") / "lan", HERE, at=AT)


def verify(root: Path, certificate: Path, *more: str) -> str:
    command = ["openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", str(root), *more]
    done = subprocess.run([*command, str(certificate)], capture_output=True, text=True)
    return done.stdout + done.stderr


@pytest.mark.parametrize(
    "name",
    [
        ("-verify_ip", "192.168.7.20"),
        ("-verify_ip", "fd00::20"),
        ("-verify_ip", "127.0.0.1"),
        ("-verify_hostname", "shed.local"),
        ("-verify_hostname", "shed"),
    ],
)
def test_openssl_trusts_it_under_each_of_its_names(made: authority.Papers, name: tuple[str, str]) -> None:
    assert verify(made.authority, made.certificate, *name).strip().endswith(": OK")


def test_openssl_trusts_it_under_no_other(made: authority.Papers) -> None:
    assert "mismatch" in verify(made.authority, made.certificate, "-verify_ip", "192.168.7.21")
    assert "mismatch" in verify(made.authority, made.certificate, "-verify_hostname", "bank.example")


def test_its_key_is_worth_nothing_for_another_site(made: authority.Papers, tmp_path: Path) -> None:
    """A certificate signed with the stolen key for a name elsewhere: refused by the name constraints."""
    signer = serialization.load_pem_private_key((made.authority.with_suffix(".key")).read_bytes(), None)
    assert isinstance(signer, ec.EllipticCurvePrivateKey)
    root, own = authority.read(made.authority), ec.generate_private_key(ec.SECP256R1())
    for names in ([x509.DNSName("bank.example")], [x509.IPAddress(ipaddress.ip_address("203.0.113.9"))]):
        paper = x509.CertificateBuilder().subject_name(x509.Name([])).issuer_name(root.subject)
        paper = paper.public_key(own.public_key()).serial_number(7).not_valid_before(AT - timedelta(days=1))
        paper = paper.not_valid_after(AT + timedelta(days=9))
        paper = paper.add_extension(x509.SubjectAlternativeName(names), critical=True)
        forged = tmp_path / "forged.crt"
        signed = paper.sign(signer, hashes.SHA256())
        forged.write_bytes(signed.public_bytes(serialization.Encoding.PEM))
        done = subprocess.run(
            ["openssl", "verify", "-CAfile", str(made.authority), str(forged)], capture_output=True, text=True
        )
        assert "permitted subtree violation" in done.stderr


def test_nobody_else_reads_it_and_no_browser_finds_it_too_long(made: authority.Papers) -> None:
    folder = made.authority.parent
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for file in folder.iterdir():
        assert stat.S_IMODE(file.stat().st_mode) == 0o600, file
    found = authority.read(made.certificate)
    assert found.not_valid_after_utc - found.not_valid_before_utc <= timedelta(days=825)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(made.certificate, made.key)


def test_it_is_kept_renewed_in_time_and_made_anew_where_it_must(tmp_path: Path) -> None:
    def again(days: int, there: Reach = HERE, *, afresh: bool = False) -> tuple[bool, bool]:
        found = authority.papers(tmp_path / "lan", there, at=AT + timedelta(days=days), afresh=afresh)
        return found.new_authority, found.new_certificate

    moved = Reach((ipaddress.ip_address("192.168.7.99"),), HERE.names)
    elsewhere = Reach((ipaddress.ip_address("192.0.2.5"),), HERE.names)
    assert again(0) == (True, True)
    assert again(300) == (False, False)
    assert again(340) == (False, True), "fewer than 60 days are left"
    assert again(340, moved) == (False, True), "another address in the same network: no tablet notices"
    assert again(340, elsewhere) == (True, True), "the authority may not sign for it"
    assert again(340, elsewhere, afresh=True) == (True, True)
    assert again(3600, elsewhere) == (True, True), "it ends before the next certificate would"
    (tmp_path / "lan" / "server.crt").write_text("spoilt")
    assert again(3600, elsewhere) == (False, True)
    (tmp_path / "lan" / "authority.key").unlink()
    assert again(3600, elsewhere) == (True, True)


def test_how_this_machine_is_reached() -> None:
    given = reach(["192.168.1.20", "fd00::5", "192.168.1.20"])
    assert [str(one) for one in given.addresses] == ["192.168.1.20", "fd00::5"]
    assert "localhost" in given.names
    assert given.hosts()[:2] == ["192.168.1.20", "[fd00::5]"]
    assert (bracketed("fd00::5"), bracketed("[fd00::5]"), bracketed("10.0.0.1")) == (
        "[fd00::5]",
        "[fd00::5]",
        "10.0.0.1",
    )
    assert [plain(name) for name in ("shed", "shed-2.local", "", "a..b", "shéd", "x" * 64)] == [
        True,
        True,
        False,
        False,
        False,
        False,
    ]
    for one in reach().addresses:
        assert one.is_private and not one.is_loopback


def test_refusals_are_sentences(settings: object, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(CommandError, match="--address: "):
        call_command("lan", "--address", "the shed")
    monkeypatch.setattr("workshop.lan.addresses.own_addresses", list)
    with pytest.raises(CommandError, match="no address in a local network"):
        call_command("lan")
    monkeypatch.setattr("workshop.management.commands.lan.settings.TRUST_PROXY", True)
    with pytest.raises(CommandError, match="TLS is set up already"):
        call_command("lan", "--address", "10.0.0.7")


@pytest.fixture
def trust(made: authority.Papers) -> Iterator[str]:
    served = page.server(made.authority.parent, "127.0.0.1", 0, "https://192.168.7.20:8000/")
    threading.Thread(target=served.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{served.server_address[1]}"
    served.shutdown()
    served.server_close()


def test_the_page_gives_the_certificate_and_its_mark(trust: str, made: authority.Papers) -> None:
    shown = urlopen(f"{trust}/").read().decode()
    asked = ["openssl", "x509", "-in", str(made.authority), "-noout", "-fingerprint", "-sha256"]
    told = subprocess.run(asked, capture_output=True, text=True, check=True).stdout.partition("=")[2]
    assert told.strip().replace(":", "") == authority.fingerprint(made.authority).replace(" ", "")
    assert authority.fingerprint(made.authority) in shown and "https://192.168.7.20:8000/" in shown
    fetched = urlopen(f"{trust}{page.FILE}")
    assert fetched.read() == made.authority.read_bytes()
    assert fetched.headers["Content-Type"] == "application/x-x509-ca-cert"
    for path in ("/authority.key", "/../authority.key", "/server.key", "/%2e%2e/server.key"):
        with pytest.raises(HTTPError) as said:
            urlopen(f"{trust}{path}")
        assert said.value.code == 404


@pytest.mark.django_db
def test_the_doctor_knows_its_age(tmp_path: Path, settings: object) -> None:
    builders.a_workshop()
    settings.VAR_DIR, settings.TLS_CERT = tmp_path, ""  # type: ignore[attr-defined]
    assert doctor.certificate(AT).well
    authority.papers(tmp_path / "lan", HERE, at=AT)
    assert doctor.certificate(AT + timedelta(days=365)).well
    late = doctor.certificate(AT + timedelta(days=366))
    assert not late.well and "ends in 29 days" in late.words
    (tmp_path / "lan" / "server.crt").write_text("spoilt")
    assert "is no certificate" in doctor.certificate(AT).words
