"""The least lengths of given directions that lead a given way, of many sequences at once.

The least sum of lengths L >= 0 with ``sum L_i d_i = way`` has a basis of three directions at most. Those are few, so
all of them are tried together: the first whose lengths are not negative and whose dual vector y has ``y . d_i <= 1``
for every direction is the best [1]_. It leaves the tableau that the dual simplex method goes on from with more rows.

References
----------
.. [1] V. Chvatal, Linear Programming, Freeman 1983, chapter 5: a basis feasible in the primal and the dual is optimal.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.lp import EPS, Programs, joined

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_FLAT = 1e-7  # three directions with less volume lie in a plane
_SIGNS = np.array([1.0, -1.0, 1.0])


def meeting(dirs: FloatArray, way: FloatArray) -> tuple[IntArray, Programs]:
    """Which of N sequences of directions (N, n, 3) can lead their way (N, 3), and their solved programs."""
    n = dirs.shape[1]
    if n < 3:
        return _pivoted(dirs, way)
    bases, pairs, sides = _choices(n)
    one, other = dirs[:, :, [1, 2, 0]], dirs[:, :, [2, 0, 1]]
    normals = one[:, pairs[0]] * other[:, pairs[1]] - other[:, pairs[0]] * one[:, pairs[1]]  # of each pair
    volume = (dirs[:, bases[:, 0]] * normals[:, sides[:, 0]]).sum(axis=2)
    solid = np.abs(volume) > _FLAT
    inverse = 1.0 / np.where(solid, volume, np.inf)
    lengths = (normals @ way[:, :, None])[:, sides, 0] * _SIGNS * inverse[:, :, None]
    held = solid & (lengths.min(axis=2) >= -EPS)
    dual = (normals[:, sides[:, 0]] - normals[:, sides[:, 1]] + normals[:, sides[:, 2]]) * inverse[:, :, None]
    best = held & ((dual @ dirs.transpose(0, 2, 1)).max(axis=2) <= 1.0 + EPS)
    here = best.any(axis=1)
    at = here.nonzero()[0]
    pick = best[at].argmax(axis=1)
    programs = _tableaus(
        dirs[at],
        normals[at[:, None], sides[pick]] * (_SIGNS * inverse[at, pick][:, None])[:, :, None],
        lengths[at, pick],
        bases[pick],
    )
    open_ = (~here & (held.any(axis=1) | ~solid.any(axis=1))).nonzero()[0]
    if not len(open_):
        return at, programs
    more, pivoted = _pivoted(dirs[open_], way[open_])
    whole = np.concatenate([at, open_[more]])
    order = np.argsort(whole)
    return whole[order], joined([programs, pivoted]).take(order)


def _tableaus(dirs: FloatArray, inverse: FloatArray, lengths: FloatArray, basis: IntArray) -> Programs:
    """Solved programs, given the inverses of their bases (N, 3, 3), the lengths in them (N, 3), and which they are."""
    count, n = dirs.shape[:2]
    i, columns = np.arange(count), basis.T
    tableau = np.empty((4, n + 1, count))
    tableau[1:, :n] = (inverse @ dirs.transpose(0, 2, 1)).transpose(1, 2, 0)
    tableau[1:, n] = lengths.T
    tableau[0] = 1.0 - tableau[1:].sum(axis=0)
    tableau[:, columns, i] = 0.0
    nonbasic = np.empty((n, count), dtype=np.intp)
    nonbasic[:] = np.arange(n)[:, None]
    nonbasic[columns, i] = n
    return Programs(tableau, lengths.sum(axis=1), columns.copy(), nonbasic)


def _pivoted(dirs: FloatArray, way: FloatArray) -> tuple[IntArray, Programs]:
    """The same by pivots, where the directions may lie in a plane."""
    programs = Programs.of(np.ones(dirs.shape[1]), len(dirs))
    programs = programs.add(dirs.transpose(0, 2, 1), way, np.ones(way.shape, dtype=np.bool_)).solved()
    here = np.isfinite(programs.value).nonzero()[0]
    return here, programs.take(here)


@cache
def _choices(n: int) -> tuple[IntArray, IntArray, IntArray]:
    """Threes of n directions (T, 3), pairs of them (2, P), and of each three the pairs that leave one out (T, 3)."""
    pairs = list(combinations(range(n), 2))
    number = {pair: p for p, pair in enumerate(pairs)}
    bases = list(combinations(range(n), 3))
    sides = [(number[j, k], number[i, k], number[i, j]) for i, j, k in bases]
    return np.array(bases), np.array(pairs).T, np.array(sides)
