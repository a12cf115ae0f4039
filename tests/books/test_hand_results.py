"""A result written down after a race is a run like any other, until the official one is imported."""

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from uuid import uuid4

import polars as pl
import pytest

import programmed_yard as programmed
import worlds
from hand_reports import RESULT, declared, ours, say, told_differently, with_a_race
from upsides.books import clock
from upsides.books.models import Engagement, Horse, Job, Person
from upsides.books.queries.condition_done import done_by
from upsides.books.queries.entrants import entrants
from upsides.books.queries.hand_results import resulted_on
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import race as read_race
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
DAY = timedelta(days=1)


@pytest.fixture
def library(loaded: worlds.Yard, folder: Path) -> Path:
    """A library of this test alone, with a handicap of today."""
    return with_a_race(loaded, folder)


def rival(library: Path, horse: Horse) -> str:
    """Return the name of a horse of another yard that ran lately."""
    named = Library.open(library).horses().filter(~pl.col("horse_key").is_in(list(Horse.objects.values_list("horse_key"
             , flat=True))), pl.col("runs") > 5).sort("last_run", descending=True).collect()  # fmt: skip
    alone = named.filter(pl.len().over("name") == 1)
    assert alone["name"][0] != horse.name
    return str(alone["name"][0])


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


def test_a_result_comes_after_its_race(loaded: worlds.Yard, library: Path) -> None:
    """Before the race is off no result of it is taken, nor a winner's time in which no horse runs its distance; no
    horse galloped beside itself."""
    horse = declared(library, ours(loaded))
    Engagement.objects.update(off_at=clock.now() + timedelta(minutes=5), distance_m=2000)
    with pytest.raises(EntryRefusedError, match="is off at"):
        say(horse, **RESULT)
    Engagement.objects.update(off_at=clock.now() - timedelta(minutes=5))
    with pytest.raises(EntryRefusedError, match="no horse runs 2000 m"):
        say(horse, **RESULT | {"time": "99"})
    assert say(horse, **RESULT | {"time": "2:05.0"}).pk
    beside = {"what": "racecourse_gallop", "metres": "1200", "finished": "in_front", "lengths": "2"}
    with pytest.raises(EntryRefusedError, match="beside itself"):
        say(horse, **beside, beside=str(horse.pk))


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
    assert stand == [("invented", won.horse_key, 1), ("invented", other.horse_key, 3)]
    assert bring_in(library)["changed"] == 0


def test_a_result_is_of_the_race_that_the_horse_was_declared_for(loaded: worlds.Yard, library: Path) -> None:
    """A result of a horse that was only meant for a race, entered or confirmed is refused with how it stands and what
    to do; once the declaration is written down, said in time, it is taken, and of two races the declared one counts."""
    horse = ours(loaded)
    row = Engagement.objects.create(horse=horse, race="Gorse Stakes", course="Larkmoor", zone="Europe/London",
                                    day=clock.today(), race_code="gorse", state=Engagement.State.MEANT)  # fmt: skip
    for state, words in (("meant", "meant for it"), ("entered", "entered"), ("confirmed", "confirmed")):
        Engagement.objects.filter(pk=row.pk).update(state=state)
        with pytest.raises(EntryRefusedError, match=f"it stands as {words}, not as declared"):
            say(horse, **RESULT)
    declared(library, horse)
    say(horse, **RESULT)
    bring_in(library)
    run = starts_of(state_of(library), frozenset([horse.horse_key])).row(0, named=True)
    assert (run["title"], run["position"]) == ("Sedge Handicap", 3)


def test_a_result_is_not_moved_onto_another(loaded: worlds.Yard, library: Path) -> None:
    """A correction that moves a result to a day that has one is refused with what to do, and both stand as they were;
    to a day without one it is moved, and the run with it."""
    horse, trainer = declared(library, ours(loaded)), Person.objects.get(login="trainer")
    yesterday = clock.today() - DAY
    for day in (yesterday, yesterday - DAY):
        Engagement.objects.create(horse=horse, race="Gorse Stakes", course="Larkmoor", zone="Europe/London", day=day,
                                  state=Engagement.State.DECLARED)  # fmt: skip
    first = say(horse, **RESULT)
    second = say(horse, at=datetime.combine(yesterday, time(15), UTC), **RESULT | {"place": "5"})

    def moved(day: date) -> Draft:
        at = datetime.combine(day, time(15), UTC)
        told = {"what": "race", "text": "Stayed on", **RESULT}
        return Draft(uuid4(), "race_report", horse.pk, told, clock.now(), happened_at=at, supersedes=first.client_id)

    with pytest.raises(EntryRefusedError, match="in the diary already"):
        record(moved(yesterday), trainer)
    standing = {one.pk for day in (clock.today(), yesterday) for one in resulted_on(horse.pk, day)}
    assert standing == {first.pk, second.pk}
    third = record(moved(yesterday - DAY), trainer)
    assert [one.pk for one in resulted_on(horse.pk, yesterday - DAY)] == [third.pk]
    assert resulted_on(horse.pk, clock.today()) == []
    bring_in(library)
    starts = starts_of(state_of(library), frozenset([horse.horse_key]))
    assert starts["date"].to_list()[:2] == [yesterday, yesterday - DAY]


@pytest.mark.parametrize("named", ["winner", "title", "other of ours", "nothing"])
def test_one_race_has_one_row(loaded: worlds.Yard, library: Path, named: str) -> None:
    """Where an import has the race and lacks ours, ours runs in that race and no second row stands beside it: told by
    the winner that its report names, by the title, or by another of ours that was declared; where nothing tells it, the
    race by hand stands alone. It holds in the import's own commit, stays when the import comes again, and goes when the
    import brings ours."""
    horse, day = declared(library, ours(loaded)), clock.today()
    won = rival(library, horse)
    (key,) = Library.open(library).horses().filter(pl.col("name") == won).collect()["horse_key"]
    if named == "other of ours":
        one = next(
            one for one in Horse.objects.order_by("-pk") if one.horse_key in set(loaded.world.runs["source_horse"])
        )
        declared(library, one)
        key, won = one.horse_key, one.name
    say(horse, **RESULT | ({"other": f"{won} 9-7"} if named == "winner" else {}))
    bring_in(library)
    races = pl.DataFrame({"race_id": ["official"], "date": [day], "course": ["LARKMOOR"], "distance_m": [1600.0],
                          "title": ["Sedge handicap" if named == "title" else None]})  # fmt: skip
    runs = pl.DataFrame({"race_key": ["invented:official"], "source_horse": [key], "horse_name": [won], "date": [day],
                         "outcome": ["finished"], "position": [1]})  # fmt: skip
    add_frames(Library.open(library), races, runs, "invented")
    rows = ("by_hand", "invented") if named == "nothing" else ("invented",)

    def held(name: str, column: str) -> list[str]:
        return sorted(getattr(Library.open(library), name)().filter(pl.col("date") == day).collect()[column].to_list())

    if named != "other of ours":
        assert tuple(one.partition(":")[0] for one in held("races", "race_key")) == rows
    bring_in(library)
    assert tuple(one.partition(":")[0] for one in held("races", "race_key")) == rows
    assert bring_in(library)["changed"] == 0
    assert sorted([key, horse.horse_key]) == held("runs", "source_horse")
    add_frames(Library.open(library), races.with_columns(going=pl.lit("good")), runs, "invented")
    assert sorted([key, horse.horse_key]) == held("runs", "source_horse")
    if named != "nothing":
        found = read_race(state_of(library), "invented:official")
        assert found is not None
        assert found[1]["source_horse"].to_list() == [key, horse.horse_key]
    both = pl.concat([runs, runs.with_columns(source_horse=pl.lit(horse.horse_key), horse_name=pl.lit(horse.name),
                                              position=pl.lit(4, pl.Int64))])  # fmt: skip
    add_frames(Library.open(library), races, both, "invented")
    assert held("races", "race_key") == ["invented:official"]
    assert held("runs", "source") == ["invented", "invented"]


def test_reports_that_disagree_are_both_told(loaded: worlds.Yard, library: Path) -> None:
    """Of one race two reports of ours that disagree on a place or the runners are both told, with which counts and why;
    once the official result is imported it counts, and whatever a report or the programme says otherwise is told beside
    it: place, weight, runners, distance. Where they agree nothing is told."""
    known = set(loaded.world.runs["source_horse"])
    one, other = [declared(library, each) for each in Horse.objects.order_by("pk") if each.horse_key in known][:2]
    say(one, **RESULT)
    say(other, **RESULT | {"ran": "10", "time": "1:40.22"})
    bring_in(library)
    (by_hand,) = Library.open(library).races().filter(pl.col("source") == "by_hand").collect()["race_key"]
    assert told_differently(library, by_hand) == [
        f"{other.name} and {one.name} are both reported in place 3rd: a dead heat, or one is wrong. Both count as they "
        "stand until the official result is imported.",
        f"How many ran: 10 by the report on {other.name}, 9 by that on {one.name}. The latter counts, since it stands "
        "first, until the official result is imported.",
    ]
    Engagement.objects.update(distance_m=1609)
    day, horses = clock.today(), [one, other]
    races = pl.DataFrame({"race_id": ["official"], "date": [day], "course": ["Larkmoor"], "distance_m": [1800.0]})
    keys, names = [each.horse_key for each in horses], [each.name for each in horses]
    runs = pl.DataFrame({"race_key": ["invented:official"] * 4, "source_horse": [*keys, "away:1", "away:2"],
                         "horse_name": [*names, "Marram", "Tern"], "date": [day] * 4, "outcome": ["finished"] * 4,
                         "position": [3, 4, 1, 2], "carried_lb": [130.0, 128.0, None, None]})  # fmt: skip
    add_frames(Library.open(library), races, runs, "invented")
    bring_in(library)
    ending = "by the imported result. The imported one counts, as the official result"
    stays = "; the report stays in the diary as written."
    run = " of the race as it was run."
    assert told_differently(library, "invented:official") == [
        f"Weight of {one.name}: 128 lb by the report on {one.name}, 130 lb {ending}{stays}",
        f"How many ran: 9 by the report on {one.name}, 4 {ending}{stays}",
        f"Distance: 1609 m by the programme, 1800 m {ending}{run}",
        f"Place of {other.name}: 3rd by the report on {other.name}, 4th {ending}{stays}",
        f"How many ran: 10 by the report on {other.name}, 4 {ending}{stays}",
    ]
