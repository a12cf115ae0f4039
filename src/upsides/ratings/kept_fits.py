"""Fits kept beside the results: where each lies and reading it back. Making one is in `fits`, which loads far more."""

import json
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

import polars as pl

from upsides.errors import FitMissingError, FitNewerError
from upsides.errors.wording import gettext as _
from upsides.ratings.levels.debut import Debut

FORMAT = 1
FRAMES = ("levels", "figures", "horses")
MANIFEST = "manifest.json"
DEBUT = "debut.json"
_TRIES = 5


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
        debut: what it says of horses that have not run; None where it was made before fits kept that.
    """

    as_of: date
    levels: pl.DataFrame
    figures: pl.DataFrame
    horses: pl.DataFrame
    manifest: dict[str, Any]
    debut: Debut | None = None


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


def writers_lock(library: str | Path) -> Path:
    """Return the file that whoever writes a library's fits holds."""
    return Path(library) / "fits.lock"


def kept_fit(library: str | Path, until: date) -> KeptFit:
    """Return the fit that knows most results and none of `until` or later.

    Raises:
        FitMissingError: there is none.
    """
    base = fits_folder(library)
    for day in sorted((day for day in _days(base) if day <= until), reverse=True):
        place = _place(base, day)
        if (stamp := _stamp(place)) is not None:
            return KeptFit(place, day, stamp)
    raise FitMissingError(library, _("{until} or earlier", until=until))


def fingerprint(kept: KeptFit) -> str:
    """Return a hash of what a fit was made from and of what it found; wherever it is copied to it stays the same."""
    return sha256((kept.folder / MANIFEST).read_bytes()).hexdigest()[:20]


def fit_days(library: str | Path) -> list[date]:
    """Return the days of which a library has fits, earliest first."""
    return sorted(_days(fits_folder(library)))


def scan_fit(kept: KeptFit) -> dict[str, pl.LazyFrame]:
    """Return a fit's tables by name, unread.

    Raises:
        FitNewerError: it was written by a newer version of this program.
    """
    _manifest(kept.folder)
    return {name: pl.scan_parquet(kept.folder / f"{name}.parquet") for name in FRAMES}


def read_debut(where: Path) -> Debut | None:
    """Return what the fit in a folder says of horses that have not run; None where it does not."""
    try:
        return Debut.read(json.loads((where / DEBUT).read_text()))
    except FileNotFoundError:
        return None


def read_manifest(kept: KeptFit) -> dict[str, Any]:
    """Return what went into a fit and how it ended, without reading its tables.

    Raises:
        FitNewerError: it was written by a newer version of this program.
    """
    return _manifest(kept.folder)


def read_fit(folder: str | Path, as_of: date | None = None) -> Fit:
    """Return the fit of the library in `folder`: the latest, or the one made as of a day.

    Raises:
        FitMissingError: there is none.
        FitNewerError: it was written by a newer version of this program.
    """
    base = fits_folder(folder)
    if as_of is None and (base / "latest.json").exists():
        as_of = date.fromisoformat(json.loads((base / "latest.json").read_text())["as_of"])
    if as_of is None:
        raise FitMissingError(folder, as_of)
    for _turn in range(_TRIES):
        where = _place(base, as_of)
        stamp = _stamp(where)
        try:
            manifest = _manifest(where)
            frames = {name: pl.read_parquet(where / f"{name}.parquet") for name in FRAMES}
            debut = read_debut(where)
        except FileNotFoundError:  # there is none, or a new one takes its place
            continue
        if _stamp(where) == stamp:
            return Fit(as_of, frames["levels"], frames["figures"], frames["horses"], manifest, debut)
    raise FitMissingError(folder, as_of)


def _manifest(where: Path) -> dict[str, Any]:
    manifest: dict[str, Any] = json.loads((where / MANIFEST).read_text())
    if manifest["format"] > FORMAT:
        raise FitNewerError(where, manifest["format"], FORMAT)
    return manifest


def replaced(base: Path, day: date) -> Path:
    """Return where a day's old fit lies while a new one takes its place."""
    return base / f".{day}.old"


def _place(base: Path, day: date) -> Path:
    """Return where a day's fit lies: in its own place, or aside where its writer stopped between two renames."""
    place = base / str(day)
    return place if place.exists() or not replaced(base, day).exists() else replaced(base, day)


def _days(base: Path) -> set[date]:
    """Return the days of which there are fits."""
    found = set()
    for folder in base.iterdir() if base.is_dir() else ():
        try:
            day = date.fromisoformat(folder.name.removeprefix(".").removesuffix(".old"))
        except ValueError:
            continue
        if folder.name in {str(day), replaced(base, day).name}:
            found.add(day)
    return found


def _stamp(where: Path) -> tuple[int, int] | None:
    """Return what tells this fit from another in the same place, None where there is none."""
    try:
        about = (where / MANIFEST).stat()
    except FileNotFoundError:
        return None
    return about.st_mtime_ns, about.st_ino
