import re
from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone

import worlds
from upsides.books.models import Device, Inside, Person, PinTry, Post, Role, Yard
from upsides.books.queries.devices import names_on
from upsides.books.queries.visitors import opened, visitor
from upsides.books.services.devices import add_own, author_token, device_of, read_author_token, revoke
from upsides.books.services.invented import DEMO_PIN
from upsides.books.services.people import add_person, clear_pin, close_sign_in
from upsides.errors import DeviceRevokedError
from upsides.web.barn.device import BARN_SECONDS, DEVICE
from upsides.web.shell.middleware import BARN, DEVICE_COOKIE
from worlds import ClientAs

pytestmark = pytest.mark.django_db

WRONG = "8305"


def someone(login: str) -> Person:
    return Person.objects.get(login=login)


@pytest.fixture
def phone(client_as: ClientAs) -> Client:
    """A browser that a head person has made the barn phone of the Top barn."""
    browser = client_as("head_person")
    browser.post("/barn/devices/", {"name": "Top barn"})
    return browser


def shared() -> Device:
    return Device.objects.get(shared=True)


def tap(phone: Client, login: str, pin: str = worlds.PIN) -> str:
    """Tap a name, enter a PIN, and return the page that follows."""
    return str(phone.post(f"/barn/{someone(login).pk}/", {"pin": pin}, follow=True).content.decode())


def inside(phone: Client) -> str:
    """Return the sign-in name of whoever is signed in, empty for nobody."""
    response = phone.get("/me/")
    return str(response.context["visitor"].person.login) if response.status_code == 200 else ""


def with_session(key: str, phone: Client) -> Client:
    """Return another browser that holds a session of this phone, and the phone's token."""
    other = Client(headers={"host": "localhost"})
    other.cookies["sessionid"] = key
    other.cookies[DEVICE_COOKIE] = phone.cookies[DEVICE_COOKIE].value
    return other


# making and ending barn phones --------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", list(Role))
def test_who_makes_barn_phones(client_as: ClientAs, role: Role) -> None:
    """Trainer, assistant and head person make a phone a barn phone; nobody else can."""
    browser = client_as(role.value)
    may = role in {Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON}
    assert browser.get("/barn/devices/").status_code == (200 if may else 403)
    assert browser.post("/barn/devices/", {"name": "Top"}).status_code == (302 if may else 403)
    assert Device.objects.filter(shared=True).count() == may


def test_making_one_signs_the_maker_out(client_as: ClientAs) -> None:
    """Who makes a barn phone is signed out on it, its old device ends, and the browser holds a barn phone's token."""
    browser = client_as("trainer")
    browser.get("/me/")
    own, old = browser.cookies[DEVICE_COOKIE].value, browser.cookies["sessionid"].value
    response = browser.post("/barn/devices/", {"name": "Top barn"})
    cookie = response.cookies[DEVICE_COOKIE]
    assert response.headers["Location"] == "/barn/"
    assert cookie.value.startswith("barn-")
    assert (cookie["httponly"], cookie["samesite"], cookie["max-age"]) == (True, "Lax", 365 * 24 * 3600)
    assert device_of(cookie.value) == shared()
    assert device_of(own) is None
    assert not Session.objects.filter(session_key=old).exists()
    assert browser.get("/people/").headers["Location"] == "/barn/"


def test_a_barn_phone_needs_a_name(client_as: ClientAs) -> None:
    """Without a name no barn phone is made, and the maker stays signed in."""
    browser = client_as("trainer")
    for name in ("", "   "):
        assert 'id="id_name_error"' in browser.post("/barn/devices/", {"name": name}).content.decode()
    assert not Device.objects.filter(shared=True).exists()
    assert inside(browser) == "trainer"


def test_barn_phones_are_listed_and_ended(phone: Client, client_as: ClientAs) -> None:
    """The list names each phone, who made it and when it was last used; ended, it is on the list no more."""
    trainer = client_as("trainer")
    text = trainer.get("/barn/devices/").content.decode()
    assert all(words in text for words in ("Top barn", someone("head_person").name, "never"))
    tap(phone, "rider")
    assert "never" not in trainer.get("/barn/devices/").content.decode()
    trainer.post(f"/barn/devices/{shared().pk}/end/")
    assert "No phone is shared" in trainer.get("/barn/devices/").content.decode()
    assert shared().revoked_at is not None


def test_a_barn_phone_neither_makes_nor_ends_any(phone: Client) -> None:
    """With a PIN even a head person can only read the list, on which nothing is offered."""
    tap(phone, "head_person")
    assert phone.post("/barn/devices/", {"name": "Low"}).status_code == 400
    assert phone.post(f"/barn/devices/{shared().pk}/end/").status_code == 400
    assert shared().revoked_at is None
    assert 'method="post"' not in phone.get("/barn/devices/").content.decode().split("<main")[1]


# names ---------------------------------------------------------------------------------------------------------------


def test_elsewhere_the_page_only_explains(client: Client, client_as: ClientAs) -> None:
    """A browser that is no barn phone is shown no names, signed in or not; a PIN sent from there is not looked at."""
    client.cookies[DEVICE_COOKIE] = "barn-made-up"
    for browser in (client, client_as("trainer"), Client(headers={"host": "localhost"})):
        response = browser.get("/barn/")
        assert response.status_code == 200
        assert "This is not a barn phone" in response.content.decode()
        assert someone("carer").name not in response.content.decode()
        browser.post(f"/barn/{someone('carer').pk}/", {"pin": worlds.PIN})
        assert inside(browser) != "carer"
    assert not PinTry.objects.exists()
    assert client.cookies[DEVICE_COOKIE].value == ""


def test_names_are_of_those_who_work_with_horses_and_have_a_pin(phone: Client) -> None:
    """Head persons, carers and riders with a PIN stand on the phone; the office, owners, vets and the closed do not."""
    close_sign_in(someone("carer"), someone("trainer"))
    add_person("Without PIN", [Role.RIDER])
    text = phone.get("/barn/").content.decode()
    names = {name.strip() for name in re.findall(r'<a href="/barn/\d+/">([^<]+)</a>', text)}
    assert names == {someone("head_person").name, someone("rider").name}


def test_the_phones_barn_stands_first_and_then_who_used_it_last(phone: Client) -> None:
    """People of the phone's barn come first, in each part who last came in here, then by name."""
    low = add_person("A. Low", [Role.CARER], pin=worlds.PIN, barn="Low", login="low")
    add_person("B. Low", [Role.CARER], pin=worlds.PIN, barn="Low", login="low2")
    top = sorted(Person.objects.filter(login__in=("carer", "rider", "head_person")), key=lambda one: one.name)
    assert [one.number for one in names_on(shared())][:3] == [one.pk for one in top]
    tap(phone, "low2")
    tap(phone, str(top[2].login))
    order = [one.name for one in names_on(shared())]
    assert order == [top[2].name, top[0].name, top[1].name, "B. Low", low.name]
    text = phone.get("/barn/").content.decode()
    assert sorted(order, key=text.index) == order


# coming in -----------------------------------------------------------------------------------------------------------


def test_a_tap_and_a_pin_let_in(phone: Client) -> None:
    """The right PIN begins a session of that person that counts as a barn phone's and lasts 10 minutes without use."""
    tap(phone, "rider")
    assert inside(phone) == "rider"
    assert phone.session[BARN] is True
    assert phone.session[DEVICE] == shared().pk
    assert phone.session.get_expiry_age() == BARN_SECONDS == 600
    assert phone.cookies["sessionid"]["max-age"] == BARN_SECONDS


def test_the_form_is_for_a_keypad(phone: Client) -> None:
    """The PIN is entered on the phone's number keys, is never shown again, and no browser offers to keep it."""
    address = f"/barn/{someone('rider').pk}/"
    field = re.search(r'<input[^>]*name="pin"[^>]*>', phone.get(address).content.decode())[0]
    assert 'inputmode="numeric"' in field
    assert 'autocomplete="off"' in field
    assert 'type="text"' in field
    assert "8305" not in phone.post(address, {"pin": "8305"}).content.decode().split("<main")[1]


def test_only_an_invented_yard_shows_its_pin(phone: Client) -> None:
    """Who looks round an invented yard is told the PIN that all have there; a real yard's page says none."""
    address = f"/barn/{someone('rider').pk}/"
    assert f"<code>{DEMO_PIN}</code>" in phone.get(address).content.decode()
    Yard.objects.update(fixed_day=None)
    assert "<code>" not in phone.get(address).content.decode()


def test_a_wrong_pin_lets_nobody_in(phone: Client) -> None:
    """A wrong or empty PIN is refused in plain words, and whoever was signed in before still is."""
    tap(phone, "carer")
    assert "That is not the PIN; 4 more tries before a wait." in tap(phone, "rider", WRONG)
    assert "Enter your PIN." in tap(phone, "rider", "")
    assert inside(phone) == "carer"


def test_after_five_wrong_pins_one_must_wait(phone: Client) -> None:
    """The fifth wrong PIN says until when one must wait; until then the right one does not let in, others come in."""
    for _ in range(4):
        assert "before a wait" in tap(phone, "rider", WRONG)
    assert re.search(r"Too many wrong PINs for [^;]+; try again after \d\d:\d\d", tap(phone, "rider", WRONG))
    assert "Too many wrong PINs" in tap(phone, "rider")
    assert inside(phone) == ""
    tap(phone, "carer")
    assert inside(phone) == "carer"


def test_the_session_before_is_dead(phone: Client) -> None:
    """When somebody else comes in, or the phone is handed over, the old session's cookie opens nothing any more."""
    tap(phone, "carer")
    first = phone.cookies["sessionid"].value
    assert inside(with_session(first, phone)) == "carer"
    tap(phone, "rider")
    second = phone.cookies["sessionid"].value
    assert second != first
    assert inside(with_session(first, phone)) == ""
    assert inside(with_session(second, phone)) == "rider"
    response = phone.post("/barn/over/")
    assert response.headers["Location"] == "/barn/"
    assert inside(with_session(second, phone)) == ""
    assert inside(phone) == ""
    assert Session.objects.filter(session_key__in=(first, second)).count() == 0


def test_two_people_change_over_quickly(phone: Client) -> None:
    """However often two people change over, each page is in the name of who came in last, and one session is left."""
    for login in ("carer", "rider", "carer", "rider", "rider", "carer"):
        tap(phone, login)
        assert inside(phone) == login
    assert phone.session["_auth_user_id"] == str(someone("carer").pk)
    assert sum(DEVICE in one.get_decoded() for one in Session.objects.all()) == 1


def test_changing_over_keeps_nothing_of_the_session_before(phone: Client) -> None:
    """What the last person's session held is not in the next one's."""
    tap(phone, "carer")
    session = phone.session
    session["draft"] = "of the carer"
    session.save()
    tap(phone, "rider")
    assert "draft" not in phone.session


def test_handing_over_needs_a_post(phone: Client) -> None:
    """Opening the address of handing over changes nothing."""
    tap(phone, "carer")
    assert phone.get("/barn/over/").status_code == 405
    assert inside(phone) == "carer"


def test_the_names_say_who_is_still_signed_in(phone: Client) -> None:
    """Among the names stands who is signed in, with a button to hand over; after it nobody is."""
    tap(phone, "carer")
    assert f"{someone('carer').name} is still signed in" in phone.get("/barn/").content.decode()
    assert "still signed in" not in phone.post("/barn/over/", follow=True).content.decode()


def test_ten_minutes_without_use_end_it(phone: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """Use within 10 minutes keeps the session alive; after 10 minutes without any it is over."""
    tap(phone, "carer")
    start = timezone.now()
    for minutes, who in ((9, "carer"), (18, "carer"), (27, "carer"), (38, "")):
        monkeypatch.setattr(timezone, "now", lambda minutes=minutes: start + timedelta(minutes=minutes))
        assert inside(phone) == who


def test_a_sign_in_leaves_no_change_in_the_history(phone: Client) -> None:
    """A PIN is no change of the person: the history stays as long as it was."""
    before = Person.history.count()
    tap(phone, "carer")
    assert Person.history.count() == before
    assert someone("carer").last_login is not None


# what a barn phone opens ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("how", ["pin", "password"])
def test_a_trainer_on_a_barn_phone_is_no_trainer(phone: Client, how: str) -> None:
    """A trainer's session on a barn phone, by PIN or by password, opens neither people, jobs nor figures."""
    trainer = someone("trainer")
    Post.objects.create(person=trainer, role=Role.RIDER)
    if how == "pin":
        tap(phone, "trainer")
    else:
        phone.post("/account/login/", {"login": "trainer", "password": worlds.PASSWORD})
    assert inside(phone) == "trainer"
    who = phone.get("/me/").context["visitor"]
    assert who.barn
    assert who.roles == {Role.RIDER}
    addresses = ("/people/", f"/person/{trainer.pk}/", "/people/new/", "/people/released/", "/people/looked/", "/jobs/")
    assert {phone.get(address).status_code for address in addresses} <= {403, 404}
    assert phone.post(f"/person/{someone('rider').pk}/close/").status_code == 403
    assert someone("rider").is_active
    for what in Inside:
        assert not opened(visitor(trainer, barn=True), what)
    assert phone.session.get_expiry_age() == BARN_SECONDS


@pytest.mark.parametrize("role", list(Role))
def test_a_pin_never_opens_the_office(phone: Client, role: Role) -> None:
    """Whatever else somebody is here for, on a barn phone only barn roles count."""
    person = someone(role.value)
    Post.objects.get_or_create(person=person, role=Role.CARER)
    tap(phone, role.value)
    assert inside(phone) == role.value
    assert phone.get("/me/").context["visitor"].roles <= {Role.HEAD_PERSON, Role.CARER, Role.RIDER}
    for address in ("/people/", "/people/released/", "/jobs/"):
        assert phone.get(address).status_code in {403, 404}


def test_ones_sign_in_is_not_changed_on_a_barn_phone(phone: Client) -> None:
    """On a barn phone neither PIN nor devices nor password are changed, even with the password."""
    before = someone("carer")
    _, token = add_own(before, "own phone")
    tap(phone, "carer")
    assert phone.post("/me/pin/", {"password": worlds.PASSWORD, "pin": "830517"}).status_code == 400
    assert phone.post(f"/me/device/{device_of(token).pk}/end/").status_code == 400
    assert phone.get("/account/password/change/").status_code == 403
    assert someone("carer").pin == before.pin
    assert device_of(token) is not None
    assert phone.get("/me/").content.decode().split("<main")[1].count("<form") == 1  # the one that hands over


# ending --------------------------------------------------------------------------------------------------------------


def test_a_closed_person_disappears(phone: Client) -> None:
    """Closed while signed in: out with the next page, off the names, and the PIN opens nothing; no trace of a try."""
    tap(phone, "carer")
    carer = someone("carer")
    close_sign_in(carer, someone("trainer"))
    assert phone.get("/me/").headers["Location"] == "/barn/"
    assert carer.name not in phone.get("/barn/").content.decode()
    tries = PinTry.objects.count()
    assert "no longer on this phone" in tap(phone, "carer")
    assert inside(phone) == ""
    assert PinTry.objects.count() == tries


def test_without_a_pin_a_name_disappears(phone: Client) -> None:
    """A PIN that is taken away takes the name from the phone."""
    clear_pin(someone("carer"), someone("trainer"))
    assert someone("carer").name not in phone.get("/barn/").content.decode()


def test_an_ended_phone_is_signed_out(phone: Client) -> None:
    """A barn phone ended while somebody uses it: the next page is the door, no names are shown, nothing is taken."""
    tap(phone, "carer")
    mark = author_token(shared(), someone("carer"))
    revoke(shared())
    response = phone.get("/me/")
    assert response.status_code == 302
    assert response.headers["Location"] == "/account/login/?next=/me/"
    assert phone.cookies[DEVICE_COOKIE].value == ""
    text = phone.get("/barn/").content.decode()
    assert "This is not a barn phone" in text
    assert "/account/login/" in text
    assert someone("carer").name not in text
    tap(phone, "rider")
    assert inside(phone) == ""
    with pytest.raises(DeviceRevokedError):
        read_author_token(mark)
    phone.post("/account/login/", {"login": "rider", "password": worlds.PASSWORD})
    assert inside(phone) == "rider"
    assert not phone.get("/me/").context["visitor"].barn
    assert phone.cookies[DEVICE_COOKIE].value.startswith("own-")


def test_a_barn_session_lives_on_its_phone_only(phone: Client) -> None:
    """A barn phone's session carried to a browser without the phone's token opens nothing."""
    tap(phone, "carer")
    elsewhere = Client(headers={"host": "localhost"})
    elsewhere.cookies["sessionid"] = phone.cookies["sessionid"].value
    assert inside(elsewhere) == ""


def test_every_page_of_the_phone_is_whole(phone: Client) -> None:
    """Names and PIN have one first heading, nothing inline, and may not be kept by the browser's cache."""
    for address in ("/barn/", f"/barn/{someone('carer').pk}/"):
        response = phone.get(address)
        text = response.content.decode()
        assert text.count("<h1") == 1
        assert "None" not in text
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text)
        assert "no-store" in response.headers["Cache-Control"]
