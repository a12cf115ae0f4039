"""What a stall is worth at a start, in pounds and lengths: on the average day, on one to come, and before the draw."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from upsides.ratings.draw.fitting import FIELD_STEP, USUAL_FIELD, DrawFit, Key, Slopes, ground, start_of
from upsides.ratings.draw.places import across
from upsides.rules import NONE, Overrides, pounds_per_length_array
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]
Z80 = 1.2816
"""Four times in five."""


@dataclass(frozen=True, slots=True)
class Start:
    """Where a race starts from, and what else the draw leans on.

    Attributes:
        course, surface, distance_m: the start.
        going, rail: as written; "" where not known.
        runners: size of the field.
        bend: straight, left, right; "" where not known.
    """

    course: str
    distance_m: float | None
    surface: str = ""
    going: str = ""
    rail: str = ""
    runners: int = 12
    bend: str = ""


@dataclass(frozen=True, slots=True)
class Slope:
    """From the lowest stall to the highest (or from last away to first), lb.

    Attributes:
        mean: on the average day.
        sd: how well that is known.
        meeting_sd, race_sd: how meetings differ, and races of a meeting, beyond luck.
        races: races behind it.
        known_by: "start", "course" or "library": the narrowest that had races.
    """

    mean: float
    sd: float
    meeting_sd: float
    race_sd: float
    races: int
    known_by: str

    @property
    def day_sd(self) -> float:
        """How far one race to come may stand from the mean."""
        return float(np.sqrt(self.sd**2 + self.meeting_sd**2 + self.race_sd**2))


@dataclass(frozen=True, slots=True)
class StallWorth:
    """What one stall is worth against the field's average on the average day; ranges hold four times in five.

    Attributes:
        stall: counted among the actual runners, 1 lowest.
        lb, low_lb, high_lb: pounds.
        lengths, low_lengths, high_lengths: the same in lengths over the trip.
    """

    stall: int
    lb: float
    low_lb: float
    high_lb: float
    lengths: float
    low_lengths: float
    high_lengths: float


@dataclass(frozen=True, slots=True)
class DrawAnswer:
    """The draw at a start.

    Attributes:
        start: which.
        stalls: each stall's worth.
        slope: from the lowest stall to the highest, lb.
        spread_lb: before the draw, the standard deviation that not knowing the stall adds on one day to come.
        away: from last away to first, at the same stall; None where early places are not known.
        away_bend, away_straight: the same on average at the library's bends and on its straights; None where races do
            not say which they are.
        lb_per_length: what a length is worth over the trip.
    """

    start: Start
    stalls: tuple[StallWorth, ...]
    slope: Slope
    spread_lb: float
    away: Slope | None
    away_bend: Slope | None
    away_straight: Slope | None
    lb_per_length: float

    @property
    def across(self) -> tuple[float, float, float]:
        """Highest stall less lowest on the average day, lb: the mean and its range."""
        return _range(self.slope.mean, self.slope.sd)

    @property
    def day(self) -> tuple[float, float, float]:
        """The same on one day to come."""
        return _range(self.slope.mean, self.slope.day_sd)


def draw_at(fit: DrawFit, start: Start, overrides: Overrides = NONE) -> DrawAnswer:
    """Return the draw at a start; one never raced from is answered by its course, a course never raced at by all.

    Args:
        fit: the draw of the library.
        start: the start.
        overrides: the yard's own rules.
    """
    slope = slope_at(fit.draw, start)
    per_length = _per_length(fit.as_of, start.distance_m, overrides)
    d = across(np.arange(1, start.runners + 1), start.runners)
    lb, half = d * slope.mean, np.abs(d) * slope.sd * Z80
    stalls = tuple(
        StallWorth(k + 1, x, x - h, x + h, x / per_length, (x - h) / per_length, (x + h) / per_length)
        for k, (x, h) in enumerate(zip(lb.tolist(), half.tolist(), strict=True))
    )
    spread = float(np.sqrt(np.mean(d**2) * (slope.mean**2 + slope.day_sd**2)))
    away = None if fit.away is None else slope_at(fit.away, start)
    bend, straight = _geometry(fit)
    return DrawAnswer(start, stalls, slope, spread, away, bend, straight, per_length)


def slope_at(slopes: Slopes, start: Start) -> Slope:
    """Return the slope at a start, with what is not known of it."""
    key = start_of(start.course, start.surface, start.distance_m)
    known: Key = next(one for one in (key, key[:2], ()) if one in slopes.blocks)
    block, spread = slopes.blocks[known], slopes.spread
    size = (start.runners - USUAL_FIELD) / FIELD_STEP
    times = {"whole": 1.0, "size": size, "course": 1.0, "start": 1.0, "start size": size}
    times["straight"] = 1.0 if start.bend == "straight" else 0.0
    if going := ground(start.going, start.surface):
        times[f"going|{going}"] = 1.0
    if start.rail:
        times[f"rail|{start.rail}"] = 1.0
    weight = np.array([times.get(label, 0.0) for label in block.labels])
    missing = [(label.split("|")[0], t) for label, t in times.items() if label not in block.labels]
    variance = float(weight @ block.covariance @ weight)
    variance += sum((t * spread[group]) ** 2 for group, t in missing if group in spread)
    named = ("library", "", "course", "start")[len(known)]
    return Slope(
        float(weight @ block.mean), float(np.sqrt(variance)), block.restless * spread.get("meeting", 0.0),
        block.restless * spread["race"], block.races, named,
    )  # fmt: skip


def _geometry(fit: DrawFit) -> tuple[Slope | None, Slope | None]:
    if fit.away is None or "straight" not in fit.away.blocks[()].labels:
        return None, None
    bend, straight = (slope_at(fit.away, Start("", None, bend=bend)) for bend in ("left", "straight"))
    return bend, straight


def _per_length(on: date, distance_m: float | None, overrides: Overrides) -> float:
    metres = np.array([8 * FURLONG_M if distance_m is None else distance_m])
    return float(pounds_per_length_array(metres, on, overrides=overrides)[0][0])


def _range(mean: float, sd: float) -> tuple[float, float, float]:
    return mean, mean - Z80 * sd, mean + Z80 * sd
