"""What is drawn of a horse for whatever race it is asked for: level and trip at once, and what its career adds."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl
from numpy.typing import NDArray

from upsides.placing.chance.asked import Runner
from upsides.placing.chance.career import career_gained
from upsides.placing.chance.drawn import levels_drawn, posteriors_of
from upsides.placing.chance.kept import Kept
from upsides.trip.posterior import Draws, draws

Floats = NDArray[np.float64]

DRAWS: Final = 600


@dataclass(frozen=True, slots=True)
class Own:
    """A horse, drawn.

    Attributes:
        drawn: joint draws of level and trip; of the level alone, (draws,) lb, where nothing is known of trips.
        career: what its career adds, lb.
        held: whether the library holds it.
    """

    drawn: Draws | Floats
    career: float
    held: bool

    def figure(self, demand: float) -> Floats:
        """Return what each draw would show where a race asks that much of stamina, (draws,), lb."""
        return self.drawn.figure(demand) if isinstance(self.drawn, Draws) else self.drawn


def own_of(runners: Sequence[Runner], kept: Kept, seed: int = 0) -> list[Own]:
    """Return what is drawn of some horses, in the order given; the same horse is drawn the same whoever is beside it.

    Args:
        runners: the horses, as far as they are asked for alone: key, what is told of it, level.
        kept: what is kept of the library.
        seed: of the draws.
    """
    keys = [one.horse_key for one in runners]
    there = kept.horses.filter(pl.col("horse_key").is_in(pl.Series(keys, dtype=pl.String).implode()))
    held = set(there.select("horse_key").collect()["horse_key"])
    drawn = _drawn(runners, kept, seed)
    career = career_gained(keys, kept.figures).tolist()
    return [Own(one, gained, key in held) for one, gained, key in zip(drawn, career, keys, strict=True)]


def _drawn(runners: Sequence[Runner], kept: Kept, seed: int) -> list[Draws | Floats]:
    told = [one for one in runners if one.level is None]
    posts = iter(posteriors_of(told, kept)) if kept.model is not None else None
    found: list[Draws | Floats] = []
    for one in runners:
        if posts is None or one.level is not None:
            found.append(levels_drawn([one], kept, DRAWS, np.random.default_rng(seed))[:, 0])
        else:
            found.append(draws(next(posts), DRAWS, seed))
    return found
