"""The model of a library: its population, its groups, what every race asked, what every animal's relatives say."""

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.errors import CannotFitError
from upsides.errors.wording import as_kept, of_kept
from upsides.errors.wording import gettext as _
from upsides.pedigree import Pedigree, pedigree_of, table_of
from upsides.ratings.kept_fits import Fit
from upsides.results.library import Library
from upsides.results.naming import key_of
from upsides.rules import own_rules
from upsides.trip import family as families
from upsides.trip.defaults import Defaults, defaults
from upsides.trip.demand import climbs_of, demand_table
from upsides.trip.groups import centres, shifts
from upsides.trip.learning import Learned, Progress, learn
from upsides.trip.own_word import own_words
from upsides.trip.population import Population, evidence
from upsides.trip.runs import Runs, days, runs_of

Floats = NDArray[np.float64]

HORSES_READ = 2500
"""Horses from which the population is learned: from a thousand, the range of a horse of people who know could hold
96 in 100 instead of 90; more than these say next to nothing more."""

FEWEST_HORSES = 30
FEWEST_RUNS = 200


@dataclass(frozen=True, eq=False)
class TripModel:
    """What a library says of trips, as of a day.

    Attributes:
        as_of: results before this day went in.
        given: what was taken from rules.
        learned: the population and how it was found.
        groups: shift of each group's trip, octaves, its standard deviation, its horses.
        demand: race_key, `demand` and `distance`, octaves.
        family: one row an animal of the pedigree, see `FAMILY`; empty where families cannot be asked.
        notes: what the library cannot teach, in words.
    """

    as_of: date
    given: Defaults
    learned: Learned
    groups: dict[str, tuple[float, float, int]]
    demand: pl.DataFrame
    family: pl.DataFrame
    notes: tuple[str, ...]

    @property
    def population(self) -> Population:
        """The population."""
        return self.learned.population


FAMILY = (
    {"key": pl.String, "name": pl.String, "kin": pl.Int64, "foals": pl.Int64}
    | dict.fromkeys([f"{of}_{what}" for of in ("whole", "others") for what in ("a", "d", "aa", "ad", "dd")], pl.Float64)
)  # fmt: skip
"""Columns of the family table: key (`results.naming`), name, runs of close kin and of own foals; genetic values of
ability (a, lb) and trip (d, octaves) with their error covariances, predicted from all runs and from all but its own."""


def make_model(
    library: Library, fit: Fit, *, seed: int = 0, progress: Progress = lambda _done, _what: None
) -> TripModel:
    """Learn from a library what trips are, from the figures of a fit.

    Raises:
        CannotFitError: there are too few runs to learn from.
    """
    progress(0.0, "what every race asked")
    rules = own_rules(library.folder)
    given = defaults(fit.as_of, rules)
    races = library.races(fit.as_of).collect()
    demand = demand_table(races, given, climbs_of(rules, fit.as_of))
    runs = runs_of(fit.figures, demand, library.horses().collect())
    ran = np.flatnonzero(runs.counts > 0)
    if ran.size < FEWEST_HORSES or runs.y.size < FEWEST_RUNS:
        reason = _(
            "only {horses} horses with {figures} figures over a known distance", horses=ran.size, figures=runs.y.size
        )
        raise CannotFitError(_("trips"), reason, _("add more results, then fit again"))
    ages = _ages_advance(runs)
    learned = learn(_sample(runs, ran, seed), _begin(fit), ages=ages, progress=progress)
    progress(0.95, "groups and families")
    groups = shifts(runs, evidence(runs, learned.population, np.full(runs.size, days(fit.as_of))), learned.population)
    family = _family(library, runs, learned.population, groups, given)
    progress(1.0, "done")
    return TripModel(fit.as_of, given, learned, groups, demand, family, _notes(runs, family, ages=ages))


def _begin(fit: Fit) -> Population:
    found = fit.manifest["components"]
    return Population(tau=float(found["tau"]), ability_sd=max(3.0, float(np.sqrt(found["lasting"]))))


def _sample(runs: Runs, ran: NDArray[np.int64], seed: int) -> Runs:
    if ran.size <= HORSES_READ:
        return runs.of(ran)
    return runs.of(np.sort(np.random.default_rng(seed).choice(ran, HORSES_READ, replace=False)))


def _ages_advance(runs: Runs) -> bool:
    """Return whether ages are known and span years, as they must for an age to be blamed for a change of trip."""
    known = runs.age[~np.isnan(runs.age)]
    return known.size > runs.age.size // 2 and float(np.ptp(known)) > 1.0


def _family(
    library: Library, runs: Runs, p: Population, groups: dict[str, tuple[float, float, int]], given: Defaults
) -> pl.DataFrame:
    """Return the family table; empty where the library names no parents."""
    parents = library.horses().select("sire", "dam").collect()
    if parents["sire"].null_count() == parents.height:
        return pl.DataFrame(schema=FAMILY)
    animals = pedigree_of(table_of(library), repair=True).pedigree
    place = _places(animals, runs.keys)
    here = np.flatnonzero(place >= 0)
    words = own_words(runs.of(here), p, centres(runs, p, groups)[here])
    found = families.family(animals.graph, place[here], runs.of(here), words, p, given)
    columns: dict[str, Any] = {"key": list(animals.keys), "name": list(animals.printed)}
    columns |= {"kin": found.kin, "foals": found.foals}
    for of, value, error in (("whole", found.value, found.error), ("others", found.others, found.others_error)):
        columns |= {f"{of}_a": value[:, 0], f"{of}_d": value[:, 1]}
        columns |= {f"{of}_aa": error[:, 0, 0], f"{of}_ad": error[:, 0, 1], f"{of}_dd": error[:, 1, 1]}
    return pl.DataFrame(columns, schema=FAMILY)


def _places(animals: Pedigree, keys: list[str]) -> NDArray[np.int64]:
    return np.array([animals.places.get(key, animals.places.get(key_of(key), -1)) for key in keys], dtype=np.int64)


def _notes(runs: Runs, family: pl.DataFrame, *, ages: bool) -> tuple[str, ...]:
    low, high = np.quantile(np.exp2(runs.x), [0.015, 0.985])
    notes = [
        _(
            "97 % of the runs asked between {low:.1f} and {high:.1f} furlongs; of trips beyond that the library "
            "teaches nothing, and the population answers.",
            low=float(low),
            high=float(high),
        )
    ]
    if not ages:
        notes.append(_("Ages are not known or do not advance, so trips are not moved with age."))
    if family.is_empty():
        notes.append(_("Families are not asked: the library names no parents."))
    return tuple(notes)


def as_manifest(model: TripModel) -> dict[str, Any]:
    """Return everything of a model but its tables, as JSON takes it."""
    learned = model.learned
    return {
        "as_of": str(model.as_of),
        "given": asdict(model.given),
        "population": learned.population.as_dict(),
        "se": learned.se,
        "learned": {
            name: getattr(learned, name) for name in ("names", "horses", "runs", "log_likelihood", "converged")
        },
        "groups": model.groups,
        "notes": [as_kept(note) for note in model.notes],
    }


def from_manifest(manifest: dict[str, Any], demand: pl.DataFrame, family: pl.DataFrame) -> TripModel:
    """Return a model read back."""
    given: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in manifest["given"].items()}
    learned = dict(manifest["learned"])
    learned["names"] = tuple(learned["names"])
    return TripModel(
        date.fromisoformat(manifest["as_of"]),
        Defaults(**given),
        Learned(population=Population(**manifest["population"]), se=manifest["se"], **learned),
        {name: (float(mean), float(sd), int(count)) for name, (mean, sd, count) in manifest["groups"].items()},
        demand,
        family,
        tuple(of_kept(note) for note in manifest["notes"]),
    )
