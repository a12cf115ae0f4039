"""What people have scored of the shape of horses."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np
import polars as pl
from django.db.models import QuerySet
from numpy.typing import NDArray

from upsides.books import clock
from upsides.books.diary.shape import Shape
from upsides.books.models import Entry, Person
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.trip.traits import TRAITS, Agreement, agreement

NAMES: Final = tuple(trait.name for trait in TRAITS)
SCHEMA: Final = {
    "horse": pl.Int64(),
    "judge": pl.Int64(),
    "happened_at": pl.Datetime("us", "UTC"),
    **dict.fromkeys(NAMES, pl.Int8()),
}


@dataclass(frozen=True, slots=True)
class Judgement:
    """How one person sees one horse: of each trait the latest score.

    Args:
        judge: number of the person.
        scores: points by name of trait, in the order of `TRAITS`.
        seen: when each of them was seen, in the yard's time.
        looked: when the person looked at the horse last, in the yard's time.
    """

    judge: int
    scores: dict[str, int]
    seen: dict[str, datetime]
    looked: datetime


def shape_of(horse: int, moment: Moment) -> list[Judgement]:
    """Return how each person sees a horse, by the time of each one's last look.

    A trait that was left out when a horse was looked at again keeps the score it had; what was corrected or withdrawn
    does not count.
    """
    found: dict[int, Judgement] = {}
    zone = clock.place().zone
    for entry in _standing(moment).filter(horse=horse):
        before, looked = found.get(entry.author_id), entry.happened_at.astimezone(zone)
        scores = (before.scores if before else {}) | _known(entry)
        seen = (before.seen if before else {}) | dict.fromkeys(_known(entry), looked)
        ordered = {name: scores[name] for name in NAMES if name in scores}
        found[entry.author_id] = Judgement(entry.author_id, ordered, seen, looked)
    return sorted(found.values(), key=lambda one: (one.looked, one.judge))


def shapes(moment: Moment) -> pl.DataFrame:
    """Return every standing entry of the yard by the time it was seen: columns of `SCHEMA`, null where not scored."""
    rows = [
        {"horse": entry.horse_id, "judge": entry.author_id, "happened_at": entry.happened_at, **_known(entry)}
        for entry in _standing(moment)
    ]
    return pl.DataFrame(rows, schema=SCHEMA)


def latest(scored: pl.DataFrame) -> pl.DataFrame:
    """Return one row a horse and judge of `shapes`: of each trait the latest score, and the time of the last look."""
    last = [pl.col(name).drop_nulls().last() for name in NAMES]
    return scored.group_by("horse", "judge", maintain_order=True).agg(pl.col("happened_at").last(), *last)


def agreement_of_yard(moment: Moment) -> tuple[dict[str, Agreement | None], Agreement | None]:
    """Return how far the yard's people agree, by name of trait and over all."""
    each, overall = agreement(_cube(latest(shapes(moment))))
    return dict(zip(NAMES, each, strict=True)), overall


def entered_today(person: Person, horse: int, moment: Moment) -> Entry | None:
    """Return the last standing entry that a person recorded on the moment's day, which can still be put right."""
    own = _standing(moment).filter(author=person, horse=horse).order_by("recorded_at", "pk").last()
    return own if own and own.recorded_at.astimezone(clock.place().zone).date() == moment.day else None


def last_recorded(person: Person, horse: int) -> Entry | None:
    """Return what a person recorded last of a horse's shape, whatever became of it."""
    return Entry.objects.filter(kind=Shape.name, author=person, horse=horse).order_by("recorded_at", "pk").last()


def _standing(moment: Moment) -> QuerySet[Entry]:
    return moments.entries(moment).filter(kind=Shape.name).order_by("happened_at", "recorded_at", "pk")


def _known(entry: Entry) -> dict[str, int]:
    """Return the scores of the traits that there are now."""
    return {name: score for name, score in entry.values.items() if name in NAMES}


def _cube(scored: pl.DataFrame) -> NDArray[np.float64]:
    """Return (horses, judges, traits), NaN where somebody did not score."""
    places = [_places(scored[column].to_list()) for column in ("horse", "judge")]
    cube = np.full((*(len(set(place)) for place in places), len(NAMES)), np.nan)
    cube[places[0], places[1]] = scored.select(pl.col(NAMES).cast(pl.Float64).fill_null(np.nan)).to_numpy()
    return cube


def _places(numbers: Iterable[int]) -> list[int]:
    known: dict[int, int] = {}
    return [known.setdefault(number, len(known)) for number in numbers]
