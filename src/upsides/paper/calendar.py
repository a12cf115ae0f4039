"""Calendars as calendar programs read them (RFC 5545): moments by which something must be said, and days of races."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import icalendar

WARN: Final = (timedelta(hours=24), timedelta(hours=2))
"""How long before a moment a calendar program reminds of it."""


@dataclass(frozen=True, slots=True)
class Event:
    """One moment in a calendar.

    Args:
        key: its name, the same as long as it is the same thing, whatever becomes of its moment.
        at: the moment, with its zone, in which it is shown.
        summary: one line.
        description: what else is to be known.
        place: where.
        lasts: how long it takes.
        changed: when it was last written down.
        warn: whether a calendar program reminds of it.
    """

    key: str
    at: datetime
    summary: str
    description: str
    place: str
    lasts: timedelta
    changed: datetime
    warn: bool = True


@dataclass(frozen=True, slots=True)
class Calendar:
    """A person's calendar.

    Args:
        name: what it is called.
        language: of its words, e.g. en-GB.
        refresh: how often a calendar program should read it anew.
        events: in any order.
    """

    name: str
    language: str
    refresh: timedelta
    events: tuple[Event, ...]


def calendar_file(calendar: Calendar) -> bytes:
    """Return a calendar as a file.

    Zones that events stand in are described in it, so that a program which does not know them shows the right moment.
    """
    import icalendar

    made = icalendar.Calendar()
    made.add("prodid", f"-//Upsides//{calendar.language}")
    made.add("version", "2.0")
    made.add("method", "PUBLISH")
    made.add("x-wr-calname", calendar.name)
    made.add("refresh-interval", calendar.refresh, parameters={"value": "DURATION"})
    for event in sorted(calendar.events, key=lambda one: (one.at, one.key)):
        made.add_component(_event(event))
    made.add_missing_timezones()
    return made.to_ical()  # type: ignore[no-any-return]  # the library says bytes in its own words


def _event(one: Event) -> "icalendar.Event":
    import icalendar

    event = icalendar.Event()
    event.add("uid", f"{one.key}@upsides")
    event.add("dtstamp", one.changed)
    event.add("last-modified", one.changed)
    event.add("dtstart", one.at)
    event.add("duration", one.lasts)
    event.add("summary", one.summary)
    event.add("description", one.description)
    event.add("location", one.place)
    event.add("class", "PRIVATE")
    event.add("transp", "TRANSPARENT")
    for before in WARN if one.warn else ():
        alarm = icalendar.Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", one.summary)
        alarm.add("trigger", -before)
        event.add_component(alarm)
    return event
