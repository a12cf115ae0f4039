"""What kind of horse it is, by its best trip, with chances."""

import numpy as np

from upsides.trip.defaults import KINDS, Defaults
from upsides.trip.posterior import Posterior
from upsides.trip.scale import below


def kind_chances(post: Posterior, given: Defaults) -> dict[str, float]:
    """Return the chance of each kind; together 1."""
    edges = [0.0, *(below(post.density, float(np.log2(bound)) - post.moved) for bound in given.bounds), 1.0]
    return {kind: edges[k + 1] - edges[k] for k, kind in enumerate(KINDS)}


def likeliest(chances: dict[str, float]) -> str:
    """Return the likeliest kind, the shorter of two alike."""
    return max(chances, key=lambda kind: (chances[kind], -KINDS.index(kind)))
