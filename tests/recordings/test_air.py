"""The device's own thermometer: read out of each format that has one, and what is kept of it."""

from dataclasses import replace
from math import isnan

import numpy as np
import pytest

import given_recordings as given
from upsides.books.outings import kept, read
from upsides.recordings.formats.fit import read_fit, write_fit
from upsides.recordings.measuring import measured
from upsides.recordings.opening import read_bytes
from upsides.recordings.recording import Recording
from upsides.recordings.tracking import track_of


def warm(celsius: float = 17.0) -> Recording:
    """Return a morning on which the device says nothing, then so warm, then warmer once the horse has worked."""
    one = given.recording()
    air = np.full(len(one), celsius)
    air[:200] = np.nan
    air[-200:] = celsius + 9.0
    return replace(one, air_c=air)


def test_fit_has_whole_degrees() -> None:
    """What is written into a FIT file is read back, below freezing too, and nothing where nothing was."""
    for celsius in (17.0, -4.0):
        (found,) = read_fit(write_fit(warm(celsius)), "a.fit")
        np.testing.assert_array_equal(found.air_c, warm(celsius).air_c)
    (none,) = read_fit(given.fit(), "a.fit")
    assert np.isnan(none.air_c).all()


def test_gpx_has_it_in_an_extension() -> None:
    """The element is known whatever its prefix."""
    point = (
        '<trkpt lat="51.5" lon="-1.25"><time>2024-05-01T06:00:0{}Z</time>'
        "<extensions><x:TrackPointExtension><x:atemp>12.5</x:atemp></x:TrackPointExtension></extensions></trkpt>"
    )
    text = f'<gpx xmlns:x="a"><trk><trkseg>{"".join(point.format(n) for n in range(3))}</trkseg></trk></gpx>'
    (found,) = read_bytes(text.encode(), "a.gpx")
    assert found.air_c.tolist() == [12.5] * 3


def test_work_has_its_mean() -> None:
    """What is kept is the mean while the horse was at work, to a tenth, and reads back; without a thermometer nothing
    is known."""
    one = warm()
    found = measured(track_of(one), one)
    assert found.air_c == pytest.approx(17.0, abs=0.05)
    assert read(kept(found)).air_c == pytest.approx(found.air_c, abs=0.05)
    assert isnan(read(kept(measured(track_of(given.recording()), given.recording()))).air_c)
    assert isnan(read({}).air_c)
