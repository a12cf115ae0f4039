"""The sale that the invented yard will go to."""

import re
from datetime import UTC, datetime, time, timedelta

import polars as pl

from upsides.demo import Invented
from upsides.demo.sale import COUNT, NAME
from upsides.results.lot_rows import LOTS


def test_the_list_is_of_yearlings_to_come(invented: Invented) -> None:
    """Every lot is an unnamed yearling of a sale after today, numbered as it comes, and not sold yet."""
    lots = invented.sale.lots
    assert lots.schema == LOTS
    assert lots["number"].to_list() == [str(number) for number in range(1, COUNT + 1)]
    assert lots["sale"].unique().to_list() == [NAME]
    assert lots["foaled"].unique().to_list() == [invented.today.year - 1]
    assert lots["day"].min() > invented.today
    assert lots["day"].n_unique() == 2
    assert lots.select("name", "price", "currency").null_count().row(0) == (COUNT,) * 3
    assert set(lots["sex"]) == {"colt", "filly"}


def test_lots_have_relatives_that_race(invented: Invented) -> None:
    """Every sire and every dam of a lot has other foals in the country's register, and the dam's sire is hers."""
    lots, register = invented.sale.lots, invented.register
    assert set(lots["sire"]) <= set(register["sire"])
    assert set(lots["dam"]) <= set(register["dam"])
    assert lots["dam"].n_unique() == COUNT
    sires = dict(register.select("name", "sire").iter_rows())
    assert all((sires[dam] or None) == sire for dam, sire in lots.select("dam", "dam_sire").iter_rows())
    aged = register.filter(pl.col("name").is_in(lots["dam"].implode()))["foaled"]
    assert (invented.today.year - 1 - aged).is_between(4, 20).all()


def test_what_the_yard_made_of_it_is_of_the_last_days(invented: Invented) -> None:
    """Marks and notes are of lots in the list, by people of the yard, and none is of the future."""
    marks, notes, people = invented.sale.marks, invented.sale.notes, set(invented.people["login"])
    now = datetime.combine(invented.today, time(5), UTC)
    for said, who in ((marks, "by"), (notes, "author")):
        assert set(said["number"]) <= set(invented.sale.lots["number"])
        assert set(said[who]) <= people
        assert said["at"].is_between(now - timedelta(days=12), now).all()
    off = marks.filter(~pl.col("on"))
    assert off.height == 2
    assert off["reason"].str.len_chars().min() > 0
    assert set(notes["kind"]) == {"look", "walk", "vetting"}


def test_notes_draw_no_conclusion(invented: Invented) -> None:
    """What the invented people wrote of a lot says what was seen, never that it is sound or safe."""
    for text in invented.sale.notes["text"]:
        assert not re.search(r"(?i)\b(sound|safe|clear(ed)?|lame|passed|injur\w+)\b", text)
