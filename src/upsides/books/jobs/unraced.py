"""The level of horses that have not run: by what such horses are usually worth, and by their works beside others."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from upsides.books.models import Horse
from upsides.books.queries import levels, moments
from upsides.books.queries.judged import Known, judged_works
from upsides.books.queries.judged_trials import judged_trials
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import raced, state_of
from upsides.books.queries.standings import standings
from upsides.books.queries.string import this_season
from upsides.books.queries.yard_rules import own_place, yard_rules
from upsides.ratings.kept_fits import kept_fit, read_debut
from upsides.recordings.judging import JudgedWork, with_works
from upsides.recordings.work import Work
from upsides.results.library import Library

LATELY_DAYS = 730
"""The yard's name and source in the results are those of its horses' runs of so many days."""


def unraced_levels(library: Path, moment: Moment) -> dict[str, Any]:
    """Return what is thought of the level of each horse in training that has not run, as the answer keeps it.

    Raises:
        UpsidesError: there is no library, or no fit.
    """
    debut = read_debut(kept_fit(library, moment.day).folder)
    horses = list(moments.in_training(moment))
    keys = frozenset(horse.horse_key for horse in horses)
    ran = raced(state_of(library), keys, moment.day)
    new = [horse for horse in horses if horse.horse_key not in ran]
    if debut is None or not new:
        return {}
    mean, sd = debut.levels(_first(library, moment.day, keys, new))
    numbers, known = [horse.pk for horse in new], _known(library, moment, horses)
    works, trials = judged_works(moment, numbers, known), judged_trials(moment, numbers, known)
    before = zip(mean.tolist(), sd.tolist(), strict=True)
    every = {number: [*works.get(number, []), *trials.get(number, [])] for number in numbers}
    for mine in every.values():
        mine.sort(key=lambda one: one[0].when, reverse=True)
    return {str(horse.pk): _told(prior, every[horse.pk]) for horse, prior in zip(new, before, strict=True)}


def _told(prior: tuple[float, float], works: Sequence[tuple[Work, JudgedWork]]) -> dict[str, Any]:
    told = [one for _work, one in works]
    after = with_works(*prior, told)
    alone = [with_works(*prior, [one]).mean - prior[0] for one in told]
    return {
        "before": [round(x, 2) for x in prior],
        "after": [round(after.mean, 2), round(after.sd, 2)],
        "works": [
            [work.when.isoformat(), [beside.horse for beside in one.beside], round(moved, 2)]
            for (work, one), moved in zip(works, alone, strict=True)
        ],
    }


def _known(library: Path, moment: Moment, horses: Sequence[Horse]) -> Known:
    """Return the levels of those that have run, and the ages of all, of every horse that the yard ever had."""
    everyone = {horse.pk: horse for horse in [*moments.rows(Horse, moment), *horses]}
    fit = standings(levels.read_levels(library, moment.day), frozenset(one.horse_key for one in everyone.values()))
    overrides, season = yard_rules(library).overrides, this_season(moment)
    return Known(
        {number: fit[one.horse_key].level for number, one in everyone.items() if one.horse_key in fit},
        {number: season - one.foaled for number, one in everyone.items()},
        own_place(moment, overrides),
        overrides,
    )


def _first(library: Path, day: date, keys: frozenset[str], new: Sequence[Horse]) -> pl.DataFrame:
    """Return the horses as if they ran first on a day, in a usual race, from this yard."""
    store = Library.open(library)
    known = store.horses().filter(pl.col("horse_key").is_in(list(keys))).collect()
    suffix: Mapping[str, str | None] = dict(zip(known["horse_key"], known["suffix"], strict=True))
    ours = pl.col("source_horse").is_in(known["source_horse"].to_list())
    lately = pl.col("date").is_between(day - timedelta(days=LATELY_DAYS), day, closed="left")
    runs = store.runs().filter(ours, lately).sort("date").select("source", "trainer").collect()
    usual = {name: runs[name].drop_nulls().mode(maintain_order=True).first() for name in runs.columns}
    rows = [{"date": day, "sex": horse.sex or None, "suffix": suffix.get(horse.horse_key)} | usual for horse in new]
    return pl.DataFrame(
        rows,
        schema={"date": pl.Date, "sex": pl.String, "suffix": pl.String, "source": pl.String, "trainer": pl.String},
    ).with_columns(pl.lit(None, pl.Float64).alias(name) for name in ("prize", "rating_low", "rating_high"))
