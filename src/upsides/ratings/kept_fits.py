"""Fits kept beside the results: where each lies and reading it back. Making one is in `fits`, which loads far more."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from upsides.errors import FitMissingError, FitNewerError

FORMAT = 1
FRAMES = ("levels", "figures", "horses")
MANIFEST = "manifest.json"


@dataclass(frozen=True, slots=True)
class Fit:
    """A fit read back.

    Attributes:
        as_of: results before this day went in.
        levels: horse_key, date, level_lb, sd_lb: curves on run days, a grid between, and the as-of day.
        figures: race_key, horse_key, date, figure_lb, book_lb, figure_sd_lb, expected_lb, eased,
            late_speed, late_standing.
        horses: horse_key, as_of, level_lb, sd_lb, runs, component.
        manifest: what went in, settings, components and convergence.
    """

    as_of: date
    levels: pl.DataFrame
    figures: pl.DataFrame
    horses: pl.DataFrame
    manifest: dict[str, Any]


@dataclass(frozen=True, slots=True)
class KeptFit:
    """A fit on disk.

    Attributes:
        folder: where it lies.
        as_of: results before this day went in.
        stamp: changes when the fit is made again.
    """

    folder: Path
    as_of: date
    stamp: tuple[int, int]


def fits_folder(library: str | Path) -> Path:
    """Return the folder that holds a library's fits."""
    return Path(library) / "fits"


def kept_fit(library: str | Path, until: date) -> KeptFit:
    """Return the fit that knows most results and none of `until` or later.

    Raises:
        FitMissingError: there is none.
    """
    base = fits_folder(library)
    for day in sorted((day for day in _days(base) if day <= until), reverse=True):
        if (stamp := _stamp(base / str(day))) is not None:
            return KeptFit(base / str(day), day, stamp)
    raise FitMissingError(library, f"{until} or earlier")


def scan_fit(kept: KeptFit) -> dict[str, pl.LazyFrame]:
    """Return a fit's tables by name, unread.

    Raises:
        FitNewerError: it was written by a newer version of this program.
    """
    _manifest(kept.folder)
    return {name: pl.scan_parquet(kept.folder / f"{name}.parquet") for name in FRAMES}


def read_fit(folder: str | Path, as_of: date | None = None) -> Fit:
    """Return the fit of the library in `folder`: the latest, or the one made as of a day.

    Raises:
        FitMissingError: there is none.
        FitNewerError: it was written by a newer version of this program.
    """
    base = fits_folder(folder)
    if as_of is None and (base / "latest.json").exists():
        as_of = date.fromisoformat(json.loads((base / "latest.json").read_text())["as_of"])
    where = base / str(as_of)
    if as_of is None or not (where / MANIFEST).exists():
        raise FitMissingError(folder, as_of)
    manifest = _manifest(where)
    frames = {name: pl.read_parquet(where / f"{name}.parquet") for name in FRAMES}
    return Fit(as_of, frames["levels"], frames["figures"], frames["horses"], manifest)


def _manifest(where: Path) -> dict[str, Any]:
    manifest: dict[str, Any] = json.loads((where / MANIFEST).read_text())
    if manifest["format"] > FORMAT:
        raise FitNewerError(where, manifest["format"], FORMAT)
    return manifest


def _days(base: Path) -> Iterator[date]:
    """Yield the days of the folders that are named for one."""
    for folder in base.iterdir() if base.is_dir() else ():
        try:
            day = date.fromisoformat(folder.name)
        except ValueError:
            continue
        if str(day) == folder.name:
            yield day


def _stamp(where: Path) -> tuple[int, int] | None:
    """Return what tells this fit from another in the same place, None where there is none."""
    try:
        about = (where / MANIFEST).stat()
    except FileNotFoundError:
        return None
    return about.st_mtime_ns, about.st_ino
