"""Which lots of a morning hours of work and rest laid down by law leave to riders under eighteen."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from upsides.books.models import DayOff, Shift
from upsides.books.queries.moments import Moment
from upsides.books.queries.staff import days_off, hours_of, monday_of
from upsides.books.queries.working_limits import Ground, ground, planned_stretches
from upsides.books.queries.yard_rules import own_place, yard_rules
from upsides.errors import NoRuleError
from upsides.planning.morning import Lot
from upsides.rules import OverLimit
from upsides.rules import Shift as Stretch
from upsides.rules.hours_left import against_pieces


@dataclass(frozen=True, slots=True)
class Barred:
    """Lots that a rider may not ride in, and which limits stand in the way.

    Args:
        lots: their numbers.
        limits: each once.
    """

    lots: frozenset[int]
    limits: tuple[OverLimit, ...]


def barred_lots(
    folder: Path, moment: Moment, day: date, born: Mapping[int, date], lots: Sequence[Lot]
) -> dict[int, Barred]:
    """Return what the law keeps young riders from on a day, by number; those whom it keeps from nothing are not in it.

    Hours are those that are planned: what was really worked is written nowhere. Where no limits are known for the
    yard's country nobody is kept from anything.

    Args:
        folder: of the library, where the yard's own rules lie.
        moment: when to look from.
        day: the morning.
        born: days of birth of riders under eighteen.
        lots: of the morning, in their order.
    """
    if not born or not lots:
        return {}
    rules, since = yard_rules(folder).overrides, monday_of(day) - timedelta(days=1)
    on = replace(ground(moment, rules), jurisdiction=own_place(moment, rules))
    shifts, off = list(hours_of(moment, since)), list(days_off(moment, since, day))
    pieces = [Stretch(_at(day, lot.starts, on.zone), _at(day, lot.ends, on.zone)) for lot in lots]
    found = {}
    for number, birth in born.items():
        own = [row for row in shifts if row.person_id == number], [row for row in off if row.person_id == number]
        try:
            over = _against(*own, birth, since, day, pieces, on)
        except NoRuleError:
            return {}
        if any(over):
            numbers = frozenset(lot.number for lot, limits in zip(lots, over, strict=True) if limits)
            found[number] = Barred(numbers, tuple(dict.fromkeys(one for limits in over for one in limits)))
    return found


def _against(
    shifts: Sequence[Shift],
    off: Sequence[DayOff],
    born: date,
    since: date,
    day: date,
    pieces: Sequence[Stretch],
    on: Ground,
) -> tuple[tuple[OverLimit, ...], ...]:
    before = planned_stretches(shifts, off, since, day - timedelta(days=1), on.zone)
    today = planned_stretches(shifts, off, day, day, on.zone)
    return against_pieces(before, today, pieces, born, on.jurisdiction, overrides=on.overrides)


def _at(day: date, minute: int, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone) + timedelta(minutes=minute)
