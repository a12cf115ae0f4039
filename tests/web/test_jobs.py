"""The pages of jobs: what runs, what is done every night, and who may do what."""

import html
import re
from datetime import UTC, datetime, time, timedelta
from typing import Any

import pytest
from django.conf import settings
from django.db.models.functions import Now

from upsides.books import clock
from upsides.books.jobs import claims
from upsides.books.jobs.kinds import KINDS
from upsides.books.models import Job, Person, Role, Schedule
from upsides.books.queries import jobs as reads
from upsides.books.services import jobs as writes
from upsides.web.jobs import sentences
from web.test_translation import marked_language
from worlds import ClientAs

pytestmark = pytest.mark.django_db
OFFICE = ("trainer", "assistant", "secretary")
STRICT = r"<script(?![^>]*\ssrc=)|<style|\sstyle=|\son[a-z]+=|javascript:"


@pytest.fixture
def still(monkeypatch: pytest.MonkeyPatch) -> datetime:
    """Let the clock stand, so that a slow machine says the same."""
    now = clock.now()
    monkeypatch.setattr(clock, "now", lambda: now)
    return now


def running(share: float = 0.0, doing: str = "", seconds: float = 0.0, kind: str = "fit", **arguments: Any) -> Job:
    """Return a job that a worker took up so many seconds ago."""
    job = writes.ask(kind, arguments)
    claims.claim(job.pk, "somebody")
    started = clock.now() - timedelta(seconds=seconds)
    Job.objects.filter(pk=job.pk).update(progress=share, doing=doing, started_at=started)
    return Job.objects.get(pk=job.pk)


def ended(state: Job.State, kind: str = "fit", **values: Any) -> Job:
    job = running(kind=kind)
    Job.objects.filter(pk=job.pk).update(state=state, ended_at=clock.now(), **values)
    return Job.objects.get(pk=job.pk)


def text(response: Any) -> str:
    """Return what a page says, without its tags."""
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))


@pytest.mark.parametrize("role", list(Role))
def test_only_the_office_sees_jobs(client_as: ClientAs, role: Role) -> None:
    """Trainer, assistant and secretary open every page of jobs and may ask; nobody else opens any, or changes any."""
    job = writes.ask("fit")
    browser = client_as(role.value)
    wanted = 200 if role.value in OFFICE else 403
    assert [browser.get(address).status_code for address in ("/jobs/", f"/job/{job.pk}/")] == [wanted] * 2
    posted = browser.post("/jobs/ask/", {"kind": "check"}).status_code
    stopped = browser.post(f"/job/{job.pk}/stop/").status_code
    assert [posted, stopped] == [302 if role.value in OFFICE else 403] * 2
    assert Job.objects.filter(kind="check").exists() == (role.value in OFFICE)


@pytest.mark.parametrize("role", list(Role))
def test_only_trainer_and_secretary_change_schedules(client_as: ClientAs, role: Role) -> None:
    """The times of what is done every night are changed by trainer and secretary only."""
    schedule = Schedule.objects.create(kind="fit", at=time(3, 30))
    answer = client_as(role.value).post(
        f"/jobs/schedule/{schedule.pk}/", {"at": "05:15", "weekdays": ["0", "4"], "active": "on"}
    )
    schedule.refresh_from_db()
    if role.value in {"trainer", "secretary"}:
        assert (answer.status_code, schedule.at, schedule.weekdays) == (302, time(5, 15), "04")
    else:
        assert (answer.status_code, schedule.at) == (403, time(3, 30))


def test_what_changes_something_is_posted(client_as: ClientAs) -> None:
    """Opening the address of a button does nothing: it has to be pressed."""
    job = writes.ask("fit")
    browser = client_as("trainer")
    addresses = ("/jobs/ask/", f"/job/{job.pk}/stop/", f"/job/{job.pk}/again/")
    assert [browser.get(address).status_code for address in addresses] == [405] * 3


def test_pages_obey_the_strict_policy(client_as: ClientAs) -> None:
    """No page of jobs holds anything inline, whatever stands on it."""
    job = running(0.4, "<b>step</b>", 60)
    schedule = Schedule.objects.create(kind="fit", at=time(3, 30))
    browser = client_as("trainer")
    for address in ("/jobs/", f"/job/{job.pk}/", f"/jobs/schedule/{schedule.pk}/"):
        page = browser.get(address).content.decode()
        assert not re.search(STRICT, page)
        assert "<b>step" not in page


def test_the_page_answers_first_what_runs(client_as: ClientAs, still: datetime) -> None:
    """The first sentence names what runs and how much longer it takes at its pace so far."""
    running(0.6, "curves", 60, day="2026-06-20")
    writes.ask("backup")
    page = text(client_as("trainer").get("/jobs/"))
    assert "One job is running: the figures of 20 June 2026. It needs about 40 s more. 1 job waits." in page
    assert "60 %, curves; about 40 s more" in page


def test_the_page_renews_itself_only_while_something_runs(client_as: ClientAs) -> None:
    """While a job runs or waits the page asks again every two seconds, with a link that does the same; else never."""
    browser = client_as("trainer")
    assert "hx-trigger" not in browser.get("/jobs/").content.decode()
    job = writes.ask("fit")
    for address in ("/jobs/", f"/job/{job.pk}/"):
        page = browser.get(address).content.decode()
        assert 'hx-trigger="every 2s"' in page
        assert page.count(f'href="{address}"') >= 1
        assert "Renew it now" in page
    Job.objects.filter(pk=job.pk).update(state=Job.State.DONE, ended_at=clock.now(), result={})
    assert "hx-trigger" not in browser.get(f"/job/{job.pk}/").content.decode()


def test_without_jobs_the_page_says_which_figures_there_are(client_as: ClientAs, monkeypatch: Any) -> None:
    """When nothing runs the first sentence says as of which morning the figures are, or that there are none."""
    browser = client_as("trainer")
    monkeypatch.setattr(reads, "_fit", lambda *_: None)
    assert "Nothing is running, and there are no figures yet." in text(browser.get("/jobs/"))
    monkeypatch.setattr(reads, "_fit", lambda *_: datetime(2026, 6, 20, tzinfo=UTC).date())
    page = text(browser.get("/jobs/"))
    assert "Nothing is running. The figures are those of the morning of 20 June 2026." in page


def test_what_failed_last_is_said(client_as: ClientAs) -> None:
    """A job that failed when it was last tried is named in the first sentence until it succeeds."""
    ended(Job.State.FAILED, "backup", failure="The disk is full.")
    browser = client_as("trainer")
    assert "Failed when last tried: a backup." in text(browser.get("/jobs/"))
    ended(Job.State.DONE, "backup", result={"file": "/a.zip", "bytes": 1})
    assert "Failed when last tried" not in text(browser.get("/jobs/"))


def test_a_job_that_nobody_takes_up_is_explained(client_as: ClientAs, still: datetime) -> None:
    """When a job has waited a while and no other runs, the page says that there is no worker and how to start one."""
    job = writes.ask("fit")
    browser = client_as("trainer")
    assert "No worker takes it up" not in text(browser.get("/jobs/"))
    Job.objects.filter(pk=job.pk).update(asked_at=clock.now() - timedelta(minutes=2))
    assert "1 job waits. No worker takes it up; start one with: upsides jobs." in text(browser.get("/jobs/"))


def test_every_kind_has_a_button(client_as: ClientAs) -> None:
    """Each kind of job can be asked for, and who asked stands with it."""
    browser = client_as("secretary")
    page = browser.get("/jobs/").content.decode()
    assert sorted(re.findall(r'name="kind" value="(\w+)"', page)) == sorted(
        KINDS.keys() - {"table", "recordings", "lots"}
    )  # tables and recordings are taken in from their own pages
    browser.post("/jobs/ask/", {"kind": "backup"})
    job = Job.objects.get()
    assert (job.kind, job.asked_by) == ("backup", Person.objects.get(login="secretary"))
    assert "Asked for: a backup." in text(browser.get("/jobs/"))


def test_an_unknown_kind_is_refused_in_words(client_as: ClientAs) -> None:
    """A kind that there is not is refused on a page, and nothing is asked for."""
    answer = client_as("trainer").post("/jobs/ask/", {"kind": "gallop"})
    assert answer.status_code == 400
    assert "There is no kind of job 'gallop'" in text(answer)
    assert not Job.objects.exists()


def test_a_stopped_job_says_so(client_as: ClientAs) -> None:
    """A running job that was told to stop is shown as about to end, without its button; then as stopped."""
    job = running(0.3, "curves")
    browser = client_as("trainer")
    browser.post(f"/job/{job.pk}/stop/")
    page = browser.get(f"/job/{job.pk}/").content.decode()
    assert "ends as soon as its work listens" in page
    assert "/stop/" not in page
    Job.objects.filter(pk=job.pk).update(state=Job.State.CANCELLED, ended_at=clock.now())
    assert "It was stopped before its end." in text(browser.get(f"/job/{job.pk}/"))
    assert browser.post(f"/job/{job.pk}/stop/").status_code == 400


def test_a_failed_job_says_why(client_as: ClientAs) -> None:
    """The sentence stands first and the line of the traceback apart; the job can be asked for again."""
    job = ended(Job.State.FAILED, failure="It went wrong.\nfits.py:12: ZeroDivisionError: division by zero")
    browser = client_as("assistant")
    page = browser.get(f"/job/{job.pk}/").content.decode()
    assert re.search(r'class="answer">It went wrong\.</p>', page)
    assert re.search(r"<details>.*fits\.py:12: ZeroDivisionError", page, re.S)
    answer = browser.post(f"/job/{job.pk}/again/")
    again = Job.objects.exclude(pk=job.pk).get()
    assert (answer.headers["Location"], again.kind, again.state) == (f"/job/{again.pk}/", "fit", Job.State.WAITING)


@pytest.mark.parametrize(
    ("kind", "result", "said"),
    [
        (
            "fit",
            {"as_of": "2026-06-20", "runs": 12345, "horses": 678, "races": 910},
            "12,345 runs of 678 horses in 910 races went in.",
        ),
        (
            "fits",
            {"made": ["2026-06-15"], "stood": 2, "too_early": 0},
            "The figures of 1 Monday were worked out. 2 stood",
        ),
        ("backup", {"file": "/a/b.zip", "bytes": 2_000_000}, "It is in /a/b.zip and takes 1.9 MB."),
        ("check", {"looked_at": 9, "wrong": []}, "Everything that was looked at is well."),
        ("check", {"looked_at": 9, "wrong": ["The key is gone."]}, "The key is gone."),
    ],
)
def test_what_came_of_it(client_as: ClientAs, kind: str, result: dict[str, Any], said: str) -> None:
    """A job that is done says in a sentence what came of it."""
    job = ended(Job.State.DONE, kind, result=result)
    assert said in text(client_as("trainer").get(f"/job/{job.pk}/"))


def test_there_is_no_such_job(client_as: ClientAs) -> None:
    """A number that no job has is a page that says so."""
    browser = client_as("trainer")
    assert [browser.get("/job/999999/").status_code, browser.get("/jobs/schedule/999999/").status_code] == [404, 404]


def test_schedules_are_listed_in_words(client_as: ClientAs) -> None:
    """What is done every night stands with its days, its time and when it comes next; switched off, it says so."""
    zone = clock.place().zone
    Schedule.objects.create(kind="fit", at=time(3, 30), next_at=datetime(2026, 6, 21, 3, 30, tzinfo=zone))
    Schedule.objects.create(kind="backup", at=time(2, 30), weekdays="01234")
    Schedule.objects.create(kind="check", at=time(4, 30), weekdays="25")
    Schedule.objects.create(kind="fits", at=time(5, 30), active=False)
    page = text(client_as("assistant").get("/jobs/"))
    assert "The figures Every day at 03:30 21 Jun 26, 03:30" in page
    assert "A backup Monday to Friday at 02:30 " in page
    assert "A check of the books Wednesday and Saturday at 04:30 " in page
    assert "The figures of past weeks Switched off " in page


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"at": "25:00", "weekdays": ["0"], "active": "on"}, "Write a time like 03:30."),
        ({"at": "", "weekdays": ["0"], "active": "on"}, "Say at what time."),
        ({"at": "03:30", "active": "on"}, "No day of the week is chosen; choose one, or switch the schedule off."),
        ({"at": "03:30", "weekdays": ["7"], "active": "on"}, "7 is not one of the available choices"),
    ],
)
def test_a_schedule_filled_in_wrong_is_refused(client_as: ClientAs, sent: dict[str, Any], said: str) -> None:
    """What cannot be is refused beside the field, and the schedule stays as it was."""
    schedule = Schedule.objects.create(kind="fit", at=time(4, 0))
    answer = client_as("trainer").post(f"/jobs/schedule/{schedule.pk}/", sent)
    schedule.refresh_from_db()
    assert (answer.status_code, schedule.at, schedule.weekdays) == (200, time(4, 0), "0123456")
    assert said in text(answer)


def test_what_work_does_is_said_in_the_readers_words() -> None:
    """The steps of a fit are known phrases; a file's name stays as it is."""
    assert sentences.doing_words("variance components, step 3") == "variance components, step 3"
    assert sentences.doing_words("2026-06-15: curves") == "15\u00a0June\u00a02026: curves"
    assert sentences.doing_words("runs/part-1.parquet") == "runs/part-1.parquet"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(1, "5 s"), (14, "10 s"), (42, "40 s"), (89, "90 s"), (91, "2 min"), (1800, "30 min"), (7200, "2 h")],
)
def test_times_are_said_no_finer_than_they_are_known(seconds: int, words: str) -> None:
    """Time left is said to ten seconds, then to minutes, then to hours."""
    assert sentences.duration(timedelta(seconds=seconds)) == words.replace(" ", "\u00a0")


def test_time_left_is_only_said_when_it_is_known(still: datetime) -> None:
    """At the very beginning, at the end and across a clock set back, nothing is said; else the pace so far counts."""
    at_quarter = running(0.25, seconds=10)
    assert reads.time_left(at_quarter, still) == timedelta(seconds=30)
    at_quarter.progress = 0.01
    assert reads.time_left(at_quarter, still) is None
    at_quarter.progress = 1.0
    assert reads.time_left(at_quarter, still) is None
    at_quarter.progress, at_quarter.started_at = 0.5, still + timedelta(hours=1)
    assert reads.time_left(at_quarter, still) is None


def test_the_figures_are_those_that_pages_show(loaded: Any) -> None:
    """Without a fit in the library's folder the overview knows of none."""
    assert reads.overview(settings.UPSIDES_LIBRARY, clock.today()).fit is None


def test_only_jobs_whose_worker_lives_count_as_running_for_long() -> None:
    """A heartbeat that is missing counts as a dead worker."""
    job = running()
    Job.objects.filter(pk=job.pk).update(heartbeat_at=None)
    writes.revive()
    job.refresh_from_db()
    assert job.state == Job.State.WAITING
    Job.objects.filter(pk=job.pk).update(state=Job.State.RUNNING, heartbeat_at=Now())
    writes.revive()
    job.refresh_from_db()
    assert job.state == Job.State.RUNNING


def test_how_far_a_search_is_is_told_with_its_gap() -> None:
    """What the search of a plan says is told with best, bound and gap, in the reader's language."""
    doing = "best 31.5 steps, none below 30.0, gap 1.5"
    assert sentences.doing_words(doing) == doing
    with marked_language():
        assert sentences.doing_words(doing) != doing
        assert all(number in sentences.doing_words(doing) for number in ("31.5", "30.0", "1.5"))
