"""Recordings in sentences."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.diary.work import EXERCISES
from upsides.books.models import Job, Outing
from upsides.books.queries.recorded import Listed
from upsides.books.queries.whose import Candidate
from upsides.recordings.measured import Measured, Piece
from upsides.recordings.track import Track
from upsides.web.jobs.sentences import failure_words
from upsides.web.recordings.measures import far, kind_words, last_times, lasted

NO_NAMES: Final[Mapping[int, str]] = {}
HEIGHTS: Final = {
    "device": gettext_lazy("Heights are the device's own, smoothed; what they are counted from only the device knows."),
    "brought": gettext_lazy(
        "Heights are the device's own, brought to sea level by the yard's elevation tile, smoothed."
    ),
    "tile": gettext_lazy("Heights are those of the ground from the yard's elevation tile, not the device's."),
}
"""Where heights come from."""
WHY: Final = {
    Outing.Matched.TRACKER: gettext_lazy("it usually wears this tracker"),
    Outing.Matched.LOT: gettext_lazy("of those ordered for that day only it had no recording of that time"),
    Outing.Matched.NAME: gettext_lazy("the file is named for it"),
    Outing.Matched.HAND: gettext_lazy("somebody said so"),
}
"""How the horse was found."""


def heights_words(track: Track) -> str:
    """Return where a track's heights come from, "" where it has none."""
    brought = any(one.code in {"ellipsoid", "ellipsoid_below"} for one in track.messages)
    return str(HEIGHTS.get("brought" if brought and track.height_from == "device" else track.height_from, ""))


def about_recordings(today: Sequence[Listed], waiting: int) -> str:
    """Return how many of the day's recordings are given to horses, and how many wait, also of other days."""
    given = sum(one.outing is not None for one in today)
    told = {"given": given, "all": len(today), "waiting": waiting}
    if not today:
        if not waiting:
            return _("No recording of today has come in, and none waits for a horse.")
        words = ngettext(
            "No recording of today has come in; %(waiting)s of earlier days waits for a horse.",
            "No recording of today has come in; %(waiting)s of earlier days wait for a horse.",
            waiting,
        )
        return words % told
    if given == len(today):
        first = ngettext(
            "The one recording of today is given to its horse.",
            "All %(all)s recordings of today are given to horses.",
            len(today),
        )
        return f"{first % told} {_earlier(waiting)}".strip()
    mine = len(today) - given
    words = ngettext(
        "%(given)s of %(all)s recordings of today are given to horses; %(left)s waits.",
        "%(given)s of %(all)s recordings of today are given to horses; %(left)s wait.",
        mine,
    )
    return f"{words % (told | {'left': mine})} {_earlier(waiting - mine)}".strip()


def _earlier(waiting: int) -> str:
    if waiting <= 0:
        return ""
    words = ngettext(
        "%(waiting)s of another day waits for a horse.", "%(waiting)s of other days wait for a horse.", waiting
    )
    return words % {"waiting": waiting}


def about_recording(measured: Measured, gallops: Mapping[int, str] = NO_NAMES) -> str:
    """Return what a recording shows in one sentence: the pieces of work in their order, with the fastest one's times.

    Args:
        measured: what was measured.
        gallops: names of the yard's gallops, by number.
    """
    if not measured.bouts:
        return _("Too little of this recording could be used, so nothing is said of what was done.")
    if measured.odd:
        told = {"far": far(measured.metres), "time": lasted(sum(bout.seconds for bout in measured.bouts))}
        return _("%(far)s in %(time)s as no horse goes: nothing of it counts as work.") % told
    if not measured.works:
        told = {"far": far(measured.metres), "time": lasted(sum(bout.seconds for bout in measured.bouts))}
        return _("No canter and no fast work: %(far)s at walk and trot in %(time)s.") % told
    parts = [_where(work, gallops) for work in measured.works[-4:]]
    text = parts[0]
    if len(parts) > 1:
        text = _("%(works)s, then %(last)s") % {"works": ", ".join(parts[:-1]), "last": parts[-1]}
    last = max(measured.works, key=lambda one: (one.kind == "fast", one.start_s))
    times = last_times(last.splits)
    said = _("%(works)s: %(times)s.") if times else _("%(works)s.")
    sentence = said % {"works": text, "times": times}
    return f"{sentence[:1].upper()}{sentence[1:]}"


def _where(work: Piece, gallops: Mapping[int, str]) -> str:
    told = {"work": kind_words(work)}
    if work.gallop is None or work.gallop.number not in gallops:
        return str(told["work"])
    told |= {"gallop": gallops[work.gallop.number]}
    return _("%(work)s on %(gallop)s") % told if work.gallop.forward else _("%(work)s down %(gallop)s") % told


def why_words(outing: Outing) -> str:
    """Return why a recording is a horse's."""
    return str(WHY[Outing.Matched(outing.matched)])


def offered_words(one: Candidate) -> str:
    """Return why a horse is offered: lot 2, half-speed; a stopwatch was on it."""
    said = [_("its tracker or its name is on the file")] if one.pointed else []
    if one.clocked:
        said.append(_("clocked then"))
    if one.lot is not None:
        said.append(_("lot %(lot)s") % {"lot": one.lot})
    if one.order:
        said.append(str(EXERCISES.get(one.order, one.order)))
    if one.been:
        said.append(_("out at another time that day"))
    return ", ".join(said) or _("nothing ordered")


def about_reading(job: Job) -> str:
    """Return how a reading stands."""
    told = {"files": len(job.arguments.get("files", ()))}
    if job.ended_at is None and job.progress >= 1.0:
        return _("All was read; who went upsides is being found out.")
    if job.ended_at is None:
        words = ngettext("%(files)s file is being read.", "%(files)s files are being read.", told["files"])
        return words % told
    if job.state == Job.State.CANCELLED:
        return _("The reading was stopped; what was read until then stays.")
    if job.state == Job.State.FAILED:
        return failure_words(job)
    return result_words(job.result or {})


def result_words(result: Mapping[str, Any]) -> str:
    """Return what came of a reading: read, known already, refused."""
    read, already, refused = (int(result.get(name, 0)) for name in ("read", "already", "refused"))
    said = []
    if read:
        said.append(ngettext("%(number)s recording read", "%(number)s recordings read", read) % {"number": read})
    if already:
        said.append(
            ngettext("%(number)s was here already", "%(number)s were here already", already) % {"number": already}
        )
    if refused:
        said.append(
            ngettext("%(number)s could not be read", "%(number)s could not be read", refused) % {"number": refused}
        )
    return _("%(what)s.") % {"what": ", ".join(said)} if said else _("Nothing came of it.")


def about_keys(number: int) -> str:
    """Return how many devices may send."""
    if not number:
        return _("No device sends recordings by itself.")
    words = ngettext(
        "%(number)s device sends recordings by itself.", "%(number)s devices send recordings by themselves.", number
    )
    return words % {"number": number}
