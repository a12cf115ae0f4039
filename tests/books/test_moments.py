"""Reading the books as they stood."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest

from upsides.books import clock
from upsides.books.models import Entry, Horse, Person
from upsides.books.queries import moments

pytestmark = pytest.mark.django_db
NOON = datetime(2030, 5, 1, 12, tzinfo=UTC)


class Clock:
    """A clock that is moved by hand."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.at = NOON
        monkeypatch.setattr(clock, "now", lambda: self.at)

    def wait(self, hours: float = 1) -> datetime:
        self.at += timedelta(hours=hours)
        return self.at


@pytest.fixture
def hands(monkeypatch: pytest.MonkeyPatch) -> Clock:
    return Clock(monkeypatch)


def note(words: str, hands: Clock, supersedes: Entry | None = None, *, withdrawn: bool = False) -> Entry:
    person, horse = Person.objects.get(login="carer"), Horse.objects.order_by("pk").first()
    times = dict.fromkeys(("happened_at", "made_at", "recorded_at"), hands.at)
    more = {"supersedes": supersedes, "withdrawn": withdrawn, "values": {"text": words}}
    return Entry.objects.create(client_id=uuid4(), kind="note", horse=horse, author=person, **times, **more)


def said(moment: moments.Moment) -> list[str]:
    return [entry.values["text"] for entry in moments.entries(moment) if entry.recorded_at >= NOON]


def test_the_diary_as_it_stood(hands: Clock) -> None:
    """A correction or a withdrawal counts from when it was recorded; before it the old row stands."""
    first = note("off side fore warm", hands)
    other = note("ate up", hands)
    then = hands.wait()
    hands.wait()
    second = note("near side fore warm", hands, first)
    later = hands.wait()
    hands.wait()
    note("", hands, other, withdrawn=True)
    assert said(moments.as_of(then)) == ["off side fore warm", "ate up"]
    assert said(moments.as_of(later)) == ["ate up", "near side fore warm"]
    assert said(moments.now()) == ["near side fore warm"]
    assert said(moments.as_of(second.recorded_at)) == ["ate up", "near side fore warm"]


def test_rows_as_they_stood(hands: Clock) -> None:
    """A horse's colour, its name and whether it is here are what they were at the moment asked about."""
    horse = Horse.objects.order_by("pk").first()
    before = hands.wait()
    hands.wait()
    horse.colour = "Far"
    horse.save()
    moved = hands.wait()
    hands.wait()
    horse.left = date(2030, 5, 1)
    horse.save()
    assert moments.rows(Horse, moments.as_of(before)).get(pk=horse.pk).colour != "Far"
    assert moments.rows(Horse, moments.as_of(moved)).get(pk=horse.pk).colour == "Far"
    assert moments.in_training(moments.as_of(moved)).filter(pk=horse.pk).exists()
    assert not moments.in_training(moments.now()).filter(pk=horse.pk).exists()


def test_names_as_they_were(hands: Clock) -> None:
    """People are called what they were called then."""
    person = Person.objects.get(login="rider")
    before = hands.wait()
    hands.wait()
    person.name = "Somebody Else"
    person.save()
    assert moments.names(Person, moments.as_of(before), [person.pk]) == {person.pk: "work rider one"}
    assert moments.names(Person, moments.now(), [person.pk]) == {person.pk: "Somebody Else"}


def test_the_day_is_the_yards(hands: Clock) -> None:
    """An hour before midnight in UTC it is the next day in the yard in summer."""
    assert moments.as_of(datetime(2030, 7, 1, 23, 30, tzinfo=UTC)).day == date(2030, 7, 2)
    hands.at = datetime(2030, 7, 1, 23, 30, tzinfo=UTC)
    assert moments.now().day == date(2030, 7, 2)


def test_of_changes_at_the_same_time_the_last_counts(hands: Clock) -> None:
    """A horse changed twice within the clock's smallest step has the colour it was given last, once."""
    horse = Horse.objects.order_by("pk").first()
    hands.wait()
    for colour in ("Far", "Near"):
        horse.colour = colour
        horse.save()
    horse.history.update(history_date=hands.at)
    found = moments.rows(Horse, moments.as_of(hands.wait())).filter(pk=horse.pk)
    assert [one.colour for one in found] == ["Near"]
