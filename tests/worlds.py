"""Worlds that tests of several rooms share."""

import hashlib
import os
import pickle
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from pathlib import Path

import polars as pl
from django.test import Client

from upsides.books.queries.levels import Levels
from upsides.demo import Invented, simulate
from upsides.results.importing import add_frames
from upsides.results.library import Library

ROOT = Path(__file__).parents[1]
KEPT = ROOT / "build" / "worlds"
"""Worlds made by the code as it stands; a change of that code makes them anew."""

LEVEL_SD = 4.0
FIGURE_SD = 5.0


@dataclass(frozen=True)
class Yard:
    """An invented yard with its library in the folder of this test run; one for all tests of a run.

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
    """Put the invented yard's library into the folder of this test run."""
    folder = Path(os.environ["UPSIDES_LIBRARY"])
    shutil.copytree(_kept_library(), folder, dirs_exist_ok=True)
    return Yard(folder, world(), levels_of(world()))


@cache
def world() -> Invented:
    """Return the usual invented world, as its code makes it."""
    file = KEPT / f"{digest('demo', 'trade', 'rules')}.pickle"
    if not file.exists():
        KEPT.mkdir(parents=True, exist_ok=True)
        fresh = file.with_suffix(f".{os.getpid()}")
        fresh.write_bytes(pickle.dumps(simulate()))
        fresh.replace(file)
    made: Invented = pickle.loads(file.read_bytes())  # noqa: S301 (written by the lines above)
    return made


def _kept_library() -> Path:
    """Return the library of the usual world, as the code makes it."""
    place = KEPT / digest("demo", "trade", "rules", "results")
    if not place.exists():
        fresh = place.with_suffix(f".{os.getpid()}")
        library_of(world(), fresh)
        try:
            fresh.rename(place)
        except OSError:  # another run was quicker
            shutil.rmtree(fresh)
    return place


def fitted(folder: Path) -> Library:
    """Copy the library of the built demo, with its fit and its model of trips, into a folder."""
    from fresh import SAID, kept_demo

    shutil.copytree(kept_demo(), folder, dirs_exist_ok=True, ignore=shutil.ignore_patterns("books.*", SAID))
    return Library.open(folder)


def digest(*rooms: str) -> str:
    """Return a hash of the code of some rooms, of the libraries it runs on, and of what is made of it here."""
    files = [file for room in rooms for file in sorted((ROOT / "src/upsides" / room).rglob("*.*")) if file.is_file()]
    sources = [file for file in files if "__pycache__" not in file.parts]
    digest = hashlib.sha256((ROOT / "uv.lock").read_bytes() + Path(__file__).read_bytes())
    for file in sources:
        digest.update(file.read_bytes())
    return digest.hexdigest()[:20]


ClientAs = Callable[[str], Client]
"""What the fixture `client_as` is: a browser in which somebody has signed in, by sign-in name."""

PASSWORD = "quiet-stable-morning"  # noqa: S105 (of people who do not exist)
PIN = "2468"


def people_the_yard() -> None:
    """Enter the yard's row, its string and one person of each role, whose sign-in name is the role."""
    from upsides.books.models import Horse, Person, Role, Share, Yard
    from upsides.books.queries.results import keyed
    from upsides.books.services.people import add_person

    invented = yard()
    today = invented.world.today
    Yard.objects.create(pk=1, name="Tallowmere", zone="Europe/London", jurisdiction="XU", fixed_day=today)
    day, fields = today - timedelta(days=400), ("horse_key", "name", "foaled", "sex", "sire", "dam")
    for row in keyed(invented.library, invented.world.string).to_dicts():
        Horse.objects.create(joined=day, **{field: row[field] for field in fields})
    for role in Role:
        add_person(f"{role.label} one", [role], login=role.value, password=PASSWORD, pin=PIN, barn="Top")
    add_person("owner two", [Role.OWNER], login="owner2", password=PASSWORD)
    for login, horse in zip(("owner", "owner2"), Horse.objects.order_by("pk")[:2], strict=True):
        owner = Person.objects.get(login=login)
        Share.objects.create(horse=horse, owner=owner, numerator=1, denominator=1, first_day=day)


def library_of(world: Invented, folder: Path) -> Library:
    """Return a new library that holds an invented world's results and its register of horses."""
    library = Library.create(folder)
    add_frames(library, world.races, world.runs, "invented", world.register)
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
