"""The other plans of a horse, ready for its template: how each differs from the best and from the routine."""

from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.diary.work import FAST
from upsides.books.queries.plan_values import OtherPlan, Planned
from upsides.planning.work.changed import better_said
from upsides.web.planning.proof_words import steps
from upsides.web.planning.words import day_words, said_words, text_words, together


def others_of(planned: Planned) -> list[dict[str, Any]]:
    """Return the other plans of a horse, best first; none where there are none to choose from."""
    return [_other(planned, one) for one in planned.others]


def _other(planned: Planned, one: OtherPlan) -> dict[str, Any]:
    return {
        "place": one.place,
        "title": fast_title(one),
        "more": more_words(one.more),
        "in_all": in_all_words(one.more, planned.departs),
        "stopped": not one.proven,
        "days": [(day, text_words(day.title), text_words(best), text_words(day.routine)) for day, best in one.off],
        "says": [(said_words(said), said.as_written) for said in one.says],
        "later": [(said_words(said), said.as_written) for said in one.later],
        "leaves": [
            _("%(name)s would then have nobody to go with on %(day)s.") % {"name": name, "day": day_words(day)}
            for day, name in one.leaves
        ],
    }


def better_of(planned: Planned) -> dict[str, Any] | None:
    """Return the other plan that departs least, where it departs less and changes more days; None where none does."""
    less = [one for one in planned.others if one.more <= -0.05 and one.changes > 0]
    if not less:
        return None
    one = min(less, key=lambda each: (each.more, each.changes))
    days = [(day.day, day.title) for day, _best in one.off]
    return {"place": one.place, "words": said_words(better_said(one.changes, -one.more, days))}


def fast_title(one: OtherPlan) -> str:
    """Return when a plan has fast work, in few words."""
    fast = [day_words(day.day) for day in one.days if day.exercise in FAST and day.exercise != "race"]
    return _("Fast work on %(days)s") % {"days": together(fast)} if fast else _("No fast work in these days")


def more_words(more: float) -> str:
    """Return by how much a plan departs more from the routine than the best."""
    if more <= -0.05:
        text = ngettext(
            "It departs from the routine by %(steps)s step less than the plan above, which changes fewer days.",
            "It departs from the routine by %(steps)s steps less than the plan above, which changes fewer days.",
            1 if more == -1 else 2,
        )
        return text % {"steps": number_format(-more, 0 if more == int(more) else 1)}
    if more < 0.05:
        return _("It departs from the routine as much as the plan above.")
    text = ngettext(
        "It departs from the routine by %(steps)s step more than the plan above.",
        "It departs from the routine by %(steps)s steps more than the plan above.",
        1 if more == 1 else 2,
    )
    return text % {"steps": number_format(more, 0 if more == int(more) else 1)}


def in_all_words(more: float, departs: float | None) -> str:
    """Return by how much another plan departs in all, beside the best; empty where that was not kept."""
    if departs is None:
        return ""
    return _("That is %(steps)s in all, where the plan above has %(best)s.") % {
        "steps": steps(departs + more), "best": steps(departs),
    }  # fmt: skip


def chosen_words(days: int) -> str:
    """Return what was done when a plan was chosen."""
    if not days:
        return _("It was ordered so already.")
    text = ngettext(
        "%(days)s day is ordered. The string's work is being planned round it.",
        "%(days)s days are ordered. The string's work is being planned round them.",
        days,
    )
    return text % {"days": days}
