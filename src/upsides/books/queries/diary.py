"""What stands in the diary, and what stands against what.

Every read takes who reads. A judgement of somebody else is told in outline until the reader has entered one of the same
horse, so that nobody's opinion is formed by another's; what is not for the reader at all is left out of lists. A read
by nobody in particular tells outlines only.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Final

from django.db.models import Count, Model, Q, QuerySet
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.diary import KINDS, Kind, Names, kind_of
from upsides.books.diary.kind import STAFF
from upsides.books.models import Entry, Gallop, Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.boxes import boxes
from upsides.books.queries.in_training import in_training
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.errors import KindUnknownError

LATE: Final = timedelta(minutes=10)
"""An entry that arrives later than this after it was made was entered later."""
AHEAD: Final = timedelta(minutes=2)
"""A device whose clock is further ahead than this is wrong."""
OLD: Final = timedelta(days=60)
"""An entry made longer before it arrives than this was more likely made by a wrong clock."""


@dataclass(frozen=True, slots=True)
class Written:
    """One row of the diary, ready to be read.

    Args:
        entry: the row.
        author: who made it.
        horse: name of the horse; of what is about a gallop, of that; else empty.
        words: what it says, as far as the reader may know it; empty for a withdrawal.
        typed: its values as somebody would type them; empty where they may not be known.
        happened: when it was so, in the yard's time.
        made: what the device's clock said when it was entered, in the yard's time.
        recorded: when it arrived, in the yard's time.
        stands: whether it is neither withdrawn nor superseded.
    """

    entry: Entry
    author: Person
    horse: str
    words: str
    typed: dict[str, str]
    happened: datetime
    made: datetime
    recorded: datetime
    stands: bool

    @property
    def late(self) -> bool:
        """Return whether it arrived well after it was made."""
        return LATE < self.recorded - self.made <= OLD

    @property
    def ahead(self) -> bool:
        """Return whether the device's clock was ahead of the server's."""
        return self.made - self.recorded > AHEAD

    @property
    def old(self) -> bool:
        """Return whether it was made so long ago that the device's clock is in doubt."""
        return self.recorded - self.made > OLD


@dataclass(frozen=True, slots=True)
class Conflict:
    """An entry that was corrected in more than one way.

    Args:
        first: the entry as it was first made.
        rivals: the rows that stand against each other; one may be a withdrawal.
    """

    first: Written
    rivals: tuple[Written, ...]


def of_day(moment: Moment, reader: Visitor | None = None) -> list[Written]:
    """Return what stands of the moment's day, newest first: what happened on it, and what arrived on it."""
    start = datetime.combine(moment.day, time(), clock.place().zone)
    day = (start, start + timedelta(days=1))
    either = Q(happened_at__range=day) | Q(recorded_at__range=day)
    found = open_to(reader, moments.entries(moment).filter(either)).prefetch_related("author").order_by()
    # in order here, and authors on their own: asked for both at once, SQLite reads the whole diary
    rows = sorted(found, key=lambda row: (row.happened_at, row.pk), reverse=True)
    return written(rows, moment, reader)


def of_horse(number: int, moment: Moment, most: int = 50, reader: Visitor | None = None) -> list[Written]:
    """Return what stands of one horse, newest first."""
    found = open_to(reader, moments.entries(moment).filter(horse=number).order_by("-happened_at", "-pk"))
    return written(found.select_related("author")[:most], moment, reader)


def history(number: int, moment: Moment, reader: Visitor | None = None) -> list[Written]:
    """Return an entry with all that corrected or withdrew it, as recorded; empty where there is none."""
    trees = _trees({number}, moment)
    closed = closed_to(reader)
    return written(trees[0], moment, reader) if trees and trees[0][0].kind not in closed else []


def closed_to(reader: Visitor | None) -> set[str]:
    """Return the kinds that are not for a reader."""
    roles = reader.roles if reader else frozenset()
    return {kind.name for kind in KINDS.values() if not kind.readers & roles and (reader or kind.readers != STAFF)}


def open_to(reader: Visitor | None, rows: QuerySet[Entry]) -> QuerySet[Entry]:
    """Return the rows without those that are not for a reader."""
    closed = closed_to(reader)
    return rows.exclude(kind__in=closed) if closed else rows


def conflicts(moment: Moment, reader: Visitor | None = None) -> list[Conflict]:
    """Return the entries that were corrected in more than one way and not settled, latest first."""
    forked = _recorded(moment).filter(supersedes__isnull=False).values("supersedes").annotate(ways=Count("pk"))
    ways = {number for number in forked.filter(ways__gte=2).values_list("supersedes", flat=True) if number}
    trees = _trees(ways, moment)
    found = [(tree[0], heads) for tree in trees if (heads := _heads(tree))]
    rows = written([row for first, heads in found for row in (first, *heads)], moment, reader)
    shown = {one.entry.pk: one for one in rows}
    return [Conflict(shown[first.pk], tuple(shown[head.pk] for head in heads)) for first, heads in reversed(found)]


def rivals(entry: Entry) -> list[Entry]:
    """Return the rows that stand against each other about what `entry` is about; none where nothing does."""
    return _heads(_trees({entry.pk}, moments.now())[0])


def looked_after(person: Person, moment: Moment) -> list[int]:
    """Return the numbers of the horses in training that a person looks after, or else of those in the person's barn."""
    string = in_training(moment)
    own = [number for number, horse in string.items() if horse.carer_id == person.pk]
    if own or not person.barn:
        return own
    stands = boxes(moment)
    return [number for number in string if number in stands and stands[number].barn == person.barn]


def written(entries: Iterable[Entry], moment: Moment, reader: Visitor | None = None) -> list[Written]:
    """Return rows ready to be read, in their order, with the names that horses and people had at the moment."""
    rows = list(entries)
    zone = clock.place().zone
    authors = _authors(rows, moment)
    read = [(row, *_kind(row)) for row in rows]
    names = _names(rows, [kind for _, kind, _ in read if kind], moment)
    later = _recorded(moment).filter(supersedes__in=[row.pk for row in rows])
    superseded = set(later.values_list("supersedes", flat=True))
    veiled = _veiled(rows, moment, reader)
    return [
        Written(
            entry=row,
            author=authors.get(row.author_id, row.author),
            horse=_about(row, names),
            words=unknown if kind is None else kind.outline() if row.pk in veiled else kind.words(names),
            typed=kind.typed() if kind and row.pk not in veiled else {},
            happened=row.happened_at.astimezone(zone),
            made=row.made_at.astimezone(zone),
            recorded=row.recorded_at.astimezone(zone),
            stands=not row.withdrawn and row.pk not in superseded,
        )
        for row, kind, unknown in read
    ]


def _names(rows: Sequence[Entry], kinds: Sequence[Kind], moment: Moment) -> Names:
    """Return the names of all rows that entries are about or point at, as they were."""
    wanted: dict[str, set[int]] = {"horse": set(), "person": set(), "gallop": set()}
    for row in rows:
        wanted["horse"] |= {row.horse_id} - {None}  # type: ignore[arg-type]  # None is taken out
        wanted["gallop"] |= {row.gallop_id} - {None}  # type: ignore[arg-type]  # likewise
    for what, number in (one for kind in kinds for one in kind.rows()):
        wanted[what].add(number)
    tables: dict[str, type[Model]] = {"horse": Horse, "person": Person, "gallop": Gallop}
    found = {what: moments.names(tables[what], moment, numbers) for what, numbers in wanted.items()}
    return Names({(what, number): name for what, names in found.items() for number, name in names.items() if number})


def _about(row: Entry, names: Names) -> str:
    if row.horse_id is not None:
        return names.of("horse", row.horse_id)
    return names.of("gallop", row.gallop_id) if row.gallop_id is not None else ""


def _kind(row: Entry) -> tuple[Kind | None, str]:
    """Return what an entry holds; for one that holds nothing readable, what is said of it instead."""
    if row.withdrawn:
        return None, ""
    try:
        return kind_of(row.kind).kept_as(row.values), ""
    except KindUnknownError:
        return None, _("An entry of a kind that this program does not know.")


def _veiled(rows: Sequence[Entry], moment: Moment, reader: Visitor | None) -> set[int]:
    """Return the numbers of the rows whose judgement the reader may not know yet."""
    closed = closed_to(reader)
    shut = {row.pk for row in rows if row.kind in closed}
    others = [row for row in rows if _is_judgement(row) and (reader is None or row.author_id != reader.person.pk)]
    if reader is None or not others:
        return shut | {row.pk for row in others}
    own = moments.entries(moment).filter(author=reader.person, horse__in={row.horse_id for row in others})
    judged = set(own.values_list("kind", "horse"))
    return shut | {row.pk for row in others if (row.kind, row.horse_id) not in judged}


def _is_judgement(row: Entry) -> bool:
    return row.kind in KINDS and KINDS[row.kind].judgement


def _authors(rows: Sequence[Entry], moment: Moment) -> dict[int, Person]:
    """Return the authors as they were; who was erased since then stays erased."""
    if moment.at is None:
        return {}
    then = moments.rows(Person, moment).filter(id__in={row.author_id for row in rows if not row.author.erased_at})
    return {person.pk: person for person in then}


def _recorded(moment: Moment) -> QuerySet[Entry]:
    """Return every row that was recorded by the moment."""
    rows = Entry.objects.select_related("author", "device")
    return rows if moment.at is None else rows.filter(recorded_at__lte=moment.at)


def _trees(numbers: Collection[int], moment: Moment) -> list[list[Entry]]:
    """Return for some entries all rows that are about the same, the first made first, in the order of the first."""
    rows = _recorded(moment)
    known: dict[int, Entry] = {}
    above = set(numbers)
    while above:
        found = rows.in_bulk(above)
        known |= found
        above = {row.supersedes_id for row in found.values() if row.supersedes_id} - known.keys()
    below = set(known)
    while below:
        found = {row.pk: row for row in rows.filter(supersedes__in=below) if row.pk not in known}
        known |= found
        below = set(found)
    trees: dict[int, list[Entry]] = {}
    for number in sorted(known):
        trees.setdefault(_root(known, number), []).append(known[number])
    return list(trees.values())


def _root(known: dict[int, Entry], number: int) -> int:
    while known[number].supersedes_id is not None:
        number = known[number].supersedes_id or 0
    return number


def _heads(tree: list[Entry]) -> list[Entry]:
    """Return the ends of a tree that stand against each other, none where they do not.

    An end speaks if it is an entry, or a withdrawal of what others corrected. Two withdrawals agree.
    """
    parents = [row.supersedes_id for row in tree]
    ends = [row for row in tree if row.pk not in parents]
    speaking = [row for row in ends if not row.withdrawn or parents.count(row.supersedes_id) > 1]
    return speaking if len(speaking) > 1 and not all(row.withdrawn for row in speaking) else []
