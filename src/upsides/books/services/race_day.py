"""Writes of what a card and a journey need besides the declaration: draw, gear, colours, who leads up, who drives."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from django.db import transaction

from upsides.books import clock
from upsides.books.models import Engagement, Person
from upsides.books.services.jobs import ask
from upsides.books.services.meanwhile import merge, save
from upsides.errors import FigureRefusedError, LineGoneError
from upsides.errors.wording import gettext as _
from upsides.results.race_cards import keep_card, read_lines

HIGHEST_DRAW, LONGEST_GEAR, LONGEST_COLOURS = 60, 80, 120
LONGEST_DAY: Final = timedelta(hours=36)


@dataclass(frozen=True, slots=True)
class Card:
    """What is written down of a runner.

    Args:
        draw: its stall.
        gear, colours: in words.
        leads_up, driver: numbers of people.
        leaves_at, back_at: with their zone.
    """

    draw: int | None = None
    gear: str = ""
    colours: str = ""
    leads_up: int | None = None
    driver: int | None = None
    leaves_at: datetime | None = None
    back_at: datetime | None = None


@transaction.atomic
def write_card(number: int, seen: int, card: Card, by: Person) -> Engagement:
    """Write what a card and a journey need of a runner; what it said before stays in its history.

    Args:
        number: of the engagement.
        seen: number of the change that the page showed.
        card: what was typed.
        by: who writes it.

    Raises:
        LineGoneError: there is no such engagement.
        FigureRefusedError: something of it cannot be right.
        ChangedMeanwhileError: somebody else changed the same meanwhile.
    """
    row = Engagement.objects.select_for_update().filter(pk=number).first()
    if row is None:
        raise LineGoneError(_("engagement"), number)
    _check(row, card)
    typed = {
        "draw": card.draw,
        "gear": " ".join(card.gear.split()),
        "colours": " ".join(card.colours.split()),
        "leads_up_id": card.leads_up,
        "driver_id": card.driver,
        "leaves_at": card.leaves_at,
        "back_at": card.back_at,
    }
    drawn = row.draw
    if merge(row, seen, typed):
        save(row, by)
        if row.draw != drawn:
            ask("chances", afresh=True)
    return row


def write_runners(library: Path, code: str, text: str) -> None:
    """Write down the runners of a race as its card names them, in place of those before, and ask for chances again.

    Args:
        library: folder of the library.
        code: of the race.
        text: a runner a line, as people type them.

    Raises:
        FigureRefusedError: a line cannot be written down.
        UnreadableError: there are too many.
        LibraryBusyError: another process is writing to the library.
    """
    keep_card(library, code, read_lines(text), clock.now())
    ask("chances", afresh=True)


def _check(row: Engagement, card: Card) -> None:
    if card.draw is not None and not 1 <= card.draw <= HIGHEST_DRAW:
        raise FigureRefusedError(
            _("draw"),
            card.draw,
            _("no race has such a stall"),
            _("write 1 to {highest_draw}", highest_draw=HIGHEST_DRAW),
        )
    for field, text, longest in (("gear", card.gear, LONGEST_GEAR), ("colours", card.colours, LONGEST_COLOURS)):
        if len(text) > longest:
            raise FigureRefusedError(
                field, text[:20], _("it is too long"), _("use at most {longest} letters", longest=longest)
            )
    for field, number in (("leads_up", card.leads_up), ("driver", card.driver)):
        if number is not None and not Person.objects.filter(pk=number, erased_at=None).exists():
            raise FigureRefusedError(field, number, _("nobody has that number"), _("choose somebody of the list"))
    leaves, back = card.leaves_at, card.back_at
    if leaves and back and not timedelta() < back - leaves <= LONGEST_DAY:
        raise FigureRefusedError(
            "back_at", back, _("it is not after the horse leaves, or days later"), _("correct one")
        )
    if leaves and row.off_at and leaves > row.off_at:
        raise FigureRefusedError("leaves_at", leaves, _("the race is off by then"), _("write an earlier time"))
