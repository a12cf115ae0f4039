"""Official ages by hemisphere (reference articles on official ages: 1 January, 1 August, 1 July)."""

from datetime import date

import pytest

from upsides.rules import foaling_season, official_age


@pytest.mark.parametrize(
    ("jurisdiction", "last_day", "first_day"),
    [
        ("Britain", date(2013, 12, 31), date(2014, 1, 1)),
        ("US", date(2013, 12, 31), date(2014, 1, 1)),
        ("Hong Kong", date(2013, 12, 31), date(2014, 1, 1)),
        ("Australia", date(2014, 7, 31), date(2014, 8, 1)),
        ("NZ", date(2014, 7, 31), date(2014, 8, 1)),
        ("South Africa", date(2014, 7, 31), date(2014, 8, 1)),
        ("South America", date(2014, 6, 30), date(2014, 7, 1)),
        ("ARG", date(2014, 6, 30), date(2014, 7, 1)),
    ],
)
def test_a_horse_turns_a_year_older_on_the_official_day(jurisdiction: str, last_day: date, first_day: date) -> None:
    """The age rises by one on the official birthday and on no other day."""
    foaled = date(2011, 9, 20)
    before, after = (official_age(foaled, on, jurisdiction).value for on in (last_day, first_day))
    assert (before, after) == (2, 3)


def test_a_foal_is_nothing_until_the_next_birthday() -> None:
    """A foal counts 0 on the day it is born and 1 from the next official birthday."""
    assert official_age(date(2012, 5, 3), date(2012, 5, 3), "Britain").value == 0
    assert official_age(date(2012, 12, 31), date(2013, 1, 1), "Britain").value == 1


def test_the_season_of_foaling_from_an_age() -> None:
    """A three-year-old of May 2014 was foaled in 2011 in the north, in the season of 2010 in Australia."""
    assert foaling_season(3, date(2014, 5, 1), "GB") == 2011
    assert foaling_season(3, date(2014, 5, 1), "AU") == 2010
