"""Which column says what, as an address or a form has it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from upsides.books.diary.fields import Choice
from upsides.books.intake.checking import Opened
from upsides.books.intake.days import DAY_FIRST, MONTH_FIRST
from upsides.books.intake.proposing import Chosen, missing
from upsides.books.intake.specs import RESULT, Column

Option = tuple[str, str, bool]
SAMPLES = 3


@dataclass(frozen=True, slots=True)
class Head:
    """A column of the table on the page.

    Args:
        name: of its select.
        heading: as the table has it.
        samples: its first values.
        options: what it can say: value, words, whether that is chosen.
    """

    name: str
    heading: str
    samples: Sequence[str]
    options: Sequence[Option]


@dataclass(frozen=True, slots=True)
class Every:
    """Something that can be said of every row.

    Args:
        name: of its field.
        label: what it is.
        value: what is said.
        options: what can be said, empty where anything can.
        day: whether it is a day.
    """

    name: str
    label: str
    value: str
    options: Sequence[Option]
    day: bool


def chosen_of(given: Mapping[str, str], one: Opened) -> Chosen:
    """Return the choice that was made; what is proposed where none was."""
    if "order" not in given:
        return one.proposed
    columns: dict[str, str] = {}
    results: list[str] = []
    for place, heading in enumerate(one.table.headings):
        name = given.get(f"c{place}", "")
        if name == RESULT:
            results.append(heading)
        elif name in one.spec.by_name:
            columns.setdefault(name, heading)
    every = {
        column.name: given.get(f"every-{column.name}", "").strip() for column in one.spec.columns if column.constant
    }
    kept = {name: typed for name, typed in every.items() if typed and name not in columns}
    order = given["order"] if given["order"] in {DAY_FIRST, MONTH_FIRST} else DAY_FIRST
    return Chosen(columns, kept, order, tuple(results))


def as_fields(chosen: Chosen, one: Opened) -> list[tuple[str, str]]:
    """Return a choice as the fields of a form or an address."""
    by_heading = {heading: name for name, heading in chosen.columns.items()} | dict.fromkeys(chosen.results, RESULT)
    fields = [(f"c{place}", by_heading.get(heading, "")) for place, heading in enumerate(one.table.headings)]
    every = [(f"every-{name}", typed) for name, typed in chosen.every.items()]
    return [*((name, value) for name, value in fields if value), *every, ("order", chosen.order)]


def heads(chosen: Chosen, one: Opened) -> list[Head]:
    """Return the columns of the table, each with what it can say."""
    by_heading = {heading: name for name, heading in chosen.columns.items()} | dict.fromkeys(chosen.results, RESULT)
    return [
        Head(f"c{place}", heading, _samples(one, heading), _options(one, by_heading.get(heading, "")))
        for place, heading in enumerate(one.table.headings)
    ]


def _samples(one: Opened, heading: str) -> list[str]:
    texts = (text.strip() for text in one.table.sample[heading].drop_nulls())
    return [text[:40] for text in dict.fromkeys(text for text in texts if text)][:SAMPLES]


def _options(one: Opened, chosen: str) -> list[Option]:
    names = [("", _("not taken")), *((column.name, str(column.label)) for column in one.spec.columns)]
    return [(name, words, name == chosen) for name, words in names]


def every_row(chosen: Chosen, one: Opened) -> list[Every]:
    """Return what no column says, and could be said of every row: what is needed, and what was said so far."""
    lacking = {column.name for column in missing(chosen, one.spec)}
    wanted = [
        column
        for column in one.spec.columns
        if column.constant and column.name not in chosen.columns and (column.name in lacking | chosen.every.keys())
    ]
    return [_every(column, chosen.every.get(column.name, "")) for column in wanted]


def _every(column: Column, value: str) -> Every:
    options: list[Option] = []
    if isinstance(column.field, Choice):
        given = [("", _("not said")), *((key, str(words)) for key, words in column.field.options.items())]
        options = [(key, words, key == value) for key, words in given]
    is_day = column.name in {"day", "joined"}
    return Every(f"every-{column.name}", str(column.label), value, options, is_day)
