"""Tracks as files: what comes back, and what is refused."""

from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from pyarrow import parquet

import given_recordings as given
from upsides.errors import TrackFileError
from upsides.recordings.packed import COLUMNS, kept_with, packed, unpacked
from upsides.recordings.track import Track
from upsides.recordings.tracking import track_of


@pytest.fixture(scope="module")
def track() -> Track:
    return track_of(given.recording())


def test_a_track_comes_back_to_half_a_step(track: Track) -> None:
    """Each column comes back to half of the step in which it is counted, and everything else as it was."""
    again, more = unpacked(packed(track, {"seen": [1, None]}), "a")
    assert more == {"seen": [1, None]}
    for name, (_, step) in COLUMNS.items():
        before, after = getattr(track, name), getattr(again, name)
        assert (np.isfinite(before) == np.isfinite(after)).all()
        assert np.nanmax(np.abs(before - after)) <= 0.5000001 * step
    others = [one.name for one in fields(Track) if one.name not in COLUMNS and one.name != "stretch"]
    assert [getattr(again, name) for name in others] == [getattr(track, name) for name in others]
    assert (again.stretch == track.stretch).all()


def test_what_is_not_there_stays_away(track: Track) -> None:
    """Without places, heart or heights, and with holes in a column, a track comes back with the same holes."""
    empty = np.full(len(track), np.nan)
    speed = np.where(np.arange(len(track)) % 3 == 0, np.nan, track.speed_ms)
    poor = replace(track, plane=None, east_m=empty, heart_bpm=empty, speed_ms=speed, heart_kept=np.nan)
    again, _ = unpacked(packed(poor), "a")
    assert again.plane is None
    assert np.isnan(again.east_m).all()
    assert np.isnan(again.heart_kept)
    assert (np.isnan(again.speed_ms) == np.isnan(speed)).all()


def test_any_program_reads_it(track: Track) -> None:
    """It is a Parquet table of whole numbers with the unit in each name, as its own reader says."""
    table = parquet.read_table(pa.BufferReader(packed(track)))
    assert set(table.column_names) == {name for name, _ in COLUMNS.values()} | {"stretch"}
    assert all(pa.types.is_integer(field.type) for field in table.schema)
    assert table.column("speed_mm_s").to_numpy().max() == round(float(track.speed_ms.max()) * 1000)


def test_a_damaged_file_is_refused(track: Track, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was cut off, is no Parquet, is another's table, or was written by a newer program is refused by its name."""
    data = packed(track)
    other = pa.BufferOutputStream()
    parquet.write_table(pa.table({"a": [1]}), other)
    for bad in (b"", b"PAR1", data[: len(data) // 2], bytes(other.getvalue())):
        with pytest.raises(TrackFileError, match=r"^the track b\.parquet"):
            unpacked(bad, "b.parquet")
        (tmp_path / "b.parquet").write_bytes(bad)
        with pytest.raises(TrackFileError):
            kept_with(tmp_path / "b.parquet")
    monkeypatch.setattr("upsides.recordings.packed.FORMAT", 0)
    with pytest.raises(TrackFileError, match="newer"):
        unpacked(data, "b.parquet")
