"""The fit of a whole library: the invented world's truth, as-of honesty, the store and the chances of a field."""

import json
import shutil
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from threading import Event, Thread
from time import sleep

import numpy as np
import polars as pl
import pytest
from scipy.stats import mannwhitneyu

import worlds
from upsides.demo import Invented, rulebook
from upsides.errors import CannotFitError, FitMissingError, FitNewerError, NotRatedError
from upsides.ratings.fits import Fit, is_current, make_fit, read_fit, would_be_same
from upsides.ratings.kept_fits import kept_fit, read_debut
from upsides.ratings.levels import field, fitting
from upsides.ratings.levels.performances import performances
from upsides.ratings.rating import rating
from upsides.results import importing
from upsides.results.library import Library
from upsides.rules import OWN_RULES, read_overrides


@pytest.fixture(scope="module")
def world() -> Invented:
    """The invented country."""
    return worlds.world()


@pytest.fixture(scope="module")
def library(world: Invented, tmp_path_factory: pytest.TempPathFactory) -> Library:
    """Its results in a library with its rules."""
    folder = tmp_path_factory.mktemp("fit") / "library"
    opened = Library.create(folder)
    importing.add_frames(opened, world.races, world.runs, "invented")
    (folder / OWN_RULES).write_text(rulebook())
    return opened


@pytest.fixture(scope="module")
def fit(library: Library, world: Invented) -> Fit:
    """The fit on the invented today."""
    return make_fit(library, world.today, keep_as_latest=True)


def truth_today(world: Invented) -> pl.DataFrame:
    """Each horse's true level today, with what its usual trip, ground and surface cost it."""
    runs = world.truth.filter(pl.col("race_key").is_not_null())
    usual = runs.group_by("source_horse").agg(
        cost=(pl.col("trip_lb") + pl.col("going_lb") + pl.col("surface_lb")).mean(), last=pl.col("date").max()
    )
    today = world.truth.filter(pl.col("race_key").is_null()).join(usual, on="source_horse")
    return today.select(horse_key="source_horse", true=pl.col("level_lb") + pl.col("cost"), last="last")


def test_invented_levels_are_recovered(world: Invented, fit: Fit) -> None:
    """Levels of horses that ran in the last 60 days follow the truth, and 80 % intervals cover about that (70 to 90 %).

    The world breaks the model's assumptions on purpose (trips, draws, riders, entry habits), so the band is wider than
    the one for worlds made by the model itself.
    """
    known = fit.horses.join(truth_today(world), on="horse_key").filter(
        pl.col("last") > world.today - timedelta(days=60)
    )
    off = known["level_lb"] - known["true"]
    off = off - float(off.mean())  # the scale's zero is a choice
    assert np.corrcoef(known["level_lb"], known["true"])[0, 1] > 0.85
    assert 0.7 < float((off.abs() < 1.2816 * known["sd_lb"]).mean()) < 0.9


def test_beaten_horses_eased_are_noticed(world: Invented, library: Library, fit: Fit) -> None:
    """Of a run eased by ten lengths and one not eased, the first has the higher chance of easing 8 times in 10."""
    eased = world.truth.filter(pl.col("race_key").is_not_null()).select(
        "race_key", "eased_lengths", horse_key="source_horse"
    )
    both = fit.figures.join(eased, on=["race_key", "horse_key"])
    far, rest = both.filter(pl.col("eased_lengths") > 10), both.filter(pl.col("eased_lengths") <= 0)
    assert far.height > 20
    assert mannwhitneyu(far["eased"], rest["eased"]).statistic / (far.height * rest.height) > 0.8


def test_nothing_after_the_day_is_used(world: Invented, library: Library, fit: Fit) -> None:
    """A fit as of a day equals the fit of a library that ends the day before."""
    day = world.today - timedelta(days=300)
    honest = make_fit(library, day)
    early_races = world.races.filter(pl.col("date") < day)
    early_runs = library.runs().filter(pl.col("date") < day).collect()
    own = read_overrides(library.folder / OWN_RULES)
    cut = fitting.fit_levels(early_races.with_columns(race_key=pl.col("race_key")), early_runs, overrides=own)
    curves = fitting.level_curves(cut, day)
    both = honest.levels.join(curves, on=["horse_key", "date"], suffix="_cut")
    assert both.height == honest.levels.height
    np.testing.assert_allclose(both["level_lb"], both["level_lb_cut"], atol=1e-9)
    assert honest.levels["date"].max() == day
    assert read_fit(library.folder).as_of == world.today


def test_fit_is_the_same_twice(world: Invented, library: Library, fit: Fit) -> None:
    """The same results, seed and code give the same bits."""
    again = make_fit(library, world.today, keep_as_latest=True)
    assert again.levels.equals(fit.levels)
    assert again.figures.equals(fit.figures)


def test_a_fit_knows_when_results_have_changed(world: Invented, tmp_path: Path) -> None:
    """A fit is current until a race is added or corrected."""
    opened = Library.create(tmp_path / "library")
    early = world.races.filter(pl.col("date") < date(2025, 1, 1))
    runs = world.runs.filter(pl.col("date") < date(2025, 1, 1))
    importing.add_frames(opened, early, runs, "invented")
    made = make_fit(opened)
    assert is_current(opened, made, latest=True)
    more = world.races.filter(pl.col("date") < date(2025, 2, 1))
    importing.add_frames(opened, more, world.runs.filter(pl.col("date") < date(2025, 2, 1)), "invented")
    assert not is_current(opened, made, latest=True)


def test_manifest_says_what_went_in(fit: Fit, library: Library) -> None:
    """The manifest holds hashes, versions, seed, components, convergence and what the rules did not cover."""
    manifest = json.loads((library.folder / "fits" / str(fit.as_of) / "manifest.json").read_text())
    assert manifest["converged"]
    assert len(manifest["data"]) == 64
    assert {"numpy", "scipy", "upsides"} <= set(manifest["versions"])
    assert set(manifest["components"]) == {"lasting", "passing", "tau", "residual", "persevered"}
    assert any("weight for age" in note for note in manifest["notes"])


def test_making_it_again_would_give_the_same_or_not(library: Library, fit: Fit, tmp_path: Path) -> None:
    """A fit would come out the same as long as results, rules, seed, code and libraries are those it was made from."""
    assert would_be_same(library, fit)
    assert not would_be_same(library, fit, seed=1)
    for other in ({"code": ""}, {"versions": fit.manifest["versions"] | {"numpy": "0"}}, {"data": ""}):
        assert not would_be_same(library, replace(fit, manifest=fit.manifest | other))
    copy = tmp_path / "library"
    shutil.copytree(library.folder, copy)
    assert would_be_same(Library.open(copy), fit)
    (copy / OWN_RULES).write_text(rulebook() + "\n# another line\n")
    assert not would_be_same(Library.open(copy), fit)


def test_an_old_fit_counts_while_its_writer_is_between_two_renames(library: Library, fit: Fit, tmp_path: Path) -> None:
    """A fit that was moved aside for a new one is found and read where it lies."""
    fits = tmp_path / "fits"
    shutil.copytree(library.folder / "fits" / str(fit.as_of), fits / f".{fit.as_of}.old")
    assert read_fit(tmp_path, fit.as_of).levels.equals(fit.levels)
    assert kept_fit(tmp_path, fit.as_of).as_of == fit.as_of


def test_a_missing_or_newer_fit_is_refused(library: Library, fit: Fit, tmp_path: Path) -> None:
    """No fit, and a fit of a newer format, are each refused in words that say what to do."""
    with pytest.raises(FitMissingError, match="upsides fit"):
        read_fit(tmp_path)
    where = library.folder / "fits" / "2030-01-01"
    where.mkdir()
    (where / "manifest.json").write_text('{"format": 99}')
    with pytest.raises(FitNewerError, match="update upsides"):
        read_fit(library.folder, date(2030, 1, 1))


def test_a_fit_that_cannot_be_written_leaves_the_old_one(
    world: Invented, library: Library, fit: Fit, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When the disk fails half-way, the fit that was there still reads and nothing half-written is left."""

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pl.DataFrame, "write_parquet", full)
    with pytest.raises(OSError, match="No space"):
        make_fit(library, world.today, keep_as_latest=True)
    assert read_fit(library.folder).levels.equals(fit.levels)
    assert not [path for path in (library.folder / "fits").iterdir() if path.name.endswith((".new", ".old"))]


def test_two_who_write_a_fit_at_once_take_turns(library: Library, world: Invented, fit: Fit) -> None:
    """While one writes what goes beside its fit, another makes the same fit; both end, and the fit stands whole."""
    began, near, told = Event(), Event(), []

    def slowly(_fit: Fit, folder: Path) -> None:
        began.set()
        near.wait()
        sleep(2.0)
        (folder / "beside.txt").write_text("whole")

    def again() -> None:
        began.wait()
        told.append(make_fit(library, world.today, keep_as_latest=True, progress=soon))

    def soon(done: float, _what: object) -> None:
        if done >= 0.9:
            near.set()

    other = Thread(target=again)
    other.start()
    make_fit(library, world.today, keep_as_latest=True, beside=slowly)
    other.join()
    assert told[0].levels.equals(fit.levels)
    assert read_fit(library.folder).levels.equals(fit.levels)
    assert not [path for path in (library.folder / "fits").iterdir() if path.name.endswith((".new", ".old"))]


def test_rating_counts_the_runs_used(library: Library, fit: Fit) -> None:
    """A rating lists as many figures as runs were used, in order of date, and an unknown horse is refused plainly."""
    key = fit.horses.sort("runs", descending=True)["horse_key"][0]
    rated = rating(library, fit, key)
    assert rated["runs"] == len(rated["figures"]) > 5
    assert rated["figures"] == sorted(rated["figures"], key=lambda run: run["date"])
    json.dumps(rated)
    with pytest.raises(NotRatedError, match="no flat run"):
        rating(library, fit, "invented:none")


def test_too_few_runs_are_refused() -> None:
    """A library of two races is refused: nothing can be learned from it."""
    world = worlds.world()
    keys = world.races["race_key"][:2].implode()
    runs = world.runs.filter(pl.col("race_key").is_in(keys)).with_columns(horse_key="source_horse")
    with pytest.raises(CannotFitError, match="add more results"):
        fitting.fit_levels(world.races[:2], runs)


def test_chances_of_a_field(world: Invented, library: Library) -> None:
    """Chances sum to one, more weight lowers a horse's chance, and a runner named twice is refused."""
    races, runs = library.races(world.today).collect(), library.runs(world.today).collect()
    levels = fitting.fit_levels(races, runs, overrides=read_overrides(library.folder / OWN_RULES))
    keys = list(levels.horse_keys[:8])
    day = float((world.today - date(1970, 1, 1)).days)
    even = field.field_chances(levels, keys, day, np.full(8, 126.0))
    assert even.win.sum() == pytest.approx(1.0)
    assert even.first_three.sum() == pytest.approx(3.0, abs=1e-6)
    heavier = np.full(8, 126.0)
    heavier[0] += 10.0
    assert field.field_chances(levels, keys, day, heavier).win[0] < even.win[0]
    with pytest.raises(CannotFitError, match="twice"):
        field.field_chances(levels, [keys[0], keys[0]], day, np.full(2, 126.0))


def test_debutants_get_honest_ranges(world: Invented, library: Library) -> None:
    """80 % ranges of horses predicted from their first entry alone cover about that (65 to 95 %) of their true levels.

    The fit ends half a year before the invented today; the debutants are those that ran first after it. In this world a
    first entry says little of a horse, so only the ranges are judged here; see the real table for the rest.
    """
    day = world.today - timedelta(days=180)
    races, runs = library.races().collect(), library.runs().collect()
    own = read_overrides(library.folder / OWN_RULES)
    levels = fitting.fit_levels(races.filter(pl.col("date") < day), runs.filter(pl.col("date") < day), overrides=own)
    first = runs.sort("date").group_by("horse_key", maintain_order=True).first().filter(pl.col("date") >= day)
    first = first.join(races.select("race_key", "prize", "rating_low", "rating_high"), on="race_key")
    mean, sd = field.debut_of(levels).levels(first)
    true = world.truth.filter(pl.col("race_key").is_not_null()).select("race_key", "level_lb", horse_key="source_horse")
    both = first.with_columns(mean=mean, sd=sd).join(true, on=["race_key", "horse_key"])
    off = both["mean"] - both["level_lb"]
    assert both.height > 30
    assert 0.65 < float(((off - float(off.mean())).abs() < 1.2816 * both["sd"]).mean()) < 0.95


def test_what_a_fit_says_of_debutants_is_kept_with_it(library: Library, fit: Fit) -> None:
    """Read back from beside a fit, horses that have not run are worth what the fit says, to 1e-10; an older fit that
    kept nothing of them says nothing."""
    kept = read_fit(library.folder, fit.as_of)
    first = library.runs().head(40).collect().with_columns(pl.lit(None, pl.Float64).alias("rating_low"))
    first = first.with_columns(prize=pl.lit(None, pl.Float64), rating_high=pl.lit(None, pl.Float64))
    assert fit.debut is not None
    assert kept.debut is not None
    for mine, theirs in zip(fit.debut.levels(first), kept.debut.levels(first), strict=True):
        assert theirs == pytest.approx(mine, abs=1e-10)
    assert read_debut(library.folder) is None


def test_weight_is_worth_what_the_simulator_charges(library: Library, world: Invented, fit: Fit) -> None:
    """The invented country charges a pound of margin for a pound carried, and the fit finds 1 within four errors."""
    worth = fit.manifest["weight_worth"]
    assert abs(worth["value"] - 1.0) < 4 * worth["se"]


def test_book_figures_follow_the_published_arithmetic(library: Library, world: Invented, fit: Fit) -> None:
    """Within a race two runs differ by the book as their weights less their margins in pounds differ.

    The arithmetic is that of the British worked example (R = R_ref + (w - w_ref) - lb a length x lengths); the margins
    are divided by the race's own spread, which is one for the whole race.
    """
    own = read_overrides(library.folder / OWN_RULES)
    table = performances(library.races().collect(), library.runs().collect(), own).runs
    both = fit.figures.join(table.select("race_key", "horse_key", "lb"), on=["race_key", "horse_key"])
    gap = both.select(
        (pl.col("book_lb") - pl.col("book_lb").mean().over("race_key"))
        - (pl.col("lb") - pl.col("lb").mean().over("race_key"))
    )
    assert float(gap.to_series().abs().max()) < 1e-9
