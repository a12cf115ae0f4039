"""What binds a plan: each rule relaxed by one and the morning planned again."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from upsides.planning.lot_model import allowed
from upsides.planning.lots import Lots, plan_lots
from upsides.planning.morning import Morning, Plan
from upsides.planning.prices import Parts
from upsides.planning.rule import Rule, relaxed_by_one, rules_of
from upsides.planning.solving import Watch


@dataclass(frozen=True, slots=True)
class Binding:
    """A rule that was relaxed by one.

    Attributes:
        rule: which.
        saves: minutes by which the cheapest plan is cheaper then.
        proven: whether both plans are proven to be the cheapest.
    """

    rule: Rule
    saves: float
    proven: bool


def what_binds(
    morning: Morning,
    lots: Lots,
    prices: Parts,
    rules: Iterable[Rule] | None = None,
    *,
    seed: int = 0,
    watch: Watch | None = None,
) -> Iterator[Binding]:
    """Yield for each rule what relaxing it by one would save, one after the other.

    Args:
        morning: a morning.
        lots: its cheapest plan.
        prices: of that plan.
        rules: which to relax; by default all that have no slack in the plan. In whole numbers a rule with slack may
            bind too; whoever wants to know names it.
        seed: of the solver.
        watch: who is told, and who may stop it.
    """
    for rule in with_no_slack(morning, lots.plan) if rules is None else rules:
        then = plan_lots(relaxed_by_one(morning, rule), prices, seed=seed, watch=watch)
        yield Binding(rule, lots.costs.total - then.costs.total, lots.proven and then.proven)


def with_no_slack(morning: Morning, plan: Plan) -> tuple[Rule, ...]:
    """Return the rules that a plan uses up: lots and gallops that are full, riders with no lot to spare."""
    gallop = {horse.number: horse.gallop for horse in morning.horses}
    size = Counter(ride.lot for ride in plan.rides)
    on = Counter((ride.lot, gallop[ride.horse]) for ride in plan.rides)
    rode = Counter(ride.rider for ride in plan.rides)
    full = {
        *(Rule("size", (lot.number,)) for lot in morning.lots if size[lot.number] >= lot.most),
        *(
            Rule("gallop", (one.number,))
            for one in morning.gallops
            if any(on[lot.number, one.number] >= one.most for lot in morning.lots)
        ),
        *(Rule("most", (rider.number,)) for rider in morning.riders if rode[rider.number] >= rider.most),
    }
    now = allowed(morning).sum()

    def tight(rule: Rule) -> bool:
        match rule.kind:
            case "rider":
                return False
            case "size" | "gallop" | "most":
                return rule in full
            case "weight" | "skill":
                return bool(allowed(relaxed_by_one(morning, rule)).sum() > now)
        return True

    return tuple(rule for rule in rules_of(morning) if tight(rule))
