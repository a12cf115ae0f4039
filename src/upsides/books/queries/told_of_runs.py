"""What the diary says of runs, racecourse gallops and trials, as fits and works that are judged take it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from upsides.books import clock
from upsides.books.diary.raced import RaceReport
from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.days import day_span
from upsides.books.queries.moments import Moment
from upsides.ratings.levels.told import Outing, Told

UNASKED = frozenset({"not_asked", "eased"})
"""Words that say that a horse did not show what it had."""


@dataclass(frozen=True, slots=True)
class Report:
    """One report that stood.

    Args:
        horse: number of the horse.
        when: of the run.
        day: the same in the yard's zone.
        said: the report.
    """

    horse: int
    when: datetime
    day: date
    said: RaceReport

    @property
    def asked(self) -> bool | None:
        """Return whether it was asked for what it had; None where nobody said."""
        return None if self.said.asked is None else self.said.asked not in UNASKED


def reports(moment: Moment) -> Iterator[Report]:
    """Yield reports on runs, gallops and trials that stood at a moment, of days before its own, oldest first."""
    zone = clock.place().zone
    rows = moments.entries(moment).filter(kind=RaceReport.name, horse__isnull=False).order_by("happened_at", "pk")
    for horse, when, values in rows.values_list("horse_id", "happened_at", "values"):
        day = when.astimezone(zone).date()
        if horse is not None and day < moment.day:
            yield Report(horse, when, day, RaceReport.kept_as(values))


def told_of_morning(day: date) -> Told:
    """Return what was said up to a morning: for one that is past, what stood in the books then."""
    return told_up_to(Moment(day, None if day >= clock.today() else day_span(day)[0]))


def told_up_to(moment: Moment) -> Told:
    """Return what was said up to a moment, as fits take it; horses that have no key in the library are left out."""
    found = list(reports(moment))
    keys: Mapping[int, str] = dict(moments.rows(Horse, moment).values_list("id", "horse_key"))
    unasked = {(keys[one.horse], one.day) for one in found
               if one.said.what == "race" and one.asked is False and keys.get(one.horse)}  # fmt: skip
    return Told(frozenset(unasked), tuple(_outings(found, keys)))


def _outings(found: list[Report], keys: Mapping[int, str]) -> Iterator[Outing]:
    """Yield gallops and trials of two horses, each pair of a day once, whoever reported it first."""
    asked = {(one.horse, one.day): one.asked for one in found if one.said.what != "race"}
    done: set[tuple[date, frozenset[int]]] = set()
    for one in found:
        said, other = one.said, one.said.beside
        pair = (one.day, frozenset((one.horse, other or 0)))
        if said.what == "race" or not said.metres or said.behind is None or other is None or pair in done:
            continue
        mine, theirs = keys.get(one.horse), keys.get(other)
        if mine and theirs:
            done.add(pair)
            words = (one.asked is not False, asked.get((other, one.day)) is not False)
            yield Outing(one.day, float(said.metres), mine, theirs, said.behind, *words)
