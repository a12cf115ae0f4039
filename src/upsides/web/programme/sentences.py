"""The sentences that pages on races to come open with."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.queries.engaged import Engaged
from upsides.books.queries.placing import Case
from upsides.books.queries.programme_week import Week
from upsides.placing import Says, WinCosts
from upsides.placing.win_costs import Outcome
from upsides.web.programme.words import at_course, carried_words, day, titled


def about_week(week: Week, today: date) -> str:
    """Return how many races a week has and what ours have in it."""
    if week.heard is None:
        return _("No programme of races to come was taken in yet.")
    count = len(week.races)
    told = {"count": count, "monday": day(week.monday)}
    if not week.races:
        return _("The programmes that were heard name no race in the week of %(monday)s.") % told
    text = ngettext(
        "One race is run in the week of %(monday)s.",
        "%(count)s races are run in the week of %(monday)s.",
        count,
    )
    return " ".join([text % told, *_of_ours(week, today)])


def _of_ours(week: Week, today: date) -> list[str]:
    if all(one.may is None for one in week.races):
        return []
    said = [one for listed in week.races for one in listed.engaged]
    open_ = sum(1 for one in week.races if one.may and one.due is not None and one.race.day >= today)
    count = len({one.horse.pk for one in said})
    told = [
        ngettext("One of ours is meant for one or in it.", "%(count)s of ours are meant for them or in them.", count)
        % {"count": count}
    ] if count else []  # fmt: skip
    more = ngettext(
        "%(count)s that one of ours may run in can still be entered.",
        "%(count)s that some of ours may run in can still be entered.",
        open_,
    )
    return [*told, more % {"count": open_}] if open_ else told


def about_race(cases: Sequence[Case], engaged: Sequence[Engaged], *, closed: bool = False, over: bool = False) -> str:
    """Return how many of ours may run in a race, or that it is closed or over, and who is in it."""
    text = _("It is over.") if over else _how_many(cases)
    if closed and not over:
        text = f"{text} {_('Its entries are closed.')}"
    names = [one.horse.name for one in engaged if one.engagement.state != "withdrawn"]
    if not names:
        return text
    return f"{text} {_('Meant for it or in it: %(names)s.') % {'names': ', '.join(names)}}"


def _how_many(cases: Sequence[Case]) -> str:
    may, unknown = (sum(1 for one in cases if one.says is says) for says in (Says.YES, Says.UNKNOWN))
    told = {"may": may, "unknown": unknown}
    if not may and not unknown:
        text = _("None of ours may run in it.")
    elif not unknown:
        text = ngettext("One of ours may run in it.", "%(may)s of ours may run in it.", may) % told
    elif not may:
        text = (
            ngettext(
                "Of one of ours it is not known whether it may run.",
                "Of %(unknown)s of ours it is not known whether they may run.",
                unknown,
            )
            % told
        )
    else:
        text = ngettext(
            "%(may)s of ours may run in it; of one more that is not known.",
            "%(may)s of ours may run in it; of %(unknown)s more that is not known.",
            unknown,
        )
        text %= told
    return text


def about_horses_races(name: str, cases: Sequence[Case], days: int, gone_from: date | None = None) -> str:
    """Return in how many races of the days ahead a horse may run, and which is the next; first, that it goes."""
    if gone_from is not None:
        gone = _("%(name)s is not in the yard from %(day)s on, so no race from then on takes it.")
        return f"{gone % {'name': name, 'day': day(gone_from)}} {about_horses_races(name, cases, days)}"
    may = [one for one in cases if one.says is Says.YES]
    unknown = sum(1 for one in cases if one.says is Says.UNKNOWN)
    told = {"name": name, "count": len(may), "days": days, "unknown": unknown}
    if not may:
        text = _("In the next %(days)s days no race of the programme is plainly open to %(name)s.") % told
    else:
        first = may[0]
        told |= {"race": titled(first.race), "day": day(first.race.day), "weight": carried_words(first.carried)}
        text = ngettext(
            "In the next %(days)s days %(name)s may run in one race: %(race)s on %(day)s, off %(weight)s.",
            "In the next %(days)s days %(name)s may run in %(count)s races, first %(race)s on %(day)s, off %(weight)s.",
            len(may),
        )
        text %= told
    if not unknown:
        return text
    more = ngettext("Of one more it is not known.", "Of %(unknown)s more it is not known.", unknown)
    return f"{text} {more % told}"


def about_deadlines(pressing: Sequence[Engaged], hours: int, zone: str, out: int = 0) -> str:
    """Return what has to be said soonest, and how many cannot run where they are engaged."""
    cannot = ngettext(
        "One horse cannot run where it is engaged.", "%(out)s horses cannot run where they are engaged.", out
    )
    more = [cannot % {"out": out}] if out else []
    if not pressing:
        return " ".join([_("Nothing has to be said of a race as far as it is known here."), *more])
    first, soon = pressing[0], len(pressing)
    told = {
        "name": first.horse.name,
        "race": titled(first.race),
        "when": at_course(first.due, zone) if first.due else "",
        "count": soon,
        "hours": hours,
    }
    text = ngettext(
        "One thing has to be said: of %(name)s for %(race)s, by %(when)s.",
        "%(count)s things have to be said, the first of %(name)s for %(race)s, by %(when)s.",
        soon,
    )
    return " ".join([text % told, *more])


def about_win_costs(name: str, found: WinCosts) -> str:
    """Return what a win would close and open, and that nothing is gained by being beaten."""
    win = found.of(Outcome.WIN)
    closes = sum(1 for one in win.changed if one.closes)
    opens = sum(1 for one in win.changed if one.opens)
    more = sum(1 for one in win.changed if not one.closes and not one.opens and one.more > 0)
    told = {"name": name, "race": titled(found.race)}
    if not win.changed:
        return (
            _("A win in %(race)s would change nothing for %(name)s in the 90 days after it, by programme and rules.")
            % told
        )
    parts = [
        ngettext("closes one race to it", "closes %(count)s races to it", closes) % {"count": closes} if closes else "",
        ngettext("opens one", "opens %(count)s", opens) % {"count": opens} if opens else "",
        ngettext("puts weight on it in one race", "puts weight on it in %(count)s races", more) % {"count": more}
        if more
        else "",
    ]
    told |= {"what": _joined([part for part in parts if part])}
    return _("By programme and rules a win of %(name)s in %(race)s %(what)s, in the 90 days after it.") % told


def _joined(parts: list[str]) -> str:
    if len(parts) < 2:
        return "".join(parts)
    return _("%(first)s and %(last)s") % {"first": ", ".join(parts[:-1]), "last": parts[-1]}
