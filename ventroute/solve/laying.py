"""Direction sequences become strands: least lengths, corners, and whether they can meet their ends at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.fittings import Fittings
from ventroute.solve.lp import Programs
from ventroute.solve.strands import Laid, Row, Shape

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


def laid_out(conditions: Conditions, shape: Shape, fittings: Fittings, path: IntArray) -> Laid:
    """Direction sequences (N, k + 1) as strands, those left out that cannot meet their ends and areas."""
    link, known = shape.link, conditions.directions(shape.link)
    bends = np.searchsorted(fittings.angles, known.turn[path[:, :-1], path[:, 1:]]).astype(np.intp)
    least, hub = shape.least_m(fittings, bends)
    base = np.empty((len(path), shape.bends + 2, 3))
    base[:, 0] = link.start_m
    np.cumsum(known.true[path] * least[:, :, None], axis=1, out=base[:, 1:])
    base[:, 1:] += link.start_m
    laid = Laid(path, bends, least, hub, base, least.sum(axis=1))
    if link.end is not None and len(path):
        assert link.end.centre_m is not None
        laid = _some(laid, conditions.sides(link).leads(path, link.end.centre_m - base[:, -1]))
    if not len(laid.path):
        return laid
    rows = shape.rows
    a, b = table(rows, known.true[laid.path], laid.base)
    equal = np.array([row.equal for row in rows], dtype=np.bool_)
    more = Programs.of(np.ones(shape.bends + 1), a, b, equal).values()
    return _some(replace(laid, run_m=laid.run_m + more), np.isfinite(more))


def _some(laid: Laid, kept: NDArray[np.bool_]) -> Laid:
    """Some of the strands."""
    at = kept.nonzero()[0]
    if len(at) == len(kept):
        return laid
    return Laid(
        laid.path.take(at, 0),
        laid.bends.take(at, 0),
        laid.least.take(at, 0),
        laid.hub.take(at, 0),
        laid.base.take(at, 0),
        laid.run_m.take(at),
    )


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
