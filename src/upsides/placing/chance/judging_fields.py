"""Is the field to expect any good? Later races, each with the field that was expected and the field that ran."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import numpy as np
import polars as pl

from upsides.errors import CannotFitError
from upsides.placing.chance.asked import Setting
from upsides.placing.chance.expected import LEAST_KNOWN, NO_OLDEST, Range, expected_field, told_in_words
from upsides.placing.chance.kept import Kept
from upsides.results.library import Library
from upsides.results.schema import STARTED
from upsides.trade.age import AgeRange

MOST_RACES: Final = 150
"""Races of one stretch that are looked at, evenly over its days."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A later race.

    Attributes:
        size, level: that ran, and their mean level as known on the morning, lb; `level` NaN where too few are known.
        size_said, level_said: what was expected: the middle, and four times in five between.
    """

    size: float
    level: float
    size_said: Range
    level_said: Range


def fields_between(library: Library, kept: Kept, first: date, until: date) -> list[Seen]:
    """Return the fields of the flat races of some days beside those that were expected from what is kept."""
    races = library.races().filter(
        pl.col("date") >= first, pl.col("date") < until, pl.col("code").fill_null("flat") == "flat",
        pl.col("distance_m").is_not_null(),
    ).collect().sort("date", "race_key")  # fmt: skip
    races = races.with_columns(told_in_words(races)).gather_every(max(1, -(-races.height // MOST_RACES)))
    ran = library.runs().filter(
        pl.col("race_key").is_in(races["race_key"].implode()), pl.col("outcome").is_in(STARTED)
    ).select("race_key", "horse_key")  # fmt: skip
    known = ran.join(kept.levels.select("horse_key", "level_lb"), on="horse_key", how="left")
    about = known.group_by("race_key").agg(
        size=pl.len(), level=pl.col("level_lb").mean(), known=pl.col("level_lb").is_not_null().mean()
    )
    fields = {key: told for key, *told in about.collect().select("race_key", "size", "level", "known").rows()}
    found = []
    for race in races.iter_rows(named=True):
        size, level, share = fields.get(race["race_key"], (0, None, 0.0))
        if size < 2:
            continue
        try:
            said = expected_field(library, kept, setting_of_past(race))
        except CannotFitError:
            continue
        there = level if level is not None and share >= LEAST_KNOWN else np.nan
        found.append(Seen(float(size), float(there), said.size, said.level))
    return found


def setting_of_past(race: dict[str, Any]) -> Setting:
    """Return a race of a library as chances ask of it, as far as its programme would have told it."""
    ages = None
    if race["youngest"] is not None:
        ages = AgeRange(race["youngest"], None if race["oldest"] == NO_OLDEST else race["oldest"])
    band = (race["rating_low"], race["rating_high"])
    return Setting(
        race["date"],
        race["course"] or "",
        race["distance_m"],
        race["surface"] or "",
        race_class=(race["race_class"] or "").lower(),
        band=None if band == (None, None) else band,
        prize=race["prize"],
        ages=ages,
        handicap=race["handicap"],
    )


def fields_scored(found: Sequence[Seen]) -> dict[str, Any] | None:
    """Return how good expected fields were; None where none was expected.

    Returns:
        Of size and level: races, the share of races inside the range, below it and above it, the mean of what ran less
        what was expected, with its standard error, and how much of the spread between races the expectation told.
    """
    if not found:
        return None
    return {
        "size": _told([(one.size, one.size_said) for one in found]),
        "level": _told([(one.level, one.level_said) for one in found if np.isfinite(one.level)]),
    }


def _told(pairs: Sequence[tuple[float, Range]]) -> dict[str, float] | None:
    if len(pairs) < 2:
        return None
    was, said = np.array([one for one, _ in pairs]), np.array([said for _, said in pairs])
    off = was - said[:, 0]
    spread = was.var()
    return {
        "races": len(pairs),
        "inside": float(((was >= said[:, 1]) & (was <= said[:, 2])).mean()),
        "below": float((was < said[:, 1]).mean()),
        "above": float((was > said[:, 2]).mean()),
        "off": float(off.mean()),
        "off_se": float(off.std() / np.sqrt(off.size)),
        "told": float(1.0 - off.var() / spread) if spread > 0 else 0.0,
    }
