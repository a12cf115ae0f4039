"""Planted troubles: the watch is no later than a plain rule that points as often on ordinary days."""

import numpy as np
import pytest

from upsides.condition.monitoring.budget import Budget
from upsides.condition.monitoring.kinds import KINDS
from upsides.condition.monitoring.watching import watch
from upsides.condition.troubles import (
    BEGIN,
    EVEN,
    FEED,
    MASS,
    START,
    TEMPERATURE,
    TROUBLES,
    Compared,
    compare,
    ordinary_yard,
)


@pytest.fixture(scope="module")
def found() -> Compared:
    """Every trouble in twelve yards of 40 horses."""
    return compare(range(12), horses=40)


def test_no_later_than_the_plain_rule(found: Compared) -> None:
    """In twelve yards of 40 horses the watch sees as many troubles, on the mean no later.

    Both rules point as often on the same yards without troubles.
    """
    assert [one.name for one in found.delays] == [one.name for one in TROUBLES]
    assert abs(found.watch_ordinary - found.plain_ordinary) < 0.02
    assert 0.05 < found.watch_ordinary < 0.8
    watch, plain = (np.mean([getattr(one, name) for one in found.delays]) for name in ("watch_days", "plain_days"))
    assert watch < plain
    assert np.mean([one.watch_seen for one in found.delays]) >= np.mean([one.plain_seen for one in found.delays])
    virus = found.delays[0]
    assert virus.watch_seen == 1.0
    assert virus.watch_days < 4.0


def test_a_drifting_scale_is_laid_to_the_scale() -> None:
    """While a scale drifts the watch points at fewer horses that are not off than the plain rule does."""
    (scale,) = compare(range(4, 6), horses=40, troubles=TROUBLES[-1:]).delays
    assert scale.watch_false < scale.plain_false
    assert scale.watch_seen >= 0.5


def test_a_horse_that_grows_uneven_is_seen(found: Compared) -> None:
    """In twelve yards a trot that grows less even over three weeks is seen in every one, on the mean sooner than by the
    plain rule that points as often on ordinary days."""
    (uneven,) = (one for one, trouble in zip(found.delays, TROUBLES, strict=True) if trouble.kinds == (EVEN,))
    assert uneven.watch_seen == 1.0
    assert uneven.watch_days < min(uneven.plain_days, 21.0)


def test_evenness_points_as_often_as_it_is_read() -> None:
    """Where nothing is wrong its share of the pointings is its share of the readings, to four standard errors of their
    number: one budget is spread over all kinds alike."""
    found, shares = [], []
    for seed in range(4):
        readings = ordinary_yard(seed).readings()
        late = readings.day >= START + 100
        pointed = watch(readings, Budget(1 / 3, 0.1), every=140).pointed() & late
        found += (readings.kind[pointed] == EVEN).tolist()
        shares.append(np.mean(readings.kind[late] == EVEN))
    share = float(np.mean(shares))
    assert abs(np.mean(found) - share) < 4 * np.sqrt(share * (1 - share) / len(found))


def test_troubles_are_what_they_say() -> None:
    """Before its beginning no trouble changes anything, and after it only the kinds of reading that it names."""
    yard = ordinary_yard(1, horses=24)
    for trouble in TROUBLES:
        off = trouble.plant(yard, np.random.default_rng(1))
        changed = np.nan_to_num(off.value - yard.value) != 0.0
        assert not changed[:, :, :BEGIN].any()
        assert set(np.flatnonzero(changed.any(axis=(1, 2))).tolist()) == set(trouble.kinds)
        horses = np.flatnonzero(changed.any(axis=(0, 2)))
        truly = trouble.horses(yard)
        assert not truly.size or set(horses.tolist()) <= set(truly.tolist())


def test_an_ordinary_yard_is_read_as_yards_are() -> None:
    """Mass is read about weekly, temperature and feed almost daily, and no value is beyond what a horse can have."""
    yard = ordinary_yard(2)
    often = np.isfinite(yard.value).mean(axis=(1, 2))
    assert abs(often[MASS] - 1 / 7) < 0.03
    assert min(often[TEMPERATURE], often[FEED]) > 0.9
    assert len(yard.value) == len(KINDS)
    assert (np.nanmin(yard.value[FEED]), np.nanmax(yard.value[FEED])) >= (0.0, 0.0)
    assert np.nanmax(yard.value[FEED]) <= 1.0
    assert np.nanmax(np.abs(yard.value[TEMPERATURE] - 37.8)) < 4.0
