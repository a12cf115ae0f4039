"""What `Answer.values` holds of planned lots, and how it is read.

    lots, lots without 12    {"rides": [[horse, lot, rider, place], ...], "amounts": {"usual": 45, ...}, "costs": {...},
                             "bound": minutes, "clash": {"sets": [[[kind, [number, ...]], ...], ...],
                             "any_one": true, "without": [[kind, [number, ...]], ...]}}

Lot, rider and place are null for a horse on the walker. `clash` has rules that no plan keeps together, and then there
are no rides; answers of an earlier version have one set as a list. The day of the answer is that of the morning. The
second name is that of a plan without a rider.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

from upsides.planning.morning import Plan, Ride
from upsides.planning.prices import Parts
from upsides.planning.rule import Clash, Rule

LOTS: Final = "lots"
NOTHING: Final = Parts()
NO_CLASH: Final[Clash[Rule]] = Clash()
NEAR: Final = 1e-5
"""Minutes of which a bound may be short by rounding."""


@dataclass(frozen=True, slots=True)
class PlannedLots:
    """A plan as it is kept.

    Attributes:
        plan: the rides.
        amounts, costs: of each wish, and in minutes.
        bound: no such plan costs less, minutes.
        clash: rules that no plan keeps together, where there is none.
    """

    plan: Plan
    amounts: Parts = NOTHING
    costs: Parts = NOTHING
    bound: float = 0.0
    clash: Clash[Rule] = NO_CLASH

    @property
    def proven(self) -> bool:
        """Whether no such plan costs less."""
        return self.costs.total - self.bound <= NEAR


def name_of(without: int | None) -> str:
    """Return the name of the answer, by the rider without whom it is planned."""
    return LOTS if without is None else f"{LOTS} without {without}"


def kept_lots(one: PlannedLots) -> dict[str, Any]:
    """Return a plan as JSON has it."""
    return {
        "rides": [[ride.horse, ride.lot, ride.rider, ride.place] for ride in one.plan.rides],
        "amounts": asdict(one.amounts),
        "costs": asdict(one.costs),
        "bound": round(one.bound, 6),
        "clash": one.clash.kept(lambda rule: [rule.kind, list(rule.of)]),
    }


def read_lots(values: Mapping[str, Any]) -> PlannedLots:
    """Return a plan as it was kept."""
    return PlannedLots(
        Plan(tuple(Ride(*ride) for ride in values["rides"])),
        Parts(**values["amounts"]),
        Parts(**values["costs"]),
        values["bound"],
        Clash.of_kept(values["clash"], lambda rule: Rule(rule[0], tuple(rule[1]))),
    )
