"""Programmes taken into a yard: kept once, newer for older, engagements that follow, and what is refused of them."""

from datetime import timedelta

import pytest

import worlds
from programmed_yard import SHAPE, code_of, engage_for, forget, marked, programmed, race, take, usual_rows
from upsides.books import clock
from upsides.books.models import Decision, Engagement, Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.programme import programme
from upsides.errors import FileUnreadableError
from upsides.placing import Change, Stage
from upsides.results.programme_rows import NO_ZONE

pytestmark = pytest.mark.django_db


@pytest.fixture
def rows(loaded: worlds.Yard) -> list[dict[str, str]]:
    forget(loaded.library)
    return usual_rows(clock.today())


def test_the_same_programme_twice_changes_nothing(loaded: worlds.Yard, rows: list[dict[str, str]]) -> None:
    """A programme taken in again is as before, and is not kept again."""
    first, again = take(loaded.library, rows), take(loaded.library, rows)
    assert [one.change for one in first.heard] == [Change.NEW] * 3
    assert [one.change for one in again.heard] == [Change.SAME] * 3
    assert (first.kept, again.kept) == (True, False)
    assert len(list((loaded.library / "programme").glob("*.parquet"))) == 1


def test_what_was_heard_later_is_not_known_before(loaded: worlds.Yard, rows: list[dict[str, str]]) -> None:
    """As of a day before the programme came there is no race in it."""
    take(loaded.library, rows)
    before = moments.as_of(clock.now() - timedelta(days=1))
    assert len(programme(loaded.library, moments.now()).races) == 3
    assert programme(loaded.library, before).races == {}


def test_a_moved_meeting_takes_its_engagements_with_it(
    loaded: worlds.Yard, rows: list[dict[str, str]], trainer: Person
) -> None:
    """A race on a new day keeps its code; its entry holds no more, and that is written down as a row of its own."""
    take(loaded.library, rows)
    horse = marked(Horse.objects.order_by("pk")[0])
    row = engage_for(horse, code_of(loaded.library, "Sedge Handicap"), loaded.library, trainer, "enter")
    today = clock.today()
    moved = race("1", "Sedge Handicap", today + timedelta(days=9), "Highest weight 9-11", Ages="3yo+", Band="0-110")
    taken = take(loaded.library, [moved | {"Was": str(today + timedelta(days=8))}])
    row.refresh_from_db()
    assert [one.change for one in taken.heard] == [Change.MOVED]
    assert taken.followed[0][0] == horse.name
    assert (row.day, row.state) == (today + timedelta(days=9), Engagement.State.MEANT)
    assert row.race_code == code_of(loaded.library, "Sedge Handicap")
    steps = list(Decision.objects.filter(engagement=row).order_by("pk").values_list("step", flat=True))
    assert steps == ["enter", "moved"]
    assert Engagement.objects.filter(horse=horse, day=today + timedelta(days=8)).count() == 0


def test_a_changed_deadline_reaches_the_engagement(
    loaded: worlds.Yard, rows: list[dict[str, str]], trainer: Person
) -> None:
    """A newer word of a deadline is the engagement's too; what was said of the race stands."""
    take(loaded.library, rows)
    horse = marked(Horse.objects.order_by("pk")[0])
    row = engage_for(horse, code_of(loaded.library, "Sedge Handicap"), loaded.library, trainer, "enter")
    later = clock.today() + timedelta(days=7)
    take(loaded.library, [rows[0] | {"Declare": f"{later} 10:00"}])
    row.refresh_from_db()
    assert row.declare_by is not None
    assert (row.declare_by.date(), row.state) == (later, Engagement.State.ENTERED)


def test_a_time_without_a_zone_is_told_and_the_race_kept(loaded: worlds.Yard, rows: list[dict[str, str]]) -> None:
    """Where nobody says in which zone a course's clock goes its times are refused, and the race stays."""
    taken = take(loaded.library, [rows[0] | {"Zone": "", "Course": "Tarn Moor"}])
    assert set(taken.listed.refused["reason"]) == {NO_ZONE}
    (found,) = programme(loaded.library, moments.now()).races.values()
    assert (found.course, found.dues) == ("Tarn Moor", ())


def test_a_zone_that_is_known_of_the_course_is_used(loaded: worlds.Yard, rows: list[dict[str, str]]) -> None:
    """A later programme that says no zone is read by the course's own, as an earlier one gave it."""
    take(loaded.library, rows)
    other = race("9", "Ling Handicap", clock.today() + timedelta(days=12), "Highest weight 9-11", Zone="")
    take(loaded.library, [other])
    found = programme(loaded.library, moments.now()).races[code_of(loaded.library, "Ling Handicap")]
    assert found.zone == "Europe/London"
    assert {due.stage for due in found.dues} == {Stage.ENTER, Stage.DECLARE}


def test_two_races_of_one_name_are_two(loaded: worlds.Yard, rows: list[dict[str, str]], trainer: Person) -> None:
    """Divisions of a race, the same day and name, keep codes of their own, and a horse may be entered for both."""
    take(loaded.library, [rows[0], rows[0] | {"Id": "4", "No": "4"}])
    codes = list(programme(loaded.library, moments.now()).races)
    assert len(set(codes)) == 2
    horse = marked(Horse.objects.order_by("pk")[0])
    assert len({engage_for(horse, code, loaded.library, trainer, "enter").pk for code in codes}) == 2


def test_conditions_that_contradict_each_other_are_told(loaded: worlds.Yard, rows: list[dict[str, str]]) -> None:
    """A race for two-year-olds in a column and for four-year-olds in words is kept, and its clash told."""
    taken = take(loaded.library, [rows[1] | {"Conditions": "For four yrs old only, which are maidens", "Ages": "2yo"}])
    assert len(programme(loaded.library, moments.now()).races) == 1
    assert [race for race, _words in taken.clashing] == [str(taken.heard[0].race)]


def test_a_prize_in_another_currency_stays_in_it(loaded: worlds.Yard, rows: list[dict[str, str]]) -> None:
    """A race whose prize is in euros keeps its own currency beside the shape's."""
    take(loaded.library, [rows[0] | {"Cur": "EUR"}, rows[1]])
    currencies = {one.title: one.currency for one in programme(loaded.library, moments.now()).races.values()}
    assert currencies == {"Sedge Handicap": "EUR", "Fern Maiden": "GBP"}


def test_a_table_that_is_no_programme_leaves_nothing_behind(loaded: worlds.Yard) -> None:
    """A file without a race is refused in words, and no programme is kept."""
    forget(loaded.library)
    with pytest.raises(FileUnreadableError, match="no race"):
        take(loaded.library, [])
    assert not (loaded.library / "programme").exists()


def test_a_programme_taken_twice_over_a_year_is_read_once(loaded: worlds.Yard) -> None:
    """Reading the programme again while nothing was added gives the very same races, not another reading."""
    programmed(loaded.library)
    assert programme(loaded.library, moments.now()) is programme(loaded.library, moments.now())
    assert "Europe" not in SHAPE
