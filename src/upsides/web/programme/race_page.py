"""One race to come, ready for its template: its conditions as read, who of ours may run, by when, for how much."""

from itertools import pairwise
from pathlib import Path
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books import clock
from upsides.books.models import Horse, Inside
from upsides.books.queries.chances_standing import chances_standing
from upsides.books.queries.engaged import Engaged, added, engaged, is_out
from upsides.books.queries.entrants import terms_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.off_the_card import Gaps, gaps
from upsides.books.queries.placing import Case, cases, closes, dues_of, string_of, ways_in
from upsides.books.queries.programme import programme
from upsides.books.queries.shut_out import shut_out
from upsides.books.queries.visitors import Visitor, opened
from upsides.books.services.sights import saw
from upsides.errors import NoRuleError
from upsides.placing import Race, Says, Stage, Terms, clashes, conditions_of, cost_to
from upsides.placing.getting_a_run import order_of
from upsides.results.race_cards import read_card
from upsides.web.programme.cases_words import case_shown, reasons
from upsides.web.programme.chance_page import draw_address
from upsides.web.programme.chance_words import chance, worked_at
from upsides.web.programme.draw_page import USUAL
from upsides.web.programme.gap_words import gap_words
from upsides.web.programme.reasons import reason
from upsides.web.programme.sentences import about_race
from upsides.web.programme.words import STAGES, at_course, kind, long_day, money, off, sums, titled, trip
from upsides.web.shell.access import may_open

AT_ONCE: Final = 8
"""Horses of ours that are listed before the others are folded."""


def race_page(folder: Path, who: Visitor, moment: Moment, code: str, path: str) -> dict[str, Any] | None:
    """Return one race, None where no programme names it; that plans were shown is written down."""
    race = programme(folder, moment).races.get(code)
    if race is None:
        return None
    open_to, terms = opened(who, Inside.PLANS), terms_of(folder)
    page = about(race, terms, moment) | {"code": code, "moment": moment, "plans": bool(open_to)}
    if not open_to:
        return page | {"sentence": page["told"]}
    saw(who, Inside.PLANS, path)
    ours = [one for one in string_of(moment) if one.pk in open_to]
    found = cases(folder, moment, {code: race}, ours)[code]
    said = [
        one
        for one in engaged(folder, moment, race.day, race.day)
        if one.engagement.race_code == code and one.horse.pk in open_to
    ]
    shut = shut_out(folder, moment, said)
    words = {one.horse.pk: [reason(each) for each in shut.get(one.engagement.pk, ())] for one in said}
    said_of = {one.horse.pk for one in said if not is_out(one)}
    chances, at = _chances(folder, who, moment, code, [one for one in found if one.horse.pk in said_of], path)
    return page | {
        "sentence": about_race(found, said, closed=_closed(race, terms, moment), over=race.day < moment.day),
        "engaged": [
            (
                one,
                one.engagement.get_state_display(),
                sums(one.spent),
                chances.get(one.horse.pk),
                words.get(one.horse.pk),
            )
            for one in said
            if not is_out(one)
        ],
        "out": [one for one in said if is_out(one)],
        **_may(found),
        "gaps": gap_words(_gaps(folder, moment, race, code, said, ours, terms), race, terms, moment),
        "chances": at,
        "shut": [case_shown(one) for one in found if not one.open],
        "card": "\n".join(str(one) for one in read_card(folder, code, moment.at)),
        "may_write": may_open("race_day_runners", who.roles),
    }


def _gaps(
    folder: Path, moment: Moment, race: Race, code: str, said: list[Engaged], ours: list[Horse], terms: Terms
) -> Gaps:
    """Return how the card differs from what was said of ours, of a race to come."""
    names = {one.name for one in ours}
    return gaps(folder, moment, race, code, said, names, terms) if race.day >= moment.day else Gaps()


def _closed(race: Race, terms: Terms, moment: Moment) -> bool:
    """Return whether a race that is known to close its entries takes none any more."""
    return closes(race, terms) and not ways_in(race, moment.at or clock.now(), terms)


def _chances(
    folder: Path, who: Visitor, moment: Moment, code: str, found: list[Case], path: str
) -> tuple[dict[int, str], str]:  # fmt: skip
    """Return the chances to win of horses, where they are open to the visitor, which is written down, and of when."""
    open_to = opened(who, Inside.CHANCES)
    wanted = [one for one in found if one.open and one.horse.pk in open_to and one.race.day >= moment.day]
    worked = chances_standing(folder, moment, [code]).get(code) if wanted else None
    told = {one.horse.pk: worked.horses[one.horse.pk] for one in wanted if worked and one.horse.pk in worked.horses}
    if worked is None or not told:
        return {}, ""
    saw(who, Inside.CHANCES, path)
    return {number: chance(one.win) for number, one in told.items()}, worked_at(worked)


def _may(found: list[Case]) -> dict[str, Any]:
    """Return those that may run and those of whom it is not known: some at once, the others folded.

    That conditions contradict each other stands once above them, not with each.
    """
    rows = [
        case_shown(one) | {"open": reasons(each for each in one.eligible.open if each.key != "clash")}
        for one in _first(found)
        if one.open
    ]
    return {"open": rows, "open_first": rows[:AT_ONCE], "open_more": rows[AT_ONCE:]}


def _first(found: list[Case]) -> list[Case]:
    """Return those that may run first, then those of whom it is not known."""
    return sorted(found, key=lambda one: (one.says is not Says.YES, one.horse.name.casefold()))


def about(race: Race, terms: Terms, moment: Moment) -> dict[str, Any]:
    """Return what a race is: where and when, its conditions piece by piece, its deadlines, costs and prizes."""
    dues, no_dues = dues_of(race, terms)
    at = moment.at or clock.now()
    zone = clock.place().zone.key
    return {
        "race": race,
        "title": titled(race),
        "told": _told(race),
        "kind": kind(race),
        "pieces": pieces(race),
        "unread": conditions_of(race).unread,
        "clashes": clashes(race),
        "dues": [
            (str(STAGES[one.stage]), at_course(one, zone), money(one.cost), one.at < at, one.rule) for one in dues
        ],
        "no_dues": no_dues,
        "cost": _cost(race, terms) if not no_dues else "",
        "prizes": prizes(race),
        "room": room(race, terms),
        "stalls": stalls(race),
        "draw": draw_address(race, race.most_runners or USUAL),
        "moved": race.moved_from,
    }


def _cost(race: Race, terms: Terms) -> str:
    """Return what it costs to enter a race and declare it, as far as that is stated."""
    found = added(cost_to(race, Stage.DECLARE, terms))
    if not found:
        return _("What it costs to enter it and declare it is not stated.")
    return _("To enter it and declare it costs %(cost)s, as far as it is stated.") % {"cost": sums(found)}


def _told(race: Race) -> str:
    told = {"course": race.course, "day": long_day(race.day), "off": off(race), "trip": trip(race)}
    if race.off is None:
        return _("%(course)s, %(day)s: %(trip)s.") % told
    return _("%(course)s, %(day)s, %(off)s: %(trip)s.") % told


def pieces(race: Race) -> list[tuple[str, bool]]:
    """Return the wording in pieces that add up to it, each with whether it was read."""
    found = conditions_of(race)
    ends = [0, *(edge for one in found.pieces for edge in (one.start, one.end)), len(found.text)]
    unread = {(one.start, one.end) for one in found.pieces if not one.read}
    return [(found.text[a:b], (a, b) not in unread) for a, b in pairwise(ends) if b > a]


def prizes(race: Race) -> list[tuple[int, str]]:
    """Return what each place receives, as far as stated."""
    if race.prize is None:
        return []
    return [(place, money(race.prize.for_place(place))) for place in range(1, len(race.prize.by_place) + 1)]


def room(race: Race, terms: Terms) -> str:
    """Return how many may run, and who goes out first where more are declared."""
    if race.most_runners is None:
        return _("How many may run is not stated.")
    text = ngettext("%(count)s may run.", "%(count)s may run.", race.most_runners) % {"count": race.most_runners}
    try:
        rule = order_of(race, terms)
    except NoRuleError:
        return text
    order = {
        "weight": _("Where more are declared, the lowest weights go out first."),
        "mark": _("Where more are declared, the lowest marks go out first."),
        "ballot": _("Where more are declared, a ballot decides."),
    }[rule.by]
    return f"{text} {order}"


def stalls(race: Race) -> str:
    """Return where the stalls stand and how the course runs; empty where nothing is stated."""
    ways = {"straight": _("a straight course"), "left": _("left-handed"), "right": _("right-handed")}
    parts = [ways.get(race.bend, ""), _("stall 1 %(side)s") % {"side": race.stall_side} if race.stall_side else ""]
    if race.to_bend_m:
        parts.append(_("%(metres)s m to the first bend") % {"metres": f"{race.to_bend_m:.0f}"})
    parts.append(_("rail %(rail)s") % {"rail": race.rail} if race.rail else "")
    return ", ".join(part for part in parts if part)
