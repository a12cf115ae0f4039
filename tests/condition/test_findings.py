"""What is found on a day in simulated yards with one thing planted."""

from dataclasses import replace

import numpy as np
import pytest

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.budget import Budget
from upsides.condition.monitoring.findings import findings_on
from upsides.condition.monitoring.found import Findings, Group
from upsides.condition.monitoring.kinds import KINDS
from upsides.condition.monitoring.readings import readings_of
from upsides.condition.monitoring.swaps import swapped_on
from upsides.condition.monitoring.watching import Watched, watch
from watched_yard import FIRST, KIND, Simulated, simulate

DAY = FIRST + 299
BUDGET = Budget(horses=0.1, groups=0.02)
HERE = dict.fromkeys(range(60), FIRST)


def found(yard: Simulated, day: int = DAY, most: int = 6) -> Findings:
    return findings_on(watch(yard.readings(), BUDGET), day, most, HERE)


def test_a_horse_that_is_off_is_told_in_plain_values() -> None:
    """A horse four units above its usual for a week is found, with its usual, its readings since, and since when."""
    yard = simulate(31, often=1.0)
    usual = yard.value[7, :292].mean()
    yard.value[7, 293:] += 4.0
    one = next(one for one in found(yard).horses if one.horse == 7)
    assert one.way == "above"
    assert abs(one.since - (FIRST + 293)) <= 5
    assert one.usual == pytest.approx(usual, abs=1.5)
    assert one.now == pytest.approx(yard.value[7, 299])
    assert one.readings == DAY - one.since + 1
    assert one.lately == pytest.approx(yard.value[7, one.since - FIRST :].mean())
    assert one.lately - one.usual == pytest.approx(4.0, abs=1.5)
    assert one.nearness > 1.0
    assert one.last == DAY
    assert not one.new


def test_its_usual_learns_nothing_while_it_is_off_and_then_takes_it() -> None:
    """Two weeks into a shift the usual stands where it was; two months later the shift is usual, and not found."""
    yard = simulate(32, days=400, often=1.0)
    before = yard.value[3, 200:300].mean()
    yard.value[3, 300:] += 5.0
    watched = watch(yard.readings(), BUDGET)
    mine = watched.readings.horse == 3
    usual = watched.told[mine, of.OWN]
    assert usual[314] == pytest.approx(before, abs=1.6)
    assert usual[399] == pytest.approx(before + 5.0, abs=1.6)
    assert 3 not in {one.horse for one in findings_on(watched, FIRST + 399, 60, HERE).horses}


def test_a_warm_barn_is_one_finding_not_many() -> None:
    """When a whole barn rises by two units the barn is found, and hardly any of its horses besides."""
    yard = simulate(33, often=1.0)
    yard.value[yard.barn == 2, 296:] += 2.0
    yard.device[:] = 0
    told = found(yard)
    first = told.groups[0]
    assert (first.group, first.way) == (Group("barn", 2), "above")
    assert first.off == pytest.approx(2.0, abs=0.8)
    assert abs(first.since - (FIRST + 296)) <= 1
    assert first.beyond >= 3
    assert first.read == 15
    assert len([one for one in told.horses if yard.barn[one.horse] == 2]) <= 2


def test_a_barn_and_its_own_thermometer_cannot_be_told_apart() -> None:
    """Where each barn has one device of its own, a rise names both; where all share devices, the barn alone."""
    own, shared = simulate(34, often=1.0), simulate(34, often=1.0)
    shared.device[:] = (np.arange(60)[:, None] // 4 + np.arange(300)) % 3
    for yard in (own, shared):
        yard.value[yard.barn == 1, 297:] += 2.5
    pairs = {(one.group, one.or_else) for one in found(own).groups}
    assert pairs & {(Group("barn", 1), Group("device", 1)), (Group("device", 1), Group("barn", 1))}
    assert (Group("barn", 1), None) in {(one.group, one.or_else) for one in found(shared).groups}
    assert len([one for one in found(own).groups if one.group.code == 1]) == 1


def test_a_new_scale_is_told_from_the_yard_moving() -> None:
    """A device that begins to read three units high is found and learned, and the yard is not; all high is the yard."""
    yard = simulate(35, often=1.0)
    yard.device[:] = (np.arange(60)[:, None] + np.arange(300)) % 2
    high = Simulated(yard.value.copy(), yard.barn, yard.device)
    high.value[:, 290:] += 3.0 * (high.device[:, 290:] == 1)
    told = found(high)
    device = next(one for one in told.groups if one.group == Group("device", 1))
    assert device.off == pytest.approx(3.0, abs=1.0)
    assert abs(device.since - (FIRST + 290)) <= 1
    assert Group("yard") not in {one.group for one in told.groups}
    assert len(told.horses) <= 4
    yard.value[:, 290:] += 3.0
    told = found(yard)
    assert told.groups[0].group == Group("yard")
    assert told.groups[0].off == pytest.approx(3.0, abs=1.2)
    assert {one.group.level for one in told.groups} == {"yard"}


def test_at_most_as_many_horses_as_can_be_looked_at() -> None:
    """Of ten horses that are off the two most pressing are told, and that there are more."""
    yard = simulate(36, often=1.0)
    yard.value[:10, 297:] += np.linspace(5.0, 12.0, 10)[:, None]
    told = found(yard, most=2)
    assert {one.horse for one in told.horses} <= set(range(6, 10))
    assert len({one.horse for one in told.horses}) == 2
    assert told.more >= 7


def test_what_was_not_read_is_found() -> None:
    """A horse last read nineteen days ago, and one never read since it came, are told; one that has left is not."""
    yard = simulate(37, often=1.0)
    yard.value[4, 281:] = yard.value[9, :] = yard.value[5, 200:] = np.nan
    here = HERE | {9: DAY - 12}
    del here[5]
    missed = {one.horse: one for one in findings_on(watch(yard.readings(), BUDGET), DAY, 6, here).missed}
    assert (missed[4].days, missed[4].usual) == (19, 1.0)
    assert (missed[9].days, missed[9].never, missed[4].never) == (12, True, False)
    assert set(missed) == {4, 9}


def test_a_day_is_told_as_it_was_known() -> None:
    """Findings of an earlier day do not change when later days went in."""
    yard = simulate(38)
    readings = yard.readings()
    day = FIRST + 250
    late = findings_on(watch(readings, BUDGET), day, 6, HERE)
    early = findings_on(watch(readings.between(FIRST, day), BUDGET), day, 6, HERE)
    assert late == early


def tracked(seed: int) -> tuple[Watched, int]:
    """Return a watch over a yard whose horses 2 and 9 wore each other's tracker on the last morning, and that day."""
    rng = np.random.default_rng(seed)
    kinds = [place for place, kind in enumerate(KINDS) if kind.tracked]
    horses, days = 24, 150
    centre = {3: (95, 8, 6), 5: (15.5, 0.4, 0.2), 6: (200, 5, 3), 7: (6.8, 0.3, 0.06), 8: (0.93, 0.03, 0.015)}
    value = np.array([
        c + rng.normal(0, b, (horses, 1)) + rng.normal(0, s, (horses, days)) for c, b, s in map(centre.get, kinds)  # type: ignore[misc]
    ])  # fmt: skip
    value[:, 9] += np.array([[16.0], [-0.6], [8.0], [-0.5], [-0.05]])
    value[:, [2, 9], -1] = value[:, [9, 2], -1]
    kind, horse, day = np.nonzero(np.isfinite(value) & (np.arange(days) % 3 == days % 3 - 1 + (days % 3 == 0) * 3))
    readings = readings_of(horse, np.array(kinds)[kind], FIRST + day, value[kind, horse, day])
    return watch(readings, BUDGET), FIRST + int(day.max())


def test_exchanged_trackers_are_named() -> None:
    """Two horses that wore each other's tracker are named on that day, and nobody is on the days before."""
    watched, last = tracked(39)
    (pair,) = swapped_on(watched, last)
    assert (pair.one, pair.other) == (2, 9)
    assert pair.chance > 0.99
    before = np.unique(watched.readings.day)[30:-1]
    assert [day for day in before.tolist() if swapped_on(watched, day)] == []


def test_what_is_less_than_the_grain_is_not_told() -> None:
    """A horse and a barn that are beyond doubt off, but by less than their instrument can tell, are not told of."""
    yard = simulate(38, often=1.0, noise=0.05, passing=0.0, yard=0.02, barn=0.02)
    yard.value[7, 285:] += 0.5
    yard.value[yard.barn == 2, 285:] += 0.5
    fine, coarse = (findings_on(watch(yard.readings(replace(KIND, grain=grain)), BUDGET), DAY, 6, HERE)
                    for grain in (0.05, 0.6))  # fmt: skip
    assert 7 in {one.horse for one in fine.horses}
    assert Group("barn", 2) in {one.group for one in fine.groups} | {one.or_else for one in fine.groups}
    assert (coarse.horses, coarse.groups) == ((), ())


def test_what_nobody_would_walk_for_is_not_told_of_a_horse() -> None:
    """A horse that is beyond doubt off by more than the grain, but by less than anybody walks for, is not told of; a
    barn that is off by as much is, since a thermometer or a scale may be at fault."""
    yard = simulate(38, often=1.0, noise=0.05, passing=0.0, yard=0.02, barn=0.02)
    yard.value[7, 285:] += 0.5
    yard.value[yard.barn == 2, 285:] += 0.5
    told = findings_on(watch(yard.readings(replace(KIND, grain=0.05, worth=0.6)), BUDGET), DAY, 6, HERE)
    assert told.horses == ()
    assert Group("barn", 2) in {one.group for one in told.groups} | {one.or_else for one in told.groups}


def test_every_kind_says_for_how_much_somebody_walks() -> None:
    """No kind that is watched tells of a horse for less than its instrument can tell, or for less than shows in the
    words that a value is written with: never a temperature 37.8 above its usual 37.7."""
    for kind in KINDS:
        assert kind.worth >= kind.grain
        assert kind.worth > 10.0**-kind.places
