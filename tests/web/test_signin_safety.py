import pytest
from django.core import mail
from django.http import HttpResponse
from django.test import Client, RequestFactory

import worlds
from upsides.books import settings as written
from upsides.books.models import Person
from upsides.web.signin.invitations import invitation_path
from upsides.web.signin.privacy import unkept_pages
from worlds import ClientAs

ELSEWHERE = [
    "https://else.where.example/",
    "http://else.where.example/",
    "//else.where.example",
    "///else.where.example",
    "/\\else.where.example",
    "\\\\else.where.example",
    "http:else.where.example",
    "https:///else.where.example",
    " https://else.where.example",
    "\thttps://else.where.example",
    "http://localhost@else.where.example/",
    "http://localhost.else.where.example/",
    "javascript:alert(1)",
    "data:text/html,x",
]


def given(browser: Client, method: str, path: str, form: dict[str, str]) -> str:
    """Return where an answer leads, empty for one that leads nowhere."""
    return getattr(browser, method)(path, form).headers.get("Location", "")


@pytest.mark.parametrize("target", ELSEWHERE)
def test_no_door_leads_elsewhere(client: Client, client_as: ClientAs, target: str) -> None:
    """Whatever stands in `next`, one never lands on another site: signing in, out, again, and in a demo."""
    password = {"login": "trainer", "password": worlds.PASSWORD, "next": target}
    led = [
        given(client, "post", "/account/login/", password),
        given(client, "get", "/account/login/", {"next": target}),
        given(client_as("vet"), "post", "/account/logout/", {"next": target}),
        given(Client(headers={"host": "localhost"}), "get", "/account/logout/", {"next": target}),
        given(client_as("vet"), "post", "/account/again/", {"password": worlds.PASSWORD, "next": target}),
        given(Client(headers={"host": "localhost"}), "post", "/account/login/demo/", {"role": "vet", "next": target}),
    ]
    assert led == ["/"] * len(led)


def test_next_leads_where_one_wanted_to_go(client: Client) -> None:
    """An address inside is kept over signing in, with its question."""
    asked = client.get("/horse/1/?as_of=2026-06-01").headers["Location"]
    assert asked == "/account/login/?next=/horse/1/%3Fas_of%3D2026-06-01"
    text = client.get(asked).content.decode()
    assert text.count('name="next" value="/horse/1/?as_of=2026-06-01"') == 1 + text.count('name="role"')
    form = {"login": "trainer", "password": worlds.PASSWORD, "next": "/horse/1/?as_of=2026-06-01"}
    assert client.post("/account/login/", form).headers["Location"] == "/horse/1/?as_of=2026-06-01"


def test_a_link_with_a_target_stays_here(client: Client) -> None:
    """A one-time link that was lengthened by another site's address does not lead there."""
    path = invitation_path(Person.objects.get(login="vet"))
    answer = client.get(path + "?next=https://else.where.example/")
    assert answer.headers["Location"].startswith("/account/password/reset/key/")
    form = {"password1": "late-lot-on-friday", "password2": "late-lot-on-friday", "next": "https://else.where.example/"}
    assert client.post(answer.headers["Location"], form).headers["Location"] == "/"


@pytest.mark.parametrize("host", ["else.where.example", "localhost.else.where.example", "localhost@else.where.example"])
def test_another_hosts_name_is_refused(db: None, host: str) -> None:
    """A request under a name that is not ours is refused before anything is done, so that no letter names it."""
    Person.objects.filter(login="vet").update(email="vet@yard.example")
    browser = Client(headers={"host": host})
    assert browser.post("/account/password/reset/", {"email": "vet@yard.example"}).status_code == 400
    assert browser.get("/account/login/").status_code == 400
    forwarded = Client(headers={"host": "localhost", "x-forwarded-host": host})
    forwarded.post("/account/password/reset/", {"email": "vet@yard.example"})
    assert [letter.body.count(host) for letter in mail.outbox] == [0]


def test_nothing_is_kept_that_does_not_say_so() -> None:
    """An answer that says nothing about keeping may be kept by nobody; one that says something is left as it is."""
    asked = RequestFactory().get("/")
    plain = unkept_pages(lambda _: HttpResponse("figures"))(asked)
    assert plain.headers["Cache-Control"] == "private, no-store"
    kept = unkept_pages(lambda _: HttpResponse("style", headers={"Cache-Control": "max-age=60"}))(asked)
    assert kept.headers["Cache-Control"] == "max-age=60"


def test_style_sheets_may_be_kept(client: Client, static_files: None) -> None:
    """What is the same for everybody is kept: a style sheet's address names its content."""
    text = client.get("/account/login/").content.decode()
    address = text.split('rel="stylesheet" href="')[1].split('"')[0]
    answer = client.get(address)
    assert answer.status_code == 200
    assert "no-store" not in answer.headers["Cache-Control"]


def test_passwords_are_kept_by_argon2() -> None:
    """The settings name Argon2 and nothing weaker."""
    assert written.PASSWORD_HASHERS == ["django.contrib.auth.hashers.Argon2PasswordHasher"]
