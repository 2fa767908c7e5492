"""Several people on one tablet, in a real browser: who is at the bench, what each had typed, ways in.

What must hold: WCAG 2.2, 2.2.6 and 3.3.8; OWASP ASVS 5.0.0, 7.2.4 and 14.3.1; W3C Web Authentication,
level 3 (its virtual authenticator, section 11, stands in for a finger).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.conf import settings
from django.urls import reverse
from playwright.sync_api import Browser, Page, expect

from inventory.models import Party
from tests import builders
from tests.builders import PASSWORD
from tests.journeys.conftest import ARGS, BROWSER, TABLET
from tests.journeys.hand import Hand
from workshop import clock
from workshop.people import badges, pins, tablets
from workshop.people.models import Passkey, Person

pytestmark = pytest.mark.django_db(transaction=True)
Opens = Callable[[], Page]


@pytest.fixture
def people(db: Any) -> tuple[Person, Person]:
    builders.a_workshop(bench_by="tap")
    return builders.an_owner(), builders.a_maker()


@pytest.fixture
def form_url(people: Any) -> str:
    return reverse("inventory:party-add")


def enrol(page: Page, live_server: Any) -> tablets.Fresh:
    fresh = builders.a_tablet("Bench by the window", at=clock.now())
    give_cookie(page, fresh, live_server)
    return fresh


def give_cookie(page: Page, fresh: tablets.Fresh, live_server: Any) -> None:
    cookie: Any = {"name": settings.TABLET_COOKIE_NAME, "value": fresh.secret, "httpOnly": True}
    page.context.add_cookies([cookie | {"url": live_server.url}])


def come(hand: Hand, name: str) -> None:
    """A tap on the name, from wherever the names stand."""
    with hand.page.expect_navigation():
        hand.page.get_by_role("button", name=name, exact=True).tap()
    expect(hand.page.locator(".person-name")).to_have_text(name)


def leave(hand: Hand) -> None:
    with hand.page.expect_navigation():
        hand.page.locator("form.not-you button").tap()


def kept(page: Page, write: Callable[[], None]) -> None:
    """Until the server has what was typed."""
    with page.expect_response(lambda answer: answer.url.endswith("/typed/") and answer.status == 204):
        write()


def test_two_people_and_one_form(
    tablet: Opens, tmp_path: Any, people: tuple[Person, Person], form_url: str, live_server: Any
) -> None:
    page = tablet()
    hand = Hand(page, tmp_path)
    enrol(page, live_server)
    name = hand.field("Name").first
    hand.go(form_url)
    come(hand, "Linnet Marsh")
    assert page.url.endswith(form_url), "the tap leads back"
    for width, height in ((820, 1180), (360, 640)):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth") <= width, "the bar names who is here"
    page.set_viewport_size({"width": 1180, "height": 820})

    # Reload: typed text is back, with one quiet line.
    kept(page, lambda: hand.write("Name", "Dell & Daughters"))
    page.reload()
    expect(name).to_have_value("Dell & Daughters")
    hand.sees("What you had typed is back.")
    hand.picture("staff-typed-is-back")

    # Another person sees nothing of it, by Back neither.
    leave(hand)
    hand.picture("staff-names")
    come(hand, "Rowan Ashby")
    expect(name).to_have_value("")
    page.go_back()
    page.goto(form_url)
    page.go_back()
    expect(page.locator("body")).not_to_contain_text("Dell")
    for box in page.locator("input").all():
        assert "Dell" not in (box.input_value() or "")

    # Two tabs: the form of one, sent when another stands there, is refused in words and kept for its owner.
    page.goto("/rounds/")
    leave(hand)
    come(hand, "Linnet Marsh")
    page.goto(form_url)
    other = Hand(page.context.new_page(), tmp_path)
    other.go("/rounds/")
    leave(other)
    come(other, "Rowan Ashby")
    hand.write("Name", "Dell and Sons")
    hand.send()
    hand.sees("Linnet Marsh began this form, and Rowan Ashby is at the bench now. Nothing was saved")
    hand.picture("staff-not-your-form")
    assert not Party.objects.exists()
    other.page.close()
    page.goto(form_url)
    expect(name).to_have_value("")
    leave(hand)
    come(hand, "Linnet Marsh")
    expect(name).to_have_value("Dell and Sons")

    # A double tap is one entry, and what was saved does not come back.
    page.get_by_label("We buy from them").check()
    page.evaluate(
        "() => { const act = document.querySelector('main form button.act'); act.click(); act.click(); }"
    )
    page.wait_for_url(lambda url: not url.endswith(form_url))
    assert Party.objects.filter(name="Dell and Sons").count() == 1
    page.goto(form_url)
    expect(name).to_have_value("")


def test_a_page_out_of_the_browsers_own_store_is_asked_for_afresh(
    tablet: Opens, people: tuple[Person, Person]
) -> None:
    """Pages go out with no-store; where a browser keeps one all the same, `pageshow` says so."""
    page = tablet()
    answer = page.goto("/sign-in/")
    assert answer is not None and "no-store" in answer.headers["cache-control"]
    with page.expect_navigation():
        page.evaluate(
            "() => { window.dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true })); }"
        )


def test_back_after_another_person_came_shows_nothing_of_the_first(
    browser: Browser, tmp_path: Any, people: tuple[Person, Person], live_server: Any
) -> None:
    """With the browser's back/forward cache on: it keeps no page of ours, and says why (HTML, 7.4.6)."""
    shown = browser.browser_type.launch(
        executable_path=BROWSER, args=ARGS, ignore_default_args=["--disable-back-forward-cache"]
    )
    page = shown.new_page(viewport=TABLET, has_touch=True, base_url=live_server.url, service_workers="block")
    hand = Hand(page, tmp_path)
    enrol(page, live_server)
    hand.go("/rounds/")
    come(hand, "Linnet Marsh")
    page.goto("/")
    page.go_back()
    why = page.evaluate("JSON.stringify(performance.getEntriesByType('navigation')[0].notRestoredReasons)")
    assert "response-cache-control-no-store" in why
    leave(hand)
    come(hand, "Rowan Ashby")
    page.go_back()
    expect(page.locator(".person-name")).to_have_text("Rowan Ashby")
    shown.close()


def test_locks_crashes_and_closed_doors(
    tablet: Opens, tmp_path: Any, people: tuple[Person, Person], form_url: str, live_server: Any
) -> None:
    owner, linnet = people
    page = tablet()
    hand = Hand(page, tmp_path)
    fresh = enrol(page, live_server)
    page.clock.install()
    hand.go(form_url)
    come(hand, "Linnet Marsh")

    # Five quiet minutes: the name is given up, the last letters too are kept.
    hand.write("Name", "Dell & Daughters")
    with page.expect_navigation():
        page.clock.run_for(5 * 60_000 + 6_000)
    hand.sees("who is at the bench?")
    come(hand, "Linnet Marsh")
    expect(hand.field("Name").first).to_have_value("Dell & Daughters")

    # The board stays readable, and two taps log from it: the name, then the act.
    page.goto("/rounds/")
    with page.expect_navigation():
        page.clock.run_for(5 * 60_000 + 6_000)
    hand.sees("Nobody is at the bench; you may look.")
    assert page.url.endswith("/rounds/")
    hand.picture("staff-locked-rounds")
    come(hand, "Linnet Marsh")
    assert page.url.endswith("/rounds/")

    # The tablet breaks: on another one it is all there.
    page.context.close()
    page = tablet()
    hand = Hand(page, tmp_path)
    another = tablets.enrol_here(name="Stove", by=owner, at=clock.now())
    give_cookie(page, another, live_server)
    hand.go(form_url)
    come(hand, "Linnet Marsh")
    expect(hand.field("Name").first).to_have_value("Dell & Daughters")

    # Switched off mid-form, then back.
    Person.objects.filter(pk=linnet.pk).update(is_active=False)
    hand.write("Telephone", "01234 567")
    hand.send()
    hand.sees("who is at the bench?")
    expect(page.get_by_role("button", name="Linnet Marsh", exact=True)).to_have_count(0)
    assert not Party.objects.exists()
    Person.objects.filter(pk=linnet.pk).update(is_active=True)
    page.reload()
    come(hand, "Linnet Marsh")
    expect(hand.field("Telephone").first).to_have_value("01234 567")

    # The tablet is revoked mid-form: the ordinary sign-in, and nothing is lost.
    tablets.revoke(tablet=another.tablet, by=owner, at=clock.now())
    hand.write("Who to ask for", "Mrs Dell")
    hand.send()
    assert "/sign-in/" in page.url
    hand.write("Sign-in name", "linnet")
    hand.write("Password", PASSWORD)
    hand.tap("Sign in")
    expect(hand.field("Who to ask for").first).to_have_value("Mrs Dell")
    expect(page.locator("form.not-you")).to_have_count(0)
    assert tablets.of_token(fresh.secret) is not None


def test_pin_badge_and_passkey(
    tablet: Opens, tmp_path: Any, people: tuple[Person, Person], live_server: Any
) -> None:
    owner, linnet = people
    builders.a_workshop(bench_by="pin")
    pins.set_pin(person=linnet, pin="730259", by=linnet, at=clock.now())
    page = tablet()
    hand = Hand(page, tmp_path)
    enrol(page, live_server)

    # PIN: the name, six digits on the pad, and the hand is in; eight taps with the act.
    hand.go("/rounds/")
    with page.expect_navigation():
        page.get_by_role("button", name="Linnet Marsh", exact=True).tap()
    hand.picture("staff-pin")
    with page.expect_navigation():
        for digit in "730258":
            page.get_by_role("button", name=digit, exact=True).tap()
    hand.sees("This is not the PIN.")
    with page.expect_navigation():
        for digit in "730259":
            page.get_by_role("button", name=digit, exact=True).tap()
    assert page.url.endswith("/rounds/")
    expect(page.locator(".person-name")).to_have_text("Linnet Marsh")

    # Badge: a scanner types it and ends with Enter.
    page.goto("/bench/")
    text = badges.make(person=owner, by=owner, at=clock.now()).text
    page.get_by_label("Badge").fill(text)
    with page.expect_navigation():
        page.get_by_label("Badge").press("Enter")
    expect(page.locator(".person-name")).to_have_text("Rowan Ashby")
    answer = page.goto("/staff/")
    assert answer is not None and answer.status == 403, "an owner by badge is at the bench only"
    hand.sees("this wants your password")
    hand.picture("staff-again")
    hand.write("Your password", PASSWORD)
    hand.send()
    assert page.url.endswith("/staff/")

    # Passkey: made with the password on one's own device, then in without anything to remember.
    page = tablet()
    hand = Hand(page, tmp_path)
    tools = page.context.new_cdp_session(page)
    tools.send("WebAuthn.enable")
    finger = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasResidentKey": True,
        "hasUserVerification": True,
        "isUserVerified": True,
        "automaticPresenceSimulation": True,
    }
    tools.send("WebAuthn.addVirtualAuthenticator", {"options": finger})
    hand.sign_in("linnet", PASSWORD)
    hand.go("/preferences/ways/")
    hand.picture("staff-ways")
    hand.write("Name of the device", "My phone")
    make = page.locator("form[data-passkey=make]")
    make.get_by_label("Present password").fill("not mine at all")
    make.get_by_role("button").tap()
    hand.sees("This is not your present password.")
    make.get_by_label("Present password").fill(PASSWORD)
    with page.expect_navigation():
        make.get_by_role("button").tap()
    hand.sees("My phone")
    assert Passkey.objects.get().person == linnet
    for shared in (False, True):
        page.context.clear_cookies()
        if shared:
            again = tablets.enrol_here(name="Stove", by=owner, at=clock.now())
            give_cookie(page, again, live_server)
        page.goto("/sign-in/?next=/preferences/")
        with page.expect_navigation(url="**/preferences/"):
            page.get_by_role("button", name="Come in with a passkey").tap()
        hand.sees("this wants your password" if shared else "You are Linnet Marsh")
        expect(page.get_by_text("Give my password")).to_have_count(1 if shared else 0)
    hand.go("/preferences/ways/")
    hand.tap("Drop My phone")
    hand.sees("this wants your password")
    hand.write("Your password", PASSWORD)
    hand.send()
    hand.tap("Drop My phone")
    assert not Passkey.objects.exists()
    page.context.clear_cookies()
    page.goto("/sign-in/")
    page.get_by_role("button", name="Come in with a passkey").tap()
    hand.sees("This passkey opens nothing here.")
