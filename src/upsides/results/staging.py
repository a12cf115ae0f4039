"""A folder of half-ready rows, so that files of any size are sorted into whole races with bounded memory.

Rows are spread over buckets by their race as they are read; each bucket then holds whole races and fits in
memory.
"""

import shutil
from collections.abc import Iterator
from pathlib import Path

import polars as pl

BUCKET_BYTES = 12 * 1024 * 1024
"""Text per bucket that keeps the settling of one bucket within a few hundred megabytes."""
HELD_ROWS = 400_000
"""Rows held in memory before they are spread over the buckets: fewer and larger files."""
PACKED = {"text": 1.0, "gzip": 7.0, "json": 0.5, "parquet": 8.0, "xlsx": 8.0}
"""Rough bytes of delimited text in a byte of each kind of file; only the number of buckets depends on it."""


class Stage:
    """Staged rows of one import.

    Args:
        folder: an empty folder of its own, removed by `close`.
        buckets: how many buckets rows are spread over.
    """

    def __init__(self, folder: Path, buckets: int) -> None:
        self.folder = folder
        self.buckets = buckets
        self._count = 0
        self._held: dict[str, list[pl.DataFrame]] = {}
        folder.mkdir(parents=True)

    def spread(self, name: str, frame: pl.DataFrame) -> None:
        """Add rows to the buckets of `name` by their `race_key`; `flush` ends it."""
        if frame.is_empty():
            return
        held = self._held.setdefault(name, [])
        held.append(frame)
        if sum(part.height for part in held) >= HELD_ROWS:
            self._let_go(name)

    def flush(self) -> None:
        """Write what `spread` still holds."""
        for name in list(self._held):
            self._let_go(name)

    def _let_go(self, name: str) -> None:
        frame = pl.concat(self._held.pop(name))
        if self.buckets == 1:
            self.put(name, 0, frame)
            return
        frame = frame.with_columns((pl.col("race_key").hash(0) % self.buckets).alias("#bucket"))
        for (bucket,), part in frame.partition_by("#bucket", include_key=False, as_dict=True).items():
            self.put(name, int(bucket), part)

    def put(self, name: str, bucket: int, frame: pl.DataFrame) -> None:
        """Add rows to one bucket."""
        if frame.is_empty():
            return
        self._count += 1
        place = self.folder / name / str(bucket)
        place.mkdir(parents=True, exist_ok=True)
        frame.write_ipc(place / f"{self._count:08d}.arrow", compression="lz4")

    def read(self, name: str, bucket: int) -> list[pl.DataFrame]:
        """Return what was put into one bucket, in order."""
        return list(self.each(name, bucket))

    def each(self, name: str, bucket: int) -> Iterator[pl.DataFrame]:
        """Yield what was put into one bucket, piece by piece, in order."""
        for path in sorted((self.folder / name / str(bucket)).glob("*.arrow")):
            yield pl.read_ipc(path)

    def all(self, name: str) -> Iterator[pl.DataFrame]:
        """Yield everything staged under a name, piece by piece."""
        for bucket in range(self.buckets):
            yield from self.each(name, bucket)

    def drop(self, name: str, bucket: int) -> None:
        """Remove one bucket."""
        shutil.rmtree(self.folder / name / str(bucket), ignore_errors=True)

    def close(self) -> None:
        """Remove the folder."""
        self.remove(self.folder)

    @staticmethod
    def remove(folder: Path) -> None:
        """Remove a staging folder, such as one that a killed import left."""
        shutil.rmtree(folder, ignore_errors=True)


def buckets_for(text_bytes: float) -> int:
    """Return into how many buckets so much text is spread."""
    return 1 + int(text_bytes // BUCKET_BYTES)
