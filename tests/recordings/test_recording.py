"""A recording says only what its file says."""

import numpy as np
import pytest

from upsides.recordings.recording import Recording


def test_columns_that_a_file_lacks_are_not_numbers() -> None:
    """A recording made of times and heart rates has as many fixes, no position, and its heart rates."""
    told = Recording.of_columns("a.fit", "fit", 3, time_s=np.arange(3.0), heart_bpm=np.array([90.0, np.nan, 92.0]))
    assert (len(told), told.with_position, told.with_heart) == (3, 0, 2)
    assert np.isnan(told.speed_ms).all()


@pytest.mark.parametrize("columns", [{"time_s": np.arange(4.0)}, {"pulse": np.arange(3.0)}])
def test_a_column_of_another_length_or_name_is_refused(columns: dict[str, np.ndarray]) -> None:
    """A column that is not one number a fix, or that no recording has, is refused and named."""
    with pytest.raises(ValueError, match=next(iter(columns))):
        Recording.of_columns("a.fit", "fit", 3, **columns)
