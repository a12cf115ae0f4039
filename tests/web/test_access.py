"""Every address, for everybody: who may open it, and what every answer carries."""

import re
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from html.parser import HTMLParser
from importlib import import_module
from pathlib import Path
from urllib.parse import quote

import pytest
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

import upsides.web
import worlds
from access_opinion import AT_THE_DOOR, KEPT, OPINION, TOKENLESS
from access_rows import example_rows
from upsides.books.models import (
    Horse,
    Person,
    Role,
)
from upsides.books.services.people import add_person
from upsides.web.shell.access import AREAS, access
from upsides.web.signin.urls import ON_OWN_DEVICE
from worlds import ClientAs

NOBODY = ""
BARN = frozenset({Role.HEAD_PERSON, Role.CARER, Role.RIDER})
UNMARKED = "a form without its page's token"
OPENED = {200, 204, 302, 303, 400, 401, 404, 405, 409, 422}
"""Answers of a page to somebody who may open it; 404 for rows that are not there, 405 for a GET of a button,
401 for a device without its key."""


@dataclass(frozen=True)
class Address:
    """One address: the page's name, the path with example arguments, the area that it belongs to."""

    name: str
    path: str
    area: str


@dataclass(frozen=True)
class Answer:
    """What somebody got."""

    name: str
    path: str
    method: str
    status: int
    headers: dict[str, str]
    text: str

    @property
    def html(self) -> bool:
        return self.headers.get("Content-Type", "").startswith("text/html")


def patterns(within: list[object], before: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Yield every pattern with what stands before it, those of included lists too."""
    for one in within:
        if isinstance(one, URLResolver):
            yield from patterns(one.url_patterns, before + str(one.pattern))
        else:
            yield before, one


ALL = list(patterns(get_resolver().url_patterns))


@pytest.fixture
def rows(loaded: worlds.Yard) -> dict[str, dict[str, object]]:
    """Rows to make addresses of, by area; none is anybody's who looks here."""
    return example_rows(loaded)


def addresses(rows: dict[str, dict[str, object]]) -> list[Address]:
    """Return every address there is, with arguments that name rows where there are such."""
    found = []
    for before, pattern in ALL:
        given = rows[area_of(pattern)]
        wanted = {*pattern.pattern.converters, *re.findall(r"\(\?P<(\w+)>", str(pattern.pattern))}
        values = {part: given.get(str(pattern.name) if part == "number" else part, given.get(part)) for part in wanted}
        values = {part: 1 if value is None else value for part, value in values.items()}
        assert not before
        found.append(Address(str(pattern.name), reverse(str(pattern.name), kwargs=values), area_of(pattern)))
    return found


def area_of(pattern: URLPattern) -> str:
    """Return the area in whose list an address stands."""
    return next(area for area in AREAS if pattern in import_module(f"upsides.web.{area}.urls").urlpatterns)


def browser_of(client_as: ClientAs, login: str, *, barn: bool = False) -> Client:
    if login == NOBODY:
        return Client(headers={"host": "localhost"})
    browser = client_as(login)
    if barn:
        session = browser.session
        session["barn"] = True
        session.save()
    return browser


OF_OWN = ("horse", "horse_pedigree", "horse_trip", "horse_condition", "horse_plan", "horse_races", "pictures")
"""Pages about a horse that an owner may open of his own."""

WALKED: dict[tuple[str, bool], list[Answer]] = {}
"""What was got; looking twice would tell nothing new."""


@pytest.fixture
def walk(client_as: ClientAs, rows: dict[str, dict[str, object]]) -> Callable[..., list[Answer]]:
    """Return what somebody gets at every address, by GET and by POST; what a POST does is undone."""

    def got(address: Address, method: str, signed_in: Client) -> Answer:
        browser = Client(headers={"host": "localhost"})
        browser.handler, browser.cookies = signed_in.handler, deepcopy(signed_in.cookies)
        with transaction.atomic():
            answer = getattr(browser, method)(address.path)
            text = b"".join(answer.streaming_content) if answer.streaming else answer.content
            transaction.set_rollback(True)
        words = text.decode(errors="replace")
        return Answer(address.name, address.path, method, answer.status_code, dict(answer.headers), words)

    def walked(login: str, *, barn: bool = False) -> list[Answer]:
        if (login, barn) not in WALKED:
            todo = [(address, method) for address in addresses(rows) for method in ("get", "post")]
            signed_in = browser_of(client_as, login, barn=barn)
            signed_in.get(reverse("string"))  # its device is entered once, not at every address
            WALKED[login, barn] = [got(address, method, signed_in) for address, method in todo]
        return WALKED[login, barn]

    return walked


def test_every_address_is_listed_and_every_listing_has_an_address() -> None:
    """Every address has a name, no name is given twice, and the list of who may open what holds just these names."""
    names = [str(pattern.name) for _, pattern in ALL]
    assert "None" not in names
    assert len(set(names)) == len(names)
    assert set(access()) == set(names)


def test_every_area_is_looked_at() -> None:
    """No folder of the pages has addresses that this walk does not know."""
    folder = Path(upsides.web.__file__).parent
    assert {place.parent.name for place in folder.glob("*/urls.py")} == set(AREAS)
    assert len(ALL) == sum(len(import_module(f"upsides.web.{area}.urls").urlpatterns) for area in AREAS)


def test_main_pages_are_open_to_whom_they_should_be() -> None:
    """Who may open the main pages agrees with what stands here, and nothing is open to strangers that is not here."""
    assert {name: access()[name] for name in OPINION} == OPINION
    assert {name for name, wanted in access().items() if wanted is None} == AT_THE_DOOR


def test_strangers_are_sent_to_the_door(walk: Callable[..., list[Answer]]) -> None:
    """Somebody who has not signed in gets the sign-in page for every address that is not open to anyone."""
    wrong = []
    for answer in walk(NOBODY):
        if access()[answer.name] is None:
            right = answer.status in OPENED
        else:
            door = f"{reverse('account_login')}?next={quote(answer.path)}"
            right = (answer.status, answer.headers.get("Location")) == (302, door)
        wrong += [] if right else [(answer.method, answer.name, answer.status)]
    assert wrong == []


def opens(answer: Answer, roles: frozenset[Role], *, barn: bool = False) -> bool:
    """Return whether an answer is what somebody with these roles should get."""
    wanted = access()[answer.name]
    if barn and answer.name in ON_OWN_DEVICE:
        return answer.status == 403
    if wanted is not None and not wanted & roles:
        return answer.status == 403
    if answer.status in {302, 303}:
        place = answer.headers["Location"]
        return place.startswith("/") and not place.startswith("//") and "login/?next" not in place
    return answer.status in OPENED


@pytest.mark.parametrize("role", list(Role))
def test_every_role_opens_what_is_listed_for_it(walk: Callable[..., list[Answer]], role: Role) -> None:
    """At every address a role gets a page or is refused, just as the list says, and nothing breaks."""
    wrong = [
        (answer.method, answer.name, answer.status)
        for answer in walk(role.value)
        if not opens(answer, frozenset({role}))
    ]
    assert wrong == []


@pytest.mark.parametrize("role", [Role.TRAINER, Role.RIDER])
def test_a_barn_phone_opens_no_more_than_barn_roles(walk: Callable[..., list[Answer]], role: Role) -> None:
    """On a barn phone a trainer is somebody who looks after horses, and nobody's own sign-in can be changed."""
    roles = frozenset({role}) & BARN or frozenset({Role.CARER})
    wrong = [
        (answer.method, answer.name, answer.status)
        for answer in walk(role.value, barn=True)
        if not opens(answer, roles, barn=True)
    ]
    assert wrong == []


@pytest.mark.parametrize("role", list(Role))
def test_main_pages_open(client_as: ClientAs, rows: dict[str, dict[str, object]], role: Role) -> None:
    """With rows that are there, a main page opens whole for everybody who may open it."""
    browser = client_as(role.value)
    own = Horse.objects.order_by("pk")[0]
    paths = {address.name: address.path for address in addresses(rows)}
    paths |= {name: reverse(name, args=[own.pk]) for name in OF_OWN}
    found = {name: browser.get(paths[name]).status_code for name in OPINION}
    wanted = {name: 200 if role in roles else 403 for name, roles in OPINION.items()}
    assert found == wanted | ({"morning": 302} if role == Role.OWNER else {})  # led to the string


def test_an_owner_is_not_told_of_others_horses(client_as: ClientAs, rows: dict[str, dict[str, object]]) -> None:
    """A horse that is not the owner's is as if it were not there: the same page as for a number that nobody has."""
    own, others, beyond = *Horse.objects.order_by("pk").values_list("pk", flat=True)[:2], 10**6
    browser = client_as("owner")
    own_pages = {name for name, roles in access().items() if roles and Role.OWNER in roles}
    horse_pages = [name for _, pattern in ALL if (name := str(pattern.name)).startswith("horse") and name in own_pages]
    assert "horse" in horse_pages
    for name in horse_pages:
        pages = [browser.get(reverse(name, args=[number])) for number in (own, others, beyond)]
        assert [page.status_code for page in pages[1:]] == [404, 404]
        assert pages[0].status_code == 200 or name != "horse"  # its figures are another matter
        closed, missing = (
            re.sub(rf'(?<=horse[ /]){number}\b|value="\w{{64}}"', "", page.content.decode())
            for page, number in zip(pages[1:], (others, beyond), strict=True)
        )
        assert closed == missing
        assert Horse.objects.get(pk=others).name not in browser.get(reverse("string")).content.decode()
        assert client_as("trainer").get(reverse(name, args=[others])).status_code == 200


def test_a_person_without_a_part_gets_nowhere(client_as: ClientAs) -> None:
    """Somebody who can sign in but is there for nothing is refused every page but the doors."""
    add_person("Nobody's Child", [Role.VET], login="none").posts.all().delete()
    for name in ("string", "me", "diary", "people", "account_change_password"):
        assert client_as("none").get(reverse(name)).status_code == 403


class Inline(HTMLParser):
    """Collects what a page must not hold: anything inline, from elsewhere, or a form without its token."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._posting = self._token = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        self.found += [f"<{tag} {name}>" for name in values if name == "style" or name.startswith("on")]
        if tag == "style" or (tag == "script" and "src" not in values and values.get("type") != "application/json"):
            self.found.append(f"<{tag}>")
        for name in ("src", "href", "action", "formaction", "data"):
            value = values.get(name)
            if value and re.match(r"\s*(?!otpauth:)([a-z]+:|//)", value, flags=re.IGNORECASE):
                self.found.append(f"<{tag} {name}={value[:60]}>")
        if tag == "form":
            self._posting, self._token = str(values.get("method", "")).lower() == "post", False
        self._token = self._token or values.get("name") == "csrfmiddlewaretoken"

    def handle_endtag(self, tag: str) -> None:
        if tag == "form" and self._posting and not self._token:
            self.found.append(UNMARKED)


def inline(text: str) -> list[str]:
    page = Inline()
    page.feed(text)
    return page.found


def test_the_look_for_inline_things_finds_them() -> None:
    """What the next tests look for is found where it is."""
    for bad in (
        "<p style='x'>", "<a onclick='x'>", "<script>x</script>", "<style>x</style>", "<img src='data:x'>",
        "<a href=' javascript:x'>", "<script src='//else.where/x.js'></script>", "<form method=POST></form>",
    ):  # fmt: skip
        assert len(inline(bad)) == 1, bad
    assert inline("<form method=post><input name=csrfmiddlewaretoken></form><a href='/x'></a>") == []


@pytest.mark.parametrize("login", [NOBODY, Role.TRAINER.value, Role.RIDER.value, Role.OWNER.value])
def test_every_answer_is_strict(walk: Callable[..., list[Answer]], login: str) -> None:
    """Every answer forbids what is not ours, every page holds nothing inline, and nothing personal is kept anywhere."""
    wrong = []
    for answer in walk(login):
        policy = dict(part.strip().split(" ", 1) for part in answer.headers["Content-Security-Policy"].split(";"))
        text = answer.text if answer.html else ""
        faults = [fault for fault in inline(text) if answer.name not in KEPT or fault != UNMARKED]
        if policy["default-src"] != "'none'" or "unsafe" in str(policy) or policy["frame-ancestors"] != "'none'":
            faults.append(str(policy))
        faults += [f"{name} {value}" for name, value in policy.items() if value not in {"'none'", "'self'"}]
        carried = {"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "same-origin"}
        faults += [name for name, value in carried.items() if answer.headers.get(name) != value]
        kept = answer.headers.get("Cache-Control", "")
        if answer.name not in KEPT and not ("no-store" in kept and "public" not in kept):
            faults.append(f"Cache-Control: {kept}")
        wrong += [(answer.method, answer.name, answer.status, fault) for fault in faults]
    assert wrong == []


def test_everything_sent_needs_its_pages_token(rows: dict[str, dict[str, object]]) -> None:
    """Nothing can be sent from another site: without the page's token every POST is refused, on a page of ours."""
    browser = Client(enforce_csrf_checks=True, headers={"host": "localhost"})
    browser.force_login(Person.objects.get(login="trainer"))
    taken = set()
    for address in addresses(rows):
        answer = browser.post(address.path)
        if answer.status_code != 403:
            taken.add(address.name)
            continue
        assert "That page had gone stale" in answer.content.decode()
        assert inline(answer.content.decode()) == []
    assert taken == TOKENLESS
