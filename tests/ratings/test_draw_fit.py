"""The draw of a library: known truth of the invented country, days that differ, and what is never claimed."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from upsides.errors import CannotFitError, DrawMissingError, DrawNewerError
from upsides.ratings.draw.fitting import DrawFit, draw_rows, fit_draw, ground
from upsides.ratings.draw.kept import MANIFEST, read_draw, write_draw
from upsides.ratings.draw.restless import restlessness
from upsides.ratings.draw.slopes import race_slopes
from upsides.ratings.draw.worth import Start, draw_at, slope_at
from upsides.results.schema import RACES, RUNS, polars_schema
from worlds import world

DAY = date(2025, 6, 1)
TURF_1000 = Start("Strandwick", 1000.0, "turf", bend="straight")


def results(slopes: dict[str, float], races: int, seed: int, sd: float = 0.0, runners: int = 12) -> tuple:
    """Return races, runs and figures of courses with a known slope over 1000 m, lb, and `sd` from race to race."""
    rng = np.random.default_rng(seed)
    about, ran, worth = [], [], []
    for course, slope in slopes.items():
        for k in range(races):
            key, day = f"{course}{k}", DAY - timedelta(days=3 + 3 * k)
            about.append({"race_key": key, "date": day, "course": course, "surface": "turf", "distance_m": 1000.0})
            today = slope + rng.normal(0, sd)
            for stall in range(1, runners + 1):
                horse = f"{key}-{stall}"
                ran.append({"race_key": key, "horse_key": horse, "outcome": "finished", "started_from": stall})
                beyond = today * ((stall - 1) / (runners - 1) - 0.5) + rng.normal(0, 7)
                worth.append({"race_key": key, "horse_key": horse, "figure_lb": 70 + beyond, "expected_lb": 70.0})
    schema = polars_schema(RUNS) | {"horse_key": pl.String}
    return (
        pl.DataFrame(about, schema=polars_schema(RACES)),
        pl.DataFrame(ran, schema=schema),
        pl.DataFrame(worth),
    )


@pytest.fixture(scope="module")
def two_courses() -> DrawFit:
    """A course with high numbers well drawn and one where the draw does nothing."""
    return fit_draw(*results({"Strandwick": 8.0, "Larkmoor": 0.0}, 60, 3), DAY)


def test_known_slopes_of_the_invented_country_lie_inside_their_ranges() -> None:
    """Of the starts of the invented country about four in five have their true slope in the range for four in five."""
    w = world()
    runs = w.runs.with_columns(horse_key="source_horse")
    luck = pl.col("figure_lb") - pl.col("draw_lb") - pl.col("luck_lb")
    figures = w.truth.select("race_key", "figure_lb", horse_key="source_horse", expected_lb=luck)
    fit = fit_draw(w.races, runs, figures.drop_nulls("race_key"), w.today)
    surface = dict(w.races.select("course", "surface").unique().rows())
    off = []
    for course, metres, slope in w.truth_draws.rows():
        found = slope_at(fit.draw, Start(course, metres, surface[course], runners=12))
        off.append((found.mean - slope * 12 / 16) / found.sd)
    assert 0.6 < (np.abs(off) < 1.2816).mean() < 0.95
    assert np.sqrt(np.mean(np.square(off))) < 1.5


def test_a_start_with_many_races_keeps_its_slope(two_courses: DrawFit) -> None:
    """Sixty races of twelve tell a slope of 8 lb from none; each stall stands by its share of it, in lengths too."""
    found = draw_at(two_courses, TURF_1000)
    assert found.slope.mean == pytest.approx(8.0, abs=3 * found.slope.sd)
    assert found.slope.known_by == "start"
    assert found.slope.races == 60
    assert found.across[1] > 2.0
    assert abs(slope_at(two_courses.draw, replace(TURF_1000, course="Larkmoor")).mean) < 3.0
    assert found.stalls[-1].lb == pytest.approx(found.slope.mean / 2)
    assert sum(one.lb for one in found.stalls) == pytest.approx(0.0, abs=1e-9)
    assert found.stalls[0].lengths == pytest.approx(found.stalls[0].lb / found.lb_per_length)
    assert found.lb_per_length == pytest.approx(3.0, abs=0.1)


def test_few_races_say_next_to_nothing() -> None:
    """Of forty-two races two are at a start of 12 lb: it is drawn to the rest, and its range is wide."""
    races, runs, figures = (
        pl.concat(pair)
        for pair in zip(results({"Larkmoor": 0.0}, 40, 5), results({"Strandwick": 12.0}, 2, 6), strict=True)
    )
    found = slope_at(fit_draw(races, runs, figures, DAY).draw, TURF_1000)
    assert abs(found.mean) < 6.0
    assert found.mean - 1.2816 * found.sd < 0.0


def test_no_draw_is_no_draw() -> None:
    """Where stalls do nothing no start is said to be one-sided, and days are said to differ by little."""
    fit = fit_draw(*results({"Strandwick": 0.0, "Larkmoor": 0.0, "Netherby Sands": 0.0}, 30, 7), DAY)
    for course in ("Strandwick", "Larkmoor", "Netherby Sands"):
        found = slope_at(fit.draw, replace(TURF_1000, course=course))
        assert abs(found.mean) < 2.5 * found.sd
        assert abs(found.mean) < 2.0


def test_a_place_never_raced_at_is_answered_from_above_and_less_surely(two_courses: DrawFit) -> None:
    """A trip never run at a course is answered by the course, a course never seen by the library, each less surely."""
    start, course, library = (
        slope_at(two_courses.draw, one)
        for one in (TURF_1000, replace(TURF_1000, distance_m=1400.0), replace(TURF_1000, course="Farwick"))
    )
    assert [one.known_by for one in (start, course, library)] == ["start", "course", "library"]
    assert start.sd < course.sd < library.sd


def test_days_that_differ_widen_the_day_to_come_and_not_the_mean() -> None:
    """Where slopes differ by 7 lb from race to race, the day to come is that wide, and knowing no stall costs more."""
    races, runs, figures = (
        pl.concat(pair)
        for pair in zip(results({"Strandwick": 3.0}, 120, 8, sd=7.0), results({"Larkmoor": 3.0}, 120, 9), strict=True)
    )
    fit = fit_draw(races, runs, figures, DAY)
    changing, steady = (draw_at(fit, replace(TURF_1000, course=name)) for name in ("Strandwick", "Larkmoor"))
    assert changing.slope.day_sd == pytest.approx(7.0, abs=1.8)
    assert steady.slope.day_sd < 3.5
    assert changing.spread_lb > 1.5 * steady.spread_lb


def test_the_spread_before_the_draw_is_that_of_stalls_drawn_by_lot(two_courses: DrawFit) -> None:
    """It is the standard deviation of a stall's worth with stall, slope and day drawn anew, to four standard errors."""
    found = draw_at(two_courses, TURF_1000)
    rng = np.random.default_rng(4)
    slope = rng.normal(found.slope.mean, found.slope.day_sd, 200_000)
    drawn = slope * (rng.integers(0, 12, 200_000) / 11 - 0.5)
    assert found.spread_lb == pytest.approx(drawn.std(), abs=4 * drawn.std() / np.sqrt(2 * 200_000))


def test_stalls_of_before_the_change_are_turned_round() -> None:
    """Races of 2010 at a right-handed British course count from the side from which stalls are numbered today."""
    races, runs, figures = results({"Strandwick": 0.0}, 25, 10)
    old = races.with_columns(date=pl.lit(date(2010, 6, 1)), country=pl.lit("GB"), bend=pl.lit("right"))
    before = draw_rows(old, runs, figures, date(2010, 7, 1))["across"]
    after = draw_rows(old, runs, figures, date(2020, 7, 1))["across"]
    assert after.to_list() == (-before).to_list()


def test_the_break_is_told_at_bends_and_on_straights() -> None:
    """Where front runners gain 10 lb on straights and 4 round bends, both are found, at the same stall."""
    races, runs, figures = results({"Strandwick": 0.0, "Larkmoor": 0.0}, 60, 11)
    rng = np.random.default_rng(12)
    order = [int(k) + 1 for _ in range(120) for k in rng.permutation(12)]
    runs = runs.with_columns(section_position=pl.Series([[k] for k in order], dtype=pl.List(pl.Int16)))
    straight = figures["race_key"].str.starts_with("Strandwick").to_numpy()
    gain = np.where(straight, 10.0, 4.0) * (0.5 - (np.array(order) - 1) / 11)
    figures = figures.with_columns(figure_lb=figures["figure_lb"].to_numpy() + gain)
    bend = pl.when(pl.col("course") == "Strandwick").then(pl.lit("straight")).otherwise(pl.lit("left"))
    found = draw_at(fit_draw(races.with_columns(bend=bend), runs, figures, DAY), TURF_1000)
    assert found.away is not None
    assert found.away.mean == pytest.approx(10.0, abs=3 * found.away.sd)
    assert found.away_straight is not None
    assert found.away_bend is not None
    assert found.away_straight.mean > found.away_bend.mean + 1.0


def test_a_draw_is_read_back_as_it_was_kept(two_courses: DrawFit, tmp_path: Path) -> None:
    """Written and read back every answer is the same; a newer format, and no draw, are refused in words."""
    place = tmp_path / "fits" / str(DAY)
    place.mkdir(parents=True)
    with pytest.raises(DrawMissingError, match="fit again"):
        read_draw(tmp_path, DAY)
    write_draw(two_courses, place)
    assert draw_at(read_draw(tmp_path, DAY), TURF_1000) == draw_at(two_courses, TURF_1000)
    manifest = place / MANIFEST
    manifest.write_text(manifest.read_text().replace('"format": 1', '"format": 2'))
    with pytest.raises(DrawNewerError, match="format 2"):
        read_draw(tmp_path, DAY)


def test_too_few_races_are_refused() -> None:
    """Nineteen races with a full draw are too few, and races without stalls are none."""
    races, runs, figures = results({"Strandwick": 3.0}, 19, 13)
    with pytest.raises(CannotFitError, match="only 19 races"):
        fit_draw(races, runs, figures, DAY)
    with pytest.raises(CannotFitError, match="full draw"):
        fit_draw(races, runs.with_columns(started_from=pl.lit(None, pl.Int16)), figures, DAY)


def test_goings_are_told_apart_as_the_draw_needs() -> None:
    """On turf faster than good, good and slower; elsewhere, and where no word is known, as written."""
    assert [ground(g, "turf") for g in ("good to firm", "Good", "yielding", "Foul", "")] == [
        "faster", "good", "slower", "foul", "",
    ]  # fmt: skip
    assert ground("Good", "dirt") == "good"


def test_a_races_slope_is_least_squares_within_it() -> None:
    """Slopes are numpy's of each race by itself, whatever is added to a race as a whole."""
    rng = np.random.default_rng(14)
    race = np.repeat(np.arange(30), 9)
    x, y = rng.uniform(-0.5, 0.5, (270, 1)), rng.uniform(-3, 3, 270)
    found = race_slopes(x, y + 50.0 * race, race)
    alone = [np.polyfit(x[race == r, 0], y[race == r], 1)[0] for r in range(30)]
    assert found.slope[:, 0] == pytest.approx(alone, abs=1e-9)


def test_restless_starts_are_found_and_few_races_believed_little() -> None:
    """A start whose days differ by 8 lb is more restless than one by 1; one with two races counts as usual."""
    rng = np.random.default_rng(15)
    starts = [("a",)] * 150 + [("b",)] * 150 + [("c",)] * 2
    luck = np.full(302, 36.0)
    slope = rng.normal(0, np.sqrt(luck + np.r_[np.full(150, 64.0), np.full(150, 1.0), 900.0, 900.0]))
    found = restlessness(slope, luck, starts)
    assert found["a",] > 2 * found["b",]
    assert found["c",] == pytest.approx(1.0, abs=0.4)
