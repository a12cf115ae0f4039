"""The tables that are given out: what each is called, its headings, and its rows in words that people read.

Inside information (figures, chances) is in none of them; what was said of races is told where plans are open.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import islice
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books import clock
from upsides.books.diary import KINDS, Field, Kind
from upsides.books.diary.fields import Number
from upsides.books.export import races
from upsides.books.export.cells import Cell
from upsides.books.models import Entry
from upsides.books.queries import diary, moments
from upsides.books.queries.diary import Written
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.errors import ExportUnknownError

MANY: Final = 1000
DIARY: Final = "diary"
CALLS: Final = "calls"


@dataclass(frozen=True, slots=True)
class Asked:
    """What is given out.

    Args:
        reader: to whom; what others judged is told as far as that person may know it.
        first, last: days of the diary, both included; None for no end.
    """

    reader: Visitor
    first: date | None = None
    last: date | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table.

    Args:
        name: of its file or sheet.
        title: in words.
        headings: a word a column, with the unit where there is one.
        rows: its rows, read as they are asked for.
    """

    name: str
    title: str
    headings: Sequence[str]
    rows: Callable[[], Iterator[Sequence[Cell]]]


def sheets(names: Sequence[str], asked: Asked) -> list[Sheet]:
    """Return the tables of some names; `diary` stands for the diary and a table a kind of entry that there is.

    Raises:
        ExportUnknownError: there is none of that name.
    """
    from upsides.books.export.rows import TABLES

    known = [*TABLES, *races.ROWS, CALLS, DIARY, *KINDS]
    wanted = [one for name in names or [*TABLES, *races.ROWS, CALLS, DIARY] for one in _spread(name, known, asked)]
    return [_sheet(name, asked) for name in dict.fromkeys(wanted)]


def offered() -> Mapping[str, str | Promise]:
    """Return the tables that can be asked for, with their titles."""
    from upsides.books.export.rows import TABLES

    return (
        {name: title for name, (title, _headings, _rows) in TABLES.items()}
        | races.TITLES
        | {
            CALLS: gettext_lazy("What was called of horses, as far as you may read it"),
            DIARY: gettext_lazy("The diary, and a table for each kind of entry"),
        }
    )


def _spread(name: str, known: Sequence[str], asked: Asked) -> list[str]:
    if name not in known:
        raise ExportUnknownError(name, list(known))
    if name != DIARY:
        return [name]
    kinds = set(_entries(asked).values_list("kind", flat=True).distinct().order_by())
    return [DIARY, *(kind for kind in KINDS if kind in kinds)]


def _sheet(name: str, asked: Asked) -> Sheet:
    from upsides.books.export.rows import TABLES

    if name in TABLES:
        title, headings, rows = TABLES[name]
        return Sheet(name, str(title), [str(heading) for heading in headings], lambda: rows(moments.now()))
    if name in races.ROWS:
        heads = [str(heading) for heading in races.HEADINGS[name]]
        return Sheet(name, str(races.TITLES[name]), heads, lambda: races.ROWS[name](asked))
    if name == CALLS:
        heads = [_("When"), _("Horse"), _("Question"), _("Chance said"), _("Trip (f)"), _("Came true"), _("Called by")]
        return Sheet(name, _("Calls"), heads, lambda: _called(asked))
    if name == DIARY:
        heads = [_("When"), _("Horse"), _("What"), _("In words"), _("Entered by"), _("Recorded")]
        return Sheet(name, _("Diary"), heads, lambda: (_in_words(one) for one in _written(asked)))
    kind = KINDS[name]
    heads = [_("When"), _("Horse") if kind.about == "horse" else _("Gallop"), *map(_heading, kind.fields)]
    return Sheet(name, str(kind.title), [*heads, _("Entered by")], lambda: _of_kind(kind, asked))


def _heading(field: Field) -> str:
    """Return what a column is called, with the unit in which its numbers are kept."""
    unit = field.spans[0].unit if isinstance(field, Number) else ""
    return f"{field.label} ({unit})" if unit else str(field.label)


def _entries(asked: Asked, kind: str = "") -> Any:
    """Return what stands in the diary between two days and is open to the reader."""
    zone = clock.place().zone
    found = diary.open_to(asked.reader, moments.entries(moments.now()))
    if kind:
        found = found.filter(kind=kind)
    if asked.first is not None:
        found = found.filter(happened_at__gte=_midnight(asked.first, zone))
    if asked.last is not None:
        found = found.filter(happened_at__lt=_midnight(asked.last + timedelta(days=1), zone))
    return found


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone)


def _written(asked: Asked, kind: str = "") -> Iterator[Written]:
    """Yield entries ready to be read, in the order in which they happened."""
    rows = _entries(asked, kind).select_related("author").order_by("happened_at", "pk").iterator(chunk_size=MANY)
    moment: Moment = moments.now()
    while some := list[Entry](islice(rows, MANY)):
        yield from diary.written(some, moment, asked.reader)


def _in_words(one: Written) -> list[Cell]:
    kind = KINDS.get(one.entry.kind)
    title = str(kind.title) if kind else one.entry.kind
    return [_local(one.happened), one.horse, title, one.words, _name(one), _local(one.recorded)]


def _called(asked: Asked) -> Iterator[list[Cell]]:
    """Yield the calls that the reader may read; what the tool said is inside information and not in it."""
    from upsides.books.queries.calls import calls_of  # it loads what scores

    zone = clock.place().zone
    for one in calls_of(asked.reader, moments.now()):
        author = _("name removed") if one.author.erased_at else one.author.name
        row = one.row
        when = _local(row.recorded_at.astimezone(zone))
        yield [when, row.horse.name, str(row.get_about_display()), row.chance, row.trip_f, one.came, author]


def _of_kind(kind: type[Kind], asked: Asked) -> Iterator[list[Cell]]:
    """Yield the entries of a kind with a cell a field; of a judgement that the reader may not know only that it is."""
    names = _names()
    for one in _written(asked, kind.name):
        cells = [_cell(field, one, names) for field in kind.fields]
        yield [_local(one.happened), one.horse, *cells, _name(one)]


def _names() -> Any:
    from upsides.books.intake.finding import known

    return known(moments.now()).names


def _cell(field: Field, one: Written, names: Any) -> Cell:
    value = one.entry.values.get(field.name)
    if value is None or field.name not in one.typed:
        return None
    if isinstance(field, Number):
        return float(value) if isinstance(value, int | float) and value % 1 else int(value)
    if field.control == "day":
        return date.fromisoformat(value)
    if field.control in {"choice", "several", "row", "tick"}:
        return field.said(value, names)
    return one.typed[field.name]


def _name(one: Written) -> str:
    return _("name removed") if one.author.erased_at else one.author.name


def _local(at: datetime) -> datetime:
    """Return a moment on the yard's clock, without its zone, as spreadsheets have it."""
    return at.replace(tzinfo=None, second=0, microsecond=0)
