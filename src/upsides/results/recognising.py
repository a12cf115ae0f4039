"""Which table of a shape a file is: told from its columns, never from its name."""

from upsides.errors import FileUnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.description import Shape, Table
from upsides.results.readers import Source

WHOSE = {
    "results": ("results", "bring it in by `upsides results add`"),
    "lots": ("the list of a sale", "bring it in by `upsides sale add`"),
    "programme": ("a programme of races to come", "bring it in as a programme"),
}
"""What a table holds, and how it is brought in."""


def recognise(source: Source, shape: Shape, *, wanted: str = "results") -> Table:
    """Return the table of the shape that a file is; where several fit, the one that asks for most columns.

    Args:
        source: the file.
        shape: how its source lays out its tables.
        wanted: results, lots or programme.

    Raises:
        FileUnreadableError: no table fits, the one that fits lacks columns that the shape reads, or it is of the
            other kind.
    """
    columns = set(source.columns)
    fitting = [t for t in shape.tables if columns >= set(t.has) and not columns & set(t.lacks)]
    if not fitting:
        raise FileUnreadableError(source.path.name, _why_not(columns, shape), _("name another shape, or write one"))
    right = [table for table in fitting if table.kind == wanted]
    if not right:
        holds, remedy = WHOSE[fitting[0].kind]
        reason = _("by this shape it is {holds}, not {whose}", holds=holds, whose=WHOSE[wanted][0])
        raise FileUnreadableError(source.path.name, reason, remedy)
    table = max(right, key=lambda t: len(t.has))
    absent = sorted(table.columns() - columns)
    if absent:
        lacking = ", ".join(absent)
        reason = _(
            "it is the table {table!r} of shape {shape!r}, but lacks the column {lacking}",
            table=table.name,
            shape=shape.name,
            lacking=lacking,
        )
        raise FileUnreadableError(
            source.path.name, reason, _("take the column out of the shape, or add it to the file")
        )
    return table


def _why_not(columns: set[str], shape: Shape) -> str:
    nearest = max(shape.tables, key=lambda table: len(columns & set(table.has)))
    missing = ", ".join(name for name in nearest.has if name not in columns) or "nothing"
    seen = ", ".join(sorted(columns)[:12])
    return _(
        "its columns ({seen}) are no table of shape {shape!r}; the nearest, {nearest!r}, would also need {missing}",
        seen=seen,
        shape=shape.name,
        nearest=nearest.name,
        missing=missing,
    )
