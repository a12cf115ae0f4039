"""Six worked examples, as docs/planning.md prints them. Horses are invented."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from typing import Final

from planning.work.tiny_horses import SETTINGS
from upsides.books.diary.work import ALLOWED
from upsides.planning.work.asked import date_of
from upsides.planning.work.changed import changes_told
from upsides.planning.work.horse import Horse, Past, Race, Step, moved_on
from upsides.planning.work.plans import Work, adapt, plan_work
from upsides.planning.work.said import date_words, plain
from upsides.planning.work.sentences import later_told, told
from upsides.planning.work.shown import weeks_shown

MONDAY: Final = date(2026, 3, 2)


def sharpened() -> Work:
    """Return the plan of a horse brought back from a mile to six furlongs, with the uphill gallop shut on a Tuesday."""
    sprinter = SETTINGS.routine("sprinter")
    orders = {name: replace(one, gallop=1) if one.rise else one for name, one in sprinter.orders.items()}
    did = (Past(-16, fast=True, raced_m=1600.0), *(Past(-k, fast=k in {3, 6}, rest=k in {1, 8}) for k in range(1, 16)))
    horse = Horse(
        1, MONDAY, replace(sprinter, orders=orders), (Race(12, 1200.0),), did, closed=frozenset({(1, 1)}), trip_m=1200.0
    )
    return plan_work(horse, SETTINGS.prices)[0]


def brought_back() -> Work:
    """Return the plan of a horse that comes back into work by the vet's steps."""
    steps = (
        Step(0, 4, ALLOWED["walk"]),
        Step(5, 13, ALLOWED["trot"]),
        Step(14, 34, ALLOWED["no_fast_work"]),
    )
    horse = Horse(2, MONDAY, SETTINGS.routine("returning"), (Race(75, 1600.0),), steps=steps, back=0)
    return plan_work(horse, SETTINGS.prices)[0]


def first_time_out() -> Work:
    """Return the plan of a two-year-old before its first race, with three lessons at the stalls to come."""
    horse = Horse(
        3, MONDAY, SETTINGS.routine("unraced_two_year_old"), (Race(20, 1000.0),), lessons=3, certificate=True,
        unridden=frozenset({3}),
    )  # fmt: skip
    return plan_work(horse, SETTINGS.prices)[0]


def three_races() -> Work:
    """Return the plan of a sprinter with three races in five weeks, after its first fast work was missed.

    As few days change of the plan that stands as can be: none.
    """
    return adapt(missed(), SETTINGS.prices)


def moved() -> Work:
    """Return the plan of a sprinter whose fast work of Tuesday is moved by hand to Wednesday: Friday's is too near."""
    horse = Horse(6, MONDAY, SETTINGS.routine("sprinter"), (Race(18, 1200.0),), name="Almond")
    stood = dict(enumerate(plan_work(horse, SETTINGS.prices)[0].plan.days))
    return adapt(dragged(horse, stood, 1, 2), SETTINGS.prices)


def dragged(horse: Horse, stood: Mapping[int, str], day: int, to: int) -> Horse:
    """Return a horse with one day of the plan that stands moved by hand to another."""
    stands = {**stood, day: stood[to], to: stood[day]}
    return replace(horse, stands=stands, knew=stood, pins={to: stood[day]}, moved={to: day}, least=True)


def missed() -> Horse:
    """Return a sprinter that missed the second day of its plan, a day of fast work, with the rest of that plan."""
    horse = Horse(4, MONDAY, SETTINGS.routine("sprinter"), (Race(5, 1000.0), Race(19, 1200.0), Race(33, 1200.0)))
    later = moved_on(horse, 2, plan_work(horse, SETTINGS.prices)[0].plan)
    return replace(later, past=(Past(-2), Past(-1, rest=True)))


def fortnight() -> Work:
    """Return the plan of a sprinter's fortnight as common practice has it."""
    return plan_work(Horse(5, MONDAY, SETTINGS.routine("sprinter"), (Race(24, 1200.0),), days=14), SETTINGS.prices)[0]


EXAMPLES: Final[Mapping[str, Callable[[], Work]]] = {
    "Sharpening a horse back to a shorter trip": sharpened,
    "Bringing one back by the vet's steps": brought_back,
    "A first-time two-year-old": first_time_out,
    "Three races in five weeks, after a missed day": three_races,
    "A day moved by hand": moved,
    "A sprinter's fortnight": fortnight,
}


def printed(work: Work) -> str:
    """Return a worked example as the page has it: sentences, days, weeks with their furlongs."""
    horse, plan = work.horse, work.plan
    lines = [
        *map(plain, told(horse, plan, SETTINGS.prices)),
        *map(plain, changes_told(horse, plan, SETTINGS.prices)),
        "",
    ]
    lines += [
        f"{date_words(date_of(horse, day)):<11} {horse.routine.orders[name].title}"
        for day, name in enumerate(plan.days)
    ]
    lines += map(plain, later_told(horse, plan))
    lines += ["", "week from    fast f   canter f   m at 14 m/s and faster"]
    for one in weeks_shown(horse, plan):
        begins = date_words(date_of(horse, one.week.first))
        lines.append(f"{begins:<11} {one.fast_f:6.1f} {one.canter_f:9.1f} {one.metres[28:].sum():9.0f}")
    return "\n".join(f"    {line}".rstrip() for line in lines)
