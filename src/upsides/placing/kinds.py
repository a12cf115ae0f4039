"""Which of a horse's past runs a condition means: of what class, since when, worth what, over what distance."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Final

from upsides.placing.amounts import NO_RATES, Money, Rates
from upsides.results.naming import key_of
from upsides.rules import place_named

MARKS_OF_KIND: Final = (
    "maiden",
    "novice",
    "handicap",
    "nursery",
    "claiming",
    "selling",
    "starter",
    "restricted",
    "apprentice",
    "amateur",
    "auction",
    "classified",
    "stakes",
    "optional claiming",
    "allowance",
    "weight for age",
)
"""Words by which a race is told apart in conditions besides its class."""

BLACK_TYPE: Final = ("group 1", "group 2", "group 3", "listed")
"""Classes above all numbered ones, best first; North American grades count as groups, as cataloguing has them."""
SAME_TRIP: Final = 0.01
"""Share by which two races over one distance may differ as surveyed; our choice: a moved rail lies within."""
SAME_MEETING: Final = timedelta(days=4)
"""A run at a course so shortly before another there is one at the same meeting; our choice: five days is a long one."""
LONGEST_MEETING: Final = timedelta(days=100)
"""No meeting lasts longer, in countries where one goes on for weeks; our choice, wide."""
WEIGHTS_OUT: Final = timedelta(days=180)
"""Weights are not published longer before a race; our choice, wide."""


@dataclass(frozen=True, slots=True)
class PastRun:
    """A run that is over.

    Attributes:
        day: racing date.
        position: official place; None where it finished without one, or did not finish.
        race_class: "1" to "7", "group 1" to "group 3", "listed", or as the source says; "" where not known.
        kinds: words of `MARKS_OF_KIND` that the race bears; None where nobody said.
        worth: prize to the winner of that race; None where not known.
        earned: what this horse earned in it; None where not known.
        distance_m: distance, metres; None where not known.
        surface: turf, dirt, synthetic; "" where not known.
        code: flat, hurdle, chase, bumper ...
        country: where, as a jurisdiction's name or code; "" where not known.
        claimed_for: price for which it could be claimed in it; None where it could not, or not known.
        mark: mark that it ran off; None where it ran off none, or not known.
        race: what the race is called.
        course: where it was run; "" where not known.
    """

    day: date
    position: int | None = None
    race_class: str = ""
    kinds: frozenset[str] | None = None
    worth: Money | None = None
    earned: Money | None = None
    distance_m: float | None = None
    surface: str = ""
    code: str = "flat"
    country: str = ""
    claimed_for: Money | None = None
    mark: float | None = None
    race: str = ""
    course: str = ""

    @property
    def won(self) -> bool:
        """Whether it won, or dead-heated for the win."""
        return self.position == 1


@dataclass(frozen=True, slots=True)
class RunKind:
    """Which runs are meant; what is left out does not narrow them.

    Attributes:
        first, last: days between which, both included.
        classes: classes of race, in small letters; empty where any counts.
        worth: least prize to the winner.
        under: prize to the winner below which alone runs are meant.
        metres: least distance.
        metres_to: greatest distance.
        surfaces: turf, dirt, synthetic.
        codes: flat, hurdle ...
        only: words of `MARKS_OF_KIND` of which the race must bear one.
        without: words of which it must bear none.
        countries: where, as jurisdictions are named.
        claimed_to: a price for which, or less, it ran to be claimed.
        courses: courses by `key_of`.
        here: at the course of the race that asks, until `at_race` says which that is.
        this_trip: over the distance of the race that asks, likewise.
        this_meeting: at the meeting of the race that asks, which `at_race` sets as `meeting`, the day of that race.
        since_weights: since the weights of the race that asks were published, where the wording does not say when.
    """

    first: date | None = None
    last: date | None = None
    classes: frozenset[str] = field(default_factory=frozenset)
    worth: Money | None = None
    under: Money | None = None
    metres: float | None = None
    metres_to: float | None = None
    surfaces: frozenset[str] = field(default_factory=frozenset)
    codes: frozenset[str] = field(default_factory=frozenset)
    only: frozenset[str] = field(default_factory=frozenset)
    without: frozenset[str] = field(default_factory=frozenset)
    countries: frozenset[str] = field(default_factory=frozenset)
    claimed_to: Money | None = None
    courses: frozenset[str] = field(default_factory=frozenset)
    here: bool = False
    this_trip: bool = False
    this_meeting: bool = False
    meeting: date | None = None
    since_weights: bool = False

    def at_race(self, day: date, course: str, distance_m: float | None, closes: date | None) -> "RunKind":
        """Return the same for one race, whose course and distance are known.

        Weights come out after entries have closed; where nobody knows when, within `WEIGHTS_OUT` before the race. What
        was run before that is not meant; of what was run since it is not known.
        """
        kind = self
        if self.here:
            kind = replace(kind, courses=kind.courses | {key_of(course)}, here=False)
        if self.this_trip and distance_m is not None:
            near = (distance_m * (1.0 - SAME_TRIP), distance_m * (1.0 + SAME_TRIP))
            kind = replace(kind, metres=near[0], metres_to=near[1], this_trip=False)
        if self.this_meeting:
            kind = replace(kind, meeting=day, this_meeting=False)
        if self.since_weights:
            kind = replace(kind, first=max(filter(None, (kind.first, closes or day - WEIGHTS_OUT))))
        return kind

    def counts(self, run: PastRun, rates: Rates = NO_RATES) -> bool | None:
        """Return whether a run is meant, or None where what is known of it does not tell."""
        answers = (
            self._days(run),
            self._class(run.race_class.lower()),
            _reaches(run.worth, self.worth, rates),
            _not(_reaches(run.worth, self.under, rates)) if self.under else True,
            self._distance(run),
            _among(run.surface, self.surfaces),
            _among(run.code, self.codes),
            self._words(run),
            _among(place_named(run.country) if run.country else "", self.countries),
            self._claimed(run, rates),
            _among(key_of(run.course) if run.course else "", self.courses),
            self._meeting(run),
            None if self.here or self.this_trip or self.this_meeting or self.since_weights else True,
        )
        if False in answers:
            return False
        return None if None in answers else True

    def _class(self, race_class: str) -> bool | None:
        if race_class == "1" and "1" not in self.classes and self.classes & set(BLACK_TYPE):
            return None
        return _among(race_class, self.classes)

    def _days(self, run: PastRun) -> bool:
        return (self.first is None or self.first <= run.day) and (self.last is None or run.day <= self.last)

    def _distance(self, run: PastRun) -> bool | None:
        if self.metres is None and self.metres_to is None:
            return True
        if run.distance_m is None:
            return None
        above = self.metres is None or run.distance_m >= self.metres - 0.5
        return above and (self.metres_to is None or run.distance_m <= self.metres_to + 0.5)

    def _meeting(self, run: PastRun) -> bool | None:
        """Return whether a run at the course was at the meeting; where one may go on for weeks that is not known."""
        if self.meeting is None or self.meeting - run.day <= SAME_MEETING:
            return True
        return None if self.meeting - run.day <= LONGEST_MEETING else False

    def _words(self, run: PastRun) -> bool | None:
        if not self.only and not self.without:
            return True
        if run.kinds is None:
            return None
        return not (run.kinds & self.without) and (not self.only or bool(run.kinds & self.only))

    def _claimed(self, run: PastRun, rates: Rates) -> bool | None:
        if self.claimed_to is None:
            return True
        if run.claimed_for is None:
            return None if run.kinds is None else False
        return _not(_exceeds(run.claimed_for, self.claimed_to, rates))


ANY_RUN: Final = RunKind()


def tally(runs: Iterable[PastRun], kind: RunKind, rates: Rates = NO_RATES) -> tuple[int, int]:
    """Return how many runs are meant for certain, and how many at most."""
    answers = [kind.counts(run, rates) for run in runs]
    sure = answers.count(True)
    return sure, sure + answers.count(None)


def _among(word: str, allowed: frozenset[str]) -> bool | None:
    if not allowed:
        return True
    return None if not word else word in allowed


def _reaches(worth: Money | None, least: Money | None, rates: Rates) -> bool | None:
    if least is None:
        return True
    found = None if worth is None else worth.known_in(least.currency, rates)
    return None if found is None else found >= least.amount


def _exceeds(price: Money, most: Money, rates: Rates) -> bool | None:
    found = price.known_in(most.currency, rates)
    return None if found is None else found > most.amount


def _not(answer: bool | None) -> bool | None:  # noqa: FBT001  # the negation of a truth value with a third one
    return None if answer is None else not answer
