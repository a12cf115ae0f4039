"""Which races and horses can be compared: they can when a chain of shared runners links them."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components


@dataclass(frozen=True, slots=True)
class Connected:
    """Groups of races and horses that only meet among themselves; group 0 has the most runs.

    A level of one group says nothing of a level of another, beyond what the model assumes of all horses
    alike.

    Attributes:
        races: (races,) labels, sorted, and
        race_group: (races,) the group of each.
        horses: (horses,) labels, sorted, and
        horse_group: (horses,) the group of each.
        group_runs: (groups,) runs in each group; `group_races` and `group_horses` likewise.
    """

    races: NDArray[Any]
    race_group: NDArray[np.int64]
    horses: NDArray[Any]
    horse_group: NDArray[np.int64]
    group_runs: NDArray[np.int64]
    group_races: NDArray[np.int64]
    group_horses: NDArray[np.int64]

    @property
    def whole(self) -> bool:
        """Return whether everything is linked to everything."""
        return self.group_runs.size == 1


def connected(race: NDArray[Any], horse: NDArray[Any]) -> Connected:
    """Find the groups.

    Args:
        race: (n,) label of each run's race.
        horse: (n,) label of each run's horse.
    """
    races, race_code = np.unique(race, return_inverse=True)
    horses, horse_code = np.unique(horse, return_inverse=True)
    nodes = races.size + horses.size
    ones = np.ones(race_code.size, dtype=np.int8)
    graph = coo_array((ones, (race_code, races.size + horse_code)), shape=(nodes, nodes))
    found, piece = connected_components(graph.tocsr(), directed=False)
    order = np.argsort(-np.bincount(piece[race_code], minlength=found), kind="stable")
    rank = np.empty(found, dtype=np.int64)
    rank[order] = np.arange(found)
    group = rank[piece]
    race_group, horse_group = group[: races.size], group[races.size :]
    counts = [np.bincount(g, minlength=found) for g in (race_group[race_code], race_group, horse_group)]
    return Connected(races, race_group, horses, horse_group, counts[0], counts[1], counts[2])
