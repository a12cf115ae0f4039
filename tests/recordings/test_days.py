"""How fast horses are on a gallop, against simulated works whose truth is known."""

from datetime import date, timedelta

import numpy as np

from upsides.recordings.gallops.days import Gone, days_of, faster_of

ON = date(2026, 6, 20)
HORSES, DAYS, APART = 20, 12, 0.02
"""Horses differ by the last, one standard deviation of the logarithm of speed."""


def works(seed: int) -> tuple[list[Gone], np.ndarray]:
    """Return works of horses, and how fast each truly is, in standard deviations.

    The logarithm of speed is a horse's own, a day's (3 %), 2 % more over three furlongs than over four, and 1 % that is
    left; each horse has worked on a third of the days.
    """
    rng = np.random.default_rng(seed)
    own, days = rng.normal(0.0, APART, HORSES), rng.normal(0.0, 0.03, DAYS)
    found = []
    for horse, day in np.ndindex(HORSES, DAYS):
        if rng.random() < 1 / 3:
            furlongs = int(rng.integers(3, 5))
            log = np.log(15.5) + own[horse] + days[day] + (0.02 if furlongs == 3 else 0.0) + rng.normal(0.0, 0.01)
            when, metres = ON - timedelta(days=3 * day), furlongs * 201.168
            found.append(Gone(horse, when, float(np.exp(log)), 0.05, True, metres, None, int(rng.integers(6))))
    return found, own / APART


def test_horses_are_told_apart_with_their_error() -> None:
    """What works say of how fast a horse is lies about the truth as far as it says (nine in ten of 90 % ranges, less
    four Monte Carlo errors), unshrunk: over all horses it differs from the truth by no more than its error."""
    off, error, true = [], [], []
    for seed in range(12):
        gone, truth = works(seed)
        for one in faster_of(gone):
            off.append(one.by - truth[one.horse])
            error.append(one.error)
            true.append(truth[one.horse])
    inside = np.abs(np.array(off)) < 1.645 * np.array(error)
    assert inside.mean() > 0.9 - 4 * np.sqrt(0.09 / inside.size) - 0.03  # the spread of horses is estimated too
    assert np.corrcoef(true, np.array(off) + true)[0, 1] > 0.8
    slope = np.polyfit(true, np.array(off) + true, 1)[0]
    assert 0.8 < slope < 1.25


def test_direction_is_no_horse() -> None:
    """Horses that differ only in that some went down a gallop that is 5 % faster down are not told apart."""
    rng = np.random.default_rng(3)
    gone = [
        Gone(horse, ON - timedelta(days=day), 15.0 * (1.05 if down else 1.0), 0.1, True, 800.0, None, None, not down)
        for horse, day in np.ndindex(12, 8)
        for down in [horse < 6 if rng.random() < 0.7 else horse >= 6]
    ]
    assert all(abs(one.by) < 2.0 * one.error for one in faster_of(gone))


def test_horses_that_do_not_differ_say_nothing() -> None:
    """Where all horses go alike no horse is told to be faster than another."""
    gone = [
        Gone(horse, ON - timedelta(days=day), 15.0, 0.0, True, 800.0, None, None) for horse, day in np.ndindex(6, 6)
    ]
    assert all(abs(one.by) < 0.5 for one in faster_of(gone))


def test_days_that_did_nothing_are_not_told_for_certain() -> None:
    """Where days differ by 0 or by 0.4 % beside 1 % that is left, what each did is told with an error that holds the
    truth nine times in ten (less four Monte Carlo errors), and in no set of works as nought for certain."""
    inside, least = [], []
    for seed in range(12):
        rng = np.random.default_rng(seed)
        own, days = rng.normal(0.0, APART, 10), rng.normal(0.0, 0.004 * (seed % 2), 8)
        gone = [
            Gone(horse, ON - timedelta(days=day), float(15.5 * np.exp(own[horse] + days[day] + rng.normal(0, 0.01))),
                 0.05, True, 800.0, None, None)
            for horse, day in np.ndindex(10, 8)
            if rng.random() < 0.5
        ]  # fmt: skip
        found = days_of(gone)
        least.append(min(one.sd for one in found.values()))
        inside += [
            abs(one.effect - days[(ON - when).days] + days.mean()) < 1.645 * one.sd for when, one in found.items()
        ]
    assert min(least) > 0.001
    assert np.mean(inside) > 0.9 - 4 * np.sqrt(0.09 / len(inside))
