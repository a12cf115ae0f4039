"""Horses of ours that a card written down does not name though they are in the race, and those that only it names."""

from datetime import timedelta
from pathlib import Path

import pytest
from django.test import Client

import worlds
from medicine_yard import boosted
from programmed_yard import a_chance, code_of, engage_for, keep_chances, marked, programmed
from upsides.books import clock
from upsides.books.models import Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.chances_standing import chances_standing
from upsides.books.queries.chances_wanted import wanted_races
from upsides.books.services.race_day import write_runners
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture
def pair(loaded: worlds.Yard) -> tuple[Horse, Horse]:
    """The two horses in training; the first is entered for a handicap in eight days."""
    first, second = Horse.objects.order_by("pk")[:2]
    Horse.objects.exclude(pk__in=[first.pk, second.pk]).update(left="2026-01-01", joined="2025-01-01")
    programmed(loaded.library)
    for one in (first, second):
        boosted(marked(one), clock.today() - timedelta(days=30))
    engage_for(first, sedge(loaded.library), loaded.library, Person.objects.get(login="trainer"), "enter")
    return first, second


def sedge(folder: Path) -> str:
    return code_of(folder, "Sedge Handicap")


def page(browser: Client, address: str) -> str:
    return " ".join(browser.get(address).content.decode().split())


def test_entries_without_ours_are_told_while_they_can_be_put_right(
    client_as: ClientAs, loaded: worlds.Yard, pair: tuple[Horse, Horse]
) -> None:
    """While entries are open the race's page and the horse's say that it is missing and until when it can be entered;
    without a card, and once the card names it, nothing is said."""
    first, code, browser = pair[0], sedge(loaded.library), client_as("trainer")
    pages = [f"/programme/race/{code}/", f"/programme/race/{code}/horse/{first.pk}/"]
    words = "entries that are written down do not name"
    assert not any(words in page(browser, one) for one in pages)
    write_runners(loaded.library, code, "Marram 9-0\nSea Holly 8-12")
    for one in pages:
        assert words in page(browser, one)
        assert "It can still be entered until" in page(browser, one)
    write_runners(loaded.library, code, f"Marram 9-0\n{first.name} 8-12")
    assert not any(words in page(browser, one) for one in pages)


def test_a_horse_left_off_a_settled_card_has_no_run(
    client_as: ClientAs, loaded: worlds.Yard, pair: tuple[Horse, Horse]
) -> None:
    """Once stalls are drawn a horse that the card does not name has no run as the card stands: that is said with what
    to do, its chance is told no more and worked out no more."""
    first, code, browser = pair[0], sedge(loaded.library), client_as("trainer")
    keep_chances(code, {first.pk: a_chance()})
    assert first.pk in chances_standing(loaded.library, moments.now(), [code])[code].horses
    write_runners(loaded.library, code, "Marram 4 9-0\nSea Holly 2 8-12")
    standing = chances_standing(loaded.library, moments.now(), [code])[code]
    assert (dict(standing.horses), standing.unnamed) == ({}, frozenset({first.pk}))
    assert code not in {one.code for one in wanted_races(loaded.library, moments.now())}
    told = page(browser, f"/programme/race/{code}/")
    assert f"The card does not name {first.name} (entered)" in told
    assert "no run as the card stands" in told
    assert "take the horse out here" in told
    assert "no chance is told" in page(browser, f"/programme/race/{code}/horse/{first.pk}/")


def test_a_horse_that_was_sold_is_told_with_its_deadlines(
    client_as: ClientAs, loaded: worlds.Yard, pair: tuple[Horse, Horse]
) -> None:
    """A horse that leaves the yard after it was entered stands among the deadlines, and on the race's page, with that;
    one that stays does not."""
    first, code, browser = pair[0], sedge(loaded.library), client_as("trainer")
    assert "may not run" not in page(browser, "/deadlines/")
    Horse.objects.filter(pk=first.pk).update(left=clock.today())
    told = page(browser, "/deadlines/")
    assert "By what is known now it may not run: It left the yard on" in told
    assert "It left the yard on" in page(browser, f"/programme/race/{code}/")


def test_a_horse_that_only_the_card_names_is_told(
    client_as: ClientAs, loaded: worlds.Yard, pair: tuple[Horse, Horse]
) -> None:
    """A horse of ours that the card names and of which nothing was written down is named."""
    first, second = pair
    write_runners(loaded.library, sedge(loaded.library), f"{first.name} 9-0\n{second.name} 8-12")
    told = page(client_as("trainer"), f"/programme/race/{sedge(loaded.library)}/")
    assert f"The card names {second.name} of ours" in told
