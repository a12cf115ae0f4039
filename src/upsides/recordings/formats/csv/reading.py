"""The reader of tables: the shape that fits is found by the names of the columns."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from upsides.errors import NoShapeFitsError
from upsides.recordings.formats.columns import settle
from upsides.recordings.formats.csv.cells import joined, measured
from upsides.recordings.formats.csv.shape import Shape, shipped_shapes
from upsides.recordings.formats.csv.table import Header, frame_of, header_of
from upsides.recordings.formats.csv.times import times
from upsides.recordings.formats.csv.units import AXES, WORDS
from upsides.recordings.formats.decoding import decoded
from upsides.recordings.recording import Device, Message, Motion, Recording

if TYPE_CHECKING:
    import polars as pl

Column = NDArray[np.float64]


def read_csv(data: bytes, file: str, shapes: Sequence[Shape] = ()) -> list[Recording]:
    """Read a table: one recording a device, in the order in which they first appear.

    Args:
        data: the bytes.
        file: its name.
        shapes: shapes that are tried before the shipped ones; of those that fit, the one that asks for most columns.

    Raises:
        NoShapeFitsError: none fits.
        RecordingRefusedError: the table cannot be read, or its times are not as its shape says.
    """
    text, told = decoded(data)
    for known in (shapes, shipped_shapes()):
        fitting = [shape for shape in known if _fits(shape, header_of(text, shape.header_line, shape.delimiter))]
        if fitting:
            shape = max(fitting, key=lambda one: len(one.has))
            text, told = decoded(data, shape.encoding) if shape.encoding else (text, told)
            return _read(text, file, shape, list(told), own=known is shapes)
    raise NoShapeFitsError(file, header_of(text, 1, "auto").names)


def _fits(shape: Shape, header: Header) -> bool:
    names = {name.casefold() for name in header.names}
    return all(name.casefold() in names for name in shape.has)


def _read(text: str, file: str, shape: Shape, told: list[Message], *, own: bool) -> list[Recording]:
    header = header_of(text, shape.header_line, shape.delimiter)
    frame = frame_of(header, file, shape, told)
    if not frame.height:
        return [Recording.of_columns(file, "csv", 0, messages=(*told, Message("no_fixes")))]
    if not own and header.delimiter != "," and _has_decimal_commas(frame, shape):
        shape = replace(shape, decimal=",")
    return [_recording(file, rows, shape, header.above, tuple(told), own=own) for rows in _devices(frame, shape)]


def _has_decimal_commas(frame: "pl.DataFrame", shape: Shape) -> bool:
    """Return whether places are written as 51,25, as spreadsheets of half the world save them."""
    fields = [shape.fields[name] for name in ("latitude", "longitude") if name in shape.fields]
    there = [joined(frame, field.columns) for field in fields if _has(frame, field.columns)]
    return any(bool(one.str.contains(r"^-?\d{1,3},\d+$").any()) for one in there)


def _has(frame: "pl.DataFrame", columns: tuple[str, ...]) -> bool:
    return all(name.casefold() in frame.columns for name in columns)


def _coded(words: "pl.Series") -> tuple[NDArray[np.int64], int]:
    """Return (n,) the number of each word in the order of first appearance, and how many there are."""
    texts = words.fill_null("").to_list()
    numbers = {text: i for i, text in enumerate(dict.fromkeys(texts))}
    return np.array([numbers[text] for text in texts], dtype=np.int64), len(numbers)


def _devices(frame: "pl.DataFrame", shape: Shape) -> "list[pl.DataFrame]":
    """Return the rows of each device apart, in their order."""
    field = shape.fields.get("device")
    if field is None or not _has(frame, field.columns):
        return [frame]
    codes, count = _coded(joined(frame, field.columns))
    return [frame[np.flatnonzero(codes == i)] for i in range(count)]


def _recording(
    file: str, frame: "pl.DataFrame", shape: Shape, above: str, told_of_file: tuple[Message, ...], *, own: bool
) -> Recording:
    """Make the recording of one device out of its rows."""
    told = list(told_of_file)
    time, odd = times(joined(frame, shape.time.columns), shape.time, file, above, own=own)
    told += odd
    there = {name: field for name, field in shape.fields.items() if _has(frame, field.columns)}
    words = {name: joined(frame, there.pop(name).columns) for name in WORDS if name in there}
    values = {name: measured(frame, name, field, shape.decimal, told) for name, field in there.items()}
    motion = _motion(time, [values.pop(axis, np.full(time.size, np.nan)) for axis in AXES])
    kept = np.ones(time.size, dtype=np.bool_)
    if motion is not None:  # rows of acceleration alone come at a rate of their own, and are no fixes
        kept = np.isfinite(np.array([*values.values(), np.full(time.size, np.nan)])).any(axis=0)
    dated = all(message.code != "no_start" for message in odd)
    columns, said = settle({"time_s": time[kept], **{name: value[kept] for name, value in values.items()}}, dated=dated)
    return Recording.of_columns(
        file,
        "csv",
        int(kept.sum()),
        segment=_coded(words["lap"].filter(kept))[0] if "lap" in words else None,
        device=Device(serial=_first(words, "device")),
        sport=_first(words, "sport"),
        motion=motion,
        speeds=None,
        messages=(*told, *said),
        **columns,
    )


def _first(words: "dict[str, pl.Series]", name: str) -> str:
    """Return the first text of a column, "" without one."""
    if name not in words:
        return ""
    found = words[name].drop_nulls()
    return str(found[0]) if len(found) else ""


def _motion(time_s: Column, axes: list[Column]) -> Motion | None:
    g = np.stack(axes, axis=1)
    rows = np.isfinite(g).any(axis=1)
    return Motion(time_s[rows], g[rows]) if rows.any() else None
