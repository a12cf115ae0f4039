import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.core import mail
from django.test import Client
from django.utils import timezone

import worlds
from upsides.books.models import Person, Yard
from upsides.books.services.people import add_person
from upsides.errors import CannotInviteError
from upsides.web.signin.invitations import invitation_lasts, invitation_path
from worlds import ClientAs

NEW = "late-lot-on-friday"
USED_UP = "this one does not work any more"


@pytest.fixture
def ann(db: None) -> Person:
    """Somebody whom the yard has just entered: a sign-in name, no password."""
    return add_person("Ann Hazel", ["carer"], login="ann", email="Ann.Hazel@Yard.example")


def opened(browser: Client, path: str):
    """Open a link and go where it leads."""
    return browser.get(path, follow=True)


def choose(browser: Client, path: str, password: str = NEW):
    place = opened(browser, path).request["PATH_INFO"]
    return browser.post(place, {"password1": password, "password2": password})


def in_as(browser: Client) -> str:
    if browser.get("/account/devices/").status_code != 200:
        return ""
    return Person.objects.get(pk=browser.session["_auth_user_id"]).login


def test_a_link_lets_a_new_person_in(client: Client, ann: Person) -> None:
    """On the link the person sees who is meant, chooses a password, and is in; the password works from then on."""
    text = opened(client, invitation_path(ann)).content.decode()
    assert "Ann Hazel, choose a password, and you are in." in text
    assert 'autocomplete="username" value="ann"' in text
    assert text.count('autocomplete="new-password"') == 2
    assert choose(client, invitation_path(ann)).headers["Location"] == "/"
    assert in_as(client) == "ann"
    other = Client(headers={"host": "localhost"})
    other.post("/account/login/", {"login": "ann", "password": NEW})
    assert in_as(other) == "ann"


def test_the_key_does_not_stay_in_the_address(client: Client, ann: Person) -> None:
    """The page with the boxes has an address without the key, so that neither history nor referrer holds it."""
    path = invitation_path(ann)
    place = opened(client, path).request["PATH_INFO"]
    assert place != path
    assert place.endswith("-set-password/")
    assert Client(headers={"host": "localhost"}).get(place).content.decode().count(USED_UP) == 1


def test_a_link_works_once(client: Client, ann: Person) -> None:
    """A second use, by whomever, gets a page that says so and how to get another."""
    path = invitation_path(ann)
    choose(client, path)
    text = opened(Client(headers={"host": "localhost"}), path).content.decode()
    assert USED_UP in text
    assert "Ask the trainer or the secretary for another" in text


def test_looking_at_a_link_does_not_use_it_up(client: Client, ann: Person) -> None:
    """A messenger that fetches the link for a preview does not spend it."""
    path = invitation_path(ann)
    for _ in range(3):
        opened(Client(headers={"host": "localhost"}), path)
    assert choose(client, path).status_code == 302


def test_a_link_expires(client: Client, ann: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    """A link works until just before its time is over and not after."""
    path = invitation_path(ann)
    for shift, works in ((timedelta(minutes=-1), True), (timedelta(minutes=1), False)):
        later = datetime.now() + invitation_lasts() + shift  # noqa: DTZ005 (as Django's own)
        monkeypatch.setattr(PasswordResetTokenGenerator, "_now", lambda _, when=later: when)
        assert (USED_UP not in opened(client, path).content.decode()) is works


@pytest.mark.parametrize(
    "change", [{"trust": 2}, {"is_active": False}, {"erased_at": timezone.now()}, {"email": "new@yard.example"}]
)
def test_a_link_dies_with_what_it_rests_on(client: Client, ann: Person, change: dict[str, object]) -> None:
    """Lost trust, a closed sign-in, erasure and a new address end a link, also when its page is open already."""
    path = invitation_path(ann)
    place = opened(client, path).request["PATH_INFO"]
    Person.objects.filter(pk=ann.pk).update(**change)
    for answer in (opened(client, path), client.post(place, {"password1": NEW, "password2": NEW})):
        assert USED_UP in answer.content.decode()
    ann.refresh_from_db()
    assert not ann.has_usable_password()
    assert in_as(client) == ""


def test_a_tap_on_a_barn_phone_does_not_spend_a_link(client: Client, ann: Person) -> None:
    """Signing in by PIN before the link was used leaves the link as it is."""
    path = invitation_path(ann)
    Client(headers={"host": "localhost"}).force_login(ann)
    ann.refresh_from_db()
    assert ann.last_login is not None
    assert choose(client, path).status_code == 302


def test_a_key_is_one_persons(client: Client, ann: Person) -> None:
    """Neither an altered key nor one person's key under another's number opens anything."""
    path = invitation_path(ann)
    trainer = invitation_path(Person.objects.get(login="trainer"))
    number, key = re.search(r"key/(\w+)-(.+)/$", path).groups()
    other = re.search(r"key/(\w+)-", trainer).group(1)
    altered = key[:-1] + ("1" if key.endswith("0") else "0")
    for forged in (f"{other}-{key}", f"{number}-{altered}", f"{number}-x", "zzzzzz-a-b", "0-set-password"):
        assert USED_UP in opened(client, f"/account/password/reset/key/{forged}/").content.decode()


def test_whom_a_link_cannot_let_in(ann: Person) -> None:
    """There is no link for somebody without a sign-in name or with a closed one; the refusal names the person."""
    nameless = add_person("Bea Reed", ["owner"])
    with pytest.raises(CannotInviteError, match="Bea Reed, who has no sign-in name"):
        invitation_path(nameless)
    ann.is_active = False
    with pytest.raises(CannotInviteError, match="Ann Hazel, who may not sign in"):
        invitation_path(ann)


def test_a_link_signs_somebody_else_out(client_as: ClientAs, ann: Person) -> None:
    """Opened in a browser where somebody else is in, the link is its person's, and the other one is out."""
    browser = client_as("trainer")
    choose(browser, invitation_path(ann))
    assert in_as(browser) == "ann"


def test_a_poor_password_is_not_taken(client: Client, ann: Person) -> None:
    """The link asks again, and stays good."""
    path = invitation_path(ann)
    assert "too short" in choose(client, path, "short").content.decode()
    assert "too similar" in choose(client, path, "ann hazel").content.decode()
    assert choose(client, path).status_code == 302


def ask(browser: Client, email: str):
    return browser.post("/account/password/reset/", {"email": email}, follow=True)


def test_a_lost_password_is_renewed_by_letter(client: Client, ann: Person) -> None:
    """The letter goes to the address in the books, names the sign-in, and holds a link that works once."""
    ask(client, "ann.hazel@yard.EXAMPLE")
    (letter,) = mail.outbox
    assert letter.to == ["Ann.Hazel@Yard.example"]
    assert letter.subject == "A link to choose a new password"
    assert "sign-in name ann" in letter.body
    link = re.search(r"http://localhost(/\S+)", letter.body).group(1)
    assert choose(client, link).status_code == 302
    assert in_as(client) == "ann"
    assert mail.outbox[-1].subject == "Your password was changed"
    assert USED_UP in opened(Client(headers={"host": "localhost"}), link).content.decode()


def test_a_reset_does_not_tell_who_is_known(client: Client, ann: Person) -> None:
    """An address that nobody has, one of a closed sign-in and one in the books get the same page."""
    Person.objects.filter(login="rider").update(email="rider@yard.example", is_active=False)
    pages = [ask(client, email) for email in (ann.email, "nobody@yard.example", "rider@yard.example")]
    assert {page.redirect_chain[-1] for page in pages} == {("/account/password/reset/done/", 302)}
    assert len({page.content for page in pages}) == 1
    assert [letter.to for letter in mail.outbox] == [[ann.email]]


def test_those_who_share_an_address_each_get_a_link(client: Client, ann: Person) -> None:
    """Two people with one address get two letters, each with the own sign-in name."""
    add_person("Ben Hazel", ["rider"], login="ben", email="ann.hazel@yard.example")
    ask(client, "ann.hazel@yard.example")
    assert len(mail.outbox) == 2
    assert {re.search(r"sign-in name (\w+)", letter.body).group(1) for letter in mail.outbox} == {"ann", "ben"}


def test_a_letter_goes_to_the_address_in_the_books_only(client: Client, ann: Person) -> None:
    """A look-alike address does not bring somebody else's link: either nobody is found, or the letter goes home."""
    Person.objects.filter(pk=ann.pk).update(email="mike@yard.example")
    ask(client, "m\u0131ke@yard.example")  # a dotless i, whose capital is the same as that of i
    assert {address for letter in mail.outbox for address in letter.to} <= {"mike@yard.example"}


def test_without_a_mail_server_letters_are_files(client: Client, ann: Person, tmp_path: Path, settings) -> None:
    """As the settings stand, the letter lies in the library's folder, whole, for the trainer to hand over."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = tmp_path / "letters"
    ask(client, ann.email)
    (letter,) = (tmp_path / "letters").iterdir()
    link = re.search(r"http://localhost(/\S+)", letter.read_text()).group(1)
    assert "Ann Hazel, choose a password" in opened(client, link).content.decode()


class Refusing:
    """A mail server that takes nothing."""

    def __init__(self, *_: object, **__: object) -> None:
        pass

    def send_messages(self, _: object) -> int:
        raise ConnectionRefusedError


def test_a_mail_server_that_is_down_holds_nothing_up(client: Client, ann: Person, settings, caplog) -> None:
    """The page is the same, and the trouble stands in the log, without the address."""
    settings.EMAIL_BACKEND = f"{__name__}.Refusing"
    answer = ask(client, ann.email)
    assert answer.redirect_chain == [("/account/password/reset/done/", 302)]
    assert "could not be sent" in caplog.text
    assert ann.email not in caplog.text


def test_nothing_personal_is_copied(client: Client, ann: Person) -> None:
    """Resets and sign-ins leave no copy of an address outside the person's row."""
    from allauth.account.models import EmailAddress

    ask(client, ann.email)
    choose(client, invitation_path(ann))
    assert not EmailAddress.objects.exists()


def test_the_page_says_what_the_letter_does(client: Client) -> None:
    """Asking for a letter opens with a sentence, and says what to do where the yard sends no mail."""
    Yard.objects.update(fixed_day=None)
    text = client.get("/account/password/reset/").content.decode()
    assert "We send a link to your e-mail address" in text
    assert "ask the trainer or the secretary for a link" in text
    assert worlds.PASSWORD not in text
