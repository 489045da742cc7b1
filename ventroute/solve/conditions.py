"""What a strand's solution breaks: conditions that bind outright, and choices to branch on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ventroute.layout.building import Building
from ventroute.layout.framing import members
from ventroute.solve.bodies import Bodies
from ventroute.solve.directions import Directions
from ventroute.solve.problem import Link, Problem, direction_set, terminal_kind
from ventroute.solve.strands import NEVER, End, Piece, Row, Strand

FloatArray = NDArray[np.float64]

BORE_M = 0.003175  # a new hole is cut 1/8 in larger all round than the pipe: common practice
SLACK_M = 1e-7  # a condition broken by less is met
Branches = list[list[Row]]
Hub = tuple[int, int, FloatArray, float, float]


@dataclass(frozen=True, eq=False)
class Conditions:
    """The conditions of one problem, with what is worked out once for each space."""

    problem: Problem
    _bodies: dict[int, Bodies] = field(default_factory=dict)
    _directions: dict[tuple[str, ...], Directions] = field(default_factory=dict)
    _framing: list[Bodies] = field(default_factory=list)

    def bodies(self, space: int) -> Bodies:
        """The solids of a space, made on first use."""
        if space not in self._bodies:
            self._bodies[space] = Bodies.of_space(self.building.spaces[space])
        return self._bodies[space]

    @property
    def framing(self) -> Bodies:
        """Every joist, stud and rafter, which new holes miss."""
        if not self._framing:
            found = [body for framing in self.building.site.framing for body in members(framing)]
            everywhere = np.array(list(product((-1e4, 1e4), repeat=3)))
            self._framing.append(Bodies([(body, BORE_M, 0) for body in found], everywhere))
        return self._framing[0]

    def directions(self, link: Link) -> Directions:
        """The directions of a link, with the sequences found so far."""
        if link.key not in self._directions:
            self._directions[link.key] = direction_set(self.problem, link)
        return self._directions[link.key]

    @property
    def building(self) -> Building:
        """The house."""
        return self.problem.building

    def outright(self, strand: Strand, corners: FloatArray) -> list[Row]:
        """Broken conditions without a choice: hubs and pipe inside the space's hull."""
        corner, g, t = strand.walls
        broken = np.flatnonzero(np.einsum("ij,ij->i", g, corners[corner]) < t - SLACK_M)
        return [Row(int(corner[m]), g[m], float(t[m])) for m in broken]

    def choice(self, strand: Strand, corners: FloatArray) -> Branches | None:
        """The worst broken condition with a choice, as the rows of each child; None where all is well."""
        worst, branches = SLACK_M, None
        for space in range(len(strand.shape.link.spaces)):
            for depth, make in self._solids(strand, corners, space):
                if depth > worst:
                    worst, branches = depth, make
        if self.building.site.framing:
            for depth, make in self._members(strand, corners):
                if depth > worst:
                    worst, branches = depth, make
        if branches is None:
            branches = self._zones(strand, corners)
        if branches is None:
            branches = self._itself(strand, corners)
        return branches

    def _solids(self, strand: Strand, corners: FloatArray, space: int) -> Iterator[tuple[float, Branches]]:
        """Solids that a hub or a pipe of the strand comes too near in one space, with how far."""
        bodies = self.bodies(strand.shape.link.spaces[space])
        hubs = [hub for hub in strand.hubs if hub[1] == space]
        pieces = [piece for piece in strand.pieces if piece.space == space]
        a = [corners[h[0]] for h in hubs] + [p.start.point(corners) for p in pieces]
        b = [corners[h[0]] + h[3] * h[2] for h in hubs] + [p.end.point(corners) for p in pieces]
        radii = np.array([h[4] for h in hubs] + [self.problem.radius_m] * len(pieces))
        for i, body in bodies.near(np.array(a), np.array(b), radii):
            if i < len(hubs):
                yield from _hub_choice(bodies, body, hubs[i], a[i])
            elif int(bodies.solid[body]) not in pieces[i - len(hubs)].solids:
                piece = pieces[i - len(hubs)]
                yield from _piece_choice(bodies, body, piece, strand.dirs[piece.leg], a[i], b[i], radii[i])

    def _members(self, strand: Strand, corners: FloatArray) -> Iterator[tuple[float, Branches]]:
        """Members that a new hole would cut into."""
        radius = self.problem.radius_m
        for crossing, leg in zip(strand.shape.link.cuts, strand.shape.cut_leg, strict=True):
            u = strand.dirs[leg]
            ends = End(leg, crossing.passage.mouth_a, u), End(leg, crossing.passage.mouth_b, u)
            piece = Piece(leg, 0, *ends, frozenset(), frozenset())
            a, b = ends[0].point(corners), ends[1].point(corners)
            for _, body in self.framing.near(a[None], b[None], np.array([radius])):
                yield from _piece_choice(self.framing, body, piece, u, a, b, radius)

    def _zones(self, strand: Strand, corners: FloatArray) -> Branches | None:
        link = strand.shape.link
        if link.end is not None or link.last is None:
            return None
        end = corners[-1]
        for zone in self.problem.zones.get(terminal_kind(link.last), ()):
            for body in zone.cover:
                if float((body.normals @ end - body.offsets).max()) < -SLACK_M:
                    last = strand.shape.bends + 1
                    reached = strand.shape.reached(body)
                    return [[Row(last, body.normals[f], float(body.offsets[f]))] for f in reached]
        return None

    def _itself(self, strand: Strand, corners: FloatArray) -> Branches | None:
        """Legs that are not neighbours keep hub's width and gap apart; the last check, as it is rarely broken."""
        radius = self.problem.kit.hub_od_m / 2
        apart = 2 * radius + self.problem.gap_m
        legs = len(strand.dirs)
        for i in range(legs):
            for j in range(i + 3, legs):
                p, q = corners[i : i + 2], corners[j : j + 2]
                normals = _between(strand.dirs[i], strand.dirs[j])
                gap = (q @ normals.T).min(axis=0) - (p @ normals.T).max(axis=0)
                if gap.max() < apart - SLACK_M:
                    return [[NEVER]]
        return None


def _hub_choice(bodies: Bodies, body: int, hub: Hub, at: FloatArray) -> Iterator[tuple[float, Branches]]:
    corner, _, u, reach, radius = hub
    n, t = bodies.planes(body, u, radius)
    t = t - np.minimum(0.0, reach * (n @ u))
    depth = float((t - n @ at).min(initial=np.inf))
    if depth > SLACK_M:
        yield depth, [[Row(corner, n[q], float(t[q]))] for q in range(len(t))]


def _piece_choice(
    bodies: Bodies, body: int, piece: Piece, u: FloatArray, a: FloatArray, b: FloatArray, radius: float
) -> Iterator[tuple[float, Branches]]:
    n, t = bodies.planes(body, u, radius)
    depth = float((t - np.minimum(n @ a, n @ b)).min(initial=np.inf))
    if depth > SLACK_M:
        forward = n @ u
        yield depth, [_piece_rows(piece, n[q], float(t[q]), forward[q]) for q in range(len(t))]


def _piece_rows(piece: Piece, n: FloatArray, t: float, forward: float) -> list[Row]:
    """Both ends beyond the plane; where the piece heads away from it, its start is enough."""
    if forward > 1e-12:
        return [piece.start.row(n, t)]
    return [piece.end.row(n, t)] if forward < -1e-12 else [piece.start.row(n, t)]


def _between(u: FloatArray, v: FloatArray) -> FloatArray:
    """Normals that may separate two straight pieces of these directions."""
    normals = [*np.eye(3), *-np.eye(3)]
    across = np.cross(u, v)
    size = float(np.linalg.norm(across))
    if size > 1e-6:
        normals += [across / size, -across / size]
    return np.array(normals)
