"""A horse's races of the days ahead, ready for the template."""

from collections import Counter
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from upsides.books import clock
from upsides.books.models import Horse, Inside
from upsides.books.queries import moments
from upsides.books.queries.chance_answers import Worked
from upsides.books.queries.chances_standing import chances_standing
from upsides.books.queries.engaged import Engaged, added, engaged, is_out
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import (
    AHEAD,
    Case,
    ahead_of,
    case_of,
    closes,
    dues_of,
    mark_of,
    too_late,
    ways_in,
)
from upsides.books.queries.programme import programme
from upsides.books.queries.trips import trips
from upsides.books.queries.visitors import Visitor, may_see_horse, opened
from upsides.books.services.sights import saw
from upsides.placing import Race, Says, Stage, Terms
from upsides.web.programme.cases_words import case_shown, mark_words
from upsides.web.programme.chance_words import chance, net, of_horse, rank, worked_at
from upsides.web.programme.reasons import reason
from upsides.web.programme.sentences import about_horses_races
from upsides.web.programme.words import at_course, day, kind, money, sums, titled, trip
from upsides.web.shell.templatetags.words import metres

MOST_REASONS: Final = 6
AT_ONCE: Final = 8
"""Races that are listed before the later ones are folded."""
FURLONG_M: Final = 201.168


def horse_page(folder: Path, who: Visitor, moment: Moment, number: int, path: str) -> dict[str, Any] | None:
    """Return a horse's races; None where the visitor may not see the horse; a look at them is written down."""
    horse = moments.rows(Horse, moment).filter(id=number).first()
    if horse is None or not may_see_horse(who, number):
        return None
    page = {"horse": horse, "moment": moment, "open": number in opened(who, Inside.PLANS), "plans": False}
    if not page["open"]:
        return page
    saw(who, Inside.PLANS, path, number)
    found, terms = programme(folder, moment), terms_of(folder)
    entrant = entrants(folder, moment, [horse])[number]
    known = [case_of(code, race, horse, entrant, terms) for code, race in ahead_of(found, moment).items()]
    said = engaged(folder, moment, horses=[number])
    codes = {one.engagement.race_code: one for one in said}
    at = moment.at or clock.now()
    still = [one for one in known if one.open and _reachable(one.race, codes.get(one.code), at, terms)]
    chances = _chances(folder, who, moment, number, [one.code for one in still if one.race.day >= moment.day], path)
    rows = [_row(one, codes.get(one.code), terms, moment, chances) for one in still]
    span = _trip(folder, who, moment, horse)
    first = next((one.race for one in known), None)
    return page | {
        "sentence": about_horses_races(horse.name, still, AHEAD.days, gone_from=horse.left),
        "mark": mark_words(mark_of(first, entrant, terms)) if first else "",
        "engaged": [_stands(one) for one in said if not is_out(one)],
        "out": [_stands(one) for one in said if is_out(one)],
        **_near_rows([row for row in rows if row["case"]["may"] and _near(row["case"]["race"], span)]),
        "far": [row for row in rows if row["case"]["may"] and not _near(row["case"]["race"], span)],
        "span": tuple(metres(round(end, -2)) for end in span) if span else None,
        "unknown": [row for row in rows if not row["case"]["may"]],
        "against": _against(known),
        "shut": sum(1 for one in known if not one.open),
        "heard": found.heard,
        "worked_at": worked_at(max(chances.values(), key=lambda one: one.at)) if chances else "",
    }


def _stands(one: Engaged) -> tuple[Engaged, str, str, str]:
    return one, titled(one.race), day(one.race.day), one.engagement.get_state_display()


def _reachable(race: Race, said: Engaged | None, at: datetime, terms: Terms) -> bool:
    """Return whether a horse can still get to the start of a race, as far as deadlines are known."""
    if said is None or is_out(said):
        return bool(ways_in(race, at, terms))
    return not too_late(race, said.reached, at, terms)


def _near_rows(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the races over its own trip: some at once, the others folded."""
    return {"may": rows[:AT_ONCE], "later": rows[AT_ONCE:]}


def _chances(
    folder: Path, who: Visitor, moment: Moment, number: int, codes: list[str], path: str
) -> dict[str, Worked]:  # fmt: skip
    """Return what was worked out of some races, where chances are open to the visitor, which is written down."""
    if number not in opened(who, Inside.CHANCES):
        return {}
    found = chances_standing(folder, moment, codes)
    known = {code: one for code, one in found.items() if number in one.horses}
    if known:
        saw(who, Inside.CHANCES, path, number)
    return known


def _trip(folder: Path, who: Visitor, moment: Moment, horse: Horse) -> tuple[float, float] | None:
    """Return between which distances a horse's trip lies nine times in ten, metres; None where that is not open."""
    if horse.pk not in opened(who, Inside.FIGURES):
        return None
    found = trips(folder, moment, [horse])[0].get(horse.pk)
    return (found.lowest * FURLONG_M, found.highest * FURLONG_M) if found else None


def _near(race: Race, span: tuple[float, float] | None) -> bool:
    """Return whether a race is run over a distance that may be the horse's; so long as nothing is known every one."""
    return span is None or race.distance_m is None or span[0] <= race.distance_m <= span[1]


def _row(
    case: Case, said: Engaged | None, terms: Terms, moment: Moment, chances: Mapping[str, Worked]
) -> dict[str, Any]:
    race, at = case.race, moment.at or clock.now()
    worked = of_horse(chances, case.code, case.horse.pk)
    ways = [one for one in dues_of(race, terms)[0] if one.at >= at and one.stage is not Stage.WITHDRAW]
    due = said.due if said and said.due else next((one for one in ways if one.stage in _IN), None)
    costs = added(one.cost for one in ways if one.cost is not None and one.stage is not Stage.SUPPLEMENT)
    return {
        "case": case_shown(case),
        "title": titled(race),
        "day": day(race.day),
        "about": f"{race.course}, {trip(race)}",
        "kind": kind(race),
        "win": money(race.prize.win if race.prize else None),
        "due": at_course(due) if due else "",
        "out": due is not None and due.stage is Stage.WITHDRAW,
        "closes": closes(race, terms),
        "cost": sums(costs) if costs else "",
        "state": said.engagement.get_state_display() if said else "",
        "chance": chance(worked.win) if worked else "",
        "rank": rank(worked) if worked else "",
        "net": net(worked) if worked else "",
    }


_IN: Final = (Stage.ENTER, Stage.SUPPLEMENT)


def _against(known: list[Case]) -> list[tuple[str, int]]:
    """Return the reasons that keep it out most often, each once a race."""
    counts = Counter(reason(one.eligible.against[0]) for one in known if one.says is Says.NO)
    return counts.most_common(MOST_REASONS)
