"""Vaccinations whose days are open or end soon, and stand-downs that run out or reach over an engagement."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Final

from upsides.books.models import Engagement
from upsides.books.queries.due_kinds import Asking, Due, DueKind
from upsides.books.queries.given import Dosed, Given, Reason, reasons
from upsides.books.queries.vaccinated import best_days, known_record, place_of
from upsides.rules import Step, VaccinationRecord, VaccineRules

STAND_DOWNS: Final = 14
"""Days ahead within which a stand-down that runs out is listed."""
BETWEEN: Final = 60
"""Days before a record ends from which on the best days for a booster are looked for."""


def vaccinations(asking: Asking, doses: Mapping[int, list[Dosed]], diseases: Iterable[str]) -> Iterator[Due]:
    """Yield the doses that are due, and the boosters that are better given now than after an engagement.

    Args:
        asking: what is asked about.
        doses: every dose of each horse, first given first.
        diseases: as rules name them.
    """
    for disease in diseases:
        rules = VaccineRules(asking.place, disease, asking.overrides)
        for horse in asking.names:
            own = [one for one in doses.get(horse, []) if one.disease == disease]
            record = known_record(own, disease, asking.day, rules) if own else None
            if record is not None and (found := _vaccination(asking, record, own, rules)):
                yield found


def _vaccination(asking: Asking, record: VaccinationRecord, own: list[Dosed], rules: VaccineRules) -> Due | None:
    horse, last = own[-1].horse, record.next_until
    ahead = asking.ahead.get(horse, [])
    found = Due(
        DueKind.VACCINATION,
        horse,
        asking.names[horse],
        last,
        record.next_from,
        own[-1].number,
        record.disease,
        record=record,
        engagements=tuple(ahead),
    )
    if last is None or record.next_from is None:
        return found
    is_open = record.next_step is not Step.BOOSTER and record.next_from <= asking.until
    near = bool(ahead) and last <= asking.day + timedelta(days=BETWEEN)
    best = best_days(own, ahead, record, rules) if near or is_open else ()
    if is_open or last <= asking.until:
        return replace(found, best=best)
    if best and best[0].last < last and best[0].last <= asking.until:
        return replace(found, kind=DueKind.BOOSTER_BETWEEN, last=best[0].last, since=best[0].first, best=best)
    return None


def stood_down(asking: Asking, treated: Iterable[Given], doses: Iterable[Dosed]) -> Iterator[Due]:
    """Yield what keeps a horse from racing and runs out soon, or reaches over one of its engagements.

    Each engagement is held against the rules of its own country.
    """
    given, vaccinated = list(treated), list(doses)
    wanted = _places(asking)
    places = {place for own in wanted.values() for place in own}
    longest = {place: _longest(reasons(given, vaccinated, place, asking.overrides), asking.day) for place in places}
    soon = asking.day + timedelta(days=STAND_DOWNS)
    for horse, own in wanted.items():
        for place, races in own.items():
            reason = longest[place].get(horse)
            first = reason.stand_down.first_day if reason else None
            if reason is None or first is None:
                continue
            touched = tuple(one for one in races if one.day < first)
            if touched or (place == asking.place and first <= soon):
                yield Due(
                    DueKind.STAND_DOWN,
                    horse,
                    asking.names[horse],
                    first,
                    entry=reason.entry,
                    text=reason.product,
                    engagements=touched,
                    reason=reason,
                )


def _places(asking: Asking) -> dict[int, dict[str, list[Engagement]]]:
    """Return for each horse whose rules matter, with its engagements there; the yard's always."""
    found: dict[int, dict[str, list[Engagement]]] = {}
    for horse in asking.names:
        own: dict[str, list[Engagement]] = defaultdict(list)
        own[asking.place] = []
        for one in asking.ahead.get(horse, []):
            own[place_of(one, asking.place, asking.overrides)].append(one)
        found[horse] = own
    return found


def _longest(found: Iterable[Reason], day: date) -> dict[int, Reason]:
    """Return what keeps each horse from racing longest after a day."""
    longest: dict[int, Reason] = {}
    for one in found:
        first = one.stand_down.first_day
        if "race" not in one.stand_down.applies_to or first is None or first <= day:
            continue
        before = longest.get(one.horse)
        if before is None or (before.stand_down.first_day or day) < first:
            longest[one.horse] = one
    return longest
