"""Works of a horse out of every source: tracker, stopwatch, and orders where nobody measured."""

from collections.abc import Sequence
from datetime import UTC, datetime, time, timedelta
from math import isnan
from uuid import uuid4

import numpy as np
import pytest

import given_recordings as given
from upsides.books import clock
from upsides.books.models import Entry, Gallop, Horse, Outing, Person, Recorded
from upsides.books.outings import kept, read
from upsides.books.queries import judged, moments
from upsides.books.queries.gallops import line_of
from upsides.books.queries.outings import of_horse
from upsides.books.queries.works import worked
from upsides.books.services.diary import Draft, record
from upsides.recordings.measured import Measured, Piece
from upsides.recordings.measuring import measured
from upsides.recordings.stopwatch import PRESS_SD_S
from upsides.recordings.tracking import track_of
from upsides.recordings.work import Work
from upsides.rules import NONE
from upsides.web.recordings.weeks import weeks_of

pytestmark = pytest.mark.django_db

LONG_AGO = timedelta(days=2000)
"""Before anything of the yard."""


@pytest.fixture
def horse(loaded: object) -> Horse:
    found = moments.in_training(moments.now()).order_by("pk").first()
    assert found is not None
    return found


@pytest.fixture
def at(loaded: object) -> datetime:
    """Half past five, UTC, of a morning of which the diary says nothing."""
    return datetime.combine(clock.today(), time(5, 30), UTC) - LONG_AGO


def gallop() -> Gallop:
    return Gallop.objects.create(name="Straight six", surface="woodchip", line=given.LINE)


def outing(horse: Horse, at: datetime, told: Measured, sha: str = "a") -> Outing:
    """Put what was measured into the books as a horse's."""
    came = Recorded.objects.create(
        sha256=sha * 64, file=f"{sha}.fit", format="fit", size=1, began=at, ended=at, fixes=1, recorded_at=clock.now()
    )
    more = {"metres": told.metres, "fast_m": told.fast_m, "measured": kept(told), "matched": "hand"}
    return Outing.objects.create(
        recorded=came, horse=horse, day=at.date(), began=at, recorded_at=clock.now(), **more
    )  # fmt: skip


def told(at: datetime, row: Gallop) -> Measured:
    recording = given.recording(at)
    return measured(track_of(recording), recording, {row.pk: line_of(row.name, row.line, row.marks)})


def said(horse: Horse, kind: str, at: datetime, author: Person, **values: object) -> Entry:
    return record(Draft(uuid4(), kind, horse.pk, values, clock.now(), at), author)


def works(horse: Horse, at: datetime, days: int = 1) -> Sequence[Work]:
    return worked(moments.now(), horse.pk, at.date() - timedelta(days=days - 1), at.date())


def test_what_is_kept_is_what_was_measured(at: datetime) -> None:
    """Read back out of the books, what was measured is the same to the digits that are kept."""
    recording = given.recording(at)
    found = measured(track_of(recording), recording, {7: line_of("Straight six", given.LINE, ())})
    again = read(kept(found))
    assert kept(again) == kept(found)
    assert [one.kind for one in again.bouts] == [one.kind for one in found.bouts]
    assert again.metres == pytest.approx(found.metres, abs=0.5)
    assert again.works[0].gallop is not None
    assert again.works[0].gallop.number == 7
    assert [one.seconds for one in again.works[0].furlongs] == pytest.approx(
        [one.seconds for one in found.works[0].furlongs], abs=0.005
    )
    assert sum(one.metres for one in again.speeds.values()) == pytest.approx(found.metres, abs=2)


def test_what_others_keep_with_the_heart_stays() -> None:
    """Whatever is worked out of a heart beyond what is read here is kept as it is."""
    values = kept(Measured(heart={"max": 210.0, "recovery": {"1": 120}, "v200": None}))
    assert kept(read(values))["heart"] == {"max": 210.0, "recovery": {"1": 120}, "v200": None}


def test_a_tracker_and_a_stopwatch_on_one_work_are_one(horse: Horse, at: datetime, trainer: Person) -> None:
    """One work by both clocks is listed once: the tracker's times, the stopwatch's words, and its own times beside."""
    row = gallop()
    done = outing(horse, at, told(at, row))
    started = at + timedelta(seconds=73)
    entry = said(
        horse, "clocked", started, trainer, splits="1f 20.3, 2f 40.1, 6f 120.9", gallop=str(row.pk),
        instruction="steady", left="plenty", rider_kg="58 kg",
    )  # fmt: skip
    (work,) = works(horse, at)
    assert (work.source, work.outing, work.entry) == ("tracker", done.pk, entry.pk)
    assert (work.gallop, work.forward, work.instruction, work.left, work.rider_kg) == (
        row.pk, True, "steady", "plenty", 58.0,
    )  # fmt: skip
    assert work.speed_ms == pytest.approx(given.CANTER_MS, abs=0.4)
    assert work.thumb is not None
    assert [split.seconds for split in work.thumb.splits] == pytest.approx([20.3, 19.8, 80.8])
    assert [split.sd_s for split in work.thumb.splits] == pytest.approx([PRESS_SD_S * 2**0.5] * 3)


def test_a_stopwatch_alone_has_its_own_error(horse: Horse, at: datetime, trainer: Person) -> None:
    """Without a tracker the stopwatch counts: three furlongs in 45 s are 13.4 m/s, as known as two presses are."""
    said(horse, "clocked", at, trainer, splits="1f 15.2, 3f 45.0", left="little")
    (work,) = works(horse, at)
    assert (work.source, work.left, work.thumb) == ("thumb", "little", None)
    assert work.metres == pytest.approx(603.5, abs=0.1)
    assert work.speed_ms == pytest.approx(603.504 / 45.0, abs=0.01)
    assert work.speed_sd_ms == pytest.approx(603.504 / 45.0 * PRESS_SD_S * 2**0.5 / 45.0, rel=1e-3)


def test_two_works_of_a_morning_stay_two(horse: Horse, at: datetime, trainer: Person) -> None:
    """A stopwatch's work at another time than the tracker's is a work of its own, and the later one comes first."""
    outing(horse, at, told(at, gallop()))
    said(horse, "clocked", at + timedelta(minutes=40), trainer, splits="1f 15.2, 3f 45.0")
    assert [work.source for work in works(horse, at)] == ["thumb", "tracker"]


def test_two_recordings_of_one_work_are_one(horse: Horse, at: datetime) -> None:
    """A horse that wore two devices did its work once."""
    row = gallop()
    outing(horse, at, told(at, row), "a")
    outing(horse, at, told(at, row), "b")
    assert len(works(horse, at)) == 1


def test_two_recordings_of_one_time_are_one_week(horse: Horse, at: datetime) -> None:
    """Metres of a week count once where two devices recorded them, by the one that shows more."""
    row, now = gallop(), datetime.combine(clock.today(), time(5, 30), UTC)
    before = sum(weeks_of(of_horse(moments.now(), horse.pk, now.date(), now.date()), moments.now())[-1].metres)
    assert before == 0.0
    done = outing(horse, now, told(now, row), "a")
    outing(horse, now, told(now, row), "b")
    (*_, week) = weeks_of(of_horse(moments.now(), horse.pk, now.date(), now.date()), moments.now())
    assert sum(week.metres) == pytest.approx(done.metres, abs=5)


def test_the_order_is_of_the_piece_that_it_fits(horse: Horse, at: datetime, trainer: Person) -> None:
    """A canter before the gallop has no instruction of the fast work, which is that of the piece on the ordered gallop
    over the ordered distance, and is put aside; one that somebody clocked is not."""
    said(horse, "ordered", at, trainer, exercise="fast", furlongs="5f")
    warm, short, long = (
        Piece(kind, (at + timedelta(minutes=late)).timestamp(), metres / speed, metres, 0, speed, 0.1, speed)
        for kind, late, metres, speed in (("canter", 0, 800, 8.6), ("fast", 15, 300, 14.0), ("fast", 30, 1000, 15.0))
    )
    outing(horse, at, Measured(works=(warm, short, long)))
    found = works(horse, at)
    assert [(one.instruction, one.exercise, one.aside) for one in found] == [
        ("three_quarter", "fast", False), ("", "", False), ("", "", True),
    ]  # fmt: skip
    said(horse, "clocked", at + timedelta(seconds=5), trainer, splits="1f 23.4, 2f 46.8", instruction="steady")
    assert [(one.instruction, one.aside) for one in works(horse, at)][-1] == ("steady", False)


def test_a_canter_besides_judges_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    """What judges a horse by those it worked beside looks at its works, and not at the canters that it did besides."""
    both = [Work(1, clock.now(), "tracker", aside=aside, instruction=word) for aside, word in ((True, ""), (False, ""))]
    monkeypatch.setattr(judged, "worked", lambda *_: both)
    looked: list[Work] = []
    monkeypatch.setattr(judged, "asked", lambda found: looked.extend(found) or list(found))
    monkeypatch.setattr(judged, "partners", lambda *_: {})
    assert judged.judged_works(moments.now(), [1], judged.Known({}, {}, "", NONE)) == {}
    assert looked == both[1:]


def test_an_order_stands_where_nobody_measured(horse: Horse, at: datetime, trainer: Person) -> None:
    """Days on which nothing was measured show the order, or what the diary says was done, without speed or error."""
    said(horse, "ordered", at, trainer, exercise="fast", furlongs="5f")
    said(horse, "ordered", at - timedelta(days=1), trainer, exercise="fast")
    said(horse, "exercise", at - timedelta(days=1), trainer, exercise="walker")
    said(horse, "ordered", at - timedelta(days=2), trainer, exercise="walk")
    (work,) = works(horse, at, days=3)
    assert (work.source, work.exercise, work.instruction, work.splits) == ("ordered", "fast", "three_quarter", ())
    assert work.metres == pytest.approx(5 * 201.168)
    assert isnan(work.speed_ms)


def test_an_order_of_a_measured_day_is_no_work_of_its_own(horse: Horse, at: datetime, trainer: Person) -> None:
    """What was ordered for a day on which the horse was measured says how the work was to be done, and nothing else."""
    other = Horse.objects.exclude(pk=horse.pk).first()
    assert other is not None
    said(horse, "ordered", at, trainer, exercise="half_speed", upsides=str(other.pk))
    outing(horse, at, told(at, gallop()))
    (work,) = works(horse, at)
    assert (work.source, work.instruction, work.beside) == ("tracker", "half_speed", (other.pk,))


def test_an_order_for_today_is_no_work_yet(horse: Horse, trainer: Person) -> None:
    """An order of a day that is not over says nothing of what was done."""
    now = clock.now()
    found = worked(moments.now(), horse.pk, clock.today(), clock.today())
    said(horse, "ordered", now, trainer, exercise="fast")
    assert worked(moments.now(), horse.pk, clock.today(), clock.today()) == found


def test_splits_add_up_to_the_way(horse: Horse, at: datetime) -> None:
    """The lengths of a tracker's work follow one another on the gallop, so that none is longer than the work."""
    outing(horse, at, told(at, gallop()))
    (work,) = works(horse, at)
    assert np.sum([split.metres for split in work.splits]) == pytest.approx(given.LENGTH_M, abs=1)
    assert sum(split.seconds for split in work.splits) < work.seconds
