"""Is it fresh? Every sign beside its own past, what is missing among them, and nothing folded into one number."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from math import isfinite
from typing import Final

from upsides.condition.fresh.gaps import GapEffect, Gaps, UsualGap
from upsides.condition.fresh.latest import SIGNS, Latest, Missing, latest
from upsides.condition.fresh.mass import AgainstRacing, against_racing
from upsides.condition.fresh.words import LEFT, Appetite, Word, appetite, last_word
from upsides.errors import ConditionRefusedError
from upsides.errors.wording import gettext as _

Valued = Sequence[tuple[date, float]]
Worded = Sequence[tuple[date, str]]

RIDDEN_DAYS: Final = 3
MIND_DAYS: Final = 7
"""Days after which a rider's word, and a word on the mind, say nothing of today; our own choice."""
SELDOM: Final = 0.05
"""So improbable by the horse's own past is what it left when it is called unusual; our own choice."""
LONG_HOURS: Final = 8.0
"""Journeys had effects that could be measured from about so many hours on (a secondary account)."""


@dataclass(frozen=True, slots=True)
class Travel:
    """Journeys.

    Attributes:
        days_ago: since the last; None where there was none.
        hours: how long that took; None where nobody wrote it down.
        journeys: in 14 days.
    """

    days_ago: int | None
    hours: float | None
    journeys: int

    @property
    def long(self) -> bool | None:
        """Whether the last was as long as those with published effects; None where its hours are not known."""
        return None if self.hours is None else self.hours >= LONG_HOURS


@dataclass(frozen=True, slots=True)
class SinceRun:
    """Days since the last run, beside what is usual after such a trip.

    Attributes:
        days: since then.
        furlongs: its trip.
        usual: days between runs after such a trip.
        effect: what results say of such a gap; None where nobody looked.
    """

    days: int
    furlongs: float
    usual: UsualGap | None = None
    effect: GapEffect | None = None


def since_run(days: int, furlongs: float, gaps: Gaps | None) -> SinceRun:
    """Return days since the last run beside what is usual after its trip, where results were looked at."""
    if gaps is None:
        return SinceRun(days, furlongs)
    return SinceRun(days, furlongs, gaps.usual_after(furlongs), gaps.effect(furlongs, days))


@dataclass(frozen=True, slots=True)
class Seen:
    """What the books hold of one horse.

    Attributes:
        mass, temperature, resting_heart, recovery: day and value; recovery is the heart a minute after work.
        left: day and the diary's word for what was left of a feed.
        rider, mind: day and the diary's word.
        unheard: days of words on its mind that the reader may not know before saying one.
        runs: day and our figure, lb; NaN where there is none.
        journeys: day and hours; NaN where nobody wrote those down.
        since_run: days since the last run beside what is usual; None where no run is known.
        fast_works: days of fast work in 14 days; None where not known.
        yard_sds: spread within horses over the yard, by sign, where known.
    """

    mass: Valued = ()
    temperature: Valued = ()
    resting_heart: Valued = ()
    recovery: Valued = ()
    left: Worded = ()
    rider: Worded = ()
    mind: Worded = ()
    unheard: Sequence[date] = ()
    runs: Valued = ()
    journeys: Valued = ()
    since_run: SinceRun | None = None
    fast_works: int | None = None
    yard_sds: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Fresh:
    """Every sign by itself.

    Attributes:
        racing_mass: the latest mass against what it weighed before its runs.
        signs: mass, temperature, resting heart and recovery against their own past.
        appetite: what was left.
        rider, mind: the last words.
        since_run, travel, fast_works: as they stand.
        missing: what was not measured or said, with the days since; what was said and is not shown yet was said.
        unusual: names of the signs that lie on the side on which a tired horse shows them, and of words that say that
            it is not as it should be and seldom fell before.
        usual: names of those that were compared and do not.
        unheard: how many of the last days' words on its mind the reader may not know before saying one.
    """

    racing_mass: AgainstRacing | Missing
    signs: tuple[Latest | Missing, ...]
    appetite: Appetite | Missing
    rider: Word | Missing
    mind: Word | Missing
    since_run: SinceRun | None
    travel: Travel
    fast_works: int | None
    missing: tuple[Missing, ...]
    unusual: tuple[str, ...]
    usual: tuple[str, ...]
    unheard: int = 0


def fresh(seen: Seen, on: date) -> Fresh:
    """Return every sign of a horse on a day.

    Raises:
        ConditionRefusedError: a word for what was left is none of the diary's.
    """
    values = (seen.mass, seen.temperature, seen.resting_heart, seen.recovery)
    signs = tuple(
        latest(sign, given, on, seen.yard_sds.get(sign.name)) for sign, given in zip(SIGNS, values, strict=True)
    )
    eaten = appetite([(day, _share(word)) for day, word in seen.left], on)
    rider = last_word("rider's word", seen.rider, on, RIDDEN_DAYS)
    mind = last_word("mind", seen.mind, on, MIND_DAYS)
    unsaid = _unsaid(mind, seen.unheard, on)
    missing = tuple(one for one in (*signs, eaten, rider, unsaid) if isinstance(one, Missing))
    sides = dict(_side(one) for one in (*signs, eaten) if not isinstance(one, Missing))
    told = {name: side for name, side in sides.items() if side is not None}
    told |= {one.what: True for one in (rider, mind) if isinstance(one, Word) and one.odd}
    unusual, usual = (tuple(name for name, odd in told.items() if odd is one) for one in (True, False))
    unheard = sum(0 <= (on - day).days <= MIND_DAYS for day in seen.unheard)
    return Fresh(
        against_racing(seen.mass, seen.runs, on), signs, eaten, rider, mind, seen.since_run, _travel(seen.journeys, on),
        seen.fast_works, missing, unusual, usual, unheard,
    )  # fmt: skip


def _unsaid(mind: Word | Missing, unheard: Sequence[date], on: date) -> Missing | None:
    """Return for how long nobody said anything of a mind, what is not shown yet among it; None where somebody has."""
    if isinstance(mind, Word):
        return None
    known = [(on - day).days for day in unheard if day <= on] + ([] if mind.days is None else [mind.days])
    ago = min(known, default=None)
    return Missing(mind.what, ago) if ago is None or ago > MIND_DAYS else None


def _share(word: str) -> float:
    if word not in LEFT:
        raise ConditionRefusedError(
            _("what was left"), word, _("the diary has no such word"), _("use {left}", left=", ".join(LEFT))
        )
    return LEFT[word]


def _side(one: Latest | Appetite) -> tuple[str, bool | None]:
    """Return the name of a sign and whether it lies on the side on which tiredness shows; None where not told."""
    if isinstance(one, Appetite):
        return "appetite", None if one.chance is None else one.lately > 0 and one.chance < SELDOM
    tired = next(sign.tired for sign in SIGNS if sign.name == one.what)
    return one.what, None if one.where == "cannot be told" else one.where == tired


def _travel(journeys: Valued, on: date) -> Travel:
    past = sorted((day, hours) for day, hours in journeys if day <= on)
    if not past:
        return Travel(None, None, 0)
    day, hours = past[-1]
    lately = sum((on - when).days < 14 for when, _ in past)
    return Travel((on - day).days, hours if isfinite(hours) else None, lately)
