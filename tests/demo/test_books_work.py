"""Work in the invented yard's diary, held to the truth of its racing."""

from datetime import date, timedelta

import polars as pl
import pytest

from upsides.demo import Books, Invented

FAST = ("fast", "half_speed")


@pytest.fixture(scope="module")
def work(invented: Invented, books: Books) -> pl.DataFrame:
    """What every horse did, a day a row: source_horse, date, exercise, gallop, rider, furlongs, lot, upsides."""
    return _told(invented, books, "exercise")


@pytest.fixture(scope="module")
def ran(invented: Invented) -> pl.DataFrame:
    """The starts of the yard's horses while it had them: source_horse, date."""
    started = invented.runs.filter(pl.col("outcome") != "withdrawn").join(invented.stays, on="source_horse")
    until = pl.col("left").fill_null(invented.today)
    return started.filter(pl.col("date").is_between("joined", until, closed="left")).select("source_horse", "date")


def _told(invented: Invented, books: Books, kind: str) -> pl.DataFrame:
    fields = {
        "exercise": pl.String,
        "gallop": pl.String,
        "rider": pl.String,
        "furlongs": pl.Float64,
        "lot": pl.Int64,
        "upsides": pl.List(pl.String),
    }
    told = books.diary.filter(pl.col("kind") == kind)
    day = pl.col("happened_at").dt.convert_time_zone(invented.yard.zone).dt.date()
    return told.select("source_horse", day.alias("date"), pl.col("values").str.json_decode(pl.Struct(fields))).unnest(
        "values"
    )


def test_a_horse_does_one_thing_a_day(work: pl.DataFrame) -> None:
    """No horse has two exercises on a day."""
    assert not work.select("source_horse", "date").is_duplicated().any()


def test_on_race_days_a_horse_races_and_does_nothing_else(work: pl.DataFrame, ran: pl.DataFrame) -> None:
    """Every start stands in the diary as a race, with no work at home that day, and no race stands there besides."""
    raced = work.filter(pl.col("exercise") == "race").select("source_horse", "date")
    assert raced.sort("source_horse", "date").equals(ran.sort("source_horse", "date"))


def test_fast_work_is_the_truths(invented: Invented, work: pl.DataFrame) -> None:
    """In every whole week that a horse was there it did fast work on exactly as many days as the truth has."""
    fast = work.filter(pl.col("exercise").is_in(FAST))
    assert fast.filter(pl.col("date").dt.weekday() == 7).height == 0
    weeks = invented.work.join(invented.stays.select("source_horse", "joined", "left"), on="source_horse")
    end = pl.col("week") + timedelta(days=7)
    whole = weeks.filter(
        pl.col("week") >= pl.max_horizontal("joined", pl.lit(invented.first)),
        end <= pl.col("left").fill_null(date(2100, 1, 1)),
        end <= invented.today,
    ).sort("week")
    known = whole.select("source_horse", "week")
    done = fast.sort("date").join_asof(
        known, left_on="date", right_on="week", by="source_horse", strategy="backward", check_sortedness=False
    )
    done = done.filter(pl.col("date") < pl.col("week") + timedelta(days=7)).group_by("source_horse", "week").len()
    both = whole.join(done, on=["source_horse", "week"], how="left").with_columns(pl.col("len").fill_null(0))
    assert both.height > 10_000
    assert (both["len"] == both["fast"]).all()


def test_sprinters_work_short_and_uphill(invented: Invented, work: pl.DataFrame) -> None:
    """Fast work of horses best below seven furlongs goes over 3 to 3.5 furlongs, mostly on the rising woodchip."""
    sprinters = invented.truth_horses.filter(pl.col("best_trip_m") < 1390)["source_horse"]
    fast = work.filter(pl.col("source_horse").is_in(sprinters.implode()), pl.col("exercise") == "fast")
    assert fast["furlongs"].is_between(3.0, 3.5).all()
    assert (fast["gallop"] == "Kestrel Rise").mean() > 0.8


def test_a_vets_advice_is_kept(invented: Invented, books: Books, work: pl.DataFrame) -> None:
    """While a vet's advice stood no horse did what it forbade, and none raced."""
    fields = {"advice": pl.String, "until": pl.String}
    told = books.diary.filter(pl.col("kind") == "vet_finding")
    advice = told.select("source_horse", begin=pl.col("happened_at").dt.date(),
                         said=pl.col("values").str.json_decode(pl.Struct(fields))).unnest("said")  # fmt: skip
    advice = advice.drop_nulls("advice").with_columns(pl.col("until").str.to_date())
    during = work.join(advice, on="source_horse").filter(pl.col("date").is_between("begin", "until"))
    allowed = {"walk": {"walk"}, "box": {"box"}, "no_fast_work": {"hack_canter", "off", "walker", "walk", "led"}}
    assert advice.height > 30
    assert {row for row in during.select("advice", "exercise").rows() if row[1] not in allowed[row[0]]} == set()
    assert (advice["until"] == invented.today).sum() == 1


def test_who_rides_works_that_day(books: Books, work: pl.DataFrame) -> None:
    """Riders ride on weekdays on which they ride, not on days off, and one horse a lot."""
    ridden = work.drop_nulls("rider").with_columns(weekday=pl.col("date").dt.weekday().cast(pl.Int64) - 1)
    hours = books.shifts.filter("rides").select("weekday", rider="login").unique()
    assert ridden.join(hours, on=["rider", "weekday"], how="anti").height == 0
    off = ridden.join(books.days_off, left_on="rider", right_on="login")
    assert off.filter(pl.col("date").is_between("first_day", "last_day")).height == 0
    assert not ridden.select("date", "lot", "rider").is_duplicated().any()


def test_riders_keep_to_the_rules_of_the_lots(invented: Invented, books: Books, work: pl.DataFrame) -> None:
    """Nobody rides a horse that his weight or skill is not for, no two that never go together share a lot.

    The rules are read from the books as they were written, as a plan of lots is held to them.
    """
    known = books.people.select(rider="login", weighs="weight_kg", rides="skill", born="born")
    ridden = work.drop_nulls("rider").join(known, on="rider").with_columns(pl.col("weighs").fill_null(float("inf")))
    asked = ridden.join(books.cautions, on="source_horse").filter(pl.col("date") >= pl.col("first_day"))
    assert asked.filter(pl.col("weighs") > pl.col("heaviest_kg")).height == 0
    assert asked.filter(pl.col("rides") < pl.col("skill")).height == 0
    assert asked["heaviest_kg"].drop_nulls().len() > 1000
    young = ridden.filter(pl.col("born").dt.offset_by("18y") > invented.today)
    assert young.height > 100
    assert young.filter(pl.col("exercise") == "fast").height == 0
    assert young.group_by("rider", "date").len()["len"].max() <= 3
    foes = books.cautions.drop_nulls("apart_from").select("source_horse", "apart_from").rows()
    lots = [work.filter(pl.col("source_horse") == one).select("date", "lot").drop_nulls() for one in foes[0]]
    assert len(foes) == 1
    assert lots[0].join(lots[1], on=["date", "lot"]).height == 0


def test_upsides_is_mutual_and_of_equals(invented: Invented, work: pl.DataFrame) -> None:
    """Who goes upsides does the same work in one lot on one gallop over the same ground; most are within a stone."""
    pairs = work.explode("upsides").drop_nulls("upsides")
    both = pairs.join(pairs, left_on=["upsides", "date"], right_on=["source_horse", "date"], suffix="_other")
    assert both.height == pairs.height > 5000
    for same in ("exercise", "lot", "gallop", "furlongs"):
        assert (both[same] == both[f"{same}_other"]).all()
    level = dict(invented.truth_horses.select("source_horse", "mature_lb").rows())
    apart = pl.Series([abs(level[one] - level[other]) for one, other in pairs.select("source_horse", "upsides").rows()])
    assert float(apart.quantile(0.75)) < 14


def test_today_is_ordered(invented: Invented, books: Books) -> None:
    """Every horse that is in training today has its work ordered; one runs, and a good part goes out with a rider."""
    ordered = _told(invented, books, "ordered").filter(pl.col("date") == invented.today)
    away = books.moves.sort("first_day").unique("source_horse", keep="last").filter(pl.col("to") != "training")
    here = set(invented.string["source_horse"]) - set(away["source_horse"])
    assert set(ordered["source_horse"]) == here
    assert (ordered["exercise"] == "race").sum() == 1
    assert (ordered["exercise"] == "walk").sum() >= 1
    assert ordered["rider"].drop_nulls().len() > 0.6 * ordered.height
    assert ordered["upsides"].list.len().fill_null(0).sum() >= 10


def test_hardly_anybody_works_fast_two_days_running(work: pl.DataFrame) -> None:
    """Fast work on the day after fast work is rare, of late as before."""
    fast = work.filter(pl.col("exercise").is_in(FAST)).sort("source_horse", "date")
    running = fast.select(days=pl.col("date").diff().dt.total_days().over("source_horse"), date="date").drop_nulls()
    assert (running["days"] == 1).mean() < 0.06
    assert (running.filter(pl.col("date") > running["date"].max() - timedelta(days=2))["days"] == 1).mean() < 0.06


def test_young_horses_learn_the_stalls_once(invented: Invented, books: Books) -> None:
    """Lessons at the stalls come before the first race, at most eight a horse, the last with the test."""
    lessons = books.diary.filter(pl.col("kind") == "stalls").with_columns(date=pl.col("happened_at").dt.date())
    first = (
        invented.runs.filter(pl.col("outcome") != "withdrawn").group_by("source_horse").agg(ran=pl.col("date").min())
    )
    both = lessons.join(first, on="source_horse", how="left")
    assert (both["date"] < both["ran"].fill_null(invented.today)).all()
    assert int(lessons["source_horse"].value_counts()["count"].max()) == 8
    tests = lessons.filter(pl.col("values").str.contains('"test"'))
    assert 5 < tests.height == tests["source_horse"].n_unique()
    assert lessons.filter(pl.col("values").str.contains('"broke":\\s*"slow"')).height > 3


def test_most_horses_are_ridden_by_their_usual_riders(invented: Invented, books: Books, work: pl.DataFrame) -> None:
    """In the last weeks whoever rode a horse most in four weeks rides it on most mornings, else mostly for a reason."""
    ridden = work.drop_nulls("rider").filter(pl.col("date") > invented.today - timedelta(days=56))
    shares = []
    for back in range(1, 25):
        day = invented.today - timedelta(days=back)
        past = ridden.filter(pl.col("date").is_between(day - timedelta(days=28), day, closed="left"))
        most = past.group_by("source_horse", "rider").len().sort("len", "rider", descending=[True, False])
        usual = most.unique("source_horse", keep="first").select("source_horse", usual="rider")
        own = ridden.filter(pl.col("date") == day).join(usual, on="source_horse")
        there = set(own["rider"])
        if own.height:
            by = own.select((pl.col("rider") == pl.col("usual")).mean()).item()
            shares.append((by, own.filter(pl.col("rider") != pl.col("usual"), pl.col("usual").is_in(there)).height))
    assert all(0.6 < share < 0.97 for share, _ in shares)
    assert 0.65 < sum(share for share, _ in shares) / len(shares) < 0.85
    assert max(elsewhere for _, elsewhere in shares) <= 12


def test_the_last_days_keep_the_yards_days_between_fast_works(invented: Invented, books: Books) -> None:
    """Who works fast yesterday or today has neither worked fast nor raced in the two days before."""
    told = pl.concat([_told(invented, books, "exercise"), _told(invented, books, "ordered")])
    quick = told.filter(pl.col("exercise").is_in([*FAST, "race"]))
    days = quick.select("source_horse", "date", "exercise").unique().sort("source_horse", "date")
    gaps = days.with_columns(since=pl.col("date").diff().dt.total_days().over("source_horse"))
    late = gaps.filter(pl.col("date") >= invented.today - timedelta(days=1), pl.col("exercise") != "race")
    assert late.height > 30
    assert (late["since"].fill_null(99) >= 3).all()
