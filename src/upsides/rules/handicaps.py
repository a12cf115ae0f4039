"""Arithmetic of handicap weights, and the ratings that a class of race takes."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from upsides.errors import NotEligibleError, NotPublishedError
from upsides.errors.wording import gettext as _
from upsides.rules.lookup import NONE, Overrides, in_force
from upsides.rules.rule import Rule, Ruled

MAY_EXCEED: Final = 2
"""Points above the band with which a horse may still be entered, unless the race says otherwise."""


@dataclass(frozen=True, slots=True)
class HandicapWeight:
    """What a horse carries in a handicap.

    Attributes:
        pounds: the weight.
        out_of_handicap: pounds by which the rating would have it carry less than the bottom weight; 0 inside.
        above_band: points above the band; 0 inside.
    """

    pounds: float
    out_of_handicap: float
    above_band: float


def handicap_weight(
    rating: float,
    *,
    band_low: float,
    band_high: float,
    top_weight_lb: float,
    pounds_per_point: float = 1.0,
    may_exceed: float = MAY_EXCEED,
) -> HandicapWeight:
    """Return what a rating carries in a handicap for a band of ratings.

    The top of the band carries the top weight, each point less takes off a pound, and the weight stops at the
    bottom of the band. A horse up to two points above the band may be entered and carries more than the top
    weight; `may_exceed` is a setting of the race (0 in British class 5 jump handicaps from 1 October 2023).

    Source: British Horseracing Authority, page on which races a rating allows, undated.

    Raises:
        NotEligibleError: the rating is further above the band than the race takes.
    """
    above = max(0.0, rating - band_high)
    if above > may_exceed:
        raise NotEligibleError(
            _(
                "rating {rating:g} is {above:g} above the band {band_low:g} to {band_high:g}; the race takes up to "
                "{may_exceed:g} above it, so look for a race with a higher band",
                rating=rating,
                above=above,
                band_low=band_low,
                band_high=band_high,
                may_exceed=may_exceed,
            )
        )
    by_rating = top_weight_lb - (band_high - rating) * pounds_per_point
    bottom = top_weight_lb - (band_high - band_low) * pounds_per_point
    return HandicapWeight(max(by_rating, bottom), max(0.0, bottom - by_rating), above)


def claim_added_back(carried_lb: float, claim_lb: float) -> float:
    """Return the weight that counts for a performance: what was carried plus the rider's claim.

    Source: British Horseracing Authority, Performance figures, page undated.
    """
    return carried_lb + claim_lb


@dataclass(frozen=True, slots=True)
class RatingBand:
    """Ratings that a class of race takes; `low` is None where only the upper limit is stated."""

    low: float | None
    high: float
    rule: Rule


def rating_bands(
    jurisdiction: str, on: date, race_class: str, *, overrides: Overrides = NONE
) -> tuple[RatingBand, ...]:
    """Return the bands of ratings that a class of race may have; a yard's own rules replace the shipped ones.

    Raises:
        NoRuleError: no band of the class is known on that day.
    """
    found = in_force("rating bands", jurisdiction, on, overrides, lambda body: body["race_class"] == race_class)
    same_book = [entry for entry in found if entry.rule.origin == found[0].rule.origin]
    return tuple(
        RatingBand(None if low == "-" else float(low), float(high), entry.rule)
        for entry in same_book
        for low, high in entry.body["bands"]
    )


def rise_limit(jurisdiction: str, on: date, position: int, *, overrides: Overrides = NONE) -> Ruled:
    """Return by how many points a horse may at most be raised after being beaten into a position.

    Raises:
        NoRuleError: no limit is known.
        NotPublishedError: the limit does not speak of that position.
    """
    entry = in_force("rise after a placing", jurisdiction, on, overrides)[0]
    for row in entry.body["limits"]:
        if row["from_position"] <= position <= row.get("to_position", position):
            return Ruled(float(row["value"]), entry.body["unit"], entry.rule)
    raise NotPublishedError(
        _("rise after a placing"),
        _("position {position} in {rule}", position=position, rule=entry.rule),
        ["positions from 2"],
    )


def pattern_average(jurisdiction: str, on: date, race_class: str, *, overrides: Overrides = NONE) -> Ruled:
    """Return the mean rating of the first four that a class of pattern race has to reach over three years.

    Raises:
        NoRuleError: none is known for the class.
    """
    entry = in_force("pattern average", jurisdiction, on, overrides, lambda body: body["race_class"] == race_class)[0]
    return Ruled(float(entry.body["value"]), entry.body["unit"], entry.rule)
