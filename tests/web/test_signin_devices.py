import re
import runpy
from pathlib import Path

import pytest
from django.test import Client

import worlds
from upsides.books import settings as written
from upsides.books.models import Person
from upsides.web.signin.devices import described
from worlds import ClientAs

PHONE = "Mozilla/5.0 (Android 14; Mobile; rv:128.0) Gecko/128.0 Firefox/128.0"
DESK = "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126.0.0.0 Safari/537.36"


def signed_in(agent: str, login: str = "secretary", **more: str) -> Client:
    browser = Client(headers={"host": "localhost", "user-agent": agent})
    browser.post("/account/login/", {"login": login, "password": worlds.PASSWORD, **more})
    return browser


def page(browser: Client) -> str:
    return browser.get("/account/devices/").content.decode()


def is_in(browser: Client) -> bool:
    return browser.get("/account/devices/").status_code == 200


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        (PHONE, "Firefox on an Android phone"),
        (DESK, "Chrome on a Windows computer"),
        (DESK + " Edg/126.0.0.0", "Edge on a Windows computer"),
        (
            "Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) "
            "Version/17.5 Mobile/15E148 Safari/604.1",
            "Safari on an iPhone",
        ),
        (
            "Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/17.5 "
            "Safari/605.1.15",
            "Safari on a Mac or an iPad",
        ),
        (
            "Mozilla/5.0 (Linux; Android 13; SM-X200) AppleWebKit/537.36 (KHTML, like Gecko) SamsungBrowser/25.0 "
            "Chrome/121.0.0.0 Safari/537.36",
            "Samsung Internet on an Android tablet",
        ),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:127.0) Gecko/20100101 Firefox/127.0", "Firefox on a Linux computer"),
        ("curl/8.5.0", "Something that does not say what it is"),
        ("", "Something that does not say what it is"),
    ],
)
def test_a_browser_is_named_as_its_owner_knows_it(agent: str, words: str) -> None:
    """What browsers call themselves becomes a browser and a thing, in plain words."""
    assert described(agent) == words


def test_all_ones_devices_are_listed(db: None) -> None:
    """One sees each browser that one is signed in with, which is this one, and when; not other people's."""
    phone, _ = signed_in(PHONE), signed_in(DESK)
    signed_in("curl/8.5.0", "vet")
    text = page(phone)
    assert "You are signed in on 2 phones and computers." in text
    assert re.search(r"Firefox on an Android phone</b>\s*\(this one\)", text)
    assert re.search(r"Chrome on a Windows computer</b>\s*<div", text)
    assert text.count("signed in now") + text.count("second") + text.count("moment") >= 2
    assert "does not say what it is" not in text


def test_one_device_can_be_signed_out(db: None) -> None:
    """Ending one ends that one, and no other."""
    phone, desk, tablet = signed_in(PHONE), signed_in(DESK), signed_in("curl/8.5.0")
    number = re.search(r"Chrome on a Windows computer.*?devices/(\d+)/end/", page(phone), flags=re.DOTALL).group(1)
    answer = phone.post(f"/account/devices/{number}/end/", follow=True)
    assert "You are signed out there." in answer.content.decode()
    assert (is_in(phone), is_in(desk), is_in(tablet)) == (True, False, True)
    assert phone.post(f"/account/devices/{number}/end/").status_code == 404


def test_nobody_can_sign_another_out(db: None) -> None:
    """Somebody else's device is as if it were not there."""
    phone, desk = signed_in(PHONE), signed_in(DESK)
    number = re.search(r"devices/(\d+)/end/", page(phone)).group(1)
    stranger = signed_in("curl/8.5.0", "vet")
    assert stranger.post(f"/account/devices/{number}/end/").status_code == 404
    assert is_in(desk)


def test_all_others_can_be_signed_out(db: None, client_as: ClientAs) -> None:
    """Ending all others leaves this one: the rest are out, those that are not in the list too, and trust is new."""
    phone, desk = signed_in(PHONE), signed_in(DESK)
    unlisted = client_as("secretary")
    stranger = signed_in(DESK, "vet")
    before = Person.objects.get(login="secretary").trust
    text = phone.post("/account/devices/", follow=True).content.decode()
    assert "You are signed out everywhere but here." in text
    assert "You are signed in here and nowhere else." in text
    assert (is_in(phone), is_in(desk), is_in(unlisted), is_in(stranger)) == (True, False, False, True)
    assert Person.objects.get(login="secretary").trust == before + 1


def test_lost_trust_ends_everything(db: None) -> None:
    """When a person's trust counts up, every session of that person is over at the next page."""
    phone, desk = signed_in(PHONE), signed_in(DESK)
    person = Person.objects.get(login="secretary")
    person.trust += 1
    person.save()
    assert (is_in(phone), is_in(desk)) == (False, False)


def test_signing_in_changes_the_key(client: Client) -> None:
    """A session's key from before signing in, which somebody may have planted, is worth nothing after it."""
    client.get("/account/second/on/")
    planted = client.session
    planted["a"] = 1
    planted.save()
    client.cookies["sessionid"] = planted.session_key
    client.post("/account/login/", {"login": "vet", "password": worlds.PASSWORD})
    assert client.cookies["sessionid"].value != planted.session_key
    thief = Client(headers={"host": "localhost"})
    thief.cookies["sessionid"] = planted.session_key
    assert not is_in(thief)


def test_one_is_asked_how_long(db: None) -> None:
    """Ticked, one stays signed in for 14 days; unticked, until the browser is closed."""
    kept, closed = signed_in(PHONE, remember="on"), signed_in(DESK)
    assert kept.cookies["sessionid"]["max-age"] == 14 * 24 * 3600
    assert closed.cookies["sessionid"]["max-age"] == ""
    assert closed.session.get_expire_at_browser_close()


def test_cookies_are_kept_close(db: None) -> None:
    """The session's cookie is out of reach for scripts and other sites."""
    browser = signed_in(PHONE)
    cookie = browser.cookies["sessionid"]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert browser.cookies["csrftoken"]["samesite"] == "Strict"


def test_cookies_need_https_where_there_is_https(monkeypatch: pytest.MonkeyPatch) -> None:
    """With UPSIDES_TLS set, browsers send the cookies by https only."""
    found = {}
    for value in ("", "1"):
        monkeypatch.setenv("UPSIDES_TLS", value)
        found[value] = runpy.run_path(str(Path(written.__file__)))
    names = ("SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE")
    assert [[found[value][name] for name in names] for value in ("", "1")] == [[False, False], [True, True]]


def test_not_on_a_barn_phone(client_as: ClientAs) -> None:
    """Where a PIN is enough to be somebody, neither password nor devices can be looked at or changed."""
    browser = client_as("carer")
    session = browser.session
    session["barn"] = True
    session.save()
    for place in ("/account/password/change/", "/account/devices/", "/account/second/", "/account/again/"):
        for answer in (browser.get(place), browser.post(place)):
            assert answer.status_code == 403
            assert "on a phone or computer of your own" in answer.content.decode()
