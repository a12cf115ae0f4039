"""The pages of plans, ready for their templates."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, Final

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.diary.work import FAST, Ordered
from upsides.books.morning_words import work_words
from upsides.books.queries.plan_values import HorsePlan, Planned, PlannedDay, PlannedWeek, StringPlan
from upsides.planning.work.changed import days_told
from upsides.planning.work.said import TOLD_FROM_M, Said
from upsides.recordings.bouts.bins import STEP_MS
from upsides.web.planning.moves import gone_words, moved_lines, moves_of
from upsides.web.planning.order_words import parts_words
from upsides.web.planning.others_page import better_of, others_of
from upsides.web.planning.proof_words import own_words, proof_words
from upsides.web.planning.tight_words import beyond_words, tight_words
from upsides.web.planning.words import day_words, said_words, text_words, together
from upsides.web.recordings import measures as m
from upsides.web.recordings.weeks import PARTS
from upsides.web.shell.templatetags.words import short_day

KINDS: Final[Mapping[str, str | Promise]] = {
    "sprinter": gettext_lazy("sprinter"),
    "miler": gettext_lazy("miler"),
    "middle_distance": gettext_lazy("middle distance"),
    "stayer": gettext_lazy("stayer"),
    "unraced_two_year_old": gettext_lazy("unraced two-year-old"),
    "returning": gettext_lazy("returning from a lay-up"),
}
"""The kinds of the routine that is shipped; a yard's own are called as its file has them."""
NATURES: Final[Mapping[str, str | Promise]] = {"keen": gettext_lazy("keen"), "idle": gettext_lazy("idle")}
"""Natures that are laid over a kind, likewise."""


def horse_page(found: HorsePlan, ahead_of: date | None = None) -> dict[str, Any]:
    """Return what the template of one horse needs; `sentence` is empty where nothing is shown.

    Days after `ahead_of` can be moved; none where it is None.
    """
    page: dict[str, Any] = {"found": found, "planned": found.planned, "sentence": ""}
    if not found.open:
        return page
    page |= {"sentence": about_horse(found), "proof": [*own_words(found.planned), *proof_words(found.proof)]}
    if found.planned is None:
        return page
    one, moved = found.planned, moved_lines(found)
    page |= {"clash": one.rules.told(sentence), "moved": list(moved.values())}
    if one.rules:
        return page
    to = {} if ahead_of is None else moves_of(found, ahead_of)
    return page | {
        "kind": kind_words(one.kind),
        "days": [
            (
                day,
                text_words(day.title),
                text_words(day.routine),
                ordered_words(found.otherwise.get(day.day)) or gone_words(found, day.day),
                to.get(day.day, ()),
                moved.get(day.day),
            )
            for day in one.days
        ],
        "moves": bool(to),
        "says": sentences(one.says),
        "changes": sentences(one.changes),
        "changed": said_words(days_told(one.changes)),
        "later": sentences(one.later),
        "stages": sentences(one.stages),
        "races": [(day, m.about_furlongs(metres)) for day, metres in one.races],
        "parts": [str(label) for _low, label in PARTS],
        "weeks": [_week(week) for week in one.weeks],
        "older": older_words(found),
        "others": others_of(one),
        "better": better_of(one),
        "orders": [(text_words(order.title), parts_words(order)) for order in one.orders],
    }


def string_page(found: StringPlan | None) -> dict[str, Any]:
    """Return what the template of the string's week needs."""
    if found is None:
        return {"found": None}
    clashes = [(one, one.rules.told(sentence)) for one in found.horses if one.rules]
    rows = [(one, in_short(one), [(day, short_words(day)) for day in one.days]) for one in found.horses]
    return {
        "found": found,
        "sentence": about_string(found),
        "rows": [row for row in rows if not row[0].rules],
        "without": [(one.horse, rules.sets, rules.behind) for one, rules in clashes],
        "fast": [(day, _fast_on(found.horses, place)) for place, day in enumerate(found.days)],
        "proof": proof_words(found.proof),
        "changed": string_changed(found),
        "tight": tight_words(found.tight),
        "beyond": beyond_words(found.beyond),
    }


def ordered_words(order: Ordered | None) -> str:
    """Return what is ordered other than planned; empty for nothing."""
    return _("ordered since: %(work)s") % {"work": work_words(order)} if order is not None else ""


def older_words(found: HorsePlan) -> str:
    """Return what is not in the plan yet beside whose days it stands; empty for nothing."""
    if found.planned is not None and found.planned.before_moves:
        return _(
            "A day was moved by hand since: all below the days is still of the plan before that, until the string's "
            "work is planned anew."
        )
    if found.otherwise:
        return _("What was ordered since is not counted below the days, until the string's work is planned anew.")
    return ""


def kind_words(kind: str) -> str:
    """Return what a kind is called, with natures laid over it."""
    known = {**KINDS, **NATURES}
    return ", ".join(str(known.get(part, part.replace("_", " "))) for part in kind.split(", "))


def sentences(said: Sequence[Said]) -> list[tuple[str, bool]]:
    """Return sentences in words, each with whether it stands in English, as an earlier version kept it."""
    return [sentence(one) for one in said]


def sentence(said: Said) -> tuple[str, bool]:
    """Return a sentence in words, and whether it stands in English, as an earlier version kept it."""
    return said_words(said), said.as_written


def about_horse(found: HorsePlan) -> str:
    """Return what the horse does in the days to come, in one sentence."""
    told = {"name": found.horse.name}
    if found.made is None:
        return _("No work has been planned yet; it is planned every night.")
    if found.planned is None:
        return _("%(name)s is not in the last plan: it was not in training when it was made.") % told
    if found.planned.rules:
        return _("%(name)s has no plan: not all that is asked of it can be kept.") % told
    days = found.planned.days
    if not days:
        return _("The last plan has run out; press to have it worked out again.")
    off, race = sum(bool(day.routine) for day in days), next((day for day in days if day.exercise == "race"), None)
    parts = [_fast_words(days)]
    if race is not None:
        parts.append(_("it runs on %(day)s") % {"day": day_words(race.day)})
    text = ngettext("other than the routine on %(off)s day of %(days)s",
                    "other than the routine on %(off)s days of %(days)s", off)  # fmt: skip
    parts.append(text % {"off": off, "days": len(days)} if off else _("all as the routine has it"))
    if outside := sum(week.outside for week in found.planned.weeks):
        text = ngettext("%(weeks)s week is outside the routine", "%(weeks)s weeks are outside the routine", outside)
        parts.append(text % {"weeks": outside})
    if since := len(found.otherwise):
        text = ngettext("%(days)s day is ordered otherwise since", "%(days)s days are ordered otherwise since", since)
        parts.append(text % {"days": since})
    return "; ".join(parts) + "."


def in_short(one: Planned) -> str:
    """Return a horse's days to come in few words: fast work Tue 3; runs Sat 14; 1 day is not the routine's."""
    fast = [date_format(day.day, "D j") for day in one.days if day.exercise in FAST and day.exercise != "race"]
    parts = [_("fast work %(days)s") % {"days": together(fast)} if fast else _("no fast work")]
    parts += [_("runs %(day)s") % {"day": date_format(day.day, "D j")} for day in one.days if day.exercise == "race"]
    if off := sum(bool(day.routine) for day in one.days):
        text = ngettext("%(off)s day is not the routine's", "%(off)s days are not the routine's", off)
        parts.append(text % {"off": off})
    return "; ".join(parts)


def _fast_words(days: Sequence[PlannedDay]) -> str:
    fast = [day_words(day.day) for day in days if day.exercise in FAST and day.exercise != "race"]
    if not fast:
        return _("No fast work in these days")
    return _("Fast work on %(days)s") % {"days": together(fast)}


def about_string(found: StringPlan) -> str:
    """Return how many horses have a plan and work fast on its first day, in one sentence."""
    if found.made is None:
        return _("No work has been planned yet; it is planned every night.")
    with_plan = [one for one in found.horses if one.days]
    if not with_plan:
        return _("No horse has a plan for the days to come.")
    fast = _fast_on(with_plan, 0)
    told = {"day": date_format(found.days[0], "l j F"), "fast": fast, "all": len(with_plan),
            "off": sum(any(day.routine for day in one.days) for one in with_plan)}  # fmt: skip
    text = ngettext(
        "%(fast)s of %(all)s horses works fast on %(day)s; other than the routine in these days: %(off)s.",
        "%(fast)s of %(all)s horses work fast on %(day)s; other than the routine in these days: %(off)s.",
        fast,
    )
    return text % told


def fast_workers(found: StringPlan | None) -> frozenset[int]:
    """Return the horses that work fast, or run, on one of the days to come."""
    horses = found.horses if found is not None else ()
    return frozenset(one.horse.pk for one in horses if any(day.exercise in FAST for day in one.days))


def _fast_on(horses: Sequence[Planned], place: int) -> int:
    """Return how many work fast on a day, races aside."""
    days = [one.days[place] for one in horses if place < len(one.days)]
    return sum(day.exercise in FAST and day.exercise != "race" for day in days)


def short_words(day: PlannedDay) -> str:
    """Return an order in few words, for a column: fast work, 3f, with whom."""
    what = work_words(Ordered(day.exercise, furlongs=day.furlongs))
    if day.beside:
        return _("%(what)s with %(names)s") % {"what": what, "names": together(list(day.beside))}
    return what


def string_changed(found: StringPlan) -> str:
    """Return on how many days the plans of the string are other than those before, where that was kept."""
    days, horses = found.changes
    if not days:
        return _("No day is other than in the plan before.") if found.proof.kept_to else ""
    of = ngettext("%(horses)s horse", "%(horses)s horses", horses) % {"horses": horses}
    text = ngettext("%(days)s day is other than in the plan before, of %(of)s.",
                    "%(days)s days are other than in the plan before, of %(of)s.", days)  # fmt: skip
    return text % {"days": days, "of": of}


def _week(week: PlannedWeek) -> dict[str, Any]:
    """Return a week's distances: fast work, canter, and metres in bands of speed."""
    bands = [0.0] * len(PARTS)
    for step, metres in enumerate(week.metres):
        bands[max(place for place, (low, _label) in enumerate(PARTS) if step * STEP_MS >= low)] += metres
    return {
        "first": short_day(week.first),
        "fast": _furlongs(week.fast_f),
        "fast_span": _span(week.fast_span),
        "canter": _furlongs(week.canter_f),
        "canter_span": _span(week.canter_span),
        "bands": [(str(label), _far(metres)) for (_low, label), metres in zip(PARTS, bands, strict=True)],
    }


def _far(metres: float) -> str:
    return m.far(metres) if metres >= TOLD_FROM_M else "–"


def _span(span: tuple[float, float] | None) -> str:
    """Return from how many furlongs to how many the routine has; empty where that was not kept."""
    if span is None:
        return ""
    low, high = (m.decimal(end) for end in span)
    if low == high:
        return _("routine: %(furlongs)s\u00a0f") % {"furlongs": high}
    return _("routine: %(low)s to %(high)s\u00a0f") % {"low": low, "high": high}


def _furlongs(furlongs: float) -> str:
    return _("%(furlongs)s\u00a0f") % {"furlongs": m.decimal(furlongs)} if furlongs else "–"
