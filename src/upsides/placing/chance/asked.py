"""What a chance is asked of: a race as far as chances go, and a runner in it. Plain values."""

from dataclasses import dataclass
from datetime import date

from upsides.placing.kinds import BLACK_TYPE
from upsides.placing.race import Race
from upsides.trade.age import AgeRange
from upsides.trip.cases import NOTHING, Told


@dataclass(frozen=True, slots=True)
class Setting:
    """A race, as far as chances ask of it.

    Attributes:
        day, course, distance_m: of the race.
        surface, going, rail, bend: as the library writes them; "" where not known.
        race_class: class in small letters; "" where not known.
        band: lowest and highest mark that it takes; None where it has no such limit.
        prize: total prize in the library's own currency; None where not known.
        most_runners: maximum field; None where not known.
        ages: that it takes; None where not known.
        handicap: whether a handicapper sets its weights; None where not known.
    """

    day: date
    course: str
    distance_m: float
    surface: str = ""
    going: str = ""
    rail: str = ""
    bend: str = ""
    race_class: str = ""
    band: tuple[float | None, float | None] | None = None
    prize: float | None = None
    most_runners: int | None = None
    ages: AgeRange | None = None
    handicap: bool | None = None


@dataclass(frozen=True, slots=True)
class Runner:
    """A runner, or an entry.

    Attributes:
        horse_key: the library's key of the horse; any other text for one that it does not hold.
        weight_lb: weight on the card before the rider's claim, lb; None where not known.
        allowed_lb: weight for age that is in it, lb.
        stall: counted among the actual runners, 1 lowest; None before the draw.
        runs: chance that it gets a run and runs.
        told: what is known of it beyond results.
        level: what it is worth over this trip, lb on the library's scale, and the standard deviation of that, where
            somebody knows better than the library; None to ask the library.
    """

    horse_key: str
    weight_lb: float | None = None
    allowed_lb: float = 0.0
    stall: int | None = None
    runs: float = 1.0
    told: Told = NOTHING
    level: tuple[float, float] | None = None


def setting_of(race: Race) -> Setting | None:
    """Return a race as chances ask of it; None where its distance is not known."""
    if race.distance_m is None:
        return None
    return Setting(
        race.day,
        race.course,
        race.distance_m,
        race.surface or "",
        race.going,
        rail=race.rail,
        bend=race.bend,
        race_class=race.race_class,
        band=race.band,
        prize=race.prize.total if race.prize else None,
        most_runners=race.most_runners,
        ages=race.ages,
        handicap=_handicap(race),
    )


def _handicap(race: Race) -> bool | None:
    """Return whether a race is a handicap; None where nothing says what kind of race it is."""
    if race.handicap:
        return True
    told = bool(race.kinds) or race.race_class in BLACK_TYPE or (race.band is None and bool(race.title))
    return False if told else None
