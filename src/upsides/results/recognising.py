"""Which table of a shape a file is: told from its columns, never from its name."""

from upsides.errors import FileUnreadableError
from upsides.results.description import Shape, Table
from upsides.results.readers import Source

NO_LOTS = ("by this shape it holds results, not the lots of a sale", "bring it in by `upsides results add`")
NO_RESULTS = ("by this shape it is the list of a sale, not results", "bring it in by `upsides sale add`")


def recognise(source: Source, shape: Shape, *, lots: bool = False) -> Table:
    """Return the table of the shape that a file is; where several fit, the one that asks for most columns.

    Args:
        source: the file.
        shape: how its source lays out its tables.
        lots: whether the list of a sale is wanted, not results.

    Raises:
        FileUnreadableError: no table fits, the one that fits lacks columns that the shape reads, or it is of the
            other kind.
    """
    columns = set(source.columns)
    fitting = [t for t in shape.tables if columns >= set(t.has) and not columns & set(t.lacks)]
    if not fitting:
        raise FileUnreadableError(source.path.name, _why_not(columns, shape), "name another shape, or write one")
    wanted = [table for table in fitting if bool(table.lot) == lots]
    if not wanted:
        raise FileUnreadableError(source.path.name, *(NO_LOTS if lots else NO_RESULTS))
    table = max(wanted, key=lambda t: len(t.has))
    absent = sorted(table.columns() - columns)
    if absent:
        lacking = ", ".join(absent)
        reason = f"it is the table {table.name!r} of shape {shape.name!r}, but lacks the column {lacking}"
        raise FileUnreadableError(source.path.name, reason, "take the column out of the shape, or add it to the file")
    return table


def _why_not(columns: set[str], shape: Shape) -> str:
    nearest = max(shape.tables, key=lambda table: len(columns & set(table.has)))
    missing = ", ".join(name for name in nearest.has if name not in columns) or "nothing"
    seen = ", ".join(sorted(columns)[:12])
    return (
        f"its columns ({seen}) are no table of shape {shape.name!r}; "
        f"the nearest, {nearest.name!r}, would also need {missing}"
    )
