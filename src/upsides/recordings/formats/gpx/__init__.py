"""GPX 1.0 and 1.1."""

from upsides.recordings.formats.gpx.reading import read_gpx

__all__ = ["read_gpx"]
