"""Direction sequences become strands: least lengths, corners, and whether they can meet their ends at all."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.lp import Programs
from ventroute.solve.strands import Laid, Row, Shape

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]


def laid_out(conditions: Conditions, shape: Shape, path: IntArray) -> Laid:
    """Direction sequences (N, k + 1) as strands, those left out that cannot meet their ends and areas."""
    link, known = shape.link, conditions.directions(shape.link)
    angles = known.turn[path[:, :-1], path[:, 1:]]
    least, hub = shape.least_m(angles)
    base = link.start_m + np.concatenate(
        [np.zeros((len(path), 1, 3)), np.cumsum(known.true[path] * least[:, :, None], axis=1)], axis=1
    )
    kept = np.arange(len(path))
    if link.end is not None:
        assert link.end.centre_m is not None
        kept = np.flatnonzero(
            _leads(known.true, path, link.end.centre_m - base[:, -1], link.end.centre_m - link.start_m)
        )
    rows = shape.rows
    a, b = table(rows, known.true[path[kept]], base[kept])
    equal = np.array([row.equal for row in rows], dtype=np.bool_)
    more = Programs.of(np.ones(shape.bends + 1), a, b, equal).solved().value
    kept, more = kept[np.isfinite(more)], more[np.isfinite(more)]
    return Laid(path[kept], angles[kept], least[kept], hub[kept], base[kept], least[kept].sum(axis=1) + more)


def _leads(directions: FloatArray, path: IntArray, rest: FloatArray, whole: FloatArray) -> BoolArray:
    """Whether lengths beyond the least may make up what is left to the end, (N, 3).

    They cannot where some vector has all directions of the sequence on one side, and what is left on the other (the
    lemma of Farkas); some vectors are tried, so that a few sequences pass that lead nowhere.
    """
    turn = np.arange(16) * (math.pi / 8)
    level = np.stack([np.cos(turn), np.sin(turn), np.zeros(16)], axis=1)
    up = np.array([0.0, 0.0, 1.0])
    side = np.cross(up, whole)
    size = float(np.linalg.norm(side))
    slope = -1.0 if directions[:, 2].sum() > 0 else 1.0  # most directions rise, or most fall
    vectors = [level, level + slope * up, level + slope * math.tan(3 * math.pi / 8) * up, up[None], -up[None]]
    w = np.concatenate([*vectors, *((side / size * s)[None] for s in (1.0, -1.0) if size > 1e-9)])
    bit = np.uint64(1) << np.arange(len(w), dtype=np.uint64)
    behind = ((directions @ w.T <= 1e-12) * bit).sum(axis=1, dtype=np.uint64)
    ahead = ((rest @ w.T > 1e-9) * bit).sum(axis=1, dtype=np.uint64)
    out: BoolArray = (np.bitwise_and.reduce(behind[path], axis=1) & ahead) == 0
    return out


def table(rows: Sequence[Row], dirs: FloatArray, base: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Rows over the lengths of many strands: (N, k + 1, 3), (N, k + 2, 3) -> (N, m, k + 1), (N, m)."""
    a = np.zeros((len(dirs), len(rows), dirs.shape[1]))
    b = np.zeros((len(dirs), len(rows)))
    for m, row in enumerate(rows):
        a[:, m, : row.corner] = dirs[:, : row.corner] @ row.g
        b[:, m] = row.t - base[:, row.corner] @ row.g
        if row.other:
            j, h = row.other
            a[:, m, :j] -= dirs[:, :j] @ h
            b[:, m] += base[:, j] @ h
    return a, b
