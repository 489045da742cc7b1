"""The strands of links alike, many at a time: their programs, what their solutions break, and how that is mended."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.frames import cross
from ventroute.solve.conditions import Conditions
from ventroute.solve.fittings import Bends, Fittings
from ventroute.solve.links import Link
from ventroute.solve.lp import Programs
from ventroute.solve.meeting import met
from ventroute.solve.members import Member, Stacked
from ventroute.solve.strands import Strand
from ventroute.solve.stretches import Hits, Stretches

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

SLACK_M = 1e-7  # a condition broken by less is met


@dataclass(slots=True, eq=False)
class Mendings:
    """For N broken conditions, Q rows over the lengths each, one of which must hold: (N, Q, n), (N, Q), (N, Q)."""

    a: FloatArray
    b: FloatArray
    equal: BoolArray


@dataclass(slots=True, eq=False)
class Laid:
    """N strands that can meet their ends and areas.

    (N,) members, (N, k + 1) numbers of directions, (N, k) bends, (N, k + 1, 3) directions, (N, k + 1) least lengths and
    such with pipe in every leg, (N, k + 2, 3) corners at the least lengths.
    """

    member: IntArray
    path: IntArray
    bends: IntArray
    dirs: FloatArray
    least: FloatArray
    hub: FloatArray
    base: FloatArray

    def take(self, which: IntArray) -> Laid:
        """Some of them."""
        return Laid(
            self.member.take(which),
            self.path.take(which, 0),
            self.bends.take(which, 0),
            self.dirs.take(which, 0),
            self.least.take(which, 0),
            self.hub.take(which, 0),
            self.base.take(which, 0),
        )


_NONE = np.zeros(0, dtype=np.intp), Mendings(np.zeros((0, 0, 1)), np.zeros((0, 0)), np.zeros((0, 0), np.bool_))


class Family:
    """The strands of links with the same numbers of bends in their spaces, added as they are laid out.

    Links between two fixed places without a cut stand in one family, those of all kits in a house; of the others each,
    in all kits. Bends have their numbers among those of the house.
    """

    def __init__(self, stock: Bends, counts: tuple[int, ...]) -> None:
        self.stock, self.counts = stock, counts
        self.members: list[Member] = []
        self._numbers: dict[tuple[object, ...], int] = {}
        self._stacked: Stacked | None = None
        k = sum(counts)
        self.spaces = np.repeat(np.arange(len(counts)), counts)  # (k,) ordinal of the space of each bend
        self._count = 0
        self.member = np.zeros(0, dtype=np.intp)
        self.path = np.zeros((0, k + 1), dtype=np.intp)  # numbers of the directions among those of the member
        self.bends = np.zeros((0, k), dtype=np.intp)  # numbers of the fittings, those of open patterns among them
        self.dirs = np.zeros((0, k + 1, 3))
        self.least, self.hub, self.need = np.zeros((0, k + 1)), np.zeros((0, k + 1)), np.zeros((0, k + 1))
        self.base = np.zeros((0, k + 2, 3))  # corners at the least lengths

    def number(self, conditions: Conditions, link: Link, fittings: Fittings) -> int:
        """Of a link in some bends among the members."""
        key = (conditions, link.key, self.stock.first(fittings))
        if key not in self._numbers:
            self._numbers[key] = len(self.members)
            self.members.append(Member(conditions, link, fittings, self.counts))
            self._stacked = None
        return self._numbers[key]

    @property
    def all(self) -> Stacked:
        """The members as arrays."""
        if self._stacked is None:
            self._stacked = Stacked(self.members)
        return self._stacked

    def add(self, laid: Laid) -> int:
        """Add strands; the number of the first."""
        first, count = self._count, len(laid.member)
        rows = {name: getattr(laid, name) for name in ("member", "path", "bends", "dirs", "least", "hub", "base")}
        rows["need"] = self._needed(laid.bends, laid.hub - laid.least)
        grown = max(first + count, 2 * first) if first + count > len(self.member) else 0
        for name, new in rows.items():
            if not first:
                setattr(self, name, new)
                continue
            kept = getattr(self, name)
            if grown:
                more = np.empty((grown, *kept.shape[1:]), dtype=kept.dtype)
                more[:first] = kept[:first]
                setattr(self, name, kept := more)
            kept[first : first + count] = new
        self._count += count
        return first

    def _needed(self, bends: IntArray, hub: FloatArray) -> FloatArray:
        """Lengths beyond the least (N, k + 1) at which legs hold pipe, 0 beside a bend whose pattern is open."""
        if not self.stock.any_open:
            return hub
        open_ = self.stock.open[bends]
        need = hub.copy()
        need[:, :-1][open_] = need[:, 1:][open_] = 0.0
        return need

    def least_m(self, member: IntArray, bends: IntArray) -> tuple[FloatArray, FloatArray]:
        """Least leg lengths for these bends, (N, k) -> two (N, k + 1): closed up by street bends, and not.

        Where a leg cannot be closed up the two are equal.
        """
        if not bends.shape[1]:
            bare = self.all.bare_m[member][:, None]
            return bare, bare
        stock, (first, closed, last) = self.stock, self.all.ends_m
        reach, lay = stock.reach[bends], stock.laying[bends]
        hub = np.empty((len(bends), bends.shape[1] + 1))
        hub[:, 0], hub[:, -1] = first[member, bends[:, 0]], last[member, bends[:, -1]]
        hub[:, 1:-1] = reach[:, :-1] + reach[:, 1:]
        least = hub.copy()
        least[:, 0] = np.minimum(hub[:, 0], closed[member, bends[:, 0]])
        street = lay[:, :-1] + lay[:, 1:] + stock.spigot[bends[:, 1:]]
        least[:, 1:-1] = np.minimum(hub[:, 1:-1], street)
        through = [leg for leg in self.members[0].shape.cut_leg if 0 < leg < bends.shape[1]]
        if through:
            least[:, through] = hub[:, through]
        return least, hub

    def strand(self, which: int, bends: tuple[int, ...]) -> Strand:
        """One strand by itself, in settled bends."""
        angles = tuple(self.stock.angle[list(bends)].tolist())
        patterns = tuple(self.stock.pattern[bend] for bend in bends)
        hub = self.hub[which]
        if self.stock.any_open:
            hub = self.least_m(self.member[[which]], np.array([bends], dtype=np.intp))[1][0]
        return Strand(self.members[self.member[which]].shape, self.dirs[which], angles, patterns, hub)

    def corners(self, which: IntArray, x: FloatArray) -> FloatArray:
        """(N, k + 2, 3) corners of strands with lengths beyond the least."""
        steps = np.cumsum(self.dirs.take(which, 0) * x[:, :, None], axis=1)
        out = self.base.take(which, 0)
        out[:, 1:] += steps
        return out

    def begun(self, member: IntArray, dirs: FloatArray, base: FloatArray, least: FloatArray) -> Programs:
        """Solved programs of strands that meet their end, where it is fixed, and nothing else; the value is the run."""
        end_m = self.all.end_m
        if end_m is None:
            programs = Programs.of(np.ones(dirs.shape[1]), len(dirs))
        else:
            programs = met(dirs, end_m[member] - base[:, -1])
        programs.value += least.sum(axis=1)
        return programs

    def roots(self, which: IntArray, programs: Programs | None) -> Programs:
        """Programs of strands without bodies: ends met, hubs and pipe inside the hulls of their spaces.

        ``programs`` are theirs without the hubs, where their links do not lead from one fixed place to another.
        """
        dirs, base, member = self.dirs.take(which, 0), self.base.take(which, 0), self.member[which]
        rows: list[tuple[FloatArray, FloatArray, BoolArray]] = []
        if programs is not None:
            a, b = self.all.end_rows.over(member, dirs, base)
            rows.append((a, b, np.zeros(b.shape, dtype=np.bool_)))
        else:
            programs = self.begun(member, dirs, base, self.least.take(which, 0))
            if shut := [number for number in set(member.tolist()) if not self.members[number].clear]:
                never = np.where(np.isin(member, shut), 1.0, -1.0)[:, None]
                rows.append((np.zeros((len(which), 1, dirs.shape[1])), never, never < 0.0))
        for space in dict.fromkeys(self.spaces.tolist()):
            rows.append(self._walls(which, self.bends[which], space, (self.spaces == space).nonzero()[0]))
        if not rows:
            return programs
        a, b, idle = (np.concatenate(parts, axis=1) for parts in zip(*rows, strict=True))
        most = b.shape[1] - int(idle.sum(axis=1).min())
        i, kept = np.arange(len(which))[:, None], idle.argsort(axis=1, kind="stable")[:, :most]
        return programs.add(a[i, kept], b[i, kept], np.zeros(kept.shape, dtype=np.bool_))

    @property
    def between(self) -> bool:
        """Whether its links lead from one fixed place to another through no cut, so that ends are all that is asked."""
        link = self.members[0].link
        return link.end is not None and not link.cuts

    def settlings(
        self, which: IntArray, bends: IntArray, nth: int
    ) -> tuple[IntArray, IntArray, tuple[FloatArray, FloatArray]]:
        """Every pattern for the nth bend of strands `which` in bends (N, k), where that one is open.

        Returns the number in the batch (M,), the bends with one settled (M, k), and rows (M, R, k + 1), (M, R): the
        legs beside it as long as it needs, and its hubs inside the hull of their space.
        """
        choices = [self.stock.choices[bend] for bend in bends[:, nth].tolist()]
        at = np.repeat(np.arange(len(which)), [len(row) for row in choices])
        settled = bends[at]
        settled[:, nth] = [bend for row in choices for bend in row]
        a, b, _ = self._walls(which[at], settled, int(self.spaces[nth]), np.array([nth]))
        low = self.least_m(self.member[which[at]], settled)[0] - self.least[which[at]]
        legs = np.broadcast_to(np.eye(low.shape[1])[nth : nth + 2], (len(at), 2, low.shape[1]))
        return at, settled, (np.concatenate([legs, a], axis=1), np.concatenate([low[:, nth : nth + 2], b], axis=1))

    def _walls(
        self, which: IntArray, bends: IntArray, space: int, at: IntArray
    ) -> tuple[FloatArray, FloatArray, BoolArray]:
        """Both hubs of the bends `at` (B,) inside the hull of their space: rows, and which of them all lengths meet.

        (N, B * faces, k + 1), (N, B * faces), (N, B * faces); ``bends`` (N, k) are the numbers of all bends.
        """
        member = self.member[which]
        normals, offsets = (faces.take(member, 0) for faces in self.all.hulls[space])
        across = normals.transpose(0, 2, 1)
        along = self.dirs.take(which, 0) @ across  # (N, k + 1, F)
        rim = np.sqrt(np.maximum(0.0, 1.0 - along * along))
        reach, radius = (size[bends.take(at, 1)[:, :, None]] for size in (self.stock.reach, self.stock.radius))
        before = radius * rim.take(at, 1) + np.maximum(0.0, -reach * along.take(at, 1))
        after = radius * rim.take(at + 1, 1) + np.maximum(0.0, reach * along.take(at + 1, 1))
        need = np.maximum(before, after) + (self.all.gap_m[member][:, None] - offsets)[:, None]
        need += self.base.take(which, 0).take(at + 1, 1) @ across
        idle = (np.maximum.accumulate(along, axis=1).take(at, 1) <= 0.0) & (need <= 0.0)
        if self.all.end_m is not None:  # the same counted back from the end
            left = (self.all.end_m[member] - self.base[which, -1])[:, None] @ across
            back = np.minimum.accumulate(along[:, ::-1], axis=1)[:, ::-1]
            idle |= (back.take(at + 1, 1) >= 0.0) & (need + left <= 0.0)
        behind = np.arange(along.shape[1]) <= at[:, None, None]
        a = np.where(behind, -along.transpose(0, 2, 1)[:, None], 0.0)
        return a.reshape(len(which), -1, along.shape[1]), need.reshape(len(which), -1), idle.reshape(len(which), -1)

    def worst(self, stretches: Stretches, which: IntArray, bends: IntArray, corners: FloatArray) -> Hits | None:
        """The body that each strand comes nearest to, or deepest into, where that is too near; None where none is."""
        member, hubs = self.member[which], stretches.hubs
        direction = self.path.take(which, 0).take(stretches.leg, 1)
        radius, reach = np.empty(direction.shape), np.zeros(direction.shape)
        radius[:, hubs:] = self.all.radius_m[member][:, None]
        fitting = bends.take(stretches.bend[:hubs], 1)
        radius[:, :hubs] = self.stock.radius[fitting]
        reach[:, :hubs] = self.stock.reach[fitting] * stretches.sign[:hubs]
        a, b = stretches.start.points(member, corners), stretches.end.points(member, corners)
        b = b + reach[:, :, None] * self.dirs.take(which, 0).take(stretches.leg, 1)
        i, g, body = stretches.near(member, a, b, radius).nonzero()
        if not i.size:
            return None
        n, t, rim = stretches.planes(member[i], body, direction[i, g])
        t = t + radius[i, g][:, None] * rim
        ends = np.minimum(np.matvec(n, a[i, g]), np.matvec(n, b[i, g]))
        depth = (t - ends).min(axis=1, initial=np.inf)
        order = np.lexsort((-depth, i))
        first = order[np.flatnonzero(np.diff(i[order], prepend=-1))]
        first = first[depth[first] > SLACK_M]
        return Hits(i[first], g[first], depth[first], n[first], t[first], reach[i[first], g[first]])

    def past(self, stretches: Stretches, hits: Hits, which: IntArray) -> Mendings:
        """Rows that take the strands `which` (of the hits) past the bodies: both ends beyond one plane.

        Where a stretch heads away from the plane, its start is enough.
        """
        u, member = self.dirs[which, stretches.leg[hits.stretch]], self.member[which]
        forward = np.matvec(hits.n, u)
        g, t = stretches.start.rows(member, hits.stretch, hits.n, hits.t)
        h, s = stretches.end.rows(member, hits.stretch, hits.n, hits.t - hits.reach[:, None] * forward)
        ahead = forward * np.where(hits.reach < 0, -1.0, 1.0)[:, None] > -1e-12
        corner = np.where(
            ahead, stretches.start.corner[hits.stretch][:, None], stretches.end.corner[hits.stretch][:, None]
        )
        return self._mendings(which, corner, np.where(ahead[:, :, None], g, h), np.where(ahead, t, s))

    def _mendings(
        self, which: IntArray, corner: IntArray, g: FloatArray, t: FloatArray, back: IntArray | None = None
    ) -> Mendings:
        """Rows ``g . corner >= t``, or ``g . (corner - back) >= t``, of (N, Q) corners over the lengths."""
        dirs, base = self.dirs.take(which, 0), self.base.take(which, 0)
        i = np.arange(len(which))[:, None]
        leg = np.arange(dirs.shape[1])
        used = leg < corner[:, :, None]
        b = t - np.vecdot(g, base[i, corner])
        if back is not None:
            used &= leg >= back[:, :, None]
            b = b + np.vecdot(g, base[i, back])
        a = np.where(used, g @ dirs.transpose(0, 2, 1), 0.0)
        return Mendings(a, b, np.zeros(b.shape, dtype=np.bool_))

    def closing(self, which: IntArray, bends: IntArray, x: FloatArray) -> tuple[IntArray, Mendings]:
        """Between two fittings is no pipe, or enough to fill two sockets: which strands break that, and the rows.

        Nothing is asked of legs beside a bend whose pattern is open.
        """
        if not bends.size:
            return _NONE
        low, need = np.zeros(x.shape), self.need[which]
        if self.stock.any_open and (bends != self.bends[which]).any():
            low, hub = (m - self.least[which] for m in self.least_m(self.member[which], bends))
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
        if self.between:
            return _NONE
        normals, offsets, open_faces = self.all.zones
        if not normals.size:
            return _NONE
        member = self.member[which]
        margin = (np.matvec(normals[member], corners[:, None, -1]) - offsets[member]).max(axis=2)
        rows = np.flatnonzero(margin.min(axis=1) < -SLACK_M)
        if not rows.size:
            return _NONE
        at = member[rows], np.argmin(margin[rows], axis=1)
        t = np.where(open_faces[at], offsets[at], np.inf)
        corner = np.full(t.shape, self.path.shape[1], dtype=np.intp)
        return rows, self._mendings(which[rows], corner, normals[at], t)

    def apart(self, which: IntArray, corners: FloatArray) -> tuple[IntArray, Mendings]:
        """Legs that are not neighbours keep hub's width and gap apart: which strands break that, and the rows."""
        legs = self.path.shape[1]
        pairs = [(i, j) for i in range(legs) for j in range(i + 3, legs)]
        if not pairs:
            return _NONE
        i, j = np.array(pairs, dtype=np.intp).T
        apart = self.all.apart_m[self.member[which]]
        low, high = np.minimum(corners[:, :-1], corners[:, 1:]), np.maximum(corners[:, :-1], corners[:, 1:])
        between = np.maximum(low.take(j, 1) - high.take(i, 1), low.take(i, 1) - high.take(j, 1)).max(axis=2)
        beside = (between < apart[:, None] - SLACK_M).any(axis=1).nonzero()[0]
        if not beside.size:
            return _NONE
        which, corners, apart = which[beside], corners[beside], apart[beside]
        dirs = self.dirs.take(which, 0)
        p, q = dirs.take(i, 1), dirs.take(j, 1)
        normals, skew = _between(p, q)
        near = np.where(np.matvec(normals, q) < 0, j[:, None] + 1, j[:, None])
        far = np.where(np.matvec(normals, p) > 0, i[:, None] + 1, i[:, None])
        strand = np.arange(len(which))[:, None, None]  # near is the end of the later leg that is nearest along a normal
        gap = np.vecdot(normals, corners[strand, near] - corners[strand, far])
        gap[~skew] = -np.inf
        close = gap.max(axis=2) < apart[:, None] - SLACK_M
        rows = close.any(axis=1).nonzero()[0]
        at = rows, close[rows].argmax(axis=1)
        t = np.where(skew[at], apart[rows, None], np.inf)
        return beside[rows], self._mendings(which[rows], near[at], normals[at], t, far[at])


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
