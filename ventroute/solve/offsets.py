"""Offsets at any roll in an empty room: which roll is best, and the length that it has.

A rolled offset leaves an axis by a fitting and comes back to it by another like it: a, d, a, with d at any roll about
a. The least length of a sequence with one offset depends on the roll alone. For a given roll it is a small linear
program, so at its least no more than three lengths are above what their fittings need. As d turns, the least over all
rolls is where the length of such three is stationary, or one of them comes down to its least, or d is as low as
drains. Each is where a wave ``a cos roll + b sin roll + c`` is zero. So the best roll is one of a few, and Cramer's
rule gives each its lengths. An end anywhere in an area adds lengths that cost nothing, from a corner along its sides.

References
----------
.. [1] S. Boyd, L. Vandenberghe, Convex Optimization, Cambridge 2004, section 5.2: the dual of a linear program, whose
   value at a vertex is what is stationary here.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.frames import cross

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

Roll = tuple[FloatArray, FloatArray]  # its cosine and its sine

_EPS_M = 1e-9  # a length is not negative
_HAIR = 1e-9  # beyond the least slope, so that rounding does not take it away


@dataclass(frozen=True, eq=False)
class Wave:
    """``a cos roll + b sin roll + c``: (S, P) each."""

    a: FloatArray
    b: FloatArray
    c: FloatArray

    def at(self, roll: Roll) -> FloatArray:
        """Its value at rolls (S, P or 1, R): (S, P, R)."""
        return self.a[:, :, None] * roll[0] + self.b[:, :, None] * roll[1] + self.c[:, :, None]

    def zeros(self) -> Roll:
        """The rolls (S, P, 2) where it is zero, not numbers where there are none."""
        square = self.a * self.a + self.b * self.b
        middle, off = -self.c / square, np.sqrt(square - self.c * self.c) / square
        a, b = self.a, self.b
        cosine = np.stack([a * middle - b * off, a * middle + b * off], axis=2)
        return cosine, np.stack([b * middle + a * off, b * middle - a * off], axis=2)


@dataclass(frozen=True, eq=False)
class Offsets:
    """S sequences with one offset each, and between what places.

    ``axis`` (S, 3) is the direction that the offset leaves and comes back to, ``angle`` (S,) [rad] how far it leaves
    it, ``least`` (S,) its least travel [m]; ``rest`` (S, 3) what is left of the way beyond all other least lengths [m];
    ``columns`` (S, c, 3) the other directions, zero where a sequence has fewer, of which a metre counts ``cost`` (c,),
    and of which there may be ``most`` (c,) metres more than the least; the offset rises or falls, as ``rise`` (S,) is 1
    or -1, by a ``slope`` (S,) of at least so much [rad].
    """

    axis: FloatArray
    angle: FloatArray
    least: FloatArray
    rest: FloatArray
    columns: FloatArray
    cost: FloatArray
    most: FloatArray
    slope: FloatArray
    rise: FloatArray

    @cached_property
    def _frame(self) -> FloatArray:
        """Two directions across each axis and the axis, (S, 3, 3): rolls are counted from the first to the second."""
        nearest = np.eye(3)[np.argmin(np.abs(self.axis), axis=1)]
        side = cross(self.axis, nearest)
        side /= np.linalg.norm(side, axis=1)[:, None]
        return np.stack([side, cross(self.axis, side), self.axis], axis=1)

    @cached_property
    def _columns(self) -> FloatArray:
        """The other directions (S, c, 3) in the frames."""
        out: FloatArray = np.einsum("sck,sfk->scf", self.columns, self._frame)
        return out

    @cached_property
    def _rest(self) -> FloatArray:
        """What is left of the way (S, 1, 3) in the frames."""
        out: FloatArray = np.einsum("sk,sfk->sf", self.rest, self._frame)[:, None]
        return out

    def toward(self, which: IntArray, roll: Roll) -> FloatArray:
        """Directions of some offsets (R,) at rolls (R,): (R, 3)."""
        angle = self.angle[which]
        part = np.sin(angle) * roll[0], np.sin(angle) * roll[1], np.cos(angle)
        out: FloatArray = np.einsum("rf,rfk->rk", np.stack(part, axis=1), self._frame[which])
        return out

    def take(self, which: IntArray) -> Offsets:
        """Some of the sequences."""
        rows = (getattr(self, name)[which] for name in ("axis", "angle", "least", "rest", "columns"))
        axis, angle, least, rest, columns = rows
        return Offsets(axis, angle, least, rest, columns, self.cost, self.most, self.slope[which], self.rise[which])

    def best(self) -> tuple[Roll, FloatArray]:
        """Rolls (S, N) among which each offset's best is, and the length with each (S, N) [m], infinite for none."""
        with np.errstate(all="ignore"):  # what is not a number falls out
            found = [self._beside_two(), self._short_beside_two(), self._short_beside_three()]
            parts = zip(*((*roll, length) for roll, length in found), strict=True)
            flat = [np.concatenate([p.reshape(len(self.axis), -1) for p in part], axis=1) for part in parts]
            cosine, sine, length = flat
            up = self._along(self._frame[:, None, :, 2]).at((cosine[:, None], sine[:, None]))[:, 0]
            drains = self.rise[:, None] * up >= np.sin(self.slope)[:, None]
        return (cosine, sine), np.where(drains, length, np.inf)

    def at(self, d: FloatArray) -> FloatArray:
        """Least lengths with the offsets in given directions (S, Q, 3), infinite where there are none: (S, Q)."""
        part = np.einsum("sqk,sfk->sqf", d, self._frame) / np.sin(self.angle)[:, None, None]
        roll = part[:, None, :, 0], part[:, None, :, 1]
        with np.errstate(all="ignore"):
            two, three = self._length(roll, *self._pairs), self._short(roll, self._triples)
        out: FloatArray = np.minimum(two.min(axis=1, initial=np.inf), three.min(axis=1, initial=np.inf))
        return out

    @cached_property
    def _pairs(self) -> tuple[IntArray, IntArray]:
        j, k = np.array(list(combinations(range(len(self.cost)), 2)), dtype=np.intp).reshape(-1, 2).T
        return j, k

    @cached_property
    def _triples(self) -> IntArray:
        return np.array(list(combinations(range(len(self.cost)), 3)), dtype=np.intp).reshape(-1, 3).T

    def _along(self, n: FloatArray) -> Wave:
        """The wave ``n . d`` of vectors (S, P, 3) in the frames."""
        sine, cosine = np.sin(self.angle)[:, None], np.cos(self.angle)[:, None]
        return Wave(sine * n[:, :, 0], sine * n[:, :, 1], cosine * n[:, :, 2])

    def _left(self, n: FloatArray) -> Wave:
        """The wave ``n . what the least travel leaves of the rest`` of vectors (S, P, 3) in the frames."""
        wave, least = self._along(n), self.least[:, None]
        return Wave(-least * wave.a, -least * wave.b, (n * self._rest).sum(axis=2) - least * wave.c)

    def _lowest(self, count: int) -> Wave:
        """The wave (S, count) that is zero where d just drains."""
        up = self._along(np.broadcast_to(self._frame[:, None, :, 2], (len(self.axis), count, 3)))
        return Wave(up.a, up.b, up.c - (self.rise * (np.sin(self.slope) + _HAIR))[:, None])

    def _beside_two(self) -> tuple[Roll, FloatArray]:
        """Travel and two lengths make up the rest: either may come down to its least, or the sum be stationary."""
        j, k = self._pairs
        u, v, rest = self._columns[:, j], self._columns[:, k], self._rest
        n = cross(u, v)
        # y with y.u and y.v the costs and y.d = 1 is z + n (1 - z.d) / (n.d); y.rest is the sum, stationary with that
        z = self.cost[j][:, None] * cross(v, n) + self.cost[k][:, None] * cross(n, u)
        p, q = self._along(z / (n * n).sum(axis=2)[..., None]), self._along(n)
        still = Wave(q.c * p.b - p.c * q.b + q.b, p.c * q.a - q.c * p.a - q.a, p.b * q.a - p.a * q.b)
        waves = self._along(cross(rest, u)), self._along(cross(rest, v)), still, self._lowest(len(j))
        roll = _joined([wave.zeros() for wave in waves])
        return roll, self._length(roll, j, k)

    def _length(self, roll: Roll, j: IntArray, k: IntArray) -> FloatArray:
        """Length with travel at rolls (S, P or 1, R) and columns j and k (P,): (S, P, R), infinite where negative."""
        u, v, rest = self._columns[:, j], self._columns[:, k], self._rest
        n = cross(u, v)
        det = self._along(n).at(roll)
        travel = (n * rest).sum(axis=2)[:, :, None] / det
        lengths = [self._along(m).at(roll) / det for m in (cross(rest, v), cross(u, rest))]
        return np.where(travel >= self.least[:, None, None] - _EPS_M, travel, np.inf) + self._sum(lengths, [j, k])

    def _short_beside_two(self) -> tuple[Roll, FloatArray]:
        """The travel at its least and two lengths make up the rest."""
        j, k = self._pairs
        u, v = self._columns[:, j], self._columns[:, k]
        n = cross(u, v)
        roll, size = self._left(n).zeros(), (n * n).sum(axis=2)[:, :, None]
        lengths = [self._left(m).at(roll) / size for m in (cross(v, n), cross(n, u))]
        return roll, self.least[:, None, None] + self._sum(lengths, [j, k])

    def _short_beside_three(self) -> tuple[Roll, FloatArray]:
        """The travel at its least and three lengths make up the rest: the sum is stationary, or d just drains."""
        u, v, w = (self._columns[:, i] for i in self._triples)
        det = (u * cross(v, w)).sum(axis=2)[..., None]
        costs = [self.cost[i][:, None] for i in self._triples]
        y = self._along((costs[0] * cross(v, w) + costs[1] * cross(w, u) + costs[2] * cross(u, v)) / det)
        still = Wave(y.b, -y.a, np.zeros_like(y.c))
        roll = _joined([still.zeros(), self._lowest(len(det[0])).zeros()])
        return roll, self._short(roll, self._triples)

    def _short(self, roll: Roll, which: IntArray) -> FloatArray:
        """Length with the least travel at rolls (S, P or 1, R) and three columns (3, P): (S, P, R)."""
        u, v, w = (self._columns[:, i] for i in which)
        across = cross(v, w), cross(w, u), cross(u, v)
        det = (u * across[0]).sum(axis=2)[:, :, None]
        lengths = [self._left(n).at(roll) / det for n in across]
        return self.least[:, None, None] + self._sum(lengths, list(which))

    def _sum(self, lengths: list[FloatArray], which: list[IntArray]) -> FloatArray:
        """What lengths (S, P, R) of columns (P,) cost, infinite where one is negative or more than there is."""
        total: FloatArray = np.zeros_like(lengths[0])
        for length, i in zip(lengths, which, strict=True):
            fits = (length >= -_EPS_M) & (length <= self.most[i][:, None] + _EPS_M)
            total = total + np.where(fits, self.cost[i][:, None] * length, np.inf)
        return total


def _joined(rolls: list[Roll]) -> Roll:
    """Rolls (S, P, R) one after the other."""
    cosine, sine = (np.concatenate(part, axis=2) for part in zip(*rolls, strict=True))
    return cosine, sine
