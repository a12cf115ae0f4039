"""Who went upsides in a morning, out of the tracks that lie beside the books."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from upsides.books.outings import read
from upsides.books.recordings.tracks import kept_measured, kept_track
from upsides.recordings.company import USUAL, Upsides, upsides_of
from upsides.recordings.gallops.shape import Gallop
from upsides.recordings.measured import Piece
from upsides.recordings.track import Track

Address = tuple[str, int]
"""Hash of the file, and number of the recording in it."""


def together(folder: Path, recordings: Mapping[int, Address], gallops: Mapping[int, Gallop]) -> list[Upsides]:
    """Return which recordings of a morning are of horses that went upsides; those without a track are passed over.

    Tracks are read lot by lot, so that a large string's morning does not have to be held at once.

    Args:
        folder: the library's folder.
        recordings: by their numbers.
        gallops: the yard's, by their numbers in the books.
    """
    works = {number: _works(folder, address) for number, address in recordings.items()}
    found: list[Upsides] = []
    for lot in lots({number: mine for number, mine in works.items() if mine}):
        tracks = dict(_tracks(folder, {number: recordings[number] for number in lot}))
        found += upsides_of(tracks, works, gallops)
    return sorted(found, key=lambda one: (one.start_s, one.first, one.second))


def lots(works: Mapping[int, Sequence[Piece]]) -> list[list[int]]:
    """Return recordings in groups that were at work at the same time as others of the group, those alone left out."""
    spans = sorted((one.start_s, one.start_s + one.seconds, number) for number, mine in works.items() for one in mine)
    at_once: list[set[int]] = []
    until = float("-inf")
    for begin, end, number in spans:
        if begin > until + USUAL.clocks_s:
            at_once.append(set())
        at_once[-1].add(number)
        until = max(until, end)
    groups: list[set[int]] = []
    for these in at_once:
        shared = [group for group in groups if group & these]
        groups = [group for group in groups if not group & these] + [these.union(*shared)]
    return [sorted(group) for group in groups if len(group) > 1]


def _works(folder: Path, address: Address) -> tuple[Piece, ...]:
    kept = kept_measured(folder, *address)
    return () if kept is None else read({"works": kept["works"]}).works


def _tracks(folder: Path, recordings: Mapping[int, Address]) -> Iterator[tuple[int, Track]]:
    for number, address in recordings.items():
        kept = kept_track(folder, *address)
        if kept is not None:
            yield number, kept[0]
