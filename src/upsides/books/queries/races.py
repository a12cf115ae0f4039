"""Reads of one race: its results are public, our figures are not."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import polars as pl

from upsides.books.diary.raced import RaceReport
from upsides.books.models import Horse, Inside
from upsides.books.queries import levels, moments
from upsides.books.queries.hand_results import told_results
from upsides.books.queries.levels import Levels
from upsides.books.queries.moments import Moment
from upsides.books.queries.report_clashes import Clash, clashes
from upsides.books.queries.results import race as read_race
from upsides.books.queries.results import state_of
from upsides.books.queries.standings import FIGURES, figures_where
from upsides.books.queries.visitors import Open, Visitor, opened, own_horses
from upsides.errors import UpsidesError

LATELY: Final = timedelta(days=60)
"""How long the page of a horse tells reports of its race that disagree; our choice. The race's page always does."""


@dataclass(frozen=True, slots=True)
class Race:
    """One race as its page shows it.

    Args:
        race: its row of the schema.
        runs: rows of the schema in order of finish, with horse_key; figure_lb, figure_sd_lb, late_speed and
            late_standing, empty where they are not open to the visitor; and `number`, the horse's number in the books
            where it is one that the visitor may see.
        as_of: the fit's day, None where no figure is open or there is no fit.
        no_fit: why there is no fit, empty where there is one or no figure is open.
        clashes: what reports of it tell differently, where the visitor may read them.
    """

    race: dict[str, Any]
    runs: list[dict[str, Any]]
    as_of: date | None
    no_fit: str
    clashes: tuple[Clash, ...] = ()

    @property
    def figures(self) -> bool:
        """Return whether figures are shown."""
        return self.as_of is not None


def race(library: Path, who: Visitor, moment: Moment, race_key: str) -> Race | None:
    """Return one race with what each run was worth; None when it is not known on the moment's day.

    Raises:
        UpsidesError: there is no library of results.
    """
    found = read_race(state_of(library), race_key)
    if found is None or found[0]["date"] >= moment.day:
        return None
    row, runs = found
    ours = moments.rows(Horse, moment).filter(horse_key__in=runs["horse_key"].to_list())
    numbers = dict(ours.values_list("horse_key", "id"))
    open_to = opened(who, Inside.FIGURES)
    wanted = open_to.everything or any(number in open_to for number in numbers.values())
    figures, as_of, no_fit = _figures(library, moment, row, wanted=wanted)
    own = own_horses(who)
    seen = {key: number for key, number in numbers.items() if own is None or number in own}
    shown = {key: value for key, value in figures.items() if _is_open(open_to, numbers.get(key))}
    nothing = dict.fromkeys(FIGURES[1:])
    told = [
        run | nothing | dict(shown.get(run["horse_key"], {})) | {"number": seen.get(run["horse_key"])}
        for run in runs.to_dicts()
    ]
    reads = bool(who.roles & RaceReport.readers) and own is None
    return Race(row, told, as_of, no_fit, tuple(clashes(moment, row, told)) if reads else ())


def disagreements(
    library: Path, who: Visitor, moment: Moment, number: int, runs: Iterable[Mapping[str, Any]]
) -> dict[str, tuple[Clash, ...]]:
    """Return the races of a horse's last runs that reports tell differently, by key, where the visitor may read them.

    Args:
        library: the library's folder.
        who: the visitor.
        moment: when to look from.
        number: of the horse.
        runs: its runs before the moment's day, with race_key and date.
    """
    found: dict[str, tuple[Clash, ...]] = {}
    if not who.roles & RaceReport.readers or own_horses(who) is not None:
        return found
    for run in runs:
        if run["date"] < moment.day - LATELY or number not in {
            one.horse.pk for one in told_results(moment, run["date"])
        }:
            continue
        read = read_race(state_of(library), run["race_key"])
        told = clashes(moment, read[0], read[1].to_dicts()) if read else []
        if told:
            found[run["race_key"]] = tuple(told)
    return found


def _is_open(open_to: Open, number: int | None) -> bool:
    return open_to.everything or number in open_to


def _figures(
    library: Path, moment: Moment, row: Mapping[str, Any], *, wanted: bool
) -> tuple[Mapping[str, Mapping[str, Any]], date | None, str]:
    """Return figures by horse, the fit's day, and why there is none."""
    if not wanted:
        return {}, None, ""
    try:
        fit = levels.read_levels(library, moment.day)
    except UpsidesError as error:
        return {}, None, str(error)
    return figures_of_race(fit, row["race_key"], row["date"]), fit.as_of, ""


@lru_cache(maxsize=64)
def figures_of_race(fit: Levels, race_key: str, day: date) -> Mapping[str, Mapping[str, Any]]:
    """Return the columns of `FIGURES` by horse for one race run on a day."""
    rows = figures_where(fit, (pl.col("date") == day) & (pl.col("race_key") == race_key))
    return {row["horse_key"]: row for row in rows.to_dicts()}
