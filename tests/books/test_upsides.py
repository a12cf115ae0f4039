"""Who went upsides: by trackers as the worker finds it, and by one thumb, seen from either horse."""

import io
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import numpy as np
import pytest

import given_recordings as given
from upsides.books import clock
from upsides.books.jobs import together as jobs
from upsides.books.jobs.running import run
from upsides.books.jobs.together import find_missing
from upsides.books.models import Answer, Entry, Gallop, Horse, Person, Recorded
from upsides.books.models.answer import TOGETHER
from upsides.books.queries import moments
from upsides.books.queries.upsides import Partner, asked, beside_recording, partners
from upsides.books.queries.works import worked
from upsides.books.recordings.together import lots
from upsides.books.sent import Sent
from upsides.books.services.answers import store
from upsides.books.services.diary import Draft, record
from upsides.books.services.gallops import draw_gallop
from upsides.books.services.outings import give, take_from
from upsides.books.services.recordings import receive
from upsides.books.upsides_answer import kept_upsides, read_upsides
from upsides.recordings.company import LENGTH_M, Outcome, Upsides
from upsides.recordings.formats.fit import write_fit
from upsides.recordings.measured import Piece
from upsides.recordings.picking import columns_of, picked
from upsides.recordings.recording import Message
from upsides.recordings.stopwatch import PRESS_SD_S

pytestmark = pytest.mark.django_db
BEHIND_M = 12.0
"""Five lengths, which two trackers tell."""


@pytest.fixture
def take(folder: Path, seat: Any) -> Any:
    """A function that sends files, and reads them as a worker would."""

    def of(**files: bytes) -> None:
        run(receive([Sent(f"{name}.fit", io.BytesIO(data)) for name, data in files.items()]).pk)

    return of


@pytest.fixture
def pair(take: Callable[..., None], at: datetime, trainer: Person) -> tuple[Horse, Horse]:
    """Two horses with recordings of one canter, the second five lengths behind the first all the way."""
    draw_gallop(Gallop(name="Straight six", surface="woodchip"), given.LINE)
    take(a=given.fit(at, serial="1"), b=given.fit(at, serial="2", seed=2, beside_m=4.5, behind_m=BEHIND_M))
    first, second = horses()[:2]
    give(recorded("a"), first, trainer)
    give(recorded("b"), second, trainer)
    return first, second


def recorded(name: str) -> Recorded:
    return Recorded.objects.get(file=f"{name}.fit")


def horses() -> list[Horse]:
    return list(moments.in_training(moments.now()).order_by("pk"))


def company(horse: Horse, at: datetime) -> list[Partner]:
    """Return with whom a horse worked on a day."""
    found = partners(moments.now(), asked(worked(moments.now(), horse.pk, at.date(), at.date())))
    return [one for mine in found.values() for one in mine]


def test_two_trackers_tell_who_was_in_front(pair: tuple[Horse, Horse], at: datetime) -> None:
    """Of two that canter five lengths apart one led and finished in front by that, within two of the said errors; the
    other sees the same from behind, and so do the pages of both recordings."""
    first, second = pair
    (seen,), (back,) = company(first, at), company(second, at)
    assert (seen.horse, back.horse) == (second.pk, first.pk)
    assert abs(seen.finish.ahead_m - BEHIND_M) < 2 * seen.finish.sd_m
    assert (seen.finish.source, seen.finish.front, seen.led) == ("tracker", "first", "first")
    assert (back.finish, back.led) == (seen.finish.other_way, "second")
    assert not any(one.breaks_off for one in (seen, back))
    assert [place for place, _ in seen.marks][:2] == pytest.approx([0.0, 201.2], abs=0.1)
    day = at.date()
    ((start, one),) = beside_recording(moments.now(), recorded("a").pk, day)
    assert one == seen
    assert abs(start - back.start_s) < 5


def test_a_recording_that_breaks_off_tells_no_finish(take: Callable[..., None], at: datetime, trainer: Person) -> None:
    """Where one of two trackers is switched off in the middle of the canter, both sides say that it breaks off."""
    whole = given.recording(at, serial="2", seed=2, beside_m=4.5, behind_m=BEHIND_M)
    columns = columns_of(whole)
    short = picked(whole, np.arange(int(0.6 * len(whole))), columns, Message("fixes_twice", {"count": 0}))
    take(a=given.fit(at, serial="1"), b=write_fit(short))
    first, second = horses()[:2]
    give(recorded("a"), first, trainer)
    give(recorded("b"), second, trainer)
    (seen,), (back,) = company(first, at), company(second, at)
    assert seen.breaks_off
    assert back.breaks_off
    assert abs(seen.finish.ahead_m - BEHIND_M) < 2 * seen.finish.sd_m


def test_company_is_the_recordings_whosever_they_are(pair: tuple[Horse, Horse], at: datetime, trainer: Person) -> None:
    """A recording that is given to another horse is that horse's company at once; one that is nobody's is no company;
    two devices on one horse are not company of each other."""
    first, second = pair
    third = horses()[2]
    give(recorded("b"), third, trainer)
    assert [one.horse for one in company(first, at)] == [third.pk]
    assert company(second, at) == []
    give(recorded("b"), first, trainer)
    assert company(first, at) == []
    take_from(recorded("b"), trainer)
    assert company(first, at) == []


def test_as_of_a_moment_nobody_had_looked_yet(pair: tuple[Horse, Horse], at: datetime) -> None:
    """From before the worker looked nothing is known of company."""
    first, _second = pair
    answer = Answer.objects.get(name=TOGETHER)
    works = asked(worked(moments.now(), first.pk, at.date(), at.date()))
    before = moments.as_of(answer.recorded_at - timedelta(microseconds=1))
    assert partners(before, works) == {}


def test_a_third_that_comes_later_is_found_too(
    pair: tuple[Horse, Horse], take: Callable[..., None], at: datetime, trainer: Person
) -> None:
    """A file that comes in later is laid beside all of its day, and the answer of before stays as it was."""
    first, _second = pair
    take(c=given.fit(at, serial="3", seed=3, beside_m=-2.5, behind_m=3.0))
    give(recorded("c"), horses()[2], trainer)
    assert Answer.objects.filter(name=TOGETHER).count() == 2
    assert len(company(first, at)) == 2


def test_what_was_missed_is_looked_for_once(
    pair: tuple[Horse, Horse], at: datetime, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A day of which more was recorded than its answer knew is gone through again, and no other day is."""
    asked_for: list[Any] = []
    monkeypatch.setattr(jobs, "find_company", lambda _folder, day: asked_for.append(day))
    find_missing(folder, at.date(), 3)
    assert asked_for == []
    store(TOGETHER, at.date(), {"upsides": []}, {"recordings": 1})
    find_missing(folder, at.date(), 3)
    assert asked_for == [at.date()]


def test_lots_are_those_at_work_at_once() -> None:
    """Works that overlap, at one time of the morning or another, make one lot; who was never at work with others is in
    none."""

    def piece(start: float) -> Piece:
        return Piece("canter", start, 60.0, 600.0, 0.0, 10.0, 0.1, 11.0)

    morning = {1: [piece(0.0)], 2: [piece(30.0), piece(1000.0)], 3: [piece(1050.0)], 4: [piece(500.0)], 5: []}
    assert lots(morning) == [[1, 2, 3]]


def test_what_is_kept_is_read_back() -> None:
    """Who went upsides reads back out of the answer as it was, to the digits that are kept."""
    told = Upsides(3, 4, 1e9, 1e9 + 0.25, ((201.2, Outcome(1.5, 2.5, "tracker")),), Outcome(-2.25, 2.75, "tracker"))
    assert read_upsides(kept_upsides([told])) == [told]
    assert read_upsides(kept_upsides([replace(told, breaks_off=True)])) == [replace(told, breaks_off=True)]
    before = {"upsides": [one[:6] for one in kept_upsides([told])["upsides"]]}
    assert read_upsides(before) == [told]


# By thumb ---------------------------------------------------------------------------------------------------------


def clocked(horse: Horse, other: Horse, at: datetime, splits: str, author: Person) -> Entry:
    values = {"splits": splits, "upsides": str(other.pk)}
    return record(Draft(uuid4(), "clocked", horse.pk, values, clock.now(), at), author)


def test_one_thumb_tells_it_with_its_own_error(at: datetime, trainer: Person) -> None:
    """Two horses of one clock, 1 s apart over the last furlong of 12.6 s and 13.2 s, are 1 s at the mean speed apart
    (15.6 m, 6.5 lengths), as well known as two presses are; another clock's work on that day says nothing."""
    first, second, third = horses()[:3]
    then = at - timedelta(days=3)
    clocked(first, second, then, "1f 13.4, 2f 26.0", trainer)
    clocked(second, first, then, "1f 13.8, 2f 27.0", trainer)
    clocked(third, first, then + timedelta(minutes=20), "1f 13.8, 2f 27.0", trainer)
    (one,) = company(first, then)
    speed = 0.5 * (201.168 / 12.6 + 201.168 / 13.2)
    assert (one.horse, one.finish.source, one.led) == (second.pk, "thumb", "first")
    assert one.finish.ahead_m == pytest.approx(speed, rel=1e-3)
    assert one.finish.sd_m == pytest.approx(PRESS_SD_S * 2**0.5 * speed, rel=1e-3)
    assert one.finish.lengths == pytest.approx(speed / LENGTH_M, rel=1e-3)
    assert company(third, then) == []


def test_the_better_of_two_clocks_counts(pair: tuple[Horse, Horse], at: datetime, trainer: Person) -> None:
    """Where trackers and a thumb measured one work, the outcome with the smaller error is told, and it alone."""
    first, second = pair
    start = at + timedelta(seconds=73)
    clocked(first, second, start, "1f 20.3, 6f 120.9", trainer)
    clocked(second, first, start, "1f 21.5, 6f 122.1", trainer)
    (one,) = company(first, at)
    thumb = PRESS_SD_S * 2**0.5 * given.CANTER_MS
    assert one.finish.source == "thumb"
    assert one.finish.sd_m == pytest.approx(thumb, rel=0.02)
    assert one.finish.ahead_m == pytest.approx(1.2 * given.CANTER_MS, rel=0.02)
