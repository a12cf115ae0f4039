"""What one recording says that a horse did: bouts, pieces of work, distance by speed, heart."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import Any, Final

from upsides.recordings.bouts.evenness import Evenness
from upsides.recordings.bouts.gaits import Kind
from upsides.recordings.reach import ODD
from upsides.recordings.recording import Message
from upsides.recordings.work import Split, at_pace, fair, pace

LEAST_FAST_M: Final = 50.0
"""Less fast work than this on a gallop was beyond its ends. Our own limit."""


@dataclass(frozen=True, slots=True)
class OnGallop:
    """The gallop that a piece of work was on.

    Attributes:
        number: of the gallop in the books.
        forward: whether it went the way of its line.
        begin_m: where on the line the first clocked length begins, m; NaN where none was clocked.
        splits: the lengths between its marks that were passed, in the order of time.
        sure: how probable it is, 0 to 1.
        metres: how far it went on the line, from one end of it to the other at most; round by round on a circuit. NaN
            where that was not measured.
        fast_m: how far of that at fast work; the same.
    """

    number: int
    forward: bool
    begin_m: float
    splits: tuple[Split, ...]
    sure: float
    metres: float = nan
    fast_m: float = nan


@dataclass(frozen=True, slots=True)
class Piece:
    """A bout, or a piece of work.

    Attributes:
        kind: stand, walk, trot, canter or fast.
        start_s: when it began, seconds since 1970-01-01 UTC.
        seconds: how long it lasted.
        metres: how far it went.
        rise_m: metres that its end stands above its start; NaN where heights are not known.
        speed_ms: mean speed, m/s.
        speed_sd_ms: its standard deviation.
        top_ms: the highest speed held for five seconds; NaN of a bout of a few seconds.
        furlongs: every whole furlong from its start; of canter and fast work only.
        best: the fastest 1, 2, 3 and 5 furlongs in it, by how many; of canter and fast work only.
        gallop: where it was, of pieces of work only; None for none of the yard's.
        fast_m: how far of a piece of work was fast work; NaN where that was not measured.
    """

    kind: Kind
    start_s: float
    seconds: float
    metres: float
    rise_m: float
    speed_ms: float
    speed_sd_ms: float
    top_ms: float
    furlongs: tuple[Split, ...] = ()
    best: Mapping[int, Split] = field(default_factory=dict)
    gallop: OnGallop | None = None
    fast_m: float = nan

    @property
    def worked_m(self) -> tuple[float, float]:
        """How far a piece of work went as it is told, and how far of that at fast work, m.

        On a gallop only the ground on its line counts, wherever it jumped off before it and pulled up behind it. Where
        that was not measured the lengths between marks stand for it, without a first and a last that were no pace.
        """
        on = self.gallop
        if on is not None and isfinite(on.metres) and (self.kind != "fast" or on.fast_m >= LEAST_FAST_M):
            return on.metres, on.fast_m
        if isfinite(self.fast_m):
            return self.metres, self.fast_m
        between = at_pace(fair(on.splits)).metres if on is not None else 0.0
        far = between or self.metres
        return far, far if self.kind == "fast" else 0.0

    @property
    def told_m(self) -> float:
        """How far a piece of work is told to have gone: at fast work where it was fast, else in all."""
        far, fast = self.worked_m
        return fast if self.kind == "fast" else far

    @property
    def splits(self) -> tuple[Split, ...]:
        """The lengths that its times are over: between marks where it passed some, else furlongs from its start."""
        return self.gallop.splits if self.gallop is not None and self.gallop.splits else self.furlongs

    @property
    def pace_ms(self) -> float:
        """How fast it is told to have been: over those of its lengths that were at pace."""
        return pace(self.splits, self.speed_ms)


@dataclass(frozen=True, slots=True)
class Speeds:
    """What was gone in one step of speed, of `upsides.recordings.bouts.bins.STEP_MS`.

    Attributes:
        metres: how far.
        strides: how many; NaN where they cannot be told.
        counted: whether they were counted, rather than estimated from the published length of a stride.
    """

    metres: float
    strides: float
    counted: bool


@dataclass(frozen=True, slots=True)
class Measured:
    """What one recording says that a horse did.

    Attributes:
        bouts: each at one gait, in order.
        works: the pieces of work among them: canter and fast work without a slower gait between.
        speeds: by step of speed, only those in which it went at all; empty where it goes as no horse does.
        heart: what is known of the heart, by name: `kept` (share of the rates), `max`, `mean`, `held` (for ten seconds;
            beats a minute), `after` (the heart by seconds after the last piece of work), `speeds` (by heart rate the
            speed there and the ends of its interval, m/s); empty without a heart rate.
        kept: share of the positions that could be used, 0 to 1.
        even: how even the strides were; None without acceleration.
        air_c: the mean of the device's own thermometer in work, or all along where there was none, degrees Celsius; NaN
            without one.
        messages: what a person should know.
    """

    bouts: tuple[Piece, ...] = ()
    works: tuple[Piece, ...] = ()
    speeds: Mapping[int, Speeds] = field(default_factory=dict)
    heart: Mapping[str, Any] = field(default_factory=dict)
    kept: float = 0.0
    even: Evenness | None = None
    air_c: float = nan
    messages: tuple[Message, ...] = ()

    @property
    def metres(self) -> float:
        """How far it went in all."""
        return sum(bout.metres for bout in self.bouts)

    @property
    def odd(self) -> bool:
        """Whether it goes as no horse does; then its metres count at no speed, and none as fast work."""
        return any(one.code in ODD for one in self.messages)

    @property
    def told_fast_m(self) -> float:
        """How far its pieces of fast work are told to have gone, together (`Piece.told_m`)."""
        return 0.0 if self.odd else sum(work.told_m for work in self.works if work.kind == "fast")

    @property
    def fast_m(self) -> float:
        """How far at fast work in all, on a gallop or not."""
        return 0.0 if self.odd else sum(bout.metres for bout in self.bouts if bout.kind == "fast")
