"""Files of an invented yard's trackers, made and read: stopped half-way they go on where they were."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from upsides.books.jobs.running import run
from upsides.books.models import Job, Outing, Recorded, Tracker
from upsides.books.queries import moments
from upsides.books.queries.recorded import begun_on
from upsides.books.recordings import inventing
from upsides.books.recordings.files import original_file
from upsides.books.services import invented_recordings as services
from upsides.books.services.recordings import look_in
from upsides.demo.tracked.filing import files_of
from upsides.demo.tracked.session import WALKS, Session

pytestmark = pytest.mark.django_db


class StoppedError(Exception):
    """Somebody stopped it."""


def morning(number: int) -> Session:
    """Return a horse's walk on one of several days."""
    day = date(2026, 6, 10) + timedelta(days=number)
    out = datetime(day.year, day.month, day.day, 5, tzinfo=UTC)
    return Session(17, "horse", "", "40710260", day, out, WALKS, "", 0.0, "", 0.5, "")


def test_what_was_read_is_not_made_again(loaded: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of three mornings two are read before it is stopped; the second time only the third is made, what came of all
    three is as if nothing had happened, and progress is told to the end."""
    made: list[str] = []
    files_of = inventing.files_of

    def noted(sessions: tuple[Session, ...]) -> list[tuple[str, bytes]]:
        made.extend(one.file for one in sessions)
        return files_of(sessions)

    monkeypatch.setattr(inventing, "files_of", noted)
    sessions, told = [morning(n) for n in range(3)], list[float]()

    def stop(share: float, _doing: str) -> None:
        if share > 0.5:
            raise StoppedError

    done = tmp_path / "done.ledger"
    with pytest.raises(StoppedError):
        _made(tmp_path, sessions, done, stop)
    first = list(made)
    came = _made(tmp_path, sessions, done, lambda share, _doing: told.append(share))
    assert set(made[len(first) :]) & set(first[:2]) == set()
    assert sessions[2].file in made
    assert list(came) == [one.file for one in sessions]
    assert all(original_file(tmp_path, one.sha).exists() for one in came.values())
    assert {one.device.serial for one in came.values()} == {"40710260"}
    assert all(one.measured and one.measured["bouts"] for one in came.values())
    assert told == pytest.approx([1 / 3, 2 / 3, 1.0])
    assert came == _made(tmp_path / "again", sessions, tmp_path / "again.ledger", services.unheard)


def test_a_file_of_this_morning_is_taken_out_of_the_folder(
    loaded: Any, at: datetime, seat: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file of a morning of the yard's own day, laid into the folder of incoming files, is of the horse that wears
    the tracker, whatever the hour is, and stands among the day's."""
    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    (tmp_path / "incoming").mkdir()
    for out in (at - timedelta(days=1), at):
        session = Session(17, "horse", "", "40710260", out.date(), out, WALKS, "", 0.0, "", 0.5, "")
        for name, data in files_of((session,)):
            (tmp_path / "incoming" / name).write_bytes(data)
        look_in(look_in({}))
        run(Job.objects.get(kind="recordings", state=Job.State.WAITING).pk)
        Tracker.objects.update(horse=moments.in_training(moments.now()).order_by("pk").first())
    today = Recorded.objects.get(began__gte=at)
    outing = Outing.objects.get(recorded=today)
    assert (outing.day, outing.matched) == (moments.now().day, "tracker")
    assert outing.horse == Tracker.objects.get().horse
    assert [one.recorded for one in begun_on(moments.now(), outing.day)] == [today]


def _made(folder: Path, sessions: Sequence[Session], done: Path, progress: Any) -> dict[str, Any]:
    return services._made(folder, sessions, done, progress)
