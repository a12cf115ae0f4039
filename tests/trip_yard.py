"""What a fit would say of trips in the invented yard: a population not learned, and parents that differ."""

from datetime import date, timedelta
from functools import cache, lru_cache
from zlib import crc32

import polars as pl

import worlds
from upsides.books.models import Horse
from upsides.books.queries.levels import Levels
from upsides.books.queries.trips import Trips
from upsides.results.library import Library
from upsides.results.naming import key_of
from upsides.trip.defaults import defaults
from upsides.trip.demand import demand_table
from upsides.trip.learning import Learned
from upsides.trip.model import FAMILY, TripModel
from upsides.trip.population import Population
from upsides.trip.prior import genetic

KNOWN = 0.4
"""Share that is known of what each parent hands down."""
NOTE = "Nothing was learned of trips here."


@lru_cache(maxsize=8)
def trips_of(levels: Levels) -> Trips:
    """Return trips beside levels: the same runs, with how each finished as nobody timed it."""
    figures = levels.figures.lazy().with_columns(late_standing=pl.lit(None, pl.Float64))
    return Trips(model(levels.as_of), figures)


def runner(yard: worlds.Yard, place: int = 0) -> Horse:
    """Return one of the yard's horses that have run, those with most runs first."""
    counts = yard.levels.figures.group_by("horse_key").len().sort("len", "horse_key", descending=True)["horse_key"]
    ours = dict(Horse.objects.values_list("horse_key", "pk"))
    return Horse.objects.get(pk=[ours[key] for key in counts if key in ours][place])


@cache
def model(day: date) -> TripModel:
    """Return the model as of a day."""
    given = defaults(day)
    learned = Learned(Population(), {}, (), 0, 0, 0.0, converged=True)
    races = Library.open(worlds.yard().library).races().collect()
    return TripModel(day, given, learned, {}, demand_table(races, given), family(day), (NOTE,))


def stamina(parent: str) -> float:
    """Return by how many octaves a parent's foals, were they all of it, would stand off the population's trip."""
    return (crc32(parent.encode()) % 1000) / 1000 - 0.5


@cache
def family(day: date) -> pl.DataFrame:
    """Return the family table: the parents of the yard's horses, each `stamina` off, known to `KNOWN`."""
    G = genetic(Population(), defaults(day)) * (1.0 - KNOWN)
    string = worlds.yard().world.string
    parents = sorted({*string["sire"].drop_nulls(), *string["dam"].drop_nulls()})
    value = {"a": [0.0] * len(parents), "d": [stamina(name) for name in parents]}
    error = {"aa": G[0, 0], "ad": G[0, 1], "dd": G[1, 1]}
    columns = {
        "key": [key_of(name) for name in parents],
        "name": parents,
        "kin": [7] * len(parents),
        "foals": [7] * len(parents),
    }
    for of in ("whole", "others"):
        columns |= {f"{of}_{what}": values for what, values in value.items()}
        columns |= {f"{of}_{what}": [number] * len(parents) for what, number in error.items()}
    return pl.DataFrame(columns, schema=FAMILY)


def monday_before(day: date) -> date:
    """Return the day of the last fit that can answer on a day."""
    return day - timedelta(days=day.weekday())
