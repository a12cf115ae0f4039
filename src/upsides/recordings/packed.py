"""A track as the bytes of a file: Parquet of whole numbers, packed by their differences, which any program can read.

Columns and their steps stand in `COLUMNS`; a column that holds nothing is left out, and where a single number is
missing there is a null. What is known of the track as a whole stands in the file's metadata under `track`, as JSON.
Rounding to the steps moves a place by half a centimetre at most; speeds and heart rates are kept finer than known.
"""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from upsides.errors import TrackFileError
from upsides.errors.wording import gettext as _
from upsides.recordings.recording import Message
from upsides.recordings.track import Plane, Track

if TYPE_CHECKING:
    import pyarrow as pa
    from pyarrow.parquet import FileMetaData

Floats = NDArray[np.float64]

FORMAT: Final = 1
COLUMNS: Final[Mapping[str, tuple[str, float]]] = {
    "time_s": ("time_ms", 1e-3),
    "east_m": ("east_cm", 1e-2),
    "north_m": ("north_cm", 1e-2),
    "position_sd_m": ("position_sd_cm", 1e-2),
    "speed_ms": ("speed_mm_s", 1e-3),
    "speed_sd_ms": ("speed_sd_mm_s", 1e-3),
    "along_m": ("along_cm", 1e-2),
    "height_m": ("height_cm", 1e-2),
    "gradient": ("gradient_per_10000", 1e-4),
    "heart_bpm": ("heart_per_10_min", 1e-1),
}
"""Of each column of a track its name in the file, and the step in which it is counted there."""


def packed(track: Track, more: Mapping[str, Any] | None = None) -> bytes:
    """Return a track as the bytes of a file.

    Args:
        track: it.
        more: what else is kept with it, as JSON has it.
    """
    import pyarrow as pa
    from pyarrow import parquet

    columns: dict[str, pa.Array] = {}
    for name, (called, step) in COLUMNS.items():
        values = getattr(track, name)
        known = np.isfinite(values)
        if known.any():
            counts = np.where(known, np.round(values / step), 0.0).astype(np.int64)
            columns[called] = pa.array(counts, mask=None if known.all() else ~known)
    columns["stretch"] = pa.array(track.stretch)
    about = _about(track) | {"more": dict(more or {})}
    table, out = pa.table(columns), pa.BufferOutputStream()
    packing = {"compression": "zstd", "use_dictionary": False, "write_statistics": False, "store_schema": False}
    encodings = dict.fromkeys(columns, "DELTA_BINARY_PACKED")
    with parquet.ParquetWriter(out, table.schema, column_encoding=encodings, **packing) as file:
        file.write_table(table)
        file.add_key_value_metadata({"track": json.dumps(about, allow_nan=False)})
    return bytes(out.getvalue())


def unpacked(data: bytes, name: str) -> tuple[Track, dict[str, Any]]:
    """Return the track that bytes hold, and what else was kept with it.

    Args:
        data: the bytes.
        name: the file's name, for what is refused.

    Raises:
        TrackFileError: they are no track of ours, or a newer program's.
    """
    import pyarrow as pa
    from pyarrow import parquet

    try:
        file = parquet.ParquetFile(pa.BufferReader(data))
        about = _known(file.metadata, name)
        table = file.read()
        track = _track(table, about)
    except (pa.ArrowException, KeyError, ValueError, TypeError, OSError) as error:
        raise TrackFileError(name, _("it cannot be read ({error})", error=_first_line(error))) from None
    return track, about["more"]


def kept_with(place: Path) -> dict[str, Any]:
    """Return what else was kept with the track in a file, without reading the track.

    Raises:
        TrackFileError: it is no track of ours, or a newer program's.
        OSError: it cannot be opened.
    """
    import pyarrow as pa
    from pyarrow import parquet

    try:
        return _known(parquet.read_metadata(place), place.name)["more"]  # type: ignore[no-any-return]  # as JSON has it
    except (pa.ArrowException, KeyError, ValueError, TypeError) as error:
        raise TrackFileError(place.name, _("it cannot be read ({error})", error=_first_line(error))) from None


def _known(metadata: "FileMetaData", name: str) -> dict[str, Any]:
    about: dict[str, Any] = json.loads((metadata.metadata or {})[b"track"])
    if about["format"] > FORMAT:
        raise TrackFileError(name, _("a newer program wrote it"))
    return about


def _first_line(error: Exception) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]


def _about(track: Track) -> dict[str, Any]:
    """Return what is known of a track as a whole."""
    plane = None if track.plane is None else [track.plane.latitude, track.plane.longitude]
    return {
        "format": FORMAT,
        "plane": plane,
        "kept": track.kept,
        "heart_kept": track.heart_kept if np.isfinite(track.heart_kept) else None,
        "height_from": track.height_from,
        "messages": [one.as_json() for one in track.messages],
    }


def _track(table: "pa.Table", about: Mapping[str, Any]) -> Track:
    there = set(table.column_names)

    def column(name: str) -> Floats:
        called, step = COLUMNS[name]
        if called not in there:
            return np.full(table.num_rows, np.nan)
        counts = table.column(called).combine_chunks()
        return np.asarray(counts.to_numpy(zero_copy_only=False), dtype=np.float64) * step

    return Track(
        plane=Plane(*about["plane"]) if about["plane"] is not None else None,
        **{name: column(name) for name in COLUMNS},
        stretch=table.column("stretch").to_numpy().astype(np.int64),
        kept=float(about["kept"]),
        heart_kept=np.nan if about["heart_kept"] is None else float(about["heart_kept"]),
        height_from=about["height_from"],
        messages=tuple(map(Message.of_json, about["messages"])),
    )
