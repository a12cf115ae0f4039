"""Reports of one race that disagree: by hand against the imported result, and of two of ours against each other."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations
from typing import Any, Final

from upsides.books.models import Horse
from upsides.books.queries.hand_results import Told, engagement_of, told_results
from upsides.books.queries.moments import Moment
from upsides.results.by_hand import SOURCE, is_by_hand
from upsides.results.naming import key_of, may_be_one

POUNDS, LENGTHS, SECONDS, METRES = 0.5, 0.5, 0.05, 15.0
"""By how much two tellings may differ before that is told; our choice: kilograms and rounded distances lie within."""
BEATEN: Final = frozenset({"finished", "unplaced"})
"""What a table says of a horse that finished where no place is published."""
Value = str | int | float


class What(StrEnum):
    """What is told differently."""

    PLACE = "place"
    WEIGHT = "weight"
    RUNNERS = "runners"
    BEATEN = "beaten"
    TIME = "time"
    DISTANCE = "distance"


@dataclass(frozen=True, slots=True)
class Clash:
    """One thing that is told differently.

    Args:
        what: the thing.
        horse: whose run it is of.
        said: what the report says, or of a distance the programme.
        counts: what counts.
        by: whose report counts, since it stands first or is of that horse; None where the imported result counts.
        of: whose report says the other thing; the horse's own mostly.
        open: whether nothing tells which is right, so that both stand as they are.
    """

    what: What
    horse: Horse
    said: Value
    counts: Value
    by: Horse | None = None
    of: Horse | None = None
    open: bool = False


def clashes(moment: Moment, race: Mapping[str, Any], runs: Sequence[Mapping[str, Any]]) -> list[Clash]:
    """Return what reports of a race tell differently, by hand against the table first.

    Args:
        moment: when to look from.
        race: its row of the library.
        runs: its rows, with horse_key.
    """
    keys = {run["horse_key"]: run for run in runs}
    reports = [one for one in told_results(moment, race["date"]) if one.horse.horse_key in keys]
    found: list[Clash] = []
    for one in reports:
        run = keys[one.horse.horse_key]
        if run["source"] != SOURCE:
            found += _against_run(one, run)
        if not is_by_hand(race["race_key"]):
            found += _against_race(
                one, race, whole=not _in_part(race, runs, [each.horse.horse_key for each in reports])
            )
    for one, other in combinations(reports, 2):
        by_hand = all(keys[each.horse.horse_key]["source"] == SOURCE for each in (one, other))
        found += _against_each_other(one, other, race) if by_hand else ()
    return found


def _against_run(told: Told, run: Mapping[str, Any]) -> Iterator[Clash]:
    """Yield what a report says of its horse's run and the table says otherwise."""
    said = told.said
    theirs: Value = run["position"] if run["position"] is not None else run["outcome"]
    known = run["position"] is not None or run["outcome"] not in BEATEN or said.ended
    if known and (said.place or said.ended) != theirs:
        yield Clash(What.PLACE, told.horse, said.place or said.ended or "", theirs)
    if _apart(said.carried, run["carried_lb"], POUNDS):
        yield Clash(What.WEIGHT, told.horse, said.carried or 0.0, run["carried_lb"])
    if said.place != 1 and run["position"] != 1 and _apart(said.margin, run["beaten_lengths"], LENGTHS):
        yield Clash(What.BEATEN, told.horse, said.margin or 0.0, run["beaten_lengths"])


def _in_part(race: Mapping[str, Any], runs: Sequence[Mapping[str, Any]], ours: Collection[str]) -> bool:
    """Return whether a table plainly holds a part of its race only: it lacks places, or has nobody but ours.

    The number of its runners is then that of its rows, and says nothing of how many ran.
    """
    places = [run["position"] for run in runs if run["position"] is not None]
    table = {run["horse_key"] for run in runs if run["source"] != SOURCE}
    return len(places) < max(places, default=0) or (race["runners"] == len(table) and table <= set(ours))


def _against_race(told: Told, race: Mapping[str, Any], *, whole: bool) -> Iterator[Clash]:
    """Yield what a report, and of the distance the programme, says of the race and its table otherwise."""
    said, row = told.said, engagement_of(told.horse.pk, told.day)
    if said.ran and race["runners"] and (said.ran < race["runners"] or (whole and said.ran > race["runners"])):
        yield Clash(What.RUNNERS, told.horse, said.ran, race["runners"])
    if _apart(said.seconds(), race.get("winning_time_s"), SECONDS):
        yield Clash(What.TIME, told.horse, said.seconds() or 0.0, race.get("winning_time_s") or 0.0)
    if row is not None and _apart(row.distance_m, race["distance_m"], METRES):
        yield Clash(What.DISTANCE, told.horse, float(row.distance_m or 0), float(race["distance_m"]))


def _against_each_other(one: Told, other: Told, race: Mapping[str, Any]) -> Iterator[Clash]:
    """Yield what two reports of ours say differently; where a table has the race, it says of the race itself."""
    yield from _places(one, other)
    for mine, theirs in ((one, other), (other, one)):
        yield from _named(mine, theirs)
    if not is_by_hand(race["race_key"]):
        return
    if one.said.ran and other.said.ran and one.said.ran != other.said.ran:
        yield Clash(What.RUNNERS, other.horse, other.said.ran, one.said.ran, by=one.horse, of=other.horse)
    if _apart(one.said.seconds(), other.said.seconds(), SECONDS):
        said, counts = other.said.seconds() or 0.0, one.said.seconds() or 0.0
        yield Clash(What.TIME, other.horse, said, counts, by=one.horse, of=other.horse)


def _places(one: Told, other: Told) -> Iterator[Clash]:
    """Yield that two of ours are in one place: a dead heat, or one is wrong."""
    if one.said.place and one.said.place == other.said.place:
        yield Clash(What.PLACE, other.horse, one.said.place, one.said.place, by=one.horse, of=other.horse, open=True)


def _named(mine: Told, theirs: Told) -> Iterator[Clash]:
    """Yield what a report says of the other of ours that it names, and that one's own otherwise."""
    named = mine.said.beside_it()
    if named is None or not mine.said.place or not may_be_one(key_of(named.name), key_of(theirs.horse.name)):
        return
    place = 2 if mine.said.place == 1 else 1
    own: Value = theirs.said.place or theirs.said.ended or ""
    if own != place:
        yield Clash(What.PLACE, theirs.horse, place, own, by=theirs.horse, of=mine.horse)
    if _apart(named.weight_lb, theirs.said.carried, POUNDS):
        said, counts = named.weight_lb or 0.0, theirs.said.carried or 0.0
        yield Clash(What.WEIGHT, theirs.horse, said, counts, by=theirs.horse, of=mine.horse)


def _apart(one: float | None, other: float | None, most: float) -> bool:
    return one is not None and other is not None and abs(one - other) > most
