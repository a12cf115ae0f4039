import pytest
from django.core.cache import cache
from django.test import Client

import worlds
from upsides.books.models import Device, Person
from upsides.books.services.devices import add_own, device_of
from upsides.web.shell.middleware import DEVICE_COOKIE
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def fresh_limits() -> None:
    """Tries of one test do not count in the next."""
    cache.clear()


def someone(login: str) -> Person:
    return Person.objects.get(login=login)


def test_ones_own_page_leads_to_what_one_may_change(client_as: ClientAs) -> None:
    """The page says who one is and what for, and leads to password, second step and sessions."""
    text = client_as("rider").get("/me/").content.decode()
    assert someone("rider").name in text
    assert "work rider" in text
    for address in ("/account/password/change/", "/account/second/", "/account/devices/"):
        assert f'href="{address}"' in text


def test_ones_own_pin_needs_the_password(client_as: ClientAs) -> None:
    """A new PIN is taken with one's password only; a wrong password or a silly PIN is refused at its field."""
    browser, before = client_as("rider"), someone("rider").pin
    for form, field in (
        ({"password": "wrong", "pin": "830517"}, "password"),
        ({"password": worlds.PASSWORD, "pin": "1111"}, "pin"),
        ({"pin": "830517"}, "password"),
        ({"password": worlds.PASSWORD}, "pin"),
    ):
        text = browser.post("/me/pin/", form).content.decode()
        assert f'id="id_{field}_error"' in text
        assert someone("rider").pin == before
    response = browser.post("/me/pin/", {"password": worlds.PASSWORD, "pin": "830517"})
    assert response.headers["Location"] == "/me/"
    assert someone("rider").pin != before


def test_passwords_cannot_be_tried_for_long(client_as: ClientAs) -> None:
    """Whoever finds an open session cannot try passwords here without end: after 10 in a minute one must wait."""
    browser = client_as("rider")
    answers = [browser.post("/me/pin/", {"password": f"guess {n}", "pin": "830517"}).status_code for n in range(12)]
    assert answers[:10] == [200] * 10
    assert answers[10:] == [429] * 2


def test_trainers_set_their_own_pin_too(client_as: ClientAs) -> None:
    """A trainer who also rides sets a PIN like anybody else."""
    someone("trainer").posts.create(role="rider")
    client_as("trainer").post("/me/pin/", {"password": worlds.PASSWORD, "pin": "830517"})
    assert someone("trainer").check_password(worlds.PASSWORD)
    assert Person.history.filter(login="trainer").first().history_change_reason == "pin set"


def test_signing_in_makes_a_browser_ones_own_device(client: Client) -> None:
    """After a sign-in by password the browser holds the token of a new device of that person, hidden from scripts."""
    client.post("/account/login/", {"login": "rider", "password": worlds.PASSWORD})
    cookie = client.cookies[DEVICE_COOKIE]
    device = device_of(cookie.value)
    assert device is not None
    assert (device.person, device.shared) == (someone("rider"), False)
    assert cookie.value.startswith("own-")
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert cookie["max-age"] == 365 * 24 * 3600
    assert not cookie["secure"]


def test_under_https_the_token_travels_by_https_only(client: Client, settings: object) -> None:
    """With certificates the cookie is marked so that no browser sends it in the clear."""
    settings.SESSION_COOKIE_SECURE = True  # type: ignore[attr-defined]  # pytest-django's fixture
    client.post("/account/login/", {"login": "rider", "password": worlds.PASSWORD})
    assert client.cookies[DEVICE_COOKIE]["secure"]


def test_a_browser_stays_the_same_device(client: Client) -> None:
    """Signing in again, and every page, leaves the same device; somebody else on that browser gets another."""
    for _ in range(2):
        client.post("/account/login/", {"login": "rider", "password": worlds.PASSWORD})
        client.get("/me/")
        client.post("/account/logout/")
    assert Device.objects.filter(person=someone("rider")).count() == 1
    client.post("/account/login/", {"login": "carer", "password": worlds.PASSWORD})
    assert device_of(client.cookies[DEVICE_COOKIE].value).person == someone("carer")


def test_ending_a_device_ends_its_session(client_as: ClientAs) -> None:
    """One's device ended from elsewhere is signed out with its next page; the device one is on lives."""
    lost, here = client_as("rider"), client_as("rider")
    assert lost.get("/me/").status_code == here.get("/me/").status_code == 200
    gone = device_of(lost.cookies[DEVICE_COOKIE].value)
    assert here.post(f"/me/device/{gone.pk}/end/").status_code == 302
    response = lost.get("/me/")
    assert response.status_code == 302
    assert response.headers["Location"].startswith("/account/login/")
    assert here.get("/me/").status_code == 200


def test_nobody_ends_somebody_elses_device(client_as: ClientAs) -> None:
    """The address of another person's device is not there."""
    device, token = add_own(someone("carer"), "a phone")
    assert client_as("rider").post(f"/me/device/{device.pk}/end/").status_code == 404
    assert device_of(token) is not None


def test_a_lost_cookie_is_given_anew(client_as: ClientAs) -> None:
    """A browser that lost its token but is still signed in gets a new device, and entries can come from it."""
    browser = client_as("rider")
    browser.get("/me/")
    del browser.cookies[DEVICE_COOKIE]
    assert browser.get("/me/").status_code == 200
    assert device_of(browser.cookies[DEVICE_COOKIE].value) is not None
