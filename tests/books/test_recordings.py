"""Recordings on their way into the books: kept, read once, matched to horses, given by hand, taken back."""

import gzip
import io
import zipfile
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import numpy as np
import pytest
from django.db import IntegrityError, transaction

import given_recordings as given
from upsides.books import clock
from upsides.books.jobs.running import run
from upsides.books.models import Gallop, Horse, Job, Outing, Person, Recorded, SetAside, Tracker
from upsides.books.outings import kept_messages, read_messages
from upsides.books.queries import moments
from upsides.books.queries.outings import of_horse, on_day
from upsides.books.queries.recordings import track_of, unclaimed, waiting
from upsides.books.recordings.files import original, original_file, track_file
from upsides.books.recordings.session import Session
from upsides.books.sent import Sent
from upsides.books.services import recordings as services
from upsides.books.services.diary import Draft, record
from upsides.books.services.gallops import draw_gallop
from upsides.books.services.outings import enter, give, put_aside, standing_of, take_from
from upsides.books.services.recordings import look_in, receive
from upsides.errors import (
    GivenError,
    NoRecordingsError,
    NotGivenError,
    OriginalMissingError,
    RecordingTooLargeError,
    TooManyRecordingsError,
)
from upsides.errors.wording import of_kept
from upsides.recordings.recording import Device, Message
from upsides.trade.units import FURLONG_M

pytestmark = pytest.mark.django_db
Take = Callable[..., dict[str, Any]]


@pytest.fixture
def do(folder: Path, seat: Any) -> Any:
    """A function that does a job here, as a worker would, and returns its row."""

    def of(job: Job) -> Job:
        run(job.pk)
        job.refresh_from_db()
        return job

    return of


@pytest.fixture
def take(do: Callable[[Job], Job]) -> Take:
    """A function that sends files by their names and reads them, and returns what the job says."""

    def of(**files: bytes) -> dict[str, Any]:
        sent = [Sent(name.replace("__", "."), io.BytesIO(data)) for name, data in files.items()]
        job = do(receive(sent))
        assert job.state == Job.State.DONE, job.failure
        return dict(job.result)

    return of


def horses() -> list[Horse]:
    return list(moments.in_training(moments.now()).order_by("pk"))


def drawn() -> Gallop:
    row = Gallop(name="Straight six", surface="woodchip")
    return draw_gallop(row, given.LINE)


def test_a_recording_is_kept_read_and_measured_once(folder: Path, take: Take, at: datetime) -> None:
    """A file comes in as one recording with its track and original; the same again, packed or not, changes nothing.

    At an even 10 m/s a furlong of 201.168 m takes 20.117 s, which is what the marks of the gallop must say.
    """
    gallop, data = drawn(), given.fit(at)
    told = take(a__fit=data)
    assert (told["read"], told["already"], told["refused"], told["unclaimed"]) == (1, 0, 0, 1)
    row = Recorded.objects.get()
    assert (row.file, row.format, row.part, row.size, row.fixes) == ("a.fit", "fit", 0, len(data), given.way()[0].size)
    assert row.tracker == Tracker.objects.get(serial="7 4711")
    assert abs(row.began - at) < timedelta(seconds=1)
    assert original(folder, row.sha256, row.file) == data
    track, measured = track_of(row)
    assert np.nanmax(track.speed_ms) == pytest.approx(given.CANTER_MS, abs=0.3)
    (work,) = measured.works
    assert work.gallop is not None
    assert (work.gallop.number, work.gallop.forward) == (gallop.pk, True)
    taken = [split.seconds for split in work.gallop.splits]
    assert taken == pytest.approx([FURLONG_M / given.CANTER_MS] * 6, abs=0.1)

    assert take(b__fit=data)["already"] == 1
    assert take(c__fit__gz=gzip.compress(data))["already"] == 1
    assert Recorded.objects.count() == 1
    assert not list((folder / "recordings" / "waiting").iterdir())


def test_a_broken_file_says_why_and_stops_no_other(take: Take, folder: Path, at: datetime) -> None:
    """Of several files those that can be read are; of the others each has its own reason, and nothing of it is kept."""
    told = take(a__fit=given.fit(at), b__fit=b"no recording at all, only a line", c__gpx=b"")
    assert (told["read"], told["refused"]) == (1, 2)
    reasons = {one["file"]: of_kept(one["refused"]) for one in told["files"]}
    assert reasons["a.fit"] == ""
    assert reasons["b.fit"].startswith("b.fit: ")
    assert "empty" in reasons["c.gpx"]
    assert len(list((folder / "recordings").glob("*/*.gz"))) == 1


def test_an_archive_is_taken_apart(take: Take, at: datetime) -> None:
    """Each recording of an archive is one of its own, kept under its own hash, wherever else it comes from."""
    first, second = given.fit(at, serial="1001"), given.fit(at, serial="1002")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("one.fit", first)
        packed.writestr("two.fit", second)
    assert take(a__zip=out.getvalue())["read"] == 2
    assert sorted(Recorded.objects.values_list("file", flat=True)) == ["a.zip/one.fit", "a.zip/two.fit"]
    assert take(one__fit=first)["already"] == 1


def test_too_much_at_once_is_refused(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No file, too many files, too many bytes, and too large a file are refused, and nothing is left of them."""
    with pytest.raises(NoRecordingsError):
        receive([])
    monkeypatch.setattr(services, "MOST", 1)
    with pytest.raises(TooManyRecordingsError, match="2 files"):
        receive([Sent("a", io.BytesIO(b"a")), Sent("b", io.BytesIO(b"b"))])
    monkeypatch.setattr(services, "MOST_A_FILE", 3)
    with pytest.raises(RecordingTooLargeError):
        receive([Sent("a", io.BytesIO(b"abcd"))])
    monkeypatch.setattr(services, "MOST_BYTES", 2)
    with pytest.raises(TooManyRecordingsError):
        receive([Sent("a", io.BytesIO(b"abc"))])
    assert not Job.objects.filter(kind="recordings").exists()
    assert not list((folder / "recordings" / "waiting").iterdir())


def test_the_tracker_tells_the_horse(take: Take, at: datetime, trainer: Person) -> None:
    """A recording given by hand teaches whose the tracker is; the next of that tracker is that horse's by itself."""
    assert take(a__fit=given.fit(at))["unclaimed"] == 1
    horse, other = horses()[:2]
    (found,) = waiting(moments.now())
    before = given_by_hand = give(found.recorded, horse, trainer)
    assert (given_by_hand.matched, given_by_hand.author, given_by_hand.horse) == ("hand", trainer, horse)
    assert Tracker.objects.get().horse == horse
    assert waiting(moments.now()) == []
    assert take(b__fit=given.fit(at + timedelta(days=-1)))["unclaimed"] == 0
    second = Outing.objects.order_by("pk").last()
    assert second is not None
    assert (second.matched, second.horse, second.author) == ("tracker", horse, None)

    now = give(second.recorded, other, trainer)
    assert (now.supersedes, now.horse, now.measured) == (second, other, second.measured)
    assert [one.outing for one in of_horse(moments.now(), other.pk, second.day, second.day)] == [now]
    assert of_horse(moments.now(), horse.pk, second.day, second.day) == []
    assert [one.outing for one in on_day(moments.now(), before.day)] == [before]


def test_what_no_horse_does_waits_whatever_tracker_it_is_of(take: Take, at: datetime) -> None:
    """A tracker that was left on in the lorry is given to nobody by itself, nor one whose file is named for a horse."""
    horse = horses()[0]
    Tracker.objects.create(serial="7 4711", name="Forty-seven", horse=horse)
    named = f"{horse.name.replace(' ', '_')}__fit"
    take(a__fit=given.fit(at, canter_ms=28.0), **{named: given.fit(at, canter_ms=29.0, serial="")})
    assert not Outing.objects.exists()
    asked = waiting(moments.now())
    assert [one.offered[0].horse for one in asked] == [horse.pk] * 2
    assert all(one.measured is not None and not one.measured.speeds for one in asked)


def test_taking_back_leaves_it_waiting(take: Take, at: datetime, trainer: Person) -> None:
    """A recording taken from a horse waits again, can be given to another, and all that was said stays in the rows."""
    take(a__fit=given.fit(at))
    row = Recorded.objects.get()
    with pytest.raises(NotGivenError):
        take_from(row, trainer)
    give(row, horses()[0], trainer)
    take_from(row, trainer)
    assert standing_of(row) is None
    assert [one.recorded for one in waiting(moments.now())] == [row]
    last = give(row, horses()[1], trainer)
    assert standing_of(row) == last
    assert Outing.objects.filter(recorded=row).count() == 3


def test_nobodys_is_set_aside_and_brought_back(take: Take, at: datetime, trainer: Person) -> None:
    """A recording of no horse waits for none any more until it is brought back, or given; before that moment it waited,
    and what was said is never changed."""
    take(a__fit=given.fit(at))
    row, horse = Recorded.objects.get(), horses()[0]
    put_aside(row, trainer, on=True)
    put_aside(row, trainer, on=True)
    said = SetAside.objects.get()
    assert unclaimed(moments.now()).count() == 0
    assert unclaimed(moments.as_of(said.recorded_at - timedelta(microseconds=1))).count() == 1
    put_aside(row, trainer, on=False)
    assert unclaimed(moments.now()).count() == 1
    put_aside(row, trainer, on=True)
    give(row, horse, trainer)
    with pytest.raises(GivenError, match="take it from that horse first"):
        put_aside(row, trainer, on=True)
    take_from(row, trainer)
    assert unclaimed(moments.now()).count() == 1
    assert [one.on for one in SetAside.objects.all()] == [True, False, True, False]
    with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
        said.delete()


def test_rows_are_never_changed(take: Take, at: datetime, trainer: Person) -> None:
    """The tables themselves refuse a change of a recording or an outing, whoever asks."""
    take(a__fit=given.fit(at))
    outing = give(Recorded.objects.get(), horses()[0], trainer)
    with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
        Outing.objects.filter(pk=outing.pk).update(metres=1)
    with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
        Recorded.objects.update(fixes=0)


def test_the_name_of_the_file_tells_the_horse(take: Take, at: datetime) -> None:
    """A file that is named for a horse is that horse's; where the tracker is known for another's, somebody is asked."""
    horse, other = horses()[:2]
    named = f"{horse.name.upper().replace(' ', '_')} 1 June.fit"
    assert take(**{named: given.fit(at, serial="")})["unclaimed"] == 0
    assert (Outing.objects.get().horse, Outing.objects.get().matched) == (horse, "name")

    Tracker.objects.create(serial="7 99", name="Ninety-nine", horse=other)
    assert take(**{named: given.fit(at + timedelta(hours=2), serial="99")})["unclaimed"] == 1
    (asked,) = waiting(moments.now())
    assert {one.horse for one in asked.offered[:2]} == {horse.pk, other.pk}


def test_the_lot_tells_the_horse(take: Take, at: datetime, trainer: Person) -> None:
    """Where one horse alone was ordered out, a recording of that morning is its; where two were, those are offered."""
    one, two = horses()[:2]
    day = at.astimezone(clock.place().zone)

    def order(horse: Horse, exercise: str, when: datetime) -> None:
        record(Draft(uuid4(), "ordered", horse.pk, {"exercise": exercise, "lot": "1"}, clock.now(), when), trainer)

    long_ago = day - timedelta(days=2000)
    order(one, "steady_canter", long_ago)
    take(a__fit=given.fit(long_ago, serial=""))
    assert (Outing.objects.get().horse, Outing.objects.get().matched) == (one, "lot")

    order(one, "fast", long_ago - timedelta(days=1))
    order(two, "steady_canter", long_ago - timedelta(days=1))
    take(b__fit=given.fit(long_ago - timedelta(days=1), serial=""))
    (asked,) = waiting(moments.now())
    assert [each.horse for each in asked.offered[:2]] == [two.pk, one.pk]
    assert [each.fits for each in asked.offered[:2]] == [True, False]


def test_a_recording_with_a_wrong_clock_waits(take: Take, at: datetime, trainer: Person) -> None:
    """A known tracker whose clock says 1980, or next month, is not put down to a wrong day, but waits."""
    horse = horses()[0]
    Tracker.objects.create(serial="7 4711", name="Forty-seven", horse=horse)
    take(a__fit=given.fit(at.replace(year=1995)), b__fit=given.fit(at + timedelta(days=30)))
    assert not Outing.objects.exists()
    assert len(waiting(moments.now())) == 2
    late = Recorded.objects.get(file="b.fit")
    assert "clock_ahead" in {one.code for one in read_messages(late.messages)}


def test_what_databases_do_not_take_is_left_out(folder: Path) -> None:
    """Signs that stand for nothing, and halves of letters, in names out of files do not stop a recording."""
    odd = "odd\0 \udce9.fit"
    device = Device("7", "", "12\0")
    told = (Message("encoding", {"encoding": "it says \0 \ud800"}),)
    session = Session("a" * 64, 0, odd, "fit", 1, device, "tr\0ot", None, None, 0, told, None)
    row = enter(session).recorded
    row.refresh_from_db()
    assert (row.file, row.sport, row.messages) == ("odd ?.fit", "trot", kept_messages(told))
    assert row.messages == [{"code": "encoding", "values": {"encoding": "it says  ?"}}]


def test_a_lost_track_is_made_again(take: Take, at: datetime, folder: Path) -> None:
    """A track that is gone or damaged is made again from the original, as it was; without the original it says so."""
    take(a__fit=given.fit(at))
    row = Recorded.objects.get()
    place = track_file(folder, row.sha256, row.part)
    whole = place.read_bytes()
    place.write_bytes(whole[: len(whole) // 2])
    track_of(row)
    assert place.read_bytes() == whole
    place.unlink()
    original_file(folder, row.sha256).unlink()
    with pytest.raises(OriginalMissingError, match=r"a\.fit"):
        track_of(row)


def test_a_gallop_drawn_later_knows_its_works(
    take: Take, at: datetime, trainer: Person, do: Callable[[Job], Job]
) -> None:
    """Works done before a gallop was drawn are found on it afterwards, by rows that correct the earlier ones."""
    take(a__fit=given.fit(at))
    before = give(Recorded.objects.get(), horses()[0], trainer)
    assert before.measured["works"][0].get("gallop") is None
    gallop = drawn()
    done = do(Job.objects.get(kind="recordings", state="waiting"))
    assert done.result["changed"] == 1
    (found,) = on_day(moments.now(), before.day)
    (work,) = found.measured.works
    assert found.outing.supersedes == before
    assert work.gallop is not None
    assert work.gallop.number == gallop.pk
    assert (gallop.length_m, len(work.gallop.splits)) == (round(given.LENGTH_M), 6)


def test_as_of_an_earlier_moment_nothing_is_known_yet(take: Take, at: datetime, trainer: Person) -> None:
    """Before a recording came in, there is neither it nor what its horse did by it."""
    early = clock.now() - timedelta(minutes=5)
    take(a__fit=given.fit(at))
    outing = give(Recorded.objects.get(), horses()[0], trainer)
    assert len(of_horse(moments.now(), outing.horse_id, outing.day, outing.day)) == 1
    then = moments.as_of(early)
    assert of_horse(then, outing.horse_id, outing.day, outing.day) == []
    assert waiting(then) == []


def test_files_laid_into_the_folder_are_taken_in(folder: Path, at: datetime, do: Callable[[Job], Job]) -> None:
    """A file that stands still from one look to the next is read and moved; a bad one is moved with its reason."""
    incoming = folder / "incoming"
    incoming.mkdir()
    (incoming / "good.fit").write_bytes(given.fit(at))
    (incoming / "bad.fit").write_bytes(b"nothing that anybody reads")
    (incoming / "half.fit").write_bytes(b"half")
    (incoming / "link.fit").symlink_to("/etc/passwd")
    seen = look_in({})
    assert not Job.objects.filter(kind="recordings").exists()
    (incoming / "half.fit").write_bytes(b"half and more")
    look_in(seen)
    job = Job.objects.get(kind="recordings")
    assert [one["name"] for one in job.arguments["files"]] == ["bad.fit", "good.fit"]
    look_in(seen)
    assert Job.objects.filter(kind="recordings").count() == 1
    done = do(job)
    assert (done.result["read"], done.result["refused"]) == (1, 1)
    assert sorted(path.name for path in incoming.iterdir()) == ["half.fit", "link.fit", "read", "refused"]
    assert (incoming / "read" / "good.fit").exists()
    assert (incoming / "refused" / "bad.fit.txt").read_text().startswith("bad.fit: ")


def test_many_files_are_read_by_several_processes(take: Take, at: datetime, monkeypatch: pytest.MonkeyPatch) -> None:
    """Read by processes of their own, files come to the same as read here, in the same order."""
    from upsides.books.jobs import recordings as jobs

    files = {f"f{k}__fit": given.fit(at - timedelta(days=k), serial=str(100 + k)) for k in range(3)}
    monkeypatch.setattr(jobs, "MANY", 2)
    told = take(**files)
    assert [one["file"] for one in told["files"]] == ["f0.fit", "f1.fit", "f2.fit"]
    assert told["read"] == 3


def test_a_recording_1024_weeks_early_is_of_its_day(take: Take, folder: Path) -> None:
    """A file that comes in from a receiver whose weeks ran over is of the day 1,024 weeks later, says so, and stays so
    where its track has to be made again."""
    horse, began = horses()[0], clock.now().replace(microsecond=0) - timedelta(days=1)
    Tracker.objects.create(serial="7 4711", name="Forty-seven", horse=horse)
    take(a__fit=given.fit(began - timedelta(weeks=1024)))
    mended, recorded = Outing.objects.get(), Recorded.objects.get()
    assert mended.day == began.astimezone(clock.place().zone).date()
    assert "weeks_put_right_lately" in {one.code for one in read_messages(recorded.messages)}
    track_file(folder, recorded.sha256, recorded.part).unlink()
    assert track_of(recorded)[0].time_s[0] == pytest.approx(began.timestamp(), abs=1)


@pytest.mark.parametrize(
    ("began", "day"),
    [
        (datetime(2025, 6, 30, 22, 55, tzinfo=UTC), date(2025, 6, 30)),  # 23:55 in summer time
        (datetime(2025, 6, 30, 23, 5, tzinfo=UTC), date(2025, 7, 1)),  # five past midnight
        (datetime(2025, 10, 25, 23, 30, tzinfo=UTC), date(2025, 10, 26)),  # half past midnight, clocks go back at two
        (datetime(2025, 10, 26, 23, 30, tzinfo=UTC), date(2025, 10, 26)),  # half past eleven, winter time
        (datetime(2026, 3, 29, 23, 30, tzinfo=UTC), date(2026, 3, 30)),  # half past midnight, summer time began
    ],
)
def test_the_day_is_the_yards(take: Take, began: datetime, day: date) -> None:
    """The day of an outing is that of the yard's clock when it began, around midnight and a change of the clock too."""
    horse = horses()[0]
    Tracker.objects.create(serial="7 4711", name="Forty-seven", horse=horse)
    assert str(clock.place().zone) == "Europe/London"
    take(a__fit=given.fit(began))
    assert Outing.objects.get().day == day
