import base64
import hashlib
import hmac
import re
import struct
from collections.abc import Callable

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP
from django.core import mail
from django.test import Client

import worlds
from upsides.books.models import Person
from upsides.web.signin.invitations import invitation_path
from upsides.web.signin.second_factor import forget_second_factor, has_second_factor
from worlds import ClientAs

SECRET = base64.b32encode(b"12345678901234567890").decode()
NOW = 1_800_000_015
"""A moment in the middle of a step of 30 seconds."""


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """The clock of the codes stands still, and can be set."""

    def stand(at: int) -> None:
        monkeypatch.setattr("allauth.mfa.totp.internal.auth.time.time", lambda: float(at))

    stand(NOW)
    return stand


def code(secret: str, at: int) -> str:
    """Return the code of a moment, after RFC 6238 (2011), section 4, and RFC 4226 (2005), section 5.3."""
    digest = hmac.new(base64.b32decode(secret), struct.pack(">Q", at // 30), hashlib.sha1).digest()
    start = digest[-1] & 0x0F
    return f"{(struct.unpack('>I', digest[start : start + 4])[0] & 0x7FFFFFFF) % 10**6:06d}"


def test_codes_are_those_of_the_standard() -> None:
    """The codes that these tests use agree with RFC 6238, appendix B (its eight figures, the last six of them)."""
    published = {59: "94287082", 1111111109: "07081804", 1234567890: "89005924", 2000000000: "69279037"}
    assert {at: code(SECRET, at) for at in published} == {at: eight[-6:] for at, eight in published.items()}


@pytest.fixture
def vet(db: None) -> Person:
    """Somebody with a second factor and spare codes."""
    person = Person.objects.get(login="vet")
    TOTP.activate(person, SECRET)
    RecoveryCodes.activate(person)
    return person


def give_password(browser: Client, login: str = "vet"):
    return browser.post("/account/login/", {"login": login, "password": worlds.PASSWORD})


def give_code(browser: Client, typed: str):
    return browser.post("/account/login/code/", {"code": typed})


def is_in(browser: Client) -> bool:
    return browser.get("/account/devices/").status_code == 200


def confirm(browser: Client, place: str):
    """Ask for a page that wants the password once more, and give it."""
    asked = browser.get(place)
    assert asked.headers["Location"].startswith("/account/again/?next=")
    return browser.post("/account/again/", {"password": worlds.PASSWORD, "next": place}, follow=True)


def test_the_password_alone_does_not_let_in(client: Client, vet: Person) -> None:
    """With a second factor one is in only after the code."""
    assert give_password(client).headers["Location"] == "/account/login/code/"
    assert not is_in(client)
    assert "now give the code that your app shows" in client.get("/account/login/code/").content.decode()
    assert give_code(client, code(SECRET, NOW)).headers["Location"] == "/"
    assert is_in(client)


def test_a_code_without_a_password_is_nothing(client: Client, vet: Person) -> None:
    """The second step leads back to the first where that was not taken."""
    assert give_code(client, code(SECRET, NOW)).headers["Location"] == "/account/login/"
    assert not is_in(client)


@pytest.mark.parametrize("shift", [-60, -30, 0, 30, 60])
def test_a_code_fits_its_time(client: Client, vet: Person, shift: int) -> None:
    """A phone's clock may differ by one step of half a minute, not by two."""
    give_password(client)
    give_code(client, code(SECRET, NOW + shift))
    assert is_in(client) is (abs(shift) <= 30)


def test_a_code_works_once(client: Client, vet: Person) -> None:
    """Whoever looks over a shoulder cannot use the code again."""
    give_password(client)
    give_code(client, code(SECRET, NOW))
    other = Client(headers={"host": "localhost"})
    give_password(other)
    assert "This code does not fit" in give_code(other, code(SECRET, NOW)).content.decode()
    assert not is_in(other)


def test_a_code_may_be_typed_with_a_gap(client: Client, vet: Person) -> None:
    """Apps show codes in two groups; a blank between them is no error."""
    give_password(client)
    typed = code(SECRET, NOW)
    give_code(client, f" {typed[:3]} {typed[3:]}")
    assert is_in(client)


def test_guessing_codes_is_slowed(client: Client, vet: Person) -> None:
    """After ten wrong codes even the right one has to wait."""
    give_password(client)
    right = code(SECRET, NOW)
    wrong = "000000" if right != "000000" else "111111"
    for _ in range(10):
        assert "This code does not fit" in give_code(client, wrong).content.decode()
    assert "too many wrong tries" in give_code(client, right).content.decode()
    assert not is_in(client)


def test_a_spare_code_works_once(client: Client, vet: Person) -> None:
    """A spare code stands in for the phone, one time."""
    spare = Authenticator.objects.get(user=vet, type="recovery_codes").wrap().get_unused_codes()
    assert len(spare) == len(set(spare)) == 10
    give_password(client)
    give_code(client, spare[3])
    assert is_in(client)
    other = Client(headers={"host": "localhost"})
    give_password(other)
    give_code(other, spare[3])
    assert not is_in(other)


def test_a_link_does_not_get_around_it(client: Client, vet: Person) -> None:
    """Who chooses a password on a link still has to give the code."""
    place = client.get(invitation_path(vet), follow=True).request["PATH_INFO"]
    chosen = {"password1": "late-lot-on-friday", "password2": "late-lot-on-friday"}
    assert client.post(place, chosen).headers["Location"] == "/account/login/code/"
    assert not is_in(client)
    give_code(client, code(SECRET, NOW))
    assert is_in(client)


def test_turning_it_on(client_as: ClientAs, monkeypatch: pytest.MonkeyPatch) -> None:
    """After the password once more one sees the square and the secret, and the first code turns it on."""
    Person.objects.filter(login="vet").update(email="vet@yard.example")
    browser = client_as("vet")
    assert "It is off" in browser.get("/account/second/").content.decode()
    text = confirm(browser, "/account/second/on/").content.decode()
    secret = re.search(r'class="secret">(\w+)<', text).group(1)
    assert f"otpauth://totp/vet?secret={secret}&amp;issuer=Upsides" in text
    assert '<svg class="qr" role="img"' in text
    assert "data:" not in text
    right = code(secret, NOW)
    wrong = "000000" if right != "000000" else "111111"
    assert "This code does not fit" in browser.post("/account/second/on/", {"code": wrong}).content.decode()
    assert not has_second_factor(Person.objects.get(login="vet"))
    monkeypatch.setattr("django.db.transaction.on_commit", lambda done: done())  # a test's transaction never commits
    page = browser.post("/account/second/on/", {"code": right}, follow=True).content.decode()
    assert len(re.findall(r"<li><code>\d{8}</code></li>", page)) == 10
    assert has_second_factor(Person.objects.get(login="vet"))
    assert [letter.subject for letter in mail.outbox] == ["The second step is on"]
    assert "It is on" in browser.get("/account/second/").content.decode()


def test_turning_it_off(client: Client, vet: Person) -> None:
    """Turned off, it is gone with its spare codes, and the password alone lets in."""
    give_password(client)
    give_code(client, code(SECRET, NOW))
    assert "your password alone lets you in" in confirm(client, "/account/second/off/").content.decode()
    client.post("/account/second/off/")
    assert not Authenticator.objects.filter(user=vet).exists()
    client.post("/account/logout/")
    give_password(client)
    assert is_in(client)


def test_new_spare_codes_end_the_old_ones(client: Client, vet: Person) -> None:
    """Ten new codes come, none of them an old one, in the page and in the file."""
    old = set(Authenticator.objects.get(user=vet, type="recovery_codes").wrap().get_unused_codes())
    give_password(client)
    give_code(client, code(SECRET, NOW))
    confirm(client, "/account/second/spare/new/")
    page = client.post("/account/second/spare/new/", follow=True).content.decode()
    new = re.findall(r"<li><code>(\d{8})</code></li>", page)
    assert len(new) == 10
    assert not old & set(new)
    file = client.get("/account/second/spare/file/")
    assert file.headers["Content-Type"].startswith("text/plain")
    assert "no-store" in file.headers["Cache-Control"]
    assert re.findall(r"^\d{8}$", file.content.decode(), flags=re.MULTILINE) == new


def test_weighty_pages_want_the_password_once_more(client: Client, vet: Person) -> None:
    """Having just signed in is not enough to see spare codes or to turn it off, and a wrong password is not either."""
    give_password(client)
    give_code(client, code(SECRET, NOW))
    for place in ("spare/", "spare/new/", "spare/file/", "off/"):
        for answer in (client.get(f"/account/second/{place}"), client.post(f"/account/second/{place}")):
            assert answer.status_code in {302, 405}
            assert answer.status_code == 405 or answer.headers["Location"].startswith("/account/again/")
    text = client.post("/account/again/", {"password": "not-mine", "next": "/account/second/spare/"}).content.decode()
    assert "This is not your password." in text
    assert client.get("/account/second/spare/").status_code == 302
    assert Authenticator.objects.filter(user=vet).count() == 2


def test_a_code_will_do_instead_of_the_password(client: Client, vet: Person, clock: Callable[[int], None]) -> None:
    """Whoever has the phone at hand may give a code where the password is asked for again."""
    give_password(client)
    give_code(client, code(SECRET, NOW))
    page = client.get("/account/again/", {"next": "/account/second/spare/"}).content.decode()
    assert "Give a code from your app instead" in page
    clock(NOW + 60)
    form = {"code": code(SECRET, NOW + 60), "next": "/account/second/spare/"}
    assert client.post("/account/again/code/", form).headers["Location"] == "/account/second/spare/"
    assert client.get("/account/second/spare/").status_code == 200


def test_who_lost_everything_can_be_helped(client: Client, vet: Person) -> None:
    """The yard takes the second factor away, and the password lets in again; nobody else's is touched."""
    other = Person.objects.get(login="rider")
    TOTP.activate(other, SECRET)
    assert forget_second_factor(vet)
    assert not forget_second_factor(vet)
    assert has_second_factor(other)
    give_password(client)
    assert is_in(client)
