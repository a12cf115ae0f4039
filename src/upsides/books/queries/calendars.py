"""Whose calendar an address is, and what stands in it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from upsides.books import clock
from upsides.books.models import CalendarAddress, Engagement, Inside
from upsides.books.queries import moments
from upsides.books.queries.barred import Barred, barred
from upsides.books.queries.engaged import Engaged, engaged
from upsides.books.queries.visitors import Visitor, opened, visitor
from upsides.books.services.calendars import hashed
from upsides.placing import Stage


@dataclass(frozen=True, slots=True)
class Noted:
    """One moment of somebody's calendar.

    Args:
        one: the horse and the race.
        stage: what must be said by then; None for the race itself.
        at: the moment, by the course's clock.
        key: its name, the same as long as it is the same thing.
        changed: when that horse and race were last written about.
        barred: what keeps the horse from the race; None where nothing is known that does.
    """

    one: Engaged
    stage: Stage | None
    at: datetime
    key: str
    changed: datetime
    barred: Barred | None = None


def owner_of(token: str) -> Visitor | None:
    """Return whose calendar an address is, None for an address that does not work, or of somebody who has left."""
    found = CalendarAddress.objects.filter(token_hash=hashed(token), ended_at=None).select_related("person").first()
    if found is None or not found.person.is_active or found.person.erased_at is not None:
        return None
    return visitor(found.person, barn=False)


def calendar_of(folder: Path, who: Visitor) -> list[Noted]:
    """Return what stands in somebody's calendar: of the horses whose plans are open to him."""
    open_to = opened(who, Inside.PLANS)
    found = [one for one in engaged(folder, moments.now()) if one.horse.pk in open_to]
    kept = barred(folder, moments.now(), found)
    return [noted for one in found for noted in _noted(one, kept.get(one.engagement.pk))]


def _noted(one: Engaged, kept: Barred | None) -> Iterator[Noted]:
    row = one.engagement
    if row.state == Engagement.State.WITHDRAWN:
        return
    name, changed = f"{row.pk}", _changed(one.decisions, row)
    zone = ZoneInfo(row.zone)
    if one.must and one.due is not None:
        stage = one.due.stage
        yield Noted(one, stage, one.due.at.astimezone(zone), f"{name}-{stage}", changed, kept)
    if row.state == Engagement.State.DECLARED and one.race.off is not None:
        yield Noted(one, None, one.race.off.astimezone(zone), f"{name}-race", changed, kept)


def _changed(said: Iterable[object], row: Engagement) -> datetime:
    moments_ = [one.recorded_at for one in said]  # type: ignore[attr-defined]  # decisions
    last = row.history.order_by("-history_date").values_list("history_date", flat=True).first()
    return max([*moments_, *([last] if last else [])], default=clock.now())
