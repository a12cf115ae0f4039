"""The moment that a reading looks from: now, or the books as they stood at an earlier time.

As of a moment the diary is cut on `recorded_at`, mutable rows on their history, fits on their data cut-off, results
on the day they were run: a day's results count from the next morning on. Answers are cut on `recorded_at`, too, but for
those that somebody had worked out later for that day (`LATER`): these hang on nothing but what was known by then.
"""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar

from django.db.models import Exists, Model, OuterRef, Q, QuerySet, Subquery

from upsides.books import clock
from upsides.books.models import Answer, Call, Entry, Horse, LotNote, Move, Outing, Person
from upsides.books.models.answer import LATER, OF_A_DAY

M = TypeVar("M", bound=Model)
K = TypeVar("K", Call, Entry, LotNote, Outing)


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment to read from.

    Args:
        day: the yard's day at that moment.
        at: the moment, None for now.
    """

    day: date
    at: datetime | None = None


def now() -> Moment:
    """Return the present."""
    return Moment(clock.today())


def as_of(at: datetime) -> Moment:
    """Return an earlier moment."""
    return Moment(at.astimezone(clock.place().zone).date(), at)


def rows(model: type[M], moment: Moment) -> QuerySet[M]:
    """Return the rows of a mutable table as they stood; for an earlier moment those of its history.

    Of two changes with the same time the one that was written later counts.
    """
    if moment.at is None:
        return model._default_manager.all()
    past = model.history.filter(history_date__lte=moment.at)  # type: ignore[attr-defined]  # every mutable table has one
    then, number = OuterRef("history_date"), OuterRef("history_id")
    after = Q(history_date__gt=then) | Q(history_date=then, history_id__gt=number)
    later = past.filter(after, id=OuterRef("id")).order_by()
    return past.filter(~Exists(later)).exclude(history_type="-").as_instances()  # type: ignore[no-any-return]


def in_training(moment: Moment) -> QuerySet[Horse]:
    """Return the horses that were in training on the moment's day: here, and not moved elsewhere."""
    away = [number for number, place in whereabouts(moment).items() if place.to != Move.To.TRAINING]
    return in_the_yard(moment).exclude(id__in=away) if away else in_the_yard(moment)


def in_the_yard(moment: Moment) -> QuerySet[Horse]:
    """Return the horses that the yard had on the moment's day, in training or elsewhere."""
    return ever_in_the_yard(moment).filter(Q(left=None) | Q(left__gt=moment.day))


def ever_in_the_yard(moment: Moment) -> QuerySet[Horse]:
    """Return the horses that the yard had on the moment's day or before it."""
    return rows(Horse, moment).filter(joined__lte=moment.day)


def whereabouts(moment: Moment) -> dict[int, Move]:
    """Return the last move of each horse that ever moved, by number of the horse."""
    told = rows(Move, moment).filter(first_day__lte=moment.day).order_by("first_day", "id")
    return {move.horse_id: move for move in told}


def entries(moment: Moment) -> QuerySet[Entry]:
    """Return the diary's rows that stood."""
    return standing(Entry, moment)


def standing(model: type[K], moment: Moment) -> QuerySet[K]:
    """Return the rows of an append-only table that stood: recorded, and neither superseded nor withdrawn by then."""
    if moment.at is None:
        return model._default_manager.filter(superseded_by=None, withdrawn=False)
    recorded = model._default_manager.filter(recorded_at__lte=moment.at)
    later = recorded.filter(supersedes=OuterRef("pk"))  # asked row by row, by its index: most rows are never corrected
    return recorded.filter(~Exists(later), withdrawn=False)


_ANEW: ContextVar[Mapping[tuple[str, Moment], Answer] | None] = ContextVar("answers worked out anew", default=None)


@contextmanager
def with_answers(found: Mapping[tuple[str, Moment], Answer]) -> Iterator[None]:
    """Let readings find answers that a command worked out anew for a day of which none was kept, by name and moment."""
    token = _ANEW.set(found)
    try:
        yield
    finally:
        _ANEW.reset(token)


def _anew(name: str, moment: Moment) -> Answer | None:
    return (_ANEW.get() or {}).get((name, moment))


def answer(name: str, moment: Moment) -> Answer | None:
    """Return the last answer of a name that was known; None where there was none."""
    if (anew := _anew(name, moment)) is not None:
        return anew
    found = Answer.objects.filter(name=name, day__lte=moment.day)
    known = found if moment.at is None else found.filter(recorded_at__lte=moment.at)
    last = known.order_by("-day", "-recorded_at", "-pk").first()
    if last is not None and last.day == moment.day:
        return last
    return _made_later([name], moment).get(name, last)


def answers(names: Iterable[str], moment: Moment) -> dict[str, Answer]:
    """Return the last answer that was known of each of some names; those of which there was none are not in it."""
    names = list(names)
    found = Answer.objects.filter(name__in=names, day__lte=moment.day)
    known = found if moment.at is None else found.filter(recorded_at__lte=moment.at)
    last = known.filter(name=OuterRef("name")).order_by("-day", "-recorded_at", "-pk").values("pk")[:1]
    told = {row.name: row for row in known.filter(pk=Subquery(last))}
    told |= _made_later([name for name in names if name not in told or told[name].day < moment.day], moment)
    return told | {name: anew for name in names if (anew := _anew(name, moment)) is not None}


def _made_later(names: Iterable[str], moment: Moment) -> dict[str, Answer]:
    """Return what was made later for an earlier moment's day, by what was known by then; by the names asked for."""
    asked = [f"{name}{LATER}" for name in names if name in OF_A_DAY]
    if moment.at is None or not asked:
        return {}
    rows = Answer.objects.filter(name__in=asked, day=moment.day)
    made = [(datetime.fromisoformat(row.made_from["known_at"]), row.recorded_at, row) for row in rows]
    by_then = sorted((one for one in made if one[0] <= moment.at), key=lambda one: one[:2])
    return {row.name.removesuffix(LATER): row for _known, _recorded, row in by_then}


def names(model: type[Model], moment: Moment, numbers: Iterable[int | None]) -> dict[int | None, str]:
    """Return the names that rows of a table with `name` had, by their numbers; None names nothing."""
    wanted = {number for number in numbers if number is not None}
    if not wanted:
        return {}
    found = rows(model, moment).filter(id__in=wanted)  # in a history `pk` is the number of the change
    return dict(found.values_list("id", "name"))


def people(moment: Moment, known: Iterable[Person]) -> dict[int, Person]:
    """Return people as they were, by their numbers; who was erased since then stays erased."""
    now_ = {person.pk: person for person in known}
    if moment.at is None:
        return now_
    named = [number for number, person in now_.items() if not person.erased_at]
    return now_ | {person.pk: person for person in rows(Person, moment).filter(id__in=named)}
