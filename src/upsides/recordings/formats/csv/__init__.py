"""Tables of any layout, each described by a shape."""

from upsides.recordings.formats.csv.proposing import propose
from upsides.recordings.formats.csv.reading import read_csv
from upsides.recordings.formats.csv.shape import Shape, load_shape, read_shape, shipped_shapes

__all__ = ["Shape", "load_shape", "propose", "read_csv", "read_shape", "shipped_shapes"]
