"""How even strides are, on simulated strides whose unevenness is known, and where it is refused."""

from dataclasses import replace
from functools import lru_cache
from math import isnan

import numpy as np
import pytest

from upsides.demo.morning_sim.morning import Morning, alone
from upsides.demo.morning_sim.mover import Mover
from upsides.demo.morning_sim.moving import CANTER, TROT
from upsides.demo.morning_sim.receiver import Receiver
from upsides.demo.morning_sim.striding import BEAT_G, NOISE_G
from upsides.recordings.bouts.evenness import Evenness, autocorrelation, evenness
from upsides.recordings.formats.csv import read_shape
from upsides.recordings.formats.fit import read_fit, write_fit
from upsides.recordings.measuring import measured
from upsides.recordings.opening import read_bytes
from upsides.recordings.recording import Motion, Recording
from upsides.recordings.tracking import track_of


@lru_cache(maxsize=16)
def morning(seed: int, uneven_g: float) -> Morning:
    """Return a morning of a horse whose trot is so uneven, with acceleration 50 times a second."""
    return alone(seed, Receiver(rate_hz=1.0, motion_hz=50.0, heart=False), mover=Mover("a", uneven_g=uneven_g))


def spans(one: Morning, first: int, last: int) -> list[tuple[float, float]]:
    """Return when it truly went at gaits from the first to the last."""
    on = np.concatenate([[False], (one.truth.gait >= first) & (one.truth.gait <= last), [False]]).astype(np.int64)
    begins, ends = np.flatnonzero(np.diff(on) == 1), np.flatnonzero(np.diff(on) == -1) - 1
    return [(one.truth.time_s[a], one.truth.time_s[b]) for a, b in zip(begins, ends, strict=True)]


def told(one: Morning, recording: Recording | None = None) -> Evenness:
    found = evenness(recording or one.recording, spans(one, TROT, TROT), spans(one, CANTER, 9))
    assert found is not None
    return found


def with_motion(one: Morning, motion: Motion) -> Evenness:
    return told(one, replace(one.recording, motion=motion))


def motion_of(one: Morning) -> Motion:
    assert one.recording.motion is not None
    return one.recording.motion


@pytest.mark.parametrize("uneven_g", [0.0, 0.05, 0.15, 0.3, 0.6])
def test_a_known_unevenness_is_found(uneven_g: float) -> None:
    """A swing with even parts of power p and odd ones of q comes out as (p - q) / (p + q) (its own Fourier series: half
    a period turns the odd parts round) to 0.01, which is what is said to be uncertain at least."""
    p, q = BEAT_G**2, uneven_g**2
    found = [told(morning(seed, uneven_g)) for seed in range(6)]
    off = np.array([one.half - (p - q) / (p + q) for one in found])
    assert np.abs(off).max() < 0.01
    assert min(one.half_sd for one in found) >= 0.01


def test_regularity_is_the_share_of_the_swing() -> None:
    """One stride against the next is the share of the swing in all that the device feels: 0.12 g of noise each moment
    beside 0.55 and 0.05 g makes 0.913, as powers add."""
    swing = 0.5 * (BEAT_G**2 + 0.05**2)
    found = [told(morning(seed, 0.05)).trot for seed in range(6)]
    assert np.mean(found) == pytest.approx(swing / (swing + NOISE_G**2), abs=0.01)


def test_the_autocorrelation_is_the_sum_it_says() -> None:
    """The autocorrelation is that of Moe-Nilssen and Helbostad 2004, summed here term by term."""
    x = np.random.default_rng(3).standard_normal(60)
    by_hand = [sum(x[i] * x[i + k] for i in range(60 - k)) / (60 - k) for k in range(60)]
    assert autocorrelation(x) == pytest.approx(np.array(by_hand) / by_hand[0], abs=1e-10)


def test_however_the_device_lies() -> None:
    """A device that lies on its side finds the same: up is where gravity says."""
    one = morning(0, 0.3)
    motion = motion_of(one)
    turned = with_motion(one, replace(motion, g=motion.g[:, [2, 0, 1]] * np.array([1.0, -1.0, 1.0])))
    assert turned.half == pytest.approx(told(one).half, abs=1e-9)


def test_files_hold_it() -> None:
    """What FIT (messages of its own, developers' fields of records) and a table hold of the same acceleration says the
    same, to what rounding to 1/1000 g does."""
    one = morning(1, 0.15)
    for in_records in (False, True):
        (fit,) = read_fit(write_fit(one.recording, in_records=in_records), "a.fit")
        assert told(one, fit).half == pytest.approx(told(one).half, abs=0.002)
    motion = motion_of(one)
    rows = (f"{t:.3f},{x:.4f},{y:.4f},{z:.4f}\n" for t, (x, y, z) in zip(motion.time_s, motion.g, strict=True))
    table = "time,acceleration_x,acceleration_y,acceleration_z\n" + "".join(rows)
    shape = 'format = 1\nname = "plain"\n[time]\nfrom = "time"\nis = "epoch s"\n[columns]\n'
    shape += "\n".join(f'acceleration_{axis} = "acceleration_{axis}"' for axis in "xyz")
    (csv,) = read_bytes(table.encode(), "a.csv", shapes=[read_shape(shape, "a.toml")])
    assert told(one, csv).half == pytest.approx(told(one).half, abs=0.002)


def test_it_is_measured_with_the_rest() -> None:
    """From a recording alone, gaits told by its own speed, the half comes out within 0.02 of the truth."""
    one = alone(2, Receiver(rate_hz=5.0, motion_hz=50.0, heart=False), mover=Mover("a", uneven_g=0.3))
    found = measured(track_of(one.recording), one.recording).even
    assert found is not None
    assert found.half == pytest.approx((BEAT_G**2 - 0.09) / (BEAT_G**2 + 0.09), abs=0.02)
    assert 0.85 < found.work < 0.95


def test_without_acceleration_nothing_is_said() -> None:
    """A recording without acceleration has no evenness at all."""
    assert evenness(replace(morning(0, 0.0).recording, motion=None), [(0.0, 1e10)], []) is None


def test_what_cannot_be_told_is_refused() -> None:
    """A slow device, acceleration without gravity, a short trot, and noise are refused, each with its reason."""
    one = morning(0, 0.05)
    motion = motion_of(one)
    slow = with_motion(one, Motion(motion.time_s[::2], motion.g[::2]))
    level = with_motion(one, replace(motion, g=motion.g - np.array([0.0, 0.0, 1.0])))
    noise = np.random.default_rng(1).standard_normal(motion.g.shape) * 0.4 + np.array([0.0, 0.0, 1.0])
    unsteady = with_motion(one, replace(motion, g=noise))
    begin = spans(one, TROT, TROT)[0][0]
    short = evenness(one.recording, [(begin, begin + 20.0)], [])
    assert short is not None
    found = (slow, level, unsteady, short)
    assert [each.why_not for each in found] == ["slow device", "no gravity", "unsteady", "too short"]
    assert all(isnan(each.half) and isnan(each.half_sd) for each in found)
