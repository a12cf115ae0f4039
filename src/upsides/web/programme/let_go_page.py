"""Races that were let go, ready for the template."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.models import Inside, LetGo
from upsides.books.queries.let_go import Told, let_go, reasons_of, week_to_show
from upsides.books.queries.moments import Moment
from upsides.books.queries.programme import programme
from upsides.books.queries.staff import monday_of
from upsides.books.queries.visitors import Visitor, opened
from upsides.books.services.sights import saw
from upsides.placing import Money
from upsides.web.programme.asking import monday_asked, weeks_around
from upsides.web.programme.words import day, money, sums, weight
from upsides.web.shell.moments import asked_day
from upsides.web.shell.templatetags.words import metres

AT_ONCE: Final = 3
"""Horses of a race that are listed before the others are folded."""


def let_go_page(folder: Path, who: Visitor, moment: Moment, query: Mapping[str, str], path: str) -> dict[str, Any]:
    """Return the races let go of a week, and the season's reasons; that chances were shown is written down.

    Raises:
        UnreadableError: what is asked for is no day.
    """
    monday = monday_asked(query, moment)
    if not query.get("week"):
        monday = monday_of(week_to_show(moment, monday))
    sunday = monday + timedelta(days=6)
    open_to = opened(who, Inside.PLANS)
    chances = bool(opened(who, Inside.CHANCES))
    found = [one for one in let_go(moment, monday, sunday) if one.horse.pk in open_to]
    saw(who, Inside.PLANS, path)
    if chances and any(one.row.known.get("chance") for one in found):
        saw(who, Inside.CHANCES, path)
    before, after = weeks_around(monday)
    season = asked_day(query.get("since", ""), moment, date(monday.year, 1, 1))
    reasons = reasons_of(moment, season, sunday)
    return {
        "moment": moment,
        "plans": True,
        "chances": chances,
        "monday": monday,
        "before": before,
        "after": after,
        "sentence": _about(found, monday),
        "races": _by_race(found, programme(folder, moment).races, chances=chances),
        "reasons": [(_reason(reason), count, _forgone(lost)) for reason, count, lost in reasons],
        "currencies": len({currency for _why, _count, lost in reasons for currency in lost}),
        "season": season,
        "season_asked": bool(query.get("since")),
        "choices": LetGo.Reason.choices,
    }  # fmt: skip


def _about(found: list[Told], monday: date) -> str:
    races = {one.row.race_code for one in found}
    said = sum(1 for one in found if one.why)
    told = {"races": len(races), "monday": day(monday), "count": len(found), "said": said}
    if not found:
        return _("Nothing is written down of races let go whose entries closed in the week of %(monday)s.") % told
    text = ngettext(
        "Of races whose entries closed in the week of %(monday)s one was let go that ours could have run in.",
        "Of races whose entries closed in the week of %(monday)s %(races)s were let go that ours could have run in.",
        len(races),
    )
    if said == len(found):
        return f"{text % told} {_('Of each it is written why.')}"
    more = ngettext(
        "Of one horse it is not written why.", "Of %(open)s horses it is not written why.", len(found) - said
    )
    return f"{text % told} {more % {'open': len(found) - said}}"


def _by_race(
    found: list[Told], heard: Collection[str], *, chances: bool
) -> list[tuple[dict[str, Any], tuple[list[dict[str, Any]], ...]]]:
    """Return the races, each with its horses, best chances first where they are open: some, then the rest."""
    parts: dict[str, list[Told]] = defaultdict(list)
    for one in found:
        parts[one.row.race_code].append(one)
    told: list[tuple[dict[str, Any], tuple[list[dict[str, Any]], ...]]] = []
    for rows in parts.values():
        lines = [_row(one, chances=chances) for one in (sorted(rows, key=_chance, reverse=True) if chances else rows)]
        told.append((_race(rows[0]) | {"heard": rows[0].row.race_code in heard}, (lines[:AT_ONCE], lines[AT_ONCE:])))
    return told


def _chance(one: Told) -> float:
    return float((one.row.known.get("chance") or {}).get("win") or 0.0)


def _race(one: Told) -> dict[str, Any]:
    known = one.row.known
    win = Money(known["prize"], known["currency"]) if known.get("prize") and known.get("currency") else None
    far = metres(known["distance_m"]) if known.get("distance_m") else ""
    return {"code": one.row.race_code, "title": one.row.race, "course": one.row.course, "day": day(one.row.day),
            "closed": day(one.closed), "far": far, "win": money(win)}  # fmt: skip


def _row(one: Told, *, chances: bool) -> dict[str, Any]:
    known = one.row.known
    carried, chance = known.get("weight"), known.get("chance") or {}
    return {
        "number": one.row.pk,
        "horse": one.horse,
        "weight": weight(carried, known.get("unit") or "lb") if carried else "–",
        "chance": f"{100 * chance['win']:.0f}\u00a0%" if chances and chance.get("win") is not None else "",
        "elsewhere": _elsewhere(known.get("elsewhere") or ""),
        "reason": one.why.get_reason_display() if one.why else "",
        "chosen": one.why.reason if one.why else "",
        "note": one.why.note if one.why else "",
    }


def _elsewhere(kept: str) -> str:
    """Return the race that a horse was meant for, kept as its title and its day, with the day as pages write it."""
    title, parted, last = kept.rpartition(", ")
    try:
        return f"{title}, {day(date.fromisoformat(last))}" if parted else kept
    except ValueError:
        return kept


def _reason(reason: str) -> str:
    return str(LetGo.Reason(reason).label) if reason else _("not said")


def _forgone(lost: Mapping[str, float]) -> str:
    return sums([Money(round(amount), currency) for currency, amount in lost.items()]) if lost else ""
