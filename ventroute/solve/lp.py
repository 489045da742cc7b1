"""Many small linear programs at once, by the dual simplex method.

A program is ``min c.x`` with ``x >= 0`` and rows ``a.x >= b`` or ``a.x == b``. As every cost is positive, ``x = 0`` is
dual feasible before any row is there, so rows can be added to a solved program, and a few pivots solve it again: a
child of a branch costs little more than a copy of its parent's tableau. All programs of a batch have the same number
of lengths and take their pivots together, each its own.

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
_PARTS = ("tableau", "reduced", "value", "basic", "nonbasic", "pending")


@dataclass(eq=False)
class Programs:
    """N programs over n lengths, with m rows each.

    A tableau holds what is not at zero: ``basic = last column - other columns . nonbasic``.
    """

    tableau: FloatArray  # (N, m, n + 1)
    reduced: FloatArray  # (N, n) reduced costs
    value: FloatArray  # (N,)
    basic: IntArray  # (N, m) length of each row, n for a slack
    nonbasic: IntArray  # (N, n) length of each column, n for a slack, -1 where it stays at zero
    pending: BoolArray  # (N, m) the row is an equality whose slack must still become zero

    @classmethod
    def of(cls, cost: FloatArray, a: FloatArray, b: FloatArray, equal: BoolArray) -> Programs:
        """Programs with rows (N, m, n), (N, m), of which (m,) are equalities; not solved yet."""
        count, m, n = a.shape
        return cls(
            np.concatenate([-a, -b[:, :, None]], axis=2),
            np.broadcast_to(cost, (count, n)).copy(),
            np.zeros(count),
            np.full((count, m), n, dtype=np.intp),
            np.broadcast_to(np.arange(n, dtype=np.intp), (count, n)).copy(),
            np.broadcast_to(equal, (count, m)).copy(),
        )

    @classmethod
    def stacked(cls, parts: Sequence[Programs]) -> Programs:
        """Single programs over the same number of lengths as one batch; the fewer rows are filled up with idle ones."""
        n = parts[0].reduced.shape[1]
        most = max(part.tableau.shape[1] for part in parts)
        count = len(parts)
        tableau = np.zeros((count, most, n + 1))
        tableau[:, :, n] = _IDLE
        basic = np.full((count, most), n, dtype=np.intp)
        pending = np.zeros((count, most), dtype=np.bool_)
        for i, part in enumerate(parts):
            m = part.tableau.shape[1]
            tableau[i, :m], basic[i, :m], pending[i, :m] = part.tableau[0], part.basic[0], part.pending[0]
        rest = (np.concatenate([getattr(part, name) for part in parts]) for name in ("reduced", "value", "nonbasic"))
        reduced, value, nonbasic = rest
        return cls(tableau, reduced, value, basic, nonbasic, pending)

    def __len__(self) -> int:
        return len(self.value)

    def take(self, which: IntArray) -> Programs:
        """Some of the programs, copied."""
        return Programs(*[getattr(self, name)[which] for name in _PARTS])

    def one(self, i: int) -> Programs:
        """A batch of one, a view."""
        return Programs(*[getattr(self, name)[i : i + 1] for name in _PARTS])

    def add(self, a: FloatArray, b: FloatArray, equal: BoolArray) -> Programs:
        """The programs with one row more: (N, n), (N,), (N,)."""
        row = np.einsum("ij,ijk->ik", a, self._lengths())
        row[:, -1] -= b
        n = a.shape[1]
        return Programs(
            np.concatenate([self.tableau, row[:, None]], axis=1),
            self.reduced,
            self.value,
            np.concatenate([self.basic, np.full((len(b), 1), n, dtype=np.intp)], axis=1),
            self.nonbasic,
            np.concatenate([self.pending, equal[:, None]], axis=1),
        )

    def _lengths(self) -> FloatArray:
        """The lengths over the nonbasic variables: (N, n, n + 1)."""
        count, n = self.reduced.shape
        out = np.zeros((count, n + 1, n + 1))
        i = np.arange(count)[:, None]
        out[i, self.basic] = self.tableau
        column = np.where(self.nonbasic >= 0, self.nonbasic, n)
        out[i, n] = 0.0
        out[i, column, np.arange(n)] = -1.0
        return out[:, :n]

    def x(self) -> FloatArray:
        """(N, n) the solutions, after `solved`."""
        count, n = self.reduced.shape
        out = np.zeros((count, n + 1))
        out[np.arange(count)[:, None], self.basic] = self.tableau[:, :, -1]
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
        alpha = a @ self._lengths()
        short = b - alpha[:, :, -1]
        step = np.where(short[:, :, None] > 0, -alpha[:, :, :-1], alpha[:, :, :-1])
        useful = (step > EPS) & (self.nonbasic >= 0)[:, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(useful, self.reduced[:, None] / step, np.inf).min(axis=2, initial=np.inf)
            raised = self.value[:, None] + ratio * np.abs(short)
        met = np.where(equal, np.abs(short), short) <= EPS
        return np.where(met, self.value[:, None], raised)

    def solved(self) -> Programs:
        """The programs with pivots taken until every row is met; the value is infinite where there is no solution."""
        out = Programs(*[getattr(self, name).copy() for name in _PARTS])
        out.value[:] = np.inf
        alive, work = np.arange(len(self)), self
        for turn in range(_PIVOTS):
            if not alive.size:
                break
            beta = work.tableau[:, :, -1]
            short = np.where(work.pending, np.abs(beta), -beta)
            r = np.argmax(short, axis=1) if short.shape[1] else np.zeros(len(alive), dtype=np.intp)
            i = np.arange(alive.size)
            done = short[i, r] <= EPS if short.shape[1] else np.ones(len(alive), dtype=np.bool_)
            if done.any():
                for name in _PARTS:
                    getattr(out, name)[alive[done]] = getattr(work, name)[done]
            row = work.tableau[i, r]
            flip = np.where(row[:, -1] < 0.0, -1.0, 1.0)  # a positive slack of an equality must come down
            step = row[:, :-1] * flip[:, None]
            with np.errstate(divide="ignore", invalid="ignore"):
                ratio = np.where((step > EPS) & (work.nonbasic >= 0), work.reduced / step, np.inf)
            j = np.argmin(ratio, axis=1)
            keep = ~done & np.isfinite(ratio[i, j])
            if turn == 0 or not keep.all():
                alive, work = alive[keep], work.take(np.flatnonzero(keep))
                r, j, row = r[keep], j[keep], row[keep]
            if alive.size:
                work._pivot(r, j, row)
        return out

    def _pivot(self, r: IntArray, j: IntArray, row: FloatArray) -> None:
        """One pivot of every program, in place."""
        i = np.arange(len(r))
        inverse = 1.0 / row[i, j]
        equality = self.pending[i, r]
        lead = row * inverse[:, None]
        lead[i, j] = np.where(equality, 0.0, inverse)
        factor = self.tableau[i, :, j]
        self.tableau -= factor[:, :, None] * lead[:, None, :]
        self.tableau[i, :, j] = np.where(equality[:, None], 0.0, -factor * inverse[:, None])
        self.tableau[i, r] = lead
        f = self.reduced[i, j]
        self.value += f * lead[:, -1]
        self.reduced -= f[:, None] * lead[:, :-1]
        self.reduced[i, j] = np.where(equality, 0.0, -f * inverse)
        entering = self.nonbasic[i, j]
        self.nonbasic[i, j] = np.where(equality, -1, self.basic[i, r])
        self.basic[i, r] = entering
        self.pending[i, r] = False
