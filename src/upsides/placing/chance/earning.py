"""What a race is expected to earn: prizes by place, less shares and fees; black type by the trainer's own number.

Nothing here rises when a horse is beaten. A place never counts for more than the one in front of it, however the prizes
are written; black type goes with a place among the first three; and plans are compared by `expected_standing` alone, in
which all that lies ahead is counted as if the horse had won.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from upsides.placing.chance.answer import Chances
from upsides.placing.conditions.who import PLAIN, Terms
from upsides.placing.horse import Horse
from upsides.placing.race import Race
from upsides.placing.win_costs import Outcome, standing

BLACK_TYPE_PLACES = 3


@dataclass(frozen=True, slots=True)
class Earnings:
    """What a race is expected to bring, in one currency.

    Attributes:
        prize: of prize money, after shares.
        black_type: the trainer's own number by the chance of it.
        fees: what it costs to get there.
    """

    prize: float
    black_type: float
    fees: float

    @property
    def net(self) -> float:
        """All of it together."""
        return self.prize + self.black_type - self.fees


def earnings(
    chances: Chances, prizes: Sequence[float], *, share: float = 1.0, fees: float = 0.0, black_type: float = 0.0
) -> Earnings:
    """Return what a race is expected to bring.

    Args:
        chances: the horse's.
        prizes: of each place, first to last.
        share: part of the prize that is left when trainer, rider and staff have had theirs.
        fees: what it costs from here to the start.
        black_type: what the trainer thinks a place among the first three of a black-type race is worth; nought
            elsewhere.
    """
    falling = np.minimum.accumulate(np.maximum(np.asarray(prizes, dtype=np.float64), 0.0))
    places = np.asarray(chances.by_place[: falling.size])
    won = float(places @ falling[: places.size])
    typed = float(sum(chances.by_place[:BLACK_TYPE_PLACES]))
    return Earnings(chances.runs * share * won, chances.runs * max(black_type, 0.0) * typed, fees)


def expected_standing(
    found: Earnings, horse: Horse, race: Race, programme: Iterable[Race], worth: Mapping[Race, float],
    terms: Terms = PLAIN,
) -> float:  # fmt: skip
    """Return the one number by which plans may be compared: what is earned on average, and what lies ahead.

    What lies ahead is `standing`'s: the races that take the horse after it has won, the same for every outcome.

    Args:
        found: what the race is expected to bring.
        horse: the horse as it stands.
        race: the race.
        programme: races to come.
        worth: what each is worth to the horse, see `standing`.
        terms: the yard's own rules.

    Raises:
        CurrencyUnknownError: a prize of the race cannot be told in its own currency.
    """
    return found.net + standing(horse, race, Outcome.BEATEN, programme, worth, terms=terms)
