"""Rooms as open air: cells under ceilings and roofs, joined where they are open to each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ventroute.constants import FOOT_M, MEET_M
from ventroute.errors import Fault, GeometryError
from ventroute.geometry.pieces import joined, share_air
from ventroute.geometry.polygon import convex_parts
from ventroute.geometry.polytope import Polytope
from ventroute.layout.roofs import Slope
from ventroute.layout.solids import Solid
from ventroute.model.site import Room, Site

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

BARE_M2 = 1e-6  # a square millimetre of plan without a roof is a rounding error
SPECK_M3 = 1e-9  # a cubic millimetre of overlap is a rounding error


@dataclass(frozen=True, slots=True, eq=False)
class Faces:
    """The faces of the bodies of a space's solids, body by body.

    ``bodies`` (b), ``owner`` (b,) the number of the solid that each is of, ``first`` (b,) where its faces start;
    ``offsets`` (f,) [m] of the faces and ``way`` (f,) the row in ``normals`` (k, 3) of the way each looks: few, mostly.
    """

    bodies: tuple[Polytope, ...]
    owner: IntArray
    first: IntArray
    normals: FloatArray
    way: IntArray
    offsets: FloatArray

    @classmethod
    def of(cls, solids: Sequence[Solid]) -> Faces:
        """The faces of solids that have at least one body between them."""
        pairs = [(k, body) for k, solid in enumerate(solids) for body in solid.bodies]
        bodies = tuple(body for _, body in pairs)
        normals, way = np.unique(np.concatenate([body.normals for body in bodies]), axis=0, return_inverse=True)
        first = np.cumsum([0, *(len(body.offsets) for body in bodies[:-1])])
        owner = np.array([k for k, _ in pairs], dtype=np.intp)
        return cls(bodies, owner, first, normals, way, np.concatenate([body.offsets for body in bodies]))


@dataclass(frozen=True, eq=False)
class Space:
    """Open air that pipe may run in: the convex ``container`` less ``solids``.

    Rooms that share a face or overlap are one space. ``heated`` is whether all of its rooms are.
    """

    index: int
    name: str
    rooms: tuple[str, ...]
    outdoors: bool
    heated: bool
    container: Polytope
    solids: tuple[Solid, ...]

    def is_air(self, point: FloatArray) -> bool:
        """Whether the point (3,) [m] lies in the container and in no solid of it; surfaces count as air."""
        return self.container.holds(point, MEET_M) and not any(s.holds(point) for s in self.solids)

    @cached_property
    def construction(self) -> tuple[Polytope, ...]:
        """The bodies of what is built."""
        return tuple(body for solid in self.solids if solid.kind == "construction" for body in solid.bodies)

    @cached_property
    def faces(self) -> Faces | None:
        """The faces of its solids, None where it has none."""
        return Faces.of(self.solids) if any(solid.bodies for solid in self.solids) else None


@dataclass(frozen=True, slots=True, eq=False)
class RoomCells:
    """A room and the convex cells of its air."""

    room: Room
    cells: tuple[Polytope, ...]


def room_cells(site: Site, slopes: Sequence[Slope], faults: list[Fault]) -> tuple[RoomCells, ...]:
    """The air of every room in convex cells; a room that cannot be is a fault."""
    found = []
    for n, room in enumerate(site.rooms, 1):
        try:
            cells = _flat(room) if room.top_m is not None else _under(room, n, slopes, faults)
        except GeometryError as error:
            faults.append(Fault("", 0, f"room[{n}].floor", f"{error}"))
            continue
        if cells:
            found.append(RoomCells(room, cells))
    return tuple(found)


def _flat(room: Room) -> tuple[Polytope, ...]:
    if room.top_m is None or room.top_m - room.bottom_m <= MEET_M:
        raise GeometryError("a room has no height; a top above its bottom is wanted")
    return tuple(Polytope.prism(part, room.bottom_m, room.top_m) for part in convex_parts(room.floor))


def _under(room: Room, n: int, slopes: Sequence[Slope], faults: list[Fault]) -> tuple[Polytope, ...]:
    """The cells of a room that goes up to the roof: one for each slope over it, less the slabs of other slopes."""
    floor = convex_parts(room.floor)
    bare = uncovered_m2(floor, slopes)
    if bare > BARE_M2:
        what = f"no roof over {bare / FOOT_M**2:.3g} ft2 of the room; a z, or a roof over all of it, is wanted"
        faults.append(Fault("", 0, f"room[{n}].top", what))
        return ()
    cells: list[Polytope] = []
    for slope in slopes:
        others = [slab for other in slopes if other is not slope for slab in other.slabs()]
        for part in floor:
            for cell in under_slope(part, room.bottom_m, slope, slope.underside):
                cells += cell.subtract(others)
    if not cells:
        faults.append(Fault("", 0, f"room[{n}].bottom", "the room is above the roof's underside; lower it"))
    return tuple(cells)


def under_slope(part: FloatArray, bottom_m: float, slope: Slope, offset: float) -> tuple[Polytope, ...]:
    """What stands on a convex plan under the slope's plan and below a plane parallel to it."""
    top = slope.high_m + 1
    if top - bottom_m <= MEET_M:
        return ()
    body = Polytope.prism(part, bottom_m, top)
    parts = [body.intersect(column) for column in slope.columns(bottom_m - 1, top + 1)]
    cut = [piece.clip(slope.normal, offset) for piece in parts if piece is not None]
    return tuple(piece for piece in cut if piece is not None)


def uncovered(plan: Sequence[FloatArray], slopes: Sequence[Slope]) -> tuple[Polytope, ...]:
    """Prisms of height 1 m over the parts of the plan that no slope lies over."""
    columns = [column for slope in slopes for column in slope.columns(-1, 2)]
    return tuple(piece for part in plan for piece in Polytope.prism(part, 0, 1).subtract(columns))


def uncovered_m2(plan: Sequence[FloatArray], slopes: Sequence[Slope]) -> float:
    """Area [m2] of the plan that no slope lies over."""
    return sum(piece.volume_m3 for piece in uncovered(plan, slopes))


def joined_spaces(rooms: Sequence[RoomCells], gap_m: float) -> tuple[Space, ...]:
    """Spaces of rooms that are open to each other, in order of their first room."""
    return tuple(_space(index, group, gap_m) for index, group in enumerate(_groups(rooms)))


def _groups(rooms: Sequence[RoomCells]) -> list[list[RoomCells]]:
    label = list(range(len(rooms)))
    for i, first in enumerate(rooms):
        for j in range(i):
            if label[i] != label[j] and any(share_air(a, b) for a in first.cells for b in rooms[j].cells):
                low, high = sorted((label[i], label[j]))
                label = [low if k == high else k for k in label]
    return [[room for room, k in zip(rooms, label, strict=True) if k == n] for n in sorted(set(label))]


def _space(index: int, group: Sequence[RoomCells], gap_m: float) -> Space:
    names = tuple(cells.room.name for cells in group)
    cells = joined([cell for member in group for cell in member.cells])
    container = cells[0] if len(cells) == 1 else Polytope.hull(np.vstack([cell.vertices for cell in cells]))
    rest = () if len(cells) == 1 else joined(container.subtract(sorted(cells, key=lambda c: -c.volume_m3)))
    solids = tuple(Solid("construction", "construction", (piece,), gap_m) for piece in rest)
    heated = all(member.room.heated for member in group)
    return Space(index, " + ".join(names), names, False, heated, container, solids)
