"""The steps that journeys share, each by the screens alone."""

from __future__ import annotations

from pathlib import Path

from inventory.models import Lot
from tests.journeys.hand import Hand
from workshop import clock
from workshop.people.setup import issue_setup_code

PASSWORD = "four jars on a quiet shelf"


def set_up(hand: Hand, folder: Path, *, units: str = "Metric") -> None:
    """First visit: the code, the workshop, its owner, the backup folder."""
    code = issue_setup_code(clock.now())
    assert code is not None
    hand.go("/")
    hand.write("Setup code", code)
    hand.write("Name of the workshop", "Owlpenny Herbs")
    hand.write("Time zone", "Europe/London")
    hand.choose("Units", units)
    hand.write("Address", "3 Mill Lane, Owlpenny")
    hand.write("Your name", "Rowan Ashby")
    hand.write("Sign-in name", "rowan")
    hand.field("Password").first.fill(PASSWORD)
    hand.write("The same password again", PASSWORD)
    hand.write("Backup folder", str(folder / "backups"))
    hand.known = ("rowan", PASSWORD)
    hand.tap("Open the workshop")
    hand.sees("Rowan")


def add_place(hand: Hand, name: str, kind: str = "Shelf") -> None:
    hand.go("/storeroom/places/add/")
    hand.write("Name", name)
    hand.choose("Kind", kind)
    hand.send()
    hand.sees(name)


def add_goods(hand: Hand, name: str, kind: str, *, counted: bool = False, **facts: str) -> None:
    hand.go("/storeroom/goods/add/")
    hand.choose("Kind", kind)
    hand.write("Name", name)
    for label, text in facts.items():
        hand.write(label.replace("_", " "), text)
    if counted:
        hand.page.get_by_label("Counted").check()
    hand.send()
    hand.sees(name)


def receive(hand: Hand, goods: str, amount: str, *, place: str = "North shelf", **facts: str) -> None:
    """One delivery of one line."""
    hand.go("/storeroom/receive/")
    hand.choose("Goods", goods)
    hand.write("Amount", amount)
    hand.choose("Put at", place)
    for label, text in facts.items():
        hand.write(label.replace("_", " "), text)
    hand.tap("Received")


def receive_herb(hand: Hand, amount: str) -> None:
    add_goods(hand, "Turkey tail", "Fungus", Latin_name="Trametes versicolor", Plant_part="fruiting body")
    receive(hand, "Turkey tail", amount, Moisture="9")


def release(hand: Hand, goods: str) -> None:
    """The owner lets a lot out of quarantine, on its own page."""
    lot = Lot.objects.filter(material__name=goods).latest("pk")
    hand.go(f"/storeroom/lots/{lot.code}/")
    hand.tap("Release")
    hand.sees("Released")


def add_vessel(hand: Hand, tag: str, holds: str, *, form: str = "Jar", **facts: str) -> None:
    hand.go("/vessels/new/")
    hand.write("Tag", tag)
    hand.choose("Form", form)
    hand.write("Holds", holds)
    for label, text in facts.items():
        hand.write(label.replace("_", " "), text)
    hand.choose("Stands at", "North shelf")
    hand.send()
    hand.sees(tag)


def add_maker(hand: Hand) -> tuple[str, str]:
    """A maker with a first password, shown once."""
    hand.go("/staff/")
    hand.write("Name", "Linnet Marsh")
    hand.write("Sign-in name", "linnet")
    hand.send()
    hand.picture("staff")
    return "linnet", hand.page.locator("p.deciding").first.text_content() or ""
