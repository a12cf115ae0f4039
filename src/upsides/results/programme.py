"""A programme of races to come, read from a file by a shape; and the programmes that a library keeps.

Each file that was brought in is kept as it was read, numbered, with the day on which it was heard, so that what was
known on a day can be told later. Which race supersedes which is `placing.programme`'s to say.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

import polars as pl

from upsides.errors import FileUnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.description import Shape
from upsides.results.lock import writing
from upsides.results.mapping import REFUSED_SCHEMA, faults, refusals
from upsides.results.programme_rows import PROGRAMME, rows_of, zones_named
from upsides.results.readers import open_source, read_batches
from upsides.results.recognising import recognise
from upsides.results.shape import load_shape

FOLDER: Final = "programme"
KEPT: Final = pl.Schema({**PROGRAMME, "heard": pl.Date()})
GONE: Final = ".gone"
"""Ending of the note that a programme was taken back: the day from which on."""
TWICE: Final = _("the race stands on an earlier line already")
TWICE_OTHERWISE: Final = _("the race stands on an earlier line with other words; that one was taken")


@dataclass(frozen=True, slots=True)
class Listed:
    """What a file holds.

    Attributes:
        file: its name.
        sha256: the hash of its bytes.
        races: columns of `programme_rows.PROGRAMME`, in the file's order.
        refused: refusals and remarks in the schema's REFUSED, by line; `fate` "row" is a race left out.
        unused: columns that nothing was taken from, with the reason where the shape gives one.
    """

    file: str
    sha256: str
    races: pl.DataFrame
    refused: pl.DataFrame
    unused: dict[str, str]


def read_programme(file: str | Path, shape: str | Path | Shape, zones: Mapping[str, str] | None = None) -> Listed:
    """Read a programme.

    Args:
        file: the table.
        shape: name of a shipped shape, path of a TOML file, or a shape already loaded.
        zones: IANA zones by course, for moments that say none and rows that name none; a zone that the file itself
            names for the course on another row goes before.

    Raises:
        ShapeError: the shape cannot be used.
        FileUnreadableError: the file is no programme by this shape, is damaged, or holds no race.
    """
    shape, path = shape if isinstance(shape, Shape) else load_shape(shape), Path(file)
    source = open_source(path, shape.delimiter, shape.encoding, shape.header_line, shape.sheet)
    table = recognise(source, shape, wanted="programme")
    batches = list(read_batches(source))
    clocks = {course.lower(): zone for course, zone in (zones or {}).items()}
    clocks |= zones_named((batch.frame for batch in batches), table, shape)
    races, notes = [PROGRAMME.to_frame()], [REFUSED_SCHEMA.to_frame()]
    for batch in batches:
        rows = rows_of(batch.frame, table, shape, path.name, clocks)
        races.append(rows.races)
        notes += [rows.refused, faults(batch.faults, shape.source, path.name)]
    found, again = _once(pl.concat(races), shape.source, path.name)
    refused = pl.concat([*notes, again]).sort("line", maintain_order=True)
    if found.is_empty() and refused.is_empty():
        raise FileUnreadableError(
            path.name, _("there is no race in it"), _("give a table that has rows below its header")
        )
    unused = {name: table.unused.get(name, "") for name in source.columns if name not in table.columns()}
    return Listed(path.name, hashlib.sha256(path.read_bytes()).hexdigest(), found, refused, unused)


def _once(races: pl.DataFrame, source: str, file: str) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return each race once, as it stands first, and the refusals of its later lines."""
    identity = pl.coalesce(
        pl.format("id {}", "race_id"),
        pl.format("{} {} number {}", "course", "day", "number"),
        pl.format("{} {} {}", "course", "day", "title"),
        pl.format("line {}", "line"),
    ).str.to_lowercase()
    marked = races.with_columns(identity.alias("#identity"))
    first = marked.unique("#identity", keep="first", maintain_order=True)
    later = marked.join(first, on="line", how="anti", maintain_order="left")
    words = [name for name in marked.columns if name not in {"line", "file"}]
    same = later.join(first, on=words, how="semi", nulls_equal=True)
    other = later.join(first, on=words, how="anti", nulls_equal=True)
    notes = [
        refusals(rows, source, file, "race_id", rows["#identity"], reason)
        for rows, reason in ((same, TWICE), (other, TWICE_OTHERWISE))
    ]
    return first.drop("#identity"), pl.concat(notes)


def keep_programme(library: Path, races: pl.DataFrame, heard: date) -> Path:
    """Keep a programme that was read with a library, whole or not at all; return where it lies.

    Args:
        library: the library's folder.
        races: columns of PROGRAMME.
        heard: the day on which it was heard.

    Raises:
        LibraryBusyError: another process is writing to the library.
    """
    folder = library / FOLDER
    with writing(library):
        folder.mkdir(exist_ok=True)
        number = 1 + max((int(path.stem) for path in folder.glob("*.parquet")), default=0)
        path, fresh = folder / f"{number:06d}.parquet", folder / f"{number:06d}.new"
        races.with_columns(heard=pl.lit(heard)).select(KEPT.names()).cast(KEPT).write_parquet(fresh)
        fresh.rename(path)
    return path


def kept_programmes(library: Path, as_of: date | None = None) -> list[pl.DataFrame]:
    """Return the programmes that a library keeps, each with columns of KEPT, in the order in which they came.

    Args:
        library: the library's folder.
        as_of: only those heard up to that day.
    """
    standing = [path for path in sorted((library / FOLDER).glob("*.parquet")) if not _gone(path, as_of)]
    found = [_kept(path) for path in standing]
    return [frame for frame in found if frame.height and (as_of is None or frame["heard"][0] <= as_of)]


def _kept(path: Path) -> pl.DataFrame:
    """Return a programme as it was kept; a field that came later is empty in it."""
    return pl.read_parquet(path, schema=KEPT, missing_columns="insert")


def _gone(path: Path, as_of: date | None) -> bool:
    """Return whether a programme was taken back, by a day where one is given."""
    note = path.with_suffix(GONE)
    return note.exists() and (as_of is None or date.fromisoformat(note.read_text()) <= as_of)


def last_programme(library: Path) -> tuple[int, date, int] | None:
    """Return the last programme that stands: its number, when it was heard, and how many races it names."""
    for path in sorted((library / FOLDER).glob("*.parquet"), reverse=True):
        if not _gone(path, None):
            frame = _kept(path)
            return int(path.stem), frame["heard"][0], frame.height
    return None


def take_back(library: Path, number: int, on: date) -> None:
    """Take a programme back from a day on; as of earlier days it stays known.

    Raises:
        FileUnreadableError: it is not the last one that stands.
        LibraryBusyError: another process is writing to the library.
    """
    with writing(library):
        last = last_programme(library)
        if last is None or last[0] != number:
            raise FileUnreadableError(
                _("programme {number}", number=number),
                _("it is not the last one that stands"),
                _("load the page again"),
            )
        place = library / FOLDER / f"{number:06d}{GONE}"
        fresh = place.with_suffix(".new")
        fresh.write_text(str(on))
        fresh.rename(place)
