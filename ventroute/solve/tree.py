"""What is known of the strands of a family under any price: their least runs, what those break, and how it is mended.

A metre costs the same on every leg, so the least run of a strand is the same under every price, and so is what it
breaks; a price only says in which order strands are opened. The searches of links under several prices share this.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.family import Family, Mendings
from ventroute.solve.fittings import Bends, Fittings
from ventroute.solve.laying import Parts, lay_out
from ventroute.solve.links import Link
from ventroute.solve.lp import Program, Programs
from ventroute.solve.stretches import Hits, Stretches

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]


@dataclass(slots=True, eq=False)
class Node:
    """A strand and the rows that mend what it broke.

    Until it is ``solved``, ``run_m`` is a lower bound of its run, ``program`` that of the node above it (for a strand
    by itself that of `Strands`), and ``asked`` the rows beyond it, of which it has the one ``at``. Then ``run_m`` is
    its run, infinite where it has no solution. Once it was ``seen``, it has nodes below it, each with one of the rows
    of ``mends`` more, or in settled bends, or ``lengths`` are there, as its solution breaks nothing.
    """

    strand: int
    bends: tuple[int, ...]  # numbers of the fittings
    run_m: float
    program: Program | None = None
    asked: Asked | None = None
    at: int = 0
    solved: bool = False
    seen: bool = False
    mends: Asked | None = None
    first: int = 0  # number of its own first row in them
    runs_m: Sequence[float] = ()  # lower bounds of what its rows lead to by their first pivots
    settled: tuple[Node, ...] = ()
    lengths: tuple[float, ...] | None = None
    _mended: dict[int, Node] | None = None

    @property
    def below_m(self) -> Sequence[float]:
        """Lower bounds of what its rows lead to, or the runs, where they are solved."""
        if (known := self._mended) is None:
            return self.runs_m
        return [known[i].run_m if i in known else run_m for i, run_m in enumerate(self.runs_m)]

    def mended(self, i: int) -> Node:
        """The node with the i-th of its rows more."""
        if self._mended is None:
            self._mended = {}
        if i not in self._mended:
            run_m = self.runs_m[i]
            self._mended[i] = Node(self.strand, self.bends, run_m, self.program, self.mends, self.first + i)
        return self._mended[i]


@dataclass(slots=True, eq=False)
class Strands:
    """The strands of one multiset, of which all have the same price of bends, and the nodes of those asked for.

    ``programs`` are those of strands of links that do not lead from one fixed place to another, without walls beside
    bends.
    """

    first: int  # number of the first in its family
    bends: IntArray  # (N, k)
    run_m: FloatArray  # (N,)
    programs: Programs | None
    at: int  # the first one's place in them
    order: IntArray  # (N,) least run first
    _nodes: dict[int, Node] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.run_m)

    def least_m(self, nth: int) -> float:
        """The nth least run."""
        return self.run_m.item(self.order.item(nth))

    def node(self, nth: int) -> Node:
        """The one with the nth least run."""
        i = self.order.item(nth)
        if i not in self._nodes:
            program = self.programs.one(self.at + i) if self.programs is not None else None
            solved = program is not None and not self.bends.shape[1]
            bends = tuple(self.bends[i].tolist())
            self._nodes[i] = Node(self.first + i, bends, float(self.run_m[i]), program, solved=solved)
        return self._nodes[i]


@dataclass(slots=True, eq=False)
class Asked:
    """Rows beyond those of solved programs: (M, n), (M,), (M,)."""

    a: FloatArray
    b: FloatArray
    equal: BoolArray


class Tree:
    """The strands of a family, and what has been found of them."""

    def __init__(self, stock: Bends, counts: tuple[int, ...]) -> None:
        self.family = Family(stock, counts)
        self._laid: dict[tuple[int, Parts], Strands] = {}

    @classmethod
    def of(cls, conditions: Conditions, link: Link, fittings: Fittings, counts: tuple[int, ...]) -> tuple[Tree, int]:
        """The one that all searches of a link share, with those of links like it; the link's number in its family."""
        common = conditions.common
        own = () if link.end is not None and not link.cuts else (link.key, link.spaces)
        if (counts, *own) not in common.trees:
            common.trees[counts, *own] = cls(common.bends, counts)
        tree = common.trees[counts, *own]
        return tree, tree.family.number(conditions, link, fittings)

    def lay(self, asked: Sequence[tuple[int, Parts]]) -> None:
        """Lay out the strands of multisets of bends in members of the family."""
        new = [key for key in dict.fromkeys(asked) if key not in self._laid]
        if new:
            for key, strung in zip(new, lay_out(self.family, new), strict=True):
                self._laid[key] = Strands(*strung, order=strung[2].argsort(kind="stable"))

    def strands(self, member: int, parts: Parts) -> Strands:
        """The strands of a multiset of bends in a member, laid out before."""
        return self._laid[member, parts]

    def solve(self, nodes: Sequence[Node]) -> None:
        """Find the least runs."""
        roots, later = [n for n in nodes if n.asked is None], [n for n in nodes if n.asked is not None]
        if roots:
            programs = None if self.family.between else _programs(roots)
            _settle(roots, self.family.roots(np.array([n.strand for n in roots], dtype=np.intp), programs))
        if later:
            _settle(later, _programs(later).add(*_asked(later)))

    def branch(self, nodes: Sequence[Node]) -> None:
        """Look for what solutions break: one broken condition of each, and the rows one of which must hold."""
        if not nodes:
            return
        family = self.family
        programs = _programs(nodes)
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
        clear = batch.whole()
        if family.stock.any_open and bends.size:
            unsettled = family.stock.open[bends]
            nth = np.where(unsettled.any(axis=1), unsettled.argmax(axis=1), -1)[clear]
            for bend in sorted(set(nth.tolist()) - {-1}):
                self._settled(batch, clear[nth == bend], which, bends, bend)
            clear = clear[nth < 0]
        for i in clear.tolist():
            nodes[i].lengths = tuple((family.least[which[i]] + x[i]).tolist())

    def _past_bodies(self, batch: _Batch, which: IntArray, bends: IntArray, corners: FloatArray) -> None:
        """Mend what stands deepest in, or nearest to, a body."""
        family, rows = self.family, batch.whole()
        deepest = np.zeros(len(which))
        found: list[tuple[Stretches, IntArray, Hits]] = []
        for stretches in family.all.stretches:
            hits = family.worst(stretches, which[rows], bends[rows], corners[rows])
            if hits is not None:
                found.append((stretches, rows[hits.strand], hits))
                np.maximum.at(deepest, rows[hits.strand], hits.depth)
        taken = np.zeros(len(which), dtype=np.bool_)
        for stretches, at, hits in found:
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
        _settle(new, programs)
        for parent, node in zip(parents, new, strict=True):
            parent.settled += (node,)


class _Batch:
    """Nodes that are looked at together, with their programs."""

    def __init__(self, nodes: Sequence[Node], programs: Programs) -> None:
        self.nodes, self.programs = nodes, programs
        self._broken = np.zeros(len(nodes), dtype=np.bool_)
        for node in nodes:
            node.seen = True

    def whole(self) -> IntArray:
        """Numbers of those that are not known to break anything."""
        return (~self._broken).nonzero()[0]

    def mend(self, rows: IntArray, mendings: Mendings) -> None:
        """Nodes `rows` are broken: what is below them, under bounds that the first pivot gives."""
        if not len(rows):
            return
        self._broken[rows] = True
        a, b, equal = mendings.a, mendings.b, mendings.equal
        open_ = np.isfinite(b)
        raised = self.programs.take(rows).first_steps(a, np.where(open_, b, 0.0), equal)
        raised[~open_] = np.inf
        i, q = np.isfinite(raised).nonzero()
        asked = Asked(a[i, q], b[i, q], equal[i, q])
        ends, runs_m = np.searchsorted(i, np.arange(len(rows) + 1)).tolist(), raised[i, q].tolist()
        for row, (first, end) in zip(rows.tolist(), pairwise(ends), strict=True):
            node = self.nodes[row]
            node.mends, node.first, node.runs_m = asked, first, runs_m[first:end]


def _programs(nodes: Sequence[Node]) -> Programs:
    return Programs.stacked([node.program for node in nodes if node.program is not None])


def _settle(nodes: Sequence[Node], programs: Programs) -> None:
    """Give nodes the solutions of their programs."""
    programs = programs.solved()
    for i, (node, run_m) in enumerate(zip(nodes, programs.value.tolist(), strict=True)):
        node.run_m, node.program, node.asked, node.solved = run_m, programs.one(i), None, True


def _asked(nodes: Sequence[Node]) -> tuple[FloatArray, FloatArray, BoolArray]:
    """The row that each node asks for: (N, 1, n), (N, 1), (N, 1)."""
    groups: dict[int, tuple[Asked, list[int], list[int]]] = {}  # each with places among the nodes, and in it
    for i, node in enumerate(nodes):
        if node.asked is not None:
            _, here, there = groups.setdefault(id(node.asked), (node.asked, [], []))
            here.append(i)
            there.append(node.at)
    place = np.empty(len(nodes), dtype=np.intp)
    place[[i for _, here, _ in groups.values() for i in here]] = np.arange(len(nodes))
    parts = [(asked.a[there], asked.b[there], asked.equal[there]) for asked, _, there in groups.values()]
    a, b, equal = (np.concatenate(part).take(place, 0)[:, None] for part in zip(*parts, strict=True))
    return a, b, equal
