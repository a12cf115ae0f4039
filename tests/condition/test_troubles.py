"""Planted troubles: the watch is no later than a plain rule that points as often on ordinary days."""

import numpy as np

from upsides.condition.monitoring.kinds import KINDS
from upsides.condition.troubles import BEGIN, FEED, MASS, TEMPERATURE, TROUBLES, compare, ordinary_yard


def test_no_later_than_the_plain_rule() -> None:
    """In four yards of 40 horses the watch sees as many troubles, on the mean later by half a day at the most.

    Both rules point as often on the same yards without troubles.
    """
    found = compare(range(4), horses=40)
    assert [one.name for one in found.delays] == [one.name for one in TROUBLES]
    assert abs(found.watch_ordinary - found.plain_ordinary) < 0.02
    assert 0.05 < found.watch_ordinary < 0.8
    watch, plain = (np.mean([getattr(one, name) for one in found.delays]) for name in ("watch_days", "plain_days"))
    assert watch < plain + 0.5
    assert np.mean([one.watch_seen for one in found.delays]) >= np.mean([one.plain_seen for one in found.delays])
    virus = found.delays[0]
    assert virus.watch_seen == 1.0
    assert virus.watch_days < 4.0


def test_a_drifting_scale_is_laid_to_the_scale() -> None:
    """While a scale drifts the watch points at fewer horses that are not off than the plain rule does."""
    (scale,) = compare(range(4, 6), horses=40, troubles=TROUBLES[4:]).delays
    assert scale.watch_false < scale.plain_false
    assert scale.watch_seen >= 0.5


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
