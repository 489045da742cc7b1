"""Straight cylinders that a strand is made of: the hubs of its bends, and its pieces of pipe, by their ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.bodies import Pool
from ventroute.solve.strands import End, Piece

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """G ends of pieces: a corner each, moved along a line to a plane where there is one."""

    corner: IntArray  # (G,)
    normal: FloatArray  # (G, 3) zero where there is no plane
    offset: FloatArray  # (G,)
    along: FloatArray  # (G, 3) by which a unit of distance from the plane moves it

    @classmethod
    def of(cls, ends: Sequence[End]) -> Ends:
        """The same as arrays."""
        normal, offset, along = np.zeros((len(ends), 3)), np.zeros(len(ends)), np.zeros((len(ends), 3))
        for g, end in enumerate(ends):
            if end.plane is not None and end.along is not None:
                normal[g], offset[g] = end.plane
                along[g] = end.along / float(end.plane[0] @ end.along)
        return cls(np.array([end.corner for end in ends], dtype=np.intp), normal, offset, along)

    def points(self, corners: FloatArray) -> FloatArray:
        """Where they are: (N, k + 2, 3) corners -> (N, G, 3)."""
        at = corners[:, self.corner]
        out: FloatArray = at + (self.offset - np.einsum("ngk,gk->ng", at, self.normal))[:, :, None] * self.along
        return out

    def rows(self, g: IntArray, n: FloatArray, t: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Conditions ``n . end >= t`` on ends g (P,), as such on their corners: (P, Q, 3), (P, Q)."""
        k = np.einsum("pqk,pk->pq", n, self.along[g])
        return n - k[:, :, None] * self.normal[g][:, None], t - k * self.offset[g][:, None]


@dataclass(frozen=True, eq=False)
class Stretches:
    """Straight cylinders of a family that have the same bodies to miss: hubs, and pieces of pipe."""

    pool: Pool
    start: Ends
    end: Ends
    leg: IntArray  # (G,) whose direction it has
    sign: FloatArray  # (G,) -1 for a hub that looks back along its leg
    hubs: int  # how many of them are hubs: the first
    bend: IntArray  # (G,) whose hub it is, -1 for pipe
    spared: BoolArray  # (G, bodies) pipe goes through there

    @classmethod
    def of(cls, pool: Pool, hubs: Sequence[tuple[int, int, float]], pieces: Sequence[Piece]) -> Stretches:
        """Hubs as (bend, leg, sign), and pieces."""
        start = [End(bend + 1) for bend, _, _ in hubs] + [p.start for p in pieces]
        end = [End(bend + 1) for bend, _, _ in hubs] + [p.end for p in pieces]
        solid = pool.bodies.solid.tolist()
        spared = np.zeros((len(start), len(solid)), dtype=np.bool_)
        for g, piece in enumerate(pieces, len(hubs)):
            if piece.solids:
                spared[g] = [number in piece.solids for number in solid]
        return cls(
            pool,
            Ends.of(start),
            Ends.of(end),
            np.array([h[1] for h in hubs] + [p.leg for p in pieces], dtype=np.intp),
            np.array([h[2] for h in hubs] + [1.0] * len(pieces)),
            len(hubs),
            np.array([h[0] for h in hubs] + [-1] * len(pieces), dtype=np.intp),
            spared,
        )


@dataclass(frozen=True, slots=True, eq=False)
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
