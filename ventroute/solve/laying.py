"""Direction sequences become strands: least lengths, corners, and whether they can meet their ends at all."""

from __future__ import annotations

from collections.abc import Sequence

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
    base = link.start_m + np.concatenate(
        [np.zeros((len(path), 1, 3)), np.cumsum(known.true[path] * least[:, :, None], axis=1)], axis=1
    )
    kept = np.arange(len(path))
    if link.end is not None:
        assert link.end.centre_m is not None
        kept = np.flatnonzero(conditions.sides(link).leads(path, link.end.centre_m - base[:, -1]))
    rows = shape.rows
    a, b = table(rows, known.true[path[kept]], base[kept])
    equal = np.array([row.equal for row in rows], dtype=np.bool_)
    more = Programs.of(np.ones(shape.bends + 1), a, b, equal).values()
    kept, more = kept[np.isfinite(more)], more[np.isfinite(more)]
    return Laid(path[kept], bends[kept], least[kept], hub[kept], base[kept], least[kept].sum(axis=1) + more)


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
