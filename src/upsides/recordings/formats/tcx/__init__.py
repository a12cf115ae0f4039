"""TCX, version 2 of its schema and what older devices wrote."""

from upsides.recordings.formats.tcx.reading import read_tcx

__all__ = ["read_tcx"]
