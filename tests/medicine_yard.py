"""A yard whose medicines are entered as tests need them."""

from datetime import date, datetime, time, timedelta
from uuid import uuid4

from upsides.books import clock
from upsides.books.models import Engagement, Entry, Horse, Person, Yard
from upsides.books.services.diary import Draft, record

FULL_COURSE = (0, 40, 180)
"""Days of a course's doses that is in order by the rules of Britain and Ireland since 2022: second 21 to 60 days after
the first, third 120 to 180 days after the second (Racehorse Owners Association, 8 October 2021)."""


def stands_in(country: str) -> date:
    """Put the yard under the rules of a country; return its day."""
    Yard.objects.update(jurisdiction=country)
    return clock.today()


def horse(place: int = 0) -> Horse:
    return Horse.objects.order_by("pk")[place]


def person(login: str) -> Person:
    return Person.objects.get(login=login)


def enter(kind: str, about: Horse, values: dict[str, object], on: date, *, by: str = "trainer", hour: int = 9) -> Entry:
    """Enter something of a day, at an hour of the yard."""
    at = datetime.combine(on, time(hour), clock.place().zone)
    return record(Draft(uuid4(), kind, about.pk, values, clock.now(), at), person(by))


def treat(about: Horse, on: date, *, by: str = "trainer", **more: object) -> Entry:
    """Enter a treatment that no rule knows, but for what is said otherwise."""
    usual = {"product": "Fernwash", "quantity": "10 ml", "route": "oral", "what": "other", "reason": "Cough"}
    return enter("treatment", about, usual | more, on, by=by)


def dose(about: Horse, on: date, **more: object) -> Entry:
    """Enter a dose against influenza."""
    return enter("vaccination", about, {"disease": "influenza", "product": "Gustavac"} | more, on)


def boosted(about: Horse, last: date) -> None:
    """Enter a course that is in order, and a booster on a day."""
    for days in FULL_COURSE:
        dose(about, last - timedelta(days=FULL_COURSE[-1] + 170) + timedelta(days=days))
    dose(about, last)


def engage(about: Horse, on: date, country: str = "GB", *, closes: date | None = None) -> Engagement:
    """Engage a horse in a race of a day."""
    at = datetime.combine(closes, time(12), clock.place().zone) if closes else None
    told = {"race": "Ling Stakes", "course": "Tarn Moor", "zone": "Europe/London"}
    return Engagement.objects.create(horse=about, day=on, country=country, enter_by=at, state="entered", **told)
