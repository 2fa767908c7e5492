"""`manage.py lan` for real: a browser under the machine's LAN address, with the certificate it made.

A service worker needs a secure context (W3C Service Workers, section 3.1); outside of localhost that is TLS.
"""

from __future__ import annotations

import base64
import hashlib
import os
import signal
import ssl
import subprocess
import sys
from pathlib import Path
from urllib.request import urlopen

import pytest
from cryptography.hazmat.primitives import serialization
from playwright.sync_api import Browser, Error

from tests.faults.rig import ROOT, belonging, environment, until
from tests.faults.test_supervisor import free_port
from tests.journeys.conftest import ARGS, BROWSER
from workshop.lan import authority
from workshop.lan.addresses import own_addresses

READY = """Promise.race([navigator.serviceWorker.ready.then(ready => ready.scope),
  new Promise(late => setTimeout(late, 30000, "no service worker"))])"""
pytestmark = [pytest.mark.journey, pytest.mark.fault]


def two_free_ports() -> int:
    """A port whose next one is free too."""
    while True:
        port = free_port()
        if port < 65_000:
            return port


def spki(certificate: Path) -> str:
    """SHA-256 of the public key, as the browser asks for it (RFC 7469, 2.4)."""
    key = authority.read(certificate).public_key()
    form = serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    return base64.b64encode(hashlib.sha256(key.public_bytes(*form)).digest()).decode()


def test_a_tablet_in_the_network(browser: Browser, fresh_var: Path, tmp_path: Path) -> None:
    address = next((str(one) for one in own_addresses() if one.version == 4), "")
    if not address:
        pytest.skip("this machine is in no network")
    port = two_free_ports()
    settings = environment(COLATURE_VAR=str(fresh_var), PORT=str(port))
    command = [sys.executable, "manage.py", "lan", "--address", address]
    house = subprocess.Popen(command, cwd=ROOT, env=settings, text=True, stdout=subprocess.PIPE)
    said: list[str] = []
    try:
        assert house.stdout is not None
        for line in house.stdout:
            said.append(line)
            if line.startswith("Its certificate is good until"):
                break
        shown = "".join(said)
        assert "A new authority was made" in shown
        assert f"Colature is open at https://{address}:{port}/" in shown
        assert "█" in shown or "▀" in shown, "the square to point a camera at"
        assert [f"{number}. " in shown for number in (1, 2, 3)] == [True] * 3
        root, trust = tmp_path / "root.crt", f"http://{address}:{port + 1}"
        assert authority.fingerprint(fresh_var / "lan" / "authority.crt") in shown
        root.write_bytes(urlopen(f"{trust}/colature-authority.crt", timeout=5).read())
        context = ssl.create_default_context(cafile=str(root))
        context.verify_flags |= ssl.VERIFY_X509_STRICT
        told = urlopen(f"https://{address}:{port}/sign-in/", context=context, timeout=20)
        assert "includeSubDomains" in told.headers["Strict-Transport-Security"]
        with pytest.raises(OSError, match="CERTIFICATE_VERIFY_FAILED"):
            urlopen(f"https://{address}:{port}/", timeout=20)
        look(browser, f"https://{address}:{port}/", spki(fresh_var / "lan" / "server.crt"), tmp_path)
        house.send_signal(signal.SIGINT)
        assert house.wait(40) == 0
        until(lambda: not belonging({"COLATURE_VAR": str(fresh_var)}), 40)
    finally:
        for pid in belonging({"COLATURE_VAR": str(fresh_var)}):
            os.kill(pid, signal.SIGKILL)
        house.communicate()


def look(strange: Browser, address: str, key: str, folder: Path) -> None:
    """A browser told to trust this one key, and one that was told nothing."""
    stranger = strange.new_page()
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        stranger.goto(address)
    stranger.context.close()
    trusting = [*ARGS, f"--ignore-certificate-errors-spki-list={key}"]
    profile = str(folder / "profile")
    tablet = strange.browser_type.launch_persistent_context(profile, executable_path=BROWSER, args=trusting)
    try:
        page = tablet.new_page()
        page.goto(address)
        assert page.evaluate("isSecureContext") is True
        assert page.evaluate(READY) == address
        told = page.evaluate("fetch('/manifest.webmanifest').then(found => found.json())")
        assert (told["name"], told["display"]) == ("Colature", "standalone")
    finally:
        tablet.close()
