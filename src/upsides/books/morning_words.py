"""The morning, the lots and tomorrow's list in words."""

from collections import Counter
from collections.abc import Collection, Mapping
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.diary.fields import NAMELESS, Names
from upsides.books.diary.vet import ADVICE
from upsides.books.diary.work import EXERCISES, Ordered
from upsides.books.queries.advice import Advised
from upsides.books.queries.deadlines import Deadline, Runner, Step
from upsides.books.queries.due import Due, DueKind
from upsides.books.queries.lots import Against, Lot, Ride
from upsides.books.queries.morning import Morning
from upsides.trade.distance import Distance

AGAINST: Mapping[Against, object] = {
    Against.ADVICE: gettext_lazy("the vet's advice does not allow it"),
    Against.RIDER_AWAY: gettext_lazy("the rider is off"),
    Against.RIDER_TWICE: gettext_lazy("the rider has two horses in this lot"),
    Against.NO_RIDER: gettext_lazy("no rider"),
    Against.SKILL: gettext_lazy("its cautions ask for more of a rider"),
    Against.WEIGHT: gettext_lazy("the rider is heavier than it carries"),
    Against.NOT_BY: gettext_lazy("its cautions say that the rider does not ride it"),
    Against.GALLOP_CLOSED: gettext_lazy("the gallop is closed"),
    Against.RAN_YESTERDAY: gettext_lazy("it ran yesterday"),
    Against.FAST_TWICE: gettext_lazy("it worked fast yesterday"),
    Against.PARTNER: gettext_lazy("a horse that it works with goes elsewhere, or is not ridden"),
}
STEPS: Mapping[Step, object] = {
    Step.ENTER: gettext_lazy("enter"),
    Step.CONFIRM: gettext_lazy("confirm"),
    Step.DECLARE: gettext_lazy("declare"),
}


DUE: Mapping[DueKind, object] = {
    DueKind.VACCINATION: gettext_lazy("vaccination"),
    DueKind.BOOSTER_BETWEEN: gettext_lazy("booster, best between races"),
    DueKind.COURSE_ENDS: gettext_lazy("course ends"),
    DueKind.VET: gettext_lazy("vet looks again"),
    DueKind.FARRIER: gettext_lazy("farrier"),
    DueKind.TEETH: gettext_lazy("teeth"),
    DueKind.EGG_COUNT: gettext_lazy("egg count"),
    DueKind.WORMING: gettext_lazy("worming"),
    DueKind.STAND_DOWN: gettext_lazy("first day after a stand-down"),
}


def about_morning(shown: Morning) -> str:
    """Return how many go out, in how many lots, and how many need eyes on first."""
    ridden = [lot for lot in shown.lots if lot.number is not None]
    if not shown.lots:
        out = _("Nothing has been ordered for this morning.")
    else:
        text = ngettext(
            "%(out)s of %(string)s horses goes out this morning, in %(lots)s.",
            "%(out)s of %(string)s horses go out this morning, in %(lots)s.",
            shown.out,
        )
        out = text % {"out": shown.out, "string": shown.string, "lots": number_of_lots(len(ridden))}
    return _("%(out)s %(eyes)s") % {"out": out, "eyes": about_eyes(shown.eyes_on)}


def number_of_lots(count: int) -> str:
    """Return how many lots."""
    return ngettext("%(count)s lot", "%(count)s lots", count) % {"count": count}


def about_eyes(count: int) -> str:
    """Return how many horses need eyes on before they go out."""
    if not count:
        return _("Nothing that was entered asks for eyes on a horse first.")
    return ngettext("%(count)s horse needs eyes on first.", "%(count)s horses need eyes on first.", count) % {
        "count": count
    }


def lot_title(lot: Lot) -> str:
    """Return what a lot is called, with how many go out in it."""
    if lot.number is None:
        return _("In no lot")
    return _("Lot %(number)s: %(count)s") % {"number": lot.number, "count": len(lot.rides)}


def lot_summary(lot: Lot) -> str:
    """Return what the horses of a lot do, the commonest first: 9 hack canter, 3 fast work."""
    counts = Counter(str(EXERCISES.get(ride.order.exercise, ride.order.exercise)) for ride in lot.rides)
    parts = [_("%(count)s %(work)s") % {"count": count, "work": work} for work, count in counts.most_common()]
    return ", ".join(parts)


def work_words(order: Ordered) -> str:
    """Return an order in few words: the exercise and how far."""
    exercise = str(EXERCISES.get(order.exercise, order.exercise))
    if order.furlongs is None:
        return exercise
    return _("%(exercise)s, %(distance)s") % {"exercise": exercise, "distance": furlongs(order.furlongs)}


def planned_words(planned: Ordered | None, order: Ordered | None) -> str:
    """Return how an order stands to the plan: as planned, or what was planned; empty where nothing was.

    Args:
        planned: what the plan has.
        order: what is ordered; None for nothing yet.
    """
    if planned is None:
        return ""
    if order and order.exercise == planned.exercise and planned.furlongs in {None, order.furlongs}:
        return _("as planned")
    return _("planned: %(work)s") % {"work": work_words(planned)}


def furlongs(distance: float) -> str:
    """Return a distance of work as the trade writes it."""
    return str(Distance.from_furlongs(round(distance * 2) / 2)) if distance >= 0.5 else f"{distance:g}f"


def against_words(ride: Ride) -> str:
    """Return what stands in the way of an order, empty for nothing."""
    return "; ".join(str(AGAINST[one]) for one in ride.against)


def company_words(ride: Ride) -> str:
    """Return with which horses a horse works, of each whether it is ordered other work; empty for none."""
    other = _("%(name)s (does other work)")
    return ", ".join(other % {"name": name} if name in ride.otherwise else name for name in ride.company)


def advice_words(advised: Advised | None) -> str:
    """Return the vet's advice, and until when; empty for none."""
    if advised is None:
        return ""
    told = {"advice": ADVICE[advised.finding.advice or "as_usual"]}
    if advised.until is None:
        return _("%(advice)s, until the vet says otherwise") % told
    return _("%(advice)s until %(day)s") % (told | {"day": date_format(advised.until, "j F")})


def deadline_words(one: Deadline, cannot_run: Collection[int] = ()) -> str:
    """Return what has to be said of which race, and until when by the course's time; that it cannot run, where so."""
    told = {"step": STEPS[one.step], "race": one.engagement.race, "course": one.engagement.course}
    told |= {"day": date_format(one.engagement.day, "j F"), "by": date_format(one.by, "j F, H:i")}
    if one.engagement.pk in cannot_run:
        return _("cannot run by what is known now, so nothing has to be said: %(race)s, %(course)s, %(day)s") % told
    return _("%(step)s by %(by)s: %(race)s, %(course)s, %(day)s") % told


def about_list(day: date, ordered: int, string: int) -> str:
    """Return how far the list of a day is made."""
    told = {"day": date_format(day, "l j F"), "ordered": ordered, "string": string}
    if not ordered:
        return _("Nothing is ordered for %(day)s yet.") % told
    if ordered < string:
        return _("%(ordered)s of %(string)s horses have an order for %(day)s.") % told
    return _("Every horse has an order for %(day)s.") % told


def changed(order: Ordered, before: Ordered | None, names: Names = NAMELESS) -> str:
    """Return what of an order differs from the one of the day before, each with what it was; empty for nothing."""
    if before is None:
        return _("new")
    fields = [field for field in Ordered.fields if field.name not in {"place", "text", "upsides", "moved_from"}]
    was = [
        field.phrase(getattr(before, field.name), names)
        for field in fields
        if getattr(order, field.name) != getattr(before, field.name) and getattr(before, field.name) is not None
    ]
    added = [
        str(field.label).lower()
        for field in fields
        if getattr(before, field.name) is None and getattr(order, field.name) is not None
    ]
    parts = [_("was %(before)s") % {"before": "; ".join(was)}] if was else []
    return "; ".join([*parts, *([_("new: %(fields)s") % {"fields": ", ".join(added)}] if added else [])])


def about_lots(number: int, horses: int, done: int, horses_done: int) -> str:
    """Return how many lots there are, and how many have come back; until one has, how many horses."""
    if not number:
        return _("No lot is ordered.")
    text = ngettext("%(lots)s with %(horses)s horse", "%(lots)s with %(horses)s horses", horses)
    told = {"lots": text % {"lots": number_of_lots(number), "horses": horses}, "done": done}
    if not horses_done:
        return _("%(lots)s; none is written as done yet.") % told
    if not done:
        text = ngettext(
            "%(lots)s; no lot is written as done yet, but %(horses)s horse is.",
            "%(lots)s; no lot is written as done yet, but %(horses)s horses are.",
            horses_done,
        )
        return text % (told | {"horses": horses_done})
    return _("%(lots)s; %(done)s written as done.") % told


def due_words(one: Due, today: date) -> str:
    """Return what is due and by when, without the horse; what was done last time is said of the vet's visits only."""
    text = "" if one.kind in {DueKind.FARRIER, DueKind.TEETH} else one.text
    if text and one.kind in {DueKind.VACCINATION, DueKind.BOOSTER_BETWEEN}:
        text = _(text)  # a disease, by the rules' own name
    told = {"what": DUE[one.kind], "text": text}
    what = _("%(what)s (%(text)s)") % told if text else str(told["what"])
    if one.last is None:
        return _("%(what)s, now") % {"what": what}
    when = {"what": what, "day": date_format(one.last, "j F" if one.last.year == today.year else "j F Y")}
    return _("%(what)s, overdue since %(day)s") % when if one.overdue(today) else _("%(what)s, %(day)s") % when


def runner_words(one: Runner, cannot_run: Collection[int] = ()) -> str:
    """Return which race, where and when it is off, without the horse; that it cannot run, where so."""
    told = {"race": one.engagement.race, "course": one.engagement.course}
    told |= {"off": f"{one.off:%H:%M}" if one.off else ""}
    text = _("%(off)s %(race)s, %(course)s") % told if one.off else _("%(race)s, %(course)s") % told
    return f"{text}: {_('cannot run by what is known now')}" if one.engagement.pk in cannot_run else text
