"""Entering horses by hand or from a table, and finding each in the library of results."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl
from django.db import transaction

from upsides.books.models import Horse
from upsides.errors import HorseRefusedError, HorsesFileError, UnreadableError
from upsides.errors.wording import gettext as _
from upsides.results.identity import plain_name
from upsides.results.library import Library
from upsides.results.readers import LINE, open_source, read_batches
from upsides.trade.sex import Sex

OLDEST = 30
LONGEST_NAME = 100
BY_HAND = "yard"
"""Source named in the key of a horse that no results are known of."""
COLUMNS = ("name", "foaled", "sex", "sire", "dam")
NEEDED = ("name", "foaled", "sex")


@dataclass(frozen=True, slots=True)
class Described:
    """A horse as somebody describes it.

    Args:
        name: its name.
        foaled: year of foaling.
        sex: the word that fits its age.
        sire: its sire's name, empty where unknown.
        dam: its dam's name, empty where unknown.
    """

    name: str
    foaled: int
    sex: Sex
    sire: str = ""
    dam: str = ""


def describe(name: str, foaled: str, sex: str, sire: str = "", dam: str = "", *, today: date) -> Described:
    """Read a horse as typed.

    Raises:
        HorseRefusedError: a field cannot be right; it is named, with the reason.
    """
    called = " ".join(name.split())
    if not called or len(called) > LONGEST_NAME or not plain_name(called):
        raise HorseRefusedError(
            _("name"), name, _("write a name of at most {longest_name} letters", longest_name=LONGEST_NAME)
        )
    digits = foaled.strip()
    if not (digits.isdecimal() and today.year - OLDEST <= int(digits) <= today.year):
        raise HorseRefusedError(
            _("foaled"),
            foaled,
            _("write the year of foaling, {first} to {last}", first=today.year - OLDEST, last=today.year),
        )
    age = today.year - int(digits)
    try:
        known = Sex.parse(sex, age=age).at(age)
    except UnreadableError as error:
        raise HorseRefusedError(_("sex"), sex, _("write {expected}", expected=error.expected)) from None
    return Described(called, int(digits), known, " ".join(sire.split()), " ".join(dam.split()))


def read_horses(file: Path, today: date) -> list[Described]:
    """Read a table of horses with the columns name, foaled, sex and, where known, sire and dam.

    Raises:
        FileUnreadableError: it is no table.
        HorsesFileError: a column is missing or a line cannot be right; every bad line is named, none is taken.
    """
    source = open_source(file)
    place = {column.strip().casefold(): column for column in source.columns}
    missing = [column for column in NEEDED if column not in place]
    if missing:
        raise HorsesFileError(file, [f"no column {', '.join(missing)}; the first line must name {', '.join(COLUMNS)}"])
    found: list[Described] = []
    wrong: list[str] = []
    for batch in read_batches(source):
        wrong += [f"line {fault.line}: {fault.reason}" for fault in batch.faults if not fault.kept]
        for row in batch.frame.to_dicts():
            cells = {column: row[place[column]] or "" for column in COLUMNS if column in place}
            try:
                found.append(describe(**cells, today=today))
            except HorseRefusedError as error:
                wrong.append(f"line {row[LINE]}: {error}")
    if wrong or not found:
        raise HorsesFileError(file, wrong or ["there is no horse in it"])
    return found


@transaction.atomic
def enter_horses(horses: Iterable[Described], joined: date, library: Path) -> list[Horse]:
    """Enter horses in training; all of them or none.

    Args:
        horses: as described.
        joined: day they came.
        library: folder of the results, where each is looked for by name, year and dam.

    Raises:
        HorseRefusedError: a horse is in the books already.
    """
    known = known_horses(library)
    return [_enter(horse, joined, known) for horse in horses]


def _enter(horse: Described, joined: date, known: pl.DataFrame) -> Horse:
    key = key_of(horse, known) or f"{BY_HAND}:{plain_name(horse.name)}-{horse.foaled}"
    if Horse.objects.filter(horse_key=key).exists():
        raise HorseRefusedError(
            _("name"), horse.name, _("a horse of that name foaled in {foaled} is in the books", foaled=horse.foaled)
        )
    return Horse.objects.create(
        horse_key=key,
        name=horse.name,
        foaled=horse.foaled,
        sex=horse.sex.value,
        sire=horse.sire,
        dam=horse.dam,
        joined=joined,
    )


@transaction.atomic
def link_horses(library: Path) -> int:
    """Give horses that were entered before their results the library's key; return how many found theirs."""
    waiting = Horse.objects.filter(horse_key__startswith=f"{BY_HAND}:", named=True)
    if not waiting.exists():
        return 0
    known = known_horses(library)
    linked = 0
    for horse in waiting:
        key = key_of(Described(horse.name, horse.foaled, Sex(horse.sex), horse.sire, horse.dam), known)
        if key and not Horse.objects.filter(horse_key=key).exists():
            horse.horse_key = key
            horse.save()
            linked += 1
    return linked


def known_horses(library: Path) -> pl.DataFrame:
    """Return the horses of the results: key, plain name, year of foaling and the dam's plain name.

    Those that are known by a result by hand alone are not among them: it waits for theirs.

    Raises:
        LibraryMissingError, LibraryNewerError: there are no results that can be read.
    """
    named = Library.open(library).horses().filter(~pl.col("horse_key").str.starts_with(f"{BY_HAND}:"))
    horses = named.select("horse_key", "name", "foaled", "dam").drop_nulls("name").collect()
    return horses.with_columns(
        pl.col("name", "dam").map_elements(plain_name, return_dtype=pl.String),
    )


def key_of(horse: Described, known: pl.DataFrame) -> str | None:
    """Return the key of the one horse in the results that this can be: name agrees, year and dam where known."""
    same = known.filter(
        pl.col("name") == plain_name(horse.name),
        (pl.col("foaled") == horse.foaled).fill_null(value=True),
    )
    if horse.dam:
        same = same.filter((pl.col("dam") == plain_name(horse.dam)).fill_null(value=True))
    keys = same["horse_key"].unique()
    return str(keys[0]) if keys.len() == 1 else None
