"""What was said after a race is evidence of the trip the same evening; as of a moment only what was said by then."""

import shutil
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from click.testing import CliRunner

import trip_yard
import worlds
from upsides.books import clock
from upsides.books.models import Engagement, Entry, Horse, Job, Person
from upsides.books.queries import moments, trips
from upsides.books.queries.ridden import ridden
from upsides.books.queries.told_of_runs import told_of_morning, told_up_to
from upsides.books.services import opening
from upsides.books.services.diary import Draft, record
from upsides.cli.main import main
from upsides.errors import CannotFitError, EntryRefusedError
from upsides.ratings.levels.told import NOTHING_TOLD, Outing, Told

pytestmark = pytest.mark.django_db


@pytest.fixture
def horse(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Horse:
    """A horse that runs today over 1600 m."""
    monkeypatch.setattr(trips, "read_trips", lambda *_: trip_yard.trips_of(loaded.levels))
    one = trip_yard.runner(loaded)
    Engagement.objects.create(horse=one, race="Sedge Handicap", course="Larkmoor", zone="UTC", day=clock.today(),
                              distance_m=1600, state=Engagement.State.DECLARED)  # fmt: skip
    return one


def say(horse: Horse, days_ago: int = 0, supersedes: Entry | None = None, **values: object) -> Entry:
    at = datetime.combine(clock.today() - timedelta(days=days_ago), time(4), UTC)
    told = {"what": "race", "text": "Said", **values}
    target = supersedes.client_id if supersedes else None
    draft = Draft(uuid4(), "race_report", horse.pk, told, clock.now(), happened_at=at, supersedes=target)
    return record(draft, Person.objects.get(login="trainer"))


def test_a_report_is_evidence_the_same_evening(loaded: worlds.Yard, horse: Horse) -> None:
    """What the jockey said today of today's race, which no result knows yet, stands with the race's distance, moves the
    trip, and has the chances worked out again."""
    before = trips.trips(loaded.library, moments.now(), [horse])[0][horse.pk]
    Job.objects.all().delete()
    say(horse, wants="further", asked="asked")
    assert ridden(loaded.library, moments.now(), [horse]) == {horse.pk: (((1600.0, "further"),), ())}
    after = trips.trips(loaded.library, moments.now(), [horse])[0][horse.pk]
    assert after.best > before.best
    assert Job.objects.filter(kind="chances").count() == 1


def test_what_was_corrected_counts_no_more(loaded: worlds.Yard, horse: Horse) -> None:
    """Of a report that was corrected the correction counts, and as of the moment before it the first one does."""
    first = say(horse, wants="further")
    say(horse, supersedes=first, wants="shorter")
    assert ridden(loaded.library, moments.now(), [horse])[horse.pk][0] == ((1600.0, "shorter"),)
    then = moments.as_of(first.recorded_at)
    assert ridden(loaded.library, then, [horse])[horse.pk][0] == ((1600.0, "further"),)
    assert ridden(loaded.library, moments.as_of(first.recorded_at - timedelta(seconds=1)), [horse]) == {}


def test_a_run_that_was_not_asked_is_told_by_its_day(loaded: worlds.Yard, horse: Horse) -> None:
    """A race in which it was not asked is told by its day; a racecourse gallop, of which nobody wrote how far it was,
    says nothing."""
    say(horse, asked="not_asked")
    say(horse, days_ago=3, what="racecourse_gallop", wants="further", asked="not_asked")
    assert ridden(loaded.library, moments.now(), [horse]) == {horse.pk: ((), (clock.today(),))}


def test_a_gallop_of_known_length_is_evidence_of_the_trip(loaded: worlds.Yard, horse: Horse) -> None:
    """What was said after a racecourse gallop counts over the distance that its report names."""
    say(horse, days_ago=3, what="racecourse_gallop", wants="further", metres="6f")
    assert ridden(loaded.library, moments.now(), [horse]) == {horse.pk: (((1207.0, "further"),), ())}


def test_fits_are_told_what_was_said(loaded: worlds.Yard, horse: Horse) -> None:
    """A race not asked, and a trial with its other horse, each pair of a day once, whoever reports it; today's says
    nothing this morning, as of a moment before nothing was said, and what names a horse without a finish is refused."""
    other = Horse.objects.exclude(pk=horse.pk).exclude(horse_key="").order_by("pk")[0]
    first = say(horse, days_ago=9, asked="eased")
    trial = {"what": "trial", "metres": "1000", "finished": "behind", "lengths": "3.5"}
    say(horse, days_ago=2, **trial, beside=other.pk, asked="not_asked")
    say(other, days_ago=2, **(trial | {"finished": "in_front"}), beside=horse.pk)
    say(horse, asked="not_asked")
    told, day = told_up_to(moments.now()), clock.today()
    assert told.unasked == {(horse.horse_key, day - timedelta(days=9))}
    assert told.outings == (
        Outing(day - timedelta(days=2), 1000.0, horse.horse_key, other.horse_key, 3.5, asked=False, other_asked=True),
    )
    assert told_up_to(moments.as_of(first.recorded_at - timedelta(seconds=1))) == NOTHING_TOLD
    for wrong in ({"beside": other.pk}, {"what": "trial", "lengths": "2"}, {"what": "trial", "finished": "level"}):
        with pytest.raises(EntryRefusedError):
            say(horse, **wrong)


def test_a_fit_by_hand_is_told_the_same(
    loaded: worlds.Yard, horse: Horse, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """`upsides fit` takes what the diary says of runs as the nightly fit does; a library without books says nothing."""
    say(horse, days_ago=9, asked="eased")
    given: list[Told] = []

    def made(*_: object, told: Told, **_more: object) -> None:
        given.append(told)
        raise CannotFitError("levels", "that is enough", "stop")

    monkeypatch.setattr("upsides.trip.fitting.make_fit_with_trips", made)
    monkeypatch.setattr(opening, "has_books", lambda library: library == loaded.library)
    monkeypatch.setattr(opening, "connect_books", lambda _library: None)
    shutil.copytree(loaded.library, tmp_path / "bare")
    for library in (loaded.library, tmp_path / "bare"):
        done = CliRunner().invoke(main, ["fit", "--library", str(library)])
        assert "that is enough" in done.output
    assert given == [told_of_morning(clock.today()), NOTHING_TOLD]
    assert given[0].unasked == {(horse.horse_key, clock.today() - timedelta(days=9))}
