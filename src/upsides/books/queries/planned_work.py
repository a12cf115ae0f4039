"""What the books know of a horse whose work is planned: races, what it did, what a vet or a rule leaves open."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from statistics import median
from typing import Final

from upsides.books.diary.work import ALLOWED, EXERCISES, FAST, Ordered
from upsides.books.models import Engagement, Horse
from upsides.books.queries.advice import Advised, advice
from upsides.books.queries.boxes import boxes
from upsides.books.queries.condition_answers import usual_exercises
from upsides.books.queries.condition_done import DoneByHorses, done_by, said_of
from upsides.books.queries.engaged import engaged
from upsides.books.queries.given import dosed, given, reasons
from upsides.books.queries.lots import closed_gallops, orders
from upsides.books.queries.moments import Moment
from upsides.books.queries.plan_stands import Stands, plans_that_stand
from upsides.books.queries.stalls_path import lessons, lessons_written, slow_away
from upsides.books.queries.string import known_of, this_season
from upsides.books.queries.string_limits import gallop_names, gallops_filled, riding
from upsides.books.queries.work_kinds import RETURNING, back_in_work, kind_of
from upsides.books.queries.yard_rules import own_place, yard_rules
from upsides.condition.done.days import keys
from upsides.condition.done.summary import string_done
from upsides.planning.work.basis import still_so
from upsides.planning.work.horse import DETAIL, Past, Race, Step
from upsides.planning.work.horse import Horse as Worked
from upsides.planning.work.orders import Orders
from upsides.planning.work.routine import NOT_SAID, Settings
from upsides.planning.work.said import Said
from upsides.planning.work.settings import read_settings
from upsides.planning.work.stalls import Lesson, reminder, standing, told
from upsides.trade.units import FURLONG_M

OWN_ROUTINE: Final = "work.toml"
"""A routine of the yard's own in the library's folder, laid over the shipped one."""
AHEAD: Final = 70
"""Races of so many days ahead are planned for."""
LOOKED_BACK: Final = 30
"""Days before that are read: as far back as an exposure is usually counted."""


@dataclass(frozen=True, slots=True)
class Wished:
    """What is asked of a plan.

    Args:
        first: its first day.
        kind: of the routine, "" where the yard's file or the books shall tell it.
        natures: laid over it; none for those of the yard's file.
        races: those to plan up to, each with its day and metres, and with those before the last of them that the horse
            is engaged for; none for all that it is engaged for.
        pins: orders fixed by hand, by day.
        back: days since it came back into work, None where it did not.
        days: how many are planned one by one.
        keep: whether what is ordered in the diary for the days to come is fixed, and not only dear to change.
        afresh: whether it is planned from the routine, whatever plan stands.
    """

    first: date
    kind: str = ""
    natures: tuple[str, ...] = ()
    races: tuple[tuple[date, float], ...] = ()
    pins: Mapping[date, str] = field(default_factory=dict)
    back: int | None = None
    days: int = DETAIL
    keep: bool = False
    afresh: bool = False


@dataclass(frozen=True, slots=True)
class _Around:
    """What is read once for all horses.

    Args:
        did: what they did.
        known, fast: keys of the days of which anything is known, and of fast work.
        shut: gallops that are closed by the last word of them, with what they are called.
        unridden: days on which nobody rides, where somebody does on others.
        stands: the plan that stands, by number of the horse.
        held: the vet's advice on a day, by number of the horse.
        ordered: the orders for a day, likewise.
        taught: lessons at the stalls, by number of the horse.
        teaches: whether lessons of any horse are written down in this yard.
        barns: the barn of each horse that has a box, by its number.
    """

    did: DoneByHorses
    known: frozenset[int]
    fast: frozenset[int]
    shut: Mapping[int, str]
    unridden: frozenset[int]
    stands: Mapping[int, Stands]
    held: Callable[[date], Mapping[int, Advised]]
    ordered: Callable[[date], Mapping[int, Ordered]]
    taught: Mapping[int, Sequence[Lesson]]
    teaches: bool
    barns: Mapping[int, str]


def _around(library: Path, moment: Moment, horses: Sequence[Horse], wished: Wished) -> _Around:
    def ordered(day: date) -> dict[int, Ordered]:
        return {number: Ordered.kept_as(entry.values) for number, entry in orders(moment, day).items()}

    did = done_by(library, moment, horses)
    known, fast = frozenset(did.yard.days.key.tolist()), frozenset(did.yard.fast.key.tolist())
    shut = gallop_names(moment, closed_gallops(moment, wished.first))
    people = riding(moment, [wished.first + timedelta(days=day) for day in range(wished.days)])
    return _Around(
        did,
        known,
        fast,
        shut,
        frozenset(day for day, many in enumerate(people) if any(people) and not many),
        plans_that_stand(moment, [horse.pk for horse in horses]),
        cache(lambda day: advice(moment, day)),
        cache(ordered),
        lessons(moment, [horse.pk for horse in horses]),
        lessons_written(moment),
        {number: one.barn for number, one in boxes(moment).items()},
    )


def routine(library: Path, moment: Moment) -> Settings:
    """Return the yard's routine: the shipped one under its own, with what exercises come to in this yard.

    Raises:
        WorkRefusedError: the yard's own file cannot be used.
    """
    own = library / OWN_ROUTINE
    comes_to, gallops = usual_exercises(library, moment), gallops_filled(moment)
    return read_settings(own if own.exists() else None, comes_to, gallops)


def to_work(
    library: Path, moment: Moment, horses: Sequence[Horse], wished: Wished, settings: Settings
) -> tuple[Worked, ...]:
    """Return horses whose work can be planned.

    Args:
        library: folder of the library.
        moment: when to look from.
        horses: their rows.
        wished: what is asked; its races, pins and back are meant for a single horse.
        settings: of `routine`.

    Raises:
        WorkRefusedError: there is no routine of that kind.
    """
    around = _around(library, moment, horses, wished)
    figures = known_of(library, moment, figures=True).figures
    last = wished.first + timedelta(days=AHEAD)
    runs = engaged(library, moment, min(wished.first, moment.day), last, [horse.pk for horse in horses])
    found = []
    for horse in horses:
        races = {
            one.engagement.day: float(one.race.distance_m or one.engagement.distance_m or 0)
            for one in runs
            if one.horse.pk == horse.pk
            and one.engagement.state not in {Engagement.State.WITHDRAWN, Engagement.State.MEANT}
        }
        level = figures.get(horse.horse_key)
        figure = level.level.lb if level else None
        found.append(_worked(library, moment, horse, around, races, figure, wished, settings))
    return tuple(found)


def _worked(
    library: Path,
    moment: Moment,
    horse: Horse,
    around: _Around,
    engaged_for: Mapping[date, float],
    figure: float | None,
    wished: Wished,
    settings: Settings,
) -> Worked:
    asked = dict(wished.races)
    ahead = {day: metres for day, metres in engaged_for.items() if metres and day >= wished.first}
    known = {day: metres for day, metres in ahead.items() if not asked or day <= max(asked)}
    did, today = around.did, engaged_for.get(moment.day, 0.0)
    races = tuple(Race((day - wished.first).days, metres) for day, metres in sorted({**known, **asked}.items()))
    ran = did.ran[horse.pk]
    trip = races[0].metres if races else float(median(metres for _, metres in ran)) if ran else None
    done = string_done(did.yard, [did.place(horse.pk)], moment.day)[0]
    back = back_in_work(done) if wished.back is None else wished.back
    own = settings.horses.get(horse.name, NOT_SAID)
    by_books = kind_of(this_season(moment) - horse.foaled, trip, back, raced=bool(ran))
    kind = wished.kind or (by_books if by_books == RETURNING else own.kind or by_books)
    mornings = settings.mornings_of(horse.name, around.barns.get(horse.pk, ""), horse.pk)
    taught = around.taught.get(horse.pk, [])
    learned = standing(taught, last_run=max(ran)[0] if ran else None)
    first_time = not ran and bool(races) and around.teaches
    length = max([wished.days, *(race.day + 1 for race in races)])
    ordered, beside, moved = _ordered(around, horse.pk, wished, settings.orders)
    knew = _stood(around, horse.pk, wished, settings.orders)
    runs, set_ = {race.day for race in races}, settings.set_for(horse.name)
    kept = {day: name for day, name in ordered.items() if wished.keep and day not in runs and name != "race"}
    worked = Worked(
        horse.pk,
        wished.first,
        settings.routine(kind, wished.natures or own.natures, mornings),
        races,
        tuple(_past(moment, horse.pk, around, wished.first, settings.orders, today)),
        (*_advised(around, horse.pk, wished.first, length), *_stands_down(library, moment, horse.pk, wished.first)),
        set_.limits,
        gap=set_.gap,
        rest=set_.rest,
        closed=frozenset((gallop, 0) for gallop in around.shut),
        unridden=around.unridden - runs,  # a jockey rides it there
        pins=kept | {(day - wished.first).days: order for day, order in wished.pins.items()},
        back=back,
        lessons=len(learned.left),
        certificate=first_time and len(learned.left) < races[0].day,
        days=wished.days,
        stands=_exchanged(around, horse.pk, wished, settings.orders, moved, ordered) | ordered,
        knew=knew,
        moved={to: from_ for to, from_ in moved.items() if to in kept or to not in ordered},
        figure=figure,
        trip_m=trip,
        partners=True,
        name=horse.name,
        gallops=around.shut,
        beside={day: others for day, others in beside.items() if day in kept},
    )
    return replace(worked, least=_held_to(around, worked, wished, settings))


def _past(
    moment: Moment, number: int, around: _Around, first: date, orders_: Orders, races_today: float
) -> Iterator[Past]:
    """Yield the days before the first of which anything is known, with their metres by speed.

    Of today the order counts until something was written of it; `races_today` are the metres of a race today.
    """
    did, begin = around.did, first - timedelta(days=LOOKED_BACK)
    place = did.place(number)
    said = {one.day: one.exercise for one in said_of(moment, {number}, begin) if one.day < first}
    raced = {day: metres for day, metres in did.ran[number] if begin <= day < first}
    if races_today and moment.day < first:
        raced[moment.day] = races_today
    rests = {one.exercise for one in orders_.values() if one.rest}
    taught = {one.day for one in around.taught.get(number, ()) if one.day < first}
    for back in range(1, LOOKED_BACK + 1):
        day = first - timedelta(days=back)
        key, at = int(keys(place, day.toordinal())), day.toordinal()
        if key not in around.known and not any(day in one for one in (said, raced, taught)):
            if day == moment.day and (order := around.ordered(day).get(number)):
                yield from _as_ordered(-back, order, orders_)
            continue
        metres, _ = did.yard.days.profile(place, at - 1, at)
        fast = said.get(day) in FAST or day in raced or key in around.fast
        rest = said.get(day) in rests and not fast
        lesson = day in taught or said.get(day) == "stalls"
        yield Past(-back, fast, rest, tuple(metres.tolist()), float(raced.get(day, 0.0)), lesson)


def _as_ordered(day: int, ordered: Ordered, known: Orders) -> Iterator[Past]:
    """Yield today as it was ordered, where the routine knows such an order."""
    if name := order_like(ordered, known):
        own = known[name]
        yield Past(day, ordered.exercise in FAST, own.rest, tuple(own.profile.tolist()), lesson=own.lesson)


def _advised(around: _Around, number: int, first: date, length: int) -> Iterator[Step]:
    """Yield what vets leave open of the days to come, days of the same advice together."""
    held = [around.held(first + timedelta(days=day)).get(number) for day in range(length)]
    begin = 0
    for day in range(1, length + 1):
        if day == length or held[day] != held[begin]:
            one = held[begin]
            if one is not None and one.finding.advice:
                yield Step(begin, day - 1, ALLOWED[one.finding.advice])
            begin = day


def _stands_down(library: Path, moment: Moment, number: int, first: date) -> Iterator[Step]:
    """Yield what rules on treatments and vaccines keep the horse from: races, fast work, or all but walking."""
    own = yard_rules(library).overrides
    for one in reasons(given(moment, [number]), dosed(moment, [number]), own_place(moment, own), own):
        until = one.stand_down.first_day
        if until is None or until <= first or not {"race", "training", "timed work"} & set(one.stand_down.applies_to):
            continue
        what = set(one.stand_down.applies_to)
        left = frozenset(EXERCISES) - (FAST if "timed work" in what else {"race"})
        yield Step(0, (until - first).days - 1, ALLOWED["walk"] if "training" in what else left, "stand_down")


def at_stalls(
    library: Path, moment: Moment, horse: Horse, worked: Worked, to_bend_m: float | None = None
) -> tuple[Said, ...]:
    """Return where a horse is on the path to the stalls, and what to mind of its next race, in sentences.

    Args:
        library: folder of the library.
        moment: when to look from.
        horse: its row.
        worked: the same as `to_work` has it.
        to_bend_m: metres from the stalls to the first bend in its next race, where that is not among its engagements.
    """
    ran = [day for day, _metres in done_by(library, moment, [horse]).ran[horse.pk]]
    last = max(ran, default=None)
    where = standing(lessons(moment, [horse.pk]).get(horse.pk, []), last_run=last)
    if not worked.races:
        return told(where)
    race = min(worked.races, key=lambda one: one.day)
    on = worked.first + timedelta(days=race.day)
    slow = last is not None and bool(slow_away(moment, {horse.pk: last}))
    bends = (one.race.to_bend_m for one in engaged(library, moment, on, on, [horse.pk]))
    bend = next((one for one in bends if one is not None), to_bend_m)
    return told(where, reminder(where, on, race.metres, bend, last, slow_away=slow))


def _held_to(around: _Around, worked: Worked, wished: Wished, settings: Settings) -> bool:
    """Return whether as few days as can be change of the plan that stands: it was made for what is known now."""
    one = around.stands.get(worked.number)
    if one is None or not one.held or one.basis is None or wished.afresh:
        return False
    return still_so(one.basis, worked, settings.prices)


def _of_days(days: Mapping[date, str], wished: Wished, known: Orders) -> dict[int, str]:
    """Return orders by day of the plan; those that the routine no longer knows are left out."""
    ahead = {(day - wished.first).days: name for day, name in days.items() if name in known}
    return {day: name for day, name in ahead.items() if 0 <= day < wished.days}


def _stood(around: _Around, number: int, wished: Wished, known: Orders) -> dict[int, str]:
    """Return what was told last for the days to come."""
    one = around.stands.get(number)
    return {} if one is None else _of_days(one.told, wished, known)


def _exchanged(
    around: _Around,
    number: int,
    wished: Wished,
    known: Orders,
    moved: Mapping[int, int],
    ordered: Mapping[int, str],
) -> dict[int, str]:
    """Return the plan that stands for the days to come, with two days exchanged where it has not got what was moved."""
    one = around.stands.get(number)
    if one is None or wished.afresh:
        return {}
    found = _of_days(one.days, wished, known)
    for to, from_ in moved.items():
        if to in found and from_ in found and to in ordered and found[to] != ordered[to]:
            found[to], found[from_] = found[from_], found[to]
    return found


def _ordered(
    around: _Around, number: int, wished: Wished, known: Orders
) -> tuple[dict[int, str], dict[int, frozenset[int]], dict[int, int]]:
    """Return what is ordered already for the days to come, as orders of the routine, and with whom upsides.

    Orders that the routine does not know are left out. Also returned are the days to which an order was moved by hand,
    each with the day that it came from.
    """
    found, beside, moved = {}, {}, {}
    for day in range(wished.days):
        on = wished.first + timedelta(days=day)
        if (order := around.ordered(on).get(number)) is None:
            continue
        if order.moved_from:
            moved[day] = (date.fromisoformat(order.moved_from) - wished.first).days
        if name := order_like(order, known):
            found[day], beside[day] = name, frozenset(order.upsides)
    return found, beside, moved


def order_like(ordered: Ordered, known: Orders) -> str:
    """Return the name of the order that an order of the diary is nearest to, "" where none is of its exercise."""
    same = [one for one in known.values() if one.exercise == ordered.exercise]
    if not same:
        return ""
    metres = None if ordered.furlongs is None else ordered.furlongs * FURLONG_M

    def off(name: str) -> tuple[float, bool]:
        own = next((one.metres for one in reversed(known[name].segments)), 0.0)
        return abs(own - metres) if metres is not None else 0.0, known[name].upsides != bool(ordered.upsides)

    return min((one.name for one in same), key=off)
