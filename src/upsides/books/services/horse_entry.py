"""Entering one horse and changing it; it stays the same horse whatever it is called."""

from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
from django.db import transaction

from upsides.books import clock
from upsides.books.models import Horse, Move, Person, Stand, Yard
from upsides.books.services.boxes import empty_from
from upsides.books.services.horse_facts import Facts, checked, refuse_twin
from upsides.books.services.horses import BY_HAND, Described, key_of, known_horses
from upsides.books.services.meanwhile import delete, held, merge, save
from upsides.errors import LineRefusedError, UpsidesError
from upsides.errors.wording import gettext as _
from upsides.results.identity import plain_name
from upsides.trade.sex import Sex

LONGEST_WHY = 200


@transaction.atomic
def enter_horse(facts: Facts, by: Person, library: Path, *, anyway: bool = False, why: str = "") -> Horse:
    """Enter a horse.

    Args:
        facts: as filled in.
        by: who enters it.
        library: folder of the results, where it is looked for by name, year and dam.
        anyway: whether it is entered although it looks like another.
        why: why it left, where it has.

    Raises:
        HorseRefusedError: a field cannot be right.
        HorseTwiceError: it looks like a horse that is there already.
        LineRefusedError: the reason for its leaving is too long.
    """
    yard = Yard.objects.select_for_update().first()
    told = checked(facts, clock.today(), yard.jurisdiction if yard else "")
    if not anyway:
        refuse_twin(told, None)
    horse = Horse(**told, horse_key=_key(told, library) or _own_key(told))
    save(horse, by)
    _leave(horse, None, why, by)
    return horse


@transaction.atomic
def change_horse(
    number: int, seen: int, facts: Facts, by: Person, library: Path, *, anyway: bool = False, why: str = ""
) -> Horse:
    """Change a horse; what another changed meanwhile in other fields stays.

    A horse that waits for its results is looked for again when its name, year or dam changes.

    Args:
        number: of the horse.
        seen: number of the change that the page showed.
        facts: as filled in.
        by: who changes it.
        library: folder of the results.
        anyway: whether it is kept although it looks like another.
        why: why it left, where it has.

    Raises:
        LineGoneError: there is no such horse.
        HorseRefusedError, HorseTwiceError, LineRefusedError: as in `enter_horse`.
        ChangedMeanwhileError: somebody else changed the same fields.
    """
    yard = Yard.objects.select_for_update().first()
    horse = held(Horse, number)
    before = horse.left
    told = checked(facts, clock.today(), yard.jurisdiction if yard else "")
    changed = merge(horse, seen, told)
    if changed & {"name", "foaled", "microchip", "life_number"} and not anyway:
        refuse_twin(told, number)
    if changed & {"name", "named", "foaled", "dam"} and horse.horse_key.startswith(f"{BY_HAND}:"):
        horse.horse_key = _key(told, library) or horse.horse_key
    if changed:
        save(horse, by)
    _leave(horse, before, why, by)
    return horse


def why_left(horse: Horse) -> str:
    """Return why a horse left, empty where that was not said."""
    row = Move.objects.filter(horse=horse, first_day=horse.left).first() if horse.left else None
    return row.note if row else ""


def _key(told: dict[str, Any], library: Path) -> str | None:
    """Return the key of the one horse of the results that this can be and that no other of the books is."""
    if not told["named"]:
        return None
    try:
        known = known_horses(library)
    except UpsidesError:  # no results yet: it waits for them under a key of its own
        known = pl.DataFrame()
    horse = Described(told["name"], told["foaled"], Sex(told["sex"]), told["sire"], told["dam"])
    key = key_of(horse, known) if known.height else None
    return None if key is None or Horse.objects.filter(horse_key=key).exists() else key


def _own_key(told: dict[str, Any]) -> str:
    first = f"{BY_HAND}:{plain_name(told['name'])}-{told['foaled']}"
    taken = set(Horse.objects.filter(horse_key__startswith=first).values_list("horse_key", flat=True))
    return next(key for key in (first, *(f"{first}-{n}" for n in range(2, 1000))) if key not in taken)


def _leave(horse: Horse, before: date | None, why: str, by: Person) -> None:
    """Write down why a horse left, and empty its box; take both back where it did not leave on that day."""
    note = " ".join(why.split())
    if len(note) > LONGEST_WHY or not note.isprintable():
        raise LineRefusedError(
            _("why"),
            _("that reason cannot be kept"),
            _("write it anew in at most {longest_why} letters", longest_why=LONGEST_WHY),
        )
    if before and before != horse.left:
        for row in Move.objects.filter(horse=horse, first_day=before, to=Move.To.AWAY):
            delete(row, by)
        for stand in Stand.objects.filter(horse=horse, first_day=before, box=None):
            delete(stand, by)
    if not horse.left:
        return
    move = Move.objects.filter(horse=horse, first_day=horse.left).first() or Move(horse=horse, first_day=horse.left)
    if move.pk is None or (move.to, move.note) != (Move.To.AWAY, note):
        move.to, move.note = Move.To.AWAY, note
        save(move, by)
    empty_from(horse.pk, horse.left, by)
