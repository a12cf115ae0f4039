"""Fits with what they teach of trips and of the draw: all are kept in one folder, so that they change together."""

import json
from datetime import date
from pathlib import Path
from typing import Any

from upsides.errors import CannotFitError, FitMissingError
from upsides.ratings.draw.fitting import fit_draw
from upsides.ratings.draw.kept import write_draw
from upsides.ratings.fits import Fit, make_fit
from upsides.ratings.kept_fits import fits_folder, writers_lock
from upsides.ratings.levels.told import NOTHING_TOLD, Told
from upsides.results.library import Library
from upsides.results.lock import in_turn
from upsides.rules import own_rules
from upsides.trip.kept import FORMAT, FRAMES, MANIFEST
from upsides.trip.learning import Progress
from upsides.trip.model import TripModel, as_manifest, make_model

FIGURES_PART = 0.7
"""Part of the work that figures take; trips take the rest."""


def make_fit_with_trips(
    library: Library,
    as_of: date | None = None,
    *,
    seed: int = 0,
    keep_as_latest: bool = False,
    progress: Progress = lambda _done, _what: None,
    told: Told = NOTHING_TOLD,
) -> tuple[Fit, TripModel | str]:
    """Fit a library as known on a morning, learn from that what trips and the draw are, keep all at once.

    Returns the fit and the model of trips. A library too small to teach trips has its fit kept all the same; the reason
    is returned in place of the model. One that cannot teach the draw has none kept.
    `told` is what people said of runs up to that morning.

    Raises:
        CannotFitError: there are too few results before that day.
    """
    made: list[TripModel | str] = []

    def learn(fit: Fit, folder: Path) -> None:
        _keep_draw(library, fit, folder)
        try:
            model = make_model(
                library,
                fit,
                seed=seed,
                progress=lambda done, what: progress(FIGURES_PART + (1.0 - FIGURES_PART) * done, what),
            )
        except CannotFitError as refused:
            made.append(str(refused))
        else:
            _write(model, folder)
            made.append(model)

    fit = make_fit(
        library,
        as_of,
        seed=seed,
        keep_as_latest=keep_as_latest,
        progress=lambda done, what: progress(FIGURES_PART * done, what),
        beside=learn,
        told=told,
    )
    progress(1.0, "done")
    return fit, made[0]


def add_model(
    library: Library, fit: Fit, *, seed: int = 0, progress: Progress = lambda _done, _what: None
) -> TripModel:
    """Learn what trips are for a fit that was kept without, put it beside that, and return it.

    Raises:
        CannotFitError: there are too few runs to learn from.
        FitMissingError: the fit is not kept.
    """
    place = fits_folder(library.folder) / str(fit.as_of)
    if not place.is_dir():
        raise FitMissingError(library.folder, fit.as_of)
    model = make_model(library, fit, seed=seed, progress=progress)
    with in_turn(writers_lock(library.folder)):
        _write(model, place)
    return model


def _keep_draw(library: Library, fit: Fit, folder: Path) -> None:
    """Learn the draw and keep it, where the library's races can teach it."""
    races, runs = library.races(fit.as_of).collect(), library.runs(fit.as_of).collect()
    try:
        found = fit_draw(races, runs, fit.figures, fit.as_of, own_rules(library.folder))
    except CannotFitError:
        return
    write_draw(found, folder)


def _write(model: TripModel, folder: Path) -> None:
    """Write a model's tables, then what makes them count."""
    for name in FRAMES:
        fresh = folder / f".{name}.new"
        getattr(model, name).write_parquet(fresh)
        fresh.replace(folder / f"trip_{name}.parquet")
    about: dict[str, Any] = {"format": FORMAT} | as_manifest(model)
    fresh = folder / ".trip.new"
    fresh.write_text(json.dumps(about, indent=2))
    fresh.replace(folder / MANIFEST)
