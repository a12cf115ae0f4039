"""What is learned of a kind against known truth of simulated yards."""

from dataclasses import replace

import numpy as np
import pytest

from upsides.condition.monitoring.kinds import KINDS, MASS_GROWTH
from upsides.condition.monitoring.learning import _grown, medians, nature_of
from upsides.condition.monitoring.readings import readings_of
from upsides.condition.monitoring.steps import grown
from watched_yard import FIRST, KIND, simulate


def test_parts_of_a_variance_are_found() -> None:
    """Noise, what passes and how soon, yard and barn are found in a year of sixty horses, within a quarter."""
    found = nature_of(simulate(1, days=365).readings(), KIND)
    assert np.sqrt(found.noise) == pytest.approx(1.0, rel=0.1)
    assert np.sqrt(found.pass_variance) == pytest.approx(0.8, rel=0.15)
    assert found.pass_days in {2.0, 3.0, 5.0}
    assert found.sd == pytest.approx(np.hypot(1.0, 0.8), rel=0.05)
    assert np.sqrt(found.yard) == pytest.approx(0.5, rel=0.25)
    assert 0.1 < np.sqrt(found.barn) < 0.45
    assert found.centre == pytest.approx(100.0, abs=4 * 5.0 * 1.25 / np.sqrt(60))
    assert found.between > 25.0


def test_wild_readings_change_little() -> None:
    """Two readings in a hundred misread by ten standard deviations raise the noise by less than a third."""
    yard = simulate(2, days=365)
    clean = nature_of(yard.readings(), KIND)
    rng = np.random.default_rng(3)
    yard.value[rng.random(yard.value.shape) < 0.02] += 10.0
    assert np.sqrt(nature_of(yard.readings(), KIND).noise / clean.noise) < 1.33


def test_growth_is_the_yards_own() -> None:
    """Thirty two-year-olds that gain 0.08 kg a day are found to, where 0.041 was thought beforehand."""
    rng = np.random.default_rng(4)
    horse, week = (grid.ravel() for grid in np.meshgrid(np.arange(30), np.arange(40), indexing="ij"))
    day = FIRST + 7 * week
    mass = 450 + rng.normal(0, 15, 30)[horse] + 0.08 * (7 * week) + rng.normal(0, 2.5, horse.size)
    young = readings_of(horse, 0, day, mass, foaled=np.full(30, FIRST - 760.0))
    found = nature_of(young, KINDS[0])
    assert found.growth == pytest.approx((5 * MASS_GROWTH + 30 * 0.08) / 35, abs=0.006)
    unknown = nature_of(readings_of(horse, 0, day, mass), KINDS[0])
    assert unknown.growth == pytest.approx(MASS_GROWTH)


def test_known_errors_are_no_noise_of_the_kind() -> None:
    """Where readings say that they are wrong by 0.8 of a noise of 1, a noise of 0.6 is left to the kind: powers add."""
    readings = simulate(1, days=365).readings()
    told = nature_of(replace(readings, sd=np.full(readings.sd.size, 0.8)), KIND)
    assert np.sqrt(told.noise) == pytest.approx(0.6, rel=0.25)
    assert told.noise == pytest.approx(nature_of(readings, KIND).noise - 0.64)


def test_no_kind_varies_less_than_its_grain() -> None:
    """A kind that never changes has the noise of its grain, and one without readings too."""
    same = readings_of(
        np.repeat(np.arange(5), 30), 0, FIRST + np.tile(np.arange(30), 5), np.full(150, 7.0), kinds=(KIND,)
    )
    assert nature_of(same, KIND).noise == pytest.approx(KIND.grain**2)
    nothing = readings_of([], [], [], [], kinds=(KIND,))
    assert nature_of(nothing, KIND).noise == pytest.approx(KIND.grain**2)


def test_medians_are_numpys() -> None:
    """Medians by group are NumPy's own, and a group without values has none."""
    rng = np.random.default_rng(5)
    group, value = rng.integers(0, 9, 200), rng.normal(0, 1, 200)
    value, group = value[group != 4], group[group != 4]
    found = medians(group, value)
    assert np.isnan(found[4])
    for k in set(range(9)) - {4}:
        assert found[k] == pytest.approx(np.median(value[group == k]), abs=1e-12)


def test_growth_of_many_ages_is_that_of_each() -> None:
    """Days of growth of many ages at once are those that the walk takes of one."""
    ages = np.linspace(300.0, 2500.0, 45)
    assert _grown(ages) == pytest.approx([grown(float(one)) for one in ages], abs=1e-9)
