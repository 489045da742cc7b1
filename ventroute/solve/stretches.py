"""Straight cylinders that a strand is made of: the hubs of its bends, and its pieces of pipe, by their ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.bodies import Pool, near
from ventroute.solve.strands import End, Piece

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]


@dataclass(slots=True, eq=False)
class Ends:
    """G ends of pieces in each of L links: a corner each, moved along a line to a plane where there is one."""

    corner: IntArray  # (G,)
    normal: FloatArray  # (L, G, 3) zero where there is no plane
    offset: FloatArray  # (L, G)
    along: FloatArray  # (L, G, 3) by which a unit of distance from the plane moves it

    @classmethod
    def of(cls, links: Sequence[Sequence[End]]) -> Ends:
        """The same as arrays; all links have them at the same corners."""
        shape = len(links), len(links[0])
        normal, offset, along = np.zeros((*shape, 3)), np.zeros(shape), np.zeros((*shape, 3))
        for i, ends in enumerate(links):
            for g, end in enumerate(ends):
                if end.plane is not None and end.along is not None:
                    (normal[i, g], offset[i, g]), along[i, g] = end.plane, end.along
        return cls(np.array([end.corner for end in links[0]], dtype=np.intp), normal, offset, along)

    def points(self, link: IntArray, corners: FloatArray) -> FloatArray:
        """Where they are: (N,) links and (N, k + 2, 3) corners -> (N, G, 3)."""
        at = corners.take(self.corner, 1)
        past = self.offset.take(link, 0) - np.vecdot(at, self.normal.take(link, 0))
        out: FloatArray = at + past[:, :, None] * self.along.take(link, 0)
        return out

    def rows(self, link: IntArray, g: IntArray, n: FloatArray, t: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Conditions ``n . end >= t`` on ends g (P,) of links (P,), as such on their corners: (P, Q, 3), (P, Q)."""
        k = np.matvec(n, self.along[link, g])
        return n - k[:, :, None] * self.normal[link, g][:, None], t - k * self.offset[link, g][:, None]


@dataclass(eq=False)
class Stretches:
    """Straight cylinders in strands of L links that have the same bodies to miss: hubs, and pieces of pipe.

    Links with fewer bodies than another have some that are nowhere, so that all have as many.
    """

    pools: tuple[Pool, ...]  # of each link
    start: Ends
    end: Ends
    leg: IntArray  # (G,) whose direction it has
    sign: FloatArray  # (G,) -1 for a hub that looks back along its leg
    hubs: int  # how many of them are hubs: the first
    bend: IntArray  # (G,) whose hub it is, -1 for pipe
    spared: BoolArray  # (L, G, bodies) pipe goes through there, or there is no such body

    @classmethod
    def of(cls, hubs: Sequence[tuple[int, int, float]], links: Sequence[tuple[Pool, Sequence[Piece]]]) -> Stretches:
        """Of links with the same hubs, as (bend, leg, sign): their pools, and as many pieces each, of the same legs."""
        corners, first = [End(bend + 1) for bend, _, _ in hubs], links[0][1]
        count = len(hubs) + len(first)
        spared = np.ones((len(links), count, max(len(pool.bodies.bodies) for pool, _ in links)), dtype=np.bool_)
        for i, (pool, pieces) in enumerate(links):
            solid = pool.bodies.solid
            spared[i, :, : len(solid)] = False
            for g, piece in enumerate(pieces, len(hubs)):
                for number in piece.solids:
                    spared[i, g, : len(solid)] |= solid == number
        return cls(
            tuple(pool for pool, _ in links),
            Ends.of([corners + [piece.start for piece in pieces] for _, pieces in links]),
            Ends.of([corners + [piece.end for piece in pieces] for _, pieces in links]),
            np.array([h[1] for h in hubs] + [p.leg for p in first], dtype=np.intp),
            np.array([h[2] for h in hubs] + [1.0] * len(first)),
            len(hubs),
            np.array([h[0] for h in hubs] + [-1] * len(first), dtype=np.intp),
            spared,
        )

    @cached_property
    def boxes(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Around the bodies: (L, 1, bodies, 3) twice, and their gaps (L, 1, bodies)."""
        count = self.spared.shape[2]
        low, high, gap = (np.zeros((len(self.pools), 1, count, *wide)) for wide in ((3,), (3,), ()))
        for i, bodies in enumerate(pool.bodies for pool in self.pools):
            own = slice(0, len(bodies.bodies))
            low[i, 0, own], high[i, 0, own], gap[i, 0, own] = bodies.low, bodies.high, bodies.gap_m
        return low, high, gap

    def near(self, link: IntArray, a: FloatArray, b: FloatArray, radius: FloatArray) -> BoolArray:
        """Bodies near stretches from a to b (N, G, 3) of links (N,): (N, G, bodies)."""
        low, high, gap = self.boxes
        if len(self.pools) > 1:
            low, high, gap = low[link], high[link], gap[link]
        touch: BoolArray = near(low, high, gap, a, b, radius)
        touch &= ~self.spared[link]
        return touch

    @cached_property
    def _places(self) -> tuple[IntArray, IntArray]:
        return np.array([pool.first for pool in self.pools]), np.array([pool.wide for pool in self.pools])

    def planes(self, link: IntArray, body: IntArray, direction: IntArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """`Planes.take` for bodies and directions of links (P,)."""
        first, wide = self._places
        planes, at = self.pools[0].bodies.planes, first[link] + body * wide[link] + direction
        row = planes.numbers[at]
        new = (row < 0).nonzero()[0]
        if new.size:
            for number in np.flatnonzero(np.bincount(link[new])).tolist():
                own = new[link[new] == number]
                self.pools[number].make(body[own], direction[own])
            row = planes.numbers[at]
        return planes.take(row)


@dataclass(slots=True, eq=False)
class Hits:
    """P strands too near a body: their numbers in the batch, the stretch, how deep, and the planes past the body."""

    strand: IntArray
    stretch: IntArray
    depth: FloatArray
    n: FloatArray  # (P, Q, 3)
    t: FloatArray  # (P, Q) infinite where there is no plane
    reach: FloatArray  # (P,) of a hub along its leg, negative back along it

    def take(self, which: IntArray) -> Hits:
        """Some of them."""
        return Hits(*(getattr(self, name)[which] for name in ("strand", "stretch", "depth", "n", "t", "reach")))
