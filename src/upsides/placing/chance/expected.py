"""The field to expect before there are entries: fields of similar races in the library, each whole as it was.

A past field is taken with its size, its horses' levels on that day as they are known now, and its weights, so that
size, level and how they hang together are those of real races. Of the races that are alike in kind the nearest count
most: same class or band, same course, near in trip, prize, season and time. A race for ages that cannot
meet, two-year-olds alone beside three-year-olds and older, is never like it; a handicap hardly is like any other race.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import CannotFitError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.placing.chance.asked import Setting
from upsides.placing.chance.kept import Kept
from upsides.placing.naming import kinds_named
from upsides.results.library import Library
from upsides.results.schema import STARTED
from upsides.rules import Overrides, weight_for_age_lb
from upsides.rules.jurisdictions import ANYWHERE
from upsides.trade.age import AgeRange

Floats = NDArray[np.float64]

YEARS_BACK = 4
MOST_RACES = 60
FEWEST_RACES = 5
NEAR_TRIP = 0.2
"""Octaves: races a furlong and a bit longer or shorter at a mile are alike."""
OTHER_KIND = 9.0
"""What a handicap beside a race at weights for age counts: three steps apart."""
KIND_UNKNOWN = 2.0
LEAST_KNOWN = 0.7
"""Share of a past field whose levels must be known."""
HANDICAPS = frozenset({"handicap", "nursery"})
NO_OLDEST = 99
Range = tuple[float, float, float]
_OF_RACES = ("race_key", "date", "course", "country", "distance_m", "surface", "race_class", "rating_high", "prize")
_FROM_WORDS = {"youngest": pl.Int64(), "oldest": pl.Int64(), "handicap": pl.Boolean()}


@dataclass(frozen=True, slots=True)
class ExpectedField:
    """Fields to expect.

    Attributes:
        levels: of each past field, (runners,) lb on the library's scale.
        errors: likewise, how well each level is known.
        weights: likewise, lb; NaN where not known.
        allowed: likewise, the weight for age in them, lb.
        nearness: (fields,) how much each counts; together 1.
        size, level, best: runners, their mean level, the best one's level: the middle, and four times in five between.
    """

    levels: tuple[Floats, ...]
    errors: tuple[Floats, ...]
    weights: tuple[Floats, ...]
    allowed: tuple[Floats, ...]
    nearness: Floats
    size: Range
    level: Range
    best: Range

    @property
    def races(self) -> int:
        """How many past races speak."""
        return len(self.levels)


def expected_field(library: Library, kept: Kept, setting: Setting) -> ExpectedField:
    """Return the field to expect in a race.

    Args:
        library: the library.
        kept: what is kept of it.
        setting: the race.

    Raises:
        CannotFitError: fewer than five races of the last years are alike.
    """
    alike = similar(library, kept, setting)
    fields = _fields(library, kept, alike)
    if len(fields) < FEWEST_RACES:
        reason = _(
            "only {count} races of the last {years_back} years are like it", count=len(fields), years_back=YEARS_BACK
        )
        raise CannotFitError(_("expected field"), reason, _("wait for the entries, or add results of such races"))
    near = dict(alike.select("race_key", "nearness").rows())
    nearness = np.array([near[one.key] for one in fields])
    nearness = nearness / nearness.sum()
    return ExpectedField(
        tuple(one.level for one in fields),
        tuple(one.error for one in fields),
        tuple(one.weight for one in fields),
        tuple(one.allowed for one in fields),
        nearness,
        _range([float(one.level.size) for one in fields], nearness),
        _range([float(one.level.mean()) for one in fields], nearness),
        _range([float(one.level.max()) for one in fields], nearness),
    )


@dataclass(frozen=True, slots=True)
class _Past:
    key: str
    level: Floats
    error: Floats
    weight: Floats
    allowed: Floats


def similar(library: Library, kept: Kept, setting: Setting) -> pl.DataFrame:
    """Return race_key, date and `nearness` of the races most like one, nearest first, before the day of the fit."""
    races = (
        _races(library, kept.as_of)
        .lazy()
        .filter(
            pl.col("date") >= setting.day - timedelta(days=366 * YEARS_BACK),
            (pl.col("distance_m") / setting.distance_m).log(2).abs() < 2 * NEAR_TRIP,
            pl.col("surface").fill_null("") == setting.surface if setting.surface else pl.lit(value=True),
            _may_meet(setting),
        )
    )
    off = _differences(setting)
    return (
        races.select("race_key", "date", off=pl.sum_horizontal(off))
        .collect()
        .sort("off", "date", descending=[False, True])
        .head(MOST_RACES)
        .select("race_key", "date", nearness=(-0.5 * (pl.col("off") - pl.col("off").min())).exp())
        .filter(pl.col("nearness") > 0.01)
    )


def _races(library: Library, as_of: date) -> pl.DataFrame:
    return _read_races(library.folder, tuple(sorted(library.pins.items())), as_of)


@lru_cache(maxsize=2)
def _read_races(folder: Path, pins: tuple[tuple[str, int], ...], as_of: date) -> pl.DataFrame:
    """Return the flat races of a library before a day, read once for all that are compared with them."""
    flat = Library(folder, dict(pins)).races(as_of).filter(pl.col("code").fill_null("flat") == "flat")
    found = flat.select(*_OF_RACES, "ages", "title", "rating_low").collect()
    return found.select(*_OF_RACES, *told_in_words(found))


def told_in_words(races: pl.DataFrame) -> list[pl.Series]:
    """Return the youngest and oldest age that races take, and whether they are handicaps; null where not known."""
    ages = {text: _ages(text) for text in races["ages"].unique().drop_nulls()}
    titles = {text: kinds_named(text) if text else None for text in races["title"].unique().drop_nulls()}
    rows = [
        (*ages.get(written, (None, None)), _is_handicap(titles.get(title), banded=low is not None or high is not None))
        for written, title, low, high in races.select("ages", "title", "rating_low", "rating_high").rows()
    ]
    return pl.DataFrame(rows, schema=_FROM_WORDS, orient="row").get_columns()


def _ages(written: str) -> tuple[int | None, int | None]:
    try:
        ages = AgeRange.parse(written)
    except UnreadableError:
        return None, None
    return ages.youngest, NO_OLDEST if ages.oldest is None else ages.oldest


def _is_handicap(kinds: frozenset[str] | None, *, banded: bool) -> bool | None:
    """Return whether a past race was a handicap by its title, or by its band where the title names no other kind."""
    if kinds is not None and kinds & HANDICAPS:
        return True
    if banded and not kinds:
        return True
    return None if kinds is None else False


def _may_meet(setting: Setting) -> pl.Expr:
    """Return whether a past race took an age that this one takes, as far as both are known."""
    if setting.ages is None:
        return pl.lit(value=True)
    oldest = NO_OLDEST if setting.ages.oldest is None else setting.ages.oldest
    meets = (pl.col("youngest") <= oldest) & (pl.col("oldest") >= setting.ages.youngest)
    return meets.fill_null(value=True)


def _differences(setting: Setting) -> list[pl.Expr]:
    """Return squared differences of races from one, each counted in what counts as one step apart."""
    day = pl.lit(setting.day)
    season = (pl.col("date").dt.ordinal_day() - setting.day.timetuple().tm_yday).abs()
    off = [
        ((pl.col("distance_m") / setting.distance_m).log(2) / NEAR_TRIP) ** 2,
        ((day - pl.col("date")).dt.total_days() / 730) ** 2,
        (pl.min_horizontal(season, 366 - season) / 120) ** 2,
        pl.when(pl.col("course") == setting.course).then(0.0).otherwise(1.0),
    ]
    if setting.handicap is not None:
        same = pl.when(pl.col("handicap") == setting.handicap).then(0.0).otherwise(OTHER_KIND)
        off.append(pl.when(pl.col("handicap").is_null()).then(KIND_UNKNOWN).otherwise(same))
    if setting.ages is not None:
        oldest = NO_OLDEST if setting.ages.oldest is None else setting.ages.oldest
        same_ages = (pl.col("youngest") == setting.ages.youngest) & (pl.col("oldest") == oldest)
        off.append(pl.when(same_ages.fill_null(value=True)).then(0.0).otherwise(1.0))
    if setting.race_class:
        off.append(pl.when(pl.col("race_class").str.to_lowercase() == setting.race_class).then(0.0).otherwise(6.0))
    if setting.band is not None and setting.band[1] is not None:
        off.append(((pl.col("rating_high") - setting.band[1]) / 5).fill_null(2.0) ** 2)
    if setting.prize:
        off.append(((pl.col("prize") / setting.prize).log() / 0.3).fill_null(1.5).clip(-4, 4) ** 2)
    return off


def _fields(library: Library, kept: Kept, alike: pl.DataFrame) -> list[_Past]:
    keys = alike["race_key"].implode()
    about = _races(library, kept.as_of).select("race_key", "country", "distance_m")
    weight = pl.col("carried_lb") + pl.col("claim_lb").fill_null(0.0)
    ran = (
        library.runs(kept.as_of)
        .filter(pl.col("race_key").is_in(keys), pl.col("outcome").is_in(STARTED))
        .select("race_key", "horse_key", "date", pl.col("age").cast(pl.Int64).fill_null(0), weight=weight)
        .collect()
        .join(about, on="race_key", how="left", maintain_order="left")
    )
    curves = kept.curves.filter(pl.col("horse_key").is_in(ran["horse_key"].unique().implode())).collect()
    known = ran.join(curves, on=["horse_key", "date"], how="left", maintain_order="left").sort("race_key", "horse_key")
    if known.is_empty():
        return []
    numbers = pl.col("level_lb", "sd_lb", "weight", "allowed").cast(pl.Float64).fill_null(np.nan)
    rows = known.with_columns(_allowed(known, kept.rules)).select(numbers).to_numpy()
    races, first = np.unique(known["race_key"].to_numpy(), return_index=True)
    fields = {str(key): _past(str(key), *field.T) for key, field in zip(races, np.split(rows, first[1:]), strict=True)}
    return [field for key in alike["race_key"] if (field := fields.get(key)) is not None]


def _allowed(runs: pl.DataFrame, rules: Overrides) -> pl.Series:
    """Return the weight for age in each run's weight, lb, by the rules of the race's country."""
    out = np.zeros(runs.height)
    place = runs["country"].fill_null(ANYWHERE)
    for name in place.unique():
        here = np.flatnonzero((place == name).to_numpy())
        some = runs[here]
        out[here], _ = weight_for_age_lb(name, some["date"], some["distance_m"], some["age"], overrides=rules)
    return pl.Series("allowed", out)


def _past(key: str, level: Floats, error: Floats, weight: Floats, allowed: Floats) -> _Past | None:
    """Return a field as it was; None where too few of its levels are known. One not known counts as the mean."""
    there = np.isfinite(level)
    if level.size < 2 or there.mean() < LEAST_KNOWN:
        return None
    means = [np.where(there, values, values[there].mean()) for values in (level, error)]
    return _Past(key, means[0], means[1], weight, allowed)


def _range(values: Sequence[float], nearness: Floats) -> Range:
    order = np.argsort(values)
    upto = np.cumsum(nearness[order])
    low, middle, high = (float(np.asarray(values)[order][np.searchsorted(upto, share)]) for share in (0.1, 0.5, 0.9))
    return middle, low, high
