"""Direction sequences become strands: least lengths, corners, and whether they can meet their ends at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.family import Family, Laid
from ventroute.solve.links import Link
from ventroute.solve.lp import EPS, Programs
from ventroute.solve.meeting import meeting

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_IN_A_COMPOUND = 3  # bends
_FEW = 16  # sequences are not worth a look whether they lead to the end

Parts = tuple[tuple[float, ...], ...]  # nominal angles of the bends in each space of a link
Strung = tuple[int, IntArray, FloatArray, Programs | None, int]  # see `lay_out`


@dataclass(slots=True, eq=False)
class _Sequences:
    """Sequences of a member's directions (N, k + 1), their bends (N, k); the last are compound rolls."""

    path: IntArray
    bends: IntArray
    plain: int  # of no compound roll


def lay_out(family: Family, asked: Sequence[tuple[int, Parts]]) -> list[Strung]:
    """Add the strands of multisets of bends in members of a family, those that can meet their ends and areas.

    A run is the least that all legs come to where walls beside bends and bodies are not looked at.

    Returns
    -------
    of each multiset: the number of its first strand in the family, the strands' bends, their runs [m], and, where there
    are such, their solved programs and the place of the first in them
    """
    found = [_sequences(family, number, parts) for number, parts in asked]
    starts = [0, *accumulate(len(one.path) for one in found)]
    path = np.concatenate([one.path for one in found])
    bends = np.concatenate([one.bends for one in found])
    if not len(path):
        return [(0, bends, np.zeros(0), None, 0) for _ in asked]
    member = np.repeat([number for number, _ in asked], [len(one.path) for one in found])
    dirs = np.concatenate([family.members[n].dirs.take(o.path, 0) for (n, _), o in zip(asked, found, strict=True)])
    least, hub = family.least_m(member, bends)
    start, run_m, at = family.all.start_m.take(member, 0), least.sum(axis=1), np.arange(len(path))
    if family.all.end_m is not None:
        rest = family.all.end_m.take(member, 0) - start - np.vecmat(least, dirs)
        leads = np.ones(len(path), dtype=np.bool_)
        for (number, _), one, first in zip(asked, found, starts, strict=False):
            if one.plain > _FEW:
                plain = slice(first, first + one.plain)
                leads[plain] = family.members[number].sides.leads(one.path[: one.plain], rest[plain])
        at = leads.nonzero()[0]
        more = meeting(dirs.take(at, 0), rest.take(at, 0))
        here = np.isfinite(more).nonzero()[0]
        at, run_m = at.take(here), run_m.take(at.take(here)) + more.take(here)
    dirs, least = dirs.take(at, 0), least.take(at, 0)
    base = np.empty((len(at), path.shape[1] + 1, 3))
    base[:, 0] = start.take(at, 0)
    np.cumsum(dirs * least[:, :, None], axis=1, out=base[:, 1:])
    base[:, 1:] += base[:, :1]
    strands = Laid(member.take(at), path.take(at, 0), bends.take(at, 0), dirs, least, hub.take(at, 0), base)
    programs = None
    if not family.between:
        here, programs = _in_rows(family, strands)
        strands, at, run_m = strands.take(here), at.take(here), programs.value
    first, ends = family.add(strands), np.searchsorted(at, starts).tolist()
    return [(first + a, strands.bends[a:b], run_m[a:b], programs, a) for a, b in pairwise(ends)]


def may_lead(conditions: Conditions, link: Link, parts: Parts) -> bool:
    """Whether some sequence with these bends leads through a link; with cuts or to an area it always may."""
    if link.cuts or link.end is None or _compound(conditions, link, parts):
        return True
    return len(_through(conditions, link, 0, parts[0])) > 0


def _compound(conditions: Conditions, link: Link, parts: Parts) -> bool:
    """Whether bends may roll as a compound in a link."""
    return len(parts) == 1 and len(parts[0]) == _IN_A_COMPOUND and len(conditions.compounds(link).dirs) > 0


def _in_rows(family: Family, strands: Laid) -> tuple[IntArray, Programs]:
    """Which strands can meet the rows of their shapes too, and their solved programs."""
    a, b = family.all.rows.over(strands.member, strands.dirs, strands.base)
    at = (~((a.max(axis=2) <= EPS) & (b > EPS)).any(axis=1)).nonzero()[0]  # in no row is every leg in vain
    left = (part.take(at, 0) for part in (strands.member, strands.dirs, strands.base, strands.least))
    programs = family.begun(*left).add(a.take(at, 0), b.take(at, 0), np.zeros((len(at), b.shape[1]), dtype=np.bool_))
    programs = programs.solved()
    met = np.isfinite(programs.value).nonzero()[0]
    return at.take(met), programs.take(met)


def _sequences(family: Family, number: int, parts: Parts) -> _Sequences:
    """Sequences of directions through all spaces of a member."""
    member = family.members[number]
    conditions, link, known = member.conditions, member.link, member.conditions.directions(member.link)
    path = _paths(conditions, link, parts)
    plain, angles = len(path), known.turn[path[:, :-1], path[:, 1:]]
    if _compound(conditions, link, parts):
        swung, turns = _swung(conditions, link, parts[0])
        path, angles = np.concatenate([path, swung]), np.concatenate([angles, turns])
    return _Sequences(path, member.first + member.angles.searchsorted(angles), plain)


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
