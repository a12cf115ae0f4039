"""Races that one of ours could have run in and was not entered for, as that stood when entries closed."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from upsides.books import clock
from upsides.books.chances import RaceChance
from upsides.books.models import Engagement, Horse, LetGo
from upsides.books.queries import moments
from upsides.books.queries.chance_answers import chances_worked
from upsides.books.queries.chances_wanted import is_own, own_trips
from upsides.books.queries.entrants import terms_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import Case, cases, dues_of, string_of
from upsides.books.queries.programme import programme
from upsides.books.queries.race_chances import chances_in
from upsides.placing import Race, Says, Stage


@dataclass(frozen=True, slots=True)
class Passed:
    """One horse and one race whose entries closed without it.

    Args:
        case: what the rules said of it then.
        meant_elsewhere: the race within a week of it that the horse was in or meant for, in words; empty for none.
        chance: what was thought of its chance then; None where that was not known.
        closed: when entries closed; None where that is not known.
    """

    case: Case
    meant_elsewhere: str
    chance: Mapping[str, Any] | None = None
    closed: datetime | None = None

    def known(self) -> dict[str, Any]:
        """Return what is kept of it for ever."""
        race, carried = self.case.race, self.case.carried
        win = race.prize.win if race.prize else None
        return {
            "weight": carried.published if carried else None,
            "unit": carried.unit if carried else None,
            "settled": bool(carried and carried.settled),
            "prize": win.amount if win else None,
            "currency": win.currency if win else None,
            "distance_m": race.distance_m,
            "elsewhere": self.meant_elsewhere,
            "chance": self.chance,
            "closed": self.closed.isoformat() if self.closed else None,
        }


@dataclass(frozen=True, slots=True)
class Told:
    """A race let go with what was said of it since.

    Args:
        row: what was known when entries closed.
        horse: the horse's row.
        why: the last row in which a person said why; None where nobody did.
    """

    row: LetGo
    horse: Horse
    why: LetGo | None

    @property
    def closed(self) -> date:
        """Return on which day of the yard entries closed."""
        return closed_on(self.row)


def closed_on(row: LetGo) -> date:
    """Return on which day of the yard entries closed; where a row does not say it, when it was written."""
    said = row.known.get("closed")
    at = datetime.fromisoformat(said) if said else row.recorded_at
    return at.astimezone(clock.place().zone).date()


def closed_between(folder: Path, moment: Moment, first: datetime, last: datetime) -> dict[datetime, dict[str, Race]]:
    """Return by when they closed the races whose entries closed after one moment and not after another.

    Late entries count as none.
    """
    terms = terms_of(folder)
    found: dict[datetime, dict[str, Race]] = {}
    for code, race in programme(folder, moment).races.items():
        ends = [one.at for one in dues_of(race, terms)[0] if one.stage is Stage.ENTER]
        if ends and first < max(ends) <= last and race.day >= first.date():
            found.setdefault(max(ends), {})[code] = race
    return dict(sorted(found.items()))


def passed_in(folder: Path, moment: Moment, races: Mapping[str, Race], closed: datetime | None = None) -> list[Passed]:
    """Return the horses of ours that might have run in some races and were not entered, race by race.

    A race over a trip that is hardly a horse's own was not passed by it. The chance is what was kept of it at the
    moment, where it was asked for then; else it is worked out from what was known then.

    Args:
        folder: of the library.
        moment: when to look from: that at which entries closed.
        races: by code.
        closed: when their entries closed.
    """
    ours = string_of(moment)
    rows = list(moments.rows(Engagement, moment).exclude(state=Engagement.State.WITHDRAWN))
    said = {(row.horse_id, row.race_code) for row in rows if row.state != Engagement.State.MEANT}
    own = own_trips(folder, moment, ours)
    answered = cases(folder, moment, races, ours)
    passed = {
        code: [
            case
            for case in answers
            if case.says is Says.YES and (case.horse.pk, code) not in said and is_own(case.race, case.horse.pk, own)
        ]
        for code, answers in answered.items()
    }
    there = {code: listed for code, listed in passed.items() if listed}
    entered = {code: [one for one in answered[code] if one.open and (one.horse.pk, code) in said] for code in there}
    chances = _chances_then(folder, moment, there, entered) if there else {}
    return [
        Passed(case, _elsewhere(case, rows), _thought(chances.get((code, case.horse.pk))), closed)
        for code, listed in there.items()
        for case in listed
    ]


def _chances_then(
    folder: Path, moment: Moment, there: Mapping[str, Sequence[Case]], entered: Mapping[str, Sequence[Case]]
) -> dict[tuple[str, int], RaceChance]:
    """Return the chances as they stood: those that were kept, the others worked out as of then."""
    kept = {
        (code, number): chance
        for code, worked in chances_worked(moment, list(there)).items()
        for number, chance in worked.horses.items()
    }
    open_ = {code: [one for one in listed if (code, one.horse.pk) not in kept] for code, listed in there.items()}
    wanted = {code: listed for code, listed in open_.items() if listed}
    return (chances_in(folder, moment, wanted, entered) if wanted else {}) | kept


def _thought(one: RaceChance | None) -> dict[str, float] | None:
    """Return what is kept of a chance where it has to stand as it stood."""
    if one is None:
        return None
    win, low, high = (round(value, 4) for value in one.win)
    return {"win": win, "low": low, "high": high, "place": round(one.place[0], 4), "field": one.size[0]}


def _elsewhere(case: Case, rows: Iterable[Engagement]) -> str:
    near = [row for row in rows if row.horse_id == case.horse.pk and row.race_code != case.code
            and abs(row.day - case.race.day) <= timedelta(days=7)]  # fmt: skip
    return f"{near[0].race}, {near[0].day}" if near else ""


def let_go(moment: Moment, first: date, last: date) -> list[Told]:
    """Return the races whose entries closed on some days and that were let go, as they stood then."""
    rows = LetGo.objects.filter(day__gte=first).order_by("day", "recorded_at", "pk")
    rows = rows if moment.at is None else rows.filter(recorded_at__lte=moment.at)
    why = {(row.horse_id, row.race_code): row for row in rows if row.by_id}
    kept = [row for row in rows if row.by_id is None]
    horses = {one.pk: one for one in moments.rows(Horse, moment).filter(id__in={row.horse_id for row in kept})}
    return [
        Told(row, horses[row.horse_id], why.get((row.horse_id, row.race_code)))
        for row in kept
        if row.horse_id in horses and first <= closed_on(row) <= last
    ]


def week_to_show(moment: Moment, monday: date) -> date:
    """Return a day of the week to open on: the moment's where entries closed in it of races let go, else the last."""
    rows = LetGo.objects.filter(by=None)
    rows = rows if moment.at is None else rows.filter(recorded_at__lte=moment.at)
    days = {closed_on(row) for row in rows.filter(day__gte=monday)}
    if any(monday <= day <= monday + timedelta(days=6) for day in days):
        return monday
    last = rows.order_by("-recorded_at").first()
    return closed_on(last) if last else monday


def reasons_of(moment: Moment, first: date, last: date) -> list[tuple[str, int, dict[str, float]]]:
    """Return which reasons let races go whose entries closed on some days: reason, races, prizes forgone by currency.

    The reason that cost most stands first; where prizes are in several currencies, which nothing compares, that which
    let most races go, its sums in the order of the currencies' names. A prize is the winner's; it is taken times the
    chance to win that was known then, and where none was known it counts for nothing. A race has one winner, so of
    several of ours it cost what the best of them might have earned, shared out among them as their chances are.
    """
    races: dict[str, list[Told]] = {}
    for one in let_go(moment, first, last):
        races.setdefault(one.row.race_code, []).append(one)
    counts: Counter[str] = Counter()
    sums: dict[str, dict[str, float]] = {}
    for rows in races.values():
        counts.update({_reason(one) for one in rows})
        chances = [_chance(one) for one in rows]
        share = max(chances) / sum(chances) if any(chances) else 0.0
        for one, chance in zip(rows, chances, strict=True):
            prize, currency = one.row.known.get("prize"), one.row.known.get("currency")
            if prize and currency and chance:
                mine = sums.setdefault(_reason(one), {})
                mine[currency] = mine.get(currency, 0.0) + prize * chance * share
    told = [(reason, count, dict(sorted(sums.get(reason, {}).items()))) for reason, count in counts.items()]
    alone = len({currency for lost in sums.values() for currency in lost}) <= 1
    return sorted(told, key=lambda one: (-max(one[2].values(), default=0.0) if alone else 0.0, -one[1], one[0]))


def _reason(one: Told) -> str:
    return one.why.reason if one.why else ""


def _chance(one: Told) -> float:
    return float((one.row.known.get("chance") or {}).get("win") or 0.0)
