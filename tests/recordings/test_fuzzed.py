"""Bytes that a reader once broke on, as small as they could be made."""

import pytest

from fit_bytes import TIMED, timed, whole
from upsides.recordings.formats.fit import read_fit


@pytest.mark.parametrize("alike", range(7, 13))
def test_the_last_of_many_like_messages_is_cut_off(alike: int) -> None:
    """Reading ends, with all whole records, where the last of many messages of one kind is cut off."""
    broken = whole(TIMED + b"".join(timed(s) for s in range(alike)))[:-4]
    (read,) = read_fit(broken, "a.fit")
    assert len(read) == alike - 1
