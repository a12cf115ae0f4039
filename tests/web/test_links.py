"""Every link and every form of a page leads somewhere, as the page itself has them."""

import re
from collections.abc import Callable
from functools import cache
from html import unescape
from urllib.parse import urlsplit

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

import worlds
from programmed_yard import a_chance, engage_for, keep_chances, programmed
from upsides.books.models import Horse, Person
from walking import LINK, name_of, walk
from worlds import ClientAs

ACTION = re.compile(r'<form[^>]+method="post"[^>]*action="([^"]+)"|<form[^>]+action="([^"]+)"[^>]*method="post"')
NOT_SENT = {"account_logout"}
"""What would end the visit."""


@pytest.fixture
def browser(loaded: worlds.Yard, client_as: ClientAs) -> Client:
    """The trainer's, in a yard with a programme, engagements and chances."""
    horses, trainer = list(Horse.objects.order_by("pk")), Person.objects.get(login="trainer")
    for code in programmed(loaded.library):
        engage_for(horses[0], code, loaded.library, trainer)
        keep_chances(code, {horse.pk: a_chance() for horse in horses})
    return client_as("trainer")


def pages(browser: Client) -> dict[str, str]:
    """Return one page of each kind that links lead to, by its address."""
    found: dict[str, str] = {}

    def get(path: str) -> str | None:
        answer = browser.get(path)
        html = answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html")
        if html:
            found[path] = answer.content.decode()
        return found.get(path)

    first = walk(get, reverse("string"))["programme_race"].rstrip("/").rsplit("/", 1)[1]
    get(reverse("race_chance", args=[first, Horse.objects.order_by("pk")[0].pk]))
    return found


def each_kind(addresses: list[str]) -> dict[str | None, str]:
    """Return one address of each kind of page."""
    return {name_of(address): address for address in reversed(addresses)}


def lost(found: dict[str, str], links: Callable[[str], list[str]], asked: Callable[[str], int]) -> list[str]:
    """Return what on any of the pages leads nowhere, one of each kind and page."""
    left, asked = [], cache(asked)  # what stands on every page is asked once
    for path, page in found.items():
        kinds = each_kind([unescape(link) for link in links(page)])
        left += [f"{path}: {link}" for name, link in kinds.items() if name is None or asked(link) == 404]
    return left


def test_every_link_leads_somewhere(browser: Client) -> None:
    """No link on any page, one of each kind, leads to a page that is not there."""
    found = pages(browser)
    assert {"/", "/programme/"} <= found.keys()
    assert {"programme_race", "race_horse", "win_costs"} <= {name_of(path) for path in found}
    assert lost(found, LINK.findall, lambda link: browser.get(link).status_code) == []


def test_every_form_is_taken_where_it_is_sent(browser: Client) -> None:
    """No form on any page is sent to an address that is not there."""

    def sent(action: str) -> int:
        if name_of(action) in NOT_SENT:
            return 200
        with transaction.atomic():
            status = browser.post(action, {}).status_code
            transaction.set_rollback(True)
        return status

    def actions(page: str) -> list[str]:
        return [urlsplit(first or second).path for first, second in ACTION.findall(page)]

    found = pages(browser)
    assert sum(bool(actions(page)) for page in found.values()) > 10
    assert lost(found, actions, sent) == []
