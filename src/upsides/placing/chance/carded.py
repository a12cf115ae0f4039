"""The runners of a card as a field: those that the library holds by themselves, the others from the field to expect."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.placing.chance.asked import Runner, Setting
from upsides.placing.chance.expected import ExpectedField
from upsides.placing.chance.kept import Kept
from upsides.rules import official_age, weight_for_age_lb
from upsides.rules.jurisdictions import ANYWHERE

Floats = NDArray[np.float64]

FOALED_ON: Final = (12, 31)
"""Month and day taken for a foaling of which the year alone is known: in either hemisphere it has the official age of
all that year's foals."""


@dataclass(frozen=True, slots=True)
class Carded:
    """A runner as the card names it.

    Attributes:
        name: on the card.
        horse_key: the library's key of the horse; "" where it is not known which one it is.
        stall: None before the draw.
        weight_lb: on the card, before the rider's claim; None where it is not told.
    """

    name: str
    horse_key: str = ""
    stall: int | None = None
    weight_lb: float | None = None


def rivals_of(
    card: Sequence[Carded], like: ExpectedField | None, setting: Setting, jurisdiction: str, kept: Kept
) -> list[Runner]:
    """Return the runners of a card as rivals, in the order given.

    Args:
        card: the runners, without the horse that asks.
        like: the field to expect, from which those not known are drawn; None where none can be told: they are then
            what is thought of any horse.
        setting: the race.
        jurisdiction: whose weight for age it is run under.
        kept: what is kept of the library.
    """
    allowed = _allowed(card, setting, jurisdiction, kept)
    any_level = None if like is None else level_of_any(like)
    return [
        Runner(
            one.horse_key or f"the runner called {one.name}",
            one.weight_lb,
            off,
            one.stall,
            level=None if one.horse_key else any_level,
        )
        for one, off in zip(card, allowed, strict=True)
    ]


def level_of_any(like: ExpectedField) -> tuple[float, float]:
    """Return what any one horse of the fields to expect is worth, lb: the mean and the standard deviation.

    The spread is that between horses of a field, between fields, and of how well each level is known, together.
    """
    pairs = zip(like.levels, like.nearness, strict=True)
    shares = np.concatenate([np.full(one.size, near / one.size) for one, near in pairs])
    levels, errors = np.concatenate(like.levels), np.concatenate(like.errors)
    mean = float(shares @ levels)
    return mean, float(np.sqrt(shares @ ((levels - mean) ** 2 + errors**2)))


def _allowed(card: Sequence[Carded], setting: Setting, jurisdiction: str, kept: Kept) -> Floats:
    """Return the weight for age that is in each weight, lb; nought where weight or age is not known."""
    keys = pl.Series([one.horse_key for one in card], dtype=pl.String)
    rows = kept.horses.filter(pl.col("horse_key").is_in(keys.implode()))
    foaled = dict(rows.select("horse_key", "foaled").collect().rows()) if "foaled" in rows.collect_schema() else {}
    weighed = [foaled.get(one.horse_key) if one.weight_lb is not None else None for one in card]
    place = jurisdiction or ANYWHERE
    ages = [_age(year, setting.day, place, kept) for year in weighed]
    days, trips = np.full(len(card), np.datetime64(setting.day)), np.full(len(card), setting.distance_m)
    off, _ = weight_for_age_lb(place, days, trips, ages, overrides=kept.rules)
    return np.asarray(np.where(np.array(ages) > 0, np.nan_to_num(off), 0.0), dtype=np.float64)


def _age(year: int | None, day: date, place: str, kept: Kept) -> int:
    if year is None:
        return 0
    return int(official_age(date(year, *FOALED_ON), day, place, overrides=kept.rules).value)
