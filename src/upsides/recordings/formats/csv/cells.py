"""The cells of a table as texts and as numbers in the recording's own units."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.formats.csv.shape import Column
from upsides.recordings.formats.csv.units import ANGLES, UNITS
from upsides.recordings.recording import Message

if TYPE_CHECKING:
    import polars as pl

NUMBER = r"(\d+(?:\.\d+)?)"
ANGLE = (
    rf"(?i)^\s*[-+NSEW]?\s*{NUMBER}[°º\s:]*"
    rf"(?:{NUMBER}['′’\s:]*(?:{NUMBER}[\"″”'\s]*)?)?\s*[NSEW]?\s*$"
)


def joined(frame: "pl.DataFrame", columns: tuple[str, ...]) -> "pl.Series":
    """Return n texts: a column, or several joined by spaces, null where one of them is empty."""
    import polars as pl

    names = [name.casefold() for name in columns]
    return frame.select(pl.concat_str(names, separator=" ")).to_series()


def measured(frame: "pl.DataFrame", name: str, field: Column, decimal: str, told: list[Message]) -> NDArray[np.float64]:
    """Return (n,) a field in the recording's unit; NaN where nothing is written, or no number, which is counted."""
    written = joined(frame, field.columns)
    if decimal == ",":
        pointed = written.str.replace_all(".", "", literal=True).str.replace(",", ".", literal=True)
        written = pointed.zip_with(written.str.contains(",", literal=True).fill_null(False), written)
    values = _floats(written)
    unread = written.is_not_null().to_numpy() & np.isnan(values)
    if UNITS[name] is ANGLES and (unread.any() or field.unit == "degrees_minutes"):
        values = np.where(unread | (field.unit == "degrees_minutes"), _angles(written, field.unit), values)
        unread &= np.isnan(values)
    if count := int(unread.sum()):
        told.append(Message("not_numbers", {"count": count, "columns": ", ".join(field.columns)}))
    return values * (UNITS[name][field.unit] or 1.0)


def _floats(written: "pl.Series") -> NDArray[np.float64]:
    import polars as pl

    values = written.cast(pl.Float64, strict=False).fill_null(np.nan).to_numpy().copy()
    values[~np.isfinite(values)] = np.nan
    return np.asarray(values)


def _angles(written: "pl.Series", unit: str) -> NDArray[np.float64]:
    """Read an angle of up to three numbers (degrees, minutes, seconds) with a sign or a letter of its side."""
    parts = written.str.extract_groups(ANGLE).struct.unnest()
    first, minutes, seconds = (_floats(parts[group]) for group in ("1", "2", "3"))
    if unit == "degrees_minutes":  # dddmm.mmmm in one number
        together = np.isnan(minutes)
        minutes = np.where(together, first % 100, minutes)
        first = np.where(together, first // 100, first)
    sides = written.str.contains(r"(?i)[SW]|^\s*-").fill_null(False).to_numpy()
    degrees = first + np.nan_to_num(minutes) / 60 + np.nan_to_num(seconds) / 3600
    return np.asarray(np.where(sides, -degrees, degrees))
