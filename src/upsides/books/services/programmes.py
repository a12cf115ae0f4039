"""Writes of programmes of races to come: taken into the library; what horses are engaged for follows them."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from uuid import uuid4

import polars as pl
from django.db import transaction

from upsides.books import clock
from upsides.books.models import Decision, Engagement, Person, Yard
from upsides.books.queries import moments
from upsides.books.queries.entrants import terms_of
from upsides.books.queries.programme import code_of, programme
from upsides.books.services.deciding import fill
from upsides.books.services.diary import next_stamp
from upsides.books.services.jobs import ask
from upsides.books.services.meanwhile import save
from upsides.errors.wording import joined
from upsides.placing import Change, Heard, clashes, races_of, settled
from upsides.placing.programme import Refused
from upsides.results.description import Shape
from upsides.results.programme import Listed, keep_programme, read_programme, take_back


@dataclass(frozen=True, slots=True)
class Taken:
    """What a programme brought.

    Args:
        listed: the file as it was read, with what could not be taken.
        heard: race by race what is new, as before, changed, moved.
        refused: rows of which no race could be made.
        clashing: races whose conditions contradict each other, with the clash in words.
        followed: engagements that were changed by it: the horse's name, and the race in words.
        kept: whether it was kept; a programme that says nothing new is not.
    """

    listed: Listed
    heard: tuple[Heard, ...]
    refused: tuple[Refused, ...]
    clashing: tuple[tuple[str, str], ...]
    followed: tuple[tuple[str, str], ...]
    kept: bool


def take_programme(folder: Path, file: Path, shape: str | Path | Shape, by: Person) -> Taken:
    """Take a programme into the library; engagements follow races that it changes or moves.

    Of a race that was moved what had been said holds no more: its horses are meant for it, and are entered anew.

    Args:
        folder: of the library.
        file: the table.
        shape: name of a shipped shape, or path of a TOML file.
        by: who takes it in.

    Raises:
        ShapeError, FileUnreadableError: as `results.programme.read_programme`.
        LibraryBusyError: another process is writing to the library.
    """
    looked = look_at(folder, file, shape)
    fresh = [one for one in looked.heard if one.change is not Change.SAME]
    if not fresh:
        return looked
    with transaction.atomic():
        followed = _follow(folder, fresh, by)
        keep_programme(folder, looked.listed.races, clock.today())
        ask("chances", afresh=True)
    return replace(looked, followed=followed, kept=True)


def look_at(folder: Path, file: Path, shape: str | Path | Shape) -> Taken:
    """Return what a programme would bring; nothing is written.

    Raises:
        ShapeError, FileUnreadableError: as `results.programme.read_programme`.
    """
    standing = programme(folder, moments.now()).races
    listed = read_programme(file, shape, zones_of(standing.values()))
    races, refused = races_of(listed.races)
    _all, heard = settled(standing.values(), races)
    clashing = tuple((str(race), joined(found, "; ")) for race in races if (found := clashes(race)))
    return Taken(listed, heard, refused, clashing, (), kept=False)


def take_programme_back(folder: Path, number: int, by: Person) -> int:
    """Take the last programme back: races are as earlier ones have them, and engagements follow.

    What was said of a race that it had moved is not brought back: such horses stay meant for it.

    Args:
        folder: of the library.
        number: of the programme.
        by: who takes it back.

    Returns:
        How many engagements followed.

    Raises:
        FileUnreadableError: it is not the last one that stands.
        LibraryBusyError: another process is writing to the library.
    """
    before = programme(folder, moments.now()).races
    with transaction.atomic():
        Yard.objects.select_for_update().first()
        take_back(folder, number, clock.today())
        after = programme(folder, moments.now()).races
        changed = {code for code, race in after.items() if before.get(code) != race}
        terms, rows = terms_of(folder), Engagement.objects.select_for_update().filter(day__gte=clock.today())
        followed = list(rows.filter(race_code__in=changed))
        for row in followed:
            fill(row, after[row.race_code], row.race_code, terms)
            save(row, by)
        ask("chances", afresh=True)
    return len(followed)


def zones_of(races: Iterable[object]) -> dict[str, str]:
    """Return the zones of courses that are known: of earlier programmes, then of what horses were engaged for."""
    known = dict(Engagement.objects.exclude(zone="").order_by("pk").values_list("course", "zone"))
    return known | {race.course: race.zone for race in races if race.zone}  # type: ignore[attr-defined]  # races


def _follow(folder: Path, heard: Iterable[Heard], by: Person) -> tuple[tuple[str, str], ...]:
    yard, today, terms = Yard.objects.select_for_update().first(), clock.today(), terms_of(folder)
    told: list[tuple[str, str]] = []
    for one in heard:
        if one.before is None or one.change not in {Change.CHANGED, Change.MOVED}:
            continue
        rows = Engagement.objects.select_for_update().filter(race_code=code_of(one.before), day__gte=today)
        for row in rows.select_related("horse"):
            moved = one.change is Change.MOVED and row.state != Engagement.State.WITHDRAWN
            if moved:
                row.state = Engagement.State.MEANT
            fill(row, one.race, code_of(one.race), terms)
            save(row, by)
            if moved:
                _say_moved(row, by, yard)
            told.append((row.horse.name, str(one)))
    return tuple(told)


def _say_moved(row: Engagement, by: Person, yard: Yard | None) -> None:
    stamp = next_stamp(yard)
    Decision.objects.create(
        client_id=uuid4(), engagement=row, step=Decision.Step.MOVED, by=by, said_at=stamp, recorded_at=stamp
    )


def keep_invented(folder: Path, programmes: pl.DataFrame) -> None:
    """Keep the programmes of an invented country, in the order in which they were heard; those kept already stay."""
    if programme(folder, moments.now()).races:
        return
    for day in programmes["heard"].unique().sort():
        keep_programme(folder, programmes.filter(pl.col("heard") == day).drop("heard"), day)
