"""Reading the models of trips that are kept with the fits that they were learned from. Making one is in `fitting`."""

import json
from datetime import date
from pathlib import Path

import polars as pl

from upsides.errors import TripMissingError, TripNewerError
from upsides.ratings.kept_fits import fits_folder
from upsides.trip.model import TripModel, from_manifest

FORMAT = 1
MANIFEST = "trip.json"
FRAMES = ("demand", "family")


def read_model(library: str | Path, day: date) -> TripModel:
    """Return the model kept with the fit of a day.

    Raises:
        TripMissingError: there is none.
        TripNewerError: it was written by a newer version of this program.
    """
    place = fits_folder(library) / str(day)
    try:
        about = json.loads((place / MANIFEST).read_text())
        if about["format"] > FORMAT:
            raise TripNewerError(place / MANIFEST, about["format"], FORMAT)
        frames = {name: pl.read_parquet(place / f"trip_{name}.parquet") for name in FRAMES}
    except FileNotFoundError:
        raise TripMissingError(library, day) from None
    return from_manifest(about, frames["demand"], frames["family"])


def has_model(library: str | Path, day: date) -> bool:
    """Return whether a model is kept with the fit of a day."""
    return (fits_folder(library) / str(day) / MANIFEST).exists()
