"""Two horses clocked by one thumb: who was in front at each mark, in the same terms as trackers say it."""

from collections.abc import Sequence

from upsides.recordings.company.outcome import Outcome
from upsides.recordings.stopwatch import PRESS_SD_S, gaps, sections

ONE_START_S = 0.5
"""Works of one clock began at the same moment, to within this."""

Splits = Sequence[Sequence[float]]


def by_thumb(first: Splits, second: Splits, press_sd_s: float = PRESS_SD_S) -> tuple[tuple[float, Outcome], ...]:
    """Return how the first stood to the second at each mark at which both were clocked: metres, and how.

    The gap in time becomes metres at the mean of their speeds into that mark, which is known so much better than the
    gap that its error is left out.

    Args:
        first: (k, 2) metres and seconds of one horse, from a start that both share.
        second: the same of the other.
        press_sd_s: standard deviation of one press.
    """
    found = []
    for gap in gaps(first, second, press_sd_s):
        speed = 0.5 * (_speed_into(first, gap.at_m) + _speed_into(second, gap.at_m))
        found.append((gap.at_m, Outcome(gap.seconds * speed, gap.sd_s * speed, "thumb")))
    return tuple(found)


def _speed_into(splits: Splits, at_m: float) -> float:
    """Return the mean speed over the section that ends at a mark, m/s."""
    clocked = sections(splits)
    return float(clocked.speed_ms[abs(clocked.end_m - at_m).argmin()])
