"""One sequence of directions in a link: where its corners are, how short its legs may be, what it must keep clear of.

A strand has k bends and k + 1 legs. Leg i has length ``least[i] + x[i]``; corner i is the link's start plus the legs
before it, so every condition on a corner is one row ``g . corner[i] >= t`` over the x. `Shape` holds what all strands
with the same number of bends in each space share; `Strand` adds the directions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polytope import Polytope
from ventroute.solve.problem import Crossing, Link, Problem, hub_clear_m, terminal_kind

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_FAR_UP_M = 50.0  # no terminal stands so far above its roof


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """``g . corner[i] >= t``, or ``==``; with `other`, ``g . corner[i] - h . corner[j] >= t``."""

    corner: int
    g: FloatArray
    t: float
    equal: bool = False
    other: tuple[int, FloatArray] | None = None


NEVER = Row(0, np.zeros(3), 1.0)  # no strand meets it


@dataclass(frozen=True, slots=True, eq=False)
class End:
    """An end of a piece of leg: a corner, or where the leg from that corner meets a plane."""

    corner: int
    plane: tuple[FloatArray, float] | None = None
    along: FloatArray | None = None

    def row(self, n: FloatArray, t: float) -> Row:
        """The condition ``n . end >= t`` as one on the corner."""
        if self.plane is None or self.along is None:
            return Row(self.corner, n, t)
        normal, offset = self.plane
        k = float(n @ self.along) / float(normal @ self.along)
        return Row(self.corner, n - k * normal, t - k * offset)

    def point(self, corners: FloatArray) -> FloatArray:
        """Where it is, given the corners."""
        at: FloatArray = corners[self.corner]
        if self.plane is None or self.along is None:
            return at
        normal, offset = self.plane
        return at + self.along * ((offset - normal @ at) / (normal @ self.along))


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """The part of a leg that lies in one space; what it is exempt from, as its pipe goes through there."""

    leg: int
    space: int  # ordinal in the link
    start: End
    end: End
    faces: frozenset[int]
    solids: frozenset[int]


@dataclass(frozen=True, eq=False)
class Shape:
    """Bends per space of a link, and what follows from it.

    ``crossings[i]`` are the cuts on leg i; ``corner_space[i]`` the space of corner i + 1.
    """

    problem: Problem
    link: Link
    counts: tuple[int, ...]

    @cached_property
    def bends(self) -> int:
        """Number of bends."""
        return sum(self.counts)

    @cached_property
    def cut_leg(self) -> tuple[int, ...]:
        """Leg on which each cut lies."""
        return tuple(int(n) for n in np.cumsum(self.counts)[:-1])

    @cached_property
    def corner_space(self) -> tuple[int, ...]:
        """Ordinal of the space of each inner corner."""
        return tuple(s for s, n in enumerate(self.counts) for _ in range(n))

    def least_m(self, angles: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Least leg lengths for bends of these angles, (N, k) -> two (N, k + 1): closed up by street bends, and not.

        Where a leg cannot be closed up the two are equal.
        """
        p, link = self.problem, self.link
        count, k = angles.shape
        lay = _lookup(angles, {a: e.hub.laying_m for a, e in p.elbows.items()})
        socket = _lookup(angles, {a: e.hub.socket_m for a, e in p.elbows.items()})
        spigot = _lookup(angles, {a: e.street.spigot_m if e.street else None for a, e in p.elbows.items()})
        hub = np.zeros((count, k + 1))
        hub[:, 1:] += lay + socket
        hub[:, :-1] += lay + socket
        street = hub.copy()
        street[:, 1:-1] = (lay[:, :-1] + lay[:, 1:] + spigot[:, 1:])[:, : max(0, k - 1)]
        if link.start is None:
            hub[:, 0] += p.start_m + p.start_socket_m
            street[:, 0] = hub[:, 0] if k == 0 else p.start_m + lay[:, 0] + spigot[:, 0]
        for crossing, leg, before in self._fixed_ends():
            self._clear_barrier(hub, crossing, leg, before, angles)
        for leg in {*self.cut_leg, *((0,) if link.start else ()), k}:
            street[:, leg] = hub[:, leg]
        return np.where(np.isnan(street), hub, np.minimum(street, hub)), hub

    def _fixed_ends(self) -> list[tuple[Crossing, int, bool]]:
        ends: list[tuple[Crossing, int, bool]] = []
        if self.link.start:
            ends.append((self.link.start, 0, False))
        if self.link.end:
            ends.append((self.link.end, self.bends, True))
        return ends

    def _clear_barrier(self, hub: FloatArray, crossing: Crossing, leg: int, before: bool, angles: FloatArray) -> None:
        """Legs between a bend and a hole are long enough that the hub stays clear of the barrier."""
        if self.bends == 0:
            return
        p = self.problem
        clear = crossing.clear_of_a_m if before else crossing.clear_of_b_m
        need = _lookup(angles, {a: clear(e, p.gap_m) for a, e in p.elbows.items()})
        hub[:, leg] = np.maximum(hub[:, leg], need[:, -1] if before else need[:, 0])

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Conditions that hold for every strand of this shape: ends met, cuts inside their areas, reach."""
        out: list[Row] = []
        link, last = self.link, self.bends + 1
        if link.end is not None:
            assert link.end.centre_m is not None
            out += [Row(last, e, float(e @ link.end.centre_m), True) for e in np.eye(3)]
        for crossing, leg in zip(link.cuts, self.cut_leg, strict=True):
            out += self._area_rows(crossing, leg)
        if link.end is None and link.last is not None:
            out += [*self._reach_rows(link.last), *self._forced_rows(link.last)]
        return tuple(out)

    def _forced_rows(self, crossing: Crossing) -> list[Row]:
        """Zones that the end can leave by one face only: it must, so the bound may count on it."""
        out: list[Row] = []
        for zone in self.problem.zones.get(terminal_kind(crossing), ()):
            for body in zone.cover:
                faces = self.reached(body)
                if self._outside(body):
                    continue
                if not faces:
                    out.append(NEVER)
                elif len(faces) == 1:
                    out.append(Row(self.bends + 1, body.normals[faces[0]], float(body.offsets[faces[0]])))
        return out

    def reached(self, body: Polytope) -> list[int]:
        """Faces of a zone's body beyond which the terminal's end can be."""
        beyond = (body.normals @ self.end_box.T).max(axis=1) >= body.offsets
        return np.flatnonzero(beyond).tolist()

    def _outside(self, body: Polytope) -> bool:
        """Whether every place that the end can have is clear of a body."""
        return bool(((body.normals @ self.end_box.T).min(axis=1) >= body.offsets).any())

    @cached_property
    def end_box(self) -> FloatArray:
        """(8, 3) corners of a box that holds every place the terminal's end can have."""
        last = self.link.last
        if last is None:
            return np.array(list(product((-1e4, 1e4), repeat=3)))
        low, high = last.passage.area if last.passage.area is not None else (last.centre_m, last.centre_m)
        low, high = np.asarray(low, float), np.asarray(high, float)
        corners = np.array(list(product(*zip(low, high, strict=True))))
        normal, offset = last.passage.mouth_b
        along = float(normal @ last.true)
        most = self.problem.want.outdoors_m * along if terminal_kind(last) == "wall" else _FAR_UP_M
        ends = [(offset + d - corners @ normal)[:, None] / along * last.true for d in (self.problem.want.reach_m, most)]
        places = np.concatenate([corners + end for end in ends])
        if self.counts[-1]:
            places = np.concatenate([places, places + np.array([0.0, 0.0, self.problem.want.outdoors_m])])
        return np.array(list(product(*zip(places.min(axis=0), places.max(axis=0), strict=True))))

    def _area_rows(self, crossing: Crossing, leg: int) -> list[Row]:
        passage = crossing.passage
        assert passage.area is not None
        low, high = passage.area
        out: list[Row] = []
        for j, e in enumerate(np.eye(3)):
            if abs(passage.axis[j]) > 0.999999:
                continue
            for plane in (passage.mouth_a, passage.mouth_b):
                end = End(leg, plane, crossing.true)
                out += [end.row(e, float(low[j])), end.row(-e, -float(high[j]))]
        return out + self._hub_rows(crossing, leg)

    def _hub_rows(self, crossing: Crossing, leg: int) -> list[Row]:
        """No hub stands in the wall: bends next to a cut keep the least any of them needs off its mouths."""
        elbows, gap = self.problem.elbows.values(), self.problem.gap_m
        out: list[Row] = []
        if not elbows:
            return out
        for corner, (normal, offset), sign in (
            (leg, crossing.passage.mouth_a, -1),
            (leg + 1, crossing.passage.mouth_b, 1),
        ):
            if 1 <= corner <= self.bends:
                along = float(normal @ crossing.true)
                need = min(hub_clear_m(normal, crossing.true, elbow, gap) for elbow in elbows) * along
                out.append(Row(corner, sign * normal, sign * offset + need))
        return out

    def _reach_rows(self, crossing: Crossing) -> list[Row]:
        """The end stands beyond the outside face; from a wall no more pipe stays outdoors than is wanted."""
        normal, offset = crossing.passage.mouth_b
        want, last = self.problem.want, self.bends + 1
        along = float(normal @ crossing.true)
        rim = self.problem.radius_m * math.sqrt(max(0.0, 1.0 - along * along))
        rows = [Row(last, normal, offset + want.reach_m + rim)]
        if terminal_kind(crossing) == "wall":
            rows.append(self._outdoors_row(crossing))
        return rows

    def _outdoors_row(self, crossing: Crossing) -> Row:
        """From the wall's face to the end there is no more pipe than is wanted.

        Outdoors the pipe goes straight on, or out, up and out again: a vector with component 1 along both ways
        measures its length.
        """
        normal, offset = crossing.passage.mouth_b
        most, last = self.problem.want.outdoors_m, self.bends + 1
        if not self.counts[-1]:
            g = normal / float(normal @ crossing.true)
            return Row(last, -g, -(offset / float(normal @ crossing.true) + most))
        up = np.array([0.0, 0.0, 1.0])
        g = np.linalg.solve([crossing.true, up, np.cross(crossing.true, up)], [1.0, 1.0, 0.0])
        face = End(self.cut_leg[-1] if self.link.cuts else 0, crossing.passage.mouth_b, crossing.true).row(g, 0.0)
        return Row(last, -g, face.t - most, other=(face.corner, -face.g))

    def bounding(self, dirs: FloatArray, least: FloatArray) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
        """The rows for many strands at once: (N, k + 1, 3) directions -> a (N, m, k + 1), b (N, m), equal (m,)."""
        corners = self.link.start_m + np.concatenate(
            [np.zeros((len(dirs), 1, 3)), np.cumsum(dirs * least[:, :, None], axis=1)], axis=1
        )
        a = np.zeros((len(dirs), len(self.rows), self.bends + 1))
        b = np.zeros((len(dirs), len(self.rows)))
        for m, row in enumerate(self.rows):
            a[:, m, : row.corner] = dirs[:, : row.corner] @ row.g
            b[:, m] = row.t - corners[:, row.corner] @ row.g
            if row.other:
                j, h = row.other
                a[:, m, :j] -= dirs[:, :j] @ h
                b[:, m] += corners[:, j] @ h
        return a, b, np.array([row.equal for row in self.rows], dtype=bool)


def _lookup(angles: FloatArray, table: dict[float, float | None]) -> FloatArray:
    """Figures by angle, not-a-number where there is none."""
    out = np.full(angles.shape, np.nan)
    for angle, figure in table.items():
        if figure is not None:
            out[angles == angle] = figure
    return out


@dataclass(frozen=True, eq=False)
class Strand:
    """A shape with its directions."""

    shape: Shape
    dirs: FloatArray  # (k + 1, 3) true
    angles: tuple[float, ...]
    least: FloatArray  # (k + 1,) closed up where a street bend allows
    hub: FloatArray  # (k + 1,) with pipe in every leg
    fittings: float  # price of the bends

    @cached_property
    def base(self) -> FloatArray:
        """(k + 2, 3) corners at the least lengths."""
        steps = np.cumsum(self.dirs * self.least[:, None], axis=0)
        corners: FloatArray = self.shape.link.start_m + np.concatenate([np.zeros((1, 3)), steps])
        return corners

    def corners(self, x: Sequence[float]) -> FloatArray:
        """(k + 2, 3) corners for the lengths beyond the least, ends included."""
        steps = np.cumsum(self.dirs * (self.least + np.asarray(x))[:, None], axis=0)
        corners: FloatArray = self.shape.link.start_m + np.concatenate([np.zeros((1, 3)), steps])
        return corners

    def coefficients(self, row: Row) -> tuple[list[float], float]:
        """The row over the x."""
        a = np.zeros(len(self.dirs))
        a[: row.corner] = self.dirs[: row.corner] @ row.g
        b = row.t - float(row.g @ self.base[row.corner])
        if row.other:
            j, h = row.other
            a[:j] -= self.dirs[:j] @ h
            b += float(h @ self.base[j])
        out: list[float] = a.tolist()
        return out, b

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """The legs, cut where they pass through construction."""
        link, shape = self.shape.link, self.shape
        out: list[Piece] = []
        space = 0
        for leg, along in enumerate(self.dirs):
            entered = link.start if leg == 0 else None
            start = End(0, entered.passage.mouth_b, along) if entered else End(leg)
            for cut, crossing in enumerate(link.cuts):
                if shape.cut_leg[cut] == leg:
                    out.append(_piece(leg, space, start, End(leg, crossing.passage.mouth_a, along), entered, crossing))
                    start, entered, space = End(leg, crossing.passage.mouth_b, along), crossing, space + 1
            left = link.end if leg == shape.bends else None
            end = End(leg, left.passage.mouth_a, along) if left else End(leg + 1)
            out.append(_piece(leg, space, start, end, entered, left))
        return tuple(out)

    @cached_property
    def walls(self) -> tuple[IntArray, FloatArray, FloatArray]:
        """Everything that keeps hubs and pipe inside the hulls of their spaces, as rows ``g . corner[i] >= t``.

        Returns
        -------
        (m,) corner, (m, 3) g and (m,) t
        """
        spaces = [self.shape.problem.building.spaces[s].container for s in self.shape.link.spaces]
        found = [_hub_rows(self, i, u, reach, radius, spaces[s]) for i, s, u, reach, radius in self.hubs]
        found += [_pipe_rows(self, piece, end, spaces[piece.space]) for piece, end in self._ends()]
        corner = np.concatenate([np.full(len(t), i, dtype=np.intp) for i, _, t in found])
        return corner, np.concatenate([g for _, g, _ in found]), np.concatenate([t for _, _, t in found])

    def _ends(self) -> list[tuple[Piece, End]]:
        """Ends of pieces at which pipe, and no hub, stands: collar, mouths and terminal."""
        inner = range(1, self.shape.bends + 1)
        return [(p, e) for p in self.pieces for e in (p.start, p.end) if e.plane is not None or e.corner not in inner]

    @cached_property
    def hubs(self) -> tuple[tuple[int, int, FloatArray, float, float], ...]:
        """(corner, space ordinal, unit vector along the hub, reach, radius) of both hubs of every bend."""
        out: list[tuple[int, int, FloatArray, float, float]] = []
        for i, angle in enumerate(self.angles):
            elbow = self.shape.problem.elbows[angle]
            radius = elbow.hub.hub_od_m / 2
            for u in (-self.dirs[i], self.dirs[i + 1]):
                out.append((i + 1, self.shape.corner_space[i], u, elbow.reach_m, radius))
        return tuple(out)


def _hub_rows(
    strand: Strand, corner: int, u: FloatArray, reach: float, radius: float, hull: Polytope
) -> tuple[int, FloatArray, FloatArray]:
    along = hull.normals @ u
    rim = radius * np.sqrt(np.maximum(0.0, 1.0 - along * along))
    limit = hull.offsets - strand.shape.problem.gap_m - rim - np.maximum(0.0, reach * along)
    return corner, -hull.normals, -limit


def _pipe_rows(strand: Strand, piece: Piece, end: End, hull: Polytope) -> tuple[int, FloatArray, FloatArray]:
    problem = strand.shape.problem
    kept = [f for f in range(len(hull.offsets)) if f not in piece.faces]
    normals, offsets = hull.normals[kept], hull.offsets[kept]
    along = normals @ strand.dirs[piece.leg]
    rim = problem.radius_m * np.sqrt(np.maximum(0.0, 1.0 - along * along))
    g, t = -normals, -(offsets - problem.gap_m - rim)
    if end.plane is not None and end.along is not None:
        n, o = end.plane
        k = (g @ end.along) / float(n @ end.along)
        g, t = g - k[:, None] * n, t - k * o
    return end.corner, g, t


def _piece(leg: int, space: int, start: End, end: End, entered: Crossing | None, left: Crossing | None) -> Piece:
    faces: set[int] = set()
    solids: set[int] = set()
    for crossing, side in ((entered, "pierced_b"), (left, "pierced_a")):
        if crossing is not None:
            own_faces, own_solids = getattr(crossing.passage, side)
            faces.update(own_faces)
            solids.update(own_solids)
    return Piece(leg, space, start, end, frozenset(faces), frozenset(solids))
