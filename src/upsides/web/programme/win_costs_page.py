"""What a win in a race would cost a horse and open to it, ready for the template."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.models import Horse, Inside
from upsides.books.queries import moments
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.programme import code_of, programme
from upsides.books.queries.visitors import Visitor, may_see_horse, opened
from upsides.books.services.sights import saw
from upsides.errors import CurrencyUnknownError
from upsides.placing import After, Changed, Money, Outcome, Race, Scenario, WinCosts, supposed, win_costs
from upsides.placing import Horse as Entrant
from upsides.placing.conditions.who import Terms
from upsides.web.programme.reasons import line_words, reason
from upsides.web.programme.sentences import about_win_costs
from upsides.web.programme.words import carried_words, day, money, titled, weight
from upsides.web.shell.refusals import refused

OUTCOMES: Final[dict[Outcome, str | Promise]] = {
    Outcome.WIN: gettext_lazy("If it wins"),
    Outcome.PLACED: gettext_lazy("If it is placed"),
    Outcome.BEATEN: gettext_lazy("If it is beaten"),
}


def win_costs_page(
    folder: Path, who: Visitor, moment: Moment, number: int, code: str, path: str, query: Mapping[str, str]
) -> dict[str, Any] | None:
    """Return what a win would change; None where there is no such horse or race for the visitor.

    Raises:
        UnreadableError: the mark that is supposed is none.
    """
    horse = moments.rows(Horse, moment).filter(id=number).first()
    found = programme(folder, moment)
    race = found.races.get(code)
    if horse is None or race is None or not may_see_horse(who, number):
        return None
    page = {"horse": horse, "title": titled(race), "code": code, "moment": moment, "day": day(race.day)}
    if number not in opened(who, Inside.PLANS):
        return page | {"open": False}
    saw(who, Inside.PLANS, path, number)
    entrant, scenarios = entrants(folder, moment, [horse])[number], _scenarios(query)
    page |= {"open": True, "mark": f"{scenarios[0].mark:g}" if scenarios else ""}
    return page | _shown(horse.name, entrant, race, list(found.races.values()), terms_of(folder), scenarios)


def _scenarios(query: Mapping[str, str]) -> tuple[Scenario, ...]:
    """Return the mark that is supposed after a win, as one scenario; none where none is."""
    text = query.get("mark", "").strip()[:8]
    return (supposed("", text),) if text else ()


def _shown(
    name: str, entrant: Entrant, race: Race, races: list[Race], terms: Terms, scenarios: tuple[Scenario, ...]
) -> dict[str, Any]:
    try:
        found = win_costs(entrant, race, races, scenarios={Outcome.WIN: scenarios}, terms=terms)
    except CurrencyUnknownError as error:
        return {"fault": refused(error)}
    return {"sentence": about_win_costs(name, found), "after": [_after(one, found) for one in found.after]}


def _after(one: After, found: WinCosts) -> dict[str, Any]:
    return {
        "words": str(OUTCOMES[one.outcome])
        if one.scenario is None
        else _("If it wins and its mark were then %(mark)s, as supposed") % {"mark": f"{one.scenario.mark:g}"},
        "prize": money(Money(one.prize, found.currency)) if one.prize is not None and found.currency else "",
        "beaten": one.outcome is Outcome.BEATEN,
        "closes": [_changed(each) for each in one.changed if each.closes],
        "opens": [_changed(each) for each in one.changed if each.opens],
        "moved": [_changed(each) for each in one.changed if not each.closes and not each.opens],
        "same": one.same,
    }


def _why(one: Changed) -> list[tuple[str, str]]:
    """Return the reasons of a change, each with the conditions' own words where it has them.

    Of another weight they are its new lines, of a race that closes or opens what differs.
    """
    if one.then.carried is None or one.closes or one.opens or not one.lines:
        return [(reason(each), "") for each in one.because]
    told = ((*line_words(line, one.then.carried.unit), line.wording) for line in one.lines)
    return [(f"{what} {value}", wording) for what, value, wording in told]


def _changed(one: Changed) -> dict[str, Any]:
    race, now, then = one.now.race, one.now.carried, one.then.carried
    more = one.more
    unit = then.unit if then else "lb"
    signed = f"+{weight(more, unit)}" if more > 0 else f"−{weight(-more, unit)}" if more < 0 else ""
    return {
        "code": code_of(race),
        "title": titled(race),
        "day": day(race.day),
        "course": race.course,
        "now": carried_words(now),
        "then": carried_words(then),
        "more": signed,
        "because": _why(one),
    }
