"""All strands of one shape, many at a time: their programs, what their solutions break, and how that is mended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.frames import cross
from ventroute.geometry.polytope import Polytope
from ventroute.solve.bodies import Pool
from ventroute.solve.conditions import Conditions
from ventroute.solve.fittings import Fittings
from ventroute.solve.links import Link
from ventroute.solve.lp import Programs, joined
from ventroute.solve.strands import End, Laid, Piece, Shape, Strand

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

SLACK_M = 1e-7  # a condition broken by less is met


@dataclass(frozen=True, slots=True, eq=False)
class Mendings:
    """For N broken conditions, Q rows over the lengths each, one of which must hold: (N, Q, n), (N, Q), (N, Q)."""

    a: FloatArray
    b: FloatArray
    equal: BoolArray


_NONE = np.zeros(0, dtype=np.intp), Mendings(np.zeros((0, 0, 1)), np.zeros((0, 0)), np.zeros((0, 0), np.bool_))


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


class Family:
    """The strands of one shape in one link, added as they are laid out."""

    def __init__(self, conditions: Conditions, link: Link, fittings: Fittings, counts: tuple[int, ...]) -> None:
        self.conditions, self.problem, self.link = conditions, conditions.problem, link
        self.shape = Shape(self.problem, link, counts)
        self.dirs = conditions.dirs(link)
        self.fittings = fittings
        k = self.shape.bends
        self.path = np.zeros((0, k + 1), dtype=np.intp)  # numbers of the directions
        self.bends = np.zeros((0, k), dtype=np.intp)  # numbers of the fittings, those of open patterns among them
        self.least, self.hub, self.need = np.zeros((0, k + 1)), np.zeros((0, k + 1)), np.zeros((0, k + 1))
        self.base = np.zeros((0, k + 2, 3))  # corners at the least lengths
        self._hulls: dict[int, tuple[Polytope, FloatArray, FloatArray]] = {}
        self._programs: Programs | None = None  # without walls and bodies, solved

    def add(self, laid: Laid) -> int:
        """Add strands; the number of the first."""
        first = len(self.path)
        need = self._needed(laid.bends, laid.hub - laid.least)
        for name, new in (("path", laid.path), ("bends", laid.bends), ("least", laid.least), ("hub", laid.hub),
                          ("need", need), ("base", laid.base)):  # fmt: skip
            setattr(self, name, np.concatenate([getattr(self, name), new]) if first else new)
        self._programs = joined([self._programs, laid.programs]) if self._programs else laid.programs
        return first

    def _needed(self, bends: IntArray, hub: FloatArray) -> FloatArray:
        """Lengths beyond the least (N, k + 1) at which legs hold pipe, 0 beside a bend whose pattern is open."""
        open_ = self.fittings.open[bends]
        need = hub.copy()
        need[:, :-1][open_] = need[:, 1:][open_] = 0.0
        return need

    def strand(self, which: int, bends: tuple[int, ...]) -> Strand:
        """One strand by itself, in settled bends."""
        angles = tuple(self.fittings.angles[self.bends[which]].tolist())
        patterns = tuple(self.fittings.pattern[bend] for bend in bends)
        hub = self.hub[which]
        if self.fittings.open.any():
            hub = self.shape.least_m(self.fittings, np.array([bends], dtype=np.intp))[1][0]
        return Strand(self.shape, self.dirs[self.path[which]], angles, patterns, hub)

    def corners(self, which: IntArray, x: FloatArray) -> FloatArray:
        """(N, k + 2, 3) corners of strands with lengths beyond the least."""
        steps = np.cumsum(self.dirs[self.path[which]] * x[:, :, None], axis=1)
        out = self.base[which]
        out[:, 1:] += steps
        return out

    def roots(self, which: IntArray) -> Programs:
        """Programs of strands without bodies: ends met, hubs and pipe inside the hulls of their spaces."""
        assert self._programs is not None
        walls = [self.shape.end_rows.over(self.dirs[self.path[which]], self.base[which])]
        spaces = np.array(self.shape.corner_space, dtype=np.intp)
        for space in dict.fromkeys(self.shape.corner_space):
            walls.append(self._walls(which, self.bends[which], space, np.flatnonzero(spaces == space)))
        a, b = (np.concatenate(parts, axis=1) for parts in zip(*walls, strict=True))
        return self._programs.take(which).add(a, b, np.zeros(b.shape, dtype=np.bool_))

    def settlings(
        self, which: IntArray, bends: IntArray, nth: int
    ) -> tuple[IntArray, IntArray, tuple[FloatArray, FloatArray]]:
        """Every pattern for the nth bend of strands `which` in bends (N, k), where that one is open.

        Returns the number in the batch (M,), the bends with one settled (M, k), and rows (M, R, k + 1), (M, R): the
        legs beside it as long as it needs, and its hubs inside the hull of their space.
        """
        choices = [self.fittings.choices[bend] for bend in bends[:, nth].tolist()]
        at = np.repeat(np.arange(len(which)), [len(row) for row in choices])
        settled = bends[at]
        settled[:, nth] = [bend for row in choices for bend in row]
        a, b = self._walls(which[at], settled, self.shape.corner_space[nth], np.array([nth]))
        low = self.shape.least_m(self.fittings, settled)[0] - self.least[which[at]]
        legs = np.broadcast_to(np.eye(low.shape[1])[nth : nth + 2], (len(at), 2, low.shape[1]))
        return at, settled, (np.concatenate([legs, a], axis=1), np.concatenate([low[:, nth : nth + 2], b], axis=1))

    def _walls(self, which: IntArray, bends: IntArray, space: int, at: IntArray) -> tuple[FloatArray, FloatArray]:
        """Both hubs of the bends `at` (B,) inside the hull of their space: rows (N, B * faces, k + 1), (N, B * faces).

        ``bends`` (N, k) are the numbers of all bends.
        """
        hull, along, rim = self._hull(space)
        path, fitting = self.path[which], bends[:, at, None]
        reach, radius = self.fittings.reach[fitting], self.fittings.radius[fitting]
        head = along[path]  # (N, k + 1, faces)
        across, before, after = radius * rim[path[:, [at, at + 1]]].transpose(1, 0, 2, 3), head[:, at], head[:, at + 1]
        need = np.maximum(across[0] + np.maximum(0.0, -reach * before), across[1] + np.maximum(0.0, reach * after))
        need += self.problem.gap_m - hull.offsets + self.base[which[:, None], at + 1] @ hull.normals.T
        behind = np.arange(path.shape[1]) <= at[:, None]
        a = head.transpose(0, 2, 1)[:, None] * np.where(behind, -1.0, 0.0)[:, None]
        return a.reshape(len(which), -1, path.shape[1]), need.reshape(len(which), -1)

    def _hull(self, space: int) -> tuple[Polytope, FloatArray, FloatArray]:
        """The hull of a space, the directions along its normals, and across them."""
        if space not in self._hulls:
            hull = self.problem.building.spaces[self.link.spaces[space]].container
            along = self.dirs @ hull.normals.T
            self._hulls[space] = hull, along, np.sqrt(np.maximum(0.0, 1.0 - along * along))
        return self._hulls[space]

    @cached_property
    def stretches(self) -> tuple[Stretches, ...]:
        """Hubs and pipe in every space, and what is bored where there is framing."""
        shape, out = self.shape, []
        for space in range(len(self.link.spaces)):
            pool = self.conditions.pool(self.link, self.link.spaces[space])
            bends = [bend for bend, at in enumerate(shape.corner_space) if at == space]
            hubs = [(bend, leg, sign) for bend in bends for leg, sign in ((bend, -1.0), (bend + 1, 1.0))]
            out.append(Stretches.of(pool, hubs, [p for p in shape.pieces if p.space == space]))
        if self.problem.building.site.framing and self.link.cuts:
            bored = []
            for crossing, leg in zip(self.link.cuts, shape.cut_leg, strict=True):
                mouths = crossing.passage.mouth_a, crossing.passage.mouth_b
                a, b = (End(leg, mouth, crossing.true) for mouth in mouths)
                bored.append(Piece(leg, 0, a, b, frozenset(), frozenset()))
            out.append(Stretches.of(self.conditions.pool(self.link, None), [], bored))
        return tuple(s for s in out if s.spared.size)

    def worst(self, stretches: Stretches, which: IntArray, bends: IntArray, corners: FloatArray) -> Hits | None:
        """The body that each strand comes nearest to, or deepest into, where that is too near; None where none is."""
        direction, hubs = self.path[which[:, None], stretches.leg], stretches.hubs
        radius = np.full(direction.shape, self.problem.radius_m)
        reach = np.zeros(direction.shape)
        fitting = bends[:, stretches.bend[:hubs]]
        radius[:, :hubs] = self.fittings.radius[fitting]
        reach[:, :hubs] = self.fittings.reach[fitting] * stretches.sign[:hubs]
        a, b = stretches.start.points(corners), stretches.end.points(corners)
        b = b + reach[:, :, None] * self.dirs[direction]
        i, g, body = (stretches.pool.bodies.near(a, b, radius) & ~stretches.spared).nonzero()
        if not i.size:
            return None
        n, t, rim = stretches.pool.planes(body, direction[i, g])
        t = t + radius[i, g][:, None] * rim
        ends = np.minimum(np.einsum("pqk,pk->pq", n, a[i, g]), np.einsum("pqk,pk->pq", n, b[i, g]))
        depth = (t - ends).min(axis=1, initial=np.inf)
        order = np.lexsort((-depth, i))
        first = order[np.flatnonzero(np.diff(i[order], prepend=-1))]
        first = first[depth[first] > SLACK_M]
        return Hits(i[first], g[first], depth[first], n[first], t[first], reach[i[first], g[first]])

    def past(self, stretches: Stretches, hits: Hits, which: IntArray) -> Mendings:
        """Rows that take the strands `which` (of the hits) past the bodies: both ends beyond one plane.

        Where a stretch heads away from the plane, its start is enough.
        """
        u = self.dirs[self.path[which, stretches.leg[hits.stretch]]]
        forward = np.einsum("pqk,pk->pq", hits.n, u)
        g, t = stretches.start.rows(hits.stretch, hits.n, hits.t)
        h, s = stretches.end.rows(hits.stretch, hits.n, hits.t - hits.reach[:, None] * forward)
        ahead = forward * np.where(hits.reach < 0, -1.0, 1.0)[:, None] > -1e-12
        corner = np.where(
            ahead, stretches.start.corner[hits.stretch][:, None], stretches.end.corner[hits.stretch][:, None]
        )
        return self._mendings(which, corner, np.where(ahead[:, :, None], g, h), np.where(ahead, t, s))

    def _mendings(
        self, which: IntArray, corner: IntArray, g: FloatArray, t: FloatArray, back: IntArray | None = None
    ) -> Mendings:
        """Rows ``g . corner >= t``, or ``g . (corner - back) >= t``, of (N, Q) corners over the lengths."""
        dirs, base = self.dirs[self.path[which]], self.base[which]
        i = np.arange(len(which))[:, None]
        leg = np.arange(dirs.shape[1])
        used = leg < corner[:, :, None]
        b = t - np.einsum("pqk,pqk->pq", g, base[i, corner])
        if back is not None:
            used &= leg >= back[:, :, None]
            b = b + np.einsum("pqk,pqk->pq", g, base[i, back])
        a = np.where(used, np.einsum("pqk,pjk->pqj", g, dirs), 0.0)
        return Mendings(a, b, np.zeros(b.shape, dtype=np.bool_))

    def closing(self, which: IntArray, bends: IntArray, x: FloatArray) -> tuple[IntArray, Mendings]:
        """Between two fittings is no pipe, or enough to fill two sockets: which strands break that, and the rows.

        Nothing is asked of legs beside a bend whose pattern is open.
        """
        low, need = np.zeros(x.shape), self.need[which]
        if (bends != self.bends[which]).any():
            low, hub = (m - self.least[which] for m in self.shape.least_m(self.fittings, bends))
            need = self._needed(bends, hub)
        broken = (x > low + 1e-9) & (x < need - 1e-9)
        rows = np.flatnonzero(broken.any(axis=1))
        if not rows.size:
            return _NONE
        leg = np.argmax(broken[rows], axis=1)
        a = np.zeros((len(rows), 2, x.shape[1]))
        a[np.arange(len(rows)), :, leg] = 1.0
        b = np.stack([low[rows, leg], need[rows, leg]], axis=1)
        return rows, Mendings(a, b, np.tile(np.array([True, False]), (len(rows), 1)))

    def leaving(self, which: IntArray, corners: FloatArray) -> tuple[IntArray, Mendings]:
        """Ends that stand in a forbidden zone, and the faces by which they can leave the one they stand deepest in."""
        normals, offsets, open_faces = self.shape.zones
        if not len(normals):
            return _NONE
        margin = (np.einsum("zfk,nk->nzf", normals, corners[:, -1]) - offsets).max(axis=2)
        rows = np.flatnonzero(margin.min(axis=1) < -SLACK_M)
        if not rows.size:
            return _NONE
        zone = np.argmin(margin[rows], axis=1)
        t = np.where(open_faces[zone], offsets[zone], np.inf)
        corner = np.full(t.shape, self.shape.bends + 1, dtype=np.intp)
        return rows, self._mendings(which[rows], corner, normals[zone], t)

    def apart(self, which: IntArray, corners: FloatArray) -> tuple[IntArray, Mendings]:
        """Legs that are not neighbours keep hub's width and gap apart: which strands break that, and the rows."""
        legs = self.path.shape[1]
        pairs = [(i, j) for i in range(legs) for j in range(i + 3, legs)]
        if not pairs:
            return _NONE
        i, j = np.array(pairs, dtype=np.intp).T
        apart = self.problem.kit.hub_od_m + self.problem.gap_m
        low, high = np.minimum(corners[:, :-1], corners[:, 1:]), np.maximum(corners[:, :-1], corners[:, 1:])
        between = np.maximum(low[:, j] - high[:, i], low[:, i] - high[:, j]).max(axis=2)
        beside = (between < apart - SLACK_M).any(axis=1).nonzero()[0]
        if not beside.size:
            return _NONE
        which, corners = which[beside], corners[beside]
        dirs = self.dirs[self.path[which]]
        p, q = dirs[:, i], dirs[:, j]
        normals, skew = _between(p, q)
        near = np.where(np.einsum("npqk,npk->npq", normals, q) < 0, j[:, None] + 1, j[:, None])
        far = np.where(np.einsum("npqk,npk->npq", normals, p) > 0, i[:, None] + 1, i[:, None])
        strand = np.arange(len(which))[:, None, None]  # near is the end of the later leg that is nearest along a normal
        gap = np.einsum("npqk,npqk->npq", normals, corners[strand, near] - corners[strand, far])
        gap[~skew] = -np.inf
        close = gap.max(axis=2) < apart - SLACK_M
        rows = np.flatnonzero(close.any(axis=1))
        at = rows, close[rows].argmax(axis=1)
        t = np.where(skew[at], apart, np.inf)
        return beside[rows], self._mendings(which[rows], near[at], normals[at], t, far[at])


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


def _between(u: FloatArray, v: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Normals that may separate two straight pieces of these directions, (..., 8, 3), and which there are."""
    across = cross(u, v)
    size = np.sqrt((across * across).sum(axis=-1))
    skew = size > 1e-6
    across /= np.where(skew, size, 1.0)[..., None]
    out, there = np.empty((*skew.shape, 8, 3)), np.ones((*skew.shape, 8), dtype=np.bool_)
    out[..., :3, :], out[..., 3:6, :], out[..., 6, :], out[..., 7, :] = np.eye(3), -np.eye(3), across, -across
    there[..., 6:] = skew[..., None]
    return out, there
