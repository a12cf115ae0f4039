"""Two horses clocked by one thumb: who was in front at the last mark, in the same terms as trackers say it."""

from collections.abc import Sequence
from itertools import accumulate

from upsides.recordings.company.outcome import Outcome
from upsides.recordings.stopwatch import PRESS_SD_S, gap, sections
from upsides.recordings.work import Work

ONE_START_S = 0.5
"""Works of one clock began at the same moment, to within this."""

Splits = Sequence[Sequence[float]]


def by_thumb(first: Splits, second: Splits, press_sd_s: float = PRESS_SD_S) -> Outcome | None:
    """Return how the first stood to the second at the last mark at which both were clocked.

    The gap in time becomes metres at the mean of their speeds into that mark, which is known so much better than the
    gap that its error is left out.

    Args:
        first: (k, 2) metres and seconds of one horse, from a start that both share.
        second: the same of the other.
        press_sd_s: standard deviation of one press.

    Returns:
        The outcome; None where no mark is common to both.
    """
    found = gap(first, second, press_sd_s)
    if found is None:
        return None
    speed = 0.5 * (_speed_into(first, found.at_m) + _speed_into(second, found.at_m))
    return Outcome(found.seconds * speed, found.sd_s * speed, "thumb")


def _speed_into(splits: Splits, at_m: float) -> float:
    """Return the mean speed over the section that ends at a mark, m/s."""
    clocked = sections(splits)
    return float(clocked.speed_ms[abs(clocked.end_m - at_m).argmin()])


def by_thumb_of(first: Work, second: Work, press_sd_s: float = PRESS_SD_S) -> Outcome | None:
    """Return how one horse stood to another in works that the books hold.

    Returns:
        The outcome; None where they were not clocked by thumb from one start, or to no common mark.
    """
    one, other = (work if work.source == "thumb" else work.thumb for work in (first, second))
    if one is None or other is None or abs((one.when - other.when).total_seconds()) > ONE_START_S:
        return None
    return by_thumb(_presses(one), _presses(other), press_sd_s)


def _presses(work: Work) -> list[tuple[float, float]]:
    """Return metres and seconds since the start of each mark."""
    metres = accumulate(split.metres for split in work.splits)
    return list(zip(metres, accumulate(split.seconds for split in work.splits), strict=True))
