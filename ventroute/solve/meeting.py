"""The least lengths of given directions that lead a given way, of many sequences at once.

The least sum of lengths L >= 0 with ``sum L_i d_i = way`` has a basis of three directions at most. Those are few, so
all of them are tried together, and the least sum whose lengths are not negative is the best. Where more rows follow, a
basis is wanted that also has a dual vector y with ``y . d_i <= 1`` for every direction [1]_: the dual simplex method
goes on from its tableau.

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
BoolArray = NDArray[np.bool_]

_FLAT = 1e-7  # three directions with less volume lie in a plane
_SIGNS = np.array([1.0, -1.0, 1.0])


def meeting(dirs: FloatArray, way: FloatArray) -> FloatArray:
    """Least sums of lengths that lead N ways (N, 3) in sequences of directions (N, n, 3), infinite where none do."""
    if dirs.shape[1] < 3:
        return _pivoted(dirs, way).value
    _, _, solid, lengths = _bases(dirs, way)
    held = solid & (lengths.min(axis=2) >= -EPS)
    value: FloatArray = np.where(held, lengths.sum(axis=2), np.inf).min(axis=1)
    flat = (~solid.any(axis=1)).nonzero()[0]
    if flat.size:
        value[flat] = _pivoted(dirs[flat], way[flat]).value
    return value


def met(dirs: FloatArray, way: FloatArray) -> Programs:
    """The solved programs of sequences that can lead their ways, (N, n, 3) and (N, 3)."""
    n = dirs.shape[1]
    if n < 3:
        return _pivoted(dirs, way)
    bases, _, sides = _choices(n)
    normals, inverse, solid, lengths = _bases(dirs, way)
    dual = (normals[:, sides[:, 0]] - normals[:, sides[:, 1]] + normals[:, sides[:, 2]]) * inverse[:, :, None]
    best = solid & (lengths.min(axis=2) >= -EPS)
    best &= (dual @ dirs.transpose(0, 2, 1)).max(axis=2) <= 1.0 + EPS
    i, pick = np.arange(len(dirs)), best.argmax(axis=1)
    rows = normals[i[:, None], sides[pick]] * (_SIGNS * inverse[i, pick][:, None])[:, :, None]
    programs = _tableaus(dirs, rows, lengths[i, pick], bases[pick])
    open_ = ~best[i, pick]
    if not open_.any():
        return programs
    pivoted = _pivoted(dirs[open_], way[open_])
    return joined([programs.take((~open_).nonzero()[0]), pivoted]).take(np.argsort(np.argsort(open_, kind="stable")))


def _bases(dirs: FloatArray, way: FloatArray) -> tuple[FloatArray, FloatArray, BoolArray, FloatArray]:
    """Normals of all pairs (N, P, 3), and of all threes one over the volume (N, T), whether there is any, the lengths.

    The lengths (N, T, 3) are zero where there is no volume.
    """
    bases, pairs, sides = _choices(dirs.shape[1])
    one, other = dirs[:, :, [1, 2, 0]], dirs[:, :, [2, 0, 1]]
    normals = one[:, pairs[0]] * other[:, pairs[1]] - other[:, pairs[0]] * one[:, pairs[1]]
    volume = (dirs[:, bases[:, 0]] * normals[:, sides[:, 0]]).sum(axis=2)
    solid = np.abs(volume) > _FLAT
    inverse = 1.0 / np.where(solid, volume, np.inf)
    lengths = (normals @ way[:, :, None])[:, sides, 0] * _SIGNS * inverse[:, :, None]
    return normals, inverse, solid, lengths


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


def _pivoted(dirs: FloatArray, way: FloatArray) -> Programs:
    """The same by pivots, as the directions may lie in a plane; the value is infinite where they do not lead there."""
    programs = Programs.of(np.ones(dirs.shape[1]), len(dirs))
    return programs.add(dirs.transpose(0, 2, 1), way, np.ones(way.shape, dtype=np.bool_)).solved()


@cache
def _choices(n: int) -> tuple[IntArray, IntArray, IntArray]:
    """Threes of n directions (T, 3), pairs of them (2, P), and of each three the pairs that leave one out (T, 3)."""
    pairs = list(combinations(range(n), 2))
    number = {pair: p for p, pair in enumerate(pairs)}
    bases = list(combinations(range(n), 3))
    sides = [(number[j, k], number[i, k], number[i, j]) for i, j, k in bases]
    return np.array(bases), np.array(pairs).T, np.array(sides)
