"""The page of all recordings: what came in, what waits for a horse, what each reading gave, who wears what."""

from dataclasses import dataclass
from typing import Any, Final

from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.diary.work import ORDERERS
from upsides.books.models import Gallop, Job
from upsides.books.outings import read
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.recorded import Listed, begun_on, lately, readings, rows_of, trackers, waiting_count
from upsides.books.queries.recordings import Waiting, waiting
from upsides.books.services.recordings import MOST, MOST_A_FILE, MOST_BYTES
from upsides.errors.wording import of_kept
from upsides.recordings.unpacking import Limits
from upsides.web.jobs.sentences import Told
from upsides.web.jobs.sentences import told as told_of_job
from upsides.web.recordings import measures as m
from upsides.web.recordings.one_page import OFFERED, every_horse, offers
from upsides.web.recordings.sentences import about_reading, about_recording, about_recordings, why_words
from upsides.web.shell.access import may_open
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.refusals import as_sentence, in_words
from upsides.web.string.following import back_there

SHOWN_FILES: Final = 40
"""So many files of a reading are told of one by one."""
FEW_FILES: Final = 8
"""More files than this stand folded."""
SHOWN_WAITING: Final = 30
"""So many recordings that wait are shown, the last first."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading, ready for the page.

    Args:
        job: its row.
        told: the job in words, while it waits or runs; None afterwards.
        sentence: how it stands.
        refused: what could not be read: the file, why not and what to do.
        files: what each other file gave: name, and recordings by it.
        open: whether they are few enough to be shown at once.
        more: how many files are not told of.
    """

    job: Job
    told: Told | None
    sentence: str
    refused: list[tuple[str, str]]
    files: list[tuple[str, list[Listed]]]
    open: bool
    more: int


def recordings_page(request: VisitedRequest, moment: Moment, fault: str = "") -> dict[str, Any]:
    """Return the page."""
    roles = request.visitor.roles
    today, waits = begun_on(moment, moment.day), waiting_count(moment)
    may_add = bool(ORDERERS & roles)
    drawn, undrawn = _gallops(moment)
    names = {row.pk: row.name for row in drawn}
    told = [_reading(job) for job in readings()] if moment.at is None and may_add else []
    return {
        "moment": moment,
        "sentence": about_recordings([one for one in today if not one.aside], waits),
        "today": [_row(one) for one in today if not one.waits],
        "lately": [_row(one) for one in lately(moment, moment.day) if not one.waits],
        "waiting": [_wait(one, names) for one in waiting(moment, SHOWN_WAITING)],
        "others": every_horse(moment) if waits else [],
        "more_waiting": max(0, waits - SHOWN_WAITING),
        "readings": told,
        "busy": any(one.told is not None for one in told),
        "trackers": trackers(moment),
        "gallops": drawn,
        "undrawn": undrawn,
        "horses": list(moments.in_training(moment).order_by("name")) if may_add else [],
        "may_add": may_add,
        "may_keys": may_open("upload_keys", roles) and not request.visitor.barn,
        "fault": fault,
        "back": back_there(request),
        "most": {"files": MOST, "file": MOST_A_FILE >> 20, "recording": Limits().member >> 20, "all": MOST_BYTES >> 20},
    }


def _gallops(moment: Moment) -> tuple[list[Gallop], list[Gallop]]:
    """Return the gallops in use that are drawn, and those that are not."""
    rows = list(moments.rows(Gallop, moment).filter(used=True).order_by("name"))
    return [row for row in rows if row.line], [row for row in rows if not row.line]


def _row(one: Listed) -> dict[str, Any]:
    recorded, outing = one.recorded, one.outing
    fast_m = read(outing.measured).told_fast_m if outing and outing.fast_m else 0.0
    return {
        "one": one,
        "began": recorded.began,
        "why": why_words(outing) if outing else "",
        "metres": m.far(outing.metres) if outing else "",
        "fast": m.about_furlongs(fast_m) if fast_m else "",
    }


def _wait(one: Waiting, gallops: dict[int, str]) -> dict[str, Any]:
    likely = [each for each in one.offered if each.likely][:OFFERED]
    sentence = about_recording(one.measured, gallops) if one.measured is not None else _("Its track is not at hand.")
    return {"recorded": one.recorded, "sentence": sentence, "offered": offers(likely)}


def _reading(job: Job) -> Reading:
    told = told_of_job(job, clock.now()) if job.ended_at is None else None
    files = (job.result or job.checkpoint or {}).get("files", ())
    refused = [(one["file"], _without(one["refused"], one["file"])) for one in files if one["refused"]][:SHOWN_FILES]
    good = [one for one in files if not one["refused"]]
    rows = rows_of(number for one in good[:SHOWN_FILES] for number in one["recordings"])
    listed = [
        (one["file"], [rows[number] for number in one["recordings"] if number in rows]) for one in good[:SHOWN_FILES]
    ]
    return Reading(
        job, told, about_reading(job), refused, listed, len(good) <= FEW_FILES, max(0, len(good) - SHOWN_FILES)
    )


def _without(refused: Any, file: str) -> str:
    """Return why a file was refused without its name, which stands beside it."""
    return as_sentence(in_words(of_kept(refused)).removeprefix(f"{file}: "))


def may_correct(request: VisitedRequest) -> bool:
    """Return whether somebody may say whose a recording is."""
    return bool(ORDERERS & request.visitor.roles)
