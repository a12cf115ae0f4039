"""Columns in the trade's own notation, read once per distinct text by the parsers of `upsides.trade`."""

from collections.abc import Callable, Mapping

import polars as pl

from upsides.errors import MarginNotListedError, UnreadableError
from upsides.trade.distance import Distance
from upsides.trade.margin import EXPECTED, Margin
from upsides.trade.reading import read_column
from upsides.trade.weight import Weight


def written(unit: str, text: pl.Series, margins: Mapping[str, float]) -> tuple[pl.Series, pl.Series]:
    """Read distances, weights or margins as racing writes them.

    Args:
        unit: the schema's unit: m, lb or lengths.
        text: the cells, null where nothing is recorded.
        margins: lengths of named margins.

    Returns:
        The values in `unit` and a mask of the cells that could not be read. A margin that is wider than any
        number ("many lengths", "distance") is neither: its value is null.
    """
    distinct = text.unique().drop_nulls()
    parsed = read_column(distinct.to_list(), _reader(unit, margins))
    values = pl.Series(parsed.values).fill_nan(None)
    value = text.replace_strict(distinct, values, default=None, return_dtype=pl.Float64)
    return value, text.is_in(distinct.filter(pl.Series(parsed.unreadable)).to_list()).fill_null(False)


def _reader(unit: str, margins: Mapping[str, float]) -> Callable[[str], float]:
    if unit == "m":
        return lambda text: Distance.parse(text).metres
    if unit == "lb":
        return lambda text: Weight.parse(text).pounds
    return lambda text: _lengths(text, margins)


def _lengths(text: str, margins: Mapping[str, float]) -> float:
    try:
        return Margin.parse(text).in_lengths(margins)
    except MarginNotListedError as error:
        raise UnreadableError("margin", text, EXPECTED) from error
