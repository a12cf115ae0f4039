"""Acceleration and speed that developers' fields of FIT records hold many times a record."""

import numpy as np
import pytest

from fit_bytes import CLOCK, EPOCH_S, definition, record, whole
from upsides.recordings.formats.fit import read_fit


@pytest.mark.parametrize(
    ("unit", "long"), [(b"", 1.0), (b"?", 9.80665), (b"", 1000.0), (b"m/s^2", 9.80665), (b"mG", 1e3)]
)
def test_acceleration_in_developers_fields(unit: bytes, long: float) -> None:
    """Three developers' arrays of acceleration are in the unit that is written, or that makes gravity 1 g, whichever;
    a record's values lie between the record before and its own time."""
    told = b""
    for number, name in enumerate((b"accel_x", b"Accel-Y", b"accel z"), start=1):
        told += definition(1, 206, [(0, 1, 2), (1, 1, 2), (2, 1, 2), (3, 8, 7), (8, 6, 7)])
        told += record(1, "<BBB8s6s", 0, number, 0x88, name, unit)
    told += definition(0, 20, [(253, 4, 0x86)], own=[(1, 8, 0), (2, 8, 0), (3, 8, 0)])
    for second in range(3):
        told += record(0, "<I6f", CLOCK + second, 0, 0, 0.6 * long, 0.6 * long, 0.8 * long, 0.8 * long)
    (read,) = read_fit(whole(told), "a.fit")
    assert read.motion is not None
    np.testing.assert_allclose(read.motion.time_s - EPOCH_S - CLOCK, [-0.5, 0, 0.5, 1, 1.5, 2])
    np.testing.assert_allclose(read.motion.g, [[0.0, 0.6, 0.8]] * 6, atol=1e-6)


@pytest.mark.parametrize("long", [0.0, 3.0, 100.0])
def test_acceleration_of_no_unit_is_left_out(long: float) -> None:
    """Where no unit is written and none makes gravity as long as it is, there is no acceleration; two axes are none."""
    for axes in (3, 2):
        told = definition(1, 206, [(0, 1, 2), (1, 1, 2), (2, 1, 2), (3, 8, 7)])
        for number in range(1, axes + 1):
            told += record(1, "<BBB8s", 0, number, 0x88, b"accel_" + b"xyz"[number - 1 : number])
        told += definition(0, 20, [(253, 4, 0x86)], own=[(number, 4, 0) for number in range(1, axes + 1)])
        told += b"".join(record(0, f"<I{axes}f", CLOCK + second, *([long] + [0.0] * (axes - 1))) for second in range(3))
        (read,) = read_fit(whole(told), "a.fit")
        assert read.motion is None
        assert len(read) == 3


def test_an_array_of_speeds_is_speed_denser_than_fixes() -> None:
    """Of a developer's array of speeds a fix has the last, and all stand at a tenth of a second each."""
    told = definition(1, 206, [(0, 1, 2), (1, 1, 2), (2, 1, 2), (3, 6, 7), (6, 1, 2), (8, 5, 7)])
    told += record(1, "<BBB6sB5s", 0, 1, 0x84, b"speed", 10, b"km/h")
    told += definition(0, 20, [(253, 4, 0x86)], own=[(1, 20, 0)])
    told += b"".join(record(0, "<I10H", CLOCK + second, *range(360, 370)) for second in range(2))
    (read,) = read_fit(whole(told), "a.fit")
    assert read.speeds is not None
    np.testing.assert_allclose(read.speeds.time_s - EPOCH_S - CLOCK, np.arange(-9, 11) / 10, atol=1e-6)
    np.testing.assert_allclose(read.speeds.ms, np.tile(np.arange(360, 370) / 36, 2))
    np.testing.assert_allclose(read.speed_ms, 369 / 36)
