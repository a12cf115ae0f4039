"""What horses did, beside what was ordered, in words; and that either was changed afterwards."""

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books import morning_words as say
from upsides.books.diary.work import EXERCISES, Exercise, Ordered
from upsides.books.models import Entry
from upsides.books.queries.lots import Ride


def did_words(done: Exercise) -> str:
    """Return what a horse did in few words: the exercise and how far."""
    exercise = str(EXERCISES.get(done.exercise, done.exercise))
    if done.furlongs is None:
        return exercise
    return _("%(exercise)s, %(distance)s") % {"exercise": exercise, "distance": say.furlongs(done.furlongs)}


def done_words(ride: Ride) -> str:
    """Return what a horse did, with lot, gallop and rider where they are not as ordered; empty for not written."""
    done, order = ride.done, ride.order
    if done is None:
        return ""
    parts = [did_words(done)]
    if done.lot is not None and done.lot != order.lot:
        parts.append(_("lot %(number)s") % {"number": int(done.lot)})
    if ride.done_on and done.gallop != order.gallop:
        parts.append(ride.done_on)
    if ride.done_by and done.rider != order.rider:
        parts.append(ride.done_by)
    return ", ".join(parts)


def anew_words(ride: Ride) -> tuple[tuple[str, int], ...]:
    """Return that an order was replaced after its horse was done or its day over, or an entry corrected; and which."""
    found = []
    if ride.anew is not None:
        was = say.work_words(Ordered.kept_as(ride.anew.values))
        words = _("ordered anew on %(when)s; that morning it was %(was)s") % {"when": _when(ride.entry), "was": was}
        found.append((words, ride.entry.pk))
    if ride.mended is not None:
        was = _("withdrawn") if ride.mended.withdrawn else did_words(Exercise.kept_as(ride.mended.values))
        found.append((_("corrected; first written: %(was)s") % {"was": was}, ride.mended.pk))
    return tuple(found)


def _when(entry: Entry) -> str:
    return date_format(entry.recorded_at.astimezone(clock.place().zone), "j F, H:i")
