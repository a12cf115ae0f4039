"""A race of today, horses declared for it, and reports of them by hand."""

import shutil
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Final
from uuid import uuid4

import programmed_yard as programmed
import worlds
from upsides.books import clock
from upsides.books.models import Engagement, Entry, Horse, Person
from upsides.books.queries.moments import Moment
from upsides.books.queries.races import race as race_of
from upsides.books.queries.visitors import visitor
from upsides.books.services.diary import Draft, record
from upsides.web.races.clash_words import clash_words

RESULT: Final = {"place": "3", "ran": "9", "margin": "2.5", "carried": "128", "time": "1:40.20"}


def with_a_race(loaded: worlds.Yard, folder: Path) -> Path:
    """Return a library of one test alone, with a handicap of today."""
    shutil.copytree(loaded.library, folder, dirs_exist_ok=True, ignore=shutil.ignore_patterns("*.sqlite3*"))
    programmed.forget(folder)
    programmed.take(folder, [programmed.race("7", "Sedge Handicap", clock.today(), "Highest weight 9-11", Ages="3yo+",
                                    Band="0-110")])  # fmt: skip
    return folder


def declared(library: Path, horse: Horse) -> Horse:
    """Declare a horse for today's race."""
    Engagement.objects.create(horse=horse, race="Sedge Handicap", course="Larkmoor", zone="Europe/London",
                              day=clock.today(), race_code=programmed.code_of(library, "Sedge Handicap"),
                              state=Engagement.State.DECLARED)  # fmt: skip
    return horse


def ours(loaded: worlds.Yard) -> Horse:
    """Return a horse of the yard that has run."""
    ran = set(loaded.world.runs["source_horse"])
    return next(one for one in Horse.objects.order_by("pk") if one.horse_key in ran)


def say(horse: Horse, at: datetime | None = None, **values: object) -> Entry:
    at = at or datetime.combine(clock.today(), time(15), UTC)
    told = {"what": "race", "text": "Stayed on", **values}
    return record(Draft(uuid4(), "race_report", horse.pk, told, clock.now(), happened_at=at), Person.objects.get(
        login="trainer"))  # fmt: skip


def told_differently(library: Path, key: str) -> list[str]:
    """Return what a race's page tells tomorrow of reports that disagree."""
    who = visitor(Person.objects.get(login="trainer"), barn=False)
    found = race_of(library, who, Moment(clock.today() + timedelta(days=1)), key)
    assert found is not None
    return list(dict.fromkeys(clash_words(one).replace("\u00a0", " ") for one in found.clashes))
