"""The line of heart on speed, against the published line and simulated hearts."""

import numpy as np
import pytest

from upsides.recordings.heart.line import HeartLine, Means, NoLine, heart_line

KMH = 3.6


def _published() -> HeartLine:
    """The line through the published means V140 13.8, V180 37.5, V200 49.3 km/h, by ordinary least squares."""
    rng_free = np.array([13.8, 37.5, 49.3]) / KMH
    speed = np.repeat(rng_free, 4)
    told = heart_line(Means(speed, np.repeat([140.0, 180.0, 200.0], 4), np.repeat([0, 1, 2], 4)))
    assert isinstance(told, HeartLine)
    return told


def test_the_published_line() -> None:
    """Through the means of eleven Thoroughbreds the line is 116.669 + 6.08328 v and reaches 214 beats at 16.00 m/s.

    J Vet Clin 2019 (JAKO201912262462412): V140, V180, V200 of 13.8, 37.5 and 49.3 km/h, maximum 214; its own VHRmax of
    57.4 km/h is 15.94 m/s.
    """
    line = _published()
    assert (line.a, line.b) == (pytest.approx(116.669, abs=5e-4), pytest.approx(6.08328, abs=5e-6))
    assert (214 - line.a) / line.b == pytest.approx(16.00, abs=5e-3)
    assert (214 - line.a) / line.b == pytest.approx(57.4 / KMH, abs=0.07)
    assert line.at(200).speed_ms == pytest.approx(49.3 / KMH, abs=0.03)


def _simulated(rng: np.random.Generator, top: float = 222.0, efforts: int = 5) -> Means:
    """Means of efforts between 4 and 17 m/s; errors last from one mean to the next (correlation 0.6, 4 beats)."""
    speed, heart, effort = [], [], []
    for number, pace in enumerate(np.linspace(4, 17, efforts)):
        v = pace + rng.normal(0, 0.2, 12)
        e = np.empty(12)
        e[0] = rng.normal(0, 4)
        for k in range(1, 12):
            e[k] = 0.6 * e[k - 1] + rng.normal(0, 4 * np.sqrt(1 - 0.36))
        speed.append(v)
        heart.append(np.minimum(110 + 6.5 * v, top) + e)
        effort.append(np.full(12, number))
    return Means(np.concatenate(speed), np.concatenate(heart), np.concatenate(effort))


def test_intervals_hold_what_they_say() -> None:
    """Of 90 % intervals of V200 over 500 simulated mornings 84 to 96 in 100 hold the true 13.85 m/s.

    Four standard errors of the share are 5.4 in 100; the errors are as the line believes them to be.
    """
    rng = np.random.default_rng(3)
    held = 0
    for _ in range(500):
        line = heart_line(_simulated(rng, top=400.0))
        assert isinstance(line, HeartLine)
        read = line.at(200)
        held += read.low_ms <= 90 / 6.5 <= read.high_ms
    assert 0.84 <= held / 500 <= 0.96


def test_the_plateau_is_left_out() -> None:
    """With a heart that rises no more from 12 m/s on, the slope stays near the true 6.5, and the bend is seen."""
    rng = np.random.default_rng(4)
    slopes, seen = [], 0
    for _ in range(200):
        line = heart_line(_simulated(rng, top=188.0, efforts=9))
        assert isinstance(line, HeartLine)
        slopes.append(line.b)
        seen += 10.5 < line.plateau_ms < 13.5
    assert np.mean(slopes) == pytest.approx(6.5, rel=0.1)
    assert seen > 190


@pytest.mark.parametrize(
    ("speeds", "kept", "reason"),
    [((8.0, 14.0), 1.0, "of 3 steady efforts"), ((10.0, 11.0, 12.0), 1.0, r"differ by 2.0 m/s"),
     ((4.0, 9.0, 14.0), 0.7, "70% of the heart rates")],
)  # fmt: skip
def test_too_little_gives_no_line(speeds: tuple[float, ...], kept: float, reason: str) -> None:
    """Two efforts, efforts of one speed, or a heart of which too little was kept give no line, and say why."""
    v = np.repeat(speeds, 5)
    told = heart_line(Means(v, 110 + 6.5 * v, np.repeat(np.arange(len(speeds)), 5)), kept)
    assert isinstance(told, NoLine)
    assert reason in told.why_not


def test_a_falling_heart_gives_no_line() -> None:
    """A heart that falls with speed is a fault of the meter, not a line."""
    v = np.repeat([4.0, 9.0, 14.0], 5)
    told = heart_line(Means(v, 200 - 3 * v, np.repeat([0, 1, 2], 5)))
    assert isinstance(told, NoLine)


def test_nothing_is_read_off_far_beyond_what_was_seen() -> None:
    """Of a line whose fastest mean is 10 m/s, V200 at 13.8 m/s is refused, and at 11 m/s it is marked as drawn out."""
    v = np.repeat([4.0, 7.0, 10.0], 5) + np.tile([-0.1, 0.1, 0.0, 0.05, -0.05], 3)
    line = heart_line(Means(v, 110 + 6.5 * v + np.tile([0.5, -0.5, 0.2, -0.2, 0.0], 3), np.repeat([0, 1, 2], 5)))
    assert isinstance(line, HeartLine)
    assert "no effort came near 200" in line.at(200).why_not
    near = line.at(110 + 6.5 * 11)
    assert near.beyond
    assert near.low_ms < 11.0 < near.high_ms
