"""Works that a recording does not hold whole are told."""

from dataclasses import replace

import numpy as np
import pytest

from clocked_mornings import track_of_speeds
from upsides.recordings.measuring import measured
from upsides.recordings.track import Track

MORNING = np.repeat([1.7, 9.0, 1.7, 15.5, 1.7], [120, 120, 120, 60, 120])
"""Walk, a canter from second 120 on, walk, fast work from 360 to 420, walk."""


def _said(track: Track) -> list[tuple[str, object]]:
    works = ("begins_at_work", "ends_at_work", "gaps_at_work")
    return [(one.code, one.values.get("count")) for one in measured(track).messages if one.code in works]


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (0, 540, []),
        (180, 540, ["begins_at_work"]),
        (380, 540, ["begins_at_work"]),
        (0, 400, ["ends_at_work"]),
        (180, 400, ["begins_at_work", "ends_at_work"]),
        (0, 330, []),
    ],
)
def test_a_device_switched_on_late_or_off_early_is_told(first: int, last: int, said: list[str]) -> None:
    """Switched on in the canter or in the fast work, off in it, or both; between works nothing is cut."""
    assert [code for code, _count in _said(track_of_speeds(MORNING[first:last]))] == said


@pytest.mark.parametrize(("at", "said"), [(390, [("gaps_at_work", 1)]), (300, [])])
def test_a_gap_in_the_work_is_told(at: int, said: list[tuple[str, object]]) -> None:
    """A gap of a minute in the fast work breaks it off, one in the walk before does not."""
    track = track_of_speeds(MORNING)
    later = np.arange(MORNING.size) >= at
    time = track.time_s + np.where(later, 60.0, 0.0)
    assert _said(replace(track, time_s=time, stretch=later.astype(np.int64))) == said
