"""What was measured of earlier mornings, of which no file is made: drawn from the same truth, with errors."""

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.demo.morning_sim.mover import Mover
from upsides.demo.morning_sim.moving import CANTER, UNEVEN, UNEVEN_M
from upsides.demo.morning_sim.noise import drifting
from upsides.demo.morning_sim.striding import BEAT_G, NOISE_G, stride_rate
from upsides.demo.morning_sim.strips import SAND, strips
from upsides.demo.tracked.hearts import heart_at_rest, heart_of, kept_share
from upsides.demo.tracked.riding import WARM_UP_M, WORK_S, mover_of, slowed_at, span_of
from upsides.demo.tracked.session import HALF, QUICK, WALKS, Session
from upsides.recordings.bouts.bins import COUNT, STEP_MS
from upsides.recordings.bouts.evenness import LEAST_SD, Evenness
from upsides.recordings.bouts.gaits import Kind
from upsides.recordings.bouts.strides import WINDOW_S
from upsides.recordings.gallops.shape import Gallop
from upsides.recordings.measured import Measured, OnGallop, Piece, Speeds
from upsides.recordings.work import Split
from upsides.trade.units import FURLONG_M

Floats = NDArray[np.float64]

STEP_M: Final = 5.0
SPLIT_SD_S: Final = 0.06
"""Error of a furlong's time, s: what reading files of the same trackers leaves."""
_SPEED_SD_MS = 0.03
_ON_M, _EASE_M, _EASING = 130.0, 105.0, 0.7
"""How far a horse goes on beyond the finish at its speed, then easing, and at what share of it."""
_FINISH_M = 3.0
"""So near to where it is pulled up a mark is passed."""
_OUT_S, _HOME_S, _TROT_S, _HACK_S = 400.0, 600.0, 130.0, 700.0
_HALF_SD, _REGULAR = 0.003, 0.91
"""Error of the evenness at trot, and regularity at canter: what reading files of such trackers leaves."""
_BESTS: Final = (1, 2, 3, 5)


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """Canter or fast work: (k,) metres from its start every `STEP_M`, and seconds since then."""

    start_s: float
    along_m: Floats
    time_s: Floats

    def splits(self, ends_m: Floats, rng: np.random.Generator) -> tuple[Split, ...]:
        """Return the times between places, with a tracker's error."""
        at = np.interp(ends_m, self.along_m, self.time_s)
        wrong = rng.normal(0.0, SPLIT_SD_S, max(at.size - 1, 0))
        took = zip(pairwise(ends_m.tolist()), (np.diff(at) + wrong).tolist(), strict=True)
        return tuple(Split(end - begin, seconds, SPLIT_SD_S) for (begin, end), seconds in took)

    def piece(
        self, rng: np.random.Generator, kind: Kind, rise: float, on: OnGallop | None = None, fast_m: float = 0.0
    ) -> Piece:
        """Return it as it is measured."""
        metres, seconds = float(self.along_m[-1]), float(self.time_s[-1])
        furlongs = self.splits(np.arange(0.0, metres, FURLONG_M), rng)
        took = np.array([one.seconds for one in furlongs])
        top = float(np.max(np.diff(self.along_m) / np.diff(self.time_s)))
        return Piece(
            kind, self.start_s, seconds, metres, rise * metres, metres / seconds, _SPEED_SD_MS, top, furlongs,
            {n: _best(took, n) for n in _BESTS if n <= took.size}, on, fast_m,
        )  # fmt: skip


def _best(took: Floats, furlongs: int) -> Split:
    fastest = float(np.convolve(took, np.ones(furlongs), "valid").min())
    return Split(FURLONG_M * furlongs, fastest, SPLIT_SD_S * furlongs**0.5)


def drawn(session: Session, numbers: dict[str, int]) -> Measured:
    """Draw what was measured of a morning.

    Args:
        session: the morning.
        numbers: of the gallops by name.
    """
    rng, mover, out = session.chance("drawn"), mover_of(session), session.pulled_out.timestamp()
    if session.pace == WALKS:
        walked = (_slow("walk", out, float(rng.uniform(1500.0, 2100.0)), mover.walk_ms),)
        return Measured(walked, (), _speeds(walked, mover), heart_at_rest(rng, mover), kept_share(rng))
    before = (_slow("walk", out, _OUT_S, mover.walk_ms), _slow("trot", out + _OUT_S, _TROT_S, mover.trot_ms))
    hacked = session.pace not in {HALF, QUICK}
    sand = strips()[SAND]
    length = span_of(sand, session)[2] if hacked else WARM_UP_M
    begins = out + _HACK_S + float(rng.uniform(-60.0, 60.0))
    canter = _run(rng, begins, sand, 0.0, [(length, mover.hack_ms), *_pulled_up(mover.hack_ms)])
    works = [canter.piece(rng, "canter", 0.0, _on(rng, numbers, sand, (0.0, length), canter))]
    inside = list(works)
    if not hacked:
        piece, parts = _work(rng, session, mover, out + WORK_S, numbers)
        inside, works = [*inside, *parts], [*works, piece]
    ended = works[-1].start_s + works[-1].seconds
    bouts = (*before, *inside, _slow("walk", ended + 20.0, _HOME_S, mover.walk_ms))
    return Measured(
        bouts, tuple(works), _speeds(bouts, mover), heart_of(rng, session, mover, works[-1]), kept_share(rng),
        even=_even(session, mover),
    )  # fmt: skip


def _even(session: Session, mover: Mover) -> Evenness | None:
    """Return how even the strides of its warming up were, of a tracker that feels them."""
    if not session.feels:
        return None
    twice, once = 0.5 * BEAT_G**2, 0.5 * mover.uneven_g**2
    half = (twice - once) / (twice + once) + float(session.chance("strides").normal(0.0, _HALF_SD))
    return Evenness(half, LEAST_SD, (twice + once) / (twice + once + NOISE_G**2), _REGULAR, int(_TROT_S / WINDOW_S))


def _work(
    rng: np.random.Generator, session: Session, mover: Mover, begins: float, numbers: dict[str, int]
) -> tuple[Piece, list[Piece]]:
    """Return the work that was ordered: as one piece, and as the bouts that it is made of."""
    gallop = strips()[session.gallop]
    rise = gallop.rise_m / gallop.length_m
    begin, asked, end = span_of(gallop, session)
    if session.pace == HALF:
        half = _run(rng, begins, gallop, begin, [(end - begin, mover.half_ms), *_pulled_up(mover.half_ms)])
        piece = half.piece(rng, "canter", rise, _on(rng, numbers, gallop, (begin, end), half))
        return piece, [piece]
    on, ease = _pulled_up(mover.fast_ms)
    built = _run(rng, 0.0, gallop, begin, [(asked - begin, mover.half_ms)])
    built = replace(built, start_s=begins - float(built.time_s[-1]))
    quick = _run(rng, begins, gallop, asked, [(end - asked, mover.fast_ms), on])
    eased = _run(rng, begins + float(quick.time_s[-1]), gallop, end + on[0], [ease])
    whole = _joined(built, quick, eased)
    parts = [built.piece(rng, "canter", rise), quick.piece(rng, "fast", rise), eased.piece(rng, "canter", rise)]
    laid = _on(rng, numbers, gallop, (begin, end), whole, asked)
    return whole.piece(rng, "fast", rise, laid, parts[1].metres), parts


def _pulled_up(speed_ms: float) -> list[tuple[float, float]]:
    """Return the ground beyond the finish: on at the same speed for a while, then easing."""
    return [(_ON_M, speed_ms), (_EASE_M, _EASING * speed_ms)]


def _joined(*runs: _Run) -> _Run:
    along, time = [np.zeros(1)], [np.zeros(1)]
    for run in runs:
        along.append(along[-1][-1] + run.along_m[1:])
        time.append(time[-1][-1] + run.time_s[1:])
    return _Run(runs[0].start_s, np.concatenate(along), np.concatenate(time))


def _run(
    rng: np.random.Generator, start_s: float, gallop: Gallop, begin_m: float, parts: list[tuple[float, float]]
) -> _Run:
    """Run along a gallop from a place on, so many metres each at a speed that is asked for on the level."""
    metres = sum(length for length, _ in parts)
    along = np.linspace(0.0, metres, max(2, round(metres / STEP_M) + 1))
    middle = 0.5 * (along[1:] + along[:-1])
    ends = np.cumsum([length for length, _ in parts])
    speed = np.array([ms for _, ms in parts])[np.minimum(np.searchsorted(ends, middle), len(parts) - 1)]
    speed = speed * slowed_at(gallop, begin_m + middle) * (1.0 + drifting(rng, speed.size, UNEVEN, UNEVEN_M / STEP_M))
    return _Run(start_s, along, np.concatenate([[0.0], np.cumsum(np.diff(along) / speed)]))


def _on(
    rng: np.random.Generator, numbers: dict[str, int], gallop: Gallop, span_m: tuple[float, float], run: _Run,
    fast_from_m: float = np.inf,
) -> OnGallop:  # fmt: skip
    """Lay a run on a gallop: the lengths between those marks that it passed before it was pulled up."""
    begin, end = span_m
    passed = gallop.marks_m[(gallop.marks_m >= begin) & (gallop.marks_m <= end + _FINISH_M)]
    sure = float(rng.uniform(0.97, 1.0))
    splits = run.splits(passed - begin, rng)
    finish = np.inf if gallop.closed else gallop.length_m
    metres = min(float(run.along_m[-1]), finish - begin)
    fast_m = max(min(end + _ON_M, finish) - fast_from_m, 0.0)
    return OnGallop(numbers[gallop.name], True, float(passed[0]), splits, sure, metres, fast_m)


def _slow(kind: Kind, start_s: float, seconds: float, speed_ms: float) -> Piece:
    return Piece(kind, start_s, seconds, seconds * speed_ms, np.nan, speed_ms, _SPEED_SD_MS, 1.15 * speed_ms)


def _speeds(bouts: tuple[Piece, ...], mover: Mover) -> dict[int, Speeds]:
    """Sort the metres of bouts by speed, with strides by the length that they have at it."""
    metres, strides = np.zeros(COUNT), np.zeros(COUNT)
    for bout in bouts:
        step = min(int(bout.speed_ms / STEP_MS), COUNT - 1)
        metres[step] += bout.metres
        rate = stride_rate(mover, np.array([bout.speed_ms]), np.array([CANTER]))[0]
        strides[step] += bout.seconds * rate if bout.kind in {"canter", "fast"} else np.nan
    return {int(n): Speeds(float(metres[n]), float(strides[n]), counted=False) for n in np.flatnonzero(metres)}
