"""What stands in the invented yard's books: horses and their papers, boxes, people and hours, feeds, races to come."""

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
import pytest

from upsides.demo import Books, Invented, rulebook
from upsides.demo.yard import YARD
from upsides.demo.yardbooks.places import boxes
from upsides.demo.yardbooks.standing import housed
from upsides.feeding import Feed, Serving, defaults, ration
from upsides.rules import read_overrides
from upsides.rules.shifts import Shift
from upsides.rules.working_time import check_shifts
from upsides.trade import LifeNumber, Microchip

PLACES = ("training", "turned_out")


def test_every_horse_that_was_ever_here_is_in_the_books(invented: Invented, books: Books) -> None:
    """The books hold all horses that ran for the yard since the first day, those that left with the day they did."""
    trainer = invented.people["name"][0]
    ran = invented.runs.filter((pl.col("trainer") == trainer) & (pl.col("outcome") != "withdrawn"))
    assert set(ran["source_horse"]) <= set(books.horses["source_horse"])
    both = ran.join(books.horses, on="source_horse")
    assert (both["date"] >= both["joined"]).all()
    assert (both["date"] < both["left"].fill_null(invented.today)).all()
    here = books.horses.filter(pl.col("left").is_null())
    assert set(here["source_horse"]) == set(invented.string["source_horse"])
    assert books.horses.height > 1.8 * here.height


def test_papers_can_be(invented: Invented, books: Books) -> None:
    """Microchips and life numbers are well formed and of nobody twice; horses are foaled in the year that is theirs."""
    horses = books.horses
    for chip, life in horses.select("microchip", "life_number").rows():
        assert Microchip.parse(chip).maker is not None
        assert LifeNumber.parse(life).country == "826"
    for field in ("microchip", "life_number", "passport", "name"):
        assert horses[field].is_unique().all()
    assert (horses["foaled_on"].dt.year() == horses["foaled"].cast(pl.Int32)).all()
    assert set(horses.filter(pl.col("gelded_on").is_not_null())["sex"]) == {"gelding"}
    assert (horses["gelded_on"] > horses["foaled_on"]).all()


def test_the_full_yard_has_a_box_for_each_horse(full: Invented) -> None:
    """In the larger yard too every horse that it ever had stood in a box that there is, one horse a box at a time."""
    own = housed(np.random.default_rng(1), full)
    there = set(boxes(full.string.height).select("barn", "name").rows())
    stood = [(YARD.barns[barn], str(n + 1)) for barn, mine in zip(own.barn, own.boxes, strict=True) for n, _ in mine]
    assert len(own.boxes) == full.stays.height
    assert set(stood) <= there
    now = full.stays["left"].is_null().to_list()
    last = [(barn, mine[-1][0]) for barn, mine, here in zip(own.barn, own.boxes, now, strict=True) if here]
    assert len(set(last)) == len(last) == full.string.height


def test_two_horses_have_no_name_yet(invented: Invented, books: Books) -> None:
    """One or two two-year-olds that never ran go by their dam and year."""
    unnamed = books.horses.filter(~pl.col("named"))
    assert 1 <= unnamed.height <= 2
    assert (unnamed["name"] == unnamed["dam"] + " " + unnamed["foaled"].cast(pl.String)).all()
    assert not set(unnamed["source_horse"]) & set(invented.runs["source_horse"])


def test_geldings_ran_as_geldings(invented: Invented, books: Books) -> None:
    """Those gelded here were gelded before they ever ran, and that is to be declared."""
    here = books.horses.filter(pl.col("sex") != pl.col("sex_before"))
    first = invented.runs.group_by("source_horse").agg(ran=pl.col("date").min())
    both = here.join(first, on="source_horse", how="left")
    assert here.height >= 4
    assert (both["gelded_on"] < both["ran"].fill_null(invented.today)).all()
    declared = books.declarables.filter(pl.col("what") == "gelded")
    assert set(declared["source_horse"]) == set(here["source_horse"])


def test_no_two_horses_share_a_box(invented: Invented, books: Books) -> None:
    """On no day do two horses stand in one box, and every horse stands in one from the day it came."""
    gone = books.horses.select(
        "source_horse", "joined", until=pl.col("left").fill_null(invented.today + timedelta(days=1))
    )
    own = books.stands.sort("source_horse", "first_day").join(gone, on="source_horse", maintain_order="left")
    own = own.with_columns(end=pl.coalesce(pl.col("first_day").shift(-1).over("source_horse"), "until"))
    boxed = own.sort("barn", "box", "first_day").with_columns(before=pl.col("end").shift().over("barn", "box"))
    apart = boxed.filter(pl.col("barn") != "Gatehouse")
    assert apart.filter(pl.col("first_day") < pl.col("before")).height == 0
    assert (
        own.group_by("source_horse")
        .agg((pl.col("first_day").min() == pl.col("joined").first()).alias("at_once"))["at_once"]
        .all()
    )
    known = books.boxes.select("barn", box="name")
    assert books.stands.join(known, on=["barn", "box"], how="anti").height == 0
    assert books.boxes["isolation"].sum() == 2
    assert books.boxes.height > invented.string.height + 5


def test_turned_out_and_back(invented: Invented, books: Books) -> None:
    """Horses go out and come back in turn, in winter, out of which they did not run."""
    moves = books.moves.sort("source_horse", "first_day")
    assert set(moves["to"]) == set(PLACES)
    following = moves.with_columns(
        back=pl.col("first_day").shift(-1).over("source_horse"), then=pl.col("to").shift(-1).over("source_horse")
    )
    out = following.filter(pl.col("to") == "turned_out")
    assert set(out["then"].drop_nulls()) == {"training"}
    assert out["first_day"].dt.month().is_in([10, 11, 12, 1]).all()
    both = out.join(invented.runs.filter(pl.col("outcome") != "withdrawn"), on="source_horse")
    left = dict(books.horses.select("source_horse", "left").rows())
    until = pl.coalesce("back", pl.col("source_horse").replace_strict(left, return_dtype=pl.Date))
    assert both.filter(pl.col("date").is_between("first_day", until, closed="left")).height == 0


def test_marks_are_those_of_the_races(invented: Invented, books: Books) -> None:
    """In every handicap a horse of the yard had the mark that the ledger has for that day."""
    handicaps = invented.races.filter(pl.col("title").str.ends_with("Handicap")).select("race_key", "surface")
    runs = invented.runs.join(handicaps, on="race_key").filter(pl.col("outcome") != "withdrawn")
    runs = runs.filter(pl.col("source_horse").is_in(books.horses["source_horse"].implode())).sort("date")
    ledger = books.marks.sort("effective").rename({"ground": "surface"})
    found = runs.join_asof(
        ledger, left_on="date", right_on="effective", by=["source_horse", "surface"], check_sortedness=False
    )
    known = found.drop_nulls("value")
    assert known.height > 500
    assert (known["value"] == known["official_rating"]).mean() > 0.99
    assert (books.marks["effective"].dt.weekday() == 2).all()


def test_hours_are_within_the_rules(tmp_path: Path, invented: Invented, books: Books) -> None:
    """A usual week of everybody goes over no limit of the country, for the two under eighteen neither."""
    file = tmp_path / "rules.toml"
    file.write_text(rulebook())
    own, zone = read_overrides(file), ZoneInfo(invented.yard.zone)
    monday = date(2026, 6, 1)
    young = 0
    for (login,), rows in books.shifts.group_by("login"):
        born = books.people.filter(pl.col("login") == login)["born"][0]
        young += born > date(monday.year - 18, monday.month, monday.day)
        plan = [
            Shift(
                *(
                    datetime.combine(monday + timedelta(days=7 * week + day), clock, zone).astimezone(UTC)
                    for clock in (begin, end)
                )
            )
            for week in range(3)
            for day, begin, end in rows.select("weekday", "starts", "ends").rows()
        ]
        assert [
            str(over)
            for over in check_shifts(plan, born, "XU", overrides=own)
            if over.first < monday + timedelta(days=14)
        ] == []
    assert young == 2


def test_riders_are_in_proportion(invented: Invented, books: Books) -> None:
    """As many riders as 35 for 120 horses, two of them jockeys of the country, of whom one is suspended today."""
    riders = books.people.filter(pl.col("roles").list.contains("rider"))
    assert abs(riders.height - invented.string.height * 35 / 120) < 2
    jockeys = riders.drop_nulls("minimum_lb")
    assert jockeys.height == 2
    assert set(jockeys["name"]) <= set(invented.runs["jockey"])
    assert jockeys["claim_lb"].null_count() == 1
    today = books.bonds.filter(
        pl.col("first_day") <= invented.today, pl.col("last_day").fill_null(invented.today) >= invented.today
    )
    assert set(today["kind"]) == {"retainer", "suspension"}
    assert riders["weight_kg"].is_between(45, 80).all()


def test_rations_meet_the_need(books: Books) -> None:
    """Rations give the energy that mass and work ask for within a tenth, and forage as wanted, by the labels."""
    feeds = [
        Feed(*row)
        for row in books.feeds.select("name", "kind", "energy_mj_kg", "dry_matter", "protein", "starch").rows()
    ]
    work = {"let down": "light", "coming into work": "moderate", "in full work": "very heavy"}
    given = defaults(date(2026, 6, 20))
    for row in books.rations.sample(120, seed=3).to_dicts():
        servings = [Serving(**one) for one in row["amounts"]]
        found = [ration(servings, feeds, mass, work[row["note"]], given) for mass in range(390, 600, 10)]
        fits = [one for one in found if 90 < one.percent < 110 and one.forage.says == "as wanted"]
        assert fits, row


def test_batches_follow_one_another(invented: Invented, books: Books) -> None:
    """Of each feed one batch after the other is opened when it has come, and the last one is open today."""
    for (_,), rows in books.batches.sort("delivered_on").group_by("feed"):
        assert (rows["delivered_on"] <= rows["opened_on"]).all()
        assert (rows["opened_on"][1:] == rows["finished_on"][:-1] + timedelta(days=1)).all()
        assert rows["finished_on"].null_count() == 1
        assert rows["opened_on"].max() <= invented.today


def test_shares_of_every_horse_are_whole_and_managed(books: Books) -> None:
    """The parts of every horse add up to one, one owner of each decides, and what is leased is leased from somebody."""
    shares = books.shares.with_columns(part=pl.col("numerator") / pl.col("denominator"))
    of = shares.group_by("source_horse").agg(pl.col("part").sum(), pl.col("managing").sum())
    assert of.height == books.horses.height
    assert ((of["part"] - 1).abs() < 1e-12).all()
    assert (of["managing"] == 1).all()
    assert (shares.filter(pl.col("kind") == "lease")["leased_from"].null_count()) == 0


@pytest.mark.parametrize(("ahead", "runners"), [(0, 1), (1, 2)])
def test_runners_are_declared(invented: Invented, books: Books, ahead: int, runners: int) -> None:
    """One horse runs today and two tomorrow, declared, at a course of the country."""
    due = books.engagements.filter(pl.col("day") == invented.today + timedelta(days=ahead))
    assert due["state"].to_list() == ["declared"] * runners
    assert set(due["course"]) <= set(invented.races["course"])


def test_some_races_must_be_answered_soon(invented: Invented, books: Books) -> None:
    """Within 48 hours some horses must be entered, some confirmed and some declared."""
    now = datetime.combine(invented.today, time(5), UTC)
    to_come = books.engagements.filter(pl.col("day") > invented.today + timedelta(days=1))
    soon = {
        field: to_come.filter(pl.col(field).is_between(now, now + timedelta(hours=48))).height
        for field in ("enter_by", "confirm_by", "declare_by")
    }
    assert min(soon.values()) >= 1, soon
    meant = books.engagements.filter(pl.col("state") != "withdrawn")
    assert not meant.select("source_horse", "day").is_duplicated().any()
