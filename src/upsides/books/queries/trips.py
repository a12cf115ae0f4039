"""What the fit that answers at a moment says of trips, kept in the process as long as the fit and its model stand."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

import polars as pl

from upsides.books.diary.gene import GeneTest
from upsides.books.diary.raced import RaceReport
from upsides.books.diary.shape import Shape
from upsides.books.models import Engagement, Horse, Lot
from upsides.books.models.answer import SPEEDS
from upsides.books.queries import genes, moments, shape
from upsides.books.queries.genes import Chances
from upsides.books.queries.in_training import in_training
from upsides.books.queries.moments import Moment
from upsides.books.queries.remembered import remembered
from upsides.books.queries.results import State, state_of
from upsides.books.queries.ridden import ridden
from upsides.errors import TripMissingError, UpsidesError
from upsides.ratings.kept_fits import KeptFit, kept_fit, scan_fit

if TYPE_CHECKING:  # loaded where it is used: it brings compiled code, and most pages need none of it
    from upsides.trip.case import Case
    from upsides.trip.cases import Cases, Told
    from upsides.trip.defaults import Defaults
    from upsides.trip.model import TripModel
    from upsides.trip.population import Population
    from upsides.trip.posterior import Posterior

ENOUGH: Final = 8
"""Horses of the yard that ran and whose shape was scored, from which on they say how much shape tells."""


@dataclass(frozen=True, slots=True, eq=False)
class Trips:
    """What a fit says of trips.

    Args:
        model: learned from the results before a day.
        figures: of the fit that it was learned from; read for the horses asked only.
    """

    model: "TripModel"
    figures: pl.LazyFrame


@dataclass(frozen=True, slots=True)
class Facts:
    """What the yard knows of a horse beyond its results.

    Args:
        key: its key in the library; one of its own where it has none.
        sex: the trade's word, empty where it is not known.
        country: of foaling, by its suffix; empty where it is not known.
        foaled: year, None where it is not known.
        sire: its name, empty where it is not known.
        dam: likewise.
        genotype: chances by tests of it or of its kin, None where they say nothing.
        traits: its shape: of each trait the mean of what people last saw.
        speed: by how much it works faster than horses usually do, and the error of that, in standard deviations from
            horse to horse; None where its works do not say.
        said: what riders said after races: metres of the race, and the trip that the horse wants.
        unasked: days of races in which it was not asked for all it had.
    """

    key: str
    sex: str
    country: str
    foaled: int | None
    sire: str
    dam: str
    genotype: Chances | None = None
    traits: tuple[tuple[str, float], ...] = ()
    speed: tuple[float, float] | None = None
    said: tuple[tuple[float, str], ...] = ()
    unasked: tuple[date, ...] = ()

    def told(self, population: "Population") -> "Told":
        """Return the same as the model of a population takes it."""
        from upsides.trip.cases import Told
        from upsides.trip.from_word import Word
        from upsides.trip.from_work import speed_in_work
        from upsides.trip.scale import octaves

        female = None if not self.sex else self.sex in {"filly", "mare"}
        speed = () if self.speed is None else (speed_in_work(*self.speed, population.trip, population.trip_sd),)
        words = tuple(Word(float(octaves(metres)), wants) for metres, wants in self.said)  # type: ignore[arg-type]  # of WANTS
        return Told(
            self.sire, self.dam, female, self.foaled, self.genotype, dict(self.traits), speed, words, self.unasked
        )


@dataclass(frozen=True, slots=True, eq=False)
class Trip:
    """What is thought of a horse's best distance, in furlongs; one object as long as the fit stands.

    Args:
        kind: what kind of horse it most likely is.
        chance: how likely that is.
        best: as likely shorter as longer.
        low, high: between which it lies one time in two.
        lowest, highest: between which it lies nine times in ten.
        furlongs: rising, of the curve.
        share: the chance at each of them.
    """

    kind: str
    chance: float
    best: float
    low: float
    high: float
    lowest: float
    highest: float
    furlongs: tuple[float, ...]
    share: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Yard:
    """The yard's horses as the model is told of them.

    Args:
        facts: by number of the horse.
        scored: of those whose shape was scored, in order of their keys.
        tests: gene tests.
        horses: all of the yard, where tests or scores had to be looked at; else those that were asked for.
    """

    facts: Mapping[int, Facts]
    scored: tuple[Facts, ...]
    tests: list[genes.GeneFound]
    horses: list[Horse]


@dataclass(frozen=True, slots=True, eq=False)
class Together:
    """Cases of horses laid out at once, which takes hardly longer than that of one; each is answered when it is asked.

    Args:
        cases: in the order told.
    """

    cases: "tuple[Case, ...]"


def read_trips(library: Path, until: date) -> Trips:
    """Return what the fit that answers on the morning of a day says of trips; the same object as long as it stands.

    Raises:
        UpsidesError: there is no such fit, or nothing was learned of trips from it, or it cannot be read.
    """
    kept = kept_fit(library, until)
    from upsides.trip.kept import MANIFEST

    try:
        about = (kept.folder / MANIFEST).stat()
    except FileNotFoundError:
        raise TripMissingError(library, kept.as_of) from None
    return _opened(library, kept, (about.st_mtime_ns, about.st_ino))


@lru_cache(maxsize=4)
def _opened(library: Path, kept: KeptFit, _stamp: tuple[int, int]) -> Trips:
    from upsides.trip.kept import read_model

    return Trips(read_model(library, kept.as_of), scan_fit(kept)["figures"])


def trips(library: Path, moment: Moment, horses: Sequence[Horse]) -> tuple[Mapping[int, Trip], str]:
    """Return the trips of horses by their numbers, and why there are none; empty where there are.

    Args:
        library: folder of the library.
        moment: when to look from.
        horses: rows of the books, as they stood then; those that are open to the visitor.
    """
    if not horses:
        return {}, ""
    asked = {horse.pk: horse for horse in horses}
    try:
        found = read_trips(library, moment.day)
        told = asked if moment.at is not None else {**in_training(moment), **asked}

        def made() -> Together:
            yard = yard_of(library, moment, list(told.values()), found.model.given)
            return _together(_of_the_yard(found, _keys()), yard.scored, tuple(yard.facts[number] for number in told))

        kinds, speeds = (Shape.name, GeneTest.name, RaceReport.name), moments.answer(SPEEDS, moment)
        more = (found, state_of(library), tuple(told), speeds.pk if speeds is not None else None)
        together = remembered("trips", moment, kinds, (Engagement, Horse), made, *more)
        return {number: _trip(together, row) for row, number in enumerate(told) if number in asked}, ""
    except UpsidesError as error:
        return {}, str(error)


def yard_of(library: Path, moment: Moment, horses: Sequence[Horse], given: "Defaults") -> Yard:
    """Return what the yard knows of some of its horses, and of all whose shape was scored."""
    traits, tests = _traits(moment), genes.gene_tests(moment)
    everyone = list(moments.rows(Horse, moment)) if traits or tests else list(horses)
    told = {horse.pk: horse for horse in [*everyone, *horses]}
    chances = genes.chances(tests, told.values(), given.gene_share, given.gene_error)
    countries = _countries(state_of(library), _keys().union(horse.horse_key for horse in told.values()))
    speeds, reports = _speeds(moment), ridden(library, moment, told.values())
    facts = {
        number: Facts(
            horse.horse_key, horse.sex, countries.get(horse.horse_key, ""), horse.foaled, horse.sire, horse.dam,
            chances.get(number), traits.get(number, ()), speeds.get(number),
            *reports.get(number, ((), ())),
        )
        for number, horse in told.items()
    }  # fmt: skip
    scored = sorted((one for one in facts.values() if one.traits), key=lambda one: one.key)
    return Yard(facts, tuple(scored), tests, list(told.values()))


def _keys() -> frozenset[str]:
    """Return the keys of all horses that the books ever held: what is read of them is read for all at once."""
    return frozenset(Horse.objects.values_list("horse_key", flat=True))


@lru_cache(maxsize=4)
def _of_the_yard(found: Trips, keys: frozenset[str]) -> Trips:
    """Return the same with the figures of the yard's own horses, read once."""
    own = found.figures.filter(pl.col("horse_key").is_in(list(keys))).collect()
    return Trips(found.model, own.lazy())


def facts_of_lot(lot: Lot) -> Facts:
    """Return what a sale's list says of a lot."""
    return Facts(f"lot:{lot.pk}", lot.sex, "", lot.foaled, lot.sire, lot.dam)


def _speeds(moment: Moment) -> dict[int, tuple[float, float]]:
    """Return how fast horses are in fast work, by number, as a worker found out."""
    known = moments.answer(SPEEDS, moment)
    return {int(number): (by, error) for number, (by, error) in (known.values if known is not None else {}).items()}


def _traits(moment: Moment) -> dict[int, tuple[tuple[str, float], ...]]:
    """Return the mean scores of the horses that people scored, by number."""
    scored = shape.shapes(moment)
    if scored.is_empty():
        return {}
    means = shape.latest(scored).group_by("horse").agg(pl.col(shape.NAMES).cast(pl.Float64).mean())
    return {
        int(row["horse"]): tuple((name, row[name]) for name in shape.NAMES if row[name] is not None)
        for row in means.to_dicts()
    }


@lru_cache(maxsize=64)
def _countries(state: State, keys: frozenset[str]) -> Mapping[str, str]:
    """Return the country of foaling of the horses that the library knows."""
    horses = state.library().horses().filter(pl.col("horse_key").is_in(list(keys)), pl.col("suffix").is_not_null())
    return dict(horses.select("horse_key", "suffix").collect().iter_rows())


@lru_cache(maxsize=16)
def _together(found: Trips, scored: tuple[Facts, ...], told: tuple[Facts, ...]) -> Together:
    """Lay out the cases of horses.

    Args:
        found: what the fit says.
        scored: the yard's horses whose shape was scored, which say how much shape tells.
        told: the horses.
    """
    return Together(tuple(cases_of(cases(found, scored), told)))


@lru_cache(maxsize=2048)
def _trip(together: Together, row: int) -> Trip:
    """Return the trip of one of the horses."""
    case = together.cases[row]
    return trip_of(case, case.answer())


@lru_cache(maxsize=8)
def cases(found: Trips, scored: tuple[Facts, ...]) -> "Cases":
    """Return what makes the cases of horses, with how much shape tells by the yard's own horses."""
    from upsides.trip.cases import Cases, learned_reading
    from upsides.trip.shape import unlearned

    plain = Cases(found.model, found.figures, unlearned(found.model.given))
    if len(scored) < ENOUGH:
        return plain
    own = [case for case in cases_of(plain, scored) if case.known.shape is not None and case.runs.y.size]
    return Cases(found.model, found.figures, learned_reading(own)) if len(own) >= ENOUGH else plain


def cases_of(made: "Cases", asked: Iterable[Facts]) -> "list[Case]":
    """Return the cases of horses."""
    schema = {"horse_key": pl.String, "sex": pl.String, "suffix": pl.String, "foaled": pl.Int64}
    facts = list(asked)
    rows = [(one.key, one.sex or None, one.country or None, one.foaled) for one in facts]
    return made.of(
        pl.DataFrame(rows, schema=schema, orient="row"), {one.key: one.told(made.model.population) for one in facts}
    )


def trip_of(case: "Case", post: "Posterior") -> Trip:
    """Return an answer in short."""
    from upsides.trip.kinds import kind_chances, likeliest
    from upsides.trip.pulls import best_furlongs, range_furlongs
    from upsides.trip.scale import furlongs

    kinds = kind_chances(post, case.given)
    kind = likeliest(kinds)
    curve = tuple(furlongs(post.grid).tolist()), tuple(post.density.tolist())
    return Trip(kind, kinds[kind], best_furlongs(post), *range_furlongs(post, 0.5), *range_furlongs(post, 0.9), *curve)
