"""What is due, in words."""

from collections.abc import Mapping
from datetime import date
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.queries.due import Due, DueKind, DueList
from upsides.rules import Step
from upsides.web.medicine.words import STEPS, day, disease, follows, windows

HEADINGS: Final[Mapping[DueKind, Promise]] = {
    DueKind.VACCINATION: gettext_lazy("Vaccinations"),
    DueKind.BOOSTER_BETWEEN: gettext_lazy("Boosters that suit the engagements now"),
    DueKind.STAND_DOWN: gettext_lazy("Stand-downs"),
    DueKind.COURSE_ENDS: gettext_lazy("Courses that end"),
    DueKind.VET: gettext_lazy("Vet again"),
    DueKind.FARRIER: gettext_lazy("Farrier again"),
    DueKind.TEETH: gettext_lazy("Teeth again"),
    DueKind.EGG_COUNT: gettext_lazy("Egg counts"),
    DueKind.WORMING: gettext_lazy("Worming"),
}
"""In the order of the page."""
LONGEST: Final = 90
"""Most characters that are told of what was entered."""


def about_due(found: DueList, today: date, days: int) -> str:
    """Return how much is due."""
    late = sum(one.overdue(today) for one in found)
    told = {"count": len(found) - late, "late": late, "days": days}
    if not found.items:
        return _("Nothing is due in the next %(days)s days, by what was entered.") % told
    ahead = ngettext(
        "%(count)s thing is due in the next %(days)s days",
        "%(count)s things are due in the next %(days)s days",
        len(found) - late,
    )
    behind = ngettext("%(late)s is overdue", "%(late)s are overdue", late)
    return _("%(ahead)s, and %(behind)s.") % {"ahead": ahead % told, "behind": behind % told}


def due_words(one: Due, today: date) -> str:
    """Return what is due, as a sentence; the horse and the day stand beside it."""
    if one.kind in {DueKind.VACCINATION, DueKind.BOOSTER_BETWEEN}:
        return " ".join(part for part in (_dose(one), _best(one)) if part)
    if one.kind is DueKind.STAND_DOWN:
        return _stand_down(one)
    if one.kind in {DueKind.VET, DueKind.FARRIER, DueKind.TEETH}:
        return _again(one)
    told = {"product": one.text, "day": day(one.last or today), "count": f"{one.count or 0:g}"}
    told |= {"counted": day(one.since or today)}
    texts = {
        DueKind.COURSE_ENDS: _("The course of %(product)s ends on %(day)s."),
        DueKind.EGG_COUNT: _("The last egg count, %(count)s a gram, is three months old on %(day)s."),
        DueKind.WORMING: _("%(count)s eggs a gram on %(counted)s, and no wormer entered since. Ask the vet."),
    }
    if one.kind is DueKind.COURSE_ENDS and one.last == today:
        return _("The course of %(product)s ends today.") % told
    return texts[one.kind] % told


def _again(one: Due) -> str:
    texts = {
        DueKind.VET: _("The vet looks again."),
        DueKind.FARRIER: _("Due to be shod or trimmed again."),
        DueKind.TEETH: _("Teeth are due again."),
    }
    said = one.text if len(one.text) <= LONGEST else f"{one.text[:LONGEST].rstrip()}…"
    return _("%(text)s Last time: %(said)s") % {"text": texts[one.kind], "said": said} if said else texts[one.kind]


def _dose(one: Due) -> str:
    record = one.record
    if record is None:
        return ""
    told = {"disease": disease(record.disease), "step": str(STEPS[record.next_step])}
    if record.next_from is None or record.next_until is None:
        told |= {"last": day(record.given[-1].on)}
        return _("Against %(disease)s a course begins again: the last dose, of %(last)s, no longer counts.") % told
    told |= {"from": day(record.next_from), "until": day(record.next_until)}
    if record.next_step is Step.BOOSTER:
        return _("Booster against %(disease)s, by %(until)s at the latest.") % told
    return _("The %(step)s against %(disease)s, from %(from)s to %(until)s.") % told


def _best(one: Due) -> str:
    if not one.engagements:
        return ""
    if not one.best:
        return _("No day for it suits every engagement.") if one.record and one.record.next_until else ""
    return _("Best given on %(days)s: that suits every engagement.") % {"days": windows(one.best)}


def _stand_down(one: Due) -> str:
    if one.reason is None or one.last is None:
        return ""
    told = {"day": day(one.last), "why": follows(one.reason), "place": one.reason.jurisdiction}
    text = _("May not race before %(day)s, after %(why)s (%(place)s).") % told
    races = [_("%(race)s on %(day)s") % {"race": race.race, "day": day(race.day)} for race in one.engagements]
    return _("%(text)s That reaches over %(races)s.") % {"text": text, "races": ", ".join(races)} if races else text
