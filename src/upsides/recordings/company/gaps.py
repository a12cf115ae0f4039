"""By how many metres one horse was in front of another, second by second, from their two trackers.

Two things are known of the gap g. The places say it with the receivers' errors, which last; the speeds say how it
changes. With u the gap by the places less what the speeds say that it has changed since the beginning,

    u(t) = g(begin) + w(t) + e(t) + white,     g(t) = g(begin) + (what the speeds say) + w(t)

where w is what the speeds' errors add up to, a random walk, and e the difference of the two receivers' lasting errors,
a first-order Gauss-Markov process. All are normal, so the gap and its error are a conditional mean and variance,
worked out exactly. What the receivers' errors have in common, such as that of the same sky, is in neither.

How large e is, is learned from the same morning: where horses walk and trot one behind the other, what lies across the
way between them is nought but for a constant, and the rest is e (and what their riders weave, which makes it no
smaller). Where the speeds come from the places themselves the two say the same with the same error; then u varies less
than e must make it vary, and what is missing is counted as error of the speeds.

In a bend the outer horse goes faster without gaining: the speeds are corrected by the distance between the two paths,
times the turn.

The error also holds the two clocks' (speed times their error) and where on its horse a tracker sits.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.bouts.along import LASTING_M, LASTING_S, MEMORY_S
from upsides.recordings.company.outcome import Outcome
from upsides.recordings.company.sampled import places_at, steps_of, values_at, ways_of
from upsides.recordings.company.together import Pair
from upsides.recordings.track import Track

Floats = NDArray[np.float64]

AROUND_S = 60.0
"""So much before and after the piece is looked at too, as long as the two keep near each other."""

NEAR_M, MOVING_MS = 40.0, 1.0
"""Near is nearer than the first; moving is faster than the second; own choices."""

BEHIND_M, WALKING_MS = 25.0, 4.5
"""What lies across the way is taken where the horses are nearer than the first and slower than the second."""

BELIEF = 4.0
"""How many independent looks the usual size of a lasting error is worth against what the morning shows; own choice."""

WHITE_M = 0.3
"""The part of a gap's error that does not last, m, is no smaller; own choice."""

PLACE_M = 0.3
"""Where on its horse a tracker sits, and how far a horse's nose is before it: from horse to horse, one standard
deviation, m; common practice, no source."""

LAG_S = 20
"""Over this lag it is looked whether places and speeds agree too well; own choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Gaps:
    """The gap between two horses in a piece of work, n moments a second apart.

    Attributes:
        time_s: (n,) moments by the first's clock, seconds since 1970.
        ahead_m: (n,) by how much the first was in front, m; below nought it was behind.
        sd_m: (n,) standard deviation of that.
        speed_ms: (n,) the mean of their speeds.
    """

    time_s: Floats
    ahead_m: Floats
    sd_m: Floats
    speed_ms: Floats

    def at(self, moment_s: float) -> Outcome:
        """Return how the first stood to the second at a moment by the first's clock."""
        ahead, sd = (float(np.interp(moment_s, self.time_s, values)) for values in (self.ahead_m, self.sd_m))
        return Outcome(ahead, sd, "tracker")


@dataclass(frozen=True, slots=True, eq=False)
class _Beside:
    """Two horses second by second, (n,): the first in front by `ahead`, to the right by `right`."""

    moments: Floats
    ahead: Floats
    right: Floats
    apart: Floats
    speed: Floats
    faster: Floats
    turn: Floats
    white: Floats


def gaps_of(first: Track, second: Track, pair: Pair) -> Gaps | None:
    """Return the gap between the two horses of a pair while both were at it.

    Args:
        first: the whole track of the pair's first horse.
        second: of its second.
        pair: as found.

    Returns:
        The gap; None where fewer than three seconds are known of both.
    """
    whole = _beside(first, second, pair, _shared(first, second, pair))
    if whole is None:
        return None
    begin, end = pair.span
    lasting = _lasting(whole)
    part = _part(whole, begin, end)
    inside = (whole.moments[part] >= begin) & (whole.moments[part] <= end)
    if np.count_nonzero(inside) < 3:
        return None
    speed_noise = 2.0 * MEMORY_S * float(np.nanmean(first.speed_sd_ms**2) + np.nanmean(second.speed_sd_ms**2))
    ahead, variance = _smoothed(whole, part, lasting, speed_noise)
    speed = whole.speed[part]
    variance = variance + (speed * pair.clocks.sd_s) ** 2 + 2.0 * PLACE_M**2
    moments = whole.moments[part][inside]
    return Gaps(moments, ahead[inside], np.sqrt(variance[inside]), speed[inside])


def _shared(first: Track, second: Track, pair: Pair) -> Floats:
    """Return the whole seconds of which both tracks may know, by the first's clock, and one on each side of a gap."""
    late = pair.clocks.ahead_s
    begin, end = max(first.time_s[0], second.time_s[0] - late), min(first.time_s[-1], second.time_s[-1] - late)
    moments = steps_of(first, 1.0, beyond=1).astype(np.float64)
    return np.asarray(moments[(moments >= np.ceil(begin)) & (moments < end)])


def _beside(first: Track, second: Track, pair: Pair, moments: Floats) -> _Beside | None:
    if first.plane is None or moments.size < 3:
        return None
    late = moments + pair.clocks.ahead_s
    east, north = places_at(first, first.plane, moments)
    other_east, other_north = places_at(second, first.plane, late)
    e_way, n_way = ways_of(0.5 * (east + other_east), 0.5 * (north + other_north))
    off_east, off_north = east - other_east, north - other_north
    speed, other_speed = _speeds(first, moments), _speeds(second, late)
    white = values_at(first, first.position_sd_m, moments) ** 2 + values_at(second, second.position_sd_m, late) ** 2
    turn = np.arctan2(_next(e_way) * n_way - _next(n_way) * e_way, _next(e_way) * e_way + _next(n_way) * n_way)
    return _Beside(
        moments=moments,
        ahead=off_east * e_way + off_north * n_way,
        right=off_east * n_way - off_north * e_way,
        apart=np.hypot(off_east, off_north),
        speed=0.5 * (speed + other_speed),
        faster=speed - other_speed,
        turn=turn,
        white=np.maximum(white, WHITE_M**2),
    )


def _speeds(track: Track, moments: Floats) -> Floats:
    """Return the mean speed over a second about each moment, m/s."""
    return values_at(track, track.along_m, moments + 0.5) - values_at(track, track.along_m, moments - 0.5)


def _next(values: Floats) -> Floats:
    return np.append(values[1:], values[-1:])


def _lasting(whole: _Beside) -> float:
    """Return the variance, m^2, of the difference of the receivers' lasting errors along one direction."""
    usual = 2.0 * LASTING_M**2
    behind = (whole.apart < BEHIND_M) & (whole.speed > MOVING_MS) & (whole.speed < WALKING_MS)
    across = whole.right[behind & np.isfinite(whole.right)]
    looks = across.size / (2.0 * LASTING_S)
    if looks < 1.0:
        return usual
    spread = float(np.mean((across - np.median(across)) ** 2))
    return float((BELIEF * usual + looks * spread) / (BELIEF + looks))


def _part(whole: _Beside, begin_s: float, end_s: float) -> NDArray[np.int64]:
    """Return the rows of the piece and around it in which both are known, moving and near each other."""
    good = np.isfinite(whole.ahead) & np.isfinite(whole.faster) & np.isfinite(whole.turn)
    good &= (whole.apart < NEAR_M) & (whole.speed > MOVING_MS)
    inside = (whole.moments >= begin_s) & (whole.moments <= end_s)
    around = (whole.moments >= begin_s - AROUND_S) & (whole.moments <= end_s + AROUND_S)
    before = np.flatnonzero(around & ~good & (whole.moments < begin_s))
    after = np.flatnonzero(around & ~good & (whole.moments > end_s))
    rows = np.flatnonzero(around & good | inside & good)
    rows = rows[rows > before[-1]] if before.size else rows
    return rows[rows < after[0]] if after.size else rows


def _smoothed(whole: _Beside, part: NDArray[np.int64], lasting: float, speed_noise: float) -> tuple[Floats, Floats]:
    """Return the gap (n,) and its variance by places and speeds together."""
    t, step = whole.moments[part], np.diff(whole.moments[part])
    right = np.median(whole.right[part])
    gained = whole.faster[part] + right * whole.turn[part]
    said = np.concatenate([[0.0], np.cumsum(step * 0.5 * (gained[1:] + gained[:-1]))])
    u = whole.ahead[part] - said
    walk = speed_noise + _too_well(u, lasting) + 2.0 * LASTING_S * lasting * whole.turn[part] ** 2
    walked = np.concatenate([[0.0], np.cumsum(step * 0.5 * (walk[1:] + walk[:-1]))])
    K = 1e4 + np.minimum(walked[:, None], walked[None, :])
    E = lasting * np.exp(-np.abs(t[:, None] - t[None, :]) / LASTING_S)
    G = np.linalg.solve(K + E + np.diag(whole.white[part]), K).T
    return G @ u + said, np.diag(K) - np.einsum("ij,ji->i", G, K)


def _too_well(u: Floats, lasting: float) -> float:
    """Return the variance a second, m^2/s, by which places and speeds agree better than apart they could."""
    if u.size <= 2 * LAG_S:
        return 0.0
    expected = -2.0 * lasting * float(np.expm1(-LAG_S / LASTING_S))
    seen = float(np.mean((u[LAG_S:] - u[:-LAG_S]) ** 2))
    return max(expected - seen, 0.0) / LAG_S
