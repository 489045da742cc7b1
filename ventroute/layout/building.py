"""A site as solids: spaces of open air, and the passages between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ventroute.constants import INCH_M, MEET_M
from ventroute.errors import Fault, InputError
from ventroute.geometry.polytope import Polytope
from ventroute.layout.outside import building_blocks, outdoors
from ventroute.layout.passages import Passage, cuts, holes
from ventroute.layout.roofs import Slope, slopes
from ventroute.layout.solids import Cylinder, Mesh, Solid, extent, obstacles, solid_features
from ventroute.layout.spaces import SPECK_M3, RoomCells, Space, joined_spaces, room_cells
from ventroute.model.appliance import Vec3
from ventroute.model.site import Obstacle, Site
from ventroute.units import format_length

__all__ = ["Building", "Cylinder", "Mesh", "Passage", "Solid", "Space", "build", "construction_mesh", "mesh_of"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Building:
    """The house of a site: its spaces in order of index, outdoors last, and each passage once.

    ``memo`` is for what others work out once for the house.
    """

    site: Site
    spaces: tuple[Space, ...]
    passages: tuple[Passage, ...]
    rooms: tuple[RoomCells, ...]
    slopes: tuple[Slope, ...]
    memo: dict[tuple[object, ...], Any] = field(default_factory=dict, repr=False)

    @property
    def outdoors(self) -> Space:
        """The space outside."""
        return self.spaces[-1]

    def space_named(self, room: str) -> Space | None:
        """The space that a room is part of, None where there is no such room."""
        return next((space for space in self.spaces if room in space.rooms), None)

    def space_at(self, point: Vec3 | FloatArray) -> Space | None:
        """The space whose air holds the point [m], surfaces included; None in a solid."""
        at = np.asarray(point, float)
        return next((space for space in self.spaces if space.is_air(at)), None)

    def room_at(self, point: Vec3 | FloatArray) -> str | None:
        """The room that holds the point [m], ``outdoors`` outside, None in construction."""
        at = np.asarray(point, float)
        room = next((m.room.name for m in self.rooms if any(cell.holds(at, MEET_M) for cell in m.cells)), None)
        if room is None and self.outdoors.container.holds(at, MEET_M):
            built = self.outdoors.construction
            return None if any(body.holds(at, -MEET_M) for body in built) else "outdoors"
        return room

    @cached_property
    def standing_out(self) -> tuple[tuple[Obstacle, FloatArray, FloatArray], ...]:
        """Obstacles that do not end inside a room, each with its least and greatest corner (3,) [m]."""
        found = []
        for thing in self.site.obstacles:
            low, high = extent(thing)
            if self.room_at(np.array([*(low + high)[:2] / 2, high[2]])) in ("outdoors", None):
                found.append((thing, low, high))
        return tuple(found)


def build(site: Site) -> Building:
    """The house as solids.

    Raises
    ------
    InputError
        Everything that makes no house, all at once: rooms without height or outside the walls, roofs that are not
        flat or do not cover, holes through nothing, a collar in a solid. Keys are those of the site file.
    """
    faults: list[Fault] = []
    planes = slopes(site.roofs, faults)
    blocks = building_blocks(site, planes, faults)
    rooms = room_cells(site, planes, faults) if not faults else ()
    things = obstacles(site, faults)
    if not faults:
        _check_inside(rooms, blocks, planes, site, faults)
    if not site.rooms:
        faults.append(Fault("", 0, "room", "there is no room; the appliance stands in one"))
    if faults:
        raise InputError(faults)
    inside = joined_spaces(rooms, site.want.gap_m)
    outside = outdoors(len(inside), site, blocks, planes, solid_features(site, faults))
    spaces = tuple(_with_things(space, things) for space in (*inside, outside))
    passages = (*holes(site.holes, spaces, faults), *cuts(site.cuts, spaces, faults))
    building = Building(site, spaces, passages, rooms, planes)
    _check_collar(building, faults)
    if faults:
        raise InputError(faults)
    return building


def _with_things(space: Space, things: Sequence[Solid]) -> Space:
    """The space with every thing that pipe in its air could come too near."""
    built = space.construction
    here = [s for s in things if any(_near(body, space.container, built, s.gap_m) for body in s.bodies)]
    return replace(space, solids=(*space.solids, *here))


def _near(body: Polytope, container: Polytope, built: Sequence[Polytope], gap_m: float) -> bool:
    """Whether a body comes within its gap of the container, and is not deeper than that in construction."""
    if not container.meets_box(body.span, gap_m):
        return False
    ahead = (container.normals @ body.vertices.T - container.offsets[:, None]).min(axis=1)
    if ahead.max() >= gap_m - MEET_M:
        return False
    return not any(float(wall.depths(body.vertices).min()) >= gap_m for wall in built)


def _check_inside(
    rooms: Sequence[RoomCells],
    blocks: Sequence[Polytope],
    planes: Sequence[Slope],
    site: Site,
    faults: list[Fault],
) -> None:
    """Rooms lie inside the building and do not reach into its roofs."""
    number = {room.name: n for n, room in enumerate(site.rooms, 1)}
    slabs = [slab for plane in planes for slab in plane.slabs()]
    for member in rooms:
        key = f"room[{number[member.room.name]}]"
        out = [piece for cell in member.cells for piece in cell.subtract(blocks)]
        if sum(piece.volume_m3 for piece in out) > SPECK_M3:
            faults.append(Fault("", 0, key, _outside_where(np.vstack([p.vertices for p in out]), site)))
            continue
        for slab, cell in ((slab, cell) for slab in slabs for cell in member.cells):
            shared = cell.intersect(slab)
            if shared is not None and shared.volume_m3 > SPECK_M3:
                what = 'the room reaches into the roof; a lower z, or top = "roof", is wanted'
                faults.append(Fault("", 0, f"{key}.top", what))
                break


def _outside_where(corners: FloatArray, site: Site) -> str:
    """What to say of a room that reaches out of the building, from the corners of what is outside."""
    if corners[:, 2].min() < site.building.bottom_m - MEET_M:
        return "the room reaches below the building's bottom; a lower building.bottom is wanted"
    x, y, z = corners.mean(axis=0)
    where = ", ".join(f"{name} {format_length(at)}" for name, at in (("near x", x), ("y", y), ("z", z)))
    return f"the room reaches outside the building ({where}); it must lie within the footprint and under roof or top"


def _check_collar(building: Building, faults: list[Fault]) -> None:
    """The collar has air of a room before it."""
    appliance = building.site.appliance
    at, way = np.asarray(appliance.collar_m, float), np.asarray(appliance.faces, float)
    key = "appliance.collar"
    ahead = at + way * appliance.collar_size_in * INCH_M / 2
    room = building.room_at(at)
    if room is None:
        faults.append(Fault("", 0, key, "the collar is inside construction; a point in a room is wanted"))
    elif room == "outdoors":
        faults.append(Fault("", 0, key, "the collar is outdoors; a point in a room is wanted"))
    elif building.room_at(ahead) in (None, "outdoors"):
        what = "the collar faces straight into construction; a point with air before it is wanted"
        faults.append(Fault("", 0, key, what))
    else:
        space = building.space_named(room)
        for solid in space.solids if space is not None else ():
            if solid.holds(at) or solid.holds(ahead):
                what = f'the collar is inside "{solid.name}", or faces into it; a point in open air is wanted'
                faults.append(Fault("", 0, key, what))


def construction_mesh(space: Space) -> FloatArray:
    """Triangles (t, 3, 3) [m] round the free air of a space: its container, and its construction turned inside out.

    The signed volume they enclose is the volume of the air; faces where both meet are there twice, facing each other.
    """
    turned = (body.triangles()[:, ::-1] for body in space.construction)
    return np.concatenate([space.container.triangles(), *turned])


def mesh_of(building: Building) -> dict[str, FloatArray]:
    """Triangles (t, 3, 3) [m] of the air of every space but the outdoors, by the space's name."""
    return {space.name: construction_mesh(space) for space in building.spaces if not space.outdoors}
