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
from itertools import accumulate, product

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polytope import Polytope
from ventroute.solve.fittings import Fittings
from ventroute.solve.links import Link, terminal_kind
from ventroute.solve.problem import Crossing, Problem, hub_clear_m
from ventroute.solve.rows import NEVER, Row

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_FAR_UP_M = 50.0  # no terminal stands so far above its roof


@dataclass(slots=True, eq=False)
class End:
    """An end of a piece of leg: a corner, or where the leg from that corner meets a plane."""

    corner: int
    plane: tuple[FloatArray, float] | None = None
    along: FloatArray | None = None  # the leg, as long as it takes to come one unit nearer to the plane

    @classmethod
    def on(cls, corner: int, plane: tuple[FloatArray, float], true: FloatArray) -> End:
        """Where a leg of a direction meets a plane."""
        return cls(corner, plane, true / float(plane[0] @ true))

    def row(self, n: FloatArray, t: float) -> Row:
        """The condition ``n . end >= t`` as one on the corner."""
        if self.plane is None or self.along is None:
            return Row(self.corner, n, t)
        normal, offset = self.plane
        k = float(n @ self.along)
        return Row(self.corner, n - k * normal, t - k * offset)

    def place(self, corner: FloatArray) -> FloatArray:
        """Where it is, (3,), given its corner (3,)."""
        if self.plane is None or self.along is None:
            return corner
        normal, offset = self.plane
        return corner + (offset - float(corner @ normal)) * self.along


@dataclass(slots=True, eq=False)
class Piece:
    """The part of a leg that lies in one space; what it is exempt from, as its pipe goes through there."""

    leg: int
    space: int  # ordinal in the link
    start: End
    end: End
    faces: frozenset[int]
    solids: frozenset[int]


class Shape:
    """Bends per space of a link, and what follows from it.

    ``bends`` is their number; ``cut_leg[i]`` the leg on which cut i lies; ``corner_space[i]`` the ordinal of the space
    of corner i + 1.
    """

    def __init__(self, problem: Problem, link: Link, counts: tuple[int, ...]) -> None:
        self.problem, self.link, self.counts = problem, link, counts
        self.bends = sum(counts)
        self.cut_leg = tuple(accumulate(counts[:-1]))
        self.corner_space = tuple(s for s, n in enumerate(counts) for _ in range(n))

    def ends_m(self, fittings: Fittings) -> FloatArray:
        """Least lengths beside each of S bends, (3, S): the first leg with pipe, the same closed up, and the last leg.

        Infinite where the leg cannot be closed up.
        """
        p, link, reach = self.problem, self.link, fittings.reach
        first, closed, last = reach, np.full(reach.shape, np.inf), reach
        if link.start is None:
            first = self.bare_m + reach
            if 0 not in self.cut_leg:
                closed = p.start_m + fittings.laying + fittings.spigot
        else:
            first = np.maximum(first, link.start.clear_of_b_m(reach, fittings.radius, p.gap_m))
        if link.end is not None:
            last = np.maximum(last, link.end.clear_of_a_m(reach, fittings.radius, p.gap_m))
        return np.array([first, closed, last])

    @property
    def bare_m(self) -> float:
        """Least length of the leg of a strand without bends."""
        return self.problem.start_m + self.problem.start_socket_m if self.link.start is None else 0.0

    @cached_property
    def rows(self) -> list[Row]:
        """Conditions that hold for every strand of this shape beside a met end: cuts inside their areas, reach.

        Where there is no bend, all conditions: then nothing is left to be asked but bodies and zones.
        """
        out: list[Row] = []
        link = self.link
        for crossing, leg in zip(link.cuts, self.cut_leg, strict=True):
            out += self._area_rows(crossing, leg)
        if link.end is None and link.last is not None:
            out += [*self._reach_rows(link.last), *self._forced_rows()]
        return out if self.bends else [*out, *self._end_rows]

    @property
    def end_rows(self) -> list[Row]:
        """Conditions at ends, where they are not among `rows`."""
        return self._end_rows if self.bends else []

    @property
    def clear(self) -> bool:
        """Whether pipe at ends that are the same for every strand keeps inside the hulls of its spaces."""
        return not any(row is NEVER for row in self._end_rows)

    @cached_property
    def _end_rows(self) -> list[Row]:
        """Pipe at the collar, at the mouths and at the terminal keeps inside the hulls of its spaces."""
        out: list[Row] = []
        held: dict[int, list[tuple[Piece, FloatArray]]] = {}  # by space
        for piece, end in ((one, end) for one in self.pieces for end in (one.start, one.end)):
            if end.plane is None and 1 <= end.corner <= self.bends:
                continue  # a bend, whose hubs reach farther
            at = self._held(end)
            if at is None:
                out += self._pipe_rows(piece, end)
            else:
                held.setdefault(piece.space, []).append((piece, at))
        return out if all(self._inside(space, ends) for space, ends in held.items()) else [*out, NEVER]

    def _pipe_rows(self, piece: Piece, end: End) -> list[Row]:
        hull, limits = self._hull(piece.space, [piece])
        faces = (f for f in range(len(hull.offsets)) if f not in piece.faces)
        return [end.row(-hull.normals[f], -float(limits[f, 0])) for f in faces]

    def _inside(self, space: int, ends: Sequence[tuple[Piece, FloatArray]]) -> bool:
        """Whether pipe keeps inside the hull of a space at ends that are the same for every strand."""
        hull, limits = self._hull(space, [piece for piece, _ in ends])
        beyond = (hull.normals @ np.array([at for _, at in ends]).T > limits + 1e-7).T.tolist()
        pierced = (piece.faces for piece, _ in ends)
        return all(f in own for own, faces in zip(pierced, beyond, strict=True) for f, is_ in enumerate(faces) if is_)

    def _hull(self, space: int, pieces: Sequence[Piece]) -> tuple[Polytope, FloatArray]:
        """The hull of a space, and how far along its normals the axes of some pieces may end, (faces, pieces)."""
        hull = self.problem.building.spaces[self.link.spaces[space]].container
        along = hull.normals @ np.array([self.fixed(piece.leg) for piece in pieces]).T
        rim = np.sqrt(np.maximum(0.0, 1.0 - along * along))
        return hull, (hull.offsets - self.problem.gap_m)[:, None] - self.problem.radius_m * rim

    def _held(self, end: End) -> FloatArray | None:
        """Where an end is, if that is the same for every strand."""
        through = self.link.start_m if end.corner == 0 else None
        if self.link.end is not None and end.plane is not None and end.corner == self.bends:
            through = self.link.end.centre_m  # the last leg's axis stands still
        return None if through is None else end.place(through)

    def fixed(self, leg: int) -> FloatArray:
        """The direction of a leg at the start, in a cut or at the end, which is the same for every strand."""
        link = self.link
        if leg == 0:
            return link.start_true
        if leg in self.cut_leg:
            return link.cuts[self.cut_leg.index(leg)].true
        last = link.end or link.last
        assert leg == self.bends
        assert last is not None
        return last.true

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """The legs, cut where the whole of the pipe is in construction."""
        link, radius = self.link, self.problem.radius_m
        out: list[Piece] = []
        space = 0
        for leg in range(self.bends + 1):
            entered = link.start if leg == 0 else None
            start = _mouth(leg, entered, radius, before=False) if entered else End(leg)
            for cut, crossing in enumerate(link.cuts):
                if self.cut_leg[cut] == leg:
                    out.append(_piece(leg, space, start, _mouth(leg, crossing, radius, before=True), entered, crossing))
                    start, entered, space = _mouth(leg, crossing, radius, before=False), crossing, space + 1
            left = link.end if leg == self.bends else None
            end = _mouth(leg, left, radius, before=True) if left else End(leg + 1)
            out.append(_piece(leg, space, start, end, entered, left))
        return tuple(out)

    def _forced_rows(self) -> list[Row]:
        """Zones that the end can leave by one face only: it must, so the bound may count on it."""
        normals, offsets, open_faces = self.zones
        out: list[Row] = []
        for zone, faces in enumerate(open_faces):
            ways = np.flatnonzero(faces).tolist()
            if not ways:
                out.append(NEVER)
            elif len(ways) == 1:
                out.append(Row(self.bends + 1, normals[zone, ways[0]], float(offsets[zone, ways[0]])))
        return out

    @cached_property
    def zones(self) -> tuple[FloatArray, FloatArray, BoolArray]:
        """Forbidden zones that the terminal's end can be in, by their convex parts.

        Normals (Z, F, 3) and offsets (Z, F) of their faces, and beyond which of them the end can be (Z, F).
        """
        last = self.link.last
        zones = self.problem.zones.get(terminal_kind(last), ()) if self.link.end is None and last is not None else ()
        bodies = [body for zone in zones for body in zone.cover]
        if not bodies:
            return np.zeros((0, 0, 3)), np.zeros((0, 0)), np.zeros((0, 0), dtype=np.bool_)
        most = max(len(body.offsets) for body in bodies)
        normals, offsets = np.zeros((len(bodies), most, 3)), np.full((len(bodies), most), 1e9)
        for z, body in enumerate(bodies):
            normals[z, : len(body.offsets)], offsets[z, : len(body.offsets)] = body.normals, body.offsets
        reach = normals @ self.end_box.T
        inside = ~(reach.min(axis=2) >= offsets).any(axis=1)
        return normals[inside], offsets[inside], (reach.max(axis=2) >= offsets)[inside]

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
            ends = [End.on(leg, plane, crossing.true) for plane in (passage.mouth_a, passage.mouth_b)]
            for g, t in ((e, float(low[j])), (-e, -float(high[j]))):
                out += _strictest([end.row(g, t) for end in ends])
        return out + self._hub_rows(crossing, leg)

    def _hub_rows(self, crossing: Crossing, leg: int) -> list[Row]:
        """No hub stands in the wall: bends next to a cut keep the least any of them needs off its mouths."""
        elbows, gap = self.problem.elbows.values(), self.problem.gap_m
        out: list[Row] = []
        if not elbows:
            return out
        reach, radius = (np.array(m) for m in zip(*((e.reach_m, e.hub.hub_od_m / 2) for e in elbows), strict=True))
        for corner, (normal, offset), sign in (
            (leg, crossing.passage.mouth_a, -1),
            (leg + 1, crossing.passage.mouth_b, 1),
        ):
            if 1 <= corner <= self.bends:
                along = float(normal @ crossing.true)
                need = float(hub_clear_m(normal, crossing.true, reach, radius, gap).min()) * along
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
        leg = self.cut_leg[-1] if self.link.cuts else 0
        face = End.on(leg, crossing.passage.mouth_b, crossing.true).row(g, 0.0)
        return Row(last, -g, face.t - most, other=(face.corner, -face.g))


def _strictest(rows: Sequence[Row]) -> list[Row]:
    """Of rows on one corner those that no other of the same direction implies: mouths are mostly parallel."""
    kept: list[Row] = []
    for row in sorted(rows, key=lambda row: -row.t):
        if not any(np.array_equal(np.round(row.g - other.g, 12), np.zeros(3)) for other in kept):
            kept.append(row)
    return kept


def _mouth(leg: int, crossing: Crossing, radius: float, *, before: bool) -> End:
    """Where a leg's pipe is gone from the air before a crossing, or comes out behind it.

    Where the pipe is not square to the mouth some of its side is in the air a little farther than its axis.
    """
    normal, offset = crossing.passage.mouth_a if before else crossing.passage.mouth_b
    along = float(normal @ crossing.true)
    rim = radius * math.sqrt(max(0.0, 1.0 - along * along))
    return End(leg, (normal, offset + (rim if before else -rim)), crossing.true / along)


def _piece(leg: int, space: int, start: End, end: End, entered: Crossing | None, left: Crossing | None) -> Piece:
    faces, solids = entered.passage.pierced_b if entered else ((), ())
    more_faces, more_solids = left.passage.pierced_a if left else ((), ())
    return Piece(leg, space, start, end, frozenset(faces + more_faces), frozenset(solids + more_solids))


@dataclass(slots=True, eq=False)
class Strand:
    """A shape with its directions: (k + 1, 3) true ones, the bends' nominal angles and patterns, legs [m] with pipe."""

    shape: Shape
    dirs: FloatArray
    angles: tuple[float, ...]
    patterns: tuple[int, ...]  # numbers among the problem's patterns
    hub: FloatArray  # (k + 1,)
