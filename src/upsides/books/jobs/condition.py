"""Work on condition: what is learned over the whole yard, kept as answers for pages to read."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from upsides.books import clock
from upsides.books.answers import kept_changes, kept_gaps, kept_usual, plain
from upsides.books.jobs.running import Running
from upsides.books.jobs.together import find_missing
from upsides.books.jobs.unraced import unraced_levels
from upsides.books.models import Answer, Gallop, Outing
from upsides.books.models.answer import (
    CALLS,
    EXERCISES,
    FORM,
    GALLOPS,
    GAPS,
    HEARTS,
    LATER,
    OF_A_DAY,
    SPEEDS,
    SPREADS,
    UNRACED,
    WATCH,
)
from upsides.books.queries import moments
from upsides.books.queries.condition_answers import OWN_EXERCISES, WARMTH
from upsides.books.queries.condition_done import LOOKED_BACK, tracked_of, with_exercises
from upsides.books.queries.condition_hearts import heart_readings
from upsides.books.queries.condition_signs import SIGN_DAYS, of_one_exercise, recoveries_of
from upsides.books.queries.days import entries_of
from upsides.books.queries.gallop_works import days_there, faster_there, kept_days
from upsides.books.queries.judged import DAYS as JUDGED_DAYS
from upsides.books.queries.moments import Moment
from upsides.books.queries.yard_rules import yard_rules
from upsides.books.services.answers import store
from upsides.condition.done.exercises import exercises
from upsides.condition.done.gathering import learnt
from upsides.condition.form import Standing, form_of
from upsides.condition.fresh.from_results import gaps_of
from upsides.condition.fresh.latest import yard_spread
from upsides.condition.monitoring.budget import Budget
from upsides.errors import CannotFitError, UpsidesError
from upsides.recordings.heart.trends import trends_of
from upsides.results.library import Library
from upsides.rules import looking_first

Told = Callable[[float, str], None]


@dataclass(frozen=True, slots=True)
class Made:
    """An answer: what came out, and what it was made from."""

    values: Mapping[str, Any]
    made_from: Mapping[str, Any]


def condition(running: Running) -> dict[str, Any]:
    """Work out every answer about condition as of today; those that were kept before it was stopped stand.

    Told a moment it works out what pages of that day show, by what was known at it.
    """
    if "known_at" in running.arguments:
        return answer_day(running.folder, datetime.fromisoformat(running.arguments["known_at"]), running.progress)
    kept: dict[str, Any] = running.checkpoint or {"day": str(clock.today()), "done": {}}
    kept["done"] = answer_all(running.folder, date.fromisoformat(kept["day"]), kept["done"], running.progress,
                              lambda: running.keep(kept))  # fmt: skip
    return {"day": kept["day"], **kept["done"]}


def answer_all(
    library: Path, day: date, done: dict[str, Any], progress: Told, keep: Callable[[], None] = lambda: None
) -> dict[str, Any]:
    """Work out every answer that is not done yet, and keep it.

    Args:
        library: folder of the library.
        day: the yard's day.
        done: by the answer's name what it was made from; answers in it are left out, and those that are made are added.
        progress: told how far the work is, and what is being done.
        keep: called after each answer.

    Returns:
        `done`.
    """
    moment = Moment(day)
    for turn, (name, (words, _make)) in enumerate(ANSWERS.items()):
        progress(turn / len(ANSWERS), words)
        if name in done:
            continue
        made = _made(library, moment, name)
        store(name, day, made.values, made.made_from)
        done[name] = made.made_from
        keep()
    return done


def answer_day(library: Path, known_at: datetime, progress: Told) -> dict[str, Any]:
    """Work out what pages of a past day show, by what was known at a moment of it, and keep it for that day.

    What was kept of the day, by the night or before this was stopped, stands.

    Args:
        library: folder of the library.
        known_at: the moment.
        progress: told how far the work is, and what is being done.

    Returns:
        The day, and by the answer's name what it was made from.
    """
    moment = moments.as_of(known_at)
    wanted = _not_kept(moment, OF_A_DAY)
    done: dict[str, Any] = {"day": str(moment.day)}
    for turn, name in enumerate(wanted):
        progress(turn / len(wanted), ANSWERS[name][0])
        made = _made(library, moment, name)
        done[name] = {**made.made_from, "known_at": known_at.isoformat()}
        store(f"{name}{LATER}", moment.day, made.values, done[name])
    return done


def anew(library: Path, moment: Moment, names: Sequence[str]) -> dict[tuple[str, Moment], Answer]:
    """Return answers for a day of which none was kept, by what was known at the moment; nothing is kept of them.

    Args:
        library: folder of the library.
        moment: an earlier one; of now the night's answers hold, and nothing is worked out.
        names: of the answers; those that were kept of the day are left out.
    """
    if moment.at is None:
        return {}
    found: dict[tuple[str, Moment], Answer] = {}
    for name in _not_kept(moment, names):
        made = _made(library, moment, name)
        found[name, moment] = Answer(name=name, day=moment.day, values=made.values, made_from=made.made_from)
    return found


def _not_kept(moment: Moment, names: Sequence[str]) -> list[str]:
    """Return the answers of which none was kept of a moment's day."""
    kept = moments.answers(names, moment)
    return [name for name in names if name not in kept or kept[name].day < moment.day]


def _made(library: Path, moment: Moment, name: str) -> Made:
    with clock.one_place():
        return ANSWERS[name][1](library, moment)


def _exercises(library: Path, moment: Moment) -> Made:
    first = moment.day - timedelta(days=LOOKED_BACK)
    horses = set(moments.standing(Outing, moment).filter(day__gte=first).values_list("horse", flat=True))
    outings = with_exercises(moment, tracked_of(moment, horses, first), first)
    own = library / OWN_EXERCISES
    learned = learnt(exercises(own if own.exists() else None), outings)
    return Made(kept_usual(learned), {"outings": len(outings)})


def _hearts(_library: Path, moment: Moment) -> Made:
    values: dict[str, Any] = {}
    counts: dict[str, Any] = {}
    for kind, readings in heart_readings(moment).items():
        counts[kind] = len(readings)
        counts[f"{kind}{WARMTH}"] = sum(one.temperature_c is not None for one in readings)
        try:
            changes = trends_of(readings, moment.day).changes
        except CannotFitError as error:
            counts[f"why no {kind}"] = str(error)
        else:
            values[kind] = kept_changes({one.horse: one for one in changes})
    return Made(values, counts)


def _gallops(_library: Path, moment: Moment) -> Made:
    """Return what each day did to the speeds on each gallop."""
    told = {str(one): days_there(moment, one) for one in Gallop.objects.order_by("pk").values_list("pk", flat=True)}
    values = {gallop: kept_days(*found) for gallop, found in told.items()}
    return Made(values, {gallop: len(days) for gallop, (days, _why) in told.items()})


def _speeds(_library: Path, moment: Moment) -> Made:
    """Return how fast each horse is in fast work, over all gallops: each says it with its own error."""
    said: dict[int, list[tuple[float, float]]] = {}
    for gallop in Gallop.objects.order_by("pk").values_list("pk", flat=True):
        for one in faster_there(moment, gallop):
            said.setdefault(one.horse, []).append((one.by, one.error**-2))
    values = {}
    for horse, each in sorted(said.items()):
        by, weight = np.array(each).T
        values[str(horse)] = [round(float(by @ weight / weight.sum()), 4), round(float(weight.sum() ** -0.5), 4)]
    return Made(values, {"horses": len(values)})


def _unraced(library: Path, moment: Moment) -> Made:
    """Return the level of horses that have not run, by what such horses are worth and by their works beside others."""
    find_missing(library, moment.day, JUDGED_DAYS)
    try:
        values = unraced_levels(library, moment)
    except UpsidesError as error:
        return Made({}, {"why": str(error)})
    return Made(values, {"horses": len(values), "works": sum(len(one["works"]) for one in values.values())})


def _spreads(_library: Path, moment: Moment) -> Made:
    """Return the spread within horses over the yard of each sign that tells of freshness."""
    first = moment.day - timedelta(days=SIGN_DAYS)
    kinds = {"mass": ("mass", "kg"), "temperature": ("temperature", "celsius"), "resting heart": ("pulse", "beats")}
    series: dict[str, dict[int, list[float]]] = {sign: {} for sign in kinds}
    of_kind = {kind: (sign, name) for sign, (kind, name) in kinds.items()}
    rows = entries_of(moment, tuple(of_kind), first, moment.day)
    worn = set(moments.standing(Outing, moment).filter(day__gte=first).values_list("horse", flat=True))
    recovered = recoveries_of(moment, worn)
    for kind, horse, values in rows.values_list("kind", "horse_id", "values"):
        sign, name = of_kind[kind]
        series[sign].setdefault(horse, []).append(values[name])
    series["recovery"] = {horse: of_one_exercise(told) for horse, told in recovered.items() if told}
    found = {sign: yard_spread(list(horses.values())) for sign, horses in series.items()}
    counts = {sign: sum(map(len, horses.values())) for sign, horses in series.items()}
    return Made({sign: round(sd, 4) for sign, sd in found.items() if sd is not None}, counts)


def _gaps(library: Path, moment: Moment) -> Made:
    """Return what the library's results say of gaps between runs; nothing where there is no library."""
    from upsides.books.queries.condition_form import missed_before

    try:
        missed = missed_before(library, moment.day)
        races = Library.open(library).races().select("race_key", "distance_m").collect()
    except UpsidesError as error:
        return Made({}, {"why": str(error)})
    gaps = gaps_of(missed, races)
    return Made(kept_gaps(gaps), {"as_of": str(moment.day), "runs": int(np.sum(gaps.runs))})


def _form(library: Path, moment: Moment) -> Made:
    """Return how the string has run of late against expectation; nothing where too little is known."""
    from upsides.books.queries.condition_form import runs_of_yard

    try:
        runs, names = runs_of_yard(library, moment)
        told = form_of(runs, moment.day)
    except UpsidesError as error:
        return Made({}, {"why": str(error)})
    names["gallop"] = dict(Gallop.objects.values_list("pk", "name"))

    def standing(one: Standing) -> dict[str, Any]:
        kept: dict[str, Any] = plain(asdict(one))
        return kept | {"name": names.get(one.split, {}).get(one.code, "")}

    values = {"yard": standing(told.yard), "parts": [standing(one) for one in told.parts], "runs": told.runs,
              "year_lb": round(told.year_lb, 3)}  # fmt: skip
    return Made(values, {"runs": told.runs})


def _calls(library: Path, moment: Moment) -> Made:
    """Return the shares that the tool's chances come from, and what came of calls."""
    from upsides.books.queries.settling import settled
    from upsides.books.queries.tools_word import shares_of

    came = settled(library, moment)
    shown = sum(one["came"] is not None for one in came.values())
    return Made(shares_of(library, moment) | {"came": came}, {"calls": len(came), "shown": shown})


def _watch(library: Path, moment: Moment) -> Made:
    from upsides.books.queries.condition_watch import yard_readings
    from upsides.books.watched import watched_on

    limits = looking_first(moment.day, yard_rules(library).overrides)
    read = yard_readings(moment)
    counts = {"readings": int(read.readings.day.size), "horses": len(read.here), "for_nothing": limits.for_nothing}
    return Made(watched_on(read, moment.day, Budget(limits.for_nothing, limits.groups_for_nothing)), counts)


ANSWERS: Mapping[str, tuple[str, Callable[[Path, Moment], Made]]] = {
    EXERCISES: ("what exercises come to", _exercises),
    SPREADS: ("how far signs spread", _spreads),
    HEARTS: ("hearts and speeds", _hearts),
    GALLOPS: ("days on each gallop", _gallops),
    SPEEDS: ("speeds in fast work", _speeds),
    UNRACED: ("works of horses that have not run", _unraced),
    GAPS: ("gaps between runs", _gaps),
    FORM: ("how the string has run", _form),
    WATCH: ("what stands out", _watch),
    CALLS: ("what came of calls", _calls),
}
"""By name: what is being done, and what does it."""
