"""Entering what an invented yard has besides horses and people: places, hours, facts, feeds."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from upsides.books.models import (
    Bond,
    Box,
    Caution,
    DayOff,
    Declarable,
    Feed,
    FeedBatch,
    Gallop,
    Horse,
    Move,
    OfficialMark,
    Person,
    Ration,
    Shift,
    Stand,
    Thing,
)
from upsides.books.services.histories import become, enter
from upsides.demo import Books

Horses = Mapping[str, Horse]


def enter_places(books: Books, horses: Horses, began: date) -> dict[str, Gallop]:
    """Enter boxes and who stood in them, where horses were, things, and gallops; return the gallops by name."""
    rows = books.boxes.to_dicts()
    made = enter([Box(**row) for row in rows], lambda _: began)
    boxes = {(box.barn, box.name): box for box in made}
    stands = [
        Stand(horse=horses[row["source_horse"]], box=boxes[row["barn"], row["box"]], first_day=row["first_day"])
        for row in books.stands.to_dicts()
    ]
    enter(stands, lambda stand: max(stand.first_day, began))
    enter([Move(**_of(row, horses)) for row in books.moves.to_dicts()], lambda move: max(move.first_day, began))
    enter([Thing(**row) for row in books.things.to_dicts()], lambda _: began)
    gallops = enter([Gallop(**row) for row in books.gallops.to_dicts()], lambda _: began)
    return {gallop.name: gallop for gallop in gallops}


def enter_staff(books: Books, people: Mapping[str, Person], began: date) -> None:
    """Enter hours, days off, and what binds jockeys; illness is known on the day, holidays a fortnight ahead."""

    def of(row: dict[str, Any]) -> dict[str, Any]:
        return {"person": people[row.pop("login")], **row}

    enter([Shift(**of(row)) for row in books.shifts.to_dicts()], lambda shift: shift.first_day)
    off = [DayOff(**of(row)) for row in books.days_off.to_dicts()]
    ahead = timedelta(days=14)
    enter(off, lambda day: day.first_day if day.why == DayOff.Why.SICK else max(day.first_day - ahead, began))
    bonds = [Bond(**of(row | {"owner": people.get(row["owner"])})) for row in books.bonds.to_dicts()]
    enter(bonds, lambda bond: bond.first_day)


def enter_facts(books: Books, horses: Horses, began: date) -> None:
    """Enter marks, what must be declared, and cautions."""
    joined = {horse.pk: max(horse.joined, began) for horse in horses.values()}
    marks = [OfficialMark(**_of(row, horses)) for row in books.marks.to_dicts()]
    enter(marks, lambda mark: max(mark.effective, joined[mark.horse_id]))
    rows = books.declarables.to_dicts()
    known = enter(
        [Declarable(**_of(row | {"declared_on": None}, horses)) for row in rows],
        lambda one: max(one.happened_on, joined[one.horse_id]),
    )
    become([(one, max(row["declared_on"], joined[one.horse_id]), {"declared_on": row["declared_on"]})
            for one, row in zip(known, rows, strict=True) if row["declared_on"]])  # fmt: skip
    cautions = [row | {"apart_from": horses.get(row["apart_from"] or "")} for row in books.cautions.to_dicts()]
    enter([Caution(**_of(row, horses)) for row in cautions], lambda one: max(one.first_day, began))


def enter_feeding(books: Books, horses: Horses, began: date) -> None:
    """Enter feeds, their batches as they came, were opened and finished, and rations."""
    feeds = {feed.name: feed for feed in enter([Feed(**row) for row in books.feeds.to_dicts()], lambda _: began)}
    rows = books.batches.to_dicts()
    made = [
        FeedBatch(feed=feeds[row["feed"]], **{name: row[name] for name in ("number", "delivered_on", "kg")})
        for row in rows
    ]
    batches = enter(made, lambda one: one.delivered_on)
    days = [
        (batch, day, row[day]) for batch, row in zip(batches, rows, strict=True) for day in ("opened_on", "finished_on")
    ]
    become([(batch, when, {day: when}) for batch, day, when in days if when])
    rations = []
    for row in books.rations.to_dicts():
        amounts = [{"time": one["time"], "feed": feeds[one["feed"]].pk, "kg": one["kg"]} for one in row["amounts"]]
        rations.append(Ration(**_of(row | {"amounts": amounts}, horses)))
    enter(rations, lambda ration: ration.first_day)


def _of(row: dict[str, Any], horses: Horses) -> dict[str, Any]:
    """Return a row's fields with the horse in place of what it is called."""
    return {
        "horse": horses[row["source_horse"]],
        **{name: value for name, value in row.items() if name != "source_horse"},
    }
