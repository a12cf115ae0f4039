"""The earth and a plane that touches it: distances and directions from the point are kept (azimuthal equidistant).

The way goes over rectangular coordinates, so that neither the date line nor a pole is a special place. A fix lies at a
chord c from the point; along a circle of the earth's radius of curvature R in that direction a (Euler: 1/R is
cos^2 a / M + sin^2 a / N) its distance is 2 R asin(c / 2R). WGS 84: 6378137 m at the equator, flattening
1/298.257223563 (NIMA TR8350.2, 3rd edition, table 3.1).
"""

import numpy as np
from numpy.typing import NDArray

from upsides.recordings.track import Plane

Floats = NDArray[np.float64]

EQUATOR_M = 6378137.0
FLATTENING = 1 / 298.257223563
SQUARED = FLATTENING * (2 - FLATTENING)
"""The first eccentricity, squared."""
SOME = 500


def plane_at(latitude: Floats, longitude: Floats) -> Plane:
    """Return the plane at the middle of places (n,) in degrees: the median of some rectangular coordinates.

    Raises:
        ValueError: no place at all.
    """
    if not latitude.size:
        raise ValueError("a plane needs at least one place")
    some = slice(None, None, max(latitude.size // SOME, 1))
    x, y, z = (np.median(axis) for axis in _rectangular(latitude[some], longitude[some]))
    middle = _on_the_earth(np.array([x]), np.array([y]), np.array([z]))
    return Plane(float(middle[0][0]), float(middle[1][0]))


def to_plane(plane: Plane, latitude: Floats, longitude: Floats) -> tuple[Floats, Floats]:
    """Return metres east and north (n,) of the plane's point; NaN stays NaN."""
    x, y, z = _rectangular(latitude, longitude)
    x0, y0, z0 = _rectangular(np.array([plane.latitude]), np.array([plane.longitude]))
    dx, dy, dz = x - x0, y - y0, z - z0
    sin_lat, cos_lat, sin_lon, cos_lon = _turns(plane)
    outward = cos_lon * dx + sin_lon * dy
    east = cos_lon * dy - sin_lon * dx
    north = cos_lat * dz - sin_lat * outward
    level = np.hypot(east, north)
    chord = np.sqrt(dx * dx + dy * dy + dz * dz)
    radius = _radius(plane, north, level)
    around = 2 * radius * np.arcsin(np.minimum(chord / (2 * radius), 1.0))
    stretched = np.divide(around, level, out=np.ones_like(level), where=level > 0)
    return east * stretched, north * stretched


def from_plane(plane: Plane, east_m: Floats, north_m: Floats) -> tuple[Floats, Floats]:
    """Return degrees north and east (n,) of metres on the plane; longitudes from -180 to 180."""
    around = np.hypot(east_m, north_m)
    radius = _radius(plane, north_m, around)
    angle = around / radius
    shrunk = np.sinc(angle / np.pi)  # sin(angle) / angle
    east, north, up = east_m * shrunk, north_m * shrunk, -2 * radius * np.sin(angle / 2) ** 2
    sin_lat, cos_lat, sin_lon, cos_lon = _turns(plane)
    outward = cos_lat * up - sin_lat * north
    x0, y0, z0 = _rectangular(np.array([plane.latitude]), np.array([plane.longitude]))
    x = x0 + cos_lon * outward - sin_lon * east
    y = y0 + sin_lon * outward + cos_lon * east
    return _on_the_earth(x, y, z0 + sin_lat * up + cos_lat * north)


def _turns(plane: Plane) -> tuple[float, float, float, float]:
    latitude, longitude = np.radians(plane.latitude), np.radians(plane.longitude)
    return float(np.sin(latitude)), float(np.cos(latitude)), float(np.sin(longitude)), float(np.cos(longitude))


def _radius(plane: Plane, north: Floats, level: Floats) -> Floats:
    """Return the radius of curvature of the earth at the plane's point in each direction, m."""
    root = 1 - SQUARED * np.sin(np.radians(plane.latitude)) ** 2
    across = EQUATOR_M / np.sqrt(root)  # N, in the prime vertical
    along = across * (1 - SQUARED) / root  # M, in the meridian
    squared = np.where(level > 0, level * level, 1.0)
    share = north * north / squared
    return np.asarray(1 / (share / along + (1 - share) / across))


def _rectangular(latitude: Floats, longitude: Floats) -> tuple[Floats, Floats, Floats]:
    """Return rectangular coordinates (n,) of places on the ellipsoid, m."""
    lat, lon = np.radians(latitude), np.radians(longitude)
    sin_lat, cos_lat = np.sin(lat), np.cos(lat)
    across = EQUATOR_M / np.sqrt(1 - SQUARED * sin_lat * sin_lat)
    return across * cos_lat * np.cos(lon), across * cos_lat * np.sin(lon), across * (1 - SQUARED) * sin_lat


def _on_the_earth(x: Floats, y: Floats, z: Floats) -> tuple[Floats, Floats]:
    """Return degrees north and east (n,) of points near the ellipsoid (Bowring 1976, Survey Review 23:323)."""
    out = np.hypot(x, y)
    polar = EQUATOR_M * (1 - FLATTENING)
    reduced = np.arctan2(z * EQUATOR_M, out * polar)
    second = SQUARED / (1 - SQUARED)
    latitude = np.arctan2(z + second * polar * np.sin(reduced) ** 3, out - SQUARED * EQUATOR_M * np.cos(reduced) ** 3)
    return np.degrees(latitude), np.degrees(np.arctan2(y, x))
