"""What has to be said of races, in words for letters and the command."""

from collections.abc import Mapping, Sequence
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.models import Engagement
from upsides.books.morning_words import STEPS
from upsides.books.queries.barred import Barred
from upsides.books.queries.deadlines import Step
from upsides.books.queries.engaged import Engaged
from upsides.placing import Deadline, Stage
from upsides.placing.sentences import clause

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
    told = _named(one) | {
        "what": stage_words(one.due.stage),
        "by": _by(one.due, zone),
        "cost": str(one.due.cost) if one.due.cost else "",
    }
    text = _("%(name)s: %(what)s by %(by)s, for %(race)s, %(course)s, %(day)s.") % told
    return f"{text} {_('It costs %(cost)s.') % told}" if told["cost"] else text


def barred_line(one: Engaged, found: Barred, zone: str) -> str:
    """Return that a horse cannot run where it is engaged, why not, and what follows."""
    told = _named(one) | {"state": str(one.engagement.get_state_display())}
    head = _("%(name)s cannot run in %(race)s, %(course)s, %(day)s, by what is known now; it stands as: %(state)s.")
    why = [clause(each, lambda when: date_format(when, "j F Y")) for each in found.against]
    return " ".join([head % told, *(f"{each[:1].upper()}{each[1:]}." for each in why), *follows(one, found, zone)])


def follows(one: Engaged, found: Barred, zone: str) -> list[str]:
    """Return what follows where a horse cannot run: what need not be said, what must be done, when it races again."""
    state, due = one.engagement.state, one.due
    told = {"by": _by(due, zone) if due else "", "spent": get_text_list([str(each) for each in one.spent], _("and"))}
    if found.left_off:
        text = _("The card does not name it: ask the authority whether it went out or its declaration did not arrive.")
        return [text]
    if state == Engagement.State.DECLARED:
        out = _("Take it out by %(by)s.") % told if due else _("Take it out.")
        return [out, *_again(found)]
    if state == Engagement.State.MEANT:
        return [_("It need not be entered.")]
    lines = [_("Nothing has to be said: without a word it is out on %(by)s.") % told] if one.must and due else []
    return [*lines, _("It has cost %(spent)s.") % told] if one.spent else lines


def _again(found: Barred) -> list[str]:
    """Return from when a declared horse that is taken out may race again, as far as rules are known."""
    certified, otherwise = (date_format(day, "l j F") if day else "" for day in (found.certified, found.otherwise))
    if not certified and not otherwise:
        return [_("No rule is known here on what follows for a horse that is declared and does not run.")]
    lines = [_("Certified by a vet it may not race again before %(day)s.") % {"day": certified}] if certified else []
    more = _("Without a vet's certificate it may not race again before %(day)s.") % {"day": otherwise}
    return [*lines, more] if otherwise else lines


def _named(one: Engaged) -> dict[str, str]:
    return {
        "name": one.horse.name,
        "race": one.race.title or str(one.race),
        "course": one.race.course,
        "day": date_format(one.race.day, "j F"),
    }


def _by(due: Deadline, zone: str) -> str:
    """Return a deadline by the course's clock, with the name of that clock's time where a reader's is another."""
    local = due.local
    there = local.utcoffset() != due.at.astimezone(ZoneInfo(zone)).utcoffset()
    return date_format(local, "l j F, H:i") + (f" ({local.tzname()})" if there else "")


def letter(found: Sequence[Engaged], out: Sequence[Engaged], kept: Mapping[int, Barred], zone: str) -> tuple[str, str]:
    """Return subject and text of a letter that reminds of deadlines.

    Args:
        found: what has to be said, soonest first.
        out: horses that cannot run where they are engaged.
        kept: why not, by number of the engagement.
        zone: the yard's own, in which a reader's clock goes.
    """
    said = ngettext(
        "%(count)s thing to be said of a race within two days",
        "%(count)s things to be said of races within two days",
        len(found),
    ) % {"count": len(found)}
    cannot = ngettext(
        "%(count)s horse cannot run where it is engaged", "%(count)s horses cannot run where they are engaged", len(out)
    ) % {"count": len(out)}
    subject = "; ".join([said] * bool(found) + [cannot] * bool(out))
    lines = [barred_line(one, kept[one.engagement.pk], zone) for one in out]
    lines += [due_line(one, zone) for one in found]
    end = _("Times are by the course's clock. What the authority publishes goes before them.")
    return subject, "\n\n".join([*lines, end])
