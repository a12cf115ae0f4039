"""What is asked of the string's list: which horses, in what order, with which columns; read from the address."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from urllib.parse import urlencode

from django.http import QueryDict

from upsides.books.queries.finding import Wanted
from upsides.books.queries.string import Status
from upsides.web.string.columns import COLUMNS, Column, columns_open

PAGE = "string"
"""The list's name where views of it are kept."""
LONGEST = 80


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked.

    Args:
        wanted: which horses.
        status: in training, left, or all.
        column: by which column they are sorted.
        falling: from high to low, or from Z to A.
        columns: what is shown of each, in the page's order.
        figures: whether columns of figures may be asked for.
        view: number of the saved view that was opened, None for none.
    """

    wanted: Wanted
    status: Status
    column: Column
    falling: bool
    columns: tuple[Column, ...]
    figures: bool
    view: int | None

    @property
    def sort(self) -> str:
        """Return the order as the address has it."""
        return written_sort(self.column, falling=self.falling)

    def address(self) -> str:
        """Return what was asked in its shortest form, without the saved view."""
        pairs = [("q" if name == "words" else name, value) for name, value in asdict(self.wanted).items() if value]
        if self.status is not Status.TRAINING:
            pairs.append(("status", self.status))
        if self.sort != _first_sort(self.figures):
            pairs.append(("sort", self.sort))
        if self.columns != usual_columns(self.figures):
            pairs += [("show", column.key) for column in self.columns]
        return urlencode(pairs)


def status_of(query: QueryDict) -> Status:
    """Return which horses of the books are meant; those in training where nothing else can be read."""
    text = query.get("status", "")
    return next((status for status in Status if status.value == text), Status.TRAINING)


def asked_of(query: QueryDict, *, figures: bool) -> Asked:
    """Read what is asked; what cannot be read, or is not open, is left out.

    Args:
        query: of the address.
        figures: whether columns of figures may be asked for.
    """
    chosen = {field.name: query.get(field.name, "")[:LONGEST] for field in fields(Wanted) if field.name != "words"}
    column, falling = _sort(query.get("sort", ""), figures) or _sort(_first_sort(figures), figures) or _BY_NAME
    return Asked(
        Wanted(words=query.get("q", "").strip()[:LONGEST], **chosen),
        status_of(query),
        column,
        falling,
        shown_columns(query.getlist("show"), figures),
        figures,
        number_of(query.get("view", "")),
    )


def number_of(text: str) -> int | None:
    """Return the number of a saved view, None where there is none to be read."""
    return int(text) if text.isdecimal() and len(text) < 10 else None


def written_sort(column: Column, *, falling: bool) -> str:
    """Return an order as the address has it."""
    return f"-{column.key}" if falling else column.key


def usual_columns(figures: bool) -> tuple[Column, ...]:  # noqa: FBT001 -- the one thing that it depends on
    """Return the columns that are shown where nobody chose."""
    return tuple(column for column in columns_open(figures) if column.usual)


def shown_columns(keys: Sequence[str], figures: bool) -> tuple[Column, ...]:  # noqa: FBT001 -- as above
    """Return the columns that were chosen, the usual ones where there is none among them that is open."""
    chosen = tuple(column for column in columns_open(figures) if column.key in keys)
    return chosen or usual_columns(figures)


_BY_NAME = (COLUMNS["name"], False)


def _first_sort(figures: bool) -> str:  # noqa: FBT001 -- as above
    return "-level" if figures else "name"


def _sort(text: str, figures: bool) -> tuple[Column, bool] | None:  # noqa: FBT001 -- as above
    column = COLUMNS.get(text.removeprefix("-"))
    if column is None or (column.inside and not figures):
        return None
    return column, text.startswith("-")
