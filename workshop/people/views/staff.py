"""The people of the workshop, for its owners."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from workshop.people import rights, staff
from workshop.people.forms.house import NewPersonForm, PersonForm
from workshop.people.models import Person
from workshop.people.setup import Newcomer
from workshop.people.views.ways import print_badge
from workshop.web import ActForm, act, door


@door(rights.OWN)
def staff_list(request: HttpRequest) -> HttpResponse:
    """Everybody, and the form for a newcomer; the first password shows in the answer to the POST only."""
    form, shown = NewPersonForm(request.POST or None), []

    def do(at: datetime) -> str:
        newcomer = staff.add_person(by=_by(request), at=at, **form.values())
        shown.append(newcomer)
        return _page_of(newcomer.person)

    done = act(request, form, name="add person", do=do)
    if done:
        return _show_once(request, shown) or done
    people = Person.objects.order_by("-is_active", "name", "pk")
    return _answer(request, "people/staff.html", {"form": form, "people": people})


@door(rights.OWN)
def person_page(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Person, pk=pk)
    present = {"name": person.name, "role": person.role, "email": person.email}
    form = PersonForm(request.POST or None, initial=present)

    def do(at: datetime) -> str:
        staff.change_person(person=person, by=_by(request), at=at, **form.values())
        return reverse("people:staff")

    done = act(request, form, name="change person", do=do, said=f"{person.name} is saved.")
    return done or _answer(request, "people/person.html", _context(person, form))


@door(rights.OWN, "POST")
def switch(request: HttpRequest, pk: int) -> HttpResponse:
    """Off when on, on when off. Off ends every session of theirs at the next request."""
    person = get_object_or_404(Person, pk=pk)
    on, form = not person.is_active, ActForm(request.POST)

    def do(at: datetime) -> str:
        staff.switch_person(person=person, on=on, by=_by(request), at=at)
        return _page_of(person)

    said = f"{person.name} may sign in again." if on else f"{person.name} can no longer sign in."
    done = act(request, form, name=f"switch person {'on' if on else 'off'}", do=do, said=said)
    return done or _answer(request, "people/person.html", _context(person, _person_form(person), form))


@door(rights.OWN, "POST")
def first_password(request: HttpRequest, pk: int) -> HttpResponse:
    """A new first password, shown in this answer only."""
    person, form, shown = get_object_or_404(Person, pk=pk), ActForm(request.POST), []

    def do(at: datetime) -> str:
        shown.append(staff.give_first_password(person=person, by=_by(request), at=at))
        return _page_of(person)

    done = act(request, form, name="give first password", do=do)
    if done:
        return _show_once(request, shown) or done
    return _answer(request, "people/person.html", _context(person, _person_form(person), form))


@door(rights.OWN, "POST")
def badge(request: HttpRequest, pk: int) -> HttpResponse:
    """A new badge for somebody, as a sheet to print; it is in this answer only."""
    person, form = get_object_or_404(Person, pk=pk), ActForm(request.POST)
    done = print_badge(request, form, person, _page_of(person))
    return done or _answer(request, "people/person.html", _context(person, _person_form(person), form))


def _by(request: HttpRequest) -> Person:
    return request.user  # type: ignore[return-value]


def _page_of(person: Person) -> str:
    return reverse("people:person", args=[person.pk])


def _person_form(person: Person) -> PersonForm:
    return PersonForm(initial={"name": person.name, "role": person.role, "email": person.email})


def _context(person: Person, form: PersonForm, pressed: ActForm | None = None) -> dict[str, object]:
    """`pressed` is the refused form of a button beside the main form."""
    return {"person": person, "form": form, "button": ActForm(), "pressed": pressed}


def _show_once(request: HttpRequest, shown: list[Newcomer]) -> HttpResponse | None:
    """Nothing to show on a repeat: the password is kept nowhere."""
    if not shown:
        return None
    return render(request, "people/first_password.html", {"newcomer": shown[-1]})


def _answer(request: HttpRequest, template: str, context: dict[str, object]) -> HttpResponse:
    pressed = context.get("pressed") or context["form"]
    refused = isinstance(pressed, ActForm) and bool(pressed.errors)
    return render(request, template, context, status=422 if refused else 200)
