"""What came of calls, as far as is known: worked out every night, for pages to read."""

from collections.abc import Mapping, Set
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any, Final

import numpy as np
import polars as pl

from upsides.books import clock
from upsides.books.models import Call
from upsides.books.queries import levels, moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import starts_of
from upsides.books.queries.string import Known, known_of
from upsides.books.queries.tools_word import signs_of
from upsides.books.queries.yard_rules import yard_rules
from upsides.condition.called import Came, Made, Ran, came_of
from upsides.condition.tools_word import first_four
from upsides.errors import UpsidesError
from upsides.results.schema import STARTED
from upsides.rules.weight_for_age_array import MATURE, weight_for_age_lb

BEFORE_RACING: Final = time(10)
"""A call made before this hour of the yard's day counts for what is run that day."""
UNKNOWN: Final = (np.nan, np.nan)

Levels = Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class _Start:
    """A start: the race, and what a call is judged by."""

    race_key: str
    ran: Ran


@dataclass(frozen=True, slots=True, eq=False)
class _Field:
    """A race that was run: its row, the rows of its starters, and their keys."""

    about: Mapping[str, Any]
    runs: pl.DataFrame
    keys: list[str]


def first_day(recorded: datetime) -> date:
    """Return the first day whose racing a call speaks of."""
    local = recorded.astimezone(clock.place().zone)
    return local.date() if local.time() < BEFORE_RACING else local.date() + timedelta(days=1)


def settled(library: Path, moment: Moment) -> dict[str, dict[str, Any]]:
    """Return what came of every call that stands, by its number: came, why, day, and the tool's chance.

    The tool's chance to be among the first four is known only now: it is over the field that ran, by the fit that
    stood when the call was made.
    """
    rows = list(moments.standing(Call, moment).select_related("horse"))
    if not rows:
        return {}
    known = known_of(library, moment, figures=True)
    starts = _starts(known, moment)
    first = min(first_day(row.recorded_at) for row in rows)
    signs = signs_of(moment, first, sorted({row.horse_id for row in rows}))
    told, raced = {}, {}
    for row in rows:
        ran = starts.get(row.horse.horse_key, [])
        made = Made(row.about, first_day(row.recorded_at), row.known.get("level_lb"), row.known.get("spread_lb"))  # type: ignore[arg-type]  # a known question
        came = came_of(made, [one.ran for one in ran], signs.get(row.horse_id, ()), moment.day)
        told[str(row.pk)] = _plain(came, row.known.get("chance"))
        if row.about == Call.About.FIRST_FOUR and came.day is not None:
            raced[row] = next(one.race_key for one in ran if one.ran.day == came.day)
    for row, tool in _over_the_fields(library, known, raced).items():
        told[str(row.pk)]["tool"] = tool
    return told


def _plain(came: Came, tool: float | None) -> dict[str, Any]:
    day = None if came.day is None else str(came.day)
    return {"came": came.came, "why": came.why, "day": day, "tool": None if tool is None else round(tool, 4)}


def _starts(known: Known, moment: Moment) -> dict[str, list[_Start]]:
    """Return the starts of the yard's horses before the moment's day, by key of the horse."""
    if known.state is None:
        return {}
    rows = starts_of(known.state, known.keys).filter(pl.col("date") < moment.day)
    found: dict[str, list[_Start]] = {}
    for key, horse, day, outcome, position in rows.select(
        "race_key", "horse_key", "date", "outcome", "position"
    ).iter_rows():
        standing = known.figures.get(horse)
        figure = standing.figures.get(key) if standing is not None else None
        place = position if outcome == "finished" else None
        run = Ran(day, None if figure is None else figure["figure_lb"], place)
        found.setdefault(horse, []).append(_Start(key, run))
    return found


def _over_the_fields(library: Path, known: Known, raced: Mapping[Call, str]) -> dict[Call, float | None]:
    """Return the tool's chance of a first four in the race that came of each call, by the fit of that moment."""
    fields = _fields(known, set(raced.values()))
    horses = {key for field in fields.values() for key in field.keys}
    told = {row: race_key for row, race_key in raced.items() if {"as_of", "spread_lb"} <= row.known.keys()}
    on = {day: _levels(library, date.fromisoformat(day), horses) for day in {row.known["as_of"] for row in told}}
    chances: dict[Call, float | None] = dict.fromkeys(raced)
    for row, race_key in told.items():
        field, stood = fields.get(race_key), on[row.known["as_of"]]
        if field is not None and stood is not None:
            chances[row] = _chance(library, field, stood, row)
    return chances


def _chance(library: Path, field: _Field, stood: Levels, row: Call) -> float | None:
    if row.horse.horse_key not in field.keys:
        return None
    level, sd = np.array([stood.get(key, UNKNOWN) for key in field.keys]).T
    chances = first_four(level, sd, _burden(library, field.about, field.runs), row.known["spread_lb"])
    return round(float(chances[field.keys.index(row.horse.horse_key)]), 4)


def _fields(known: Known, race_keys: Set[str]) -> dict[str, _Field]:
    """Return the races of some keys with their fields, read all at once."""
    if known.state is None or not race_keys:
        return {}
    store, wanted = known.state.library(), pl.col("race_key").is_in(list(race_keys))
    about = {row["race_key"]: row for row in store.races().filter(wanted).collect().to_dicts()}
    runs = store.runs().filter(wanted, pl.col("outcome").is_in(STARTED)).collect()
    return {
        str(key): _Field(about[key], field, field["horse_key"].to_list())
        for (key,), field in runs.partition_by("race_key", as_dict=True).items()
    }


def _levels(library: Path, day: date, keys: Set[str]) -> Levels | None:
    """Return level and doubt of some horses by the fit that stood on a day; None where none is kept."""
    try:
        fit = levels.read_levels(library, day)
    except UpsidesError:
        return None
    rows = fit.horses.lazy().filter(pl.col("horse_key").is_in(list(keys))).select("horse_key", "level_lb", "sd_lb")
    return {key: (lb, sd) for key, lb, sd in rows.collect().iter_rows()}


def _burden(library: Path, about: Mapping[str, Any], field: pl.DataFrame) -> np.ndarray:
    """Return what each carried with its rider's claim and weight for age; a weight not known as the field's mean."""
    carried = field["carried_lb"].cast(pl.Float64).to_numpy() + field["claim_lb"].fill_null(0.0).to_numpy()
    carried = np.where(np.isfinite(carried), carried, np.nanmean(carried) if np.isfinite(carried).any() else 0.0)
    if not about["country"] or not about["distance_m"]:
        return np.asarray(carried)
    age = field["age"].fill_null(MATURE).to_numpy().astype(np.int64)
    allowed, _report = weight_for_age_lb(
        str(about["country"]), np.full(age.size, np.datetime64(about["date"])),
        np.full(age.size, float(about["distance_m"])), np.where(age > 0, age, MATURE),
        overrides=yard_rules(library).overrides,
    )  # fmt: skip
    return np.asarray(carried + allowed)
