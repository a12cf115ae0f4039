"""Workers as processes of their own: killed, stopped calmly, two at once."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryFile

import pytest

from desk import PATIENCE_S, Desk, desk, until

STEPS = 6

SLOW = """
from pathlib import Path
from time import sleep
from upsides.books.jobs.kinds import KINDS, Kind

def steps(running):
    done = list(running.checkpoint or [])
    for turn in range(len(done), running.arguments["steps"]):
        with Path(running.arguments["log"]).open("a") as log:
            log.write(f"{turn}\\n")
        for _ in range(4):
            running.progress(turn / running.arguments["steps"], f"step {turn}")
            sleep(0.1)
        done.append(turn * turn)
        running.keep(done)
    return {"squares": done}

def silent(running):
    Path(running.arguments["log"]).write_text("begun")
    sleep(running.arguments["seconds"])
    return {"slept": True}

KINDS["steps"] = Kind("steps", "steps", "Steps", "slow_kinds:steps", "steps")
KINDS["dart"] = Kind("dart", "dart", "Dart", "slow_kinds:steps", "dart", lambda asked: asked["steps"] < 9)
KINDS["silent"] = Kind("silent", "silence", "Silence", "slow_kinds:silent", "silent")
"""
"""Kinds of work for these tests only."""

COMMAND = "import slow_kinds; from upsides.cli.main import main; main()"


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Books for the tests of this module, and the kinds of work above for every process that opens them."""
    base = tmp_path_factory.mktemp("workers")
    (base / "code").mkdir()
    (base / "code" / "slow_kinds.py").write_text(SLOW, encoding="utf-8")
    path = os.pathsep.join(filter(None, [str(base / "code"), os.environ.get("PYTHONPATH")]))
    with desk(base / "library", PYTHONPATH=path) as found:
        found.say("import slow_kinds")
        yield found


@pytest.fixture
def books(opened: Desk) -> Iterator[Desk]:
    """The same books without any job."""
    opened.clear()
    yield opened
    opened.clear()


@contextmanager
def worker(books: Desk, *options: str) -> Iterator[subprocess.Popen[str]]:
    """Give a worker that has begun to look for jobs."""
    command = [sys.executable, "-c", COMMAND, "jobs", "--library", str(books.folder), *options]
    with (
        TemporaryFile("w+") as errors,
        subprocess.Popen(command, env=books.env, stdout=subprocess.PIPE, stderr=errors, text=True) as process,
    ):
        try:
            assert process.stdout is not None
            said = process.stdout.readline()
            errors.seek(0)
            assert said.startswith("Waiting for jobs as "), errors.read()
            yield process
        finally:
            process.kill()


def lines(log: Path) -> list[int]:
    return [int(line) for line in log.read_text().split()] if log.exists() else []


def test_a_killed_workers_job_is_finished_by_another(books: Desk, tmp_path: Path) -> None:
    """After kill -9 another worker goes on from the checkpoint to the same result, and repeats nothing kept."""
    log = tmp_path / "log"
    number = books.ask("steps", steps=STEPS, log=str(log))
    with worker(books) as busy:
        until(lambda: len(lines(log)) >= 3)
        busy.kill()
        busy.wait()
    left = books.job(number)
    assert (left["state"], left["attempts"]) == ("running", 1)
    kept = len(left["checkpoint"])
    assert 2 <= kept < STEPS
    books.say(
        "ago = timedelta(minutes=1)\n"
        "Job.objects.update(heartbeat_at=Now() - ago)\n"
        "DBTaskResult.objects.update(started_at=F('started_at') - ago)"
    )
    with worker(books):
        done = books.until(number, "done", "failed")
        rows = "said = list(DBTaskResult.objects.values_list('status', flat=True))"
        until(lambda: books.say(rows) == ["SUCCESSFUL"])
    assert (done["state"], done["attempts"]) == ("done", 2)
    assert done["result"] == {"squares": [turn * turn for turn in range(STEPS)]}
    assert lines(log)[-(STEPS - kept) :] == list(range(kept, STEPS))
    assert all(lines(log).count(turn) == 1 for turn in range(kept))


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_a_worker_ends_calmly(books: Desk, tmp_path: Path, how: signal.Signals) -> None:
    """Told to end, a worker puts its job back with its checkpoint, as if it had not been tried, and ends well."""
    log = tmp_path / "log"
    number = books.ask("steps", steps=500, log=str(log))
    with worker(books) as busy:
        until(lambda: len(lines(log)) >= 2)
        busy.send_signal(how)
        assert busy.wait(PATIENCE_S) == 0
    job = books.job(number)
    assert (job["state"], job["attempts"], job["worker"]) == ("waiting", 0, "")
    assert len(job["checkpoint"]) >= 1
    ready = books.say("said = [row.args_kwargs['args'] for row in DBTaskResult.objects.filter(status='READY')]")
    assert ready == [[number]]


def test_work_that_does_not_listen_is_put_back_too(books: Desk, tmp_path: Path) -> None:
    """A worker whose work says nothing for long ends soon all the same, and its job waits again."""
    log = tmp_path / "log"
    number = books.ask("silent", seconds=600, log=str(log))
    with worker(books) as busy:
        until(log.exists)
        busy.terminate()
        assert busy.wait(PATIENCE_S) == 0
    assert (books.job(number)["state"], books.job(number)["attempts"]) == ("waiting", 0)


def test_silent_work_is_known_to_live(books: Desk, tmp_path: Path) -> None:
    """While its work says nothing a worker renews its heartbeat, so that nobody takes the job away."""
    log = tmp_path / "log"
    number = books.ask("silent", seconds=8, log=str(log))
    with worker(books):
        until(log.exists)
        first = books.job(number)
        later = until(lambda: found if (found := books.job(number))["heartbeat_at"] != first["heartbeat_at"] else None)
        assert (later["state"], later["attempts"], later["progress"]) == ("running", 1, 0.0)
        assert books.until(number, "done", "failed")["result"] == {"slept": True}


def test_two_workers_do_each_job_once(books: Desk, tmp_path: Path) -> None:
    """Two workers on the same books share the jobs, and none is done twice."""
    logs = [tmp_path / f"log{turn}" for turn in range(6)]
    numbers = [books.ask("steps", steps=2, log=str(log)) for log in logs]
    with worker(books), worker(books):
        done = [books.until(number, "done", "failed") for number in numbers]
    assert [job["state"] for job in done] == ["done"] * 6
    assert [lines(log) for log in logs] == [[0, 1]] * 6
    assert [job["attempts"] for job in done] == [1] * 6


def test_quick_jobs_have_a_lane_of_their_own(books: Desk, tmp_path: Path) -> None:
    """While a long job keeps one worker, another does quick ones only; killed, its job is finished by the next.

    A worker of both lanes takes what is quick first.
    """
    log, other = tmp_path / "log", tmp_path / "other"
    long = books.ask("steps", steps=500, log=str(other))
    with worker(books):
        until(lambda: lines(other))
        with worker(books, "--quick") as quick:
            first = books.until(books.ask("dart", steps=2, log=str(log)), "done", "failed")
            assert (first["state"], books.job(long)["state"]) == ("done", "running")
            waits = books.ask("silent", seconds=1, log=str(tmp_path / "silence"))
            number = books.ask("dart", steps=6, log=str(log))
            until(lambda: len(lines(log)) >= 4)
            quick.kill()
            quick.wait()
        books.say("Job.objects.filter(kind='dart').update(heartbeat_at=Now() - timedelta(minutes=1))")
        with worker(books, "--quick"):
            done = books.until(number, "done", "failed")
        assert (done["state"], done["attempts"], done["result"]) == ("done", 2, {"squares": [0, 1, 4, 9, 16, 25]})
        assert books.job(waits)["state"] == "waiting"
    books.clear()
    late = books.ask("silent", seconds=1, log=str(tmp_path / "silence"))
    soon = books.ask("dart", steps=1, log=str(log))
    with worker(books):
        books.until(late, "done", "failed")
    assert books.job(soon)["ended_at"] <= books.job(late)["started_at"]
