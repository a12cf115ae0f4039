"""Jobs in words."""

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.template.defaultfilters import filesizeformat
from django.utils.dates import WEEKDAYS
from django.utils.formats import date_format
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books import clock
from upsides.books.jobs.kinds import KINDS
from upsides.books.models import Job, Person, Schedule
from upsides.books.queries import moments
from upsides.books.queries.jobs import Overview, time_left
from upsides.errors.wording import of_kept
from upsides.web.shell.refusals import as_sentence

IDLE = timedelta(seconds=30)
"""A job that waits so long while none runs finds no worker."""

DOING = {
    "results": gettext_lazy("results"),
    "margins to pounds": gettext_lazy("margins to pounds"),
    "variance components": gettext_lazy("variance components"),
    "runs that were eased": gettext_lazy("runs that were eased"),
    "curves": gettext_lazy("curves"),
    "done": gettext_lazy("done"),
    "the database": gettext_lazy("the database"),
    "its changes": gettext_lazy("its changes"),
    "the rows": gettext_lazy("the rows"),
    "the numbers": gettext_lazy("the numbers"),
    "the diary": gettext_lazy("the diary"),
    "the clock": gettext_lazy("the clock"),
    "the history": gettext_lazy("the history"),
    "the library": gettext_lazy("the library"),
    "the fits": gettext_lazy("the figures"),
    "the disk": gettext_lazy("the disk"),
    "the last backup": gettext_lazy("the last backup"),
    "what horses did, and what holds them back": gettext_lazy("what horses did, and what holds them back"),
    "rules that clash": gettext_lazy("rules that clash"),
    "looking for a plan": gettext_lazy("looking for a plan"),
    "the next best plans of each horse": gettext_lazy("the next best plans of each horse"),
    "what departs from the routine, and why": gettext_lazy("what departs from the routine, and why"),
    "what exercises come to": gettext_lazy("what exercises come to"),
    "how far signs spread": gettext_lazy("how far signs spread"),
    "hearts and speeds": gettext_lazy("hearts and speeds"),
    "days on each gallop": gettext_lazy("days on each gallop"),
    "speeds in fast work": gettext_lazy("speeds in fast work"),
    "works of horses that have not run": gettext_lazy("works of horses that have not run"),
    "gaps between runs": gettext_lazy("gaps between runs"),
    "how the string has run": gettext_lazy("how the string has run"),
    "what stands out": gettext_lazy("what stands out"),
    "what came of calls": gettext_lazy("what came of calls"),
    "letters": gettext_lazy("letters"),
    "rows looked at": gettext_lazy("rows looked at"),
    "rows taken in": gettext_lazy("rows taken in"),
    "rows taken back": gettext_lazy("rows taken back"),
}
"""What work says it is doing, in the reader's language; anything else, such as a file's name, stays as it is."""

_STEP = re.compile(r"variance components, step (?P<step>\d+)")
_BEST = re.compile(r"best (?P<best>[\d.]+) steps, none below (?P<bound>-?[\d.]+), gap (?P<gap>[\d.]+)")
_DAY = re.compile(r"(?P<day>\d{4}-\d\d-\d\d): (?P<doing>.*)")


@dataclass(frozen=True, slots=True)
class Told:
    """A job and what a page says of it.

    Args:
        job: the job.
        what: what it is.
        doing: what is being done, empty when nothing is.
        percent: whole percent done.
        left: how much longer it takes, empty when that is not known.
        result: what came of it, in sentences.
        failure: why it failed.
        detail: a line of a traceback, for whoever looks after the program.
    """

    job: Job
    what: str
    doing: str
    percent: int
    left: str
    result: list[str]
    failure: str
    detail: str


def told(job: Job, now: datetime) -> Told:
    """Return a job with its words."""
    left = time_left(job, now)
    return Told(
        job=job,
        what=what(job),
        doing=doing_words(job.doing),
        percent=round(100 * job.progress),
        left=duration(left) if left else "",
        result=result_sentences(job),
        failure=failure_words(job),
        detail=job.failure.partition("\n")[2],
    )


def about_jobs(seen: Overview, now: datetime) -> str:
    """Return what goes on: what runs and for how much longer, what waits, or what figures there are."""
    if not seen.busy:
        return _about_rest(seen)
    parts = [_about_running(seen.running, now)] if seen.running else []
    if seen.waiting:
        number = len(seen.waiting)
        parts.append(ngettext("%(number)d job waits.", "%(number)d jobs wait.", number) % {"number": number})
        if not seen.running and now - seen.waiting[0].asked_at > IDLE:
            parts.append(_("No worker takes it up; start one with: upsides jobs."))
    return " ".join(parts)


def _about_running(running: list[Job], now: datetime) -> str:
    if len(running) > 1:
        names = get_text_list([what(job) for job in running], _("and"))
        return _("%(number)d jobs are running: %(names)s.") % {"number": len(running), "names": names}
    values = {"what": what(running[0])}
    left = time_left(running[0], now)
    if left is None:
        return _("One job is running: %(what)s.") % values
    return _("One job is running: %(what)s. It needs about %(left)s more.") % (values | {"left": duration(left)})


def _about_rest(seen: Overview) -> str:
    parts = [_("Nothing is running, and there are no figures yet.")]
    if seen.fit is not None:
        words = _("Nothing is running. The figures are those of the morning of %(day)s.")
        parts = [words % {"day": day_words(seen.fit)}]
    if failed := _failed_last(seen.ended):
        parts.append(_("Failed when last tried: %(names)s.") % {"names": get_text_list(failed, _("and"))})
    return " ".join(parts)


def _failed_last(ended: list[Job]) -> list[str]:
    """Return what failed when it was last tried; `ended` is latest first."""
    last: dict[str, Job] = {}
    for job in ended:
        last.setdefault(job.kind, job)
    return [what(job) for job in last.values() if job.state == Job.State.FAILED]


def about_job(job: Job, now: datetime) -> str:
    """Return how far a job is, or how it ended."""
    match job.state:
        case Job.State.WAITING:
            return _("It waits until a worker is free.")
        case Job.State.RUNNING if job.cancel_asked_at:
            return _("It is running and ends as soon as its work listens.")
        case Job.State.RUNNING:
            left = time_left(job, now)
            return _("It needs about %(left)s more.") % {"left": duration(left)} if left else _("It is running.")
        case Job.State.DONE:
            return _("It is done.") if job.started_at is None else _("It is done, after %(time)s.") % _took(job)
        case Job.State.CANCELLED:
            return _("It was stopped before its end.")
    return failure_words(job)


def _took(job: Job) -> dict[str, str]:
    if job.started_at is None or job.ended_at is None:
        return {"time": "–"}
    return {"time": duration(max(job.ended_at - job.started_at, timedelta(0)), exact=True)}


def what(job: Job) -> str:
    """Return what a job is: the figures of a day, a backup."""
    if job.kind == "fit":
        zone = clock.place().zone
        day = (
            date.fromisoformat(job.arguments["day"]) if "day" in job.arguments else job.asked_at.astimezone(zone).date()
        )
        return _("the figures of %(day)s") % {"day": day_words(day)}
    if job.kind == "condition" and "known_at" in job.arguments:
        known = datetime.fromisoformat(job.arguments["known_at"]).astimezone(clock.place().zone)
        return _("the condition of the string on %(day)s") % {"day": day_words(known.date())}
    return kind_words(job.kind)


def kind_words(kind: str) -> str:
    """Return what a kind of job is called."""
    return str(KINDS[kind].words) if kind in KINDS else kind


def doing_words(doing: str) -> str:
    """Return what is being done, in the reader's language where it is known."""
    if found := _DAY.fullmatch(doing):
        values = {"day": day_words(date.fromisoformat(found["day"])), "doing": doing_words(found["doing"])}
        return _("%(day)s: %(doing)s") % values
    if found := _STEP.fullmatch(doing):
        return _("variance components, step %(step)s") % {"step": found["step"]}
    if found := _BEST.fullmatch(doing):
        return _("best %(best)s steps, none below %(bound)s, gap %(gap)s") % found.groupdict()
    return str(DOING.get(doing, doing))


def result_sentences(job: Job) -> list[str]:
    """Return what came of a job that is done."""
    if job.state != Job.State.DONE or not job.result:
        return []
    said = _RESULTS.get(job.kind)
    return said(job.result) if said else []


def _of_fit(result: dict[str, Any]) -> list[str]:
    values = {name: f"{result[name]:,}" for name in ("runs", "horses", "races")}
    return [_("%(runs)s runs of %(horses)s horses in %(races)s races went in.") % values]


def _of_fits(result: dict[str, Any]) -> list[str]:
    made, stood, early = len(result["made"]), result["stood"], result["too_early"]
    said = [
        ngettext(
            "The figures of %(number)d Monday were worked out.", "Those of %(number)d Mondays were worked out.", made
        )
        % {"number": made}
    ]
    if stood:
        words = ngettext("%(number)d stood already.", "%(number)d stood already.", stood)
        said.append(words % {"number": stood})
    if early:
        words = ngettext(
            "%(number)d has too few results before it.", "%(number)d have too few results before them.", early
        )
        said.append(words % {"number": early})
    return said


def _of_backup(result: dict[str, Any]) -> list[str]:
    values = {"file": result["file"], "size": filesizeformat(result["bytes"])}
    return [_("It is in %(file)s and takes %(size)s.") % values]


def _of_check(result: dict[str, Any]) -> list[str]:
    return list(result["wrong"]) or [_("Everything that was looked at is well.")]


def _of_table(result: dict[str, Any]) -> list[str]:
    values = {name: f"{number:,}" for name, number in result.items() if isinstance(number, int)}
    if "withdrawn" in result:
        return [_("%(withdrawn)s entries withdrawn, %(removed)s horses taken out; %(kept)s stay.") % values]
    if "fine" in result:
        words = _("%(rows)s rows looked at: %(fine)s can be taken, %(refused)s cannot; nothing was written.")
        return [words % values]
    words = _("%(taken)s taken in; %(already)s were in the books already, %(refused)s rows were left out.")
    return [words % values]


def _of_letters(result: dict[str, Any]) -> list[str]:
    count, names = result["letters"], moments.names(Person, moments.now(), result.get("refused", ()))
    said = [ngettext("%(count)s letter went out.", "%(count)s letters went out.", count) % {"count": count}]
    if names:
        text = _("The mail server refused the address of %(names)s; it can be put right on the page of the person.")
        said.append(text % {"names": get_text_list(sorted(names.values()), _("and"))})
    return said


_RESULTS = {
    "fit": _of_fit,
    "fits": _of_fits,
    "backup": _of_backup,
    "check": _of_check,
    "table": _of_table,
    "reminders": _of_letters,
}


def when_words(schedule: Schedule) -> str:
    """Return when a schedule asks: every day at 03:30."""
    values = {"time": f"{schedule.at:%H:%M}"}
    if not schedule.active:
        return _("switched off")
    if schedule.weekdays == "0123456":
        return _("every day at %(time)s") % values
    if schedule.weekdays == "01234":
        return _("Monday to Friday at %(time)s") % values
    names = get_text_list([str(WEEKDAYS[int(digit)]) for digit in schedule.weekdays], _("and"))
    return _("%(days)s at %(time)s") % (values | {"days": names})


def duration(span: timedelta, *, exact: bool = False) -> str:
    """Return a time span to a sensible figure: 40 s, 5 min, 2 h; seconds to the nearest ten unless exact."""
    seconds = span.total_seconds()
    if seconds < 90:
        return _("%(number)d\u00a0s") % {"number": round(seconds) if exact else max(10 * round(seconds / 10), 5)}
    if seconds < 90 * 60:
        return _("%(number)d\u00a0min") % {"number": round(seconds / 60)}
    return _("%(number)d\u00a0h") % {"number": round(seconds / 3600)}


def day_words(day: date) -> str:
    """Return a day as 20 June 2026."""
    return date_format(day, "j F Y").replace(" ", "\u00a0")


def failure_words(job: Job) -> str:
    """Return why a job failed; where the program itself failed, without the line that helps to find it."""
    refusal = (job.result or {}).get("refusal")
    return as_sentence(of_kept(refusal)) if refusal else job.failure.partition("\n")[0]
