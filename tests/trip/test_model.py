"""The model of a library: learned from known truth, kept, read back, refused."""

import json
import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.errors import CannotFitError, TripMissingError, TripNewerError
from upsides.ratings.kept_fits import Fit, fits_folder, read_fit
from upsides.results.importing import add_frames
from upsides.results.library import Library
from upsides.trip import cases as of_horses
from upsides.trip import fitting, kept
from upsides.trip.cases import Cases, Told
from upsides.trip.defaults import defaults
from upsides.trip.model import TripModel, make_model
from upsides.trip.pulls import best_furlongs
from upsides.trip.scale import below
from upsides.trip.shape import unlearned
from worlds import fitted, world

Known = tuple[Library, Fit, TripModel]


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory) -> Known:
    """The invented country's library, its fit, and what it says of trips."""
    library = fitted(tmp_path_factory.mktemp("trips") / "library")
    fit = read_fit(library.folder)
    return library, fit, kept.read_model(library.folder, fit.as_of)


def _cases(known: Known) -> Cases:
    _, fit, model = known
    return Cases(model, fit.figures.lazy(), unlearned(model.given))


def _horses(known: Known) -> pl.DataFrame:
    return known[0].horses().collect().unique("horse_key", keep="last").sort("horse_key")


def test_the_search_ends_where_it_should(known: Known) -> None:
    """The population of the invented country is found, with a standard error of every value."""
    learned = known[2].learned
    assert learned.converged
    assert set(learned.se) == set(learned.names)
    assert all(0.0 < se < 5.0 for se in learned.se.values())


def test_true_trips_lie_in_their_ranges(known: Known) -> None:
    """Of the country's horses that ran at least 85 in 100 have their true best trip inside the 90 % range.

    The country enters, eases and squeezes margins in ways that the model does not know.
    """
    truth = world().truth_horses.select("source_horse", "best_trip_m")
    horses = _horses(known).join(truth, on="source_horse").filter(pl.col("runs") > 0)
    true = np.log2(horses["best_trip_m"].to_numpy() / 201.168)
    posts = [case.answer() for case in _cases(known).of(horses)]
    at = np.array([below(post.density, t - post.moved) for post, t in zip(posts, true, strict=True)])
    assert np.mean((at > 0.05) & (at < 0.95)) > 0.85
    best = np.log2([best_furlongs(post) for post in posts])
    assert np.corrcoef(best, true)[0, 1] > 0.6


def test_families_help_horses_that_have_not_run(known: Known) -> None:
    """What relatives alone say of a horse goes with its true trip, which the country hands down from sires."""
    truth = world().truth_horses.select("source_horse", "best_trip_m")
    horses = _horses(known).join(truth, on="source_horse")
    true = np.log2(horses["best_trip_m"].to_numpy() / 201.168)
    said = [best_furlongs(case.answer({"family"})) for case in _cases(known).of(horses)]
    assert np.corrcoef(np.log2(said), true)[0, 1] > 0.3


def test_a_model_comes_back_as_it_was_kept(known: Known) -> None:
    """Read back, a model has the same values, tables and notes."""
    library, _, model = known
    again = kept.read_model(library.folder, model.as_of)
    assert again.population == model.population
    assert (again.given, again.groups, again.notes) == (model.given, model.groups, model.notes)
    assert again.family.equals(model.family)
    assert again.demand.equals(model.demand)


def test_a_fit_kept_without_gets_its_model(known: Known, tmp_path: Path) -> None:
    """A fit that was made alone has no model, and the same one is learned for it when it is asked for."""
    library, fit, model = known
    shutil.copytree(library.folder, tmp_path, dirs_exist_ok=True)
    (fits_folder(tmp_path) / str(fit.as_of) / kept.MANIFEST).unlink()
    alone = Library.open(tmp_path)
    assert not kept.has_model(tmp_path, fit.as_of)
    assert fitting.add_model(alone, fit).population == model.population
    assert kept.read_model(tmp_path, fit.as_of).population == model.population


def test_missing_and_newer_models_are_refused(known: Known, tmp_path: Path) -> None:
    """No model says how to make one; one of a newer program says to update."""
    with pytest.raises(TripMissingError, match="upsides fit --library"):
        kept.read_model(tmp_path, date(2026, 1, 1))
    place = fits_folder(tmp_path) / "2026-01-01"
    place.mkdir(parents=True)
    about = json.loads((fits_folder(known[0].folder) / str(known[2].as_of) / kept.MANIFEST).read_text())
    (place / kept.MANIFEST).write_text(json.dumps(about | {"format": kept.FORMAT + 1}))
    with pytest.raises(TripNewerError, match="update upsides"):
        kept.read_model(tmp_path, date(2026, 1, 1))


def test_nothing_of_later_days_is_read(known: Known) -> None:
    """A model as of a day asks nothing of races run on that day or later."""
    library, _, model = known
    later = library.races().filter(pl.col("date") >= model.as_of).select("race_key").collect()["race_key"]
    assert not set(later) & set(model.demand["race_key"])


def test_an_unnamed_foal_is_told_of_by_its_parents(known: Known) -> None:
    """A horse that no table holds gets the curve of its parents, and no curve but the population's without them."""
    model = known[2]
    cases = _cases(known)
    ran = model.family.filter(pl.col("foals") > 0)
    extreme = ran.sort("whole_d")
    sire = extreme["name"][0]
    frame = pl.DataFrame({"horse_key": ["yard:1"], "sex": ["filly"], "suffix": [None], "foaled": [2025]},
                         schema_overrides={"suffix": pl.String})  # fmt: skip
    told = cases.of(frame, {"yard:1": Told(sire=sire)})[0]
    plain = cases.of(frame)[0]
    assert told.available == ("family",)
    assert plain.available == ()
    assert told.known.relatives is not None
    assert 0.0 < told.known.relatives.reliability[1] < 0.5
    foals = _horses(known).filter((pl.col("sire") == sire) | (pl.col("dam") == sire))["horse_key"]
    assert told.known.relatives.records == known[1].figures.filter(pl.col("horse_key").is_in(foals.implode())).height
    assert (best_furlongs(told.answer()) < best_furlongs(plain.answer())) == (extreme["whole_d"][0] < 0)


def test_a_tested_horse_is_near_certain() -> None:
    """After a test of the horse itself the genotype is as certain as tests are right, and moves the trip that way."""
    given = defaults(date(2026, 1, 1))
    assert of_horses.tested("C/C", given)[0] == pytest.approx(0.985, abs=0.015)
    assert sum(of_horses.tested("T/T", given)) == pytest.approx(1.0)


def test_too_small_a_library_is_refused(known: Known, tmp_path: Path) -> None:
    """A library of a few horses says that it is too small, and how many it has."""
    races = world().races.head(8)
    runs = world().runs.filter(pl.col("race_key").is_in(races["race_key"].implode()))
    small = Library.create(tmp_path)
    add_frames(small, races, runs, "invented")
    few = known[1].figures.head(100)
    with pytest.raises(CannotFitError, match=r"only .* horses with .* figures"):
        make_model(small, replace(known[1], figures=few))
