"""What is known of the strands of one shape under any price: their least runs, what those break, and how it is mended.

A metre costs the same on every leg, so the least run of a strand is the same under every price, and so is what it
breaks; a price only says in which order strands are opened. The searches of a link under several prices share this.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.family import Family, Hits, Mendings, Stretches
from ventroute.solve.fittings import Fittings
from ventroute.solve.laying import Parts, laid_out
from ventroute.solve.links import Link
from ventroute.solve.lp import Program, Programs

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]


@dataclass(slots=True, eq=False)
class Node:
    """A strand and the rows that mend what it broke.

    ``run_m``: a lower bound of its run, infinite where it has no solution; once ``program`` is there, the run. Once
    ``branched``: the nodes ``below`` mend what the solution breaks, or ``lengths`` are there, as it breaks nothing.
    """

    strand: int
    bends: tuple[int, ...]  # numbers of the fittings
    run_m: float
    row: Asked | None = None  # what is asked beyond the parent
    program: Program | None = None
    branched: bool = False
    below: list[Node] = field(default_factory=list)
    lengths: tuple[float, ...] | None = None


@dataclass(slots=True, eq=False)
class Asked:
    """A row beyond those of a solved program, as one of many: row `at` of (M, n), (M,), (M,)."""

    program: Program
    a: FloatArray
    b: FloatArray
    equal: BoolArray
    at: int


class Tree:
    """The strands of one shape in one link, and what has been found of them."""

    def __init__(self, conditions: Conditions, link: Link, fittings: Fittings, counts: tuple[int, ...]) -> None:
        self.conditions = conditions
        self.family = Family(conditions, link, fittings, counts)
        self._laid: dict[Parts, list[Node]] = {}

    @classmethod
    def of(cls, conditions: Conditions, link: Link, fittings: Fittings, counts: tuple[int, ...]) -> Tree:
        """The one that all searches share."""
        key = (link.key, counts, fittings.key)
        if key not in conditions.trees:
            conditions.trees[key] = cls(conditions, link, fittings, counts)
        return conditions.trees[key]

    def strands(self, parts: Parts) -> list[Node]:
        """The strands of a multiset of bends."""
        if parts not in self._laid:
            family = self.family
            laid = laid_out(self.conditions, family.shape, family.fittings, parts)
            rows = zip(family.add(laid), laid.bends.tolist(), laid.programs.value.tolist(), strict=True) if laid else ()
            self._laid[parts] = [Node(i, tuple(bends), run_m) for i, bends, run_m in rows]
        return self._laid[parts]

    def solve(self, nodes: Sequence[Node]) -> None:
        """Find the least runs."""
        roots, rows = [n for n in nodes if n.row is None], [n.row for n in nodes if n.row is not None]
        if roots:
            _solved(roots, self.family.roots(np.array([n.strand for n in roots], dtype=np.intp)))
        if rows:
            _solved([n for n in nodes if n.row is not None], _asked(rows))

    def branch(self, nodes: Sequence[Node]) -> None:
        """Look for what solutions break: one broken condition of each, and the rows one of which must hold."""
        if not nodes:
            return
        family = self.family
        programs = Programs.stacked([node.program for node in nodes if node.program is not None])
        which = np.array([node.strand for node in nodes], dtype=np.intp)
        bends = np.array([node.bends for node in nodes], dtype=np.intp).reshape(len(nodes), -1)
        x = programs.x()
        corners = family.corners(which, x)
        batch = _Batch(nodes, programs)
        batch.mend(*family.closing(which, bends, x))
        self._past_bodies(batch, which, bends, corners)
        for broken in (family.leaving, family.apart):
            clear = batch.whole()
            rows, mendings = broken(which[clear], corners[clear])
            batch.mend(clear[rows], mendings)
        open_ = family.fittings.open[bends]
        clear = batch.whole()
        for i in clear[~open_[clear].any(axis=1)].tolist():
            nodes[i].lengths = tuple((family.least[which[i]] + x[i]).tolist())
        for nth in range(bends.shape[1]):
            rows = clear[open_[clear, nth] & ~open_[clear, :nth].any(axis=1)]
            if len(rows):
                self._settled(batch, rows, which, bends, nth)

    def _past_bodies(self, batch: _Batch, which: IntArray, bends: IntArray, corners: FloatArray) -> None:
        """Mend what stands deepest in, or nearest to, a body."""
        family, rows = self.family, batch.whole()
        deepest = np.zeros(len(which))
        found: list[tuple[Stretches, Hits]] = []
        for stretches in family.stretches:
            hits = family.worst(stretches, which[rows], bends[rows], corners[rows])
            found.append((stretches, hits))
            np.maximum.at(deepest, rows[hits.strand], hits.depth)
        taken = np.zeros(len(which), dtype=np.bool_)
        for stretches, hits in found:
            at = rows[hits.strand]
            first = np.flatnonzero((hits.depth >= deepest[at]) & ~taken[at])
            if len(first):
                taken[at[first]] = True
                batch.mend(at[first], family.past(stretches, hits.take(first), which[at[first]]))

    def _settled(self, batch: _Batch, rows: IntArray, which: IntArray, bends: IntArray, nth: int) -> None:
        """Strands that break nothing with every pattern for their nth bend."""
        at, settled, (a, b) = self.family.settlings(which[rows], bends[rows], nth)
        programs = batch.programs.take(rows[at]).add(a, b, np.zeros(b.shape, dtype=np.bool_))
        parents = [batch.nodes[i] for i in rows[at].tolist()]
        new = [Node(parent.strand, tuple(row), 0.0) for parent, row in zip(parents, settled.tolist(), strict=True)]
        _solved(new, programs)
        for parent, node in zip(parents, new, strict=True):
            parent.below.append(node)


class _Batch:
    """Nodes that are looked at together, with their programs."""

    def __init__(self, nodes: Sequence[Node], programs: Programs) -> None:
        self.nodes, self.programs = nodes, programs
        self._broken = np.zeros(len(nodes), dtype=np.bool_)
        for node in nodes:
            node.branched = True

    def whole(self) -> IntArray:
        """Numbers of those that are not known to break anything."""
        return np.flatnonzero(~self._broken)

    def mend(self, rows: IntArray, mendings: Mendings) -> None:
        """Nodes `rows` are broken: their children, under bounds that the first pivot gives."""
        if not len(rows):
            return
        self._broken[rows] = True
        a, b, equal = mendings.a, mendings.b, mendings.equal
        open_ = np.isfinite(b)
        raised = self.programs.take(rows).first_steps(a, np.where(open_, b, 0.0), equal)
        raised[~open_] = np.inf
        i, q = np.isfinite(raised).nonzero()
        a, b, equal = a[i, q], b[i, q], equal[i, q]
        for at, (row, run_m) in enumerate(zip(rows[i].tolist(), raised[i, q].tolist(), strict=True)):
            node = self.nodes[row]
            assert node.program is not None
            node.below.append(Node(node.strand, node.bends, run_m, Asked(node.program, a, b, equal, at)))


def _solved(nodes: Sequence[Node], programs: Programs) -> None:
    """Give nodes the solutions of their programs."""
    programs = programs.solved()
    for i, (node, run_m) in enumerate(zip(nodes, programs.value.tolist(), strict=True)):
        node.run_m = run_m
        node.program, node.row = programs.one(i), None


def _asked(rows: Sequence[Asked]) -> Programs:
    """Programs with a row more each."""
    groups: dict[int, list[int]] = {}
    for i, row in enumerate(rows):
        groups.setdefault(id(row.b), []).append(i)
    parts = []
    for which in groups.values():
        first, at = rows[which[0]], np.array([rows[i].at for i in which], dtype=np.intp)
        parts.append((first.a.take(at, 0), first.b.take(at), first.equal.take(at)))
    place = np.argsort(np.array([i for which in groups.values() for i in which], dtype=np.intp))
    a, b, equal = (np.concatenate(part).take(place, 0) for part in zip(*parts, strict=True))
    return Programs.stacked([row.program for row in rows]).add(a[:, None], b[:, None], equal[:, None])
