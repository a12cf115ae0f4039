"""Height and gradient over known hills, and tiles read as they are published."""

import gzip
import os
from pathlib import Path

import numpy as np
import pytest

from upsides.errors import TileRefusedError
from upsides.recordings.elevation import VOID, Tile, read_tile
from upsides.recordings.height import Heights, heights_of

METRES = np.arange(0, 3000.0, 2.0)
HILL = 50 + 32 * np.clip((METRES - 800) / 1400, 0, 1)
"""A gallop of 1400 m that rises 32 m (2.3 %; Wilson and McGowan 2019), level before and after."""


def _over(metres: np.ndarray, height: np.ndarray, ground: np.ndarray | None = None) -> Heights:
    return heights_of(metres, np.zeros(metres.size, dtype=np.int64), height, ground)


def test_the_gradient_of_a_hill() -> None:
    """With an error of 1 m a fix the gradient is that of the hill within half a percent, and 0 where it is level."""
    found = _over(METRES, HILL + np.random.default_rng(1).normal(0, 1, METRES.size))
    on_it = (METRES > 1000) & (METRES < 2000)
    assert np.abs(found.gradient[on_it] - 32 / 1400).max() < 0.008
    assert found.gradient[on_it].mean() == pytest.approx(32 / 1400, abs=0.001)
    assert np.abs(found.gradient[METRES < 600]).max() < 0.008
    assert np.abs(found.height_m - HILL).max() < 1.0
    assert found.source == "device"


def test_standing_makes_no_slope() -> None:
    """Ten minutes of standing, in which the device's height drifts by 3 m, change the gradient about it by little."""
    rng = np.random.default_rng(2)
    stood = np.searchsorted(METRES, 1500.0)
    metres = np.insert(METRES, stood, np.full(600, 1500.0))
    height = np.insert(HILL, stood, HILL[stood] + np.linspace(0, 3, 600)) + rng.normal(0, 0.3, metres.size)
    found = _over(metres, height)
    assert np.nanmax(np.abs(found.gradient)) < 0.06
    assert np.isfinite(found.gradient).all()


def test_heights_over_the_ellipsoid_are_mended() -> None:
    """A device a steady 45 m above the ground measures over the ellipsoid: said, and taken off."""
    rng = np.random.default_rng(3)
    found = _over(METRES, HILL + 45 + rng.normal(0, 3, METRES.size), HILL)
    assert [(message.code, message.count) for message in found.messages] == [("ellipsoid", METRES.size)]
    assert "45." in found.messages[0].text
    assert np.median(found.height_m - HILL) == pytest.approx(0, abs=0.3)


@pytest.mark.parametrize(("offset", "spread"), [(4.0, 2.0), (15.0, 25.0)])
def test_heights_that_are_merely_off_are_left(offset: float, spread: float) -> None:
    """A small offset, or one that is not steady, is the device's error and is not taken off."""
    rng = np.random.default_rng(4)
    found = _over(METRES, HILL + offset + rng.normal(0, spread, METRES.size), HILL)
    assert found.messages == ()


def test_the_tile_stands_in_where_the_device_has_no_height() -> None:
    """Without heights of its own, or with 0 everywhere, a track gets those of the ground, and it is said from where."""
    nothing = np.full(METRES.size, np.nan)
    assert _over(METRES, nothing, HILL).source == "tile"
    zeros = _over(METRES, np.zeros(METRES.size), HILL)
    assert (zeros.source, [message.code for message in zeros.messages]) == ("tile", ["heights_zero"])
    none = _over(METRES, nothing)
    assert none.source == ""
    assert np.isnan(none.gradient).all()


def _tile(side: int) -> bytes:
    """Return a tile that rises 1000 m from south to north and 500 m from west to east."""
    rows, columns = np.mgrid[0:side, 0:side] / (side - 1)
    return np.round(1000 * (1 - rows) + 500 * columns).astype(">i2").tobytes()


@pytest.mark.parametrize("side", [1201, 3601])
@pytest.mark.parametrize("packed", [False, True])
def test_a_tile_is_read_from_its_corner(side: int, packed: bool) -> None:  # noqa: FBT001 -- a case of the test
    """Posts read as they stand, north first, at the corner of the name; between posts the plane through them holds."""
    content = _tile(side)
    tile = read_tile("some/folder/S34E151.hgt" + ".gz" * packed, gzip.compress(content) if packed else content)
    assert (tile.south, tile.west) == (-34, 151)
    corners = tile.at(np.array([-33.0, -33.0, -34.0, -34.0]), np.array([151.0, 152.0, 151.0, 152.0]))
    assert corners.tolist() == [1000, 1500, 0, 500]
    rng = np.random.default_rng(5)
    south, east = rng.uniform(0, 1, 200), rng.uniform(0, 1, 200)
    np.testing.assert_allclose(tile.at(-33 - south, 151 + east), 1000 * (1 - south) + 500 * east, atol=1.0)


def test_outside_and_beside_a_void_nothing_is_known() -> None:
    """Off the tile, or with a void among the four posts that count, the height is not known."""
    heights = np.full((1201, 1201), 7, dtype=np.int16)
    heights[600, 600] = VOID
    tile = Tile(57, 11, heights)
    at = tile.at(np.array([57.5, 57.5 + 1 / 2400, 57.5 + 1 / 1200, 59.0]), np.array([11.5, 11.5, 11.5, 11.5]))
    assert np.isnan(at).tolist() == [True, True, False, True]
    assert at[2] == pytest.approx(7)


@pytest.mark.parametrize(("name", "size"), [("map.hgt", 2 * 1201**2), ("N57E011.hgt", 1000), ("N57E011.tif", 10)])
def test_another_name_or_size_is_no_tile(name: str, size: int) -> None:
    """A file whose name gives no corner, or that is of another size, is refused and named."""
    with pytest.raises(TileRefusedError, match=name):
        read_tile(name, bytes(size))


def test_a_broken_gzip_is_refused() -> None:
    """A gzipped tile that cannot be unpacked is refused and named."""
    with pytest.raises(TileRefusedError, match="cannot be unpacked"):
        read_tile("N57E011.hgt.gz", b"\x1f\x8b" + bytes(50))


def test_the_shared_tile_is_what_its_description_says() -> None:
    """The SRTM3 tile in the shared data ranges from -6 to 163 m without voids."""
    folder = Path(os.environ.get("UPSIDES_SHARED") or Path(__file__).parents[3] / "shared" / "data") / "elevation"
    if not folder.is_dir():
        pytest.skip("the shared data is not here: set UPSIDES_SHARED to its folder")
    tile = read_tile("N57E011.hgt.gz", (folder / "N57E011.hgt.gz").read_bytes())
    assert (tile.heights.shape, tile.heights.min(), tile.heights.max()) == ((1201, 1201), -6, 163)
