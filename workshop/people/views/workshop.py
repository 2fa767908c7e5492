"""The workshop's own facts, for its owners."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from workshop import clock
from workshop.backups import last_backup
from workshop.calc.rounding import many
from workshop.models import Workshop
from workshop.people import rights, staff
from workshop.people.fields import zones
from workshop.people.forms.house import WorkshopForm, workshop_initial
from workshop.web import act, door

LATE = timedelta(hours=48)


@door(rights.OWN)
def settings_page(request: HttpRequest) -> HttpResponse:
    form = WorkshopForm(request.POST or None, initial=workshop_initial(Workshop.objects.get()))

    def do(at: datetime) -> str:
        staff.change_workshop(facts=form.facts(), by=request.user, at=at)  # type: ignore[arg-type]
        return reverse("people:workshop")

    done = act(request, form, name="change workshop", do=do, said="The workshop's settings are saved.")
    context = {"form": form, "zones": zones(), "backup": backup_state(clock.now())}
    return done or render(request, "people/workshop.html", context, status=422 if form.errors else 200)


def backup_state(at: datetime) -> dict[str, object]:
    """The age of the last backup in words, and whether it is too old: past 48 hours, or never."""
    newest = last_backup(at=at)
    if newest is None:
        return {"sentence": "There is no backup yet. The next one is made tonight.", "late": True}
    path, age = newest
    return {"sentence": f"The last backup is {in_words(age)} old.", "late": age > LATE, "name": path.name}


def in_words(age: timedelta) -> str:
    """ "40 minutes", "7 hours", "3 days"."""
    minutes = max(int(age.total_seconds() // 60), 0)
    for size, word in ((2880, "days"), (120, "hours")):
        if minutes >= size:
            return f"{minutes // (1440 if word == 'days' else 60)} {word}"
    return many(minutes, "minute")
