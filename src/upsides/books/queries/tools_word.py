"""What the tool held of a horse when somebody called it, and the shares of the past that its chances come from.

The shares are worked out every night and kept (`upsides.books.answers`, calls), so that a call's row can hold what was
known at its moment and no more.
"""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Final

import numpy as np
import polars as pl

from upsides.books import clock
from upsides.books.models import Horse
from upsides.books.models.answer import CALLS
from upsides.books.queries import moments
from upsides.books.queries.days import entries_of
from upsides.books.queries.levels_held import LevelsHeld, levels_held
from upsides.books.queries.moments import Moment
from upsides.books.queries.string import known_of
from upsides.books.queries.trips import trips
from upsides.condition.called import DAYS, Made, Ran, Sign, came_of
from upsides.condition.tools_word import LEAST, around, fortnights, runs_to_level, without_doubt

YEAR: Final = 365
KINDS: Final = ("not_right", "vet_finding", "lameness", "scope")
QUANTILES: Final = np.linspace(0.0025, 0.9975, 200)
Signs = Mapping[int, Sequence[tuple[date, Sign]]]


def known_now(
    library: Path, moment: Moment, horse: Horse, asked: Mapping[str, float | None]
) -> dict[str, dict[str, Any]]:
    """Return what the tool holds of a horse, by question: its chance where it has one, the level, its doubt.

    Args:
        library: folder of the library.
        moment: when to look from.
        horse: which.
        asked: the questions; of the trip the one that is meant, furlongs.
    """
    row = moments.answer(CALLS, moment)
    shares: Mapping[str, Any] = row.values if row is not None else {}
    known = known_of(library, moment, figures=True)
    standing = known.figures.get(horse.horse_key)
    held: dict[str, Any] = {"spread_lb": shares["spread"]} if shares.get("spread") else {}
    if standing is not None:
        held |= {"level_lb": round(standing.level.lb, 2), "sd_lb": round(standing.level.sd_lb, 2)}
        held |= {"as_of": str(known.as_of)}
    chances = {about: _chance(library, moment, horse, about, trip, held, shares) for about, trip in asked.items()}
    return {about: held | ({} if one is None else {"chance": round(one, 4)}) for about, one in chances.items()}


def _chance(
    library: Path, moment: Moment, horse: Horse, about: str, trip_f: float | None, held: Mapping[str, Any],
    shares: Mapping[str, Any],
) -> float | None:  # fmt: skip
    if about == "fit" and "sd_lb" in held:
        return runs_to_level(np.array(shares.get("off", ())), held["sd_lb"])
    if about == "fresh" and shares.get("well"):
        first = moment.day - timedelta(days=DAYS["fresh"] - 1)
        lately = signs_of(moment, first, [horse.pk]).get(horse.pk, ())
        return float(shares["well"]["after something" if any(_bad(one) for one in lately) else "quiet"])
    if about == "trip" and trip_f is not None:
        found = trips(library, moment, [horse])[0].get(horse.pk)
        return None if found is None else around(np.array(found.furlongs), np.array(found.share), trip_f)
    return None


def shares_of(library: Path, moment: Moment) -> dict[str, Any]:
    """Return the shares of the past: how runs lay about the levels held before them, how often horses were well."""
    horses = list(moments.rows(Horse, moment))
    since = moment.day - timedelta(days=YEAR)
    held = levels_held(library, moment.day, since, {one.horse_key for one in horses})
    off = (held.runs["figure_lb"] - held.runs["level_lb"]).to_numpy()
    told: dict[str, Any] = {"runs": int(off.size)}
    if off.size >= LEAST:
        alone = without_doubt(off, held.runs["sd_lb"].to_numpy())
        told |= {"off": np.quantile(alone, QUANTILES).round(2).tolist(), "spread": round(float(alone.std()), 2)}
    found = _fortnights(moment, horses, held, told.get("spread"))
    if found is not None:
        told["well"] = {"after something": round(found[True], 4), "quiet": round(found[False], 4)}
    return told


def _fortnights(
    moment: Moment, horses: Sequence[Horse], held: LevelsHeld, spread_lb: float | None
) -> dict[bool, float] | None:
    """Return how often the yard's horses were well for a fortnight in the last year."""
    days = DAYS["fresh"]
    first = moment.day - timedelta(days=YEAR)
    signs = signs_of(moment, first - timedelta(days=days))
    ours = held.runs.filter(pl.col("horse_key").is_in([one.horse_key for one in horses]))
    ran: dict[str, list[Ran]] = {}
    for key, day, figure in ours.select("horse_key", "date", "figure_lb").iter_rows():
        ran.setdefault(key, []).append(Ran(day, figure, None))
    before, well = [], []
    for back in range(days + 1, YEAR, days):
        start = moment.day - timedelta(days=back)
        for horse in horses:
            if horse.joined > start or (horse.left is not None and horse.left <= start + timedelta(days=days)):
                continue
            mine = signs.get(horse.pk, ())
            within = [one for one in ran.get(horse.horse_key, ()) if 0 <= (one.day - start).days <= days]
            made = Made("fresh", start, held.at(horse.horse_key, start), spread_lb)
            came = came_of(made, within, mine, moment.day).came
            if came is not None:
                before.append(any(_bad(one) and 0 < (start - one[0]).days <= days for one in mine))
                well.append(came)
    return fortnights(before, well)


def _bad(one: tuple[date, Sign]) -> bool:
    return one[1] != "looked at"


def signs_of(moment: Moment, first: date, horses: Sequence[int] | None = None) -> Signs:
    """Return what was entered from a day on that a call of fresh is judged by.

    That is that a horse was not right, that a vet found it lame or allowed it less than usual, and that a vet looked.

    Args:
        moment: when to look from.
        first: the day.
        horses: numbers of horses; all of them where none is given.
    """
    zone = clock.place().zone
    rows = entries_of(moment, KINDS, first, moment.day, horses)
    found: dict[int, list[tuple[date, Sign]]] = {}
    for kind, horse, at, values in rows.values_list("kind", "horse_id", "happened_at", "values"):
        found.setdefault(horse, []).append((at.astimezone(zone).date(), _sign(kind, values)))
    return found


def _sign(kind: str, values: Mapping[str, Any]) -> Sign:
    match kind:
        case "not_right":
            return "not right"
        case "vet_finding":
            return "looked at" if values.get("advice") in {None, "as_usual"} else "found"
        case "lameness":
            return "found" if values["grade"] else "looked at"
        case _:
            return "looked at"
