"""A result written down after a race is a run like any other, until the official one is imported."""

import shutil
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from uuid import uuid4

import polars as pl
import pytest

import programmed_yard as programmed
import worlds
from upsides.books import clock
from upsides.books.models import Engagement, Entry, Horse, Job, Person
from upsides.books.queries.condition_done import done_by
from upsides.books.queries.entrants import entrants
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import raced, starts_of, state_of
from upsides.books.queries.settling import _starts
from upsides.books.queries.string import known_of
from upsides.books.services.diary import Draft, correct, record, withdraw
from upsides.books.services.hand_results import bring_in
from upsides.books.services.horses import link_horses
from upsides.errors import EntryRefusedError
from upsides.ratings.levels.performances import performances
from upsides.results.importing import add_frames
from upsides.results.library import Library

pytestmark = pytest.mark.django_db
RESULT = {"place": "3", "ran": "9", "margin": "2.5", "carried": "128", "time": "1:40.20"}


@pytest.fixture
def library(loaded: worlds.Yard, folder: Path) -> Path:
    """A library of this test alone, with a handicap of today."""
    shutil.copytree(loaded.library, folder, dirs_exist_ok=True, ignore=shutil.ignore_patterns("*.sqlite3*"))
    programmed.forget(folder)
    programmed.take(folder, [programmed.race("7", "Sedge Handicap", clock.today(), "Highest weight 9-11", Ages="3yo+",
                                    Band="0-110")])  # fmt: skip
    return folder


def declared(library: Path, horse: Horse) -> Horse:
    """Declare a horse for today's race."""
    Engagement.objects.create(horse=horse, race="Sedge Handicap", course="Larkmoor", zone="Europe/London",
                              day=clock.today(), race_code=programmed.code_of(library, "Sedge Handicap"),
                              state=Engagement.State.DECLARED)  # fmt: skip
    return horse


def ours(loaded: worlds.Yard) -> Horse:
    """Return a horse of the yard that has run."""
    ran = set(loaded.world.runs["source_horse"])
    return next(one for one in Horse.objects.order_by("pk") if one.horse_key in ran)


def rival(library: Path, horse: Horse) -> str:
    """Return the name of a horse of another yard that ran lately."""
    named = Library.open(library).horses().filter(~pl.col("horse_key").is_in(list(Horse.objects.values_list("horse_key"
             , flat=True))), pl.col("runs") > 5).sort("last_run", descending=True).collect()  # fmt: skip
    alone = named.filter(pl.len().over("name") == 1)
    assert alone["name"][0] != horse.name
    return str(alone["name"][0])


def say(horse: Horse, **values: object) -> Entry:
    at = datetime.combine(clock.today(), time(15), UTC)
    told = {"what": "race", "text": "Stayed on", **values}
    return record(Draft(uuid4(), "race_report", horse.pk, told, clock.now(), happened_at=at), Person.objects.get(
        login="trainer"))  # fmt: skip


def test_a_result_by_hand_is_a_run(loaded: worlds.Yard, library: Path) -> None:
    """A third place written down after the race is, from the next morning on, a run of the horse with its race, place,
    weight and lengths: for its figure, for what it has done, for conditions of races and for calls; one of us withdraws
    it, and it is none."""
    horse = declared(library, ours(loaded))
    before = raced(state_of(library), frozenset([horse.horse_key]), clock.today() + timedelta(days=1))
    entry = say(horse, **RESULT | {"other": f"{rival(library, horse)} 9-7"})
    assert Job.objects.filter(kind="by_hand").count() == 1
    assert bring_in(library) == {"runs": 1, "without_race": 0, "changed": 1}
    assert bring_in(library)["changed"] == 0, "what stands is not written again"

    tomorrow = Moment(clock.today() + timedelta(days=1))
    keys = frozenset([horse.horse_key])
    run = starts_of(state_of(library), keys).row(0, named=True)
    told = {name: run[name] for name in ("date", "position", "beaten_lengths", "carried_lb", "runners", "course")}
    assert told == {"date": clock.today(), "position": 3, "beaten_lengths": 2.5, "carried_lb": 128.0, "runners": 9,
                    "course": "Larkmoor"}  # fmt: skip
    assert raced(state_of(library), keys, tomorrow.day)[horse.horse_key].runs == before[horse.horse_key].runs + 1
    last = entrants(library, tomorrow, [horse])[horse.pk].runs[-1]
    assert (last.day, last.position, last.race) == (clock.today(), 3, "Sedge Handicap")
    assert "handicap" in (last.kinds or ())
    assert done_by(library, tomorrow, [horse]).ran[horse.pk][-1][0] == clock.today()
    assert _starts(known_of(library, tomorrow, figures=True), tomorrow)[horse.horse_key][0].ran.place == 3

    opened = Library.open(library)
    table = performances(opened.races().collect(), opened.runs().collect()).runs
    mine = table.filter(pl.col("race_key").str.starts_with("by_hand:")).sort("position")
    assert mine["position"].to_list() == [1, 3], "the winner's run and ours are compared"
    assert mine["horse_key"][1] == horse.horse_key
    assert mine["margin_lb"][1] > mine["margin_lb"][0] == 0.0

    trainer = Person.objects.get(login="trainer")
    withdraw(entry, trainer, client_id=uuid4(), made_at=clock.now())
    bring_in(library)
    assert raced(state_of(library), keys, tomorrow.day)[horse.horse_key].runs == before[horse.horse_key].runs


def test_a_result_without_the_winner_is_a_run_without_a_figure(loaded: worlds.Yard, library: Path) -> None:
    """Where only its own place is known it is a run of the horse and has no figure; one that was pulled up has no
    place; what it carried is what its race lays on it where nobody says it."""
    horse = declared(library, programmed.marked(ours(loaded)))
    say(horse, ended="pulled_up", ran="9")
    bring_in(library)
    run = starts_of(state_of(library), frozenset([horse.horse_key])).row(0, named=True)
    assert (run["outcome"], run["position"], run["date"]) == ("pulled_up", None, clock.today())
    assert run["carried_lb"] is not None
    opened = Library.open(library)
    table = performances(opened.races().collect(), opened.runs().collect()).runs
    assert table.filter(pl.col("race_key").str.starts_with("by_hand:")).is_empty()


def test_the_official_result_takes_its_place(loaded: worlds.Yard, library: Path) -> None:
    """As soon as an import brings a run of the horse on that day, the one by hand is gone, in the same commit, and does
    not come back; of a horse that the results did not know its name tells it."""
    new = Horse.objects.create(horse_key="yard:brandnew-2023", name="Brand New", foaled=2023, sex="filly",
                               joined=clock.today() - timedelta(days=90))  # fmt: skip
    horse = declared(library, ours(loaded))
    say(horse, **RESULT)
    say(declared(library, new), place="1", margin="1.5", other="Nobody Knows Me 9-0", carried="126")
    bring_in(library)
    keys = frozenset([horse.horse_key, new.horse_key])
    assert starts_of(state_of(library), keys).filter(pl.col("date") == clock.today()).height == 2
    assert link_horses(library) == 0, "a result by hand does not tell the library's key of a horse"

    opened, day = Library.open(library), clock.today()
    races = pl.DataFrame({"race_id": ["official"], "date": [day], "course": ["Larkmoor"], "distance_m": [1609.0]})
    runs = pl.DataFrame({"race_key": ["invented:official"] * 2, "source_horse": [horse.horse_key, "invented:999999"],
                         "horse_name": [horse.name, "Brand New"], "date": [day] * 2, "foaled": [horse.foaled, 2023],
                         "outcome": ["finished"] * 2, "position": [4, 1]})  # fmt: skip
    add_frames(opened, races, runs, "invented")
    assert opened.runs().filter(pl.col("source") == "by_hand").collect().is_empty()
    assert opened.races().filter(pl.col("source") == "by_hand").collect().is_empty()
    starts = starts_of(state_of(library), frozenset([horse.horse_key])).filter(pl.col("date") == day)
    assert starts["position"].to_list() == [4]
    assert link_horses(library) == 1
    assert bring_in(library) == {"runs": 0, "without_race": 0, "changed": 0}
    new.refresh_from_db()
    assert new.horse_key == "invented:999999"


@pytest.mark.parametrize(
    "wrong",
    [
        {"place": "10", "ran": "9"},
        {"place": "2", "ended": "fell"},
        {"margin": "3"},
        {"place": "2", "time": "quick"},
        {"place": "2", "other": "9-7"},
        {"what": "trial", "place": "1"},
    ],
)
def test_a_result_that_cannot_be_is_refused(loaded: worlds.Yard, library: Path, wrong: dict[str, str]) -> None:
    """A place beyond the field, a place of one that fell, lengths without a place, a time or a name that cannot be
    read, a result of a trial."""
    horse = declared(library, ours(loaded))
    with pytest.raises(EntryRefusedError):
        say(horse, **wrong)


def test_a_result_needs_its_race(loaded: worlds.Yard, library: Path) -> None:
    """A result of a horse that was in no race that day is refused with what to do; the report without it is taken."""
    horse = ours(loaded)
    with pytest.raises(EntryRefusedError, match="no race of this horse"):
        say(horse, **RESULT)
    assert say(horse).pk


def test_two_of_ours_in_one_race_stand_once_each(loaded: worlds.Yard, library: Path) -> None:
    """Where the winner, of ours, never raced before and both are reported, it stands once, as itself, with one first
    place, whichever report was written first; and it stands as itself before its own report is written."""
    new = Horse.objects.create(horse_key="yard:brandnew-2023", name="Brand New", foaled=2023, sex="filly",
                               joined=clock.today() - timedelta(days=90))  # fmt: skip
    new, horse = declared(library, new), declared(library, ours(loaded))
    say(horse, **RESULT | {"other": "BRAND NEW (IRE) 9-0"})
    bring_in(library)
    there = pl.col("source") == "by_hand"
    assert set(Library.open(library).runs().filter(there).collect()["source_horse"]) == {new.horse_key, horse.horse_key}
    say(new, place="1", ran="9", margin="1.5", other=f"{rival(library, horse)} 9-0", carried="126")
    bring_in(library)
    runs = Library.open(library).runs().filter(there).collect().sort("position")
    assert runs["position"].to_list() == [1, 2, 3]
    assert [runs["source_horse"][0], runs["source_horse"][2]] == [new.horse_key, horse.horse_key]
    assert runs["carried_lb"][0] == 126.0


def test_a_second_result_of_one_day_is_refused(loaded: worlds.Yard, library: Path) -> None:
    """A horse has one result on a day: a second is refused with what to do; a report without one is taken, a result is
    corrected, handed in again as it stands, and written anew once it was withdrawn."""
    horse, trainer = declared(library, ours(loaded)), Person.objects.get(login="trainer")
    first = say(horse, **RESULT)
    with pytest.raises(EntryRefusedError, match="in the diary already"):
        say(horse, **RESULT | {"place": "4"})
    plain = say(horse)
    with pytest.raises(EntryRefusedError, match="in the diary already"):
        correct(
            plain, {"what": "race", "text": "Stayed on", "place": "4"}, trainer, client_id=uuid4(), made_at=clock.now()
        )
    better = {"what": "race", "text": "Stayed on", **RESULT, "place": "4"}
    second = correct(first, better, trainer, client_id=uuid4(), made_at=clock.now())
    told = {"what": "race", "text": "Stayed on", **RESULT}
    again = Draft(first.client_id, "race_report", horse.pk, told, first.made_at, happened_at=first.happened_at)
    assert record(again, trainer).pk == first.pk
    withdraw(second, trainer, client_id=uuid4(), made_at=clock.now())
    assert say(horse, **RESULT).pk


def test_no_horse_wins_twice_where_an_import_lacks_one_of_ours(loaded: worlds.Yard, library: Path) -> None:
    """Where an import brings the winner, of ours, and not the other of ours, the winner has that one run on the day,
    and the other its own by hand, which does not tell the winner's again."""
    ran, day = set(loaded.world.runs["source_horse"]), clock.today()
    won, other = [declared(library, one) for one in Horse.objects.order_by("pk") if one.horse_key in ran][:2]
    say(won, place="1", ran="9", margin="1.5", carried="126")
    say(other, **RESULT | {"other": f"{won.name} 9-0"})
    bring_in(library)
    races = pl.DataFrame({"race_id": ["official"], "date": [day], "course": ["Larkmoor"], "distance_m": [1609.0]})
    runs = pl.DataFrame({"race_key": ["invented:official"], "source_horse": [won.horse_key], "horse_name": [won.name],
                         "date": [day], "foaled": [won.foaled], "outcome": ["finished"], "position": [1]})  # fmt: skip
    add_frames(Library.open(library), races, runs, "invented")
    bring_in(library)
    held = Library.open(library).runs().filter(pl.col("date") == day).collect().sort("position")
    stand = [(race.partition(":")[0], *row) for race, *row in
             held.select("race_key", "source_horse", "position").iter_rows()]  # fmt: skip
    assert stand == [("invented", won.horse_key, 1), ("by_hand", other.horse_key, 3)]
    assert bring_in(library)["changed"] == 0
