"""A linear program in words of vectors: columns and rows in, the lowest cost and what each row is worth out.

scipy's HiGHS solves it. Nothing here knows a battery or a bill.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse  # noqa: TID253 - only what asks for an optimum imports this file

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Linear:
    """A vector that is linear in the columns of a program: matrix x columns + fixed."""

    __array_ufunc__ = None  # array * vector is ours to compute, entry by entry

    matrix: Any  # a sparse array of scipy
    fixed: Floats

    def __add__(self, other: "Linear | ArrayLike") -> "Linear":
        if not isinstance(other, Linear):
            return Linear(self.matrix, self.fixed + np.asarray(other, np.float64))
        width = max(self.matrix.shape[1], other.matrix.shape[1])
        return Linear(_wide(self.matrix, width) + _wide(other.matrix, width), self.fixed + other.fixed)

    def __sub__(self, other: "Linear | ArrayLike") -> "Linear":
        return self + (-1.0 * other if isinstance(other, Linear) else -np.asarray(other, np.float64))

    def __rmul__(self, factor: ArrayLike) -> "Linear":
        factors = np.broadcast_to(np.asarray(factor, np.float64), self.fixed.shape)
        return Linear(sparse.diags_array(factors).tocsr() @ self.matrix, factors * self.fixed)

    def at(self, rows: ArrayLike) -> "Linear":
        """Return the entries at these places, by number or by mask."""
        places = np.asarray(rows)
        return Linear(self.matrix[places], self.fixed[places])

    def by(self, group: Ints, count: int) -> "Linear":
        """Return the sums of the entries of each group."""
        adding = sparse.csr_array((np.ones(group.size), (group, np.arange(group.size))), shape=(count, group.size))
        return Linear(adding @ self.matrix, adding @ self.fixed)


def fixed(values: ArrayLike) -> Linear:
    """Return a vector without columns."""
    known = np.array(values, np.float64)
    return Linear(sparse.csr_array((known.size, 0)), known)


def _wide(matrix: Any, width: int) -> Any:
    """Return a matrix with empty columns added."""
    if matrix.shape[1] == width:
        return matrix
    return sparse.csr_array((matrix.data, matrix.indices, matrix.indptr), shape=(matrix.shape[0], width))


@dataclass(frozen=True, eq=False)
class Solution:
    """The solution of a program; ``worth`` is what one unit more on the right of each "equal" row costs."""

    cost: float
    columns: Floats
    worth: Floats

    def of(self, vector: Linear) -> Floats:
        """Return the values of a vector."""
        return np.asarray(vector.matrix @ self.columns[: vector.matrix.shape[1]] + vector.fixed, np.float64)


class Program:
    """A linear program under construction: ask for columns, then state what they must obey and what they cost."""

    def __init__(self) -> None:
        self._upper: list[Floats] = []
        self._lower: list[Floats] = []
        self._rows: dict[str, list[Linear]] = {"equal": [], "at most": []}
        self._costs: list[Linear] = []

    @property
    def width(self) -> int:
        """Number of columns so far."""
        return sum(each.size for each in self._upper)

    def count(self, kind: str) -> int:
        """Return the number of rows so far that are "equal" or "at most"."""
        return sum(each.fixed.size for each in self._rows[kind])

    def columns(self, count: int, upper: ArrayLike = np.inf, lower: ArrayLike = 0.0) -> Linear:
        """Add columns and return them as a vector."""
        first = self.width
        for given, kept in ((upper, self._upper), (lower, self._lower)):
            kept.append(np.array(np.broadcast_to(np.asarray(given, np.float64), count)))
        places = first + np.arange(count)
        matrix = sparse.csr_array((np.ones(count), (np.arange(count), places)), shape=(count, first + count))
        return Linear(matrix, np.zeros(count))

    def equal(self, left: Linear, right: "Linear | ArrayLike") -> None:
        """Require that two vectors are equal."""
        self._rows["equal"].append(left - right)

    def at_most(self, left: Linear, right: "Linear | ArrayLike") -> None:
        """Require that no entry of a vector is above that of another."""
        self._rows["at most"].append(left - right)

    def held(self, vector: Linear, lower: float = -np.inf) -> Linear:
        """Return new columns that equal a vector: so that many nonzeros are in one row only."""
        columns = self.columns(vector.fixed.size, lower=lower)
        self.equal(columns, vector)
        return columns

    def costs(self, amounts: Linear) -> None:
        """Add the sum of a vector to what is minimized."""
        self._costs.append(amounts.by(np.zeros(amounts.fixed.size, np.int64), 1))

    def matrix(self, kind: str) -> tuple[Any, Floats]:
        """Return the rows that are "equal" or "at most", and their right side."""
        rows = self._rows[kind]
        if not rows:
            return sparse.csr_array((0, self.width)), np.zeros(0)
        stacked = sparse.vstack([_wide(each.matrix, self.width) for each in rows], format="csr")
        return stacked, -np.concatenate([each.fixed for each in rows])

    def prices(self) -> tuple[Floats, float]:
        """Return the cost of each column, and the cost without any."""
        total = fixed([0.0])
        for each in self._costs:
            total = total + each
        return np.asarray(_wide(total.matrix, self.width).toarray()[0], np.float64), float(total.fixed[0])

    def solve(self) -> Solution:
        """Return the solution of lowest cost; RuntimeError where there is none, which is a fault of ours."""
        from scipy.optimize import linprog

        prices, without = self.prices()
        (equal, equal_to), (most, at_most) = self.matrix("equal"), self.matrix("at most")
        bounds = np.column_stack([np.concatenate(self._lower), np.concatenate(self._upper)])
        found = linprog(prices, most, at_most, equal, equal_to, bounds, method="highs")
        if found.status != 0:
            raise RuntimeError(f"the optimum was not found: {found.message}")
        return Solution(float(found.fun) + without, found.x, found.eqlin.marginals)
