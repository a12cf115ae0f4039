"""What the books hold of one horse that tells whether it is fresh, and what its figures were."""

from collections import Counter
from collections.abc import Collection, Sequence, Set
from dataclasses import dataclass
from datetime import date, timedelta
from math import nan
from typing import Any, Final

from upsides.books import clock
from upsides.books.models import Engagement, Outing
from upsides.books.queries import moments
from upsides.books.queries.condition_answers import gaps_between_runs, yard_spreads
from upsides.books.queries.days import entries_of
from upsides.books.queries.diary import open_to, written
from upsides.books.queries.exercised import exercise_of, orders_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.condition.fresh.answer import Fresh, Seen, SinceRun, Valued, since_run
from upsides.condition.fresh.gaps import Gaps
from upsides.condition.fresh.latest import Missing
from upsides.trade.units import FURLONG_M

MASS_DAYS: Final = 1100
"""So many days of masses are read: those before runs of the last three years make the racing mass."""
SIGN_DAYS: Final = 120
AFTER: Final = "60"
"""The heart so many seconds after the last work is the recovery."""
KINDS: Final = ("temperature", "pulse", "feed_left", "rider_word", "mind", "travel")

WATCHED: Final = {
    "mass": "mass",
    "temperature": "temperature",
    "resting pulse": "resting heart",
    "recovery": "recovery",
    "feed left": "appetite",
    "heart at work": "heart at work",
    "speed": "speed at 200 beats",
}
"""Signs of freshness by the kind of reading that the watch knows them as, and what else of work it finds off."""
MUCH_LEFT: Final = 0.5
"""A horse that left so much the last time is not called as usual, however often it did before. Our own choice."""


@dataclass(frozen=True, slots=True)
class Recovered:
    """The heart a minute after the last work of an outing: its day, beats a minute, and which exercise it was."""

    day: date
    beats: float
    exercise: str


@dataclass(frozen=True, slots=True)
class Signs:
    """What is known of a horse.

    Args:
        seen: as `upsides.condition.fresh.answer` asks for it.
        scale: what masses were taken on; empty where that was not said.
        unheard: words on its mind of others that the reader may not know before saying one.
        recoveries: day and heart a minute after the last work, whatever the exercise was.
        exercise: after which exercise the recoveries of `seen` are, as `exercised.exercise_of` calls it; "" of none.
    """

    seen: Seen
    scale: str
    unheard: int
    recoveries: Valued = ()
    exercise: str = ""


def signs_of(
    moment: Moment, horse: int, reader: Visitor, runs: Sequence[tuple[date, float, float]], fast_works: int
) -> Signs:
    """Return what is known of a horse up to a moment's day.

    Args:
        moment: when to look from.
        horse: its number.
        reader: who looks.
        runs: day, metres and our figure (NaN where there is none) of each run, in any order.
        fast_works: days of fast work in 14 days.
    """
    zone = clock.place().zone
    rows = open_to(reader, entries_of(moment, KINDS, moment.day - timedelta(days=SIGN_DAYS), moment.day, [horse]))
    entries = list(rows.select_related("author"))
    days = {entry.pk: entry.happened_at.astimezone(zone).date() for entry in entries}
    masses, scale = masses_of(moment, horse)
    recovered = recoveries_of(moment, [horse])[horse]
    exercise = recovered[-1].exercise if recovered else ""
    minds = written([entry for entry in entries if entry.kind == "mind"], moment, reader)

    def values(kind: str, name: str) -> list[tuple[date, Any]]:
        return [(days[one.pk], one.values.get(name)) for one in entries if one.kind == kind]

    seen = Seen(
        mass=masses,
        temperature=values("temperature", "celsius"),
        resting_heart=values("pulse", "beats"),
        recovery=[(one.day, one.beats) for one in recovered if one.exercise == exercise],
        left=values("feed_left", "left"),
        rider=values("rider_word", "felt"),
        mind=[(days[one.entry.pk], one.entry.values["mind"]) for one in minds if one.typed],
        unheard=[days[one.entry.pk] for one in minds if not one.typed],
        runs=[(day, figure) for day, _metres, figure in runs],
        journeys=_journeys(moment, horse, values("travel", "hours"), {day for day, _metres, _figure in runs}),
        since_run=_since_run(moment.day, runs, gaps_between_runs(moment)),
        fast_works=fast_works,
        yard_sds=yard_spreads(moment),
    )
    return Signs(seen, scale, len(seen.unheard), [(one.day, one.beats) for one in recovered], exercise)


def odd_and_usual(fresh: Fresh, stands_out: Sequence[tuple[str, str]]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return which signs are not as usual for a horse, today or over the weeks, and which are.

    Args:
        fresh: the signs of the day.
        stands_out: what the watch over all readings found of it: the kind of reading, and it in words.
    """
    drifting = [WATCHED[kind] for kind, _words in stands_out if kind in WATCHED]
    left = 0.0 if isinstance(fresh.appetite, Missing) else fresh.appetite.left
    return (
        tuple(dict.fromkeys([*fresh.unusual, *drifting])),
        tuple(name for name in fresh.usual if name not in drifting and (name != "appetite" or left < MUCH_LEFT)),
    )


def _journeys(moment: Moment, horse: int, written_down: Sequence[tuple[date, float | None]], ran: Set[date]) -> Valued:
    """Return day and hours (NaN where nobody said) of journeys: those of the diary, and to races that it ran in.

    Of a race the sheet of the day says when it left; how long it was on the road then only the diary can say.
    """
    told = [(day, nan if hours is None else float(hours)) for day, hours in written_down]
    first = moment.day - timedelta(days=SIGN_DAYS)
    rows = moments.rows(Engagement, moment).filter(horse=horse, day__range=(first, moment.day))
    left = set(rows.exclude(leaves_at=None).values_list("day", flat=True)) & ran
    return [*told, *((day, nan) for day in sorted(left - {day for day, _hours in told}))]


def masses_of(moment: Moment, horse: int) -> tuple[Valued, str]:
    """Return day and kg of the masses that were taken like the last one, on the same scale, and the scale's name."""
    zone = clock.place().zone
    first = moment.day - timedelta(days=MASS_DAYS)
    rows = entries_of(moment, ["mass"], first, moment.day, [horse]).values_list("happened_at", "values")
    told = [(at.astimezone(zone).date(), values) for at, values in rows]
    if not told:
        return [], ""
    like = [told[-1][1].get(how) for how in ("scale", "tack")]
    same = [(day, one["kg"]) for day, one in told if [one.get(how) for how in ("scale", "tack")] == like]
    return same, like[0] or ""


def recoveries_of(moment: Moment, horses: Collection[int]) -> dict[int, list[Recovered]]:
    """Return the hearts a minute after the last work, of the outings on which it was worn, in order, by horse."""
    first = moment.day - timedelta(days=SIGN_DAYS)
    said = orders_of(moment, first, horses)
    rows = moments.standing(Outing, moment).filter(horse__in=horses, day__range=(first, moment.day))
    told = rows.order_by("began", "pk").values_list("horse_id", "day", "measured__heart__after", "measured__works")
    found: dict[int, list[Recovered]] = {horse: [] for horse in horses}
    for horse, day, after, works in told:
        if after and after.get(AFTER):
            exercise = exercise_of(said.get((horse, day), ("", None))[0], works or [])
            found[horse].append(Recovered(day, float(after[AFTER]), exercise))
    return found


def of_one_exercise(told: Sequence[Recovered]) -> list[float]:
    """Return the hearts after the exercise after which most of them are, of several the first: they vary alike."""
    counted = Counter(one.exercise for one in told)
    most = max(counted, key=lambda name: counted[name], default="")
    return [one.beats for one in told if one.exercise == most]


def _since_run(day: date, runs: Sequence[tuple[date, float, float]], gaps: Gaps | None) -> SinceRun | None:
    if not runs:
        return None
    last, metres, _figure = max(runs)
    return since_run((day - last).days, metres / FURLONG_M, gaps)
