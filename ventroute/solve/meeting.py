"""The least lengths of given directions that lead a given way, of many sequences at once.

The least sum of lengths L >= 0 with ``sum L_i d_i = way`` has a basis of three directions, or two where all lie in a
plane. Those are few, so all of them are tried together, and the least sum whose lengths are not negative is the best.
Where more rows follow, a basis is wanted that also has a dual vector y with ``y . d_i <= 1`` for every direction [1]_:
the dual simplex method goes on from its tableau.

References
----------
.. [1] V. Chvatal, Linear Programming, Freeman 1983, chapter 5: a basis feasible in the primal and the dual is optimal.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.frames import cross
from ventroute.solve.lp import EPS, Programs, joined

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

_FLAT = 1e-7  # three directions with less volume lie in a plane
_SIGNS = np.array([1.0, -1.0, 1.0])[:, None]


def meeting(dirs: FloatArray, way: FloatArray) -> FloatArray:
    """Least sums of lengths that lead N ways (N, 3) in sequences of directions (N, n, 3), infinite where none do."""
    if dirs.shape[1] < 3:
        return _in_plane(dirs, way)
    normals, inverse, solid = _threes(dirs)
    one, other, third = (_dot(normals, way.T).take(side, 0) for side in _choices(dirs.shape[1])[2].T)
    one, other, third = one * inverse, other * inverse, third * inverse
    held = solid & (np.minimum(np.minimum(one, third), -other) >= -EPS)
    value: FloatArray = np.where(held, one - other + third, np.inf).min(axis=0)
    flat = np.logical_not(solid.any(axis=0)).nonzero()[0]
    if flat.size:
        value[flat] = _in_plane(dirs.take(flat, 0), way.take(flat, 0))
    return value


def _in_plane(dirs: FloatArray, way: FloatArray) -> FloatArray:
    """The same for directions in a plane."""
    value = np.full(len(dirs), np.inf)
    if dirs.shape[1] > 1:
        d, w = np.ascontiguousarray(dirs.transpose(2, 1, 0)), way.T[:, None]
        u, v = (d.take(side, 1) for side in _choices(dirs.shape[1])[1])
        normal = cross(u, v, 0)
        size = _dot(normal, normal)
        skew = size > _FLAT
        inverse = 1.0 / np.where(skew, size, np.inf)
        one, other = _dot(cross(v, normal, 0), w) * inverse, _dot(cross(normal, u, 0), w) * inverse
        left = np.abs(w - one * u - other * v).max(axis=0)
        held = skew & (np.minimum(one, other) >= -EPS) & (left <= EPS)
        value = np.where(held, one + other, np.inf).min(axis=0)
        straight = np.logical_not(skew.any(axis=0)).nonzero()[0]
    else:
        straight = np.arange(len(dirs))
    if straight.size:
        value[straight] = _pivoted(dirs.take(straight, 0), way.take(straight, 0)).value
    return value


def _dot(a: FloatArray, b: FloatArray) -> FloatArray:
    """Products along the first axis, summed up."""
    out: FloatArray = a[0] * b[0]
    out += a[1] * b[1]
    out += a[2] * b[2]
    return out


def met(dirs: FloatArray, way: FloatArray) -> Programs:
    """The solved programs of sequences that can lead their ways, (N, n, 3) and (N, 3)."""
    n = dirs.shape[1]
    if n < 3:
        return _solved(dirs, way, *_twos(dirs))
    bases, _, sides = _choices(n)
    normals, inverse, solid = _threes(dirs)
    flat = np.logical_not(solid.any(axis=0))
    rows = (normals.take(sides, 1) * (_SIGNS * inverse[:, None])).transpose(3, 1, 2, 0)
    if not flat.any():
        return _solved(dirs, way, rows, solid.T, bases)
    whole, plane = np.flatnonzero(~flat), flat.nonzero()[0]
    parts = [_solved(dirs[plane], way[plane], *_twos(dirs[plane])).filled(3)]
    if whole.size:
        parts.append(_solved(dirs[whole], way[whole], rows[whole], solid.T[whole], bases))
    return joined(parts).take(np.argsort(np.concatenate([plane, whole])))


def _threes(dirs: FloatArray) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Normals of all pairs of directions (3, P, N), and of all threes one over their volume and if they have any."""
    bases, pairs, sides = _choices(dirs.shape[1])
    d = np.ascontiguousarray(dirs.transpose(2, 1, 0))
    normals = cross(d.take(pairs[0], 1), d.take(pairs[1], 1), 0)
    volume = _dot(d.take(bases[:, 0], 1), normals.take(sides[:, 0], 1))
    solid = np.abs(volume) > _FLAT
    return normals, 1.0 / np.where(solid, volume, np.inf), solid


def _twos(dirs: FloatArray) -> tuple[FloatArray, BoolArray, IntArray]:
    """Bases of directions in a plane: rows that give their lengths (N, B, 2, 3), which there are, and their directions.

    Of one direction (N, 1, 3) it is the only basis, and its rows are (N, 1, 1, 3).
    """
    if dirs.shape[1] == 1:
        return dirs[:, None], np.ones((len(dirs), 1), dtype=np.bool_), np.zeros((1, 1), dtype=np.intp)
    bases = _choices(dirs.shape[1])[1].T
    u, v = dirs[:, bases[:, 0]], dirs[:, bases[:, 1]]
    normal = cross(u, v)
    size = (normal * normal).sum(axis=2)
    skew = size > _FLAT
    rows = np.stack([cross(v, normal), cross(normal, u)], axis=2) / np.where(skew, size, np.inf)[:, :, None, None]
    return rows, skew, bases


def _solved(dirs: FloatArray, way: FloatArray, rows: FloatArray, there: BoolArray, bases: IntArray) -> Programs:
    """Solved programs, by their best basis.

    Parameters
    ----------
    dirs, way : (N, n, 3), (N, 3)
    rows : (N, B, r, 3) that give the lengths in each basis
    there : (N, B) whether it is one
    bases : (B, r) its directions
    """
    lengths = np.matvec(rows, way[:, None])
    best = there & (lengths.min(axis=2) >= -EPS)
    best &= (rows.sum(axis=2) @ dirs.transpose(0, 2, 1)).max(axis=2) <= 1.0 + EPS
    i, pick = np.arange(len(dirs)), best.argmax(axis=1)
    programs = _tableaus(dirs, rows[i, pick], lengths[i, pick], bases[pick])
    open_ = (~best[i, pick]).nonzero()[0]
    if not open_.size:
        return programs
    kept = best[i, pick].nonzero()[0]
    parts = [programs.take(kept).filled(3), _pivoted(dirs[open_], way[open_])]
    return joined(parts).take(np.argsort(np.concatenate([kept, open_])))


def _pivoted(dirs: FloatArray, way: FloatArray) -> Programs:
    """The same by pivots, for what has no such basis."""
    programs = Programs.of(np.ones(dirs.shape[1]), len(dirs))
    return programs.add(dirs.transpose(0, 2, 1), way, np.ones(way.shape, dtype=np.bool_)).solved()


def _tableaus(dirs: FloatArray, inverse: FloatArray, lengths: FloatArray, basis: IntArray) -> Programs:
    """Solved programs, given the inverses of their bases (N, r, 3), the lengths in them (N, r), and which they are."""
    (count, n), r = dirs.shape[:2], lengths.shape[1]
    i, columns = np.arange(count), basis.T
    tableau = np.empty((1 + r, n + 1, count))
    tableau[1:, :n] = (inverse @ dirs.transpose(0, 2, 1)).transpose(1, 2, 0)
    tableau[1:, n] = lengths.T
    tableau[0] = 1.0 - tableau[1:].sum(axis=0)
    tableau[:, columns, i] = 0.0
    nonbasic = np.empty((n, count), dtype=np.intp)
    nonbasic[:] = np.arange(n)[:, None]
    nonbasic[columns, i] = n
    return Programs(tableau, lengths.sum(axis=1), columns.copy(), nonbasic)


@cache
def _choices(n: int) -> tuple[IntArray, IntArray, IntArray]:
    """Threes of n directions (T, 3), pairs of them (2, P), and of each three the pairs that leave one out (T, 3)."""
    pairs = list(combinations(range(n), 2))
    number = {pair: p for p, pair in enumerate(pairs)}
    bases = list(combinations(range(n), 3))
    sides = [(number[j, k], number[i, k], number[i, j]) for i, j, k in bases]
    return np.array(bases), np.array(pairs).T, np.array(sides)
