"""Calendars of deadlines at addresses of their own, read by two parsers."""

from datetime import timedelta

import icalendar
import pytest
import vobject
from django.test import Client

import worlds
from programmed_yard import at, engage_for, handicap_ahead, runner, take, usual_rows
from upsides.books import clock
from upsides.books.models import (
    CalendarAddress,
    Horse,
    Inside,
    Person,
    Sight,
)
from upsides.books.services.calendars import MOST
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture
def code(loaded: worlds.Yard) -> str:
    """The code of a handicap in eight days; a few horses of the yard are in training."""
    return handicap_ahead(loaded.library)


@pytest.fixture
def horse(code: str) -> Horse:
    """A horse with a mark, owned by the person who signs in as owner."""
    return runner()


@pytest.fixture
def trainer_person(loaded: worlds.Yard) -> Person:
    return Person.objects.get(login="trainer")


@pytest.fixture
def feed(client_as: ClientAs, code: str, horse: Horse, loaded: worlds.Yard, trainer_person: Person) -> str:
    """The address of the trainer's calendar, with a horse meant for a race."""
    engage_for(horse, code, loaded.library, trainer_person)
    text = client_as("trainer").post("/deadlines/calendar/").content.decode()
    return "/calendar/" + text.split("/calendar/")[1].split("<")[0]


def test_a_calendar_is_read_by_two_parsers(client: Client, feed: str, horse: Horse) -> None:
    """Two parsers that are not each other's read the same moment, name and reminders out of the feed (RFC 5545)."""
    answer = client.get(feed)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    (event,) = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    (other,) = vobject.readOne(answer.content.decode()).vevent_list
    closes = at(clock.today() + timedelta(days=2), 12)
    assert event["dtstart"].dt == closes
    assert other.dtstart.value == closes
    assert str(event["summary"]) == other.summary.value == f"Enter {horse.name}: Sedge Handicap"
    assert str(event["uid"]) == other.uid.value
    assert [alarm["trigger"].dt for alarm in event.walk("VALARM")] == [-timedelta(hours=24), -timedelta(hours=2)]
    assert all(len(line) <= 75 for line in answer.content.split(b"\r\n"))
    assert answer.content.endswith(b"END:VCALENDAR\r\n")


def test_a_calendar_follows_its_race(
    client: Client, feed: str, horse: Horse, code: str, loaded: worlds.Yard, trainer_person: Person
) -> None:
    """Once the horse is entered the same feed names the declaration; once it is taken out, nothing."""
    engage_for(horse, code, loaded.library, trainer_person, "enter")
    (event,) = icalendar.Calendar.from_ical(client.get(feed).content).walk("VEVENT")
    assert event["dtstart"].dt == at(clock.today() + timedelta(days=6), 10)
    engage_for(horse, code, loaded.library, trainer_person, "withdraw")
    assert icalendar.Calendar.from_ical(client.get(feed).content).walk("VEVENT") == []


def test_a_calendar_changes_with_the_deadline_and_keeps_its_name(
    client: Client, feed: str, loaded: worlds.Yard
) -> None:
    """A deadline moved by a newer programme is the same event at another moment, so that programs replace it."""
    (before,) = icalendar.Calendar.from_ical(client.get(feed).content).walk("VEVENT")
    rows = usual_rows(clock.today())
    take(loaded.library, [rows[0] | {"Enter": f"{clock.today() + timedelta(days=3)} 12:00"}])
    (after,) = icalendar.Calendar.from_ical(client.get(feed).content).walk("VEVENT")
    assert before["uid"] == after["uid"]
    assert after["dtstart"].dt - before["dtstart"].dt == timedelta(days=1)


def test_an_ended_address_answers_nobody(
    client: Client, client_as: ClientAs, feed: str, trainer_person: Person
) -> None:
    """An address works until it is ended, by nobody but its person; only its hash is kept, and each reading is told."""
    client.get(feed)
    assert Sight.objects.filter(person=trainer_person, what=Inside.PLANS, page="/calendar/").count() == 1
    row = CalendarAddress.objects.get()
    assert row.token_hash not in feed
    assert client_as("secretary").post(f"/deadlines/calendar/{row.pk}/end/").status_code == 400
    assert client.get(feed).status_code == 200
    client_as("trainer").post(f"/deadlines/calendar/{row.pk}/end/")
    assert client.get(feed).status_code == 404


def test_a_calendar_ends_with_its_person(client: Client, feed: str, trainer_person: Person) -> None:
    """Once a person's sign-in is closed, or the person is no more of the office, the address tells nothing."""
    trainer_person.posts.all().update(role="rider")
    assert b"VEVENT" not in client.get(feed).content
    Person.objects.filter(pk=trainer_person.pk).update(is_active=False)
    assert client.get(feed).status_code == 404


def test_old_addresses_make_room(client_as: ClientAs, code: str) -> None:
    """A person has so many addresses at most; the oldest is ended for another."""
    for _ in range(MOST + 2):
        client_as("trainer").post("/deadlines/calendar/")
    assert CalendarAddress.objects.filter(ended_at=None).count() == MOST
