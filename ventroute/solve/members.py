"""Links whose strands are kept together: what each has of its own, and the same of all of them as arrays."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.bodies import Pool
from ventroute.solve.conditions import Conditions
from ventroute.solve.directions import Sides
from ventroute.solve.fittings import Fittings
from ventroute.solve.links import Link
from ventroute.solve.rows import Rows
from ventroute.solve.strands import End, Piece, Shape
from ventroute.solve.stretches import Stretches

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_FAR_M = 1e3  # offset of a face that is none


class Member:
    """A link with so many bends in each of its spaces."""

    def __init__(self, conditions: Conditions, link: Link, fittings: Fittings, counts: tuple[int, ...]) -> None:
        self.conditions, self.link, self.fittings = conditions, link, fittings
        self.shape = Shape(conditions.problem, link, counts)
        self.dirs = conditions.dirs(link)
        self.first = conditions.common.bends.first(fittings)  # number of its first bend among those of the house
        self.angles = fittings.angle[: fittings.angles]  # of that and the next ones [deg]

    @property
    def ends_m(self) -> FloatArray:
        """`Shape.ends_m`, worked out once for all numbers of bends."""
        known, key = self.conditions.ends_m, (self.link.key, 0 in self.shape.cut_leg, self.fittings.key)
        if key not in known:
            known[key] = self.shape.ends_m(self.fittings)
        return known[key]

    @property
    def sides(self) -> Sides:
        """Where the directions of a link with a fixed end lie."""
        return self.conditions.sides(self.link)

    @property
    def clear(self) -> bool:
        """Whether pipe at its fixed ends keeps inside the hulls of its spaces: with one bend as with any more."""
        known, key = self.conditions.clear, (self.link.key, self.shape.bends == 0)
        if key not in known:
            known[key] = self.shape.clear
        return known[key]

    def hubs(self, space: int) -> list[tuple[int, int, float]]:
        """The hubs in one of its spaces: the bend, the leg it lies on, and -1 where it looks back along that."""
        bends = [bend for bend, at in enumerate(self.shape.corner_space) if at == space]
        return [(bend, leg, sign) for bend in bends for leg, sign in ((bend, -1.0), (bend + 1, 1.0))]

    def pipe(self, space: int) -> tuple[Pool, list[Piece]]:
        """The pipe in one of its spaces, and what is to be missed there."""
        pieces = [piece for piece in self.shape.pieces if piece.space == space]
        return self.conditions.pool(self.link, self.link.spaces[space]), pieces

    def bored(self) -> tuple[Pool, list[Piece]]:
        """What is bored, and the framing to be missed there."""
        out = []
        for crossing, leg in zip(self.link.cuts, self.shape.cut_leg, strict=True):
            mouths = crossing.passage.mouth_a, crossing.passage.mouth_b
            a, b = (End.on(leg, mouth, crossing.true) for mouth in mouths)
            out.append(Piece(leg, 0, a, b, frozenset(), frozenset()))
        return self.conditions.pool(self.link, None), out


class Stacked:
    """L members, what they have as arrays."""

    def __init__(self, members: Sequence[Member]) -> None:
        self._members = list(members)

    @cached_property
    def start_m(self) -> FloatArray:
        """Where they start, (L, 3)."""
        return np.array([member.link.start_m for member in self._members])

    @cached_property
    def end_m(self) -> FloatArray | None:
        """Where they end, (L, 3), None where that is open."""
        crossings = [member.link.end for member in self._members]
        ends = [crossing.centre_m for crossing in crossings if crossing and crossing.centre_m is not None]
        return np.array(ends) if ends else None

    @cached_property
    def bare_m(self) -> FloatArray:
        """Least lengths without bends, (L,)."""
        return np.array([member.shape.bare_m for member in self._members])

    @cached_property
    def gap_m(self) -> FloatArray:
        """The gaps that are wanted, (L,)."""
        return np.array([member.shape.problem.gap_m for member in self._members])

    @cached_property
    def radius_m(self) -> FloatArray:
        """Outside radii of their pipes, (L,)."""
        return np.array([member.shape.problem.radius_m for member in self._members])

    @cached_property
    def apart_m(self) -> FloatArray:
        """How far apart the axes of legs keep that are not neighbours, (L,)."""
        problems = [member.shape.problem for member in self._members]
        return np.array([problem.kit.hub_od_m + problem.gap_m for problem in problems])

    @cached_property
    def ends_m(self) -> FloatArray:
        """`Shape.ends_m` of all, (3, L, S), over the bends of the house; infinite for those of others."""
        own = [(member.first, member.ends_m) for member in self._members]
        out = np.full((3, len(own), max(first + ends_m.shape[1] for first, ends_m in own)), np.inf)
        for i, (first, ends_m) in enumerate(own):
            out[:, i, first : first + ends_m.shape[1]] = ends_m
        return out

    @cached_property
    def rows(self) -> Rows:
        """`Shape.rows` of all."""
        shapes = [member.shape for member in self._members]
        return Rows.of([shape.rows for shape in shapes], shapes[0].bends + 1)

    @cached_property
    def end_rows(self) -> Rows:
        """`Shape.end_rows` of all."""
        shapes = [member.shape for member in self._members]
        return Rows.of([shape.end_rows for shape in shapes], shapes[0].bends + 1)

    @cached_property
    def zones(self) -> tuple[FloatArray, FloatArray, BoolArray]:
        """`Shape.zones` of all, (L, Z, F, 3), (L, Z, F), (L, Z, F), filled up with zones that no end is in."""
        found = [member.shape.zones for member in self._members]
        most = max(len(offsets) for _, offsets, _ in found), max(offsets.shape[1] for _, offsets, _ in found)
        normals, offsets = np.zeros((len(found), *most, 3)), np.full((len(found), *most), -_FAR_M)
        open_ = np.zeros((len(found), *most), dtype=np.bool_)
        for i, zones in enumerate(found):
            count, faces = zones[1].shape
            offsets[i, :count, faces:] = _FAR_M
            for all_of, own in zip((normals, offsets, open_), zones, strict=True):
                all_of[i, :count, :faces] = own
        return normals, offsets, open_

    @cached_property
    def stretches(self) -> tuple[Stretches, ...]:
        """Hubs and pipe, by the spaces that members go through, and what they bore where there is framing."""
        first, members = self._members[0], self._members
        spaces = range(len(first.link.spaces))
        out = [Stretches.of(first.hubs(space), [member.pipe(space) for member in members]) for space in spaces]
        if first.link.cuts and first.conditions.building.site.framing:
            out.append(Stretches.of([], [member.bored() for member in members]))
        return tuple(stretches for stretches in out if not stretches.spared.all())

    @cached_property
    def hulls(self) -> tuple[tuple[FloatArray, FloatArray], ...]:
        """The faces of the hull of each space: (L, F, 3) normals and (L, F) offsets."""
        return tuple(self._hulls(space) for space in range(len(self._members[0].link.spaces)))

    def _hulls(self, space: int) -> tuple[FloatArray, FloatArray]:
        spaces = self._members[0].conditions.building.spaces
        hulls = [spaces[member.link.spaces[space]].container for member in self._members]
        most = max(len(hull.offsets) for hull in hulls)
        normals, offsets = np.zeros((len(hulls), most, 3)), np.full((len(hulls), most), _FAR_M)
        for i, hull in enumerate(hulls):
            normals[i, : len(hull.offsets)], offsets[i, : len(hull.offsets)] = hull.normals, hull.offsets
        return normals, offsets
