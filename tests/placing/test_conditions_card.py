"""What a card says besides, what is no condition, and what is not understood."""

from datetime import date

import pytest

from race_wordings import ON, ON_CARD, ON_HORSES, ON_WEIGHT, lb, values
from upsides.placing.conditions.card import Pays
from upsides.placing.conditions.reading import Value, read_conditions
from upsides.placing.conditions.weights import (
    Allowed,
    Carries,
    Penalty,
    RidersClaims,
)
from upsides.placing.conditions.who import (
    Ages,
    Builds,
    Rated,
    Record,
    RiddenBy,
)
from upsides.placing.kinds import RunKind


@pytest.mark.parametrize(("text", "expected"), ON_CARD)
def test_one_line_of_the_card(text: str, expected: Value) -> None:
    """What a wording says by when, for how much, how far and for how many is read too."""
    assert read_conditions(text, on=ON, currency="GBP").values == (expected,)


def test_a_whole_card_of_a_british_meeting() -> None:
    """All of a card is read as such cards print it, paperwork too (cards of February 2023; names are our own)."""
    found = values(
        "Distributed in accordance with the Stakes and Prize Money Code. £5990 to the winning horse The second to "
        "receive £2759, and the third £1379. for four yrs old and upwards, which have not won more than two hurdle "
        "races. Enter by noon, July 26th and pay £50 stake, Declare by 10.00 a.m. July 30th Weights: 4-y-o 10st 10lb; "
        "5-y-o and up 11st Mares allowed 7lb Penalties, a winner of a Class 3 to Class 5 steeple chase 6lb Of 2 "
        "steeple chases 10lb No allowance to take a Horse's weight below 10st 2lb LARKMOOR will present a memento to "
        "the winning owner of this race. 8 entries at £50. - Closed July 26th, 2025. Owners Prize Money Winner £4590; "
        "Second £2296 "
        "(Penalty Value £5990.60)"
    )
    chase = frozenset({"chase"})
    assert [value for value in found if isinstance(value, Penalty)] == [
        Penalty(lb(6), Record("won", 1, kind=RunKind(classes=frozenset("345"), codes=chase))),
        Penalty(lb(10), Record("won", 2, kind=RunKind(codes=chase))),
    ]
    assert [value.money.amount for value in found if isinstance(value, Pays)] == [5990, 2759, 1379]
    assert len(found) == 13


def test_presents_are_no_condition() -> None:
    """A sentence on sponsors and presents is read as nothing, unless it speaks of weights or of who may run."""
    assert values("The Larkmoor Inn kindly sponsored this race. A trophy to the winning owner") == ()
    assert read_conditions("a trophy for fillies carrying less than they should", on=ON).unread != ()


@pytest.mark.parametrize(
    "around",
    ["{} LARKMOOR will present a trophy to the winning owner", "A trophy is given and {}", "{}, best turned out"],
)
def test_presents_swallow_nothing(around: str) -> None:
    """No condition is lost in a sentence on presents: it is read, or shown as not read, wherever it stands in it."""
    for text, expected in (*ON_HORSES, *ON_WEIGHT):
        read = read_conditions(around.format(text), on=ON, currency="GBP")
        assert expected in read.values or read.unread, text


def test_words_beside_a_rule_make_it_doubtful() -> None:
    """Words that were not read narrow a record beside them, but not an age; a clause of its own narrows nothing."""
    read = read_conditions("For three-year-olds only which have not won a race at Larkmoor. Members of the hunt", on=ON)
    assert read.unread == ("at Larkmoor. Members of the hunt",)
    doubtful = {type(value): read.wording_of(value)[1] for value in read.values}
    assert doubtful == {Ages: False, Record: True}


@pytest.mark.parametrize(
    "text",
    ["a present for the smartest filly", "4-y-o maidens excluded", "mares in foal", "the winner of the saddle"],
)
def test_words_that_only_sound_like_a_rule_are_not_read_as_one(text: str) -> None:
    """A sex or a win that is spoken of without being a condition makes no rule on who may run."""
    read = read_conditions(text, on=ON)
    assert not any(isinstance(value, Builds | Ages) for value in read.values)
    assert read.unread != ()


@pytest.mark.parametrize(
    "text",
    [
        "which have not won a race worth €10.000",
        "3yo 46-65",
        "that have neither won nor been placed",
        "fillies 5lb below the scale",
        "9st 2lb",
        "to be ridden by jockeys who have not ridden more than 20 winners",
        "lady riders allowed 3lb",
        "if claimed 5lb",
        "",
        "???",
    ],
)
def test_what_is_not_understood_is_not_half_read(text: str) -> None:
    """Sums with a stray point, bands without their word and riders of another kind make no weight, sum or claim."""
    read = read_conditions(text, on=ON, currency="EUR")
    assert (read.unread != ()) == bool(text)
    kinds = (Carries, Allowed, Penalty, Rated, RiddenBy, RidersClaims)
    assert not any(isinstance(value, kinds) for value in read.values)
    records = [value for value in read.values if isinstance(value, Record)]
    assert all(value.kind.worth is None and read.wording_of(value)[1] for value in records)


def test_a_day_without_a_year_is_the_last_one_up_to_the_race() -> None:
    """For a race of January, a win since October is one of last year's October."""
    read = read_conditions("non-winners since October 1", on=date(2025, 1, 20))
    assert read.values == (Record("won", most=0, kind=RunKind(first=date(2024, 10, 1))),)
