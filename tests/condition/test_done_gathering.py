"""From recordings, stopwatch, results and orders to days of metres."""

from dataclasses import fields
from datetime import UTC, date, datetime, timedelta
from math import nan
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from upsides.condition.done.days import Days, Sums
from upsides.condition.done.exercises import exercises
from upsides.condition.done.gathering import Outing, Run, Said, gather, learnt, swims_of, tracked_rows, worked_on
from upsides.condition.done.rows import SOURCES, STRIDE_M, Rows
from upsides.condition.done.spreading import spread
from upsides.condition.done.usual import Usual, usual
from upsides.errors import ConditionRefusedError, ExerciseTableError
from upsides.recordings.bouts.bins import COUNT
from upsides.recordings.measured import Speeds
from upsides.recordings.work import Split, Work
from upsides.trade.units import FURLONG_M

DAY = date(2026, 6, 30)
TABLE = exercises()
USUAL = usual(TABLE)
ZONE = ZoneInfo("Europe/Paris")
MORNING = datetime(2026, 6, 30, 5, tzinfo=UTC)
TRACKED = {3: Speeds(2500.0, nan, False), 17: Speeds(1200.0, 210.0, True), 31: Speeds(900.0, 126.0, True)}


def sums(rows: Rows, low: float = 0.0, high: float = np.inf, day: date = DAY) -> Sums:
    at = day.toordinal()
    return Days.of(rows).sums([0], at - 1, at, low, high)


def sourced(rows: Rows) -> dict[str, float]:
    at = DAY.toordinal()
    told = Days.of(rows).by_source([0], at - 1, at)[0]
    return {name: round(float(far), 6) for name, far in zip(SOURCES, told, strict=True) if far}


def order(exercise: str, metres: float = nan) -> Work:
    return Work(7, datetime(2026, 6, 29, 22, tzinfo=UTC), "ordered", exercise, metres=metres)


def thumb(speeds: list[float]) -> Work:
    splits = tuple(Split(FURLONG_M, FURLONG_M / v, 0.21) for v in speeds)
    return Work(7, MORNING, "thumb", "fast", splits=splits)


def test_on_which_days_the_work_is_told() -> None:
    """A recording of a kilometre, or of a furlong's canter, a stopwatch, a result and an entry of work, or of a day
    off, tell of a day; 400 m at a walk, a walk in hand, the walker, turning out and a swim tell nothing of it, nor
    does an order by itself."""
    days = [DAY - timedelta(days=k) for k in range(12)]
    walked, short = {3: Speeds(1000.0, nan, False)}, {3: Speeds(400.0, nan, False)}
    cantered = {16: Speeds(FURLONG_M, nan, False)}
    told = worked_on(
        [7, 8], USUAL, ZONE,
        outings=[Outing(7, days[1], walked), Outing(7, days[2], short), Outing(7, days[3], cantered)],
        works=[thumb([15.0]), order("fast")],
        said=[Said(7, days[4], "trot"), Said(7, days[5], "off")]
        + [Said(7, day, one) for day, one in zip(days[6:10], ("led", "walker", "turned_out", "swim"), strict=True)],
        runs=[Run(7, days[10], 1200.0)],
    )  # fmt: skip
    found = [bool(told.count([0], day.toordinal(), 1)[0]) for day in days]
    assert found == [k in {0, 1, 3, 4, 5, 10} for k in range(12)]
    assert not told.count([1], DAY.toordinal(), 400)[0]


def test_outings_may_come_as_rows_made_once() -> None:
    """Rows that were made of outings before tell the same of what was done, and of which days, as the outings do."""
    outings = [Outing(7, DAY, {3: Speeds(900.0, nan, False), 16: Speeds(FURLONG_M, 30.0, False)}), Outing(8, DAY, {})]
    rows, runs = tracked_rows([7, 8], outings), [Run(8, DAY, 1200.0)]
    for what in (gather, worked_on):
        by_rows, by_outings = (what([7, 8], USUAL, ZONE, outings=given, runs=runs) for given in (rows, outings))
        for field in fields(by_rows):
            assert np.array_equal(getattr(by_rows, field.name), getattr(by_outings, field.name)), field.name


def test_what_a_tracker_measured_is_taken_as_it_is() -> None:
    """Metres and counted strides by step stay as measured, and of walk no strides are invented."""
    rows = gather(
        [7],
        USUAL,
        ZONE,
        outings=[Outing(7, DAY, TRACKED)],
        works=[
            order("fast"),
        ],
    )
    assert sourced(rows) == {"tracker": 4600.0}
    whole, fast = sums(rows), sums(rows, 14.0)
    assert (whole.strides[0], whole.measured[0]) == (pytest.approx(336.0), 1.0)
    assert (fast.metres[0], fast.strides[0]) == (pytest.approx(900.0), pytest.approx(126.0))


def test_strides_that_were_not_counted_are_as_long_as_published() -> None:
    """44 km of canter are about 7700 strides and 6 km of gallop about 880 (Verheyen and others 2006, Bone): 5.71 and
    6.82 m a stride, which the published line has at speeds of canter and of gallop."""
    assert pytest.approx(5.71, abs=5e-3) == 44_000 / 7700
    canter, gallop = (float(np.interp(far / count, STRIDE_M[10:], 0.25 + np.arange(10, COUNT) / 2))
                      for far, count in ((44_000, 7700), (6000, 880)))  # fmt: skip
    assert 8.0 < canter < 14.0 < gallop < 18.0
    rows = gather([7], USUAL, ZONE, outings=[Outing(7, DAY, {32: Speeds(688.0, nan, False)})])
    assert sums(rows).strides[0] == pytest.approx(688.0 / float(STRIDE_M[32]))


def test_a_furlong_by_thumb_lies_around_its_own_speed() -> None:
    """Two furlongs in 13 s and one in 16 are 603.5 m in all, their mean speeds are kept, and two lie above 14 m/s but
    for what the spread takes over."""
    rows = gather([7], USUAL, ZONE, works=[thumb([FURLONG_M / 13, FURLONG_M / 13, FURLONG_M / 16])])
    assert sourced(rows) == {"thumb": pytest.approx(3 * FURLONG_M)}
    assert sums(rows, 14.0).metres[0] == pytest.approx(2 * FURLONG_M, rel=0.01)
    assert sums(rows, 14.0, 20.0).measured[0] == 1.0


def test_a_distance_at_the_border_is_split_in_halves() -> None:
    """A furlong at 14 m/s is half above 14 m/s; metres and the mean speed are kept, within half a step."""
    metres = spread([FURLONG_M, 1000.0], [14.0, 16.63], [0.4, 1.04])
    assert metres.sum(axis=1) == pytest.approx([FURLONG_M, 1000.0])
    assert metres[0, 28:].sum() == pytest.approx(FURLONG_M / 2)
    middle = (np.arange(COUNT) + 0.5) / 2
    assert (metres @ middle / metres.sum(axis=1)) == pytest.approx([14.0, 16.63], abs=0.01)


def test_an_order_with_a_distance_is_that_distance_at_its_pace() -> None:
    """Fast work ordered over 6 furlongs is 6 furlongs from 13 m/s on, told and not measured; the canter to it and the
    walk home are what is usual, and an order of the yard's day counts on that day."""
    rows = gather([7], USUAL, ZONE, works=[order("fast", 6 * FURLONG_M)])
    assert sums(rows, 13.0).metres[0] == pytest.approx(6 * FURLONG_M)
    assert sums(rows).measured[0] == 0.0
    assert set(sourced(rows)) == {"told", "usual"}
    assert sums(rows).metres[0] > 6 * FURLONG_M + 3000.0


def test_an_order_without_a_distance_is_what_is_usual() -> None:
    """Without a distance the table speaks, and no metre of it counts as measured."""
    rows = gather([7], USUAL, ZONE, works=[order("half_speed")])
    assert sourced(rows) == {"usual": pytest.approx(TABLE["half_speed"].profile.sum())}
    assert sums(rows).measured[0] == 0.0


def test_the_yards_own_outings_go_before_the_table() -> None:
    """Of 40 measured half-speeds of 5 km on the way to 2 km at 13 m/s, an order is 7 km but for the table's part of
    two in 42; exercises that nobody measured stay as the table has them."""
    speeds = {3: Speeds(5000.0, nan, False), 26: Speeds(2000.0, nan, False)}
    known = learnt(TABLE, [Outing(7, DAY, speeds, did) for did in ["half_speed"] * 40 + ["", "off"]])
    table = float(TABLE["half_speed"].profile.sum())
    found = gather([7], known, ZONE, works=[order("half_speed")])
    assert sums(found).metres[0] == pytest.approx((40 * 7000 + 2 * table) / 42)
    assert known.measured[known.place("half_speed")] == 40
    assert gather([7], known, ZONE, works=[order("fast")]).metres.sum() == pytest.approx(
        float(TABLE["fast"].profile.sum())
    )
    assert gather([7], known, ZONE, said=[Said(7, DAY, "off")]).metres.sum() == 0.0


def test_minutes_are_a_distance_at_the_exercises_pace() -> None:
    """Half an hour on the walker at 1.7 m/s is 3060 m, and it adds to what a tracker measured that day; a swim is no
    distance over ground, but the day is told."""
    walker, swim = Said(7, DAY, "walker", minutes=30.0), Said(7, DAY + timedelta(days=1), "swim", minutes=12.0)
    rows = gather([7], USUAL, ZONE, outings=[Outing(7, DAY, TRACKED)], said=[walker, swim])
    assert sourced(rows) == {"tracker": 4600.0, "told": pytest.approx(3060.0)}
    swum = sums(rows, day=DAY + timedelta(days=1))
    assert (swum.metres[0], swum.told[0]) == (0.0, 1)
    swims = swims_of([7], [walker, swim, Said(7, DAY, "swim")])
    at = DAY.toordinal() + 1
    assert (swims.count([0], at, 30)[0], swims.total([0], at, 30)[0], swims.count([0], at, 1)[0]) == (2, 12.0, 1)


def test_what_was_done_goes_before_what_was_ordered() -> None:
    """A day off that the diary tells leaves nothing of the order; a day off is known, with no metres."""
    rows = gather([7], USUAL, ZONE, works=[order("fast")], said=[Said(7, DAY, "off")])
    assert (sums(rows).metres[0], sums(rows).told[0]) == (0.0, 1)
    assert np.isnan(sums(rows).measured[0])


def test_a_clocked_work_stands_for_the_part_at_pace() -> None:
    """Of a fast work that was clocked over 4 furlongs the rest of the outing is usual, and no fast work is added."""
    rows = gather([7], USUAL, ZONE, works=[order("fast", 6 * FURLONG_M), thumb([15.5] * 4)])
    assert sums(rows, 14.0).metres[0] == pytest.approx(4 * FURLONG_M, rel=0.01)
    assert set(sourced(rows)) == {"thumb", "usual"}


def test_a_race_counts_by_its_own_time() -> None:
    """A mile in 96 s lies about 16.8 m/s, its spread that of published sections; without a time it lies about 16.63
    (Morrice-West and others 2021); an order for that day does not add to it."""
    timed = gather([7], USUAL, ZONE, runs=[Run(7, DAY, 8 * FURLONG_M, 96.0)], works=[order("fast")])
    assert sourced(timed)["result"] == pytest.approx(8 * FURLONG_M)
    assert sums(timed, 14.0).metres[0] == pytest.approx(8 * FURLONG_M, rel=0.01)
    untimed = gather([7], USUAL, ZONE, runs=[Run(7, DAY, 1000.0)])
    raced = untimed.source == SOURCES.index("result")
    mean = (untimed.metres * (untimed.step + 0.5) / 2)[raced].sum() / 1000.0
    assert mean == pytest.approx(16.63, abs=0.02)


def test_a_race_that_a_tracker_saw_counts_once() -> None:
    """A tracker with 1000 m at 16 m/s on the day of a race of 1200 was on in it; with 300 m it was not."""
    run = Run(7, DAY, 1200.0, 72.0)
    on = gather([7], USUAL, ZONE, outings=[Outing(7, DAY, {32: Speeds(1000.0, 141.0, True)})], runs=[run])
    off = gather([7], USUAL, ZONE, outings=[Outing(7, DAY, {32: Speeds(300.0, 42.0, True)})], runs=[run])
    assert sourced(on) == {"tracker": 1000.0}
    assert sourced(off) == {"tracker": 300.0, "result": pytest.approx(1200.0)}


@pytest.mark.parametrize(("field", "value"), [("metres", -1.0), ("metres", 5e4), ("minutes", 700.0)])
def test_a_distance_that_no_horse_goes_is_refused(field: str, value: float) -> None:
    """Less than nothing, 50 km and 700 minutes are refused by name."""
    with pytest.raises(ConditionRefusedError, match="it is to be 0 to"):
        Said(7, DAY, "trot", **{field: value})


def test_an_unknown_exercise_or_horse_is_refused() -> None:
    """What is not in the table or not in the yard is refused, with what there is."""
    with pytest.raises(ConditionRefusedError, match="hack_canter"):
        gather([7], USUAL, ZONE, said=[Said(7, DAY, "sprint")])
    with pytest.raises(ConditionRefusedError, match="not among the horses"):
        gather([8], USUAL, ZONE, said=[Said(7, DAY, "trot")])


def test_a_yards_own_table_goes_before_the_shipped_one(tmp_path: Path) -> None:
    """An exercise in the yard's own file replaces the shipped one, and the others stay."""
    own = tmp_path / "ours.toml"
    own.write_text(
        'source = "ours"\n[exercise.hack_canter]\nfrom_ms = 5.0\n'
        "parts = [{ metres = 900.0, speed_ms = 9.0, sd_ms = 0.5, at_pace = true }]\n"
    )
    found = exercises(own)
    assert float(found["hack_canter"].profile.sum()) == pytest.approx(900.0)
    assert found["hack_canter"].parts[0].source == "ours"
    assert found["fast"] == TABLE["fast"]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("[exercise.trot]\nfrom_ms = 2.0\nparts = [{ metres = 5.0, speed_ms = 3.0, sd_ms = 0.5 }]", "is at_pace"),
        ("[exercise.trot]\nparts = [{ metres = -5.0, speed_ms = 3.0, sd_ms = 0.5, at_pace = true }]", "metres is a"),
        ("[exercise.trot]\nparts = [{ metres = 5, speed_ms = 3, sd_ms = 0.5, at_pace = true }]", "from_ms is a"),
        ("[exercise.trot]\nfrom_ms = 2.0", "no list of parts"),
        ("[exercise.trot]\nfrom_ms = 2.0\nparts = [3]", "curly brackets"),
        ("[trot]\n", r"no \[exercise.NAME\]"),
        ("[exercise", "not TOML"),
    ],
)
def test_a_table_that_cannot_be_used_is_refused(tmp_path: Path, text: str, reason: str) -> None:
    """The exercise at fault and what is wrong with it are named."""
    own = tmp_path / "ours.toml"
    own.write_text(text)
    with pytest.raises(ExerciseTableError, match=reason):
        exercises(own)


def test_a_table_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """A file that cannot be opened is refused by its name."""
    with pytest.raises(ExerciseTableError, match="cannot be opened"):
        exercises(tmp_path / "none.toml")


def test_the_table_has_every_exercise_at_a_published_pace() -> None:
    """Walk, trot, canter and half-speed lie within the zones of the literature, and a race at the mean of 25,259
    starts."""
    zones = {"walk": (1.5, 2.0), "walker": (1.5, 2.0), "trot": (3.0, 5.0), "hack_canter": (5.0, 10.0),
             "half_speed": (10.0, 12.5), "fast": (15.5, 16.7), "race": (16.63, 16.63)}  # fmt: skip
    assert {name for name, (low, high) in zones.items() if not low <= TABLE[name].pace_ms <= high} == set()
    assert isinstance(USUAL, Usual)
