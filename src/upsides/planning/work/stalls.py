"""The path to the starting stalls: one step a lesson, back a step where a horse was not composed, then left alone.

Common practice, no source. What a certificate asks for is the authority's to say; the path only ends with its test.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from upsides.planning.work.said import Said

PATH: Final = ("walked_through", "stood", "jumped", "company", "test")
"""Steps in their order, in the diary's words; company is jumping beside others, the last the test for a certificate."""
STANDS_FOR: Final = {"shut": "stood", "walked_out": "stood"}
"""Words of the diary that are a form of another step."""
COMPOSED: Final = "composed"
SHORT_RUN_M: Final = 300.0
"""A first bend nearer than this makes the break count."""
SPRINT_M: Final = 1200.0
"""Over no more than this the break counts on any course."""
TO_MIND_DAYS: Final = 60
"""After so many days without stalls a trainer is reminded where the break counts, a race being a time at the stalls."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """A lesson at the stalls.

    Attributes:
        day: when.
        done: words of the diary.
        how: composed, uneasy or refused; None for not said, which is taken for composed.
        company: whether others were beside it, also where its entry does not say so.
        broke: how it came out: quick, level or slow; None for not said.
    """

    day: date
    done: frozenset[str]
    how: str | None = None
    company: bool = False
    broke: str | None = None

    @property
    def steps(self) -> frozenset[str]:
        """Steps of the path that it took."""
        found = {STANDS_FOR.get(word, word) for word in self.done - {"company"}}
        beside = self.company or "company" in self.done
        return frozenset(found | ({"company"} if beside and "jumped" in found else set()))

    @property
    def composed(self) -> bool:
        """Whether it went as it should."""
        return self.how in {None, COMPOSED}


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a horse is on the path.

    Attributes:
        taken: steps that it has learned, in their order.
        left: those that it has still to take, a lesson each.
        last: its last lesson, None for none.
    """

    taken: tuple[str, ...]
    left: tuple[str, ...]
    last: Lesson | None

    @property
    def learned(self) -> bool:
        """Whether it has learned, and is left alone."""
        return not self.left

    @property
    def then(self) -> str | None:
        """The step of its next lesson, None where it is left alone."""
        return self.left[0] if self.left else None


def standing(lessons: Sequence[Lesson], *, last_run: date | None = None, test: bool = True) -> Standing:
    """Return where a horse is on the path.

    A composed lesson takes a step, and those before it. One that was not composed takes back what it tried, and the
    step before that.

    Args:
        lessons: in any order.
        last_run: when it last ran from stalls, None for never. A run ends the path, whatever lessons there were before
            it; only a lesson after it that was not composed opens it again, until what it tried was composed. Of one
            day the lesson came before.
        test: whether a certificate is asked for where it is to run.
    """
    path = PATH if test else PATH[:-1]
    ordered = sorted(lessons, key=lambda one: one.day)
    known, again = (0, len(path)) if last_run is None else (len(path), 0)
    for one in ordered:
        if last_run is not None and one.day <= last_run:
            continue
        places = [path.index(step) + 1 for step in one.steps if step in path]
        if places and one.composed:
            known = max(known, *places)
            known = len(path) if known >= again else known
        elif not one.composed:
            tried = min(places, default=max(known, 1))
            known, again = min(known, max(tried - 2, 0)), max(tried, again)
    return Standing(path[:known], path[known:], ordered[-1] if ordered else None)


@dataclass(frozen=True, slots=True)
class Reminder:
    """What to mind: the break counts in a race, and the stalls were long ago; or not all is learned, whatever race.

    Attributes:
        why: bend, for a first bend near the stalls; sprint; or path, where the break counts less.
        metres: to the bend, or of the race.
        days: since it last was at stalls, in a lesson or a race; None for never.
        slow: whether it was slow away the last time.
        learned: whether it has gone the whole path.
    """

    why: str
    metres: float
    days: int | None
    slow: bool
    learned: bool = True


def reminder(
    where: Standing,
    on: date,
    race_m: float,
    to_bend_m: float | None = None,
    last_run: date | None = None,
    *,
    slow_away: bool = False,
) -> Reminder | None:
    """Return what to mind before a race, or None; `quiet` tells why there is nothing.

    A reminder is for the trainer to weigh; it is no lesson, and a horse that has learned is left alone unless told.
    One that has not is brought to mind before any race.

    Args:
        where: on the path.
        on: day of the race.
        race_m: its metres.
        to_bend_m: metres from the stalls to the first bend, None for not known or a straight course.
        last_run: when it last ran.
        slow_away: whether it was slow away then.
    """
    why = _counts(race_m, to_bend_m)
    seen = [day for day in (where.last.day if where.last else None, last_run) if day is not None]
    days = (on - max(seen)).days if seen else None
    slow = slow_away or (where.last is not None and where.last.broke == "slow")
    lately = days is not None and days <= TO_MIND_DAYS and not slow
    if where.learned and (why is None or lately):
        return None
    metres = to_bend_m if why == "bend" and to_bend_m is not None else race_m
    return Reminder(why or "path", metres, days, slow, where.learned)


def _counts(race_m: float, to_bend_m: float | None) -> str | None:
    """Return why the break counts in a race, None where it counts less."""
    if to_bend_m is not None and to_bend_m <= SHORT_RUN_M:
        return "bend"
    return "sprint" if race_m <= SPRINT_M else None


def quiet(race_m: float, to_bend_m: float | None = None, *, straight: bool = False, slow: bool = False) -> Said:
    """Return why nothing is to be minded before a race: the break counts less, or it was at stalls lately.

    Args:
        race_m: its metres.
        to_bend_m: as of `reminder`.
        straight: whether the course is straight.
        slow: whether the horse was slow away the last time; said where the break counts less.
    """
    why = _counts(race_m, to_bend_m)
    if why is not None:
        metres = to_bend_m if why == "bend" and to_bend_m is not None else race_m
        return Said("break_known", {"why": Said(why, {"metres": round(metres)})})
    far = Said("bend_unknown") if to_bend_m is None else Said("bend_far", {"metres": round(to_bend_m)})
    bend = Said("bend_none") if straight else far
    return Said("break_less_slow" if slow else "break_less", {"metres": round(race_m), "bend": bend})


def told(where: Standing, said: Reminder | None = None) -> tuple[Said, ...]:
    """Return where a horse is on the path, and what to mind where the break counts, in sentences."""
    first = Said(f"next_{where.then}") if where.then else Said("learned")
    return (first,) if said is None or said.why == "path" else (first, reminded(said))


def reminded(said: Reminder) -> Said:
    """Return what to mind before a race in a sentence."""
    ago = Said("never_there")
    if said.days is not None:
        ago = Said("last_there_slow" if said.slow else "last_there", {"count": said.days})
        if not (said.slow or said.learned or said.why == "path"):
            ago = Said("last_there_learning", {"count": said.days})
    if said.why == "path":
        return Said("path_left", {"ago": ago})
    return Said("break_counts", {"why": Said(said.why, {"metres": round(said.metres)}), "ago": ago})
