"""For an owner who lost the only password: whoever sits at this machine may hand out a new first one."""

from __future__ import annotations

from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser

from workshop import clock
from workshop.people import staff
from workshop.people.models import Person


class Command(BaseCommand):
    help = "Hand out a new first password, shown once, to be changed at the next sign-in."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("login", help="the person's sign-in name")

    def handle(self, *args: Any, **options: Any) -> None:
        login = options["login"].strip().lower()
        person = Person.objects.filter(login=login).first()
        if person is None:
            raise CommandError(f"Nobody signs in as {login}.")
        newcomer = staff.hand_out_at_the_machine(person=person, at=clock.now())
        self.stdout.write(f"{person.name} ({login}): {newcomer.password}")
        self.stdout.write("To be changed at the next sign-in, within seven days.")
