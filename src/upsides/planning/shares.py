"""What is fair, and what the order of the barns gives: two definitions that the model and the verifier share."""

from upsides.planning.morning import Morning


def fair_share(morning: Morning) -> int:
    """Return the points of awkwardness that a rider has in fairness: all points over all riders, rounded up."""
    points = sum(horse.awkward for horse in morning.horses)
    return -(-points // len(morning.riders)) if morning.riders else 0


def due_lots(morning: Morning) -> dict[int, int]:
    """Return the place among the lots, from 0, in which each horse would go if the barns went out in their order.

    The lots are taken to be of one size here, so that a larger lot changes nothing of what is due.
    """
    order = sorted(morning.horses, key=lambda horse: (horse.order, horse.number))
    return {horse.number: i * len(morning.lots) // len(order) for i, horse in enumerate(order)}
