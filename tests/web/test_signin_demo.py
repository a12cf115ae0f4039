import re

import pytest
from django.test import Client

from upsides.books.models import Person, Role, Yard
from upsides.books.services.invented import DEMO_PASSWORD
from upsides.books.services.people import add_person
from upsides.web.signin.demo import WORDS
from worlds import ClientAs


@pytest.fixture
def real(db: None) -> None:
    """The yard is a real one."""
    Yard.objects.update(fixed_day=None)


def login_page(browser: Client) -> str:
    return browser.get("/account/login/").content.decode()


def who(browser: Client) -> str:
    number = browser.session.get("_auth_user_id")
    return Person.objects.get(pk=number).login if number else ""


def test_an_invented_yard_shows_its_sign_ins(client: Client) -> None:
    """There is one button a role, the trainer's first, with names, sign-in names and the password that all have."""
    text = login_page(client)
    assert re.findall(r'name="role" value="(\w+)"', text) == [role.value for role in WORDS]
    assert next(iter(WORDS)) is Role.TRAINER
    assert set(WORDS) == set(Role)
    assert "Come in as the trainer" in text
    for role in Role:
        person = Person.objects.get(login=role.value)
        assert f"{person.name}, sign-in name <b>{person.login}</b>" in text
    assert f"<code>{DEMO_PASSWORD}</code>" in text


@pytest.mark.parametrize("role", list(Role))
def test_a_button_lets_one_in_as_that_role(client: Client, role: Role) -> None:
    """One press, and one is somebody with that role, on the string."""
    answer = client.post("/account/login/demo/", {"role": role.value})
    assert answer.headers["Location"] == "/"
    assert who(client) == role.value
    assert client.get("/account/devices/").status_code == 200


def test_a_real_yard_has_no_such_thing(client: Client, real: None) -> None:
    """In a real yard there is no button, no password, and pressing it anyway finds nothing."""
    text = login_page(client)
    assert 'name="role"' not in text
    assert DEMO_PASSWORD not in text
    for role in Role:
        assert client.post("/account/login/demo/", {"role": role.value}).status_code == 404
    assert who(client) == ""


def test_books_without_a_yard_have_no_such_thing(client: Client) -> None:
    """Before there is a yard, nobody is let in without a password."""
    Yard.objects.all().delete()
    assert 'name="role"' not in login_page(client)
    assert client.post("/account/login/demo/", {"role": "trainer"}).status_code == 404
    assert who(client) == ""


@pytest.mark.parametrize("role", ["", "nobody", "trainer'--", "TRAINER"])
def test_only_its_roles_are_let_in(client: Client, role: str) -> None:
    """What is no role lets nobody in."""
    assert client.post("/account/login/demo/", {"role": role}).status_code == 404
    assert who(client) == ""


def test_looking_is_not_pressing(client: Client) -> None:
    """A link to the button's address does nothing."""
    assert client.get("/account/login/demo/", {"role": "trainer"}).status_code == 405
    assert who(client) == ""


def test_a_button_needs_its_page(db: None) -> None:
    """Another site cannot press it: without the page's token it is refused."""
    browser = Client(enforce_csrf_checks=True, headers={"host": "localhost"})
    assert browser.post("/account/login/demo/", {"role": "trainer"}).status_code == 403
    assert who(browser) == ""


def test_who_is_shut_out_has_no_button(client: Client) -> None:
    """A closed sign-in is not offered; of several people with a role it is one who has few others."""
    Person.objects.filter(login="vet").update(is_active=False)
    add_person("Rider And More", ["rider", "carer", "trainer"], login="aaa")
    text = login_page(client)
    assert 'value="vet"' not in text
    assert "sign-in name <b>rider</b>" in text
    assert "<b>aaa</b>" not in text
    assert client.post("/account/login/demo/", {"role": "vet"}).status_code == 404


def test_pressing_another_button_makes_one_somebody_else(client_as: ClientAs) -> None:
    """Whoever is in as one person comes in as another afresh, with nothing of the first one's session."""
    browser = client_as("trainer")
    session = browser.session
    session["left"] = "behind"
    session.save()
    browser.post("/account/login/demo/", {"role": "owner"})
    assert who(browser) == "owner"
    assert "left" not in browser.session
