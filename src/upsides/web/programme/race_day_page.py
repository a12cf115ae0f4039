"""A day of racing in words, for the page and for the sheet."""

from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.models import Inside
from upsides.books.queries.at_the_wheel import Drove
from upsides.books.queries.moments import Moment
from upsides.books.queries.race_day import Runner, hands, next_race_day, race_day, wheel_of
from upsides.books.queries.stalls_path import reminders
from upsides.books.queries.visitors import Visitor, opened
from upsides.books.services.meanwhile import last_change
from upsides.books.services.sights import saw
from upsides.planning.work.stalls import Reminder, reminded
from upsides.rules.rule import Rule
from upsides.web.planning.words import said_words
from upsides.web.programme.cases_words import reasons
from upsides.web.programme.doses_words import doses_words
from upsides.web.programme.jockey_words import against
from upsides.web.programme.pace_words import pace_words
from upsides.web.programme.words import kind, long_day, titled, trip, weight
from upsides.web.shell.moments import asked_day
from upsides.web.staff.sentences import over_in_words, source_in_words


def race_day_page(folder: Path, who: Visitor, moment: Moment, query: Mapping[str, str], path: str) -> dict[str, Any]:
    """Return a day of racing, the next one for which a horse is declared where none is asked for.

    Raises:
        UnreadableError: what is asked for is no day.
    """
    day = asked_day(query.get("day", ""), moment, next_race_day(moment))
    open_to = opened(who, Inside.PLANS)
    found = [one for one in race_day(folder, moment, day) if one.one.horse.pk in open_to]
    saw(who, Inside.PLANS, path)
    stalls = reminders(folder, moment, [one.one for one in found], who)
    return {
        "moment": moment,
        "plans": True,
        "day": day,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
        "sentence": about_day(found, day),
        "runners": [shown(one) | {"stalls": _at_stalls(stalls.get(one.one.engagement.pk))} for one in found],
        "wheel": [wheel_words(one) for one in wheel_of(folder, moment, day)],
        "people": hands(moment),
    }


def about_day(found: list[Runner], day: date) -> str:
    """Return who runs on a day, where, and when the first leaves."""
    told = {"count": len(found), "day": long_day(day)}
    if not found:
        return _("No horse is declared for %(day)s.") % told
    courses = list(dict.fromkeys(one.one.race.course for one in found))
    told |= {"courses": ", ".join(courses)}
    text = ngettext(
        "One horse runs on %(day)s, at %(courses)s.", "%(count)s horses run on %(day)s, at %(courses)s.", len(found)
    )
    leaves = [one.leaves for one in found if one.leaves]
    if not leaves:
        return text % told
    return f"{text % told} {_('The first leaves at %(at)s.') % {'at': f'{min(leaves):%H:%M}'}}"


def shown(one: Runner) -> dict[str, Any]:
    """Return one runner as page and sheet show it."""
    race, row, horse = one.one.race, one.one.engagement, one.one.horse
    return {
        "row": row,
        "seen": last_change(row),
        "horse": horse,
        "code": row.race_code if one.one.known else "",
        "off": f"{one.off:%H:%M}" if one.off else "–",
        "race": titled(race),
        "about": ", ".join(part for part in (race.course, trip(race), kind(race)) if part),
        "going": race.going,
        "jockey": one.jockey,
        "claim": weight(float(one.claim_lb), "lb") if one.claim_lb else "",
        "weight": weight(one.carries_lb, "lb") if one.carries_lb else "–",
        "after_claim": weight(one.after_claim_lb, "lb") if one.claim_lb and one.after_claim_lb else "",
        "hindrances": [against(each, one.jockey) for each in one.hindrances],
        "leads_up": one.leads_up,
        "driver": one.driver,
        "leaves": f"{one.leaves:%H:%M}" if one.leaves else "",
        "back": f"{one.back:%H:%M}" if one.back else "",
        "leaves_at": f"{one.leaves:%Y-%m-%dT%H:%M}" if one.leaves else "",
        "back_at": f"{one.back:%Y-%m-%dT%H:%M}" if one.back else "",
        "away": _hours(one.away),
        "road": road_words(one),
        "pace": pace_words(one.early, card=bool(one.card)),
        "card": "\n".join(str(each) for each in one.card),
        "over": [f"{one.driver}: {over_in_words(over)}" for over in one.road.over] if one.driver else [],
        "passport": horse.passport,
        "doses": doses_words(one.doses, race.day),
        "against": [words for words, _by in reasons(one.against)],
        "notes": [words for words, _by in reasons(one.notes)],
        "declare": [str(fact.get_what_display()) for fact in one.one.to_declare],
    }


def _at_stalls(said: Reminder | None) -> list[str]:
    """Return what to mind at the stalls."""
    return [said_words(reminded(said))] if said else []


def road_words(one: Runner) -> list[tuple[str, str]]:
    """Return what is to be known of a driver's day, each with what it rests on."""
    found, told = one.road, {"driver": one.driver, "away": _hours(one.away)}
    if not one.driver or one.away is None:
        return []
    words = [(f"{one.driver}: {over_in_words(over)}", source_in_words(over)) for over in found.over]
    if found.elsewhere:
        told |= {"course": found.elsewhere}
        words.append((_("%(driver)s is written down for %(course)s at the same time.") % told, ""))
    return [*words, *_wheel(one, told)]


def _wheel(one: Runner, told: dict[str, str]) -> list[tuple[str, str]]:
    """Return what holds at the wheel where the driver is away for so long."""
    wheel = one.road.wheel
    if wheel is None:
        return [(_("No rule on hours at the wheel is known here for the yard's country. Ask the authority."), "")]
    if wheel.after_hours is None or one.away is None or one.away < timedelta(hours=wheel.after_hours):
        return []
    told |= {"hours": f"{wheel.hours:g}" if wheel.hours else "–", "minutes": f"{wheel.break_minutes:g}",
             "after": f"{wheel.after_hours:g}"}  # fmt: skip
    text = _("%(driver)s is away for %(away)s; how much of it at the wheel stands below once it is written. "
             "At most %(hours)s hours a day are, with a break of %(minutes)s minutes after %(after)s.")  # fmt: skip
    return [(text % told, " ".join(_by(rule) for rule in wheel.rules))]


def wheel_words(one: Drove) -> dict[str, Any]:
    """Return one driver's day at the wheel: its stretches, all together, and what it goes over."""
    stretches = [
        ", ".join(part for part in (f"{each.when.start:%H:%M}–{each.when.end:%H:%M}", each.lorry, each.to) if part)
        for each in one.stretches
    ]
    return {"name": one.name or _("somebody"), "stretches": stretches, "told": _held(one), "by": _rules_of(one)}


def _held(one: Drove) -> list[str]:
    if one.held is None or one.rule is None:
        return [_("No rule on hours at the wheel is known here for the yard's country. Ask the authority.")]
    told = {"total": _hours(one.held.total), "longest": _hours(one.held.longest), "hours": f"{one.rule.hours or 0:g}",
            "minutes": f"{one.rule.break_minutes or 0:g}", "after": f"{one.rule.after_hours or 0:g}"}  # fmt: skip
    words = [_("%(total)s at the wheel in all, %(longest)s between breaks.") % told]
    if one.held.over_day:
        words.append(_("That is more than the %(hours)s hours that a day may have.") % told)
    if one.held.over_break:
        words.append(_("A break of %(minutes)s minutes was due after %(after)s hours.") % told)
    return words


def _rules_of(one: Drove) -> str:
    return " ".join(_by(rule) for rule in one.rule.rules) if one.rule else ""


def _by(rule: Rule) -> str:
    return f"{rule.name}. {rule.source.removesuffix('.')}. {rule.note}".strip()


def _hours(span: timedelta | None) -> str:
    if span is None:
        return ""
    hours, minutes = divmod(int(span.total_seconds()) // 60, 60)
    return _("%(hours)s h %(minutes)s min") % {"hours": hours, "minutes": f"{minutes:02d}"}
