"""The plane against geodesics on the ellipsoid."""

import numpy as np
import pytest
from pyproj import Geod, Transformer

from upsides.recordings.plane import from_plane, plane_at, to_plane
from upsides.recordings.track import Plane

GEOD = Geod(ellps="WGS84")
POINTS = [(51.2, 0.4), (-33.9, 151.2), (0.0, 180.0), (22.4, -179.99999), (89.99999, 10.0), (90.0, 0.0), (-65.0, 179.9)]


def _about(latitude: float, longitude: float, within_m: float) -> tuple[np.ndarray, ...]:
    """Return places around a point, with their azimuth and distance by the geodesic."""
    rng = np.random.default_rng(1)
    azimuth, distance = rng.uniform(0, 360, 400), np.r_[0.0, within_m, rng.uniform(0, within_m, 398)]
    there = GEOD.fwd(np.full(400, longitude), np.full(400, latitude), azimuth, distance)
    return there[1], there[0], azimuth, distance


@pytest.mark.parametrize(("latitude", "longitude"), POINTS)
def test_places_lie_where_the_geodesic_says(latitude: float, longitude: float) -> None:
    """Within 10 km of the point a place is within 1 cm of its geodesic distance and direction (pyproj's Geod)."""
    lat, lon, azimuth, distance = _about(latitude, longitude, 10_000.0)
    east, north = to_plane(Plane(latitude, longitude), lat, lon)
    off_east = east - distance * np.sin(np.radians(azimuth))
    assert np.hypot(off_east, north - distance * np.cos(np.radians(azimuth))).max() < 0.01


@pytest.mark.parametrize(("latitude", "longitude"), POINTS)
def test_back_is_the_way_there(latitude: float, longitude: float) -> None:
    """A place taken to the plane and back lies within 0.1 mm of itself, over the date line and beside a pole."""
    lat, lon, _, _ = _about(latitude, longitude, 10_000.0)
    plane = Plane(latitude, longitude)
    back_lat, back_lon = from_plane(plane, *to_plane(plane, lat, lon))
    assert np.abs(GEOD.inv(lon, lat, back_lon, back_lat)[2]).max() < 1e-4


def test_the_plane_is_the_azimuthal_equidistant_projection() -> None:
    """Over 10 km the plane agrees with PROJ's azimuthal equidistant projection on the ellipsoid within a millimetre."""
    lat, lon, _, _ = _about(51.2, 0.4, 10_000.0)
    other = Transformer.from_crs("EPSG:4326", "+proj=aeqd +lat_0=51.2 +lon_0=0.4 +ellps=WGS84", always_xy=True)
    expected = other.transform(lon, lat)
    np.testing.assert_allclose(to_plane(Plane(51.2, 0.4), lat, lon), expected, atol=1e-3)


def test_the_point_is_in_the_middle_on_both_sides_of_the_date_line() -> None:
    """Places on both sides of the date line have their plane between them, and one far off does not draw it away."""
    longitude = np.r_[np.linspace(179.99, 180, 50), np.linspace(-180, -179.99, 50), 0.0]
    plane = plane_at(np.full(101, 10.0), longitude)
    assert plane.latitude == pytest.approx(10.0, abs=1e-6)
    assert abs(abs(plane.longitude) - 180) < 0.001


def test_a_plane_of_nothing_is_refused() -> None:
    """No place makes no plane."""
    with pytest.raises(ValueError, match="at least one place"):
        plane_at(np.array([]), np.array([]))
