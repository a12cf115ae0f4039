"""Ordinary wordings of several countries, read into rules (see `race_wordings`)."""

from datetime import date

import pytest

from race_wordings import FEMALE, MALE, ON_HORSES, ON_WEIGHT, lb, st_lb, values
from upsides.placing.amounts import Money
from upsides.placing.conditions.reading import Value
from upsides.placing.conditions.weights import (
    Allowed,
    Carries,
    Penalty,
)
from upsides.placing.conditions.who import (
    Ages,
    Claimable,
    Either,
    Every,
    Record,
)
from upsides.placing.kinds import RunKind
from upsides.trade.age import AgeRange


@pytest.mark.parametrize(("text", "expected"), ON_HORSES)
def test_one_condition_on_horses(text: str, expected: Value) -> None:
    """A condition alone is read to its end, into the one rule that it means."""
    assert values(text) == (expected,)


@pytest.mark.parametrize(("text", "expected"), ON_WEIGHT)
def test_one_line_on_weight(text: str, expected: Value) -> None:
    """A line on weight alone is read to its end, into the one rule that it means."""
    assert values(text) == (expected,)


def test_penalties_go_on_under_their_heading() -> None:
    """The lines under a heading of penalties count from the heading's day, and "or" parts two ways to earn one."""
    text = (
        "Weights: 9st 2lb; fillies allowed 5lb; penalties: after 1 June, a winner 5lb; of 2 races 8lb; "
        "of a Class 3 or of prize value 10,000: 7lb"
    )
    since = date(2025, 6, 2)
    assert values(text) == (
        Carries(st_lb(9, 2)),
        Allowed(lb(5), builds=FEMALE),
        Penalty(lb(5), Record("won", 1, kind=RunKind(first=since))),
        Penalty(lb(8), Record("won", 2, kind=RunKind(first=since))),
        Penalty(lb(7), Record("won", 1, kind=RunKind(first=since, classes=frozenset({"3"})))),
        Penalty(lb(7), Record("won", 1, kind=RunKind(first=since, worth=Money(10000.0, "GBP")))),
    )


def test_a_listed_race_of_the_british_programme() -> None:
    """The wording of a listed race as altered in June 2022 (notice on the British authority's administration site)."""
    text = (
        "for three yrs old and upwards,\nwhich have not won a Group 1 or Group 2 Pattern race after August 31st, 2021\n"
        "Weights: 3-y-o colts and geldings....8st 12lb; fillies....8st 7lb\n"
        "4-y-o and up colts and geldings.....9st 9lb; fillies......9st 4lb\n"
        "Penalties, after August 31st, 2021, a winner of a Listed race.3lb\n"
        "Of a Group 3 race.............................................5lb"
    )
    since = date(2021, 9, 1)
    assert values(text) == (
        Ages(AgeRange(3)),
        Record("won", most=0, kind=RunKind(first=since, classes=frozenset({"group 1", "group 2"}))),
        Carries(st_lb(8, 12), AgeRange(3, 3), MALE),
        Carries(st_lb(8, 7), AgeRange(3, 3), FEMALE),
        Carries(st_lb(9, 9), AgeRange(4), MALE),
        Carries(st_lb(9, 4), AgeRange(4), FEMALE),
        Penalty(lb(3), Record("won", 1, kind=RunKind(first=since, classes=frozenset({"listed"})))),
        Penalty(lb(5), Record("won", 1, kind=RunKind(first=since, classes=frozenset({"group 3"})))),
    )


def test_each_way_to_a_penalty_has_its_own_count() -> None:
    """ "Of 2 races or of a Class 2 race" are two wins of any kind, or one of that class."""
    found = values("Penalties: of 2 races or of a Class 2 race 8lb")
    assert found == (
        Penalty(lb(8), Record("won", 2)),
        Penalty(lb(8), Record("won", 1, kind=RunKind(classes=frozenset({"2"})))),
    )


def test_neither_this_nor_that() -> None:
    """Horses that "have not won a race before 1 July, or more than one race" must have done neither."""
    assert values("which have not won a race before 1 July 2025, or more than one race") == (
        Every((Record("won", most=0, kind=RunKind(last=date(2025, 6, 30))), Record("won", most=1))),
    )
    assert values("which have not won a Class 1 or Class 2 race or two races")[0] == Every(
        (
            Record(
                "won", most=0, kind=RunKind(classes=frozenset({"group 1", "group 2", "group 3", "listed", "1", "2"}))
            ),
            Record("won", most=1),
        )
    )


def test_or_a_claiming_price_lets_others_in() -> None:
    """An optional claiming race takes horses of a record, or any that may be claimed."""
    found = values("which have never won two races or claiming price $25,000")
    assert found == (Either((Record("won", most=1), Claimable(Money(25000.0, "USD")))),)


def test_penalties_by_age() -> None:
    """One penalty may be stated for several ages, each with its own weight (British card of September 2022)."""
    text = "Penalties, after September 17th, 2022, for each race won 4yo to 6yo 5lb; 7yo and up 4lb"
    won = Record("won", 1, kind=RunKind(first=date(2022, 9, 18)))
    assert values(text) == (
        Penalty(lb(5), won, each=True, ages=AgeRange(4, 6)),
        Penalty(lb(4), won, each=True, ages=AgeRange(7)),
    )


def test_an_american_ladder_of_allowances() -> None:
    """A rung that speaks of "such a race" means races of the same kind as the rung before it, from its own day on."""
    text = (
        "For three year olds and upward. Three Year Olds, 118 lbs.; Older, 124 lbs. Non-winners of two races at a mile "
        "or over since July 1 allowed 2 lbs.; of such a race since June 1, 4 lbs."
    )
    assert values(text) == (
        Ages(AgeRange(3)),
        Carries(lb(118), AgeRange(3, 3)),
        Carries(lb(124), AgeRange(4)),
        Allowed(lb(2), record=Record("won", most=1, kind=RunKind(first=date(2025, 7, 1), metres=1609.344))),
        Allowed(lb(4), record=Record("won", most=0, kind=RunKind(first=date(2025, 6, 1), metres=1609.344))),
    )


def test_one_of_two_conditions_is_enough() -> None:
    """Records joined by "or" are one rule that either meets; those joined by a comma are two."""
    either = values("which have never won $10,000 other than maiden or which have never won two races")
    assert len(either) == 1
    assert isinstance(either[0], Either)
    assert [way.most for way in either[0].ways if isinstance(way, Record)] == [0, 1]
    assert len(values("which have run at least twice, which have never won two races")) == 2
