"""What is kept of a library that chances are answered from: levels, trips, the draw. Read once for many races."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import polars as pl

from upsides.errors import DrawMissingError, TripMissingError
from upsides.placing.chance.luck import USUAL_LUCK, read_luck
from upsides.ratings.draw.fitting import DrawFit
from upsides.ratings.draw.kept import read_draw
from upsides.ratings.kept_fits import kept_fit, read_manifest, scan_fit
from upsides.results.library import Library
from upsides.rules import Overrides, own_rules
from upsides.trip.kept import read_model
from upsides.trip.model import TripModel


@dataclass(frozen=True)
class Kept:
    """A library as of a day.

    Attributes:
        as_of: results before this day went in.
        levels: horse_key, level_lb, sd_lb as of that day; unread.
        curves: horse_key, date, level_lb, sd_lb on the days that horses ran, among others; unread.
        figures: of the fit; unread.
        horses: horse_key, sex, suffix, foaled; unread.
        manifest: of the fit.
        model: of trips; None where none is kept.
        draw: the draw; None where none is kept.
        rules: the library's own rules.
        luck: luck in a race against the error of a run that was persevered with.
    """

    as_of: date
    levels: pl.LazyFrame
    curves: pl.LazyFrame
    figures: pl.LazyFrame
    horses: pl.LazyFrame
    manifest: dict[str, Any]
    model: TripModel | None
    draw: DrawFit | None
    rules: Overrides
    luck: float = USUAL_LUCK

    @property
    def weight_worth(self) -> float:
        """What a pound carried was worth, lb."""
        return float(self.manifest["weight_worth"]["value"])

    @property
    def run_sd(self) -> float:
        """Standard deviation of luck in a race, lb."""
        return self.luck * float(self.manifest["components"]["persevered"] ** 0.5)


def read_kept(library: Library, until: date) -> Kept:
    """Return what is kept with the fit that knows most results and none of a day or later.

    Raises:
        FitMissingError: there is none.
    """
    found = kept_fit(library.folder, until)
    frames = scan_fit(found)
    try:
        model = read_model(library.folder, found.as_of)
    except TripMissingError:
        model = None
    try:
        draw = read_draw(library.folder, found.as_of)
    except DrawMissingError:
        draw = None
    return Kept(
        found.as_of,
        frames["horses"].select("horse_key", "level_lb", "sd_lb"),
        frames["levels"],
        frames["figures"],
        library.horses().select("horse_key", "sex", "suffix", "foaled"),
        read_manifest(found),
        model,
        draw,
        own_rules(library.folder),
        read_luck(library.folder),
    )
