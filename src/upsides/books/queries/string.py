"""Reads of the string: its horses as a list shows them, no more of each than the visitor may see."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from pathlib import Path

from upsides.books.models import Horse, Inside, Person, Yard
from upsides.books.queries import levels, moments
from upsides.books.queries.boxes import Stood, boxes
from upsides.books.queries.in_training import in_training
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import Raced, State, raced, state_of
from upsides.books.queries.standings import Standing, standings
from upsides.books.queries.trips import Trip, trips
from upsides.books.queries.visitors import Visitor, opened, own_horses
from upsides.errors import UpsidesError
from upsides.rules.birthdays import foaling_season


class Status(StrEnum):
    """Which horses of the books are meant."""

    TRAINING = "training"
    AWAY = "away"
    LEFT = "left"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Listed:
    """One horse as a list shows it.

    Args:
        horse: its row of the books.
        age: official age on the moment's day.
        carer: name of who looks after it, empty for nobody.
        open: whether its figures are open to the visitor.
        standing: what the fit says; None when it does not know the horse, or its figures are not open.
        raced: what it has done on the racecourse, None before its first start.
        figure_lb: our figure for its last start, None likewise.
        trip: what is thought of its best distance; None where nothing is, or its figures are not open.
        stood: in which box it stands, None where it has none.
    """

    horse: Horse
    age: int
    carer: str
    open: bool
    standing: Standing | None
    raced: Raced | None
    figure_lb: float | None
    trip: Trip | None = None
    stood: Stood | None = None

    @property
    def barn(self) -> str:
        """Return the name of its barn, empty for none."""
        return self.stood.barn if self.stood else ""


@dataclass(frozen=True, slots=True)
class Known:
    """What the library of results and its fit say of the yard's own horses on a day.

    Args:
        keys: of all horses of the yard.
        state: the library, None where there is none.
        figures: by key; nothing where they are not open or there is no fit.
        raced: by key; nothing where there are no results.
        as_of: the fit's day, None where figures are not open or there is no fit.
        no_fit: why there is no fit, empty where there is one or figures are not open.
        no_results: why there are no results, empty where there are some.
    """

    keys: frozenset[str]
    state: State | None
    figures: Mapping[str, Standing]
    raced: Mapping[str, Raced]
    as_of: date | None
    no_fit: str
    no_results: str


@dataclass(frozen=True, slots=True)
class String:
    """The string.

    Args:
        listed: its horses, in order of name.
        known: what is known of them.
        all_horses: whether every horse is open to the visitor, not only his own.
    """

    listed: tuple[Listed, ...]
    known: Known
    all_horses: bool

    @property
    def figures(self) -> bool:
        """Return whether there are figures to be shown to the visitor."""
        return self.known.as_of is not None


def string(library: Path, who: Visitor, moment: Moment, status: Status = Status.TRAINING) -> String:
    """Return the horses that a visitor may see.

    Args:
        library: folder of the library.
        who: the visitor.
        moment: when to look from.
        status: in training, away (turned out, for one), left, or all.
    """
    open_to, own = opened(who, Inside.FIGURES), own_horses(who)
    horses = [horse for horse in _with_status(moment, status) if own is None or horse.pk in own]
    known = known_of(library, moment, figures=any(horse.pk in open_to for horse in horses))
    carers = moments.names(Person, moment, (horse.carer_id for horse in horses))
    season = this_season(moment)
    seen = [horse for horse in horses if horse.pk in open_to] if known.as_of else []
    bests, _ = trips(library, moment, seen)
    listed = (_listed(horse, season, carers.get(horse.carer_id, ""), known, horse.pk in open_to) for horse in horses)
    stands = boxes(moment)
    with_trips = (replace(one, trip=bests.get(one.horse.pk), stood=stands.get(one.horse.pk)) for one in listed)
    return String(tuple(sorted(with_trips, key=lambda one: one.horse.name.casefold())), known, own is None)


def any_horse(moment: Moment) -> bool:
    """Return whether there was any horse in the books, here or gone."""
    return moments.rows(Horse, moment).exists()


def known_of(library: Path, moment: Moment, *, figures: bool) -> Known:
    """Return what is known of all horses of the yard; of figures only where they are asked for."""
    keys = frozenset(Horse.objects.values_list("horse_key", flat=True))
    state, ran, no_results = _results(library, keys, moment)
    fit, as_of, no_fit = _fit(library, keys, moment) if figures else ({}, None, "")
    return Known(keys, state, fit, ran, as_of, no_fit, no_results)


def _results(library: Path, keys: frozenset[str], moment: Moment) -> tuple[State | None, Mapping[str, Raced], str]:
    try:
        state = state_of(library)
    except UpsidesError as error:
        return None, {}, str(error)
    return state, raced(state, keys, moment.day), ""


def _fit(library: Path, keys: frozenset[str], moment: Moment) -> tuple[Mapping[str, Standing], date | None, str]:
    try:
        found = levels.read_levels(library, moment.day)
    except UpsidesError as error:
        return {}, None, str(error)
    return standings(found, keys), found.as_of, ""


def this_season(moment: Moment) -> int:
    """Return the year in which horses that are 0 on the moment's day were foaled."""
    yard = moments.rows(Yard, moment).first()
    return foaling_season(0, moment.day, yard.jurisdiction if yard else "")


def _with_status(moment: Moment, status: Status) -> list[Horse]:
    if status is Status.TRAINING:
        return list(in_training(moment).values())
    if status is Status.AWAY:
        here = in_training(moment)
        return [horse for horse in moments.in_the_yard(moment) if horse.pk not in here]
    horses = moments.rows(Horse, moment)
    return list(horses.filter(left__lte=moment.day) if status is Status.LEFT else horses)


def _listed(horse: Horse, season: int, carer: str, known: Known, is_open: bool) -> Listed:  # noqa: FBT001 -- the row's
    ran = known.raced.get(horse.horse_key)
    standing = known.figures.get(horse.horse_key) if is_open else None
    last = standing.figures.get(ran.last["race_key"]) if standing and ran else None
    return Listed(horse, season - horse.foaled, carer, is_open, standing, ran, last["figure_lb"] if last else None)
