"""Many small linear programs at once, by the dual simplex method.

A program is ``min c.x`` with ``x >= 0`` and rows ``a.x >= b`` or ``a.x == b``. As every cost is positive, ``x = 0`` is
dual feasible before any row is there, so rows can be added to a solved program, and a few pivots solve it again: a
child of a branch costs little more than a copy of its parent's tableau. All programs of a batch have the same number
of lengths and take their pivots together, each its own. They stand along the last axis of every array: there NumPy's
innermost loop is as long as it can be.

References
----------
.. [1] C. E. Lemke, The dual method of solving the linear programming problem, Naval Research Logistics Quarterly 1
   (1954) 36-47.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

EPS = 1e-9  # a row is met, a pivot is nonzero [m, or dimensionless]
_PIVOTS = 200  # far above what a program of this size needs: a guard against cycling
_IDLE = 1.0  # what a row that stands for none has as its slack


@dataclass(slots=True, eq=False)
class Programs:
    """N programs over n lengths, with m rows each.

    A tableau holds what is not at zero: ``basic = last column - other columns . nonbasic``. Its first row is the
    reduced costs; the column of an equality's slack that became zero is zero.
    """

    tableau: FloatArray  # (1 + m, n + 1, N)
    value: FloatArray  # (N,)
    basic: IntArray  # (m, N) length of each row, n for a slack, n + 1 for one that must still become zero
    nonbasic: IntArray  # (n, N) length of each column, n for a slack

    @classmethod
    def of(cls, cost: FloatArray, count: int) -> Programs:
        """Programs without rows, of costs (n,), solved by lengths of zero."""
        n = len(cost)
        tableau = np.zeros((1, n + 1, count))
        tableau[0, :n] = cost[:, None]
        nonbasic = np.empty((n, count), dtype=np.intp)
        nonbasic[:] = np.arange(n)[:, None]
        return cls(tableau, np.zeros(count), np.empty((0, count), dtype=np.intp), nonbasic)

    @classmethod
    def stacked(cls, parts: Sequence[Program]) -> Programs:
        """Single programs over the same number of lengths as one batch; the fewer rows are filled up with idle ones."""
        batches: dict[int, tuple[Programs, list[int], list[int]]] = {}  # each with places among the parts, and in it
        for i, part in enumerate(parts):
            _, here, there = batches.setdefault(id(part.batch), (part.batch, [], []))
            here.append(i)
            there.append(part.at)
        most = max(len(batch.basic) for batch, _, _ in batches.values())
        place = np.empty(len(parts), dtype=np.intp)
        place[[i for _, here, _ in batches.values() for i in here]] = np.arange(len(parts))
        taken = [batch.take(np.array(there, dtype=np.intp)).filled(most) for batch, _, there in batches.values()]
        return joined(taken).take(place)

    def filled(self, most: int) -> Programs:
        """The programs with idle rows up to so many."""
        (high, wide, count), fewer = self.tableau.shape, most - len(self.basic)
        if not fewer:
            return self
        tableau = np.zeros((high + fewer, wide, count))
        tableau[:high], tableau[high:, -1] = self.tableau, _IDLE
        basic = np.concatenate([self.basic, np.full((fewer, count), wide - 1, dtype=np.intp)])
        return Programs(tableau, self.value, basic, self.nonbasic)

    def __len__(self) -> int:
        return len(self.value)

    def take(self, which: IntArray) -> Programs:
        """Some of the programs, copied."""
        basic, nonbasic = self.basic.take(which, 1), self.nonbasic.take(which, 1)
        return Programs(self.tableau.take(which, 2), self.value.take(which), basic, nonbasic)

    def one(self, i: int) -> Program:
        """One of the programs."""
        return Program(self, i)

    def add(self, a: FloatArray, b: FloatArray, equal: BoolArray) -> Programs:
        """The programs with R rows more: (N, R, n), (N, R), (N, R)."""
        n, rows = a.shape[2], a.shape[1]
        if not rows:
            return self
        high = len(self.tableau)
        tableau = np.empty((high + rows, n + 1, len(self)))
        tableau[:high] = self.tableau
        if len(self.basic):
            tableau[high:] = (a @ self._over()).transpose(1, 2, 0)
            tableau[high:, n] -= b.T
        else:
            tableau[high:, :n], tableau[high:, n] = -a.transpose(1, 2, 0), -b.T
        return Programs(tableau, self.value, np.concatenate([self.basic, n + equal.T]), self.nonbasic)

    def _over(self) -> FloatArray:
        """The lengths over the nonbasic variables, a program after the other: (N, n, n + 1)."""
        n, count = self.nonbasic.shape
        out, i = np.zeros((count, n + 2, n + 1)), np.arange(count)
        row, at = (self.basic < n).nonzero()
        out[at, self.basic[row, at]] = self.tableau[1:][row, :, at]
        out[i, self.nonbasic, np.arange(n)[:, None]] = -1.0
        return out[:, :n]

    def x(self) -> FloatArray:
        """(N, n) the solutions, after `solved`."""
        n, count = self.nonbasic.shape
        out = np.zeros((count, n + 2))
        out[np.arange(count), self.basic] = self.tableau[1:, n]
        return np.maximum(out[:, :n], 0.0)

    def first_steps(self, a: FloatArray, b: FloatArray, equal: BoolArray) -> FloatArray:
        """What each of Q further rows would raise the values to by its first pivot, infinite where it has none.

        It is a lower bound of the value with that row alone.

        Parameters
        ----------
        a, b, equal : (N, Q, n), (N, Q), (N, Q)

        Returns
        -------
        (N, Q) values
        """
        alpha = self._over().transpose(0, 2, 1) @ a.transpose(0, 2, 1)  # (N, n + 1, Q)
        short = b - alpha[:, -1]
        step = alpha[:, :-1]
        np.negative(step, out=step, where=(short > 0)[:, None])
        ratio = np.full(step.shape, np.inf)
        np.divide(self.tableau[0, :-1].T[:, :, None], step, out=ratio, where=step > EPS)
        value, size = self.value[:, None], np.abs(short)
        met = np.where(equal, size, short) <= EPS
        size[met] = 1.0  # 0 times infinity is no number
        return np.where(met, value, value + ratio.min(axis=1, initial=np.inf) * size)

    def solved(self) -> Programs:
        """The programs with pivots taken until every row is met; the value is infinite where there is no solution."""
        n, at = len(self.nonbasic), np.arange(len(self))
        if not (self.basic > n).any() and not (self.tableau[1:, n] < -EPS).any():
            return self
        work = Programs(self.tableau.copy(), self.value, self.basic.copy(), self.nonbasic.copy())
        np.negative(self.value, out=work.tableau[0, n])  # falls as the value rises
        out, value = work, np.full(len(self), np.inf)
        pending = bool((work.basic > n).any())
        for _ in range(_PIVOTS if len(self) else 0):
            tableau, i = work.tableau, np.arange(len(at))
            short = -tableau[1:, n]
            if pending:
                short = np.where(work.basic > n, np.abs(short), short)
            r, late = short.argmax(axis=0), short.max(axis=0) > EPS
            row = tableau[r + 1, :, i].T
            step = -row[:n]
            if pending:
                step = np.where(row[n] < 0.0, step, row[:n])  # a positive slack of an equality must come down
            ratio = np.where(step > EPS, tableau[0, :n] / np.maximum(step, EPS), np.inf)
            j = ratio.argmin(axis=0)
            goes = late & (ratio.min(axis=0) < np.inf)
            if not goes.all():
                met = (~late).nonzero()[0]
                value[at[met]] = -tableau[0, n, met]
                left = goes.nonzero()[0]
                if work is not out:
                    out._put(at[met], work.take(met))
                if not left.size:
                    break
                at, work, r, j, row = at[left], work.take(left), r[left], j[left], row.take(left, 1)
            pending = work._pivot(r, j, row, pending)
        return Programs(out.tableau, value, out.basic, out.nonbasic)

    def _put(self, at: IntArray, other: Programs) -> None:
        """Overwrite some of the programs, but for their values."""
        self.tableau[:, :, at], self.basic[:, at], self.nonbasic[:, at] = other.tableau, other.basic, other.nonbasic

    def _pivot(self, r: IntArray, j: IntArray, row: FloatArray, pending: bool) -> bool:
        """One pivot of every program, in place; whether equalities are left to be met."""
        n, i = len(self.nonbasic), np.arange(len(r))
        inverse = 1.0 / row[j, i]
        lead = row * inverse
        factor = self.tableau[:, j, i]
        self.tableau -= factor[:, None] * lead
        leaving = self.basic[r, i]
        if pending:
            equality = leaving > n
            leaving[equality], inverse[equality] = n, 0.0
        lead[j, i] = inverse
        self.tableau[:, j, i] = factor * -inverse
        self.tableau[r + 1, :, i] = lead.T
        self.basic[r, i], self.nonbasic[j, i] = self.nonbasic[j, i], leaving
        return pending and bool((self.basic > n).any())


@dataclass(slots=True, eq=False)
class Program:
    """One program of a batch."""

    batch: Programs
    at: int


def joined(parts: Sequence[Programs]) -> Programs:
    """Batches with as many rows as one."""
    if len(parts) == 1:
        return parts[0]
    return Programs(
        np.concatenate([part.tableau for part in parts], axis=2),
        np.concatenate([part.value for part in parts]),
        np.concatenate([part.basic for part in parts], axis=1),
        np.concatenate([part.nonbasic for part in parts], axis=1),
    )
