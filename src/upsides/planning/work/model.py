"""A horse's work as part of a mixed-integer linear program; docs/planning.md writes it out.

x[t, o]   day t has order o, for the days planned one by one
c[s, o]   so many days of order o in the span s of later days
f[t]      a later day t has fast work, so that the days between two works hold over the whole plan
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import inf

import numpy as np

from upsides.planning.program import Floats, Ints, Program
from upsides.planning.work.asked import Asked, Week, asked, open_orders, other_company, spans_of
from upsides.planning.work.horse import Horse, Plan, Span
from upsides.planning.work.orders import Order, above
from upsides.planning.work.routine import Limit, Parts


@dataclass(frozen=True)
class Columns:
    """What the columns of a horse mean.

    Attributes:
        horse: whose.
        names: of the orders, n of them.
        spans: later days, without counts.
        x: (days, n) columns; c: (spans, n) columns.
    """

    horse: Horse
    names: tuple[str, ...]
    spans: tuple[Span, ...]
    x: Ints
    c: Ints

    def plan(self, values: Floats) -> Plan:
        """Return the plan of a solution."""
        days = tuple(self.names[int(o)] for o in values[self.x].argmax(axis=1))
        counts = np.rint(values[self.c]).astype(int).tolist()
        later = (
            Span(span.first, span.last, tuple((name, n) for name, n in zip(self.names, own, strict=True) if n))
            for span, own in zip(self.spans, counts, strict=True)
        )
        return Plan(days, tuple(later))

    def on(self, day: int, order: str) -> int:
        """Return the column of an order on a day planned one by one."""
        return int(self.x[day, self.names.index(order)])


def add_horse(program: Program, horse: Horse, prices: Parts) -> Columns:
    """Add a horse to a program; what it adds to the objective is what `verifying` finds that its plan costs."""
    made = _Made(program, horse, prices)
    made.add_days()
    made.add_gaps()
    made.add_limits()
    made.add_rest()
    made.add_lessons()
    made.add_weeks()
    made.add_sharp()
    return Columns(horse, made.names, made.spans, made.x, made.c)


@dataclass
class _Made:
    """A horse's part of a program while it is made."""

    program: Program
    horse: Horse
    prices: Parts

    @cached_property
    def names(self) -> tuple[str, ...]:
        return tuple(self.horse.routine.orders)

    @cached_property
    def orders(self) -> tuple[Order, ...]:
        return tuple(self.horse.routine.orders.values())

    @cached_property
    def spans(self) -> tuple[Span, ...]:
        return spans_of(self.horse)

    @cached_property
    def asked(self) -> Asked:
        return asked(self.horse)

    @cached_property
    def open(self) -> Mapping[int, frozenset[str]]:
        return {day: open_orders(self.horse, day) for day in range(self.horse.length)}

    def _of(self, field: str) -> Floats:
        """Return a number of every order, (n,)."""
        return np.array([float(getattr(one, field)) for one in self.orders])

    def add_days(self) -> None:
        """Add x, c and f: one order a day, as many in a span as it has days."""
        days, spans, program = self.horse.days, self.spans, self.program
        left = np.array([[name in self.open[day] for name in self.names] for day in range(days)], dtype=float)
        self.x = program.columns(self._day_costs(), left)
        size = np.array([float(one.last - one.first + 1) for one in spans])
        open_in = np.array([[name in self.open[one.first] for name in self.names] for one in spans], dtype=float)
        upper = (open_in * size[:, None] if spans else np.zeros((0, len(self.names)))).reshape(-1, len(self.names))
        self.c = program.columns(np.zeros(upper.shape), upper)
        for row in self.x:
            program.row_of(row, low=1.0, high=1.0)
        for row, n in zip(self.c, size.tolist(), strict=True):
            program.row_of(row, low=n, high=n)
        self.f = program.columns(np.zeros(self.horse.length - days))
        fast = self._of("fast")
        for span, row in zip(spans, self.c, strict=True):
            own = self.f[span.first - days : span.last + 1 - days]
            program.row_of(np.r_[row, own], np.r_[fast, -np.ones(own.size)], 0.0, 0.0)

    def _day_costs(self) -> Floats:
        """Return the price of each order on each day, (days, n)."""
        horse, prices = self.horse, self.prices
        cost = np.zeros((horse.days, len(self.orders)))
        effort, fast, names = self._of("effort"), self._of("fast"), np.array(self.names)
        for day in range(horse.days):
            wanted = self.asked.orders[day]
            more = effort - wanted.effort
            cost[day] = np.where(more > 0, prices.harder * more, -prices.easier * more)
            twin = np.array([one.twin(wanted) for one in self.orders])
            cost[day] += prices.swapped * ((more == 0) & (names != wanted.name) & ~twin)
            cost[day] += prices.alone * np.array([other_company(horse.routine, one, wanted) for one in self.orders])
            cost[day] += 0.0 if wanted.rest else prices.rested * self._of("rest")
            to_race = horse.to_race(day)
            if to_race is not None and day not in horse.race_on:
                cost[day] += prices.late * fast * max(horse.routine.last_fast - to_race, 0)
            if day in horse.stands:
                cost[day] += prices.change * (names != horse.stands[day])
        return cost

    def _fast_on(self, day: int) -> tuple[Ints, Floats]:
        """Return the columns that say whether a day has fast work, with their factors."""
        if day >= self.horse.days:
            return self.f[[day - self.horse.days]], np.ones(1)
        return self.x[day], self._of("fast")

    def add_gaps(self) -> None:
        """Add that no two days of fast work, races and what was done before among them, are too near to each other."""
        gap = self.horse.gap
        known = {one.day for one in self.horse.past if one.fast}
        for begin in range(1 - gap, self.horse.length - 1 if gap > 1 else 0):
            days = range(max(begin, 0), min(begin + gap, self.horse.length))
            before = sum(day in known for day in range(begin, 0))
            columns, factors = zip(*(self._fast_on(day) for day in days), strict=True) if days else ((), ())
            if columns:
                self.program.row_of(np.concatenate(columns), np.concatenate(factors), high=max(1.0 - before, 0.0))

    def add_limits(self) -> None:
        """Add the trainer's exposure: after each day one by one, and at the end of each later span.

        Of a span that the window cuts, its days count in equal parts. What was done before cannot be undone; where it
        is too much already, nothing is added to it. Races are fixed: a window always has room for its own.
        """
        for limit in self.horse.limits:
            for until in [*range(self.horse.days), *(span.last for span in self.spans)]:
                self._add_limit(limit, until)

    def _add_limit(self, limit: Limit, until: int) -> None:
        if limit.metres == inf:
            return
        metres = np.array([above(one.profile, limit.from_ms) for one in self.orders])
        columns, factors = [], []
        for day in range(max(until - limit.days + 1, 0), min(until + 1, self.horse.days)):
            columns.append(self.x[day])
            factors.append(self._with_race(metres, limit, day))
        for span, row in zip(self.spans, self.c, strict=True):
            if (share := share_in(span, until, limit.days)) > 0:
                columns.append(row)
                factors.append(share * self._with_race(metres, limit, span.first))
        left = max(limit.metres - done_before(self.horse, limit, until), raced_in(self.horse, limit, until))
        self.program.row_of(np.concatenate(columns), np.concatenate(factors), high=left)

    def _with_race(self, metres: Floats, limit: Limit, day: int) -> Floats:
        """Return the metres of each order on a day, a race by its distance."""
        race = self.horse.race_on.get(day)
        if race is None:
            return metres
        own = self.horse.routine.orders["race"].over(race.metres)
        return np.where([one.exercise == "race" for one in self.orders], above(own, limit.from_ms), metres)

    def add_rest(self) -> None:
        """Add the days of rest in any seven days one by one, and in the days of each later week.

        Races are fixed: days on which the horse runs are never asked for rest.
        """
        horse, rests = self.horse, self._of("rest")
        for day in range(horse.days if horse.rest else 0):
            before = range(day - 6, 0)
            if all(one in horse.did for one in before):
                had = sum(horse.did[one].rest for one in before)
                own = self.x[max(day - 6, 0) : day + 1]
                low = float(min(horse.rest - had, free_for_rest(horse, max(day - 6, 0), day)))
                self.program.row_of(own.ravel(), np.tile(rests, own.shape[0]), low=low)
        for week in self.asked.weeks:
            if week.last >= horse.days and horse.rest:
                columns, factors = self._in_week(week, rests)
                self.program.row_of(columns, factors, low=float(rest_of_week(horse, week.first, week.last)))

    def _in_week(self, week: Week, factor: Floats) -> tuple[Ints, Floats]:
        """Return the columns of a week's orders, each with the factor of its order."""
        rows = [
            *(self.x[day] for day in range(week.first, min(week.last + 1, self.horse.days))),
            *(row for span, row in zip(self.spans, self.c, strict=True) if week.first <= span.first <= week.last),
        ]
        return np.concatenate(rows), np.tile(factor, len(rows))

    def add_lessons(self) -> None:
        """Add that the lessons at the stalls stand before the first race, where a certificate is asked for."""
        horse = self.horse
        if not (horse.certificate and horse.lessons and horse.races):
            return
        first, lesson = min(horse.race_on), self._of("lesson")
        rows = [
            *self.x[: min(first, horse.days)],
            *(row for span, row in zip(self.spans, self.c, strict=True) if span.last < first),
        ]
        columns = np.concatenate(rows) if rows else self.x[0]
        factors = np.tile(lesson, len(rows)) if rows else np.zeros(self.x[0].size)
        self.program.row_of(columns, factors, low=float(horse.lessons))

    def add_weeks(self) -> None:
        """Add what weeks have less or more than the routine: fast work, canter, lessons, days of later spans."""
        for week in self.asked.weeks:
            for name, (low, high) in (("fast", week.fast), ("canter", week.canter), ("lessons", (week.lessons,) * 2)):
                field = "lesson" if name == "lessons" else f"{name}_f"
                columns, factors = self._in_week(week, self._of(field))
                off = [getattr(self.prices, f"{name}_short"), getattr(self.prices, f"{name}_over")]
                short, over = self.program.columns(off, np.inf, whole=False)
                self.program.row_of(np.r_[columns, short], np.r_[factors, 1.0], low=float(low))
                self.program.row_of(np.r_[columns, over], np.r_[factors, -1.0], high=float(high))
            self._add_others(week)

    def _add_others(self, week: Week) -> None:
        """Add the days of a week's later spans beyond those that the routine has of each order."""
        rows = [k for k, span in enumerate(self.spans) if week.first <= span.first <= week.last]
        if not rows:
            return
        days = range(self.spans[rows[0]].first, week.last + 1)
        wanted = [self.asked.orders[day].name for day in days]
        more = self.program.columns(np.full(len(self.names), self.prices.weeks), np.inf, whole=False)
        for o, name in enumerate(self.names):
            own = self.c[rows, o]
            self.program.row_of(np.r_[own, more[o]], np.r_[np.ones(own.size), -1.0], high=float(wanted.count(name)))

    def add_sharp(self) -> None:
        """Add the races that have no fast work in the days in which the routine has some."""
        horse = self.horse
        for race in horse.races:
            begin = race.day - horse.routine.sharp
            if any(one.fast and one.day >= begin for one in horse.past):
                continue
            own = [self._fast_on(day) for day in range(max(begin, 0), min(race.day, horse.days))]
            own += [
                (row, self._of("fast"))
                for span, row in zip(self.spans, self.c, strict=True)
                if span.last >= begin and span.first < race.day
            ]
            stale = self.program.columns([self.prices.stale], whole=False)
            columns = np.concatenate([stale, *(one for one, _ in own)])
            self.program.row_of(columns, np.concatenate([[1.0], *(factor for _, factor in own)]), low=1.0)


def free_for_rest(horse: Horse, first: int, last: int) -> int:
    """Return how many days from one to another have no race."""
    return sum(day not in horse.race_on for day in range(first, last + 1))


def rest_of_week(horse: Horse, first: int, last: int) -> int:
    """Return the days of rest that are asked of the planned days of a later week."""
    return min(horse.rest * (last - first + 1) // 7, free_for_rest(horse, first, last))


def share_in(span: Span, until: int, days: int) -> float:
    """Return which share of a span's days is among the last so many days up to one."""
    inside = min(span.last, until) - max(span.first, until - days + 1) + 1
    return max(inside, 0) / (span.last - span.first + 1)


def done_before(horse: Horse, limit: Limit, until: int) -> float:
    """Return the metres from a limit's speed on that days before the first put into its window."""
    known = (one for one in horse.past if one.day > until - limit.days)
    return sum(above(np.array(one.metres), limit.from_ms) for one in known)


def raced_in(horse: Horse, limit: Limit, until: int) -> float:
    """Return the metres from a limit's speed on that races planned in its window come to."""
    races = (race for race in horse.races if until - limit.days < race.day <= until)
    return sum(above(horse.routine.orders["race"].over(race.metres), limit.from_ms) for race in races)
