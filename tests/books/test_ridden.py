"""What was said after a race is evidence of the trip the same evening; as of a moment only what was said by then."""

from datetime import UTC, datetime, time, timedelta
from uuid import uuid4

import pytest

import trip_yard
import worlds
from upsides.books import clock
from upsides.books.models import Engagement, Entry, Horse, Job, Person
from upsides.books.queries import moments, trips
from upsides.books.queries.ridden import ridden
from upsides.books.services.diary import Draft, record

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
