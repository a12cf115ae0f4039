"""Races to come as commands give them out: plain values for JSON, and lines."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from datetime import datetime

    from upsides.books.models import Horse
    from upsides.books.queries.chance_answers import Worked
    from upsides.books.queries.moments import Moment
    from upsides.books.queries.placing import Case
    from upsides.books.queries.programme import Programme
    from upsides.placing import Carried, Deadline, Finding, Money, Race, Stage, Terms

MOST_SHOWN = 60
"""Races told one by one; --json gives all."""


def horse_named(moment: "Moment", text: str) -> "Horse":
    """Return a horse in training by its name or its number.

    Raises:
        HorseHereUnknownError: there is none, or more than one.
    """
    from upsides.books.queries import moments
    from upsides.errors import HorseHereUnknownError

    rows = list(moments.in_training(moment))
    named = [one for one in rows if one.name.casefold() == text.strip().casefold() or str(one.pk) == text.strip()]
    if len(named) != 1:
        raise HorseHereUnknownError(text)
    return named[0]


def race_named(found: "Programme", moment: "Moment", text: str) -> tuple[str, "Race"]:
    """Return a race to come by its code, or by its title where no other has that.

    Raises:
        RaceUnknownError: no programme names it.
        RaceNamedTwiceError: several races to come are called so.
    """
    from upsides.errors import RaceNamedTwiceError, RaceUnknownError

    if text in found.races:
        return text, found.races[text]
    plain = text.strip().casefold()
    named = {code: race for code, race in found.races.items()
             if race.title.casefold() == plain and race.day >= moment.day}  # fmt: skip
    if not named:
        raise RaceUnknownError(text)
    if len(named) > 1:
        raise RaceNamedTwiceError(text, [f"{race} is {code}" for code, race in named.items()])
    return next(iter(named.items()))


def race_value(code: str, race: "Race") -> dict[str, Any]:
    """Return a race."""
    from upsides.placing import clashes, conditions_of

    return {
        "code": code,
        "title": race.title,
        "course": race.course,
        "day": race.day,
        "off": race.off.astimezone(race.clock).isoformat() if race.off and race.clock else None,
        "distance_m": race.distance_m,
        "surface": race.surface,
        "class": race.race_class,
        "kinds": sorted(race.kinds),
        "prize": money_value(race.prize.win if race.prize else None),
        "most_runners": race.most_runners,
        "not_read": list(conditions_of(race).unread),
        "clashes": list(clashes(race)),
    }


def money_value(sum_: "Money | None") -> dict[str, Any] | None:
    """Return a sum with its currency."""
    return None if sum_ is None else {"amount": sum_.amount, "currency": sum_.currency}


def deadline_value(one: "Deadline") -> dict[str, Any]:
    """Return a deadline by the course's clock."""
    return {
        "stage": str(one.stage),
        "by": one.local.isoformat(),
        "zone": one.zone,
        "cost": money_value(one.cost),
        "rule": str(one.rule) if one.rule else None,
    }


def case_value(case: "Case") -> dict[str, Any]:
    """Return whether a horse may run in a race, off what weight, and why."""
    return {
        "horse": case.horse.name,
        "may_run": str(case.says),
        "weight": carried_value(case.carried),
        "no_weight": case.no_weight or None,
        "against": [finding_value(one) for one in case.eligible.against],
        "not_known": [finding_value(one) for one in case.eligible.open],
        "to_know": [finding_value(one) for one in case.eligible.notes],
        "not_read": list(case.eligible.unread),
    }


def chance_value(found: "Worked | None", horse: int) -> dict[str, Any] | None:
    """Return a horse's chance in a race as it was worked out; null where it was not."""
    one = found.horses.get(horse) if found else None
    if found is None or one is None:
        return None
    prize = None if one.prize is None else {"amount": one.prize, "currency": one.currency}
    return {
        "worked_out_at": found.at.isoformat(),
        "as_of": found.fit,
        "win": list(one.win),
        "place": list(one.place),
        "first_four": list(one.first_four),
        "gets_a_run": one.runs,
        "rank": list(one.rank),
        "runners": list(one.size),
        "expected_from": one.races,
        "stall": one.stall,
        "stall_worth_lb": None if one.stall_worth is None else list(one.stall_worth),
        "rivals_known": list(one.known),
        "rivals_drawn": list(one.drawn),
        "prize": prize,
        "share": one.share,
        "black_type": one.black_type,
        "fees": one.fees,
        "net": None if one.net is None else {"amount": round(one.net, 1), "currency": one.currency},
        "not_known": list(one.notes),
    }


def entry_text(race: "Race", now: "datetime", terms: "Terms") -> str:
    """Return by when a race can still be entered and what that costs, or that its entries are closed."""
    from upsides.books.queries.placing import dues_of, ways_in
    from upsides.placing import Stage

    if ways := ways_in(race, now, terms):
        first, *more = ways
        late = "late entry" if first.stage is Stage.SUPPLEMENT else "enter"
        then = f"; late entry until {_by(more[-1])}" if more else ""
        return f"{late} by {_by(first)}{then}"
    ways_ever = [one for one in dues_of(race, terms)[0] if one.stage in {Stage.ENTER, Stage.SUPPLEMENT}]
    if ways_ever:
        return f"entries closed {ways_ever[-1].local:%a %d %b %H:%M}"
    return "by when to enter is not known" if race.zone else f"by when to enter is not known: no zone for {race.course}"


def _by(one: "Deadline") -> str:
    cost = f", {one.cost.amount:,.0f} {one.cost.currency}" if one.cost else ""
    return f"{one.local:%a %d %b %H:%M}{cost}"


def run_text(found: dict[str, Any] | None) -> str:
    """Return a horse's rank among the entries and its chance of a run, to stand behind a sentence; empty without."""
    if found is None:
        return ""
    best, worst = found["rank"]
    low, high = (f"{100 * chance:.0f}" for chance in found["chance"])
    rank = f"{best}" if best == worst else f"{best} to {worst}"
    chance = low if low == high else f"{low} to {high}"
    return f"; rank {rank} of {found['entries']} entries, chance of a run {chance} %"


def run_value(
    library: Path, moment: "Moment", case: "Case", terms: "Terms", reached: "Stage | None"
) -> dict[str, Any] | None:
    """Return a horse's rank among the entries that are written down and its chance of a run; null without them.

    Null too where it can no longer get to the start.
    """
    from upsides.books.queries.getting_a_run import room_for

    found = room_for(library, moment, case, terms, reached)
    if found is None:
        return None
    return {
        "rank": [found.best, found.worst],
        "chance": [round(found.least, 4), round(found.most, 4)],
        "entries": found.entries,
        "not_known": found.unknown,
        "by": found.standing.by,
        "rule": str(found.standing.rule),
    }


def chance_text(found: "Worked | None", horse: int) -> str:
    """Return a horse's chance in a race in words; empty where it was not worked out."""
    one = found.horses.get(horse) if found else None
    if one is None:
        return ""
    win, place = (_percent(chance) for chance in (one.win, one.place))
    rank, best, worst = (round(value) for value in one.rank)
    text = f"chance to win {win}, of the first three {place}, rank {rank} of {one.size[0]:.0f} ({best} to {worst})"
    return text if one.net is None else f"{text}, to expect {one.net:,.0f} {one.currency} after shares and fees"


def _percent(chance: tuple[float, float, float]) -> str:
    middle, low, high = (f"{100 * value:.0f}" for value in chance)
    return f"{middle} % ({low} to {high})"


def worked_line(found: Iterable["Worked"]) -> list[str]:
    """Return the line that says when chances were worked out; nothing where there are none."""
    last = max(found, key=lambda one: one.at, default=None)
    if last is None:
        return []
    return [f"Chances as worked out {last.at:%Y-%m-%d %H:%M} UTC, from results before {last.fit}, with their ranges."]


def finding_value(one: "Finding") -> dict[str, Any]:
    """Return one reason."""
    return {"reason": one.key, "words": str(one), "rule": str(one.rule) if one.rule else None}


def carried_value(one: "Carried | None") -> dict[str, Any] | None:
    """Return a weight with its lines."""
    if one is None:
        return None
    return {
        "published": one.published,
        "on_the_horse": one.on_the_horse,
        "unit": one.unit,
        "settled": one.settled,
        "confidence": one.grade,
        "lines": [{"what": line.key, "value": line.value} for line in one.lines],
        "unsure": [{"what": line.key, "value": line.value} for line in one.unsure],
        "missing": list(one.missing),
    }


def race_line(race: "Race") -> str:
    """Return a race in one line."""
    far = f"{race.distance_m:.0f} m" if race.distance_m else "distance not known"
    off = f" {race.off.astimezone(race.clock):%H:%M}" if race.off and race.clock else ""
    win = f", {race.prize.win} to the winner" if race.prize and race.prize.win else ""
    return f"{race.day}{off} {race.course}: {race.title or 'race ' + race.number}, {far}{win}"


def weight_text(one: "Carried | None") -> str:
    """Return a weight in words."""
    from upsides.placing import Amount

    if one is None:
        return "weight not known"
    told = str(Amount(one.published, one.unit))
    return told if one.settled else f"{told}, not settled"
