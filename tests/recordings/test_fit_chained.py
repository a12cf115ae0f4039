"""Files that are chained in one FIT file, and stand in it twice."""

from fit_bytes import CLOCK, EPOCH_S, TIMED, timed, whole
from upsides.recordings.formats.fit import read_fit


def test_a_file_that_stands_twice_in_one_counts_once() -> None:
    """Of chained files that are the same one counts, and that there were more is said."""
    first, second = whole(TIMED + timed(0) + timed(1)), whole(TIMED + timed(9) + timed(10))
    (read,) = read_fit(first + first, "a.fit")
    assert (read.file, len(read), [one.code for one in read.messages]) == ("a.fit", 2, ["parts_twice"])
    both = read_fit(first + second + first, "a.fit")
    assert [(one.file, one.time_s[0] - EPOCH_S - CLOCK) for one in both] == [("a.fit#1", 0.0), ("a.fit#2", 9.0)]
