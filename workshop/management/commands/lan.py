"""`manage.py lan`: as `up`, but open to tablets in the local network, over TLS of our own."""

from __future__ import annotations

import os
import sys
from io import StringIO
from pathlib import Path
from typing import Any

import segno
from django.conf import settings
from django.core.management import CommandError, CommandParser

from workshop import clock
from workshop.lan.addresses import Reach, reach
from workshop.lan.authority import Papers, fingerprint, papers, read
from workshop.lan.page import STEPS
from workshop.management.commands import up

READY = "COLATURE_LAN"  # set for the second start, whose settings are those of the TLS profile


class Command(up.Command):
    help = "Everything, open to tablets in the local network, over TLS. Ctrl-C stops it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--address",
            action="append",
            default=[],
            help="An address of this machine, if not the one found. Repeatable; the first is the tablet's.",
        )
        parser.add_argument(
            "--new-authority", action="store_true", help="Make a new authority; every tablet trusts it anew."
        )

    def handle(self, *args: Any, **options: Any) -> None:
        self.reach = self.found(options["address"])
        if not os.environ.get(READY):
            self.refuse_another_certificate()
            self.start_again(self.made(afresh=options["new_authority"]))
        super().handle(*args, **options)

    def found(self, given: list[str]) -> Reach:
        try:
            here = reach(given)
        except ValueError as error:
            raise CommandError(f"--address: {error}. Write it as 192.168.1.20.") from error
        if not here.addresses:
            raise CommandError(
                "This machine has no address in a local network. Join the Wi-Fi, or name one with --address."
            )
        return here

    def refuse_another_certificate(self) -> None:
        if settings.TLS_CERT or settings.TRUST_PROXY:
            raise CommandError("TLS is set up already (TLS_CERT or TRUST_PROXY). Run: manage.py up")

    def made(self, *, afresh: bool) -> Papers:
        return papers(folder(), self.reach, at=clock.now(), afresh=afresh)

    def start_again(self, made: Papers) -> None:
        """The same command in a fresh process: settings are read once, and these are others."""
        hosts = [*self.reach.hosts(), "127.0.0.1"]
        environment = os.environ | {
            READY: "1",
            "TLS": "1",
            "TLS_CERT": str(made.certificate),
            "TLS_KEY": str(made.key),
            "HOST": "::" if any(one.version == 6 for one in self.reach.addresses) else "0.0.0.0",
            "ALLOWED_HOSTS": ",".join(hosts),
            "CSRF_TRUSTED_ORIGINS": ",".join(f"https://{host}:{settings.PORT}" for host in hosts),
        }
        if made.new_authority:
            self.say("A new authority was made: each tablet has to trust it once.")
        arguments = [one for one in sys.argv if one != "--new-authority"]
        os.execve(sys.executable, [sys.executable, *arguments], environment)

    def commands(self) -> dict[str, list[str]]:
        trust = [sys.executable, "-m", "workshop.lan.page", str(folder()), settings.HOST]
        return super().commands() | {"trust": [*trust, str(settings.PORT + 1), self.address()]}

    def address(self) -> str:
        return f"https://{self.reach.first}:{settings.PORT}/"

    def answering(self) -> bool:
        return super().answering() and self.answers_at(settings.PORT + 1)

    def announce(self) -> None:
        """The address; once, the square and the three steps."""
        before = self.announced
        super().announce()
        if before or not self.announced:
            return
        trust = f"http://{self.reach.first}:{settings.PORT + 1}/"
        square = StringIO()
        segno.make(trust, micro=False, error="m").terminal(out=square, compact=True, border=4)
        self.say(square.getvalue())
        for number, step in enumerate(STEPS, start=1):
            self.say(f"{number}. {step.format(trust=trust, house=self.address())}")
        self.say(f"Mark of the certificate (SHA-256): {fingerprint(folder() / 'authority.crt')}")
        ends = read(folder() / "server.crt").not_valid_after_utc
        self.say(f"Its certificate is good until {ends:%-d %B %Y}; starting this again renews it in time.")


def folder() -> Path:
    """Where authority and certificate are kept."""
    return Path(settings.VAR_DIR) / "lan"
