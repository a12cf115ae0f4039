"""The whole watch on simulated yards: what remains is white, the budget holds, and no day knows the next."""

from dataclasses import replace

import numpy as np
import pytest

from upsides.condition.monitoring import places as of
from upsides.condition.monitoring.budget import Budget
from upsides.condition.monitoring.limits import normal_limits, own_limits
from upsides.condition.monitoring.readings import Readings, readings_of
from upsides.condition.monitoring.watching import Watched, watch
from upsides.errors import ConditionRefusedError
from watched_yard import FIRST, KIND, Simulated, simulate

RARELY = Budget(horses=0.05, groups=0.02)


def left(watched: Watched, yard: Simulated) -> np.ndarray:
    """Return (horses, days) how far off each reading is, NaN where none was."""
    z = np.full(yard.value.shape, np.nan)
    z[watched.readings.horse, watched.readings.day - FIRST] = watched.told[:, of.Z]
    return z[:, 80:]


def correlation(a: np.ndarray, b: np.ndarray) -> float:
    both = np.isfinite(a) & np.isfinite(b)
    return float(np.corrcoef(a[both], b[both])[0, 1])


def test_what_remains_is_white() -> None:
    """Readings that hang together from day to day, by barn and by horse leave errors that do not, of unit size.

    The readings themselves, less their horse's mean, correlate by more than 0.2 with the day before and 0.1 with
    a horse of the barn. Fifteen, each held against the other fourteen, correlate by minus a fifteenth.
    """
    yard = simulate(11, days=500, often=1.0)
    z = left(watch(yard.readings(), RARELY), yard)
    raw = (yard.value - yard.value.mean(axis=1, keepdims=True))[:, 80:]
    assert correlation(raw[:, 1:], raw[:, :-1]) > 0.2
    assert correlation(raw[4:], raw[:-4]) > 0.1
    for lag in (1, 2, 5):
        assert abs(correlation(z[:, lag:], z[:, :-lag])) < 0.04
    assert abs(correlation(z[4:], z[:-4]) + 1 / 15) < 0.04
    assert z.std() == pytest.approx(1.0, abs=0.05)
    per_horse = z.std(axis=1)
    assert per_horse.max() / per_horse.min() < 1.35


def test_a_restless_horse_is_judged_by_itself() -> None:
    """A horse that varies twice as much as the rest is not pointed at much more often than they are."""
    yard = simulate(12, days=500)
    yard.value[0] = np.nanmean(yard.value[0]) + 2.0 * (yard.value[0] - np.nanmean(yard.value[0]))
    z = left(watch(yard.readings(), RARELY), yard)
    assert np.nanstd(z[0]) < 1.35
    assert np.nanstd(z[0]) / np.nanstd(z[1:]) < 1.35


@pytest.mark.parametrize("heavy", [False, True])
def test_the_budget_holds(heavy: bool) -> None:  # noqa: FBT001 -- pytest passes it by name
    """Over a year the yard is pointed at as often as its budget says, with normal and with heavy-tailed readings.

    Within four standard errors of a count, and a quarter for limits that are themselves estimated from a count.
    """
    yard = simulate(13, days=500)
    if heavy:
        rng = np.random.default_rng(14)
        yard.value += np.where(rng.random(yard.value.shape) < 0.05, rng.normal(0, 3, yard.value.shape), 0.0)
    budget = Budget(horses=0.4, groups=0.1)
    watched = watch(yard.readings(), budget)
    late = watched.readings.day >= FIRST + 130
    wanted = 370 * budget.horses
    assert abs(watched.pointed()[late].sum() - wanted) < 4 * np.sqrt(wanted) + 0.25 * wanted
    of_groups = watched.groups_pointed() & (watched.groups[:, of.G_DAY] >= FIRST + 130)
    assert of_groups.sum() < 2.0 * (4 * np.sqrt(37) + 37)


def test_twice_the_budget_points_more_often() -> None:
    """A yard that can look at more is shown more, by lower limits and a shorter run length."""
    readings = simulate(15).readings()
    few, many = (watch(readings, Budget(horses=each)) for each in (0.2, 0.8))
    assert many.pointed().sum() > 2 * few.pointed().sum()
    assert many.known.limits[0].single < few.known.limits[0].single
    assert few.known.limits[0].run_length == pytest.approx(4 * many.known.limits[0].run_length)
    assert few.known.limits[0].run_length == pytest.approx(48 / 0.2, rel=0.05)


def test_a_day_does_not_know_the_next() -> None:
    """What is told of the first 200 days is the same, bit by bit, whether or not later days went in."""
    readings = simulate(16).readings()
    whole, early = watch(readings), watch(readings.between(FIRST, FIRST + 199))
    assert np.array_equal(whole.told[readings.day < FIRST + 200], early.told)
    assert np.array_equal(whole.groups[whole.groups[:, of.G_DAY] < FIRST + 200], early.groups)


def test_nobody_is_pointed_at_while_it_learns() -> None:
    """In the first sixty days nobody is pointed at; with what an earlier watch has learned, somebody may be."""
    readings = simulate(17).readings()
    watched = watch(readings, Budget(horses=3.0))
    assert (readings.day[watched.pointed()] >= FIRST + 60).all()
    again = watch(readings, Budget(horses=3.0), known=watched.known)
    assert (readings.day[again.pointed()] < FIRST + 60).any()
    assert again.known is watched.known


def test_order_of_readings_is_no_matter() -> None:
    """Readings given in another order tell the same."""
    yard = simulate(18, horses=20, days=120)
    horse, day = np.nonzero(np.isfinite(yard.value))
    shuffled = np.random.default_rng(1).permutation(horse.size)
    one, other = (
        watch(readings_of(horse[at], 0, FIRST + day[at], yard.value[horse[at], day[at]], kinds=(KIND,)))
        for at in (np.arange(horse.size), shuffled)
    )
    assert np.array_equal(one.told, other.told)


def test_a_season_is_not_news() -> None:
    """A yard that swings by six units over a year, as mass does, is hardly pointed at more often than a still one."""
    still = simulate(19, days=700)
    swinging = Simulated(still.value + 6 * np.sin(2 * np.pi * np.arange(700) / 365), still.barn, still.device)
    counts = [watch(one.readings(), Budget(horses=0.4)).pointed().sum() for one in (still, swinging)]
    assert counts[1] < 1.3 * counts[0] + 10
    z = left(watch(swinging.readings(), RARELY), swinging)
    assert np.nanstd(z) == pytest.approx(1.0, abs=0.05)


def test_growth_is_not_news() -> None:
    """Two-year-olds that gain a unit a month are not off: their errors average nought over the second half year."""
    yard = simulate(20, days=360, between=5.0)
    grown = Simulated(yard.value + np.arange(360) / 30.0, yard.barn, yard.device)
    horse, day = np.nonzero(np.isfinite(grown.value))
    from dataclasses import replace

    kind = replace(KIND, grows=True, growth=0.02)
    readings = readings_of(
        horse, 0, FIRST + day, grown.value[horse, day], barn=grown.barn[horse], kinds=(kind,),
        foaled=np.full(60, FIRST - 750.0),
    )  # fmt: skip
    z = left(watch(readings), grown)
    assert abs(np.nanmean(z[:, 100:])) < 0.05


def test_nothing_is_told_of_nothing() -> None:
    """A yard without readings has nothing told, and no error."""
    watched = watch(readings_of([], [], [], []))
    assert watched.told.shape[0] == watched.groups.shape[0] == watched.pointed().size == 0


def test_limits_of_a_short_past_are_those_of_normal_readings() -> None:
    """With hardly any past the limits are those of normal readings; with much they follow a heavier tail."""
    rng = np.random.default_rng(21)
    owner, day = np.tile(np.arange(100), 400), np.repeat(np.arange(400) + FIRST, 100)
    normal = normal_limits(1000.0, both=True)
    assert own_limits(owner[:40], day[:40], rng.normal(0, 1, 40), 0, 1000.0) == normal
    heavy = own_limits(owner, day, rng.standard_t(4, owner.size) / np.sqrt(2), 0, 1000.0)
    assert heavy.single > 1.2 * normal.single
    plain = own_limits(owner, day, rng.normal(0, 1, owner.size), 0, 1000.0)
    assert plain.single == pytest.approx(normal.single, rel=0.15)


@pytest.mark.parametrize(
    ("given", "word"),
    [({"value": [1.0, np.nan]}, "value"), ({"horse": [0, -1]}, "horse"), ({"kind": [0, 9]}, "kind"),
     ({"sd": [0.0, -1.0]}, "standard error"), ({"barn": [0, 1, 2]}, "barn")],
)  # fmt: skip
def test_what_cannot_be_is_refused(given: dict[str, list[float]], word: str) -> None:
    """A value that is no number, a code that there is not and arrays that do not match are named and refused."""
    whole = {"horse": [0, 1], "kind": [0, 0], "day": [1, 1], "value": [1.0, 2.0]} | given
    with pytest.raises(ConditionRefusedError, match=word):
        readings_of(**whole)  # type: ignore[arg-type]


def test_a_budget_is_above_nought() -> None:
    """A budget of no horse a day is refused."""
    with pytest.raises(ConditionRefusedError, match="horses a day"):
        Budget(horses=0.0)


def test_days_are_cut_out_of_readings() -> None:
    """Readings between two days are those of these days, all columns alike."""
    readings: Readings = simulate(22, horses=5, days=30).readings()
    some = readings.between(FIRST + 3, FIRST + 5)
    assert set(some.day) == {FIRST + 3, FIRST + 4, FIRST + 5}
    assert some.horse.size == some.value.size == some.device.size == some.day.size


def test_a_kind_read_only_later_has_first_weeks_of_its_own() -> None:
    """A kind whose readings begin after five months points at nobody for sixty days, then as the budget says.

    Its centre is its own, and what was told of the other kind before it began is what that alone would have told.
    """
    kinds = (KIND, replace(KIND, name="later"))
    early, late = simulate(21, days=420), simulate(22, days=420)
    late.value[:, :150] = np.nan
    cells = [np.nonzero(np.isfinite(one.value)) for one in (early, late)]
    horse, day = (np.concatenate([one[axis] for one in cells]) for axis in (0, 1))
    kind = np.repeat([0, 1], [one[0].size for one in cells])
    value = np.concatenate([one.value[cell] for one, cell in zip((early, late), cells, strict=True)])
    both = readings_of(horse, kind, FIRST + day, value, barn=early.barn[horse], device=early.barn[horse] + 4 * kind,
                       kinds=kinds)  # fmt: skip
    budget = Budget(horses=0.4, groups=0.1)
    watched = watch(both, budget)
    assert watched.begins.tolist() == [FIRST + 60, FIRST + 210]
    assert watched.known.natures[1].centre == pytest.approx(100.0, abs=4 * 5.0 * 1.25 / np.sqrt(60))
    pointed, of_late = watched.pointed(), watched.readings.kind == 1
    assert not (pointed & of_late & (watched.readings.day < FIRST + 210)).any()
    wanted = 210 * budget.horses
    found = (pointed & (watched.readings.day >= FIRST + 210)).sum()
    assert abs(found - wanted) < 4 * np.sqrt(wanted) + 0.25 * wanted
    alone = watch(early.readings(), budget)
    before = alone.readings.day < FIRST + 150
    assert np.array_equal(alone.told[before], watched.told[~of_late][before])
