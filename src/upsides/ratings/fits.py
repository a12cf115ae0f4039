"""Making fits, each kept beside the results it was made from, with a manifest of what went in and how it ended."""

import hashlib
import json
import shutil
from collections.abc import Callable
from dataclasses import asdict
from datetime import date, timedelta
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from upsides.errors import FitMissingError
from upsides.ratings import connected
from upsides.ratings.kept_fits import (
    DEBUT,
    FORMAT,
    FRAMES,
    MANIFEST,
    Fit,
    fits_folder,
    read_fit,
    replaced,
    writers_lock,
)
from upsides.ratings.late import late_standings
from upsides.ratings.levels import fitting
from upsides.ratings.levels.field import debut_of
from upsides.ratings.levels.fitting import BASE_LB, Levels, Progress
from upsides.ratings.levels.told import NOTHING_TOLD, OUTING, Told
from upsides.results.library import Library
from upsides.results.lock import in_turn
from upsides.rules import OWN_RULES, own_rules

__all__ = ["Fit", "data_hash", "fit_of", "is_current", "make_fit", "read_fit", "would_be_same"]

_LIBRARIES = ("numpy", "scipy", "numba", "polars", "upsides")
_ROOMS = ("trade", "rules", "results", "pedigree", "ratings", "trip")
"""Whose code a fit, and what is kept beside it, is made by."""


def nothing(_fit: Fit, _folder: Path) -> None:
    """Keep nothing beside a fit."""


def make_fit(
    library: Library,
    as_of: date | None = None,
    *,
    seed: int = 0,
    keep_as_latest: bool = False,
    progress: Progress = lambda _done, _what: None,
    beside: Callable[[Fit, Path], None] = nothing,
    told: Told = NOTHING_TOLD,
) -> Fit:
    """Fit a library as known on the morning of `as_of`, keep the fit and return it.

    Without `as_of`, as known the day after its last race. What `beside` writes into the folder that it is given is kept
    with the fit, or neither is. `told` is what people said of runs up to that morning.

    Raises:
        CannotFitError: there are too few results before that day.
    """
    fit = fit_of(library, as_of or _day_after(library), seed=seed, progress=progress, told=told)
    _write(library.folder, fit, beside, latest=as_of is None or keep_as_latest)
    progress(1.0, "done")
    return fit


def fit_of(
    library: Library, day: date, *, seed: int = 0, progress: Progress = lambda _done, _what: None,
    told: Told = NOTHING_TOLD,
) -> Fit:  # fmt: skip
    """Fit a library as known on the morning of a day, keeping nothing.

    Raises:
        CannotFitError: there are too few results before that day.
    """
    races, runs = library.races(day).collect(), library.runs(day).collect()
    rules = own_rules(library.folder)
    levels = fitting.fit_levels(races, runs, overrides=rules, seed=seed, progress=progress, told=told)
    progress(0.9, "curves")
    curves = fitting.level_curves(levels, day)
    return Fit(
        day,
        curves,
        fitting.figures(levels).join(
            late_standings(races, runs), on=["race_key", "horse_key"], how="left", maintain_order="left"
        ),
        _horses(levels, curves, day),
        _manifest(levels, day, _made_by(library.folder, seed), data_hash(races, runs)),
        debut_of(levels),
    )


def is_current(library: Library, fit: Fit, *, latest: bool) -> bool:
    """Return whether the fit was made from the results that the library holds now.

    Args:
        library: the library.
        fit: the fit.
        latest: whether every result counts, or only those before the fit's day.
    """
    day = _day_after(library) if latest else fit.as_of
    return bool(fit.manifest["data"] == data_hash(library.races(day).collect(), library.runs(day).collect()))


def would_be_same(library: Library, fit: Fit, *, seed: int = 0) -> bool:
    """Return whether making a kept fit again would give it again: the same results, code, rules, libraries and seed."""
    made_by = _made_by(library.folder, seed)
    return is_current(library, fit, latest=False) and all(fit.manifest.get(key) == made_by[key] for key in made_by)


def data_hash(races: pl.DataFrame, runs: pl.DataFrame) -> str:
    """Return a hash of the results' values, whatever the order of rows and the files they came from."""
    digest = hashlib.sha256()
    for frame in (races, runs):
        rows = frame.drop("file", "line").hash_rows(seed=1).to_numpy()
        digest.update(np.sort(rows).tobytes())
    return digest.hexdigest()


def _day_after(library: Library) -> date:
    last = library.races().select(pl.col("date").max()).collect().item()
    if last is None:
        raise FitMissingError(library.folder, None, empty=True)
    return last + timedelta(days=1)  # type: ignore[no-any-return]  # Polars types a cell as Any


def _horses(levels: Levels, curves: pl.DataFrame, as_of: date) -> pl.DataFrame:
    runs = levels.performances.runs.filter(levels.real)
    counts = runs.group_by("horse_key", maintain_order=True).agg(runs=pl.len())
    together = connected.connected(levels.record.race, levels.record.horse)
    today = curves.filter(pl.col("date") == as_of).rename({"date": "as_of"})
    return today.join(counts, on="horse_key", maintain_order="left").with_columns(
        component=pl.Series(together.horse_group)
    )


def _made_by(folder: Path, seed: int) -> dict[str, Any]:
    """Return what a fit depends on beside its results."""
    code = hashlib.sha256()
    for room in _ROOMS:
        for file in sorted((Path(__file__).parents[1] / room).rglob("*")):
            if file.suffix in {".py", ".toml"}:
                code.update(file.read_bytes())
    rules = folder / OWN_RULES
    return {
        "seed": seed,
        "code": code.hexdigest(),
        "rules": hashlib.sha256(rules.read_bytes()).hexdigest() if rules.exists() else "",
        "versions": {name: version(name) for name in _LIBRARIES},
    }


def _manifest(levels: Levels, as_of: date, made_by: dict[str, Any], data: str) -> dict[str, Any]:
    found, spread = levels.estimate, levels.performances.spread
    return {
        "format": FORMAT,
        "as_of": str(as_of),
        "data": data,
        "told": levels.told.mark(),
        **made_by,
        "runs": int(levels.performances.runs.filter(levels.real).height),
        "races": sum(not key.startswith(OUTING) for key in levels.performances.race_keys),
        "horses": len(levels.horse_keys),
        "base_lb": BASE_LB,
        "components": asdict(found.components) | {"persevered": levels.residual},
        "log_standard_errors": [_number(x) for x in found.log_se],
        "log_monte_carlo_errors": [_number(x) for x in found.log_monte_carlo],
        "exact": found.exact,
        "iterations": found.iterations,
        "converged": found.converged,
        "weight_worth": dict(zip(("value", "se"), levels.weight_worth, strict=True)),
        "eased": asdict(levels.beaten),
        "spread": {
            "pace_slope": spread.pace_slope,
            "se": _number(spread.pace_slope_se),
            "own_sd": spread.own_sd,
        },
        "notes": list(levels.performances.notes),
    }


def _number(x: float) -> float | None:
    return float(x) if np.isfinite(x) else None


def _write(folder: Path, fit: Fit, beside: Callable[[Fit, Path], None] = nothing, *, latest: bool) -> None:
    """Write the fit beside the library, one writer after the other."""
    base = fits_folder(folder)
    base.mkdir(parents=True, exist_ok=True)
    with in_turn(writers_lock(folder)):
        _write_alone(base, fit, beside, latest=latest)


def _write_alone(base: Path, fit: Fit, beside: Callable[[Fit, Path], None], *, latest: bool) -> None:
    """Write the fit: whole into a new folder, then moved into its place; the old one goes last."""
    fresh, old, place = base / f".{fit.as_of}.new", replaced(base, fit.as_of), base / str(fit.as_of)
    if old.exists() and not place.exists():  # a writer was killed between the two renames
        old.rename(place)
    for leftover in (fresh, old):
        shutil.rmtree(leftover, ignore_errors=True)
    fresh.mkdir(parents=True)
    try:
        for name in FRAMES:
            getattr(fit, name).write_parquet(fresh / f"{name}.parquet")
        if fit.debut is not None:
            (fresh / DEBUT).write_text(json.dumps(fit.debut.kept()))
        beside(fit, fresh)
        (fresh / MANIFEST).write_text(json.dumps(fit.manifest, indent=2))
        if place.exists():
            place.rename(old)
        fresh.rename(place)
    except BaseException:
        shutil.rmtree(fresh, ignore_errors=True)
        if old.exists() and not place.exists():
            old.rename(place)
        raise
    shutil.rmtree(old, ignore_errors=True)
    if latest:
        pointer = base / ".latest.new"
        pointer.write_text(json.dumps({"as_of": str(fit.as_of)}))
        pointer.replace(base / "latest.json")
