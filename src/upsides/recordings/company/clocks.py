"""How far the clocks of two devices differ, from when their horses changed pace.

Two horses that go out together walk on, jump off and pull up together, so that their speeds are the same but for a
delay: with a the acceleration and h by how much the second clock is still wrongly taken to be ahead,

    v_second(t + taken) - v_first(t) = c0 + c1 t + h a(t) + error

for each piece of the morning; c0 and c1 let one horse gain on the other meanwhile. Riders do not change pace at the
same instant, so that pieces differ by more than the speeds' errors: the spread between pieces is estimated and counts
(DerSimonian & Laird 1986, Controlled Clinical Trials 7:177), never less than `REACTION_S`.

What cannot be told: a horse that does everything the same number of seconds after another looks like a clock that is
ahead. So clocks are not believed to differ by more than some seconds.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.bouts.along import MEMORY_S
from upsides.recordings.company.sampled import steps_of, values_at
from upsides.recordings.track import Track

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

STEP_S, SOME_S, TRIED_S, PIECE_S = 0.25, 2.0, 0.5, 60.0
"""Speeds are compared at steps of the first, and at steps of the second to try delays, which are the third apart; a
piece lasts the fourth."""

SET, SET_SD_S, LOOSE_SD_S = 0.8, 0.1, 2.0
"""Share of pairs of devices whose clocks are both set by satellites; by how much those differ, one standard deviation,
s; and by how much others do. Common practice, no source."""

REACTION_S = 0.25
"""Riders change pace together to within this, one standard deviation, s; common practice, no source."""

FAR_S = 1.5
"""A piece that says so much else than most says nothing of clocks, s; own choice."""

AGREE = 0.6
"""With fewer of the pieces in agreement, the horses did not go out together, and nothing is said of clocks; own
choice."""

LIVELY = 3.0
"""A piece in which the square of the acceleration that its nuisances leave sums to less, m^2/s^3, says nothing; own
choice."""


@dataclass(frozen=True, slots=True)
class Clocks:
    """Two clocks.

    Attributes:
        ahead_s: by how much the second device's clock is ahead of the first's, s.
        sd_s: standard deviation of that.
        changes: how many pieces of the morning with a change of pace said so.
    """

    ahead_s: float
    sd_s: float
    changes: int


@dataclass(frozen=True, slots=True, eq=False)
class Paced:
    """The speeds of a horse all morning, every `STEP_S` (n,), as clocks are compared by them; gaps are left out.

    Attributes:
        step: the moments, in steps since 1970, rising.
        speed_ms: m/s, each the mean over a second, in which the swing of the stride is gone; NaN where not known.
        noise: spectral density of their error, m^2/s: 2 s^2 m, of a first-order process.
    """

    step: Ints
    speed_ms: Floats
    noise: float

    def at(self, steps: Ints, late_s: float) -> Floats:
        """Return speeds at steps (m,), taken so much later; NaN where none is known."""
        whole = int(np.floor(late_s / STEP_S))
        part = late_s / STEP_S - whole
        rows = np.searchsorted(self.step, steps + whole)
        known = rows + 1 < self.step.size
        rows = np.where(known, rows, 0)
        known &= (self.step[rows] == steps + whole) & (self.step[rows + 1] == steps + whole + 1)
        return np.where(known, (1.0 - part) * self.speed_ms[rows] + part * self.speed_ms[rows + 1], np.nan)


def paced(track: Track) -> Paced:
    """Return the speeds of a track by which clocks are compared."""
    steps = steps_of(track, STEP_S)
    moments = steps.astype(np.float64) * STEP_S
    speed = values_at(track, track.along_m, moments + 0.5) - values_at(track, track.along_m, moments - 0.5)
    return Paced(steps, speed, float(2.0 * MEMORY_S * np.nanmean(track.speed_sd_ms**2)))


def clocks_of(first: Paced, second: Paced, most_s: float = 5.0) -> Clocks:
    """Compare the clocks of two devices whose horses went out together.

    Args:
        first: what the horse of one did.
        second: of the other.
        most_s: clocks differ by no more than this.
    """
    steps = _shared(first, second)
    if steps.size * STEP_S < PIECE_S:
        return Clocks(*_believed(0.0, np.inf), 0)
    one = first.at(steps, 0.0)
    ahead, sd, said = _tried(one, second, steps, most_s), np.inf, np.empty(0)
    for _ in range(3):
        late, errors = _pieces(one, second.at(steps, ahead), first.noise + second.noise)
        near = _most(late, errors)
        if np.count_nonzero(near) < AGREE * late.size or not late.size:
            return Clocks(*_believed(0.0, np.inf), 0)
        said = ahead - late[near]
        ahead, sd = _pooled(said, errors[near])
    return Clocks(*_believed(ahead, sd), said.size)


def _shared(first: Paced, second: Paced) -> Ints:
    """Return the steps while both were out, in pieces of `PIECE_S`, without those of which the first knows nothing.

    The last piece may be shorter.
    """
    begin = max(first.step[0], second.step[0])
    end = min(first.step[-1], second.step[-1])
    width = round(PIECE_S / STEP_S)
    out = first.step[(first.step >= begin) & (first.step <= end)]
    steps = begin + (np.unique((out - begin) // width)[:, None] * width + np.arange(width)).ravel()
    return np.asarray(steps[steps <= end])


def _tried(one: Floats, second: Paced, steps: Ints, most_s: float) -> float:
    """Return the delay, of those tried, at which the speeds agree best."""
    every = round(SOME_S / STEP_S)
    delays = np.arange(-most_s, most_s + TRIED_S, TRIED_S)
    off = np.array([second.at(steps[::every], delay) - one[::every] for delay in delays]) ** 2
    known = off[:, np.isfinite(off).all(axis=0)]
    return float(delays[int(np.argmin(known.mean(axis=1)))]) if known.size else 0.0


def _pieces(one: Floats, other: Floats, noise: float) -> tuple[Floats, Floats]:
    """Return by how much the clock is too far ahead by each piece, s, and the error of that by the speeds'."""
    width = round(PIECE_S / STEP_S)
    count = one.size // width
    first, second = one[: count * width].reshape(count, width), other[: count * width].reshape(count, width)
    faster = np.gradient(0.5 * (first + second), STEP_S, axis=1)
    whole = np.isfinite(first - second).all(axis=1)
    t = np.linspace(-1.0, 1.0, width)
    nuisance = np.linalg.qr(np.stack([np.ones(width), t], axis=1))[0]
    a, y = (rows[whole] - rows[whole] @ nuisance @ nuisance.T for rows in (faster, second - first))
    told = (a * a).sum(axis=1) * STEP_S
    lively = told > LIVELY
    return (a * y).sum(axis=1)[lively] * STEP_S / told[lively], np.sqrt(noise / told[lively])


def _most(late: Floats, errors: Floats) -> NDArray[np.bool_]:
    """Say which pieces do not say quite something else than most."""
    if not late.size:
        return np.zeros(0, dtype=np.bool_)
    order = np.argsort(late)
    weight = np.cumsum(errors[order] ** -2)
    middle = late[order[np.searchsorted(weight, 0.5 * weight[-1])]]
    return np.asarray(np.abs(late - middle) < FAR_S + 2.0 * errors)


def _pooled(said: Floats, errors: Floats) -> tuple[float, float]:
    """Return the mean of what pieces say and its standard deviation, their spread estimated."""
    weight = errors**-2
    mean = float(weight @ said / weight.sum())
    beyond = float(weight @ (said - mean) ** 2) - (said.size - 1)
    spread = beyond / float(weight.sum() - (weight**2).sum() / weight.sum()) if said.size > 1 else 0.0
    weight = 1.0 / (errors**2 + max(spread, REACTION_S**2))
    return float(weight @ said / weight.sum()), float(weight.sum() ** -0.5)


def _believed(ahead_s: float, sd_s: float) -> tuple[float, float]:
    """Return mean and standard deviation of a difference of clocks, given what the changes of pace say.

    Beforehand both are set by satellites, or not: a mixture of two normals about nothing, exactly updated.
    """
    before, told = np.array([SET_SD_S, LOOSE_SD_S]) ** 2, sd_s**-2
    mean = told * ahead_s / (told + 1.0 / before)
    variance = 1.0 / (told + 1.0 / before)
    total = before + sd_s**2
    chance = np.array([SET, 1.0 - SET])
    if told > 0.0:
        log = -0.5 * (np.log(total) + ahead_s**2 / total)
        chance = chance * np.exp(log - log.max())
        chance = chance / chance.sum()
    middle = float(chance @ mean)
    return middle, float(np.sqrt(chance @ (variance + (mean - middle) ** 2)))
