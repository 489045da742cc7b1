"""Direction sequences become strands: least lengths, corners, and whether they can meet their ends at all."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.fittings import Fittings
from ventroute.solve.links import Link
from ventroute.solve.lp import EPS, Programs
from ventroute.solve.meeting import meeting
from ventroute.solve.strands import Laid, Shape

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_IN_A_COMPOUND = 3  # bends

Parts = tuple[tuple[float, ...], ...]  # nominal angles of the bends in each space of a link


def laid_out(conditions: Conditions, shape: Shape, fittings: Fittings, parts: Parts) -> Laid | None:
    """The strands of a multiset of bends that can meet their ends and areas; None where there are none."""
    link, known = shape.link, conditions.directions(shape.link)
    path = _paths(conditions, link, parts)
    plain, angles = len(path), known.turn[path[:, :-1], path[:, 1:]]
    if len(parts) == 1 and len(parts[0]) == _IN_A_COMPOUND:
        swung, turns = _swung(conditions, link, parts[0])
        path, angles = np.concatenate([path, swung]), np.concatenate([angles, turns])
    if not len(path):
        return None
    bends = np.searchsorted(fittings.angles, angles).astype(np.intp)
    least, hub = shape.least_m(fittings, bends)
    base = np.empty((len(path), shape.bends + 2, 3))
    base[:, 0] = link.start_m
    dirs = conditions.dirs(link)
    np.cumsum(dirs[path] * least[:, :, None], axis=1, out=base[:, 1:])
    base[:, 1:] += link.start_m
    rows, at = shape.rows, np.arange(len(path))
    if link.end is not None:
        assert link.end.centre_m is not None
        rest = link.end.centre_m - base[:, -1]
        at = np.concatenate([conditions.sides(link).leads(path[:plain], rest[:plain]).nonzero()[0], at[plain:]])
        here, programs = meeting(dirs[path.take(at, 0)], rest.take(at, 0))
        at = at.take(here)
        if not len(at):
            return None
    else:
        programs = Programs.of(np.ones(shape.bends + 1), len(at))
    programs.value += least.sum(axis=1).take(at)
    if len(rows.t):
        a, b = rows.over(dirs[path.take(at, 0)], base.take(at, 0))
        led = (~((a.max(axis=2) <= EPS) & (b > EPS)).any(axis=1)).nonzero()[0]  # in no row is every leg in vain
        at, a, b = at.take(led), a.take(led, 0), b.take(led, 0)
        programs = programs.take(led).add(a, b, np.zeros(b.shape, dtype=np.bool_)).solved()
        met = np.isfinite(programs.value).nonzero()[0]
        at, programs = at.take(met), programs.take(met)
    if not len(at):
        return None
    least, hub, base = (m.take(at, 0) for m in (least, hub, base))
    return Laid(path.take(at, 0), bends.take(at, 0), least, hub, base, programs)


def _paths(conditions: Conditions, link: Link, parts: Parts) -> IntArray:
    """Direction sequences through all spaces, (N, k + 1), sharing the direction in which each cut is crossed."""
    whole: IntArray | None = None
    for space, part in enumerate(parts):
        leg = _through(conditions, link, space, part)
        if not len(leg):
            return np.zeros((0, sum(len(p) for p in parts) + 1), dtype=np.intp)
        if whole is None:
            whole = leg
        else:
            left = np.repeat(whole, len(leg), axis=0)
            whole = np.concatenate([left, np.tile(leg[:, 1:], (len(whole), 1))], axis=1)
    assert whole is not None
    return whole


def _through(conditions: Conditions, link: Link, space: int, part: tuple[float, ...]) -> IntArray:
    """Direction sequences through one space."""
    known, stops = conditions.directions(link), [link.start_true, *(c.true for c in link.cuts)]
    start = end = known.at(stops[space])
    if space + 1 < len(stops):
        end = known.at(stops[space + 1])
    elif link.end is not None:
        end = known.at(link.end.true)
    if start < 0 or end < 0:
        return np.zeros((0, 1), dtype=np.intp)
    whole = link.end is not None and not link.cuts
    paths = known.sequences(start, end, part, conditions.sides(link) if whole else None)
    if part and link.end is None and space == len(link.spaces) - 1:
        paths = paths[paths[:, 1] == known.at(np.array([0.0, 0.0, 1.0]))]
    return paths


def _swung(conditions: Conditions, link: Link, part: tuple[float, ...]) -> tuple[IntArray, FloatArray]:
    """Direction sequences of the compound rolls with these bends, (N, 4), and the bends' angles (N, 3)."""
    known, compounds = conditions.directions(link), conditions.compounds(link)
    rows = compounds.rows(part)
    path = np.empty((len(rows), 4), dtype=np.intp)
    first = len(known.true) + 2 * rows
    path[:, 0], path[:, 1], path[:, 2] = known.at(link.start_true), first, first + 1
    path[:, 3] = known.at(link.end.true) if link.end else -1
    return path, compounds.angles_deg[rows]
