"""Small horses drawn by a seed, and every plan of one counted out day by day, without what the package counts with."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

import numpy as np

from upsides.planning.work.asked import asked
from upsides.planning.work.horse import Horse, Past, Race, Step
from upsides.planning.work.routine import Limit, Parts, Routine
from upsides.planning.work.settings import read_settings

SETTINGS: Final = read_settings()
PRICES: Final = SETTINGS.prices
KEPT: Final = ("off", "box", "walk", "hack_canter", "stalls", "fast_3f", "race")
MONDAY: Final = date(2026, 11, 30)


def small(routine: Routine, kept: Sequence[str] = KEPT) -> Routine:
    """Return a routine of few orders, so that all plans of a few days can be counted out."""
    orders = {name: routine.orders[name] for name in kept}
    easy = "walk" if "walk" in kept else "hack_canter"
    parts = {"quiet": easy, "easy": "hack_canter", "work": "fast_3f", "second": "fast_3f"}
    week = (easy, "fast_3f", "hack_canter", "lesson", "fast_3f", "hack_canter", "off")
    stages = tuple(replace(one, week=week) for one in routine.stages)
    return replace(
        routine, orders=orders, parts=parts, before=(easy,), after=("off",), stages=stages, spacing=2, last_fast=2,
        sharp=3, recovery=((1300.0, 1), (9999.0, 2)),
    )  # fmt: skip


def tiny(seed: int, kept: Sequence[str] = KEPT) -> Horse:
    """Return a horse of three to five days, some of them one by one, in which every rule and wish may matter."""
    rng = np.random.default_rng(seed)
    days, length = int(rng.integers(2, 4)), int(rng.integers(3, 6))
    routine = small(SETTINGS.routine("sprinter"), kept)
    if rng.random() < 0.5:
        orders = {name: replace(one, gallop=7) if name == "fast_3f" else one for name, one in routine.orders.items()}
        routine = replace(routine, orders=orders)
    races = tuple(Race(int(day), float(rng.choice([1000, 1600]))) for day in {length - 1, int(rng.integers(1, 5))})
    known = int(rng.choice([0, 2, 6]))
    past = tuple(
        Past(-k, fast=bool(rng.random() < 0.2), rest=bool(rng.random() < 0.2), metres=(*([0.0] * 28), 300.0 * k))
        for k in range(1, known + 1)
    )
    steps = [Step(0, int(rng.integers(0, 5)), frozenset({"off", "walk", "hack_canter"}))] if rng.random() < 0.3 else []
    steps += (
        [Step(-3, 1, frozenset({"off", "walk", "hack_canter", "fast"}), "stand_down")] if rng.random() < 0.2 else []
    )
    limits = [Limit(14.0, int(rng.integers(2, 8)), float(rng.choice([500, 900, 1600])))] if rng.random() < 0.4 else []
    drawn = [str(rng.choice([name for name in kept if name not in {"stalls", "race"}])) for _ in range(days)]
    return Horse(
        1,
        MONDAY + timedelta(days=int(rng.integers(7))),
        routine,
        races if rng.random() < 0.8 else (),
        past,
        tuple(steps),
        tuple(limits),
        gap=int(rng.integers(1, 4)),
        rest=int(rng.integers(0, 3)),
        closed=frozenset({(7, int(rng.integers(6)))} if rng.random() < 0.4 else set()),
        unridden=frozenset({int(rng.integers(6))} if rng.random() < 0.2 else set()),
        pins={0: drawn[0]} if rng.random() < 0.2 else {},
        lessons=int(rng.integers(0, 3)),
        certificate=bool(rng.random() < 0.3),
        days=days,
        stands=dict(enumerate(drawn)) if rng.random() < 0.4 else {},
    )


@dataclass(frozen=True, slots=True)
class Counted:
    """A plan that was counted out: orders of every day, those one by one, changes of the plan that stands, its cost."""

    every: tuple[str, ...]
    days: tuple[str, ...]
    changes: int
    cost: float


def every_plan(horse: Horse, prices: Parts = PRICES) -> list[Counted]:
    """Return every plan that keeps all rules, later days laid out one by one."""
    return [
        Counted(
            plan,
            plan[: horse.days],
            sum(plan[day] != name for day, name in horse.stands.items() if day < horse.days),
            _cost(horse, plan, prices),
        )
        for plan in _laid(horse, ())
        if _holds(horse, plan)
    ]


def _laid(horse: Horse, begun: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    day, orders = len(begun), horse.routine.orders
    if day == horse.length:
        yield begun
        return
    for name, order in orders.items():
        if not _alone(horse, day, name):
            continue
        quick = [one.day for one in horse.past if one.fast] + [d for d, had in enumerate(begun) if orders[had].fast]
        if order.fast and any(day - had < horse.gap for had in quick):
            continue
        yield from _laid(horse, (*begun, name))


def _weeks(horse: Horse) -> dict[int, list[int]]:
    found: dict[int, list[int]] = {}
    for day in range(horse.length):
        on = horse.first + timedelta(days=day)
        found.setdefault(on.isocalendar().week, []).append(day)
    return found


def _spans(horse: Horse) -> list[list[int]]:
    """Return runs of later days within a week between which nothing changes what is left open."""

    def left(day: int) -> tuple[object, ...]:
        week = (horse.first + timedelta(days=day)).isocalendar().week
        return week, frozenset(name for name in horse.routine.orders if _alone(horse, day, name))

    runs: list[list[int]] = []
    races = {race.day for race in horse.races}
    for day in range(horse.days, horse.length):
        if runs and day not in races and left(day) == left(runs[-1][-1]):
            runs[-1].append(day)
        else:
            runs.append([day])
    return runs


def _alone(horse: Horse, day: int, name: str) -> bool:
    """Return whether an order could be done on a day as far as only that day matters."""
    order = horse.routine.orders[name]
    steps = [step for step in horse.steps if step.first <= day <= step.last]
    return (
        (name == "race") == any(race.day == day for race in horse.races)
        and all(order.exercise in step.exercises for step in steps)
        and not (name == "box" and day not in horse.pins and not any(step.by == "vet" for step in steps))
        and not (order.upsides and horse.routine.company != "upsides" and not horse.partners and day not in horse.pins)
        and horse.pins.get(day, name) == name
        and not (day in horse.unridden and order.ridden)
        and (order.gallop, day) not in horse.closed
    )


def _above(horse: Horse, day: int, name: str, limit: Limit) -> float:
    race = [one.metres for one in horse.races if one.day == day]
    order = horse.routine.orders[name]
    return float((order.over(race[0]) if race and name == "race" else order.profile)[int(2 * limit.from_ms) :].sum())


def _holds(horse: Horse, plan: tuple[str, ...]) -> bool:
    orders = horse.routine.orders
    rests = {one.day: one.rest for one in horse.past} | {d: orders[n].rest for d, n in enumerate(plan)}
    runs = {race.day for race in horse.races}  # a race is fixed, and rest gives way to it
    for end in range(horse.days):
        seven = range(end - 6, end + 1)
        if all(day in rests for day in seven):
            most = sum(rests[day] for day in seven if day < 0) + sum(day >= 0 and day not in runs for day in seven)
            if sum(rests[day] for day in seven) < min(horse.rest, most):
                return False
    for days in _weeks(horse).values():
        asks = min(horse.rest * len(days) // 7, len([day for day in days if day not in runs]))
        if days[-1] >= horse.days and sum(rests[day] for day in days) < asks:
            return False
    if horse.certificate and horse.lessons and horse.races:
        first = min(race.day for race in horse.races)
        if sum(orders[name].lesson for name in plan[:first]) < horse.lessons:
            return False
    return all(_within(horse, plan, limit) for limit in horse.limits)


def _within(horse: Horse, plan: tuple[str, ...], limit: Limit) -> bool:
    spans = _spans(horse)
    for end in [*range(horse.days), *(span[-1] for span in spans)]:
        window = range(end - limit.days + 1, end + 1)
        had = sum(sum(one.metres[int(2 * limit.from_ms) :]) for one in horse.past if one.day in window)
        new = sum(_above(horse, day, plan[day], limit) for day in window if 0 <= day < horse.days)
        for span in spans:
            whole = sum(_above(horse, day, plan[day], limit) for day in span)
            new += whole * len([day for day in span if day in window]) / len(span)
        raced = sum(
            _above(horse, one.day, "race", limit) for one in horse.races if one.day in window
        )  # races are fixed
        if new > max(limit.metres - had, raced) + 1e-6:
            return False
    return True


def _company(horse: Horse, name: str, want: str) -> bool:
    """Return whether work is in other company than the routine has it that day, or on a day of no work at all."""
    orders, word = horse.routine.orders, "_upsides"
    if f"{name.removesuffix(word)}{word}" not in orders or name.removesuffix(word) not in orders:
        return False
    works = orders[want].fast and want != "race"
    usual = want.endswith(word) if works else orders[name].fast and horse.routine.company == "upsides"
    return name.endswith(word) != usual


def _cost(horse: Horse, plan: tuple[str, ...], prices: Parts) -> float:
    orders, wants = horse.routine.orders, asked(horse)
    total = 0.0
    for day in range(horse.days):
        order, want = orders[plan[day]], wants.orders[day]
        up = order.effort - want.effort
        total += prices.harder * up if up > 0 else -prices.easier * up
        twin = order.upsides != want.upsides and (order.like == want.name or want.like == order.name)
        total += prices.swapped if up == 0 and order.name != want.name and not twin else 0.0
        total += prices.alone if order.name != want.name and _company(horse, plan[day], want.name) else 0.0
        total += prices.rested if order.rest and not want.rest else 0.0
        total += prices.change if horse.stands.get(day, plan[day]) != plan[day] else 0.0
        ahead = [race.day - day for race in horse.races if race.day > day]
        if order.fast and plan[day] != "race" and ahead:
            total += prices.late * max(horse.routine.last_fast - min(ahead), 0)
    for week, days in zip(wants.weeks, _weeks(horse).values(), strict=True):
        for field, low, high, short, over in (
            ("fast_f", *week.fast, prices.fast_short, prices.fast_over),
            ("canter_f", *week.canter, prices.canter_short, prices.canter_over),
            ("lesson", week.lessons, week.lessons, prices.lessons_short, prices.lessons_over),
        ):
            had = sum(float(getattr(orders[plan[day]], field)) for day in days)
            total += short * max(low - had, 0.0) + over * max(had - high, 0.0)
        later = [day for day in days if day >= horse.days]
        asks = Counter(wants.orders[day].name for day in later)
        total += prices.weeks * sum((Counter(plan[day] for day in later) - asks).values())
    for race in horse.races:
        begin = race.day - horse.routine.sharp
        touched = {day for day in range(begin, race.day) if 0 <= day < horse.days}
        touched |= {day for span in _spans(horse) if span[-1] >= begin and span[0] < race.day for day in span}
        sharp = any(one.fast and one.day >= begin for one in horse.past)
        total += 0.0 if sharp or any(orders[plan[day]].fast for day in touched) else prices.stale
    return total
