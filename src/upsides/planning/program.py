"""A mixed-integer linear program as it is written down, block by block; it knows no solver.

minimise   offset + c'x
such that  low <= A x <= high,  0 <= x <= upper,  x_j whole for j in W
"""

from dataclasses import dataclass, field
from math import inf

import numpy as np
from numpy.typing import ArrayLike, NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(slots=True)
class Program:
    """A program that columns and rows are added to.

    Attributes:
        cost, upper, whole: a block of each kind for every call of `columns`.
        row, col, value: entries of A in blocks, rows and columns counted over the whole program.
        low, high: bounds of the rows in blocks.
        offset: constant of the objective.
        n, m: columns and rows so far.
    """

    cost: list[Floats] = field(default_factory=list)
    upper: list[Floats] = field(default_factory=list)
    whole: list[NDArray[np.bool_]] = field(default_factory=list)
    row: list[Ints] = field(default_factory=list)
    col: list[Ints] = field(default_factory=list)
    value: list[Floats] = field(default_factory=list)
    low: list[Floats] = field(default_factory=list)
    high: list[Floats] = field(default_factory=list)
    offset: float = 0.0
    n: int = 0
    m: int = 0

    def columns(self, cost: ArrayLike, upper: ArrayLike = 1.0, *, whole: bool = True) -> Ints:
        """Add columns, one a cost, over which bounds broadcast; return their numbers in the shape of the costs."""
        costs = np.asarray(cost, dtype=np.float64)
        self.cost.append(costs.ravel())
        self.upper.append(np.broadcast_to(np.asarray(upper, dtype=np.float64), costs.shape).ravel().copy())
        self.whole.append(np.full(costs.size, whole))
        first, self.n = self.n, self.n + costs.size
        return np.arange(first, self.n).reshape(costs.shape)

    def rows(
        self, row: ArrayLike, col: ArrayLike, value: ArrayLike = 1.0, low: ArrayLike = -inf, high: ArrayLike = inf
    ) -> None:
        """Add rows of entries (row, col, value), the rows counted from 0 here; bounds broadcast over the rows."""
        rows, cols, values = (
            np.ravel(one) for one in np.broadcast_arrays(np.asarray(row), np.asarray(col), np.asarray(value, float))
        )
        sizes = [np.size(low), np.size(high), int(rows.max()) + 1 if rows.size else 0]
        n = max(sizes) if max(sizes[:2]) > 1 else sizes[2]
        self.row.append(rows.astype(np.int64) + self.m)
        self.col.append(cols.astype(np.int64))
        self.value.append(values)
        self.low.append(np.broadcast_to(np.asarray(low, float), n).copy())
        self.high.append(np.broadcast_to(np.asarray(high, float), n).copy())
        self.m += n

    def row_of(self, col: ArrayLike, value: ArrayLike = 1.0, low: float = -inf, high: float = inf) -> None:
        """Add one row."""
        self.rows(np.zeros(np.size(col), dtype=np.int64), col, value, np.array([low]), np.array([high]))
