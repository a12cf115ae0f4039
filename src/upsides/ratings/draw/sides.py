"""On which side stall 1 stood in each race, so that stalls of different years are counted from the same side.

Where an authority changed the side (Britain's right-handed courses on 30 March 2011), earlier races are turned round:
stalls are counted throughout as they are numbered on the day of the fit. A straight race counts with its course, whose
other races say which way it turns. Where no rule is in force, or nobody says which way a course turns, none is turned.
"""

from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import NoRuleError
from upsides.rules import NONE, Overrides, stall_one_side

HANDS = ("left", "right")


def turned_round(races: pl.DataFrame, as_of: date, overrides: Overrides = NONE) -> NDArray[np.bool_]:
    """Return which races had stall 1 on the other side than races there have on a day, (races,).

    Args:
        races: course, country, date, bend.
        as_of: the day.
        overrides: the yard's own rules.
    """
    by_course = (
        races.filter(pl.col("bend").is_in(HANDS))
        .group_by("course", "country", "bend")
        .len()
        .sort("len", "bend", descending=[True, False])
        .unique(["course", "country"], keep="first", maintain_order=True)
        .select("course", "country", course_turns="bend")
    )
    known = races.join(by_course, on=["course", "country"], how="left", maintain_order="left", nulls_equal=True)
    turns = pl.when(pl.col("bend").is_in(HANDS)).then("bend").otherwise("course_turns")
    asked = known.select("country", "date", turns=turns).rows()
    wanted = {*asked, *((country, as_of, hand) for country, _, hand in asked)}
    sides = {(c, day, hand): _side(c, day, hand, overrides) for c, day, hand in wanted}
    return np.array([sides[c, day, hand] != sides[c, as_of, hand] for c, day, hand in asked], dtype=np.bool_)


def _side(country: str | None, day: date, hand: str | None, overrides: Overrides) -> str:
    if country is None or hand not in HANDS:
        return ""
    try:
        return stall_one_side(country, day, "left" if hand == "left" else "right", overrides=overrides)[0]
    except NoRuleError:
        return ""
