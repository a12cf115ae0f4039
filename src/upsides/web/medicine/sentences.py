"""What the pages on medicines say: answers, reasons, findings."""

from collections.abc import Sequence
from datetime import date

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.queries.given import Reason
from upsides.books.queries.isolation import Arrival
from upsides.books.queries.medicine_register import After, RegisterLine
from upsides.books.queries.vaccinated import Asked, Protected
from upsides.rules import DoseFault, DoseFaultKind, Step, VaccinationFinding, VaccinationReason
from upsides.web.medicine.words import FIELDS, OCCASIONS, STEPS, called, day, disease, follows, span, windows


def about_register(lines: Sequence[RegisterLine], first: date, last: date) -> str:
    """Return how much the register of a period holds."""
    lacking = sum(bool(line.lacks) for line in lines)
    told = {"count": len(lines), "span": span(first, last), "lacking": lacking}
    if not lines:
        return _("Nothing was given from %(first)s to %(last)s.") % {"first": day(first), "last": day(last)}
    text = ngettext("%(count)s line of %(span)s.", "%(count)s lines of %(span)s.", len(lines)) % told
    if not lacking:
        return text
    more = ngettext(
        "%(lacking)s of them lacks something that a register must hold.",
        "%(lacking)s of them lack something that a register must hold.",
        lacking,
    )
    return f"{text} {more % told}"


def lacks(line: RegisterLine) -> str:
    """Return what a line lacks, e.g. "No batch; prescriber not named."; empty for nothing."""
    words = "; ".join(str(FIELDS[one.field]) for one in line.lacks)
    return _("%(words)s.") % {"words": capfirst(words)} if words else ""


def replaced(line: RegisterLine) -> str:
    """Return what a line corrects, and what took its place; empty for neither."""
    before = [_("Takes the place of %(number)s.") % {"number": line.corrects}] if line.corrects else []
    return " ".join([*before, *(_after(one) for one in line.after)])


def _after(one: After) -> str:
    told = {"number": one.number, "name": called(one.author), "day": day(one.at.date()), "time": f"{one.at:%H:%M}"}
    if one.number is None:
        return _("Withdrawn by %(name)s on %(day)s, %(time)s.") % told
    return _("Replaced by %(number)s, by %(name)s on %(day)s, %(time)s.") % told


def about_horse(name: str, place: str, found: Sequence[Reason], today: date) -> str:
    """Return until when a horse may not race by the rules known of one place, and why."""
    racing = [one for one in found if "race" in one.stand_down.applies_to and one.binds(today)]
    dated = [one for one in racing if one.stand_down.first_day]
    told = {"name": name, "place": place}
    if not dated:
        return _("No stand-down that is known here for %(place)s keeps %(name)s from a race today.") % told
    longest = max(dated, key=lambda one: one.stand_down.first_day or today)
    told |= {"day": day(longest.stand_down.first_day or today), "why": follows(longest)}
    return _("By the rules known here for %(place)s, %(name)s may not race before %(day)s, after %(why)s.") % told


def about_day(one: Asked) -> str:
    """Return whether a record is in order on a day, and if not why."""
    if one.answer is None:
        return _("No rule is known here for that day.")
    if one.answer.in_order:
        return _("In order, as far as these rules know.")
    return _("Not in order: %(why)s.") % {"why": "; ".join(finding(found) for found in one.answer.findings)}


def which_day(one: Asked, today: date) -> str:
    """Return what happens on a day that a record is looked at."""
    if one.engagement is None:
        return _("If it ran today") if one.on == today else _("If it ran on that day")
    told = {"race": one.engagement.race, "course": one.engagement.course, "what": str(OCCASIONS[one.occasion])}
    return _("%(race)s, %(course)s: %(what)s") % told


def finding(found: VaccinationFinding) -> str:
    """Return one reason why a record is not in order."""
    told = {
        "dose": day(found.dose) if found.dose else "",
        "bound": day(found.bound) if found.bound else "",
        "days": found.days,
    }
    texts = {
        VaccinationReason.NO_DOSE: _("no dose is entered"),
        VaccinationReason.SECOND_MISSING: _("only a first dose, on %(dose)s; the second is due by %(bound)s"),
        VaccinationReason.SECOND_OVERDUE: _("the second dose was due by %(bound)s"),
        VaccinationReason.THIRD_OVERDUE: _("the third dose was due by %(bound)s"),
        VaccinationReason.BOOSTER_OVERDUE: _("the last dose, of %(dose)s, ran to %(bound)s"),
        VaccinationReason.LAST_DOSE_TOO_OLD: _("the last dose, of %(dose)s, is recent enough only to %(bound)s"),
        VaccinationReason.DOSE_TOO_RECENT: _("the dose of %(dose)s is too recent; the first day is %(bound)s"),
    }
    return texts[found.reason] % told


def fault(found: DoseFault | None) -> str:
    """Return what is wrong with a dose, or worth knowing of it; empty for nothing."""
    if found is None:
        return ""
    told = {"step": str(STEPS[found.step]), "days": found.days}
    if found.fault is DoseFaultKind.EARLIER_NOT_SEEN:
        return _("The earliest known; the doses before it are not entered.")
    told |= {"span": span(found.earliest, found.latest) if found.earliest and found.latest else ""}
    if found.fault is DoseFaultKind.TOO_SOON:
        return (
            _("%(days)s days after the one before, too soon for a %(step)s: %(span)s. The course begins again.") % told
        )
    return _("%(days)s days after the one before, too late for a %(step)s: %(span)s. The course begins again.") % told


def about_record(one: Protected) -> str:
    """Return until when a record runs, and which dose comes next."""
    record, told = one.record, {"disease": disease(one.disease), "place": one.place}
    if not record.given:
        return _("No dose against %(disease)s is entered.") % told
    told |= {"last": day(record.given[-1].on), "step": str(STEPS[record.next_step])}
    if record.next_from is None or record.next_until is None:
        return _("Against %(disease)s the course begins again: the last dose, of %(last)s, no longer counts.") % told
    told |= {
        "until": day(record.next_until),
        "from": day(record.next_from),
        "span": span(record.next_from, record.next_until),
    }
    if record.runs_until is None:
        return (
            _("Against %(disease)s only a first dose is entered; the %(step)s belongs between %(from)s and %(until)s.")
            % told
        )
    if record.next_step is Step.BOOSTER:
        return _("Against %(disease)s the record runs to %(until)s; the booster must be given by then.") % told
    return _("Against %(disease)s the record runs to %(until)s; the %(step)s belongs between %(from)s and then.") % told


def about_best(one: Protected) -> str:
    """Return on which days the next dose suits the engagements; empty where none is due or nothing is asked."""
    if one.record.next_until is None or not one.races:
        return ""
    if not one.best:
        return _("No day for the next dose suits every engagement.")
    return _("The next dose suits every engagement on %(days)s.") % {"days": windows(one.best)}


def about_contacts(name: str, horses: int, days: int, last: date) -> str:
    """Return with how many horses one was in contact."""
    told = {"name": name, "count": horses, "days": days, "last": day(last)}
    if not horses:
        return _("The books tell of no contact of %(name)s in the %(days)s days to %(last)s.") % told
    text = ngettext(
        "%(name)s was in contact with %(count)s horse in the %(days)s days to %(last)s, by what was entered.",
        "%(name)s was in contact with %(count)s horses in the %(days)s days to %(last)s, by what was entered.",
        horses,
    )
    return text % told


def about_arrivals(found: Sequence[Arrival], days: int) -> str:
    """Return how many horses came lately and how many of them do not stand apart."""
    told = {"count": len(found), "days": days, "mixed": sum(not one.apart for one in found)}
    if not found:
        return _("No horse has come in the last %(days)s days.") % told
    text = ngettext(
        "%(count)s horse has come in the last %(days)s days.",
        "%(count)s horses have come in the last %(days)s days.",
        len(found),
    )
    if not told["mixed"]:
        return f"{text % told} {ngettext('It stands in isolation.', 'All stand in isolation.', len(found))}"
    more = ngettext(
        "%(mixed)s does not stand in an isolation box.", "%(mixed)s do not stand in isolation boxes.", told["mixed"]
    )
    return f"{text % told} {more % told}"
