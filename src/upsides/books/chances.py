"""A horse's chances in a race to come as an answer keeps them: plain values, which load nothing that works them out.

`Answer.values` of a race holds {"why": why there are none, "horses": {"17": the fields of `RaceChance`, ...}}.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

Range = tuple[float, float, float]
"""The middle or mean, and between what it lies four times in five."""

_DIGITS: Final = {"win": 4, "place": 4, "first_four": 4, "rank": 0, "size": 0, "runs": 4}
"""Digits that are kept, by field; one of all others."""


@dataclass(frozen=True, slots=True)
class RaceChance:
    """What was worked out of one horse and one race, given that it runs.

    Args:
        win, place, first_four: its chances, 0 to 1; `place` is among the first three.
        rank: where it stands among the runners by what each would show, luck left out, 1 the best.
        size: runners, itself among them.
        level: mean level of its rivals, lb.
        shown: what it is expected to show over the trip, lb.
        career: what its career adds, lb.
        weighed: what its weight costs it against its rivals, lb.
        spread: what not knowing the stall adds, lb; None where nothing is known of the draw.
        stall: its stall, None before the draw.
        stall_worth: what that stall is worth against the field's average on the average day, lb, and four times in five
            between; None before the draw, or where nothing is known of it.
        weight: on the card, lb; None where it is not known.
        races: past races that the field was expected from; 0 where its entries are known.
        prize: of prize money on average; None where no prize is stated.
        share: the part of prize money that is the owner's; 1 where no rule is known.
        fees: what it still costs to get there, in the same currency.
        currency: of both, empty where neither is known.
        notes: what was not known, as keys of `placing.chance`.
        known: rivals met as themselves: of the card those that the library holds; without a card ours that are in the
            race too.
        drawn: rivals of the card of which it is not known which horse they are; each was drawn from the field to
            expect.
        black_type: what a place among the first three is worth by the trainer's own number, by the chance of it; nought
            where he gave none, or in a race without black type.
        runs: chance that it gets a run; prize and black type are by it too.
    """

    win: Range
    place: Range
    first_four: Range
    rank: Range
    size: Range
    level: Range
    shown: Range
    career: float
    weighed: float
    spread: float | None
    stall: int | None
    weight: float | None
    races: int
    prize: float | None
    share: float
    fees: float | None
    currency: str
    notes: tuple[str, ...]
    known: tuple[str, ...] = ()
    drawn: tuple[str, ...] = ()
    black_type: float = 0.0
    runs: float = 1.0
    stall_worth: Range | None = None

    @property
    def net(self) -> float | None:
        """Return what it is expected to bring after shares and fees; None where a prize or a fee is not stated."""
        return (
            None if self.prize is None or self.fees is None else self.share * self.prize + self.black_type - self.fees
        )

    def kept(self) -> dict[str, Any]:
        """Return it as JSON has it, rounded to what it is good for."""
        return {name: _rounded(name, value) for name, value in asdict(self).items()}


def read_chance(kept: Mapping[str, Any]) -> RaceChance:
    """Return a chance as it was kept."""
    told: dict[str, Any] = {name: tuple(one) if isinstance(one, list) else one for name, one in kept.items()}
    return RaceChance(**told)


def _rounded(name: str, value: Any) -> Any:
    if isinstance(value, tuple | list):
        return [_rounded(name, one) for one in value]
    if isinstance(value, float):
        return round(value, 3 if name == "share" else _DIGITS.get(name, 1))
    return value
