"""The horses of a morning that went upsides, two by two, each piece of work told once."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from upsides.recordings.bouts.along import along_of
from upsides.recordings.bouts.bout import Bout
from upsides.recordings.company.gaps import gaps_of
from upsides.recordings.company.outcome import Outcome
from upsides.recordings.company.together import USUAL, Pair, Settings, companies_of
from upsides.recordings.company.told import told
from upsides.recordings.cut_works import breaks_off
from upsides.recordings.gallops.marks import Passing, passings
from upsides.recordings.gallops.matching import recognise
from upsides.recordings.gallops.shape import Gallop
from upsides.recordings.measured import Piece
from upsides.recordings.track import Track


@dataclass(frozen=True, slots=True)
class Upsides:
    """Two horses in one piece of work.

    Attributes:
        first, second: numbers of their recordings.
        start_s: when the first's piece of work began, by its own clock, seconds since 1970.
        second_start_s: when the second's did, by its.
        marks: how the first stood to the second at each mark, in the order of time: metres along the gallop, or from
            the beginning where it was on none; and how.
        finish: how they finished, or how they stood where it breaks off.
        breaks_off: whether the recording of one of them ends, or has a gap, before the work did.
    """

    first: int
    second: int
    start_s: float
    second_start_s: float
    marks: tuple[tuple[float, Outcome], ...]
    finish: Outcome
    breaks_off: bool = False


def upsides_of(
    tracks: Mapping[int, Track],
    works: Mapping[int, Sequence[Piece]],
    gallops: Mapping[int, Gallop],
    settings: Settings = USUAL,
) -> tuple[Upsides, ...]:
    """Return who worked with whom, in the order in which they began.

    Args:
        tracks: by the numbers of the recordings.
        works: the pieces of work of each.
        gallops: the yard's, by the numbers that the pieces name them by.
        settings: what counts as together.
    """
    numbers = list(tracks)
    pieces = [[Bout(one.kind, one.start_s, one.start_s + one.seconds, 1.0) for one in works[n]] for n in numbers]
    companies = companies_of([tracks[n] for n in numbers], pieces, settings)
    pairs = (pair for company in companies for pair in company.pairs)
    return tuple(_told(pairs, numbers, tracks, works, gallops))


def _told(
    pairs: Iterator[Pair],
    numbers: Sequence[int],
    tracks: Mapping[int, Track],
    works: Mapping[int, Sequence[Piece]],
    gallops: Mapping[int, Gallop],
) -> Iterator[Upsides]:
    for pair in pairs:
        first, second = numbers[pair.first], numbers[pair.second]
        gaps = gaps_of(tracks[first], tracks[second], pair)
        if gaps is None:
            continue
        one, other = pair.pieces
        work = next(each for each in works[first] if each.start_s == one.start_s)
        said = told(gaps, _passed(tracks[first], one, work, gallops))
        marks = tuple((mark.place_m, mark.outcome) for mark in said.marks)
        cut = breaks_off(tracks[first], one) or breaks_off(tracks[second], other)
        yield Upsides(first, second, one.start_s, other.start_s, marks, said.finish.outcome, cut)


def _passed(track: Track, piece: Bout, work: Piece, gallops: Mapping[int, Gallop]) -> tuple[Passing, ...]:
    """Return when the marks of the gallop were passed that a piece of work was on; none where it was on none."""
    gallop = gallops.get(work.gallop.number) if work.gallop is not None else None
    match = recognise(track, piece, (gallop,)) if gallop is not None else None
    return passings(match, along_of(track, piece)) if match is not None else ()
