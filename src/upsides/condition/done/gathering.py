"""From recordings, stopwatch, results and the diary to rows: each day by the best that is known of it.

What a tracker measured stands for the whole outing. Without one, the day's exercise comes to what it usually does, its
part at pace replaced by what a thumb clocked or, failing that, brought to the distance or the minutes that were written
down. A race counts by its distance and time, unless a tracker was on in it.
"""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo
from math import isfinite, nan
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.condition.done.dates import Dates
from upsides.condition.done.days import SPAN, Days
from upsides.condition.done.exercises import Exercise
from upsides.condition.done.rows import MIDDLES, STRIDE_M, STRIDING, Rows
from upsides.condition.done.spreading import WITHIN_MS, spread
from upsides.condition.done.usual import Usual, usual
from upsides.errors import ConditionRefusedError
from upsides.errors.wording import gettext as _
from upsides.recordings.bouts.bins import COUNT
from upsides.recordings.bouts.strides import CANTERS_MS
from upsides.recordings.measured import Speeds
from upsides.recordings.work import Work
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]
Day = tuple[int, int]
"""Place of a horse, and a day as `date.toordinal` counts."""

RACE: Final = "race"
SWIM: Final = "swim"
RACE_SD_MS: Final = 1.04
"""Standard deviation of the speed over 200 m sections of races (Morrice-West and others 2021, 25,259 starts)."""
RACING_MS: Final = 13.0
SEEN_M: Final = 1000.0
"""A recording tells of a day's work when it saw so much, or a furlong at canter or faster; our own choice. What a
tracker saw of a horse that was only led out to it is none."""
TRACKED: Final = 0.6
"""A tracker was on in a race when it saw so much of its distance at `RACING_MS` or faster; our own choice."""


@dataclass(frozen=True, slots=True)
class Outing:
    """What one recording measured; of two recordings of the same time give one.

    Attributes:
        horse: its number in the books.
        day: on the yard's calendar.
        speeds: by step of speed, as `upsides.recordings.measured` has it.
        exercise: what was ordered or done that day, a word of the diary; "" where nobody said.
    """

    horse: int
    day: date
    speeds: Mapping[int, Speeds]
    exercise: str = ""


@dataclass(frozen=True, slots=True)
class Said:
    """What the diary says that a horse did on a day, or was to do.

    Attributes:
        horse: its number in the books.
        day: on the yard's calendar.
        exercise: a word of the diary.
        metres: how far at that pace; NaN where not said.
        minutes: how long at that pace; NaN where not said.

    Raises:
        ConditionRefusedError: a distance or a time that no horse goes in a day.
    """

    horse: int
    day: date
    exercise: str
    metres: float = nan
    minutes: float = nan

    def __post_init__(self) -> None:
        if self.metres != self.metres and self.minutes != self.minutes:  # NaN is "not said", as of most
            return
        for field, value, most, unit in (("distance", self.metres, 4e4, "m"), ("minutes", self.minutes, 600.0, "min")):
            if not (0.0 <= value <= most or value != value):  # noqa: PLR0124 -- NaN is "not said"
                reason = _("it is to be 0 to {most:g} {unit}", most=most, unit=unit)
                raise ConditionRefusedError(field, value, reason, _("correct it, or leave it out"))


@dataclass(frozen=True, slots=True)
class Run:
    """One run of a horse.

    Attributes:
        horse: its number in the books.
        day: when.
        metres: the race's distance.
        seconds: what it took this horse; NaN where not known.
    """

    horse: int
    day: date
    metres: float
    seconds: float = nan


def gather(
    horses: Sequence[int],
    comes_to: Usual,
    zone: tzinfo,
    *,
    outings: Sequence[Outing] | Rows = (),
    works: Sequence[Work] = (),
    said: Sequence[Said] = (),
    runs: Sequence[Run] = (),
) -> Rows:
    """Return the rows of a yard.

    Args:
        horses: their numbers in the books; a horse's place in this list is its number in the rows.
        comes_to: what exercises come to in this yard.
        zone: of the yard, to which day an instant belongs.
        outings: what trackers measured, or the rows that `tracked_rows` made of it.
        works: of those, the ones by thumb and by order are used; what a tracker measured stands in `outings`.
        said: the rest of the diary; of two of the same day the last stands, before an order among the works.
        runs: in races.

    Raises:
        ConditionRefusedError: a horse or an exercise is not known.
    """
    at = _placing(horses)
    tracked = _rows(horses, outings)
    thumbs = [(at(one.horse, one.when.astimezone(zone).date()), one) for one in works if one.source == "thumb"]
    orders = [(at(one.horse, one.when.astimezone(zone).date()), one) for one in works if one.source == "ordered"]
    told = [(day, Said(one.horse, one.when.date(), one.exercise, one.metres)) for day, one in orders]
    told += [(at(one.horse, one.day), one) for one in said]
    races = _untracked([(at(one.horse, one.day), one) for one in runs], tracked)
    measured = set(zip(tracked.horse.tolist(), tracked.day.tolist(), strict=True))
    paced = {day for day, _ in (*thumbs, *races)}
    return Rows.joined([tracked, *_clocked(thumbs), *_raced(races), *_by_word(told, races, comes_to, measured, paced)])


def tracked_rows(horses: Sequence[int], outings: Sequence[Outing]) -> Rows:
    """Return the rows of what trackers measured, for whoever gathers and asks for days of work, too.

    Args:
        horses: as for `gather`.
        outings: what trackers measured.

    Raises:
        ConditionRefusedError: a horse is not known.
    """
    at = _placing(horses)
    return _tracked([(at(one.horse, one.day), one.speeds) for one in outings])


def _rows(horses: Sequence[int], outings: Sequence[Outing] | Rows) -> Rows:
    return outings if isinstance(outings, Rows) else tracked_rows(horses, outings)


def learnt(table: Mapping[str, Exercise], outings: Sequence[Outing]) -> Usual:
    """Return what exercises come to in this yard, by its measured outings."""
    metres = np.array([profile_of(one.speeds) for one in outings]).reshape(-1, COUNT)
    return usual(table, [one.exercise for one in outings], metres)


def worked_on(
    horses: Sequence[int],
    comes_to: Usual,
    zone: tzinfo,
    *,
    outings: Sequence[Outing] | Rows = (),
    works: Sequence[Work] = (),
    said: Sequence[Said] = (),
    runs: Sequence[Run] = (),
) -> Dates:
    """Return the days whose work is told, by places of horses: by a recording, a stopwatch, a result, or an entry.

    What is done besides the ridden outing (led out, on the walker) tells nothing of it. Arguments as for `gather`.
    """
    at = _placing(horses)
    every = Days.of(_rows(horses, outings))
    seen = every.key[(every.each() >= SEEN_M) | (every.each(CANTERS_MS) >= FURLONG_M)]
    told = [at(one.horse, one.when.astimezone(zone).date()) for one in works if one.source == "thumb"]
    beside = _besides(comes_to, said)
    told += [at(one.horse, one.day) for one in said if one.exercise not in beside]
    told += [at(one.horse, one.day) for one in runs]
    horse, day = np.array(told, dtype=np.int64).reshape(-1, 2).T
    return Dates.of([*horse, *(seen // SPAN)], [*day, *(seen % SPAN)])


def swims_of(horses: Sequence[int], said: Sequence[Said]) -> Dates:
    """Return the days on which horses swam, by their places, with the minutes that were written down."""
    at = _placing(horses)
    swum = [(*at(one.horse, one.day), one.minutes) for one in said if one.exercise == SWIM]
    table = np.array(swum).reshape(-1, 3)
    return Dates.of(table[:, 0], table[:, 1], np.nan_to_num(table[:, 2]))


def profile_of(speeds: Mapping[int, Speeds]) -> Floats:
    """Return (COUNT,) metres by step of speed of a recording."""
    metres = np.zeros(COUNT)
    metres[list(speeds)] = [one.metres for one in speeds.values()]
    return metres


def _placing(horses: Sequence[int]) -> Callable[[int, date], Day]:
    """Return what turns a horse's number and a day into its place and the day's."""
    place = {number: row for row, number in enumerate(horses)}

    def at(horse: int, day: date) -> Day:
        if horse not in place:
            raise ConditionRefusedError("horse", horse, _("it is not among the horses given"), _("add it to them"))
        return place[horse], day.toordinal()

    return at


def _tracked(outings: Sequence[tuple[Day, Mapping[int, Speeds]]]) -> Rows:
    if not outings:
        return Rows.joined([])
    numbers = (
        number
        for day, speeds in outings
        for step, one in (speeds or _STOOD).items()
        for number in (*day, step, one.metres, one.strides)
    )
    table = np.fromiter(numbers, dtype=np.float64).reshape(-1, 5)
    horse, day, step = (table[:, column].astype(np.int64) for column in range(3))
    estimated = table[:, 3] / np.where(step >= STRIDING, STRIDE_M[step], np.inf)
    strides = np.where((step >= STRIDING) & np.isfinite(table[:, 4]), table[:, 4], estimated)
    return Rows(horse, day, step, table[:, 3], strides, np.zeros(step.size, dtype=np.int64))


_STOOD: Final = {0: Speeds(0.0, 0.0, False)}


def _untracked(runs: list[tuple[Day, Run]], tracked: Rows) -> list[tuple[Day, Run]]:
    """Return the runs that no tracker saw."""
    fast: dict[Day, float] = defaultdict(float)
    quick = MIDDLES[tracked.step] > RACING_MS
    for horse, day, metres in zip(
        tracked.horse[quick].tolist(), tracked.day[quick].tolist(), tracked.metres[quick].tolist(), strict=True
    ):
        fast[horse, day] += metres
    return [(day, run) for day, run in runs if fast[day] < TRACKED * run.metres] if fast else runs


def _clocked(thumbs: Sequence[tuple[Day, Work]]) -> list[Rows]:
    """Return what was clocked, each length between two presses at its own speed."""
    lengths = [(*day, part.metres, part.seconds, part.sd_s) for day, work in thumbs for part in work.splits]
    if not lengths:
        return []
    table = np.array(lengths)
    speed = table[:, 2] / table[:, 3]
    sd = np.hypot(WITHIN_MS, speed * table[:, 4] / table[:, 3])
    return [Rows.of_profiles(table[:, 0], table[:, 1], spread(table[:, 2], speed, sd), "thumb")]


def _raced(races: Sequence[tuple[Day, Run]]) -> list[Rows]:
    known = [(*day, run.metres, run.metres / run.seconds if isfinite(run.seconds) else nan) for day, run in races]
    if not known:
        return []
    table = np.array(known)
    speed = np.where(np.isfinite(table[:, 3]), table[:, 3], 16.63)  # the mean of the same sections
    return [Rows.of_profiles(table[:, 0], table[:, 1], spread(table[:, 2], speed, RACE_SD_MS), "result")]


def _by_word(
    told: Sequence[tuple[Day, Said]],
    races: Sequence[tuple[Day, Run]],
    comes_to: Usual,
    measured: set[Day],
    paced: set[Day],
) -> list[Rows]:
    """Return what days come to of which only an exercise, a distance or minutes are known.

    Args:
        told: what the diary says.
        races: a day with one is a race day, whatever else was said.
        comes_to: what exercises come to.
        measured: the days that a tracker measured.
        paced: the days whose part at pace is known by thumb or result.
    """
    beside = _besides(comes_to, [one for _day, one in told])
    ridden = {day: one for day, one in told if one.exercise not in beside}
    ridden |= {day: Said(one.horse, one.day, RACE) for day, one in races}
    alone = [(day, one, day in paced) for day, one in ridden.items() if day not in measured]
    besides = [(day, one, False) for day, one in told if one.exercise in beside]
    return _laid([*alone, *besides], comes_to)


def _besides(comes_to: Usual, said: Sequence[Said]) -> set[str]:
    """Return which exercises of the diary's words are done apart from the ridden outing.

    Raises:
        ConditionRefusedError: an exercise is not known.
    """
    every = list(comes_to.exercises.values())
    return {name for name in {one.exercise for one in said} if every[comes_to.place(name)].besides}


def _laid(days: Sequence[tuple[Day, Said, bool]], comes_to: Usual) -> list[Rows]:
    """Return usual outings, their part at pace left out where it is known (the third), else as it was said."""
    if not days:
        return []
    horse, when = (np.array([day[k] for day, _, _ in days], dtype=np.int64) for k in (0, 1))
    place = {name: comes_to.place(name) for name in {one.exercise for _, one, _ in days}}
    row = np.array([place[one.exercise] for _, one, _ in days], dtype=np.int64)
    paced = np.array([known for _, _, known in days])
    part = comes_to.metres * comes_to.at_pace
    around = comes_to.metres - part
    there = part.sum(axis=1)[row]
    metres = np.array([one.metres for _, one, _ in days])
    timed = 60.0 * np.array([one.minutes for _, one, _ in days]) * comes_to.pace_ms[row]
    wanted = np.where(np.isfinite(metres), metres, timed)
    said = np.isfinite(wanted) & (there > 0) & ~paced
    scaled = part[row[said]] * (wanted[said] / there[said])[:, None]
    kind = np.where(said | paced, row, row + len(part))
    usual_ = Rows.of_kinds(horse, when, kind, np.concatenate([around, around + part]), "usual")
    return [usual_, Rows.of_profiles(horse[said], when[said], scaled, "told")]
