import re
import subprocess
import sys
from pathlib import Path

import pytest
from allauth import urls as everything
from django.core import mail
from django.core.cache import cache
from django.test import Client
from django.urls import NoReverseMatch, URLPattern, URLResolver, reverse
from django.utils import timezone

import worlds
from fresh import fresh
from upsides.books import settings as written
from upsides.books.models import Person, Yard
from upsides.web.signin.adapter import ClosedAccounts
from upsides.web.signin.urls import ACCESS
from worlds import ClientAs

WRONG = "That sign-in name and that password do not belong together."
WAIT = "There were too many wrong tries."


def sign_in(browser: Client, login: str, password: str = worlds.PASSWORD, **more: str):
    return browser.post("/account/login/", {"login": login, "password": password, **more})


def inside(browser: Client) -> str:
    """Return who is signed in, empty for nobody."""
    number = browser.session.get("_auth_user_id")
    if browser.get("/account/devices/").status_code != 200:
        return ""
    return Person.objects.get(pk=number).login


@pytest.mark.parametrize("typed", ["trainer", "TRAINER", "  Trainer "])
def test_name_and_password_let_in(client: Client, typed: str) -> None:
    """The sign-in name counts however it is capitalised or spaced, and one lands on the string."""
    answer = sign_in(client, typed)
    assert (answer.status_code, answer.headers["Location"]) == (302, "/")
    assert inside(client) == "trainer"


def test_a_password_counts_letter_by_letter(client: Client) -> None:
    """A password with a blank before it, or in capitals, is another password."""
    for typed in (" " + worlds.PASSWORD, worlds.PASSWORD + " ", worlds.PASSWORD.upper()):
        assert WRONG in sign_in(client, "trainer", typed).content.decode()
    assert inside(client) == ""


def test_a_wrong_try_does_not_tell_what_was_wrong(client: Client) -> None:
    """A name that nobody has and a wrong password get the same page, word for word."""
    Yard.objects.update(fixed_day=None)
    pages = set()
    for login in ("vet", "nobody"):
        text = sign_in(client, login, "not-the-password").content.decode()
        assert WRONG in text
        pages.add(re.sub(rf'value="({login}|\w{{64}})"', "", text))
    assert len(pages) == 1


@pytest.mark.parametrize("change", [{"is_active": False}, {"erased_at": timezone.now()}])
def test_who_is_shut_out_is_told_so(client: Client, change: dict[str, object]) -> None:
    """Somebody whose sign-in is closed, or who was erased, is told so after the right password, and is not in."""
    Person.objects.filter(login="rider").update(**change)
    answer = client.post("/account/login/", {"login": "rider", "password": worlds.PASSWORD}, follow=True)
    assert answer.redirect_chain == [("/account/inactive/", 302)]
    assert "The yard has closed this sign-in" in answer.content.decode()
    assert inside(client) == ""
    assert WRONG in sign_in(client, "rider", "not-the-password").content.decode()


@pytest.mark.parametrize("change", [{"is_active": False}, {"erased_at": timezone.now()}])
def test_who_is_shut_out_while_inside_is_out_at_once(client: Client, change: dict[str, object]) -> None:
    """Closing a sign-in, or erasing a person, ends what is open at the next page."""
    sign_in(client, "rider")
    assert inside(client) == "rider"
    Person.objects.filter(login="rider").update(**change)
    assert inside(client) == ""


def test_password_managers_are_helped(client: Client) -> None:
    """The boxes say what they are for, and nothing forbids filling in or pasting."""
    text = client.get("/account/login/").content.decode()
    assert 'autocomplete="username"' in text
    assert 'autocomplete="current-password"' in text
    assert 'autocomplete="off"' not in text
    assert "onpaste" not in text


def test_signing_out_takes_a_button(client_as: ClientAs) -> None:
    """Looking at the page of signing out changes nothing; pressing its button does."""
    browser = client_as("vet")
    assert "You are signed in here as" in browser.get("/account/logout/").content.decode()
    assert inside(browser) == "vet"
    assert browser.post("/account/logout/").headers["Location"] == "/"
    assert inside(browser) == ""


def test_guessing_is_slowed(client: Client) -> None:
    """After ten wrong tries a name waits, even with the right password; other names do not."""
    for _ in range(10):
        assert WRONG in sign_in(client, "trainer", "not-the-password").content.decode()
    assert WAIT in sign_in(client, "trainer").content.decode()
    assert WAIT in sign_in(client, "TRAINER ").content.decode()
    assert inside(client) == ""
    assert sign_in(client, "vet").status_code == 302


def test_right_tries_are_not_counted_as_wrong_ones(client: Client) -> None:
    """Somebody who signs in often never has to wait for it."""
    for _ in range(12):
        assert sign_in(client, "trainer").status_code == 302
        client.post("/account/logout/")


def test_haste_gets_a_calm_page(client: Client) -> None:
    """What is asked for too often is shut for a while, with our own page and the status that says so."""
    for _ in range(3):
        client.post("/account/password/reset/", {"email": "a@yard.example"})
    answer = client.post("/account/password/reset/", {"email": "A@yard.example"})
    assert answer.status_code == 429
    assert "so this is shut for a few minutes" in answer.content.decode()
    assert 'class="wordmark"' in answer.content.decode()


TRIES = """
from pathlib import Path
import os, sys
from upsides.books.services import opening
getattr(opening, sys.argv[1])(Path(os.environ["UPSIDES_LIBRARY"]))
from django.test import Client
from upsides.books.models import Person, Yard
from upsides.books.services.people import add_person
if not Person.objects.exists():
    add_person("Ann", ["trainer"], login="ann", password="quiet-stable-morning")
browser = Client(headers={"host": "localhost"})
for number in range(6):
    text = browser.post("/account/login/", {"login": "ann", "password": "wrong"}).content.decode()
print("waits" if "too many wrong tries" in text else "asks")
"""


def test_all_processes_count_together(tmp_path: Path) -> None:
    """Six wrong tries in one process and six in another make more than ten."""
    with fresh(tmp_path, ready=True) as env:
        said = [
            subprocess.run([sys.executable, "-c", TRIES, how], env=env, capture_output=True, text=True, check=True)
            for how in ("open_books", "connect_books")
        ]
    assert [one.stdout.split()[-1] for one in said] == ["asks", "waits"]


def test_a_new_password_is_kept_by_argon2(client: Client, settings) -> None:
    """With the hashers that the settings name, a changed password is stored as Argon2id."""
    settings.PASSWORD_HASHERS = written.PASSWORD_HASHERS
    person = Person.objects.get(login="trainer")
    person.set_password(worlds.PASSWORD)
    person.save()
    sign_in(client, "trainer")
    new = {"oldpassword": worlds.PASSWORD, "password1": "late-lot-on-friday", "password2": "late-lot-on-friday"}
    assert client.post("/account/password/change/", new).status_code == 302
    person.refresh_from_db()
    assert person.password.startswith("argon2$argon2id$")
    assert person.check_password("late-lot-on-friday")


def test_a_new_password_ends_what_is_open_elsewhere(client: Client, client_as: ClientAs) -> None:
    """After a change one is in where one changed it and nowhere else, and a letter tells of it."""
    Person.objects.filter(login="trainer").update(email="trainer@yard.example")
    elsewhere = client_as("trainer")
    sign_in(client, "trainer")
    new = {"oldpassword": worlds.PASSWORD, "password1": "late-lot-on-friday", "password2": "late-lot-on-friday"}
    answer = client.post("/account/password/change/", new, follow=True)
    assert "Your password is changed." in answer.content.decode()
    assert (inside(client), inside(elsewhere)) == ("trainer", "")
    assert [(letter.to, letter.subject) for letter in mail.outbox] == [
        (["trainer@yard.example"], "Your password was changed")
    ]


def test_signing_in_is_no_change_of_a_person(client: Client) -> None:
    """Neither a sign-in nor a new password leaves a row in the person's history."""
    before = Person.history.count()
    sign_in(client, "trainer")
    text = client.get("/account/password/change/").content.decode()
    assert 'autocomplete="current-password"' in text
    new = {"oldpassword": worlds.PASSWORD, "password1": "late-lot-on-friday", "password2": "late-lot-on-friday"}
    assert client.post("/account/password/change/", new).status_code == 302
    assert Person.history.count() == before


@pytest.mark.parametrize(
    ("old", "new", "again", "said"),
    [
        ("not-mine", "late-lot-on-friday", "late-lot-on-friday", "This is not your present password."),
        (worlds.PASSWORD, "short", "short", "too short"),
        (worlds.PASSWORD, "password123", "password123", "too common"),
        (worlds.PASSWORD, "trainer one1", "trainer one1", "too similar"),
        (worlds.PASSWORD, "late-lot-on-friday", "late-lot-on-fridax", "same password each time"),
    ],
)
def test_a_poor_new_password_is_refused(client_as: ClientAs, old: str, new: str, again: str, said: str) -> None:
    """A password that would be guessed, or was mistyped, or is asked for by somebody else, changes nothing."""
    answer = client_as("trainer").post(
        "/account/password/change/", {"oldpassword": old, "password1": new, "password2": again}
    )
    assert said in answer.content.decode()
    assert Person.objects.get(login="trainer").check_password(worlds.PASSWORD)


def test_who_has_no_password_is_told_how_to_get_one(client_as: ClientAs) -> None:
    """Changing a password that one does not have is refused in words, not by an error."""
    person = Person.objects.get(login="carer")
    person.set_unusable_password()
    person.save()
    answer = client_as("carer").get("/account/password/change/")
    assert answer.status_code == 400
    assert "ask the trainer for a link to sign in" in answer.content.decode()


def patterns_of(resolver: object, before: str = "") -> list[tuple[str, str]]:
    """Return the name and the address of every pattern, those of included lists too."""
    found = []
    for pattern in resolver:
        place = before + str(pattern.pattern).lstrip("^").rstrip("$")
        if isinstance(pattern, URLResolver):
            found += patterns_of(pattern.url_patterns, place)
        elif isinstance(pattern, URLPattern):
            found.append((str(pattern.name), place))
    return found


def test_nobody_can_sign_up(client: Client) -> None:
    """Of all addresses that allauth has, those that are not listed here do not exist, signing up among them."""
    known = patterns_of(everything.urlpatterns)
    unused = [(name, place) for name, place in known if name not in ACCESS]
    assert {"account_signup", "account_email", "account_set_password", "account_confirm_email"} <= {
        n for n, _ in unused
    }
    for name, place in unused:
        with pytest.raises(NoReverseMatch):
            reverse(name, kwargs={"key": "x"} if "key" in place else {})
    before = Person.objects.count()
    form = {"username": "stranger", "password1": "quiet-stable-morning", "email": "s@yard.example"}
    for place in ("signup/", "email/", "3rdparty/signup/", "signup/passkey/", "password/set/"):
        assert client.post(f"/account/{place}", form).status_code == 404
    assert Person.objects.count() == before
    assert not ClosedAccounts().is_open_for_signup(None)


def test_many_other_tries_do_not_wipe_the_count(client: Client) -> None:
    """Whoever floods the count of wrong tries with other names does not set one name's count back to nothing."""
    for _ in range(10):
        sign_in(client, "trainer", "not-the-password")
    for number in range(400):
        cache.set(f"zz{number}", [], 600)
    assert WAIT in sign_in(client, "trainer").content.decode()
