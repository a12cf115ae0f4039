"""A race to come, as its programme and its conditions have it. What is not known stays empty."""

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from zoneinfo import ZoneInfo

from upsides.errors import RaceRefusedError, ZoneMissingError
from upsides.errors.wording import gettext as _
from upsides.placing.amounts import NO_RATES, Amount, Money, Rates
from upsides.placing.kinds import PastRun
from upsides.rules import NONE, Overrides, place_named
from upsides.trade.age import AgeRange
from upsides.trade.surface import Surface


class Stage(StrEnum):
    """A step towards running, in the order in which they come."""

    ENTER = "enter"
    CONFIRM = "confirm"
    SUPPLEMENT = "supplement"
    DECLARE = "declare"
    WITHDRAW = "withdraw"


class Build(StrEnum):
    """What a male or female is to conditions."""

    ENTIRE = "entire"
    GELDING = "gelding"
    FEMALE = "female"


@dataclass(frozen=True, slots=True)
class Due:
    """A moment by which something must be said, as the programme states it.

    Attributes:
        stage: what.
        at: the moment, with its zone.
        cost: what it costs to say it; None where not stated.
    """

    stage: Stage
    at: datetime
    cost: Money | None = None


@dataclass(frozen=True, slots=True)
class Prize:
    """Prize money in one currency.

    Attributes:
        currency: ISO 4217 code.
        total: all of it; None where not stated.
        by_place: what first, second ... receive, as far as stated.
    """

    currency: str
    total: float | None = None
    by_place: tuple[float, ...] = ()

    def for_place(self, place: int) -> Money | None:
        """Return the prize of a place; None where it is not stated, nothing below the last place of a whole list."""
        if 1 <= place <= len(self.by_place):
            return Money(self.by_place[place - 1], self.currency)
        whole = self.total is not None and bool(self.by_place) and sum(self.by_place) >= self.total - 0.5
        return Money(0.0, self.currency) if whole else None

    @property
    def win(self) -> Money | None:
        """The winner's prize."""
        return self.for_place(1)


@dataclass(frozen=True, slots=True)
class Race:
    """A race to come.

    Attributes:
        source: which programme it stands in.
        day: racing date at the course.
        course: the course.
        title: its name.
        number: number on the card, or the programme's own; "" where there is none.
        id: the source's own number of the race, the same in each of its programmes; "" where it has none.
        moved_from: day on which it was to be run before, where the programme says so.
        zone: IANA zone of the course; "" where not known.
        jurisdiction: whose rules it is run under, as a name or code.
        off: scheduled start, with its zone.
        code: flat, hurdle ...
        surface: turf, dirt, synthetic, or None.
        distance_m: distance, metres.
        going: going expected, as written.
        race_class: class, in small letters: "4", "group 2", "listed".
        kinds: words of `kinds.MARKS_OF_KIND` that it bears: maiden, handicap, apprentice ...
        ages: ages it takes.
        builds: sexes it takes; None where not said.
        band: lowest and highest mark it takes; either None where there is no such limit.
        above_band: points above the band with which a horse may still be entered; None where not said.
        wording: its conditions as written.
        prize: prize money.
        dues: moments by which something must be said.
        most_runners: maximum field.
        reserves: whether reserves are taken.
        stall_side: where stall 1 stands: inside, outside, far side ... as written.
        bend: straight, left, right.
        to_bend_m: metres from the stalls to the first bend.
        rail: where the rail stands, as the course says it.
        top_weight, least_weight: of a handicap.
        overrides: rules that hold for this race alone; they go before the yard's and the authority's.
    """

    source: str
    day: date
    course: str
    title: str = ""
    number: str = ""
    id: str = ""
    moved_from: date | None = None
    zone: str = ""
    jurisdiction: str = ""
    off: datetime | None = None
    code: str = "flat"
    surface: Surface | None = None
    distance_m: float | None = None
    going: str = ""
    race_class: str = ""
    kinds: frozenset[str] = field(default_factory=frozenset)
    ages: AgeRange | None = None
    builds: frozenset[Build] | None = None
    band: tuple[float | None, float | None] | None = None
    above_band: float | None = None
    wording: str = ""
    prize: Prize | None = None
    dues: tuple[Due, ...] = ()
    most_runners: int | None = None
    reserves: bool | None = None
    stall_side: str = ""
    bend: str = ""
    to_bend_m: float | None = None
    rail: str = ""
    top_weight: Amount | None = None
    least_weight: Amount | None = None
    overrides: Overrides = NONE

    def __post_init__(self) -> None:
        for due in self.dues:
            if due.at.tzinfo is None:
                raise ZoneMissingError(str(self), due.stage, due.at.isoformat(sep=" "), self.course)
        if self.off is not None and self.off.tzinfo is None:
            raise ZoneMissingError(str(self), _("off"), self.off.isoformat(sep=" "), self.course)
        low, high = self.band or (None, None)
        if low is not None and high is not None and low > high:
            raise RaceRefusedError(
                str(self),
                _("rating band"),
                f"{low:g}-{high:g}",
                _("the lower mark is above the upper"),
                _("write it as 66-80"),
            )
        if self.most_runners is not None and self.most_runners < 1:
            raise RaceRefusedError(
                str(self), _("maximum field"), self.most_runners, _("none could run"), _("correct it")
            )

    def rules(self, yard: Overrides = NONE) -> Overrides:
        """Return the rules that go before the authority's: the race's own, then the yard's."""
        return self.overrides + yard

    @property
    def clock(self) -> ZoneInfo | None:
        """The zone in which the course's clocks go."""
        return ZoneInfo(self.zone) if self.zone else None

    @property
    def currency(self) -> str:
        """The currency of its prizes; "" where not known."""
        return self.prize.currency if self.prize else ""

    @property
    def handicap(self) -> bool:
        """Whether a handicapper sets its weights."""
        return bool(self.kinds & {"handicap", "nursery"})

    def closes(self) -> date | None:
        """Return the day at the course on which entries close; None where not known."""
        there = [due.at for due in self.dues if due.stage is Stage.ENTER]
        if not there:
            return None
        return min(there).astimezone(self.clock).date() if self.clock else min(there).date()

    def as_run(self, position: int | None) -> PastRun:
        """Return this race as a run that is over, with the place taken in it."""
        earned = self.prize.for_place(position) if self.prize and position else None
        return PastRun(
            self.day,
            position,
            self.race_class,
            self.kinds,
            self.prize.win if self.prize else None,
            earned,
            self.distance_m,
            self.surface or "",
            self.code,
            place_named(self.jurisdiction) if self.jurisdiction else "",
            race=str(self),
            course=self.course,
        )

    def worth(self, place: int, currency: str, rates: Rates = NO_RATES) -> float | None:
        """Return the prize of a place in a currency; None where it is not stated.

        Raises:
            CurrencyUnknownError: it is in another currency and no rate is given.
        """
        prize = self.prize.for_place(place) if self.prize else None
        return None if prize is None else prize.told_in(currency, rates)

    def __str__(self) -> str:
        named = self.title or (f"race {self.number}" if self.number else "race")
        return f"{named} ({self.course}, {self.day})"
