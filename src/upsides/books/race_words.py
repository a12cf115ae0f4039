"""What has to be said of races, in words for letters and the command."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.morning_words import STEPS
from upsides.books.queries.deadlines import Step
from upsides.books.queries.engaged import Engaged
from upsides.placing import Stage

LATE = "supplement"


def stage_words(stage: Stage) -> str:
    """Return what has to be said, in a word."""
    if stage is Stage.SUPPLEMENT:
        return _("enter late")
    if stage is Stage.WITHDRAW:
        return _("take out")
    return str(STEPS[Step(stage.value)])


def due_line(one: Engaged, zone: str) -> str:
    """Return what has to be said of a horse, until when by the course's clock, and what it costs."""
    if one.due is None:
        return one.horse.name
    local = one.due.local
    there = local.utcoffset() != one.due.at.astimezone(ZoneInfo(zone)).utcoffset()
    told = {
        "name": one.horse.name,
        "what": stage_words(one.due.stage),
        "by": date_format(local, "l j F, H:i") + (f" ({local.tzname()})" if there else ""),
        "race": one.race.title or str(one.race),
        "course": one.race.course,
        "day": date_format(one.race.day, "j F"),
        "cost": str(one.due.cost) if one.due.cost else "",
    }
    text = _("%(name)s: %(what)s by %(by)s, for %(race)s, %(course)s, %(day)s.") % told
    return f"{text} {_('It costs %(cost)s.') % told}" if told["cost"] else text


def letter(found: Sequence[Engaged], zone: str) -> tuple[str, str]:
    """Return subject and text of a letter that reminds of deadlines.

    Args:
        found: what has to be said, soonest first.
        zone: the yard's own, in which a reader's clock goes.
    """
    count = len(found)
    subject = ngettext(
        "%(count)s thing to be said of a race within two days",
        "%(count)s things to be said of races within two days",
        count,
    )
    lines = [due_line(one, zone) for one in found]
    end = _("Times are by the course's clock. What the authority publishes goes before them.")
    return subject % {"count": count}, "\n\n".join([*lines, end])
