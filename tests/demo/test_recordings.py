"""The invented yard's trackers: who wears them, what their files say against the truth, and what was drawn before."""

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from math import isfinite

import numpy as np
import polars as pl
import pytest

from upsides.books.outings import kept, read
from upsides.demo import Books, Invented
from upsides.demo.morning_sim.strips import CHIP, strips
from upsides.demo.morning_sim.truth import Truth
from upsides.demo.tracked.drawing import drawn
from upsides.demo.tracked.filing import files_of
from upsides.demo.tracked.riding import truths_of
from upsides.demo.tracked.session import HALF, QUICK, WALKS, Session
from upsides.recordings.gallops.shape import Gallop
from upsides.recordings.measured import Measured
from upsides.recordings.measuring import measured
from upsides.recordings.opening import open_bytes
from upsides.recordings.plane import to_plane
from upsides.recordings.recording import Recording
from upsides.recordings.tracking import track_of

FURLONG_OFF_S = 0.35
"""Between marks a file's time may be so far from the truth."""
AWAY_M = 3000.0


@dataclass(frozen=True)
class Filed:
    """A file of the last days, read, with the truth that it was made from."""

    session: Session
    truth: Truth
    recording: Recording
    told: Measured


@pytest.fixture(scope="module")
def sessions(invented: Invented, books: Books) -> list[Session]:
    return [Session.of_row(invented.seed, row) for row in books.outings.to_dicts()]


@pytest.fixture(scope="module")
def numbers() -> dict[str, int]:
    return {name: number for number, name in enumerate(strips(), start=1)}


@pytest.fixture(scope="module")
def filed(books: Books, sessions: list[Session], numbers: dict[str, int]) -> list[Filed]:
    """The files of the fastest morning: pairs together, one horse alone."""
    late = [one for one, lately in zip(sessions, books.outings["lately"], strict=True) if lately]
    day = max(
        (one.day for one in late), key=lambda day: sum(one.pace in {HALF, QUICK} for one in late if one.day == day)
    )
    gallops = {number: strips()[name] for name, number in numbers.items()}
    found = []
    for one in (one for one in late if one.day == day and one.source_horse >= one.beside):
        other = [each for each in late if each.day == day and each.source_horse == one.beside]
        group = (*other, one)
        for session, truth, (name, data) in zip(group, truths_of(group), files_of(group), strict=True):
            recording = next(iter(open_bytes(data, name))).recordings[0]
            found.append(Filed(session, truth, recording, measured(track_of(recording), recording, gallops)))
    return found


def passed(truth: Truth, gallop: Gallop, marks: np.ndarray[tuple[int], np.dtype[np.float64]]) -> list[float]:
    """Return when a horse truly passed marks in its last work: where it was nearest to each."""
    last = (truth.time_s >= truth.works[-1].start_s - 40.0) & (truth.time_s <= truth.works[-1].end_s + 20.0)
    times, east, north = (each[last] for each in (truth.time_s, truth.east_m, truth.north_m))
    return [
        float(times[np.argmin(np.hypot(east - x, north - y))])
        for x, y in zip(*gallop.at(np.minimum(marks, gallop.length_m)), strict=True)
    ]


def test_gallops_are_as_long_as_the_books_say(books: Books) -> None:
    """Every gallop runs on the ground, with its length, its rise and its marks, all at one place in the sea."""
    for row in books.gallops.to_dicts():
        latitude, longitude, height = np.array(row["line"]).T
        east, north = to_plane(strips()[row["name"]].plane, latitude, longitude)
        assert np.hypot(np.diff(east), np.diff(north)).sum() == pytest.approx(row["length_m"], abs=1.0)
        assert height[-1] - height[0] == pytest.approx(row["rise_m"], abs=0.6)
        assert np.hypot(east, north).max() < AWAY_M
        assert all(0.0 <= one < other <= row["length_m"] + 0.5 for one, other in pairwise(row["marks"]))


def test_six_horses_of_the_string_wear_a_tracker(invented: Invented, books: Books) -> None:
    """Trackers have numbers that FIT can hold, each is worn by another horse of the string, and one is spare."""
    worn = books.trackers["source_horse"].drop_nulls()
    assert worn.n_unique() == worn.len() == 6 == books.trackers.height - 1
    assert set(worn) <= set(invented.string["source_horse"])
    assert books.trackers["serial"].n_unique() == 7
    assert all(serial.isdigit() and 0 < int(serial) < 2**32 for serial in books.trackers["serial"])


def test_a_heart_monitor_goes_round_the_others(invented: Invented, books: Books, numbers: dict[str, int]) -> None:
    """Most horses without a tracker wear a heart monitor about once a week on a morning with work, the last of them
    within three weeks; of these mornings no file is there, and what was measured holds the heart after the work."""
    worn = books.outings.filter(pl.col("serial") == "")
    assert set(worn["source_horse"]).isdisjoint(books.trackers["source_horse"].drop_nulls())
    lately = worn.group_by("source_horse").agg(pl.col("day").max(), mornings=pl.len())
    lately = lately.filter(pl.col("day") >= invented.today - timedelta(days=21), pl.col("mornings") >= 5)
    assert lately.height > 0.7 * (invented.string.height - 6)
    assert not worn["lately"].any()
    assert 9 < worn.height / worn["source_horse"].n_unique() < 13
    for row in worn.sample(20, seed=1).to_dicts():
        told = drawn(Session.of_row(invented.seed, row), numbers)
        assert 60 < told.heart["after"]["60"] < 200


def test_mornings_are_those_of_the_diary(books: Books) -> None:
    """A horse with a tracker did what the diary says of the day, under the rider whom it names, and no more."""
    done = books.diary.filter(pl.col("kind") == "exercise").select(
        "source_horse",
        day=pl.col("happened_at").dt.convert_time_zone("Europe/London").dt.date(),
        said=pl.col("values").str.json_path_match("$.exercise"),
        on=pl.col("values").str.json_path_match("$.gallop").fill_null(""),
        up=pl.col("values").str.json_path_match("$.rider").fill_null(""),
    )
    joined = books.outings.join(done, on=["source_horse", "day"])
    assert joined.height == books.outings.height > 300
    alone = joined.filter(pl.col("pace") != pl.col("said"))
    assert set(alone["said"]) <= {QUICK}
    assert set(alone["pace"]) <= {HALF}
    assert (joined["gallop"] == joined["on"]).all()
    assert (joined["rider"] == joined["up"]).all()


def test_the_last_days_have_files(invented: Invented, books: Books) -> None:
    """Files are of the seven days before today; one is cut off, one is of nobody, some are of pairs."""
    late = books.outings.filter("lately")
    days = [(invented.today - day).days for day in late["day"]]
    assert set(days) <= set(range(1, 8))
    assert late["serial"].n_unique() == 7
    assert late.filter(pl.col("fault") == "cut").height == 1
    assert late.filter(~pl.col("known")).height == books.outings.filter(~pl.col("known")).height == 1
    assert late.filter(pl.col("beside") != "").height >= 2
    assert late["pulled_out"].max() < datetime.combine(invented.today, time(), UTC)


def test_files_say_what_truly_happened(filed: list[Filed]) -> None:
    """Distance to 3 % and the highest speed to 1.2 m/s of the truth, on the whole files of a fast morning."""
    whole = [one for one in filed if not one.session.fault]
    assert len(whole) >= 4
    for one in whole:
        begins = np.searchsorted(one.truth.time_s, one.recording.time_s[0])
        gone = one.truth.place_m[-1] - one.truth.place_m[begins]
        assert one.told.metres == pytest.approx(gone, rel=0.03)
        assert max(work.top_ms for work in one.told.works) == pytest.approx(one.truth.speed_ms.max(), abs=1.2)
        assert one.recording.device.serial == one.session.serial


def test_furlongs_at_the_marks_are_true(filed: list[Filed]) -> None:
    """The times between the marks of the last work are those of the truth."""
    compared = 0
    for one in (one for one in filed if not one.session.fault):
        gallop, on = strips()[one.session.gallop], one.told.works[-1].gallop
        assert on is not None
        assert on.forward
        marks = on.begin_m + np.cumsum([0.0, *(split.metres for split in on.splits)])
        true = np.diff(passed(one.truth, gallop, marks))
        assert [split.seconds for split in on.splits] == pytest.approx(true.tolist(), abs=FURLONG_OFF_S)
        compared += len(on.splits)
    assert compared > 8


def test_the_file_that_is_cut_off_says_so(books: Books, sessions: list[Session]) -> None:
    """What is there of the file that breaks off is read, and a message says that it is cut off."""
    cut = next(one for one in sessions if one.fault)
    name, data = files_of((cut,))[0]
    recording = next(iter(open_bytes(data, name))).recordings[0]
    assert len(recording) > 1000
    assert any("cut off" in message.text for message in recording.messages)


def test_what_was_drawn_is_what_a_file_would_say(filed: list[Filed], numbers: dict[str, int]) -> None:
    """Drawn and read from a file, the same morning has the same work: where, how fast to 8 %, its heart."""
    for one in (one for one in filed if not one.session.fault):
        other, mine = drawn(one.session, numbers), one.told
        assert other.works[-1].kind == mine.works[-1].kind
        assert other.works[-1].gallop
        assert mine.works[-1].gallop
        assert other.works[-1].gallop.number == mine.works[-1].gallop.number
        assert other.works[-1].top_ms == pytest.approx(mine.works[-1].top_ms, rel=0.08)
        assert other.heart["after"]["60"] == pytest.approx(mine.heart["after"]["60"], abs=25.0)
        assert other.heart["held"] == pytest.approx(mine.heart["held"], abs=14.0)


def test_one_tracker_feels_strides(sessions: list[Session], numbers: dict[str, int], books: Books) -> None:
    """Of the one whose tracker writes acceleration a file says how even its trot was, what was drawn of that morning
    says the same to 0.02, and of the others nothing is said."""
    late = [one for one, lately in zip(sessions, books.outings["lately"], strict=True) if lately and not one.beside]
    felt = next(one for one in late if one.feels and one.pace != WALKS)
    (name, data), *_ = files_of((felt,))
    recording = next(iter(open_bytes(data, name))).recordings[0]
    found, told = measured(track_of(recording), recording).even, drawn(felt, numbers).even
    assert found is not None
    assert told is not None
    assert found.half == pytest.approx(told.half, abs=0.02)
    assert all(drawn(one, numbers).even is None for one in late if not one.feels)


def test_what_was_drawn_can_be_kept(sessions: list[Session], numbers: dict[str, int]) -> None:
    """Every drawn morning is of speeds that horses have, is drawn the same again, and comes back from the books."""
    for session in sessions[::4]:
        told = drawn(session, numbers)
        assert kept(told) == kept(drawn(session, numbers)) == kept(read(kept(told)))
        assert isfinite(told.metres)
        assert 1500.0 < told.metres < 9000.0
        assert (told.fast_m > 0) == (session.pace == QUICK)
        assert bool(told.works) == (session.pace != WALKS)
        assert all(5.0 < split.metres / split.seconds < 18.5 for work in told.works for split in work.furlongs)
        assert sum(one.metres for one in told.speeds.values()) == pytest.approx(told.metres)


def test_hearts_recover_better_as_a_season_goes_on(sessions: list[Session], numbers: dict[str, int]) -> None:
    """A horse that has become fitter has, on the hill, a lower heart a minute after work than in its first weeks."""
    hill = [one for one in sessions if one.gallop == CHIP and one.pace == QUICK]
    after = np.array([drawn(one, numbers).heart["after"]["60"] for one in hill])
    fit = np.array([one.fit for one in hill])
    assert np.corrcoef(fit, after)[0, 1] < -0.1


def test_two_horses_are_clocked_at_once(invented: Invented, books: Books) -> None:
    """What was clocked by thumb is of two horses that went upsides on the same gallop, from the same moment."""
    clocked = books.diary.filter(pl.col("kind") == "clocked")
    pairs = clocked.group_by("happened_at", pl.col("values").str.json_path_match("$.gallop")).agg(
        horses=pl.col("source_horse"), beside=pl.col("values").str.json_path_match("$.upsides[0]"), count=pl.len()
    )
    assert clocked.height > 20
    assert (pairs["count"] == 2).all()
    assert all(set(row["horses"]) == set(row["beside"]) for row in pairs.to_dicts())
    assert (invented.today - clocked["happened_at"].dt.date().min()).days <= 24


def test_those_that_have_not_run_are_clocked_beside_others_of_their_age(invented: Invented, books: Books) -> None:
    """On some mornings one that has not run is clocked beside one of its age that has."""
    ran = dict(invented.runs.filter(pl.col("outcome") != "withdrawn").group_by("source_horse").agg(
        pl.col("date").min()).rows())  # fmt: skip
    foaled = dict(invented.stays.select("source_horse", pl.col("foaled").cast(pl.Int64)).rows())
    clocked = books.diary.filter(pl.col("kind") == "clocked").select(
        "source_horse", day=pl.col("happened_at").dt.date(), beside=pl.col("values").str.json_path_match("$.upsides[0]")
    )
    told = [
        abs(foaled[one] - foaled[other])
        for one, day, other in clocked.rows()
        if ran.get(one, day) >= day and ran.get(other, day) < day
    ]
    assert sum(years == 0 for years in told) >= 3
