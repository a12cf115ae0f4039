"""A yard that feeds: feeds, boxes, rations, deliveries and what was left, for tests of the books and of the pages."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import uuid4

from upsides.books import clock
from upsides.books.models import Box, Feed, FeedBatch, Horse, Person, Stand, Yard
from upsides.books.services.diary import Draft, record
from upsides.books.services.feed_store import Label, deliver, mark, write_feed
from upsides.books.services.feeding import Amount, write_ration

TIMES = ["morning", "noon", "evening"]


@dataclass(frozen=True)
class FedYard:
    """What was entered.

    Args:
        by: the trainer.
        hay, cubes, balancer: the feeds.
        horses: in walking order: the first has a ration for long, the second one that changed today, the third gets
            nothing, the fourth has none written.
        batch: a delivery of cubes, opened.
        today: the yard's day.
    """

    by: Person
    hay: Feed
    cubes: Feed
    balancer: Feed
    horses: list[Horse]
    batch: FeedBatch
    today: date


def feed_the_yard() -> FedYard:
    """Enter feeds, boxes and rations for the first four horses of the usual yard."""
    yard = Yard.objects.get()
    yard.feed_times = TIMES
    yard.save()
    by, today = Person.objects.get(login="trainer"), clock.today()
    hay = write_feed(Label("zHay", "forage", "9", "85", "", "9"), by)
    cubes = write_feed(Label("zCubes", "concentrate", "13", "88", "26", "13"), by)
    balancer = write_feed(Label("zBalancer", "supplement", "11", "90"), by)
    horses = list(Horse.objects.order_by("pk")[:4])
    for place, horse in enumerate(horses, start=1):
        box = Box.objects.create(barn="Zbrew" if place < 4 else "Zlow", name=str(place), position=place)
        Stand.objects.create(horse=horse, box=box, first_day=horse.joined)
    usual = [Amount("morning", cubes.pk, 2), Amount("morning", hay.pk, 3), Amount("evening", cubes.pk, 2)]
    long_ago = today - timedelta(days=30)
    write_ration(horses[0], long_ago, [*usual, Amount("evening", balancer.pk, 0.1)], by, "znote soaked")
    write_ration(horses[1], long_ago, usual, by)
    write_ration(horses[1], today, [Amount("morning", cubes.pk, 1.5), Amount("noon", hay.pk, 4)], by)
    write_ration(horses[2], long_ago, [], by)
    batch = mark(deliver(cubes, "zB17", today - timedelta(days=20), "500", by), today - timedelta(days=19), None, by)
    return FedYard(by, hay, cubes, balancer, horses, batch, today)


def enter(yard: FedYard, horse: Horse, kind: str, values: dict[str, object], day: date, hour: int = 7) -> None:
    """Enter something about a horse, as of an hour of a day."""
    at = datetime.combine(day, time(hour), clock.place().zone)
    record(Draft(uuid4(), kind, horse.pk, values, at), yard.by)


def work(yard: FedYard, horse: Horse, week: list[str]) -> None:
    """Enter the same week of work for each of the last four weeks, its last exercise done yesterday."""
    for back in range(1, 29):
        enter(yard, horse, "exercise", {"exercise": week[-back % 7]}, yard.today - timedelta(days=back))
