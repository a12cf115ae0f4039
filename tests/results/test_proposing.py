from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from upsides.errors import FileUnreadableError
from upsides.results import importing
from upsides.results.fields import RACE_FIELDS, RUN_FIELDS
from upsides.results.library import Library
from upsides.results.proposing import Proposal, propose

RENAMED = {
    "hk1997_races": {
        "race_id": "rennid", "date": "Datum", "venue": "Rennbahn", "race_no": "Rennen",
        "distance": "Distanz", "going": "Boden", "prize": "Dotierung",
        "race_class": "Klasse", "surface": "Belag", "config": "conf",
        "horse_ratings": "hr",
    },
    "hk1997_runs": {
        "race_id": "rennid", "horse_id": "Pferde ID", "horse_no": "Startnummer",
        "result": "Platz", "lengths_behind": "Abstand", "horse_age": "Alter",
        "horse_type": "Geschlecht", "draw": "Startbox", "actual_weight": "Gewicht",
        "declared_weight": "Pferdegewicht", "finish_time": "Zeit", "jockey_id": "Reiter",
        "win_odds": "Quote",
    },
    "hk2014_runs": {
        "race_id": "レースID", "finishing_position": "着順", "horse_number": "馬番",
        "horse_name": "馬名", "horse_id": "馬ID", "jockey": "騎手", "trainer": "調教師",
        "actual_weight": "斤量", "declared_horse_weight": "馬体重", "draw": "枠番",
        "length_behind_winner": "着差", "finish_time": "タイム", "win_odds": "単勝",
    },
    "world2019_runs": {
        "EventId": "id_course", "TrackId": "hippodrome", "RaceNum": "numero_course",
        "CorrectedPostTime": "heure", "Yards": "distance", "SurfaceText": "piste",
        "HorseName": "cheval", "HorseId": "id_cheval", "Age": "âge", "Sex": "sexe",
        "Weight_lbs": "poids", "PostPosition": "corde", "Finish": "arrivée",
    },
    "ukire_race_headers_2017_2019": {
        "rid": "id_corsa", "course": "Ippodromo", "date": "Data", "title": "Nome corsa",
        "rclass": "Categoria", "distance": "Distanza", "condition": "Terreno",
        "prize": "Premio", "winningTime": "winning_time",
    },
}  # fmt: skip
NEEDED = {
    "hk1997_races": (
        "race_id date course race_no distance_m going prize race_class section_s rating_low"
    ),
    "hk1997_runs": (
        "race_id horse_id saddlecloth position beaten_lengths age sex draw carried_lb "
        "body_mass_kg time_s section_s section_position section_behind odds"
    ),
    "hk2014_runs": (
        "race_id horse_id horse_name saddlecloth position outcome beaten_lengths draw "
        "carried_lb body_mass_kg time_s section_position jockey trainer odds"
    ),
    "world2019_runs": (
        "race_id date course race_no distance_m surface horse_id horse_name age sex carried_lb "
        "draw position"
    ),
    "ukire_race_headers_2017_2019": (
        "race_id date course title race_class distance_m going prize winning_time_s "
        "rating_high"
    ),
}  # fmt: skip


def fields(proposal: Proposal) -> set[str]:
    return {rule.field.name for table in proposal.shape.tables for rule in table.race + table.run}


@pytest.mark.parametrize("name", list(RENAMED))
def test_renamed_tables_are_understood(shared: Path, tmp_path: Path, name: str) -> None:
    """Columns renamed into another language are still recognised, and their values read."""
    frame = pl.read_csv(shared / f"{name}.csv.gz", infer_schema=False, n_rows=3000).rename(RENAMED[name])
    frame.write_csv(tmp_path / "t.csv")
    proposal = propose([tmp_path / "t.csv"])
    assert fields(proposal) >= set(NEEDED[name].split())
    shares = proposal.trial["t.csv"]
    assert shares["race_id"] == 1.0
    for field in ("date", "distance_m", "horse_name", "going", "carried_lb", "time_s", "draw"):
        assert shares.get(field, 1.0) > 0.95
    understood = set(proposal.understood["t.csv"])
    assert understood | set(proposal.dropped["t.csv"]) == set(frame.columns)
    assert not understood & set(proposal.dropped["t.csv"])


def test_proposed_shape_imports(shared: Path, library: Library, tmp_path: Path) -> None:
    """The proposed shape of two tables, written to a file, imports them with all their races, runs and
    outcomes.
    """
    files = [shared / "hk2014_races.csv.gz", shared / "hk2014_runs.csv.gz"]
    path = tmp_path / "mine.toml"
    path.write_text(propose(files, source="mine").toml, encoding="utf-8")
    done = importing.add(library, files, path)
    # Rows as the data set's description counts them: 1 163 races, 14 904 rows.
    assert (done.races, done.runs, done.refused_rows) == (1163, 14904, 0)
    runs = library.runs().collect()
    assert runs.filter(outcome="withdrawn").height == 285
    assert library.races().collect()["section_m"].null_count() == 0


def test_values_alone_give_what_is_unmistakable(shared: Path, tmp_path: Path) -> None:
    """With names that say nothing, dates, notations, margins, and times are still recognised; others are
    named as possible.
    """
    frame = pl.read_csv(shared / "hk2014_runs.csv.gz", infer_schema=False, n_rows=2000)
    frame.columns = [f"v{letter}" for letter in "abcdefghijklmnopqrs"]
    frame.write_csv(tmp_path / "t.csv")
    with pytest.raises(FileUnreadableError, match="neither races nor runs"):
        propose([tmp_path / "t.csv"])
    frame.rename({"vd": "horse"}).write_csv(tmp_path / "t.csv")
    proposal = propose([tmp_path / "t.csv"])
    assert fields(proposal) >= {"race_id", "horse_name", "position", "outcome", "beaten_lengths", "time_s"}
    dropped = proposal.dropped["t.csv"]
    assert "could be carried_lb" in dropped["vh"]
    assert "could be body_mass_kg" in dropped["vi"]


def test_doubts_are_told(tmp_path: Path) -> None:
    """Dates that could be read in two ways, units that nobody names and the race's missing name are told."""
    rows = "\n".join(
        f"0{d}/0{m}/2001,Moor Top,{n},1200,{h},{n}" for d in (1, 2) for m in (3, 4) for n in (1, 2) for h in "xyz"
    )
    path = tmp_path / "t.csv"
    path.write_text("date,course,race no,distance,horse,position\n" + rows)
    proposal = propose([path])
    said = " ".join(proposal.unclear)
    assert "could be read in several ways" in said
    assert "says no unit; m is taken" in said
    assert "together are taken for it" in said


def test_a_table_of_something_else_is_refused(table: Callable[..., Path]) -> None:
    """A table in which neither races nor runs can be made out is refused with a remedy."""
    with pytest.raises(FileUnreadableError, match=r"docs/shapes\.md"):
        propose([table("product,price\nhay,3\nstraw,2\n")])
    with pytest.raises(FileUnreadableError, match="no rows"):
        propose([table("race_id,date,course\n")])


def test_every_field_is_a_shape_field() -> None:
    """The word lists name only fields that a shape can fill."""
    from upsides.results.guessing import VALUES, words

    known = RACE_FIELDS.keys() | RUN_FIELDS.keys()
    assert set(words()["columns"]) <= known
    assert set(VALUES) == set(words()["columns"])


def test_dates_as_bare_day_numbers(tmp_path: Path) -> None:
    """A column named as dates that holds whole numbers of a spreadsheet's days is proposed so, with a doubt."""
    # 43831 is 1 January 2020 in the 1900 system of spreadsheets (Microsoft: 39448 is 1 January 2008; 4383 days on).
    rows = "\n".join(f"{day},Moor Top,{n},1200,{h},{n}" for day in (43831, 43832) for n in (1, 2) for h in "xyz")
    path = tmp_path / "t.csv"
    path.write_text("date,course,race no,distance,horse,position\n" + rows)
    proposal = propose([path])
    (rule,) = [rule for rule in proposal.shape.tables[0].race if rule.field.name == "date"]
    assert rule.formats == ("serial",)
    assert proposal.trial["t.csv"]["date"] == 1.0
    assert "a spreadsheet's days" in " ".join(proposal.unclear)


def test_no_date_is_said(table: Callable[..., Path]) -> None:
    """Where no column is a date, the proposal says so, and so does the refusal of a table of nothing else."""
    said = propose([table("race_id,horse,position\n" + "".join(f"7,Alder{i},{i}\n" for i in range(1, 20)))]).unclear
    assert any("no date was found" in line for line in said)
    with pytest.raises(FileUnreadableError, match="no date was found"):
        propose([table("race_id,course,distance\n1,Moor Top,1200\n2,Moor Top,1400\n")])


def test_short_names_of_margins(table: Callable[..., Path]) -> None:
    """A column called Btn is taken as beaten lengths, written in numbers or in the trade's notation."""
    head = "race_id,horse,position,Btn\n"
    for margins in (("0", "0.5", "1.25", "3"), ("-", "nk", "1-1/4", "3")):
        lines = "".join(f"7,Alder{i},{i},{margin}\n" for i, margin in enumerate(margins * 5, 1))
        assert "beaten_lengths" in fields(propose([table(head + lines)]))
