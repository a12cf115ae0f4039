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
from upsides.books.queries.pace import early_places
from upsides.books.services.race_day import write_runners
from upsides.results.race_cards import read_card
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
    assert "By what is known now it may not run: It is not in the yard from" in told
    assert "It is not in the yard from" in page(browser, f"/programme/race/{code}/")
    assert f"{first.name} is not in the yard from" in page(browser, f"/horse/{first.pk}/races/")
    told = page(browser, f"/programme/race/{code}/horse/{first.pk}/")
    assert "It is taken out" in told
    assert "It is declared" not in told


def test_a_horse_that_only_the_card_names_is_told(
    client_as: ClientAs, loaded: worlds.Yard, pair: tuple[Horse, Horse]
) -> None:
    """A horse of ours that the card names and of which nothing was written down is named."""
    first, second = pair
    write_runners(loaded.library, sedge(loaded.library), f"{first.name} 9-0\n{second.name} 8-12")
    told = page(client_as("trainer"), f"/programme/race/{sedge(loaded.library)}/")
    assert f"The card names {second.name} of ours" in told


@pytest.mark.parametrize("written", ["{} (IRE)", "{} (ire) 3", "{}"])
def test_a_card_in_capitals_or_with_the_country_names_it_all_the_same(
    client_as: ClientAs, loaded: worlds.Yard, pair: tuple[Horse, Horse], written: str
) -> None:
    """However a card writes a name, it is our horse: nothing is missing, its chance stands, and it is no rival of its
    own on race day."""
    first, code, browser = pair[0], sedge(loaded.library), client_as("trainer")
    keep_chances(code, {first.pk: a_chance()})
    write_runners(loaded.library, code, f"{written.format(first.name.upper())} 9-1\nSea Holly 2 8-12")
    assert "does not name" not in page(browser, f"/programme/race/{code}/")
    assert first.pk in chances_standing(loaded.library, moments.now(), [code])[code].horses
    assert code in {one.code for one in wanted_races(loaded.library, moments.now())}
    ours = {first.name: first.horse_key}
    early = early_places(loaded.library, moments.now(), read_card(loaded.library, code), ours)
    assert [(one.name, one.ours) for one in early if one.ours or one.name != "Sea Holly"] == [(first.name, True)]


def test_a_horse_that_was_taken_out_and_is_still_on_the_card_is_told(
    client_as: ClientAs, loaded: worlds.Yard, pair: tuple[Horse, Horse]
) -> None:
    """The authority may not have heard of it: that is said, with the day, not that nothing was written down; and the
    horse's page does not tell of a step that was missed."""
    first, code, browser = pair[0], sedge(loaded.library), client_as("trainer")
    trainer = Person.objects.get(login="trainer")
    write_runners(loaded.library, code, f"{first.name} 4 9-0\nSea Holly 2 8-12")
    keep_chances(code, {first.pk: a_chance()})
    engage_for(first, code, loaded.library, trainer, "withdraw")
    assert "It was taken out" in page(browser, f"/programme/race/{code}/horse/{first.pk}/chance/")
    for address in (f"/programme/race/{code}/", f"/programme/race/{code}/horse/{first.pk}/"):
        told = page(browser, address)
        assert f"{first.name} was taken out here on" in told
        assert "the card still names it. Ask the authority whether the withdrawal arrived" in told
        assert "nothing was written down" not in told
    assert "It was taken out, so no chance is told." in told
    assert "A step was not taken in time" not in told


def test_a_horse_that_was_taken_out_is_not_sent_back_there(
    client_as: ClientAs, loaded: worlds.Yard, pair: tuple[Horse, Horse], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once entries have closed, a race that a horse was taken out of is none that it may run in, none to mean it for,
    and waiting teaches nothing there; it stands apart from those that it is meant for or in."""
    first, code, browser = pair[0], sedge(loaded.library), client_as("trainer")
    engage_for(first, code, loaded.library, Person.objects.get(login="trainer"), "withdraw")
    later = clock.now() + timedelta(days=3)
    monkeypatch.setattr(clock, "now", lambda: later)
    told = page(browser, f"/horse/{first.pk}/races/")
    assert "Taken out</h2>" in told
    assert "Meant for it or in it" not in told
    assert told.count(f"/programme/race/{code}/horse/") == 1
    told = page(browser, f"/programme/race/{code}/horse/{first.pk}/")
    assert "Mean it for this race" not in told
    assert "No can still be said" not in told
    told = page(browser, f"/programme/race/{code}/")
    assert "Taken out:" in told
    assert "Meant for it or in it" not in told
