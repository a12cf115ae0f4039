"""The kinds of work that make fits and look after the books, on nine months of the invented country."""

import json
from datetime import date
from pathlib import Path

import pytest
from django.conf import settings

from upsides.books import clock
from upsides.books.jobs import fits
from upsides.books.jobs.running import Seat, run
from upsides.books.models import Job
from upsides.books.services import jobs as writes
from upsides.demo import rulebook, simulate
from upsides.ratings.kept_fits import kept_fit, read_fit
from upsides.results.importing import add_frames
from upsides.results.library import Library

pytestmark = pytest.mark.django_db
TODAY = date(2026, 6, 17)
"""A Wednesday."""


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a library of these months without a fit."""
    folder = tmp_path_factory.mktemp("filled")
    world = simulate(first=date(2025, 9, 1))
    (folder / "rules.toml").write_text(rulebook(), encoding="utf-8")
    add_frames(Library.create(folder), world.races, world.runs, "invented")
    return folder


@pytest.fixture
def here(filled: Path, seat: Seat, monkeypatch: pytest.MonkeyPatch) -> Seat:
    """A worker's place beside that library, on a known day."""
    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", filled)
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    return seat


def test_figures_of_today_are_those_that_pages_show(here: Seat, filled: Path) -> None:
    """The job "fit" makes the fit of the yard's day, pages show that one, and its result says what went in."""
    job = writes.ask("fit")
    run(job.pk)
    job.refresh_from_db()
    assert job.state == Job.State.DONE, job.failure
    made = read_fit(filled)
    assert made.as_of == TODAY == kept_fit(filled, TODAY).as_of
    assert job.result == {"as_of": str(TODAY)} | {name: made.manifest[name] for name in ("runs", "horses", "races")}


def test_past_weeks_are_taken_up_where_they_were_left(
    here: Seat, filled: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The job "fits" makes the Mondays' fits, latest first; taken up again it makes only those that are not kept."""
    began: list[date] = []
    make = fits.make_fit_with_trips

    def leave_at_the_second(library: Library, day: date, **how: object) -> object:
        began.append(day)
        if len(began) == 2:
            here.leaving.set()
        return make(library, day, **how)  # type: ignore[arg-type]

    monkeypatch.setattr(fits, "make_fit_with_trips", leave_at_the_second)
    job = writes.ask("fits", {"weeks": 2})
    run(job.pk)
    job.refresh_from_db()
    mondays = ["2026-06-15", "2026-06-08"]
    assert (job.state, job.checkpoint) == (Job.State.WAITING, {"days": mondays, "done": {"2026-06-15": "made"}})
    here.leaving.clear()
    run(job.pk)
    job.refresh_from_db()
    assert [str(day) for day in began] == ["2026-06-15", "2026-06-08", "2026-06-08"]
    assert (job.state, job.result) == (Job.State.DONE, {"made": mondays, "stood": 0, "too_early": 0})
    assert [read_fit(filled, date.fromisoformat(day)).as_of for day in mondays] == [date(2026, 6, 15), date(2026, 6, 8)]

    again = writes.ask("fits", {"weeks": 2})
    run(again.pk)
    again.refresh_from_db()
    assert again.result == {"made": [], "stood": 2, "too_early": 0}


def test_a_week_before_all_results_is_left_out(here: Seat, monkeypatch: pytest.MonkeyPatch) -> None:
    """A Monday with too few results before it is counted as such and holds up no other."""
    monkeypatch.setattr(clock, "today", lambda: date(2025, 8, 27))
    job = writes.ask("fits", {"weeks": 2})
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result) == (Job.State.DONE, {"made": [], "stood": 0, "too_early": 2})


def test_a_stopped_fit_leaves_the_one_that_stood(here: Seat, filled: Path) -> None:
    """Stopping strikes within a fit, and of its work nothing is left in the library's folder."""
    job = writes.ask("fit", {"day": "2026-05-04"})
    here.leaving.set()
    run(job.pk)
    job.refresh_from_db()
    assert job.state == Job.State.WAITING
    assert not (filled / "fits" / "2026-05-04").exists()
    assert [place.name for place in filled.glob("fits/.*")] in ([], [".latest.new"])


def test_backup_and_check(here: Seat, monkeypatch: pytest.MonkeyPatch) -> None:
    """The jobs "backup" and "check" hand on what the commands of these names find."""
    monkeypatch.setattr("upsides.books.jobs.care.back_up", lambda folder, to, progress, keep: Made(to, keep))
    monkeypatch.setattr("upsides.books.jobs.care.check_books", lambda folder, progress: [Found(True), Found(False)])
    for kind, arguments, result in (
        ("backup", {}, {"file": "None 14", "bytes": 7}),
        ("backup", {"to": "/elsewhere"}, {"file": "/elsewhere 14", "bytes": 7}),
        ("check", {}, {"looked_at": 2, "wrong": ["False"]}),
    ):
        job = writes.ask(kind, arguments)
        run(job.pk)
        job.refresh_from_db()
        assert (job.failure, job.result) == ("", json.loads(json.dumps(result)))


class Made:
    """What making a backup returns, as far as the job reads it."""

    def __init__(self, to: Path | None, keep: int) -> None:
        self.file, self.bytes = f"{to} {keep}", 7


class Found:
    """What checking returns, as far as the job reads it."""

    def __init__(self, well: bool) -> None:  # noqa: FBT001 (as in the finding itself)
        self.well, self.words = well, str(well)
