"""The routine's file: what it says, who says so, and what cannot be."""

from datetime import UTC, date
from pathlib import Path

import numpy as np
import pytest

from planning.work.tiny_horses import SETTINGS
from upsides.books.diary.work import ALLOWED, EXERCISES, FAST, UNRIDDEN
from upsides.condition.done.exercises import exercises
from upsides.condition.done.gathering import Said, gather
from upsides.condition.done.rows import ordinals
from upsides.condition.done.usual import usual
from upsides.errors import WorkRefusedError
from upsides.planning.work.routine import PARTS, Limit, OfHorse, Trainer
from upsides.planning.work.settings import read_settings
from upsides.recordings.bouts.bins import COUNT
from upsides.trade.units import FURLONG_M

ORDERS = SETTINGS.orders


def test_orders_use_the_diarys_words() -> None:
    """Every order is an exercise of the diary; it is fast, and has a rider, where the diary says so."""
    assert {one.exercise for one in ORDERS.values()} == set(EXERCISES)
    assert all(one.fast == (one.exercise in FAST) for one in ORDERS.values())
    assert all(one.ridden == (one.exercise not in UNRIDDEN) for one in ORDERS.values())


def test_effort_rises_as_the_diary_lists_exercises() -> None:
    """Among ridden work, what the diary lists later asks no less, stalls aside."""
    ridden = [one for one in EXERCISES if one not in UNRIDDEN | {"stalls"}]
    efforts = [max(one.effort for one in ORDERS.values() if one.exercise == word) for word in ridden]
    assert efforts == sorted(efforts)


def test_every_advice_of_a_vet_leaves_an_order_of_rest() -> None:
    """Whatever a vet advises, there is an order that it leaves open and that rests a horse."""
    for left in ALLOWED.values():
        assert [one for one in ORDERS.values() if one.exercise in left and one.rest]


@pytest.mark.parametrize(
    "name", ["walk", "hack_canter", "steady_canter", "half_speed", "fast_3f", "fast_3_5f", "walker"]
)
def test_metres_by_speed_are_what_the_day_would_be_counted_as(name: str) -> None:
    """An order comes to the metres that what was done is counted as where no more than the order is known of a day."""
    order = ORDERS[name]
    day, metres = date(2026, 3, 2), float("nan") if order.furlongs is None else order.furlongs * FURLONG_M
    rows = gather([1], usual(exercises()), UTC, said=[Said(1, day, order.exercise, metres)])
    counted = np.bincount(rows.step, rows.metres, COUNT)
    assert set(rows.day.tolist()) == set(ordinals([day]).tolist())
    assert order.profile == pytest.approx(counted, abs=1e-9)


def test_fast_three_furlongs_rise() -> None:
    """Three furlongs are 603.504 m (1 furlong = 201.168 m, exact), rising 12 m at 2 in a hundred."""
    last = ORDERS["fast_3f"].segments[-1]
    assert last.metres == pytest.approx(603.504)
    assert last.rise_m == pytest.approx(12.07, abs=0.005)
    assert ORDERS["fast_3f"].fast_f == pytest.approx(3.0)


def test_a_sprinter_works_short_between_long_canters() -> None:
    """A sprinter's fast work is 3 to 3.5 furlongs on rising ground, all else canter. Common practice, no source."""
    routine = SETTINGS.routine("sprinter")
    for stage in routine.stages:
        week = [routine.order(word) for word in stage.week]
        fast = [one for one in week if one.fast]
        assert all(3.0 <= one.fast_f <= 3.5 and one.rise > 0 for one in fast)
        assert {one.exercise for one in week if not one.fast} <= {"hack_canter", "steady_canter", "off"}
        assert sum(one.exercise == "steady_canter" for one in week) >= 3


def test_a_short_race_takes_less_out_of_a_horse() -> None:
    """Days without fast work after a race rise with its distance. Common practice."""
    routine = SETTINGS.routine("miler")
    days = [routine.recovers(metres) for metres in (1000, 1400, 2000, 3200)]
    assert days == sorted(days)
    assert days[0] < days[-1]


def test_the_taper_says_that_it_was_found_in_people() -> None:
    """Every stage of a race's week whose lower end comes from the taper says that it was found in people."""
    for routine in SETTINGS.kinds.values():
        for stage in routine.stages:
            assert stage.name != "race week" or "people" in stage.source


def test_natures_are_laid_over_a_kind() -> None:
    """A keen horse works alone and once a week at the most, an idle one in company."""
    assert SETTINGS.routine("miler", ["keen"]).order("work").upsides is False
    assert SETTINGS.routine("miler", ["keen"]).most_works == 1
    assert SETTINGS.routine("sprinter", ["idle"]).order("work").name == "fast_3f_upsides"


def test_all_kinds_are_there() -> None:
    """The kinds and natures that a yard speaks of have a routine, and every stage says who says so."""
    assert set(SETTINGS.kinds) == {
        "sprinter", "miler", "middle_distance", "stayer", "unraced_two_year_old", "returning",
    }  # fmt: skip
    assert set(SETTINGS.natures) == {"keen", "idle"}
    assert all(stage.source for routine in SETTINGS.kinds.values() for stage in routine.stages)
    assert all(getattr(SETTINGS.prices, part) > 0 for part in PARTS)


def test_a_yards_own_file_is_laid_over_the_shipped_one(tmp_path: Path) -> None:
    """What a yard writes goes before, key by key; all else stays."""
    own = tmp_path / "work.toml"
    own.write_text("[kind.sprinter]\nspacing = 4\n[price.change]\nsteps = 9\n", encoding="utf-8")
    found = read_settings(own)
    assert (found.kinds["sprinter"].spacing, found.prices.change) == (4, 9)
    assert found.kinds["sprinter"].stages == SETTINGS.kinds["sprinter"].stages


@pytest.mark.parametrize(
    ("written", "at_fault"),
    [
        ("[price.odd]\nsteps = 1", "price"),
        ("[price.change]\nsteps = -1", "price of change, steps"),
        ("[order.leap]\nexercise = 'leap'\neffort = 1", "exercise of leap"),
        ("[order.more]\nlike = 'nothing'", "like"),
        ("[order.more]\nlike = 'more'", "like"),
        ("[order.more]\nexercise = 'stalls'\neffort = 4\nlesson = true", "order"),
        ("[order.walk]\neffort = 'much'", "walk, effort"),
        ("[order.fast_3f]\nfurlongs = 0", "fast_3f, furlongs"),
        ("[kind.miler]\nwork = 'nothing'", "order of miler"),
        ("[kind.miler]\ncompany = 'crowd'", "company of miler"),
        ("[kind.miler]\nspacing = 0", "miler, spacing"),
        ("[kind.miler]\nstage = []", "stages of miler"),
        ("[[kind.miler.stage]]\nname = 'a'\nweek = ['off']\nfast = [0, 1]\ncanter = [0, 1]", "week of miler, a"),
        ("[[kind.miler.stage]]\nname = 'a'\nweek = ['off', 'off', 'off', 'off', 'off', 'off', 'off']\nfast = [2, 1]",
         "miler, a, fast"),
        ("[[kind.miler.stage]]\nname = 'a'\nweek = ['off', 'off', 'off', 'off', 'off', 'off', 'off']\nfast = 2",
         "miler, a, fast"),
        ("[nature.keen]\nfast = 1", "nature keen"),
        ("price = 3", "routine"),
        ("not toml", "routine"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_is_refused(tmp_path: Path, written: str, at_fault: str) -> None:
    """What cannot be is named."""
    own = tmp_path / "work.toml"
    own.write_text(written, encoding="utf-8")
    with pytest.raises(WorkRefusedError) as refused:
        read_settings(own)
    assert refused.value.field == at_fault


def test_unknown_words_are_refused(tmp_path: Path) -> None:
    """A kind, a nature or a file that is not there is named."""
    with pytest.raises(WorkRefusedError, match="there is no routine"):
        SETTINGS.routine("camel")
    with pytest.raises(WorkRefusedError, match="nature"):
        SETTINGS.routine("miler", ["odd"])
    with pytest.raises(WorkRefusedError, match=r"none\.toml"):
        read_settings(tmp_path / "none.toml")


def test_a_trainer_may_set_limits_for_one_horse(tmp_path: Path) -> None:
    """What stands under a horse's name goes before what holds for all; what it leaves out is as for all."""
    own = tmp_path / "work.toml"
    own.write_text(
        """[trainer]
rest = 2
[[trainer.limit]]
from_ms = 14.0
days = 7
metres = 1500.0
[horse."Calm Sea"]
gap = 5
[[horse."Calm Sea".limit]]
from_ms = 15.0
days = 14
metres = 900.0
"""
    )
    found = read_settings(own)
    assert found.set_for("Calm Sea") == Trainer(5, 2, (Limit(15.0, 14, 900.0),))
    assert found.set_for("Long Row") == Trainer(3, 2, (Limit(14.0, 7, 1500.0),))
    own.write_text('[horse."Calm Sea"]\nmetres = 900.0\n')
    with pytest.raises(WorkRefusedError, match="horse Calm Sea"):
        read_settings(own)


def test_a_horse_has_its_kind_and_natures(tmp_path: Path) -> None:
    """A yard's file says of a horse by name its kind and natures; what there is not is refused by name."""
    own = tmp_path / "work.toml"
    own.write_text('[horse."Sea Fret"]\nkind = "sprinter"\nnatures = ["keen"]\n', encoding="utf-8")
    assert read_settings(own).horses == {"Sea Fret": OfHorse("sprinter", ("keen",))}
    for wrong in ('kind = "hurdler"', 'natures = ["lazy"]', 'natures = "keen"', "fast = true"):
        own.write_text(f'[horse."Sea Fret"]\n{wrong}\n', encoding="utf-8")
        with pytest.raises(WorkRefusedError, match="Sea Fret"):
            read_settings(own)


def test_other_weeks_have_the_same_work_on_other_mornings() -> None:
    """Each week that a string is spread over has the works and lessons of the first, on another day, and a day off."""
    spread = [stage for one in SETTINGS.kinds.values() for stage in one.stages if stage.others]
    assert {stage.name for stage in spread} == {"building", "first works"}
    for stage in spread:
        for other in stage.others:
            assert (stage.week.index("work"), other.index("work")) == (4, 1)
            assert [other.count(word) for word in ("work", "second", "lesson", "off")] == [
                stage.week.count(word) for word in ("work", "second", "lesson", "off")
            ]


def test_a_yard_fixes_work_mornings_by_horse_by_barn_and_for_all(tmp_path: Path) -> None:
    """What is said of a horse goes before its barn, that before its turn; without spread all have the first week."""
    own = tmp_path / "work.toml"
    own.write_text("[barn.Top]\nmornings = 2\n[horse.Ada]\nmornings = 1\n", encoding="utf-8")
    found = read_settings(own)
    assert [found.mornings_of(*one) for one in (("Ada", "Top", 1), ("Bee", "Top", 0), ("Bee", "Low", 3))] == [0, 1, 3]
    week = {turn: found.routine("sprinter", (), turn).stage().week for turn in range(3)}
    assert week[0] == week[2] != week[1]
    own.write_text("[mornings]\nspread = false\n", encoding="utf-8")
    assert read_settings(own).mornings_of("Bee", "Low", 3) == 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[mornings]\nspread = 2\n", "mornings, spread"),
        ("[barn.Top]\nmornings = 0\n", "Top, mornings"),
        ("[barn.Top]\nworks = 1\n", "barn Top"),
        ('[horse.Ada]\nmornings = "Tuesday"\n', "Ada, mornings"),
        ('[[kind.sprinter.stage]]\nname = "x"\nweek = ["off"]\nfast = [0, 1]\ncanter = [0, 1]\n', "week of sprinter"),
    ],
)
def test_work_mornings_that_cannot_be_are_refused(text: str, said: str, tmp_path: Path) -> None:
    """A word or a number that there is not is refused, named as it stands in the file."""
    own = tmp_path / "work.toml"
    own.write_text(text, encoding="utf-8")
    with pytest.raises(WorkRefusedError, match=said):
        read_settings(own)
