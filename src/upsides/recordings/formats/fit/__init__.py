"""FIT, read and written."""

from upsides.recordings.formats.fit.reading import read_fit
from upsides.recordings.formats.fit.writing import write_fit

__all__ = ["read_fit", "write_fit"]
