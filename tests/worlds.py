"""Worlds that tests of several rooms share."""

import atexit
import shutil
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import polars as pl

from upsides.books.queries.levels import Levels
from upsides.demo import Invented, simulate
from upsides.results.importing import add_frames
from upsides.results.library import Library

LEVEL_SD = 4.0
FIGURE_SD = 5.0


@dataclass(frozen=True)
class Yard:
    """An invented yard with its library and books open in this process; one for all tests of a run.

    Args:
        library: folder of the library.
        world: what it was made from.
        levels: what a fit would say.
    """

    library: Path
    world: Invented
    levels: Levels


@cache
def yard() -> Yard:
    """Build the invented yard once."""
    from upsides.books.services.opening import open_books

    folder = Path(tempfile.mkdtemp(prefix="upsides-yard-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    world = simulate()
    library_of(world, folder)
    open_books(folder)
    return Yard(folder.resolve(), world, levels_of(world))


def library_of(world: Invented, folder: Path) -> Library:
    """Return a new library that holds an invented world's results."""
    library = Library.create(folder)
    add_frames(library, world.races, world.runs, "invented")
    return library


def levels_of(world: Invented) -> Levels:
    """Return what a fit that knew the truth would say, with a stated doubt: enough to draw pages from."""
    truth = world.truth.rename({"source_horse": "horse_key"}).sort("horse_key", "date")
    level_sd = LEVEL_SD + 5.0 / (1 + pl.int_range(pl.len()).over("horse_key"))
    ran = truth.drop_nulls("race_key")
    runs = ran.group_by("horse_key").agg(runs=pl.len())
    raced = truth.with_columns(sd_lb=level_sd).join(runs, on="horse_key")
    today = raced.filter(pl.col("race_key").is_null()).rename({"date": "as_of"})
    return Levels(
        as_of=world.today,
        levels=raced.select("horse_key", "date", "level_lb", "sd_lb"),
        figures=ran.select("race_key", "horse_key", "date", "figure_lb", figure_sd_lb=pl.lit(FIGURE_SD)),
        horses=today.select("horse_key", "as_of", "level_lb", "sd_lb", "runs", component=pl.lit(0)),
    )
