"""Jobs: asking, doing, stopping, and what a worker's death leaves."""

import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from threading import Event
from types import ModuleType
from typing import Any

import pytest
from django.db.models.functions import Now
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from upsides.books import clock
from upsides.books.jobs import claims, running, tasks
from upsides.books.jobs.kinds import KINDS, Kind, lane
from upsides.books.jobs.running import SEAT, JobStopped, Running, Seat, run
from upsides.books.models import Job, Person
from upsides.books.services import jobs as writes
from upsides.errors import JobEndedError, JobKindUnknownError, UpsidesError

pytestmark = pytest.mark.django_db
State = Job.State
Works = Callable[[Callable[[Running], Any]], None]


@pytest.fixture
def works(monkeypatch: pytest.MonkeyPatch) -> Works:
    """Return a function that makes another the work of the kind "test"."""

    def of(work: Callable[[Running], Any]) -> None:
        module = ModuleType("work_of_tests")
        module.work = work  # type: ignore[attr-defined]
        monkeypatch.setitem(sys.modules, "work_of_tests", module)
        monkeypatch.setitem(KINDS, "test", Kind("test", "a test", "Test", "work_of_tests:work", "tests"))

    return of


@pytest.fixture
def seat() -> Any:
    """A worker's place, in which this test sits."""
    here = Seat("here")
    token = SEAT.set(here)
    yield here
    SEAT.reset(token)


def queued() -> list[int]:
    ready = DBTaskResult.objects.filter(status=TaskResultStatus.READY)
    return sorted(row.args_kwargs["args"][0] for row in ready)


def silence(job: Job) -> None:
    """Let a job's worker have been silent for too long."""
    Job.objects.filter(pk=job.pk).update(heartbeat_at=Now() - writes.SILENT - timedelta(seconds=5))


def test_asking_puts_a_job_into_the_queue() -> None:
    """A job that is asked for waits, with who asked and when, and the queue holds it once."""
    trainer = Person.objects.get(login="trainer")
    job = writes.ask("fit", {"day": "2026-06-01"}, by=trainer)
    assert (job.state, job.asked_by, job.attempts) == (State.WAITING, trainer, 0)
    assert queued() == [job.pk]


def test_the_same_is_not_asked_for_twice() -> None:
    """As long as a job waits or runs, asking for the same returns it; other arguments or an ended one make another."""
    first = writes.ask("fit", {"day": "2026-06-01", "seed": 1})
    assert writes.ask("fit", {"seed": 1, "day": "2026-06-01"}) == first
    claims.claim(first.pk, "somebody")
    assert writes.ask("fit", {"day": "2026-06-01", "seed": 1}) == first
    assert writes.ask("fit", {"day": "2026-06-02"}) != first
    Job.objects.filter(pk=first.pk).update(state=State.DONE)
    assert writes.ask("fit", {"day": "2026-06-01", "seed": 1}) != first


def test_an_unknown_kind_is_refused() -> None:
    """Asking for a kind that there is not names those that there are, and leaves no row."""
    with pytest.raises(JobKindUnknownError, match="backup, by_hand, chances, check, condition, fit, fits"):
        writes.ask("gallop")
    assert not Job.objects.exists()


def test_a_job_is_done(works: Works, seat: Seat) -> None:
    """The work gets its arguments, its result stands in the row, and doing it again does nothing."""
    works(lambda running: {"twice": 2 * running.arguments["n"]})
    job = writes.ask("test", {"n": 4})
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result, job.progress, job.attempts) == (State.DONE, {"twice": 8}, 1.0, 1)
    assert job.started_at is not None
    assert job.ended_at is not None
    works(lambda _running: pytest.fail("done twice"))
    run(job.pk)


def test_progress_is_written_and_bounded(works: Works, seat: Seat, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the work says stands in the row, cut to what fits, and words that come too fast are left out."""
    seen = []

    def work(running: Running) -> dict[str, Any]:
        for share, doing in ((0.25, "first"), (0.5, "too soon"), (7.0, "w" * 999)):
            monkeypatch.setattr(running, "said", running.said if doing == "too soon" else 0.0)
            running.progress(share, doing)
            seen.append(Job.objects.values_list("progress", "doing").get(pk=running.held.number))
        return {}

    works(work)
    run(writes.ask("test").pk)
    assert seen == [(0.25, "first"), (0.25, "first"), (1.0, "w" * 200)]


def test_the_terminal_hears_everything(works: Works) -> None:
    """Whoever sits at the worker is told which job begins, and every word of it."""
    heard: list[object] = []

    def listen(name: str) -> Callable[[float, str], None]:
        heard.append(name)
        return lambda share, doing: heard.append((share, doing))

    works(lambda running: [running.progress(share, "word") for share in (0.1, 0.2, 0.3)])
    job = writes.ask("test")
    token = SEAT.set(Seat("here", listen))
    run(job.pk)
    SEAT.reset(token)
    assert heard == [f"test {job.pk}", (0.1, "word"), (0.2, "word"), (0.3, "word")]


def test_a_refusal_fails_in_its_own_words(works: Works, seat: Seat) -> None:
    """What the package refuses stands as it was worded."""

    def work(_running: Running) -> Any:
        raise UpsidesError("the oats are out; buy some")

    works(work)
    job = writes.ask("test")
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.failure) == (State.FAILED, "the oats are out; buy some.")


def test_a_mistake_fails_in_plain_words(works: Works, seat: Seat) -> None:
    """A mistake of the program's own is a sentence, and under it the one line that helps to find it."""
    works(lambda _running: 1 / 0)
    job = writes.ask("test")
    run(job.pk)
    job.refresh_from_db()
    words, detail = job.failure.split("\n")
    assert (job.state, words[:36]) == (State.FAILED, "The program made a mistake of its ow")
    assert detail.startswith("test_jobs.py:")
    assert detail.endswith("ZeroDivisionError: division by zero")


def test_a_missing_part_is_a_failed_job(monkeypatch: pytest.MonkeyPatch, seat: Seat) -> None:
    """A kind whose module is not there ends as failed, in words, and the worker goes on."""
    monkeypatch.setitem(KINDS, "gone", Kind("gone", "gone", "Gone", "upsides.nowhere:work", "gone"))
    job = writes.ask("gone")
    run(job.pk)
    job.refresh_from_db()
    assert job.state == State.FAILED
    assert "no part that does the job 'gone'" in job.failure


def test_every_kind_has_its_part() -> None:
    """Each kind that pages offer can be loaded."""
    assert all(callable(kind.work()) for kind in KINDS.values())


def test_a_waiting_job_is_stopped_at_once(works: Works, seat: Seat) -> None:
    """A job that waits is stopped before it begins, and the queue's row for it does nothing."""
    works(lambda _running: pytest.fail("begun"))
    job = writes.ask("test")
    writes.cancel(job, Person.objects.get(login="secretary"))
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.attempts) == (State.CANCELLED, 0)
    assert job.result == {"stopped_by": Person.objects.get(login="secretary").pk}
    with pytest.raises(JobEndedError, match="has ended already"):
        writes.cancel(job)


def test_a_running_job_stops_when_its_work_says_how_far_it_is(works: Works, seat: Seat) -> None:
    """Stopping strikes at the next word or checkpoint of the work; what comes after is not done."""

    def work(running: Running) -> Any:
        running.progress(0.1, "begun")
        writes.cancel(Job.objects.get(pk=running.held.number))
        running.said = 0.0
        running.progress(0.2, "never")
        pytest.fail("went on")

    works(work)
    job = writes.ask("test")
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.progress, job.doing) == (State.CANCELLED, 0.1, "")
    assert job.ended_at is not None


def test_a_heartbeat_hears_of_a_stop(works: Works, seat: Seat) -> None:
    """Work whose words come too fast to be written still stops, since its heartbeat looks too."""

    def work(running: Running) -> Any:
        writes.cancel(Job.objects.get(pk=running.held.number))
        running.said = sys.float_info.max
        running_beat(running)
        running.progress(0.2, "never")
        pytest.fail("went on")

    running_beat = running._beat_once
    works(work)
    job = writes.ask("test")
    run(job.pk)
    job.refresh_from_db()
    assert job.state == State.CANCELLED


def test_a_leaving_worker_puts_its_job_back(works: Works, seat: Seat) -> None:
    """When its worker ends, a job waits again with its checkpoint, is in the queue, and the try is not counted."""

    def work(running: Running) -> Any:
        running.keep(["one"])
        seat.leaving.set()
        running.progress(0.5, "never")
        pytest.fail("went on")

    works(work)
    job = writes.ask("test")
    DBTaskResult.objects.all().delete()
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.checkpoint, job.attempts, job.worker) == (State.WAITING, ["one"], 0, "")
    assert queued() == [job.pk]


def test_work_goes_on_from_its_checkpoint(works: Works, seat: Seat) -> None:
    """What an earlier worker kept is there for the next one."""
    works(lambda running: {"had": running.checkpoint})
    job = writes.ask("test")
    Job.objects.filter(pk=job.pk).update(checkpoint={"done": [1, 2]})
    run(job.pk)
    job.refresh_from_db()
    assert job.result == {"had": {"done": [1, 2]}}


def test_a_dead_workers_job_waits_again() -> None:
    """A job whose worker is silent waits again and is in the queue; one whose worker lives, or looks, is left alone."""
    lives, died = writes.ask("fit"), writes.ask("backup")
    for job in (lives, died):
        claims.claim(job.pk, "somebody")
    DBTaskResult.objects.update(status=TaskResultStatus.RUNNING, started_at=datetime.now(UTC) - timedelta(minutes=2))
    silence(died)
    assert writes.revive("somebody") == 0
    assert writes.revive("another") == 1
    assert writes.revive() == 0
    lives.refresh_from_db()
    died.refresh_from_db()
    assert (lives.state, died.state, died.attempts) == (State.RUNNING, State.WAITING, 1)
    assert queued() == [died.pk]
    held = DBTaskResult.objects.filter(status=TaskResultStatus.RUNNING)
    assert [row.args_kwargs["args"] for row in held] == [[lives.pk]]


def test_a_worker_thought_dead_no_longer_writes(works: Works, seat: Seat) -> None:
    """When a job was taken up again by another, what the first worker says and finds changes nothing."""

    def work(running: Running) -> Any:
        job = Job.objects.get(pk=running.held.number)
        silence(job)
        writes.revive()
        claims.claim(job.pk, "another")
        with pytest.raises(JobStopped):
            running.keep("mine")
        return {"mine": True}

    works(work)
    job = writes.ask("test")
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.worker, job.checkpoint, job.result) == (State.RUNNING, "another", None, None)


def test_a_job_that_kills_its_workers_fails() -> None:
    """After three deaths a job fails, in words about what most often is behind it."""
    job = writes.ask("fit")
    for _ in range(writes.MOST_DEATHS):
        assert claims.claim(job.pk, "somebody") is not None
        silence(job)
        writes.revive()
    job.refresh_from_db()
    assert (job.state, job.attempts) == (State.FAILED, 3)
    assert "died each of the 3 times" in job.failure


def test_a_stopped_job_of_a_dead_worker_is_stopped() -> None:
    """A job that was to stop when its worker died is not begun again."""
    job = writes.ask("fit")
    claims.claim(job.pk, "somebody")
    writes.cancel(job)
    silence(job)
    writes.revive()
    job.refresh_from_db()
    assert job.state == State.CANCELLED


def test_a_job_that_the_queue_lost_is_found() -> None:
    """A job that waits while the queue does not hold it is put there again, once."""
    job = writes.ask("fit")
    DBTaskResult.objects.all().delete()
    assert (writes.revive(), writes.revive()) == (1, 0)
    assert queued() == [job.pk]


def test_jobs_of_one_turn_wait_for_each_other() -> None:
    """Two jobs that write fits are never done at once; the second is called up when the first has ended."""
    first, second, other = writes.ask("fit"), writes.ask("fits"), writes.ask("backup")
    assert claims.claim(first.pk, "one") is not None
    assert claims.claim(second.pk, "two") is None
    assert claims.claim(other.pk, "two") is not None
    assert queued().count(second.pk) == 2
    again = DBTaskResult.objects.filter(args_kwargs__args=[second.pk]).order_by("-enqueued_at")[0]
    assert again not in DBTaskResult.objects.ready()
    Job.objects.filter(pk=first.pk).update(state=State.DONE)
    tasks.call_up()
    assert again in DBTaskResult.objects.ready()
    assert claims.claim(second.pk, "two") is not None


def test_old_jobs_are_dropped() -> None:
    """Jobs that ended long ago go, later ones and those that wait stay; of the queue's rows only the ended ones go."""
    now = clock.now()
    old, late, waits = (writes.ask("fit", {"n": n}) for n in range(3))
    Job.objects.filter(pk=old.pk).update(state=State.DONE, ended_at=now - writes.KEPT - timedelta(days=1))
    Job.objects.filter(pk=late.pk).update(state=State.DONE, ended_at=now - writes.KEPT + timedelta(days=1))
    done = DBTaskResult.objects.filter(args_kwargs__args=[old.pk])
    done.update(status=TaskResultStatus.SUCCESSFUL, finished_at=datetime.now(UTC) - timedelta(days=2))
    writes.prune(now)
    assert set(Job.objects.all()) == {late, waits}
    assert queued() == [late.pk, waits.pk]


def test_a_leaving_flag_is_each_workers_own() -> None:
    """Two places do not share the flag that ends one of them."""
    one, other = Seat("one"), Seat("other")
    one.leaving.set()
    assert isinstance(other.leaving, Event)
    assert not other.leaving.is_set()


def test_what_goes_in_the_quick_lane() -> None:
    """Lots and a morning's recordings are quick; a season's recordings, fits and kinds that are no more are not."""
    few, many = ({"do": "read", "files": [{}] * n} for n in (12, 13))
    assert lane("lots", {"day": "2026-06-20"}) == lane("recordings", few) == "quick"
    assert {lane("recordings", many), lane("recordings", {"do": "gallops"}), lane("fit", {}), lane("gone", {})} == {
        "default"
    }
