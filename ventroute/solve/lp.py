"""Small linear programs over leg lengths, solved by the dual simplex method.

The program is ``min c.x`` with ``x >= 0`` and rows ``a.x >= b`` or ``a.x == b``. As every cost is positive, ``x = 0``
is dual feasible before any row is there, so rows can be added one by one, each followed by a few pivots: a child of a
branch costs little more than copying its parent's tableau. `Lp` holds one program in plain lists (twelve columns at
most, where NumPy's call overhead would dominate); `bounds` solves many programs of one shape at once in NumPy.

References
----------
.. [1] C. E. Lemke, The dual method of solving the linear programming problem, Naval Research Logistics Quarterly 1
   (1954) 36-47.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

EPS = 1e-9  # a row is met, a pivot is nonzero [m, or dimensionless]
_PIVOTS = 200  # far above what a program of this size needs: a guard against cycling


class Lp:
    """One program; `copy` it, add rows, `solve`.

    Columns hold what is at zero (nonbasic), rows what is not: ``basic = beta - alpha . nonbasic``.
    """

    __slots__ = ("basis", "cost", "feasible", "nonbasic", "pending", "rows", "size", "value")

    def __init__(self, cost: list[float]) -> None:
        self.size = len(cost)
        self.cost = list(cost)  # reduced costs of the columns
        self.value = 0.0
        self.nonbasic: list[int] = list(range(self.size))  # variable in each column; -1: fixed at zero
        self.rows: list[list[float]] = []  # alpha ..., beta
        self.basis: list[int] = []  # variable of each row; a slack has size + something
        self.pending: list[bool] = []  # the row is an equality whose slack must become zero
        self.feasible = True

    def copy(self) -> Lp:
        """An independent copy."""
        twin = Lp.__new__(Lp)
        twin.size = self.size
        twin.cost = self.cost[:]
        twin.value = self.value
        twin.nonbasic = self.nonbasic[:]
        twin.rows = [row[:] for row in self.rows]
        twin.basis = self.basis[:]
        twin.pending = self.pending[:]
        twin.feasible = self.feasible
        return twin

    def add(self, a: list[float], b: float, equal: bool = False) -> None:
        """Add the row ``a.x >= b``, or ``a.x == b``."""
        width = len(self.cost)
        alpha = [0.0] * width
        beta = -b
        where = {var: row for row, var in zip(self.rows, self.basis, strict=True) if var < self.size}
        column = {var: j for j, var in enumerate(self.nonbasic) if 0 <= var < self.size}
        for var, factor in enumerate(a):
            if factor == 0.0:
                continue
            if var in column:
                alpha[column[var]] -= factor
            elif var in where:
                row = where[var]
                for j in range(width):
                    alpha[j] += factor * row[j]
                beta += factor * row[width]
            # a variable that is neither was driven out by an equality: fixed at zero
        alpha.append(beta)
        self.rows.append(alpha)
        self.basis.append(self.size)
        self.pending.append(equal)

    def solve(self) -> bool:
        """Pivot until every row is met; False where the program has no solution."""
        for _ in range(_PIVOTS):
            if not self.feasible:
                return False
            r = self._worst_row()
            if r < 0:
                return True
            self._pivot(r)
        self.feasible = False
        return False

    def x(self) -> list[float]:
        """The solution, after `solve`."""
        values = [0.0] * self.size
        for row, var in zip(self.rows, self.basis, strict=True):
            if var < self.size:
                values[var] = row[-1] if row[-1] > 0.0 else 0.0
        return values

    def _worst_row(self) -> int:
        worst, at = EPS, -1
        for r, row in enumerate(self.rows):
            beta = row[-1]
            short = abs(beta) if self.pending[r] else -beta
            if short > worst:
                worst, at = short, r
        return at

    def _pivot(self, r: int) -> None:
        row = self.rows[r]
        flip = 1.0 if row[-1] < 0.0 else -1.0  # a positive equality slack must come down
        best, at = float("inf"), -1
        for j, d in enumerate(self.cost):
            a = -row[j] * flip
            if a > EPS and self.nonbasic[j] >= 0:
                ratio = d / a
                if ratio < best - 1e-15:
                    best, at = ratio, j
        if at < 0:
            self.feasible = False
            return
        p = row[at]
        inverse = 1.0 / p
        entering = self.nonbasic[at]
        lead = [v * inverse for v in row]
        lead[at] = inverse
        equality = self.pending[r]
        if equality:
            lead[at] = 0.0
        self._spread(r, at, lead, inverse, equality)
        self.rows[r] = lead
        self.nonbasic[at] = -1 if equality else self.basis[r]
        self.basis[r] = entering
        self.pending[r] = False

    def _spread(self, r: int, at: int, lead: list[float], inverse: float, equality: bool) -> None:
        for k, other in enumerate(self.rows):
            if k != r:
                f = other[at]
                if f != 0.0:
                    other = [v - f * w for v, w in zip(other, lead, strict=True)]
                    other[at] = 0.0 if equality else -f * inverse
                    self.rows[k] = other
        f = self.cost[at]
        if f != 0.0:
            beta = lead[-1]
            cost = [v - f * w for v, w in zip(self.cost, lead, strict=False)]
            cost[at] = 0.0 if equality else -f * inverse
            self.cost = cost
            self.value += f * beta


def bounds(cost: FloatArray, a: FloatArray, b: FloatArray, equal: NDArray[np.bool_]) -> FloatArray:
    """Optimal values of many programs of one shape, infinite where there is no solution.

    Parameters
    ----------
    cost : (n,) or (N, n) positive costs
    a : (N, m, n) rows
    b : (N, m) right-hand sides
    equal : (m,) which rows are equalities; the others are ``a.x >= b``

    Returns
    -------
    (N,) values
    """
    count, m, n = a.shape
    out = np.full(count, np.inf)
    tableau = np.concatenate([-a, -b[:, :, None]], axis=2)  # slack = beta - alpha.x, alpha = -a, beta = -b
    reduced = np.broadcast_to(cost, (count, n)).copy()
    value = np.zeros(count)
    pending = np.broadcast_to(equal, (count, m)).copy()
    open_columns = np.ones((count, n), dtype=bool)
    alive = np.arange(count)
    for _ in range(_PIVOTS):
        if alive.size == 0:
            break
        beta = tableau[:, :, n]
        short = np.where(pending, np.abs(beta), -beta)
        r = np.argmax(short, axis=1)
        i = np.arange(alive.size)
        done = short[i, r] <= EPS
        out[alive[done]] = value[done]
        row = tableau[i, r]
        flip = np.where(row[:, n] < 0.0, 1.0, -1.0)
        step = -row[:, :n] * flip[:, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where((step > EPS) & open_columns, reduced / step, np.inf)
        j = np.argmin(ratio, axis=1)
        keep = ~done & np.isfinite(ratio[i, j])
        alive, tableau, reduced, value = alive[keep], tableau[keep], reduced[keep], value[keep]
        pending, open_columns, r, j, row = pending[keep], open_columns[keep], r[keep], j[keep], row[keep]
        if alive.size:
            _batch_pivot(tableau, reduced, value, pending, open_columns, r, j, row)
    return out


def _batch_pivot(
    tableau: FloatArray,
    reduced: FloatArray,
    value: FloatArray,
    pending: NDArray[np.bool_],
    open_columns: NDArray[np.bool_],
    r: NDArray[np.intp],
    j: NDArray[np.intp],
    row: FloatArray,
) -> None:
    """One pivot of every program, in place."""
    n = reduced.shape[1]
    i = np.arange(len(r))
    inverse = 1.0 / row[i, j]
    equality = pending[i, r]
    lead = row * inverse[:, None]
    lead[i, j] = np.where(equality, 0.0, inverse)
    factor = tableau[i, :, j]
    tableau -= factor[:, :, None] * lead[:, None, :]
    tableau[i, :, j] = np.where(equality[:, None], 0.0, -factor * inverse[:, None])
    tableau[i, r] = lead
    f = reduced[i, j]
    value += f * lead[:, n]
    reduced -= f[:, None] * lead[:, :n]
    reduced[i, j] = np.where(equality, 0.0, -f * inverse)
    open_columns[i, j] &= ~equality
    pending[i, r] = False
