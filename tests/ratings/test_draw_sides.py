"""Stalls of different years counted from one side."""

from datetime import date

import polars as pl

from upsides.ratings.draw.sides import turned_round

RACES = pl.DataFrame(
    [
        {"course": "Leftwick", "country": "GB", "date": date(2010, 6, 1), "bend": "left"},
        {"course": "Rightwick", "country": "GB", "date": date(2011, 3, 29), "bend": "right"},
        {"course": "Rightwick", "country": "GB", "date": date(2011, 3, 30), "bend": "right"},
        {"course": "Rightwick", "country": "GB", "date": date(2010, 6, 1), "bend": "straight"},
        {"course": "Rightwick", "country": "GB", "date": date(2010, 6, 1), "bend": None},
        {"course": "Farwick", "country": "GB", "date": date(2010, 6, 1), "bend": "straight"},
        {"course": "Rightwick", "country": "HK", "date": date(2010, 6, 1), "bend": "right"},
        {"course": "Rightwick", "country": None, "date": date(2010, 6, 1), "bend": "right"},
    ]
)


def test_right_handed_courses_turn_round_at_the_published_date() -> None:
    """Before 30 March 2011 stall 1 stood on the left everywhere in Britain; straight races count with their course."""
    assert turned_round(RACES, date(2020, 1, 1)).tolist() == [False, True, False, True, True, False, False, False]


def test_stalls_are_counted_as_on_the_day_of_the_fit() -> None:
    """Asked as of a day before the change, the races after it are the ones turned round."""
    assert turned_round(RACES, date(2011, 1, 1)).tolist() == [False, False, True, *[False] * 5]
