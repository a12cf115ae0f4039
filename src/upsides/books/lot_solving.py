"""A gathered morning planned. Solvers are loaded here: commands and workers import this, no web process does."""

from collections.abc import Iterator
from typing import Final

from upsides.books.lot_words import rule_words
from upsides.books.queries.lot_morning import Gathered
from upsides.errors import LotsClashError, StoppedEarlyError
from upsides.planning.binding import Binding, what_binds, with_no_slack
from upsides.planning.lots import Lots, plan_lots, without
from upsides.planning.rule import Rule
from upsides.planning.solving import Watch

TRIED: Final = frozenset({"size", "gallop", "most", "weight", "skill"})
"""Rules that are relaxed by one to see whether they bind; the others could only be given up."""


def solve_lots(found: Gathered, rider: int | None = None, watch: Watch | None = None) -> Lots:
    """Return the cheapest plan of a morning, or the nearest to its list without a rider.

    Raises:
        MorningRefusedError: the morning cannot be right, or the rider is not there.
        LotsClashError: no plan keeps all rules; some that clash are named.
        StoppedEarlyError: it was stopped before there was a plan.
    """
    prices = found.settings.prices
    try:
        if rider is None:
            return plan_lots(found.morning, prices, watch=watch)
        return without(found.morning, found.listed, rider, prices, watch=watch)
    except LotsClashError as clash:
        raise LotsClashError(
            clash.sets,
            clash.without,
            any_one=clash.any_one,
            words=lambda kind, of: rule_words(Rule(kind, of), found),
        ) from None


def binding(found: Gathered, lots: Lots, watch: Watch) -> Iterator[Binding]:
    """Yield which rules cost something, as far as there is time: a stop ends it."""
    tried = [rule for rule in with_no_slack(found.morning, lots.plan) if rule.kind in TRIED]
    try:
        for one in what_binds(found.morning, lots, found.settings.prices, tried, watch=watch):
            if watch.stop():
                return
            if one.saves > 0:
                yield one
    except StoppedEarlyError:
        return
