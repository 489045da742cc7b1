"""What a strand's solution breaks: conditions that bind outright, and choices to branch on."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ventroute.layout.building import Building
from ventroute.solve.bodies import Bodies
from ventroute.solve.problem import Problem, terminal_kind
from ventroute.solve.strands import Piece, Row, Strand

FloatArray = NDArray[np.float64]

SLACK_M = 1e-7  # a condition broken by less is met
Branches = list[list[Row]]


@dataclass(frozen=True, eq=False)
class Conditions:
    """The conditions of one problem, with what is worked out once for each space."""

    problem: Problem
    _bodies: dict[int, Bodies] = field(default_factory=dict)

    def bodies(self, space: int) -> Bodies:
        """The solids of a space, made on first use."""
        if space not in self._bodies:
            self._bodies[space] = Bodies(self.building.spaces[space])
        return self._bodies[space]

    @property
    def building(self) -> Building:
        """The house."""
        return self.problem.building

    def outright(self, strand: Strand, corners: FloatArray) -> list[Row]:
        """Broken conditions without a choice: hubs and pipe inside the space's hull."""
        out: list[Row] = []
        gap = self.problem.want.gap_m
        for corner, space, u, reach, radius in strand.hubs:
            container = self.building.spaces[strand.shape.link.spaces[space]].container
            along = container.normals @ u
            rim = radius * np.sqrt(np.maximum(0.0, 1.0 - along * along))
            limit = container.offsets - gap - rim - np.maximum(0.0, reach * along)
            for f in np.flatnonzero(container.normals @ corners[corner] > limit + SLACK_M):
                out.append(Row(corner, -container.normals[f], -float(limit[f])))
        for piece in strand.pieces:
            out += self._piece_in_hull(strand, piece, corners)
        return out

    def _piece_in_hull(self, strand: Strand, piece: Piece, corners: FloatArray) -> list[Row]:
        container = self.building.spaces[strand.shape.link.spaces[piece.space]].container
        along = container.normals @ strand.dirs[piece.leg]
        rim = self.problem.radius_m * np.sqrt(np.maximum(0.0, 1.0 - along * along))
        limit = container.offsets - self.problem.want.gap_m - rim
        out: list[Row] = []
        for end in (piece.start, piece.end):
            for f in np.flatnonzero(container.normals @ end.point(corners) > limit + SLACK_M):
                if int(f) not in piece.faces:
                    out.append(end.row(-container.normals[f], -float(limit[f])))
        return out

    def choice(self, strand: Strand, corners: FloatArray) -> Branches | None:
        """The worst broken condition with a choice, as the rows of each child; None where all is well."""
        worst, branches = SLACK_M, None
        for depth, make in (*self._hubs(strand, corners), *self._pieces(strand, corners)):
            if depth > worst:
                worst, branches = depth, make
        if branches is None:
            branches = self._zones(strand, corners) or self._itself(strand, corners)
        return branches

    def _hubs(self, strand: Strand, corners: FloatArray) -> list[tuple[float, Branches]]:
        out: list[tuple[float, Branches]] = []
        for corner, space, u, reach, radius in strand.hubs:
            bodies = self.bodies(strand.shape.link.spaces[space])
            at = corners[corner]
            for body in bodies.near(at, at + reach * u, radius):
                n, t = bodies.planes(int(body), u, radius)
                t = t - np.minimum(0.0, reach * (n @ u))
                depth = float((t - n @ at).min())
                if depth > SLACK_M:
                    out.append((depth, [[Row(corner, n[q], float(t[q]))] for q in range(len(t))]))
        return out

    def _pieces(self, strand: Strand, corners: FloatArray) -> list[tuple[float, Branches]]:
        out: list[tuple[float, Branches]] = []
        for piece in strand.pieces:
            bodies = self.bodies(strand.shape.link.spaces[piece.space])
            a, b = piece.start.point(corners), piece.end.point(corners)
            u = strand.dirs[piece.leg]
            for body in bodies.near(a, b, self.problem.radius_m):
                if int(bodies.solid[body]) in piece.solids:
                    continue
                n, t = bodies.planes(int(body), u, self.problem.radius_m)
                depth = float((t - np.minimum(n @ a, n @ b)).min())
                if depth > SLACK_M:
                    forward = n @ u
                    out.append((depth, [_piece_rows(piece, n[q], float(t[q]), forward[q]) for q in range(len(t))]))
        return out

    def _zones(self, strand: Strand, corners: FloatArray) -> Branches | None:
        link = strand.shape.link
        if link.end is not None or link.last is None:
            return None
        end = corners[-1]
        for zone in self.problem.zones.get(terminal_kind(link.last), ()):
            for body in zone.cover:
                if float((body.normals @ end - body.offsets).max()) < -SLACK_M:
                    last = strand.shape.bends + 1
                    return [[Row(last, n, float(o))] for n, o in zip(body.normals, body.offsets, strict=True)]
        return None

    def _itself(self, strand: Strand, corners: FloatArray) -> Branches | None:
        """Legs that are not neighbours keep hub's width and gap apart; the last check, as it is rarely broken."""
        radius = self.problem.kit.hub_od_m / 2
        apart = 2 * radius + self.problem.want.gap_m
        legs = len(strand.dirs)
        for i in range(legs):
            for j in range(i + 3, legs):
                p, q = corners[i : i + 2], corners[j : j + 2]
                normals = _between(strand.dirs[i], strand.dirs[j])
                gap = (q @ normals.T).min(axis=0) - (p @ normals.T).max(axis=0)
                if gap.max() < apart - SLACK_M:
                    return None if legs < 4 else [[_never()]]
        return None


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


def _never() -> Row:
    return Row(0, np.zeros(3), 1.0)
