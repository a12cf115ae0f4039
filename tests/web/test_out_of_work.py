"""A horse that is out of work or elsewhere: its condition begins with that; rows without anything are a sentence."""

import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

import condition_yard
import worlds
from mornings import EVE, Hands, enter
from upsides.books.models import Horse, Move
from upsides.books.queries import moments
from upsides.cli.condition import _as_lines, _as_value

Answer = Callable[[], str]


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, EVE)


@pytest.fixture
def horse(hands: Hands) -> Horse:
    found = condition_yard.unraced()
    for back in (90, 70):
        enter("exercise", found, hands.back(days=back), exercise="fast")
    return found


@pytest.fixture
def answer(horse: Horse, client_as: Callable[[str], Client]) -> Answer:
    """A function that returns the first sentence of the horse's page."""
    client = client_as("trainer")

    def read() -> str:
        page = unescape(client.get(reverse("horse_condition", args=[horse.pk])).content.decode())
        found = re.search(r'<p class="answer">(.*?)</p>', page)
        assert found
        return found[1]

    return read


def lines(horse: Horse) -> str:
    return "\n".join(_as_lines(_as_value(horse, moments.now(), condition_yard.of(horse))))


def test_the_answer_begins_with_since_when_no_work_is_known(answer: Answer, horse: Horse, hands: Hands) -> None:
    """Of a horse in training of which no work is known in a fortnight page and command say so first, with the day and
    how long; a walk in hand is no work. Once it worked they say nothing of it."""
    enter("exercise", horse, hands.back(days=2), exercise="led")
    assert answer().startswith("It is in training; no work of it is known since 11 April 2026 (70 days). Whether it is")
    assert "No work of it is known for 70 days; it is in training." in lines(horse)
    assert _as_value(horse, moments.now(), condition_yard.of(horse))["done"]["since_work"] == 70
    enter("exercise", horse, hands.back(days=14), exercise="hack_canter")
    assert answer().startswith("Whether it is fitter")
    assert "No work of it" not in lines(horse)


def test_a_horse_that_is_elsewhere_is_told_to_be(answer: Answer, horse: Horse) -> None:
    """Turned out, or gone, is said before since when no work of it is known."""
    Move.objects.create(horse=horse, to="turned_out", first_day=EVE.date() - timedelta(days=60))
    assert answer().startswith(
        "Not in training: turned out since 21 April 2026; no work of it is known since 11 April 2026 (70 days). "
    )
    assert "No work of it is known for 70 days; it is not in training: turned out." in lines(horse)
    Horse.objects.filter(pk=horse.pk).update(left=EVE.date() - timedelta(days=10))
    horse.refresh_from_db()
    told = condition_yard.of(horse)
    assert (told.left, told.done.since_work) == (EVE.date() - timedelta(days=10), 70)
    assert "it is not in training" not in lines(horse)


def test_of_a_horse_that_never_worked_it_is_said(hands: Hands) -> None:
    """Where no work is known at all that is said without a day, and no return from a lay-up is near."""
    new = condition_yard.unraced()
    assert "No work of it is known; it is in training." in lines(new)
    assert not any("lay-up" in one.figure.key for one in condition_yard.of(new).notable)


def test_windows_of_which_nothing_is_known_are_one_line(horse: Horse, client_as: Callable[[str], Client]) -> None:
    """Of a horse that did nothing known in 60 days page and command say so once, in place of a row for each window."""
    told = lines(horse)
    assert "nothing is known of two weeks." in told
    assert "nothing known of the last 60 days" in told
    assert "7 days: 0.0 km" not in told
    assert "since it entered training: " in told
    page = client_as("trainer").get(reverse("horse_condition", args=[horse.pk])).content.decode()
    windows = page[page.index("In numbers") :]
    assert "Nothing is known of what it did in the last 60 days." in windows
    assert [row for row in ("7", "30", "60") if f'<tr><th scope="row">{row}</th>' in windows] == []
    assert '<tr><th scope="row">since it entered training</th>' in windows
    steps = windows[windows.index("By steps of speed") : windows.index("Week from")]
    head, first = re.findall(r"<tr>(.*?)</tr>", steps, re.DOTALL)[:2]
    assert (head.count("<th"), first.count("<td")) == (2, 1)


def test_a_return_from_a_lay_up_is_near_only_to_one_that_works(horse: Horse, hands: Hands) -> None:
    """Seventy days without fast work and without any: no return is near; with canters in the last days one is."""

    def near() -> set[str]:
        return {one.figure.key for one in condition_yard.of(horse).notable if "after a lay-up" in one.figure.key}

    assert near() == set()
    enter("exercise", horse, hands.back(days=3), exercise="hack_canter")
    assert near() == {"10 days after a lay-up", "21 days after a lay-up"}


def test_without_anything_in_half_a_year_there_is_no_picture(hands: Hands, client_as: Callable[[str], Client]) -> None:
    """Of a horse of which nothing was written down in 26 weeks one sentence stands in the picture's place."""
    new = condition_yard.unraced()
    page = client_as("trainer").get(reverse("horse_condition", args=[new.pk])).content.decode()
    assert "In these 26 weeks nothing was written down or measured of it." in page
    assert "<svg" not in page[page.index('class="axis"') : page.index("</figure>")]
