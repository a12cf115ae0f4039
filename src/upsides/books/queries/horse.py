"""Reads of one horse: no more of it than the visitor may see."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from upsides.books.models import Horse, Inside, Move, Person, Role, Share
from upsides.books.queries import moments
from upsides.books.queries.boxes import Stood, boxes
from upsides.books.queries.diary import Written, of_horse
from upsides.books.queries.horse_book import Book, book
from upsides.books.queries.moments import Moment
from upsides.books.queries.races import disagreements
from upsides.books.queries.report_clashes import Clash
from upsides.books.queries.results import starts_of
from upsides.books.queries.standings import FIGURES, Standing
from upsides.books.queries.string import Known, known_of, this_season
from upsides.books.queries.visitors import Visitor, opened, own_horses

SHARES_OPEN = frozenset({Role.TRAINER, Role.ASSISTANT, Role.SECRETARY})
"""Roles that see who owns a horse; an owner sees his own part."""
RECENT = 12
"""Entries of the diary on a horse's page."""


@dataclass(frozen=True, slots=True)
class Part:
    """What part of a horse somebody owns.

    Args:
        share: the row of the books.
        owner: the owner's name.
    """

    share: Share
    owner: str


@dataclass(frozen=True, slots=True)
class Shown:
    """One horse as its own page shows it.

    Args:
        horse: its row of the books.
        age: official age on the moment's day.
        carer: who looks after it, None for nobody.
        open: whether its figures are open to the visitor.
        standing: what the fit says; None when it does not know the horse, or its figures are not open.
        known: what is known of the yard's horses.
        runs: its starts before the moment's day, latest first: columns of `starts_of`, and figure_lb, figure_sd_lb,
            late_speed and late_standing, empty where they are not open.
        parts: who owns it, as far as the visitor may see.
        diary: the last entries about it, latest first; none for owners.
        stood: in which box it stands, None where it has none.
        place: where it is, None for a horse that never moved since it came.
        book: what else the books keep of it; None for owners.
        told: what reports of its last races tell differently, by key of the race.
    """

    horse: Horse
    age: int
    carer: Person | None
    open: bool
    standing: Standing | None
    known: Known
    runs: list[dict[str, Any]]
    parts: list[Part]
    diary: list[Written]
    stood: Stood | None = None
    place: Move | None = None
    book: Book | None = None
    told: Mapping[str, tuple[Clash, ...]] = field(default_factory=dict)

    @property
    def figures(self) -> bool:
        """Return whether figures are shown."""
        return self.standing is not None


def horse(library: Path, who: Visitor, moment: Moment, number: int) -> Shown | None:
    """Return one horse by its number in the books, None where the visitor may see no such horse."""
    found = seen(who, moment, number)
    if found is None:
        return None
    is_open = number in opened(who, Inside.FIGURES)
    known = known_of(library, moment, figures=is_open)
    standing = known.figures.get(found.horse_key)
    runs = _runs(known, found, moment, standing.figures if standing else {})
    gone = found.left is not None and found.left <= moment.day
    return Shown(
        found,
        this_season(moment) - found.foaled,
        moments.rows(Person, moment).filter(pk=found.carer_id).first() if found.carer_id else None,
        is_open,
        standing,
        known,
        runs,
        parts(who, moment, number),
        of_horse(number, moment, RECENT, who) if who.sees_all_horses else [],
        None if gone else boxes(moment).get(number),
        None if gone else moments.whereabouts(moment).get(number),
        book(moment, number, [run["date"] for run in runs], library) if who.sees_all_horses else None,
        disagreements(library, who, moment, number, runs),
    )


def seen(who: Visitor, moment: Moment, number: int) -> Horse | None:
    """Return a horse's row of the books, None where the visitor may see no such horse."""
    own = own_horses(who)
    return moments.rows(Horse, moment).filter(pk=number).first() if own is None or number in own else None


def parts(who: Visitor, moment: Moment, number: int, on: date | None = None) -> list[Part]:
    """Return who owned a horse on a day, the moment's where none is said: everybody, or the visitor alone."""
    day = on or moment.day
    shares = [share for share in moments.rows(Share, moment).filter(horse=number) if _runs_on(share, day)]
    if not who.roles & SHARES_OPEN:
        shares = [share for share in shares if share.owner_id == who.person.pk]
    owners = moments.names(Person, moment, (share.owner_id for share in shares))
    return sorted((Part(share, owners.get(share.owner_id, "")) for share in shares), key=lambda part: part.share.pk)


def _runs_on(share: Share, day: date) -> bool:
    return share.first_day <= day and (share.last_day is None or share.last_day >= day)


def _runs(known: Known, found: Horse, moment: Moment, figures: Mapping[str, Mapping[str, Any]]) -> list[dict[str, Any]]:
    if known.state is None:
        return []
    starts = starts_of(known.state, known.keys)
    own = starts.filter(pl.col("horse_key") == found.horse_key, pl.col("date") < moment.day)
    nothing = dict.fromkeys(FIGURES)
    return [nothing | run | dict(figures.get(run["race_key"], {})) for run in own.to_dicts()]
