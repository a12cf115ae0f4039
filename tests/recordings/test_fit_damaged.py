"""FIT files with bytes gone or overwritten at random places lose what lay there, and no more."""

import os
from pathlib import Path

import numpy as np
import pytest

from upsides.recordings.formats.fit import read_fit

FOLDER = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data") / "recordings"
DEFINED = 2000
"""By this byte the shared files have defined their records; without the definition nothing can be read."""
MOST_LOST = 10


@pytest.mark.skipif(not FOLDER.is_dir(), reason="the shared data is not here: set UPSIDES_SHARED to its folder")
@pytest.mark.parametrize("name", ["fit_ride_1hz_hr", "fit_developer_fields", "x1_ride_hr"])
@pytest.mark.parametrize("hole", ["gone", "zeros", "ones", "chance"])
def test_damage_costs_only_what_lay_there(name: str, hole: str) -> None:
    """A byte gone, or a hole of zeros, ones or chance, loses few fixes beyond it and adds none of another day."""
    data = (FOLDER / f"{name}.fit").read_bytes()
    (whole,) = read_fit(data, "a.fit")
    rng = np.random.default_rng(17)
    for place in rng.integers(DEFINED, len(data) - 1000, 12):
        size = 1 if hole == "gone" else int(rng.choice([8, 100, 512]))
        filled = {"gone": b"", "zeros": bytes(size), "ones": b"\xff" * size, "chance": rng.bytes(size)}[hole]
        (read,) = read_fit(data[:place] + filled + data[place + size :], "a.fit")
        lying = size * len(whole) / len(data)
        kept = np.isin(whole.time_s, read.time_s).sum()
        assert kept >= len(whole) - lying - MOST_LOST, (place, size)
        assert np.nanmin(read.time_s) >= whole.time_s[0] - 3600
        assert np.nanmax(read.time_s) <= whole.time_s[-1] + 2 * 86400
