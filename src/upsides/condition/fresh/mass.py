"""A horse's mass against its own racing mass: what it weighed before its runs, the best of them where they are known.

Published, of groups of horses: a short race takes 3.5 kg (standard error 0.3), 0.7 % of the mass, and 24 hours later
5.3 kg (0.5) were missing; over consecutive days of racing 4.8 kg (0.3) stayed missing (40 Thoroughbred geldings, Equine
Veterinary Journal Supplement 2002). Times were best when mass on the day was within half a per cent of that of the run
before, and clearly worse beyond 2.5 % either way (155,656 runs, Korea 2008). That is from run to run, not against a
racing mass, and says what a group did.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

import numpy as np

from upsides.condition.fresh.latest import Missing

BEFORE_DAYS: Final = 7
BEST: Final = 5
"""Days before a run from which its mass is taken, and so many best runs: common practice, no source."""
AFTER_RACE_KG: Final[Mapping[int, tuple[float, float]]] = {0: (3.5, 0.3), 1: (5.3, 0.5)}
"""Published: what is missing after a short race by days since, with standard errors."""
CLOSE_SHARE: Final = 0.005
FAR_SHARE: Final = 0.025
"""Published: within the first times were best, beyond the second clearly worse."""
WITHIN_DAYS: Final = 7

Band = Literal["within 0.5 %", "between", "beyond 2.5 %"]
How = Literal["best runs", "all runs"]


@dataclass(frozen=True, slots=True)
class RacingMass:
    """What a horse weighed before it ran.

    Attributes:
        kg: mean.
        sd_kg: standard deviation from run to run; None of one run.
        runs: how many have a mass shortly before them.
        how: of which runs: its best where there are more than a few with a figure, else all.
    """

    kg: float
    sd_kg: float | None
    runs: int
    how: How


@dataclass(frozen=True, slots=True)
class AgainstRacing:
    """The latest mass against racing mass.

    Attributes:
        kg: the latest.
        days_ago: when.
        racing: the racing mass.
        off_kg: above it.
        off_share: the same as a share of it.
        band: where that lies among the published shares; they are of changes from run to run.
        since_run: days since the last run; None where none is known.
        after_race: what a published group was missing as long after a race, kg with its standard error: on the day and
            a day later; None at any other time.
    """

    kg: float
    days_ago: int
    racing: RacingMass
    off_kg: float
    off_share: float
    band: Band
    since_run: int | None
    after_race: tuple[float, float] | None


def racing_mass(
    masses: Sequence[tuple[date, float]], runs: Sequence[tuple[date, float]], on: date, before: int = BEFORE_DAYS
) -> RacingMass | None:
    """Return the racing mass as of a day; None where no run has a mass shortly before it.

    Args:
        masses: day and kg, of one kind of weighing (a tape is not a scale).
        runs: day and our figure for it, lb; NaN where there is none.
        on: runs from this day on are not looked at.
        before: days before a run, its own included, from which the last mass is taken.
    """
    found = []
    for day, figure in runs:
        near = [(when, kg) for when, kg in masses if 0 <= (day - when).days <= before and when <= on]
        if day < on and near:
            found.append((figure, max(near)[1]))
    if not found:
        return None
    rated = sorted((one for one in found if np.isfinite(one[0])), reverse=True)
    best = len(rated) > BEST
    kg = np.array([mass for _, mass in (rated[:BEST] if best else found)])
    sd = float(kg.std(ddof=1)) if kg.size > 1 else None
    return RacingMass(float(kg.mean()), sd, int(kg.size), "best runs" if best else "all runs")


def against_racing(
    masses: Sequence[tuple[date, float]], runs: Sequence[tuple[date, float]], on: date, within: int = WITHIN_DAYS
) -> AgainstRacing | Missing:
    """Return the latest mass against racing mass.

    Returns:
        How it stands; or what is missing: "mass", where none is recent, or "racing mass", with the days since the
        last run.
    """
    seen = sorted((day, kg) for day, kg in masses if day <= on)
    if not seen:
        return Missing("mass", None)
    day, kg = seen[-1]
    if (on - day).days > within:
        return Missing("mass", (on - day).days)
    ran = [when for when, _ in runs if when <= on]
    since = (on - max(ran)).days if ran else None
    racing = racing_mass(masses, runs, on)
    if racing is None:
        return Missing("racing mass", since)
    share = kg / racing.kg - 1
    lost = AFTER_RACE_KG.get(since) if since is not None else None
    return AgainstRacing(kg, (on - day).days, racing, kg - racing.kg, share, _band(share), since, lost)


def _band(share: float) -> Band:
    if abs(share) <= CLOSE_SHARE:
        return "within 0.5 %"
    return "beyond 2.5 %" if abs(share) > FAR_SHARE else "between"
