"""How the yard's horses have run of late against what was expected of them, run by run."""

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from pathlib import Path

import polars as pl

from upsides.books import clock
from upsides.books.diary.work import FAST
from upsides.books.models import Feed, FeedBatch, Horse, Ration
from upsides.books.queries import moments
from upsides.books.queries.condition_watch import barns_of
from upsides.books.queries.days import entries_of
from upsides.books.queries.feeding import feeds, rations
from upsides.books.queries.moments import Moment
from upsides.condition.expected import missed_in
from upsides.condition.form import DAYS, Ran, counted, usual_off
from upsides.results.library import Library

EATEN_DAYS = 2
"""So many days before a run a horse ate what may have told in it. Our own choice."""
WORKED_DAYS = 14
"""So long after fast work a gallop may have done something to a run."""


def runs_of_yard(library: Path, moment: Moment) -> tuple[list[Ran], dict[str, dict[int, str]]]:
    """Return the runs of a year before a moment's day with where each horse stood, worked and how it travelled.

    Returns:
        The runs, and the names of barns, lorries and batches of feed by their codes.

    Raises:
        UpsidesError: there is no library.
    """
    first = moment.day - timedelta(days=DAYS)
    horses = {horse.horse_key: horse.pk for horse in moments.rows(Horse, moment)}
    told = missed_before(library, moment.day).filter(pl.col("date").is_between(first, moment.day, closed="left"))
    told = told.drop_nulls()
    error = counted(told["sd_lb"].to_numpy())
    all_runs = usual_off(told["off_lb"].to_numpy(), error)
    mine = told.select("horse_key", "date", off=pl.col("off_lb") - all_runs, sd=pl.Series(error))
    rows = mine.filter(pl.col("horse_key").is_in(list(horses))).rows()
    barns, barn_of = barns_of(moment)
    lorries = _lorries(moment, first)
    names = {"barn": dict(enumerate(barns)), "lorry": dict(enumerate(sorted(set(lorries.values()))))}
    lorry_code = {name: code for code, name in names["lorry"].items()}
    eats, names["feed"] = batches_eaten(moment)
    worked = _worked(moment, first - timedelta(days=WORKED_DAYS))
    runs = []
    for key, day, off_lb, sd in rows:
        horse = horses[key]
        barn, lorry = barn_of(horse, day), lorries.get((horse, day))
        gallops = [(when, one) for when, one in worked.get(horse, ()) if 0 < (day - when).days <= WORKED_DAYS]
        runs.append(
            Ran(
                horse,
                day,
                off_lb,
                sd,
                barn if barn >= 0 else None,
                max(gallops)[1] if gallops else None,
                lorry_code[lorry] if lorry is not None else None,
                eats(horse, day - timedelta(days=EATEN_DAYS)),
            )
        )
    return runs, names


def missed_before(library: Path, day: date) -> pl.DataFrame:
    """Return by how much each run before a day was off what was expected of it by what was known before it.

    Args:
        library: folder with the results.
        day: the day; neither its results nor later ones go in.

    Raises:
        UpsidesError: there is no library.
    """
    held = Library.open(library)
    races = held.races(day).filter(pl.col("date") < day)
    return missed_in(
        races.collect(), held.runs(day).join(races.select("race_key"), on="race_key", how="semi").collect()
    )


def batches_eaten(moment: Moment) -> tuple[Callable[[int, date], int | None], dict[int, str]]:
    """Return what tells which batch a horse ate on a day, and the names of batches by their numbers.

    It is the batch of the concentrate of which its ration has most, where just one of it was open that day.
    """
    labels = feeds(moment)
    batches: dict[int, list[FeedBatch]] = {}
    for batch in moments.rows(FeedBatch, moment).exclude(opened_on=None).order_by("opened_on", "id"):
        batches.setdefault(batch.feed_id, []).append(batch)
    written: dict[int, list[Ration]] = {}
    for ration in rations(moment):
        written.setdefault(ration.horse_id, []).append(ration)

    def eats(horse: int, day: date) -> int | None:
        ration = next((one for one in reversed(written.get(horse, ())) if one.first_day <= day), None)
        feed = _most_of(ration, labels) if ration is not None else None
        open_ = [
            one.pk
            for one in batches.get(feed or 0, ())
            if one.opened_on and one.opened_on <= day and (one.finished_on is None or day <= one.finished_on)
        ]
        return open_[0] if len(open_) == 1 else None

    named = {one.pk: f"{labels[feed].name} {one.number}".strip() for feed, some in batches.items() for one in some}
    return eats, named


def _most_of(ration: Ration, labels: Mapping[int, Feed]) -> int | None:
    """Return the concentrate of which a ration has most, None for none."""
    kg: dict[int, float] = {}
    for one in ration.amounts:
        if one["feed"] in labels and labels[one["feed"]].kind == Feed.Kind.CONCENTRATE:
            kg[one["feed"]] = kg.get(one["feed"], 0.0) + one["kg"]
    return max(kg, key=lambda feed: (kg[feed], -feed), default=None)


def _lorries(moment: Moment, first: date) -> dict[tuple[int, date], str]:
    """Return by which lorry each horse travelled on a day."""
    zone = clock.place().zone
    rows = entries_of(moment, ["travel"], first, moment.day).values_list("horse_id", "happened_at", "values")
    return {(horse, at.astimezone(zone).date()): values["lorry"] for horse, at, values in rows}


def _worked(moment: Moment, first: date) -> dict[int, list[tuple[date, int]]]:
    """Return day and gallop of the fast works of each horse."""
    zone = clock.place().zone
    found: dict[int, list[tuple[date, int]]] = {}
    rows = entries_of(moment, ["exercise"], first, moment.day).values_list("horse_id", "happened_at", "values")
    for horse, at, values in rows:
        if values["exercise"] in FAST and values.get("gallop") is not None:
            found.setdefault(horse, []).append((at.astimezone(zone).date(), values["gallop"]))
    return found
