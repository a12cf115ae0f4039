"""The shipped shapes on the real tables, against what the tables' own description says of them."""

from pathlib import Path

import polars as pl
import pytest

from upsides.results import importing
from upsides.results.importing import Imported
from upsides.results.library import Library
from upsides.results.schema import STARTED

FILES = {
    "hk1997": ["hk1997_runs", "hk1997_races"],
    "hk2014": ["hk2014_races", "hk2014_runs"],
    "world2019": ["world2019_runs"],
    "ukire": ["ukire_race_headers_2017_2019"],
}


@pytest.fixture(scope="module")
def imported(shared: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Library, dict[str, Imported]]:
    library = Library.create(tmp_path_factory.mktemp("shared"))
    done = {
        shape: importing.add(library, [shared / f"{name}.csv.gz" for name in names], shape)
        for shape, names in FILES.items()
    }
    return library, done


Real = tuple[Library, dict[str, Imported]]


def test_everything_is_counted(imported: Real) -> None:
    """Races, runs, horses and rows left out are as many as the description says."""
    _, done = imported
    assert (done["hk1997"].races, done["hk1997"].runs, done["hk1997"].refused_rows) == (4759, 59505, 0)
    assert (done["hk2014"].races, done["hk2014"].runs, done["hk2014"].refused_rows) == (1163, 14904, 0)
    assert (done["ukire"].races, done["ukire"].runs, done["ukire"].refused_rows) == (51986, 0, 0)
    # 25 916 rows, of which 11 407 harness, and 2 of the 11 empty ones in races of the other kind.
    assert done["world2019"].runs + done["world2019"].refused_rows == 25916
    assert done["world2019"].refused_rows == 11409
    horses = imported[0].horses().group_by("source").len().collect()
    assert dict(horses.iter_rows())["hk1997"] == 3533
    assert dict(horses.iter_rows())["hk2014"] == 1562


def test_horses_of_hk2014(imported: Real, shared: Path) -> None:
    """Of the register's 12 945 rows, 216 are without breeding; all 1 562 horses of hk2014 link, under the same name."""
    library = imported[0]
    done = importing.add(library, [shared.parent / "pedigree" / "horses_hk_to2018.csv.gz"], "hk2014")
    assert (done.horses, done.horses_changed, done.horses_raced) == (12945, 12945, 1562)
    assert (done.refused_rows, done.refused.height) == (0, 0)
    horses = library.horses().filter(source="hk2014").collect()
    assert horses.height == 12945
    assert horses.filter(pl.col("sire").is_null() & pl.col("dam").is_null()).height == 216
    assert horses.filter(pl.col("runs") > 0)["sire"].null_count() == 0
    # A gelding is one by the day the register was written, which says nothing of an earlier race.
    assert set(horses["sex"].drop_nulls()) == {"male", "female"}
    assert horses["foaled"].null_count() == horses.height
    pins = dict(library.pins)
    files = [shared / f"{name}.csv.gz" for name in FILES["hk2014"]]
    again = importing.add(library, [*files, shared.parent / "pedigree" / "horses_hk_to2018.csv.gz"], "hk2014")
    assert (again.unchanged, again.horses_changed, library.pins) == (1163, 0, pins)


def test_quirks_of_hk1997(imported: Real) -> None:
    """999 is empty in lengths (85 rows), a mass in pounds; nine dead heats for first; no colour is a sex."""
    runs = imported[0].runs().filter(source="hk1997").collect()
    assert runs["beaten_lengths"].null_count() == 85
    assert runs["body_mass_kg"].null_count() == 0
    assert runs.filter(pl.col("position") == 1, "dead_heat")["race_key"].n_unique() == 9
    # Brown 1 788, Roan 18, Grey 17 and 2 empty cells in the table.
    assert runs["sex"].null_count() == 1825
    assert runs["foaled"].null_count() == runs.height
    races = imported[0].races().filter(source="hk1997").collect()
    assert (races["section_m"].list.sum() == races["distance_m"]).all()
    assert dict(races["surface"].value_counts().iter_rows()) == {"turf": 4248, "dirt": 511}


def test_quirks_of_hk2014(imported: Real) -> None:
    """286 are withdrawn; the leader's sections add up to the winner's time; margins in words are lengths."""
    runs = imported[0].runs().filter(source="hk2014").collect()
    assert runs.filter(outcome="withdrawn").height == 286
    assert runs.filter(outcome="withdrawn")["draw"].null_count() == 286
    assert runs.filter(pl.col("position") == 1, "dead_heat")["race_key"].n_unique() == 3
    assert runs.filter(margin="NOSE")["beaten_lengths"].unique().to_list() == [0.05]
    assert runs.filter(margin="4-1/4")["beaten_lengths"].unique().to_list() == [4.25]
    assert runs.filter(margin="ML")["beaten_lengths"].null_count() == 3
    assert runs.filter(position=1)["beaten_lengths"].unique().to_list() == [0.0]
    races = imported[0].races().filter(source="hk2014").collect()
    off = (races["section_s"].list.sum() - races["winning_time_s"]).abs()
    assert (off < 0.015).sum() > 0.99 * len(off)


def test_stalls_are_closed_up(imported: Real) -> None:
    """In every race of hk2014 the places started from run from 1 to the number of starters."""
    started = imported[0].runs().filter((pl.col("source") == "hk2014") & pl.col("outcome").is_in(STARTED))
    places = started.group_by("race_key").agg(
        pl.len(), pl.col("started_from").max(), n=pl.col("started_from").n_unique()
    )
    frame = places.collect()
    assert (frame["len"] == frame["started_from"]).all()
    assert (frame["len"] == frame["n"]).all()


def test_quirks_of_world2019(imported: Real) -> None:
    """Only the first three have a position, the rest ran unplaced; impossible distances are told."""
    runs = imported[0].runs().filter(source="world2019").collect()
    assert set(runs["outcome"]) == {"finished", "unplaced"}
    assert set(runs["position"].drop_nulls()) == {1, 2, 3}
    refused = imported[1]["world2019"].refused
    assert set(refused.filter(field="distance_m")["value"]) == {"100.0", "110.0", "200.0"}


def test_distances_of_ukire_agree_with_its_own_metres(imported: Real, shared: Path) -> None:
    """Distances read from the notation agree with the table's own rounded metres to a thousandth."""
    raw = pl.read_csv(shared / "ukire_race_headers_2017_2019.csv.gz", columns=["rid", "metric"])
    races = imported[0].races().filter(source="ukire").collect()
    both = races.join(raw.select(race_id=pl.col("rid").cast(pl.String), metric="metric"), "race_id")
    assert both.height == 51986
    assert ((both["distance_m"] / both["metric"] - 1).abs() < 1e-3).all()


def test_codes_of_ukire(imported: Real) -> None:
    """About 24 500 British and Irish races are without obstacles; flat races for jumpers are told from flat
    races.
    """
    races = imported[0].races().filter(source="ukire").collect()
    home = races.filter(pl.col("country").is_in(["GB", "IE"]))
    without = home.filter(pl.col("code").is_in(["flat", "bumper"]))
    assert without.height == pytest.approx(24_500, rel=0.01)
    assert home.filter(code="bumper")["title"].str.contains("(?i)flat|bumper").all()
    assert races["winning_time_s"].null_count() == 17
    assert not races["course"].str.contains(r"\((AW|IRE|FR)\)").any()
    assert not races["title"].str.contains("&amp;").any()
