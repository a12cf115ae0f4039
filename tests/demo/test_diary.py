"""The invented yard's diary: its order, its moments, its values, and who wrote it."""

from datetime import UTC, datetime, time, timedelta

import polars as pl
import pytest

from upsides.books.diary import KINDS, kind_of
from upsides.books.models import Role
from upsides.books.services.invented_diary import kept_values
from upsides.demo import Books, Invented

COLUMNS = {
    "entry": pl.Int64,
    "kind": pl.String,
    "source_horse": pl.String,
    "gallop": pl.String,
    "author": pl.String,
    "happened_at": pl.Datetime("us", "UTC"),
    "made_at": pl.Datetime("us", "UTC"),
    "recorded_at": pl.Datetime("us", "UTC"),
    "values": pl.String,
    "supersedes": pl.Int64,
}
A_KIND = 60
"""So many entries of each kind are read back."""
NOT_WRITTEN = {"accident", "gene_test", "picture", "shape", "tape"}
"""Kinds that the invented yard has nothing of."""


@pytest.fixture(scope="module")
def diary(books: Books) -> pl.DataFrame:
    return books.diary


@pytest.fixture(scope="module")
def numbers(books: Books) -> dict[str, dict[str, int]]:
    """Numbers as the books would give them."""
    called = {"person": books.people["login"], "horse": books.horses["source_horse"], "gallop": books.gallops["name"]}
    return {what: {name: i for i, name in enumerate(names, start=1)} for what, names in called.items()}


def test_columns(diary: pl.DataFrame) -> None:
    """The diary has its columns and types, and entries are numbered from 1 as they were recorded."""
    assert dict(diary.schema) == COLUMNS
    assert diary["entry"].to_list() == list(range(1, diary.height + 1))
    assert diary["recorded_at"].is_sorted()


def test_it_is_full_and_no_fuller(diary: pl.DataFrame) -> None:
    """Seasons of every kind of entry that a yard writes, in about 150,000 entries; most of them work."""
    counted = dict(diary["kind"].value_counts().rows())
    assert set(counted) == set(KINDS) - NOT_WRITTEN
    assert 130_000 < diary.height < 158_000
    assert counted["exercise"] > 0.4 * diary.height
    least = {"temperature": 10_000, "mass": 10_000, "farrier": 2000, "vaccination": 1000, "bloods": 400, "ordered": 150}
    assert {kind: counted[kind] for kind, count in least.items() if counted[kind] < count} == {}


def test_it_ends_this_morning(invented: Invented, diary: pl.DataFrame) -> None:
    """Nothing is recorded after 05:00 UTC of today; of today's horses some were looked at, and one barn was not."""
    assert diary["recorded_at"].max() <= datetime.combine(invented.today, time(5), UTC)
    days = diary["happened_at"].dt.convert_time_zone(invented.yard.zone).dt.date()
    seen = diary.filter(days == invented.today, pl.col("kind").is_in(["as_usual", "looked_at"]))
    barns = dict(invented.string.join(seen, on="source_horse").group_by("barn").len().rows())
    assert len(barns) == len(invented.yard.barns) - 1
    assert 20 < sum(barns.values()) < invented.string.height


def test_moments_are_in_order_and_some_came_late(invented: Invented, diary: pl.DataFrame) -> None:
    """A thing happens, is entered, is recorded, in this order; work is ordered on the evening before; a few waited."""
    done = diary.filter(pl.col("kind") != "ordered")
    assert (done["made_at"] >= done["happened_at"]).all()
    assert (diary["recorded_at"] >= diary["made_at"]).all()
    ordered = diary.filter(pl.col("kind") == "ordered")
    local = [pl.col(name).dt.convert_time_zone(invented.yard.zone).dt.date() for name in ("happened_at", "made_at")]
    assert (ordered.select(local[0] - local[1]).to_series() == timedelta(days=1)).all()
    late = (diary["recorded_at"] - diary["made_at"] > timedelta(hours=1)).mean()
    assert 0.01 < float(late or 0) < 0.06


def test_values_are_those_of_their_kinds(diary: pl.DataFrame, numbers: dict[str, dict[str, int]]) -> None:
    """Entries of every kind are kept as the kind keeps them, say something, and typed anew come out the same."""
    for (kind,), rows in diary.group_by("kind"):
        of = kind_of(str(kind))
        for text in rows["values"].sample(min(A_KIND, rows.height), seed=1):
            values = kept_values(str(kind), text, numbers)
            entry = of.kept_as(values)
            assert entry.kept() == values
            assert entry.words().endswith(".")
            assert of.parse(entry.typed()) == entry


def test_entries_are_about_what_their_kind_is_about(diary: pl.DataFrame) -> None:
    """A horse, a gallop, or neither, as the kind has it."""
    about = pl.col("kind").replace_strict({name: kind.about for name, kind in KINDS.items()})
    wrong = diary.filter(
        ((about == "horse") != pl.col("source_horse").is_not_null())
        | ((about == "gallop") != pl.col("gallop").is_not_null())
    )
    assert wrong.height == 0


def test_who_writes_may_write_it(books: Books, diary: pl.DataFrame) -> None:
    """Everybody who wrote an entry has a role that may enter its kind."""
    roles = {login: {Role(role) for role in has} for login, has in books.people.select("login", "roles").rows()}
    pairs = diary.select("author", "kind").unique().rows()
    assert [(author, kind) for author, kind in pairs if not roles[author] & KINDS[kind].by] == []


def test_nobody_works_on_a_day_off(invented: Invented, books: Books, diary: pl.DataFrame) -> None:
    """Nobody with hours entered anything on a day off or on a weekday without a shift."""
    day = pl.col("made_at").dt.convert_time_zone(invented.yard.zone).dt.date()
    wrote = diary.select("author", day.alias("day"), (day.dt.weekday() - 1).alias("weekday")).unique()
    hours = books.shifts.select(author="login", weekday="weekday").unique()
    bound = wrote.filter(pl.col("author").is_in(hours["author"].implode()))
    assert bound.join(hours, on=["author", "weekday"], how="anti").height == 0
    off = bound.join(books.days_off, left_on="author", right_on="login")
    assert off.filter(pl.col("day").is_between("first_day", "last_day")).height == 0


def test_corrections_put_a_wrong_measurement_right(diary: pl.DataFrame) -> None:
    """Some measurements were corrected, by the same person of the same horse and moment, soon and to another value."""
    new = diary.drop_nulls("supersedes")
    both = new.join(diary, left_on="supersedes", right_on="entry", suffix="_old")
    assert both.height == new.height > 5
    assert set(both["kind"]) == {"temperature", "mass"}
    assert (both["entry"] > both["supersedes"]).all()
    for same in ("source_horse", "kind", "author", "happened_at"):
        assert (both[same] == both[f"{same}_old"]).all()
    assert (both["values"] != both["values_old"]).all()
    assert (both["recorded_at"] - both["recorded_at_old"]).is_between(timedelta(0), timedelta(minutes=30)).all()


def test_the_same_world_has_the_same_books(invented: Invented, books: Books) -> None:
    """Written again the diary is the same to the last entry, and names horses and people that there are."""
    from upsides.demo import books_of

    assert books_of(invented).diary.equals(books.diary)
    assert set(books.diary["author"]) <= set(books.people["login"])
    assert set(books.diary["source_horse"].drop_nulls()) <= set(books.horses["source_horse"])
    assert set(books.diary["gallop"].drop_nulls()) == set(books.gallops["name"])
