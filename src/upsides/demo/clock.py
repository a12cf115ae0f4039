"""From how far horses finished apart to what is published: margins, times, sections, positions on the way."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from upsides.demo.country import Ground

Floats = NDArray[np.float64]

_SHORT = ((0.075, 0.05, "nse"), (0.15, 0.1, "sh hd"), (0.25, 0.2, "hd"), (0.4, 0.3, "nk"))
_DEAD_HEAT = 0.004
_QUARTERS = ("", "¼", "½", "¾")


def margin(gap: float) -> tuple[float, str]:
    """Return a gap as the judge gives it: lengths and words; 0 and "dht" for a dead heat.

    Nose 0.05, short head 0.1, head 0.2, neck 0.3, then quarters to 5 lengths, halves to 10, whole
    lengths beyond (the common list; see racing's published margins).
    """
    if gap < _DEAD_HEAT:
        return 0.0, "dht"
    for limit, lengths, words in _SHORT:
        if gap < limit:
            return lengths, words
    steps = 4 if gap < 5 else 2 if gap < 10 else 1
    lengths = max(0.5, round(gap * steps) / steps)
    whole, quarters = divmod(round(lengths * 4), 4)
    return lengths, (str(whole) if whole else "") + _QUARTERS[quarters]


def judged(behind: Floats) -> tuple[Floats, list[str]]:
    """Turn true distances into published ones.

    Args:
        behind: lengths behind the winner in order of finish, first 0, shape (n,).

    Returns:
        Published lengths behind the winner, shape (n,), and the margin to the horse in front, "" for
        the first.
    """
    pairs = [margin(float(gap)) for gap in np.diff(behind)]
    lengths = np.concatenate([[0.0], np.cumsum([lengths for lengths, _ in pairs])])
    return np.round(lengths, 2), ["", *(words for _, words in pairs)]


def section_lengths(distance_m: int) -> list[float]:
    """Return 400 m sections counted back from the winning post, the odd piece first, in running order."""
    first = distance_m % 400 or 400
    return [float(first), *[400.0] * ((distance_m - first) // 400)]


@dataclass(frozen=True, slots=True)
class Splits:
    """How a race was run.

    Args:
        leader_s: leader's time for each section, shape (sections,).
        own_s: each horse's time for each section, shape (n, sections).
        position: position at the end of each section, shape (n, sections).
        behind: lengths behind the leader there, shape (n, sections).
    """

    leader_s: Floats
    own_s: Floats
    position: NDArray[np.int64]
    behind: Floats


def splits(
    rng: np.random.Generator, times: Floats, distance_m: int, early: float, front: Floats, ground: Ground
) -> Splits:
    """Split finishing times into sections that add up to them to the hundredth.

    Args:
        rng: source of chance.
        times: finishing times in s, hundredths, shape (n,).
        distance_m: distance.
        early: how fast the race was early, standard deviations; positive is fast early.
        front: each horse's style in s, negative ahead of its even pace half way, shape (n,).
        ground: of the day.

    Returns:
        The splits.
    """
    pieces = np.array(section_lengths(distance_m))
    done = np.cumsum(pieces) / distance_m
    standing_start = 1.1 * (1 - done)
    shape = done * (1 - 0.012 * early * (1 - done))
    styled = 4 * done * (1 - done) * (1 - done / 3)
    passed = times[:, None] * shape + standing_start + front[:, None] * styled
    passed += rng.normal(0, 0.06, passed.shape) * (done < 1)
    passed = np.round(passed, 2)
    passed[:, -1] = times
    lead = passed.min(axis=0)
    position = (passed[:, None, :] > passed[None, :, :]).sum(axis=1) + 1
    return Splits(
        leader_s=np.round(np.diff(lead, prepend=0.0), 2),
        own_s=np.round(np.diff(passed, axis=1, prepend=0.0), 2),
        position=position,
        behind=np.round((passed - lead) * ground.lengths_per_second * 4) / 4,
    )


def par_seconds(distance_m: int, slower_per_km: float) -> float:
    """Return the time in s of a horse of level 100 under 133 lb on good ground.

    Fitted to record times from 1000 m up, T = 0.023069 D^1.12235, and made 3 % slower.
    """
    return float(0.023069 * distance_m**1.12235 * 1.03 + slower_per_km * distance_m / 1000)
