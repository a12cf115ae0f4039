"""What the board shows: every ride with its lot and rider to be chosen, and what that costs and breaks."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _

from upsides.books import lot_words as say
from upsides.books import morning_words
from upsides.books.queries import moments
from upsides.books.queries.lot_morning import Gathered, gather
from upsides.planning.morning import Plan, Ride
from upsides.planning.rule import Rule
from upsides.planning.string_order import in_string_order
from upsides.planning.verifying import Verdict, verify
from upsides.web.diary.forms import row_number


@dataclass(frozen=True, slots=True)
class Card:
    """One horse on the board.

    Args:
        number, horse, work, where: the horse and what it does.
        place: in the string, None where it stays in.
        lot, rider: numbers as chosen, None for none.
        walker: whether it may stay on the walker.
        notes: cautions, and with whom it works.
        beside: numbers of the horses that go where it goes.
    """

    number: int
    horse: str
    work: str
    where: str
    place: int | None
    lot: int | None
    rider: int | None
    walker: bool
    notes: tuple[str, ...]
    beside: tuple[int, ...] = ()


def board_page(folder: Path, day: date, chosen: Mapping[str, str] | None = None) -> dict[str, Any]:
    """Return the board of a day: as the list has it, or as somebody chose."""
    found = gather(folder, moments.now(), day)
    plan = (
        chosen_plan(found, chosen)
        if chosen is not None
        else in_string_order(found.morning, _of_list(found), found.listed)
    )
    rides = plan.of_horse()
    cards = [_card(found, rides[horse.number], walker=horse.walker) for horse in found.morning.horses]
    lots: list[tuple[int | None, str]] = [
        (lot.number, _("Lot %(number)s, %(from)s") % {"number": lot.number, "from": _clock(lot.starts)})
        for lot in found.morning.lots
    ]
    worked = _worked_on(found, rides)
    columns = [
        (number, title, sorted((card for card in cards if card.lot == number), key=lambda card: card.place or 0),
         number in worked)
        for number, title in [*lots, (None, _("In no lot"))]
    ]  # fmt: skip
    return {
        "day": day,
        "alone": chosen is not None and "alone" in chosen,
        "pairs": bool(found.morning.pairs),
        "rides": bool(found.morning.horses),
        "columns": columns,
        "lots": lots,
        "riders": sorted(
            ((one.number, found.riders[one.number]) for one in found.morning.riders), key=lambda one: one[1]
        ),
        "out": say.out_lines(found),
        "left_out": [*say.law_words(found), *say.left_out_lines(found)],
    } | verdict_of(found, plan)


def _worked_on(found: Gathered, rides: Mapping[int, Ride]) -> set[int | None]:
    """Return the lots that somebody works on, others being folded on a phone: those changed, else the first."""
    before = {one.horse: one for one in _of_list(found)}
    pairs = [(before[number], ride) for number, ride in rides.items()]
    changed = {lot for was, now in pairs if (was.lot, was.rider) != (now.lot, now.rider) for lot in (was.lot, now.lot)}
    return changed or {lot.number for lot in found.morning.lots[:1]}


def verdict_of(found: Gathered, plan: Plan) -> dict[str, Any]:
    """Return what a plan costs and which rules it breaks, in words; no solver is asked."""
    verdict, listed = judged(found, plan), verify(found.morning, found.listed, found.settings.prices)
    broken = [
        (
            say.rule_words(rule, found, broken=True, plan=plan),
            _brings(found, plan, rule) if rule.kind == "partners" else [],
        )
        for rule in verdict.broken
    ]
    return {
        "together": _together(found, plan),
        "sentence": say.board_words(verdict.costs.total, len(broken)) if found.morning.horses else say.nobody_words(),
        "listed": say.list_words(listed.costs.total, len(listed.broken)) if found.morning.horses else "",
        "broken": broken,
        "costs": say.cost_words(verdict.amounts, verdict.costs),
    }


def judged(found: Gathered, plan: Plan) -> Verdict:
    """Return what a plan breaks and costs; who lacks lot or rider is named, others are judged all the same."""
    prices = found.settings.prices
    verdict = verify(found.morning, plan, prices)
    lacking = tuple(rule for rule in verdict.broken if rule.kind in say.LACKS)
    horses = {rule.of[0] for rule in lacking}
    if not horses:
        return verdict
    left = (Ride(one.horse) if one.horse in horses else one for one in plan.rides)
    rest = verify(found.morning, in_string_order(found.morning, left, found.listed), prices)
    others = tuple(rule for rule in rest.broken if rule.kind != "rider" and not horses & _horses_of(rule))
    counted = replace(rest.amounts, walker=rest.amounts.walker - len(horses))
    return Verdict((*lacking, *others), counted, counted.times(prices))


def _horses_of(rule: Rule) -> set[int]:
    """Return the horses that a rule of horses names; of other rules none."""
    return set(rule.of) if rule.kind in {"partners", "not_with"} else set()


def _brings(found: Gathered, plan: Plan, rule: Rule) -> list[tuple[str, str]]:
    """Return how two that are parted come together: horse and lot, and that in words; the one that was moved leads."""
    rides, before = plan.of_horse(), {one.horse: one.lot for one in _of_list(found)}
    one, other = sorted(rule.of, key=lambda number: rides[number].lot == before[number])
    return [
        (f"{number}:{rides[to].lot}", _("Move %(name)s to lot %(lot)s too") % {
            "name": found.horses[number], "lot": rides[to].lot})
        for number, to in ((other, one), (one, other)) if rides[to].lot is not None
    ]  # fmt: skip


def _together(found: Gathered, plan: Plan) -> list[str]:
    """Return which horses that work together were moved together, in words."""
    rides, before = plan.of_horse(), {one.horse: one.lot for one in _of_list(found)}
    return [
        _("%(one)s and %(other)s work together: both go in lot %(lot)s.")
        % {"one": found.horses[one], "other": found.horses[other], "lot": rides[one].lot}
        for one, other in found.morning.pairs
        if rides[one].lot is not None
        and rides[one].lot == rides[other].lot
        and before[one] is not None
        and rides[one].lot not in {before[one], before[other]}
    ]


def chosen_plan(found: Gathered, chosen: Mapping[str, str]) -> Plan:
    """Return the plan that somebody chose; what names no lot or rider of the morning counts as none.

    Of two that work together one whose lot was changed takes the other along, as the page's script does, but where
    `alone` is chosen. What is brought along by its own button ("bring", horse and lot) is last.
    """
    at = {one.number: row_number(chosen.get(f"lot-{one.number}", "")) for one in found.morning.horses}
    horse, _colon, lot = chosen.get("bring", "").partition(":")
    if (brought := row_number(horse)) in at:
        at[brought or 0] = row_number(lot)
    rides = [
        Ride(one.number, _followed(found, chosen, at, one.number), row_number(chosen.get(f"rider-{one.number}", "")))
        for one in found.morning.horses
    ]
    lots = {lot.number for lot in found.morning.lots}
    there = (one if one.lot in lots else Ride(one.horse) for one in rides)
    return in_string_order(found.morning, there, found.listed)


def _followed(found: Gathered, chosen: Mapping[str, str], at: Mapping[int, int | None], horse: int) -> int | None:
    """Return the lot of a horse: its own where that was changed, else that of a partner whose lot was changed."""

    def changed(number: int) -> bool:
        was = chosen.get(f"was-{number}")
        return was is not None and row_number(was) != at[number]

    if "alone" in chosen or "bring" in chosen:
        return at[horse]
    beside = (one for pair in found.morning.pairs if horse in pair for one in pair if one != horse)
    return next((at[one] for one in beside if changed(one) and not changed(horse)), at[horse])


def _of_list(found: Gathered) -> list[Ride]:
    """Return what the list has of each horse, whole or not."""
    lots = {lot.number for lot in found.morning.lots}
    orders = ((one.number, found.rides[one.number].order) for one in found.morning.horses)
    return [
        Ride(number, int(order.lot), order.rider) if order.lot is not None and order.lot in lots else Ride(number)
        for number, order in orders
    ]


def _card(found: Gathered, ride: Ride, *, walker: bool) -> Card:
    there = found.rides[ride.horse]
    company = [_("with %(names)s") % {"names": morning_words.company_words(there)}] if there.company else []
    notes = (*company, *(one.text for one in there.cautions))
    work = morning_words.work_words(there.order)
    beside = tuple(one for pair in found.morning.pairs if ride.horse in pair for one in pair if one != ride.horse)
    return Card(
        ride.horse, there.horse.name, work, there.gallop, ride.place, ride.lot, ride.rider, walker, notes, beside
    )


def _clock(minute: int) -> str:
    return f"{minute // 60}:{minute % 60:02}"
