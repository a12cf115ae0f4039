"""Time at the wheel is written down, held against the rules, and told on race day as it was known at a moment."""

from datetime import datetime, time, timedelta
from uuid import uuid4

import pytest

import worlds
from upsides.books import clock
from upsides.books.models import Entry, Person, Yard
from upsides.books.queries import moments
from upsides.books.queries.race_day import wheel_of
from upsides.books.services.diary import Draft, record
from upsides.errors import EntryRefusedError
from worlds import ClientAs

pytestmark = pytest.mark.django_db


def drive(person: Person, at: time, hours: str, **more: str) -> Entry:
    """Let somebody have driven yesterday from a time on."""
    when = datetime.combine(clock.today() - timedelta(days=1), at, clock.place().zone)
    values = {"person": str(person.pk), "hours": hours, "lorry": "Blue lorry", **more}
    draft = Draft(uuid4(), "driven", None, values, clock.now(), happened_at=when)
    return record(draft, Person.objects.get(login="secretary"))


def test_who_drove_stands_on_race_day(client_as: ClientAs, loaded: worlds.Yard) -> None:
    """Five hours, half an hour's rest and five more: the page says ten hours in all and ten between breaks (a break of
    half an hour is none where 45 minutes are asked, or 15 and then 30), over both of the rule's limits; the stretches
    stand with lorry and meeting; as of the moment of the first entry the second stood nowhere."""
    Yard.objects.update(jurisdiction="Britain")
    driver, yesterday = Person.objects.get(login="carer"), clock.today() - timedelta(days=1)
    first = drive(driver, time(5), "5", to="Larkmoor")
    drive(driver, time(10, 30), "5 h", to="home")
    address = f"/race-day/?day={yesterday}"
    text = " ".join(client_as("trainer").get(address).content.decode().split())
    assert "05:00–10:00, Blue lorry, Larkmoor; 10:30–15:30, Blue lorry, home." in text
    assert "10 h 00 min at the wheel in all, 10 h 00 min between breaks." in text
    assert "more than the 9 hours that a day may have" in text
    assert "A break of 45 minutes was due after 4.5 hours." in text
    (half,) = wheel_of(loaded.library, moments.as_of(first.recorded_at), yesterday)
    assert [(each.when.end - each.when.start, each.to) for each in half.stretches] == [(timedelta(hours=5), "Larkmoor")]


def test_what_no_rule_is_known_of_is_told(client_as: ClientAs, loaded: worlds.Yard) -> None:
    """In a country without a rule the hours stand all the same, with the word to ask the authority."""
    Yard.objects.update(jurisdiction="Hong Kong")
    drive(Person.objects.get(login="carer"), time(5), "2.5")
    text = client_as("trainer").get(f"/race-day/?day={clock.today() - timedelta(days=1)}").content.decode()
    assert "05:00–07:30" in text
    assert "Ask the authority" in text


def test_hours_that_cannot_be_are_refused(loaded: worlds.Yard) -> None:
    """No stretch is longer than a day, shorter than a minute, or without a lorry."""
    carer = Person.objects.get(login="carer")
    for hours in ("25", "0", "-2"):
        with pytest.raises(EntryRefusedError):
            drive(carer, time(5), hours)
    with pytest.raises(EntryRefusedError):
        drive(carer, time(5), "2", lorry="")
