"""NMEA 0183 sentences as a receiver logs them."""

from upsides.recordings.formats.nmea.reading import read_nmea

__all__ = ["read_nmea"]
