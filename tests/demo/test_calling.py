"""What was called in the invented yard: by whom, when, and with which habits."""

from datetime import timedelta

import numpy as np
import polars as pl
import pytest
from scipy.special import logit

from upsides.demo import Books, Invented
from upsides.demo.yardbooks.calling import OFFERED, SINCE
from upsides.demo.yardbooks.going import hours_to


@pytest.fixture(scope="module")
def shown(invented: Invented, books: Books) -> pl.DataFrame:
    """Calls of fit and first four before a race, with how it ran: place, and its deviation from its own mean, lb."""
    calls = books.calls.with_columns(date=pl.col("recorded_at").dt.date() + timedelta(days=2))
    truth = invented.truth.drop_nulls("race_key").with_columns(
        off=pl.col("figure_lb")
        - pl.col("level_lb")
        - (pl.col("figure_lb") - pl.col("level_lb")).mean().over("source_horse")
    )
    ran = invented.runs.filter(pl.col("outcome") != "withdrawn").select("source_horse", "date", "position")
    told = calls.join(ran, on=["source_horse", "date"]).join(truth, on=["source_horse", "date"])
    return told.select("author", "about", "chance", "position", "off")


def of(shown: pl.DataFrame, author: str, about: str) -> pl.DataFrame:
    return shown.filter(pl.col("author") == author, pl.col("about") == about)


def test_calls_are_made_within_the_year_of_horses_in_the_yard(invented: Invented, books: Books) -> None:
    """Each is of the last year, by trainer or assistant, of a horse that the yard had, and says a chance on offer."""
    stays = invented.stays.select("source_horse", "joined", "left")
    told = books.calls.join(stays, on="source_horse").with_columns(date=pl.col("recorded_at").dt.date())
    until = pl.col("left").fill_null(invented.today + timedelta(days=1))
    assert told.filter(~pl.col("date").is_between("joined", until)).is_empty()
    assert told["date"].min() >= invented.today - SINCE  # type: ignore[operator]  # a date
    assert told["date"].max() < invented.today  # type: ignore[operator]  # likewise
    assert set(told["chance"].unique()) <= set(OFFERED.tolist())
    roles = dict(invented.people.select("login", "roles").iter_rows())
    assert {roles[author][0] for author in told["author"].unique()} == {"trainer", "assistant"}
    assert told.filter((pl.col("about") == "trip") != pl.col("trip_f").is_not_null()).is_empty()
    once = ["author", "source_horse", "about", "date"]
    assert told.unique(once).height == told.height


def test_the_trainer_knows_something_and_is_too_sure(invented: Invented, shown: pl.DataFrame) -> None:
    """Horses called fit ran better than those called unfit; said chances lie further out than what came of them.

    With bands of chance said and the share that came true, the slope of the log odds is below one.
    """
    trainer = invented.people["login"][0]
    fit = of(shown, trainer, "fit")
    high, low = fit.filter(pl.col("chance") > 0.5)["off"], fit.filter(pl.col("chance") < 0.5)["off"]
    assert float(high.mean()) > float(low.mean())  # type: ignore[arg-type]  # there are some
    first = of(shown, trainer, "first four").with_columns(came=pl.col("position").fill_null(99) <= 4)
    bands = first.group_by("chance").agg(share=pl.col("came").mean(), count=pl.len()).filter(pl.col("count") >= 10)
    x = logit(bands["chance"].to_numpy())
    y = logit(np.clip(bands["share"].to_numpy(), 0.02, 0.98))
    assert 0.2 < float(np.polyfit(x, y, 1, w=np.sqrt(bands["count"].to_numpy()))[0]) < 1.0


def test_the_assistant_is_sure_of_less(invented: Invented, shown: pl.DataFrame) -> None:
    """What the assistant says of fitness lies nearer to a half than what the trainer says."""
    trainer = invented.people["login"][0]
    other = next(one for one in shown["author"].unique().sort() if one != trainer)
    spread = [float((of(shown, one, "fit")["chance"] - 0.5).abs().mean()) for one in (trainer, other)]  # type: ignore[arg-type]  # there are some
    assert spread[1] < 0.9 * spread[0]


def test_a_course_is_as_far_away_every_time(invented: Invented, books: Books) -> None:
    """Journeys say their hours: one to five, for each course always the same."""
    travelled = books.diary.filter(pl.col("kind") == "travel")["values"].str.json_decode(
        pl.Struct({"to": pl.String, "hours": pl.Float64})
    )
    told = travelled.struct.unnest().unique()
    assert told["to"].n_unique() == told.height
    assert all(hours == hours_to(to) and 1.0 <= hours <= 5.0 for to, hours in told.iter_rows())
    assert invented.races["course"].n_unique() >= told.height
