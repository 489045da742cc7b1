"""The house as shapes: rooms, walls, roofs, holes, cuts, obstacles, features and keep-outs as they were entered."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ventroute.model.site import Cut, Hole, Obstacle, Room, Site
from ventroute.units import format_length as length
from ventroute.units import format_size

from . import solids
from .shape import FloatArray, Shape, ident

if TYPE_CHECKING:
    from ventroute.layout.building import Building

BARRIER_M = 0.30  # how long a hole is drawn where the barrier it crosses is not known
AROUND_M = 2.5  # ground drawn beyond the walls
STUB_M = 0.25  # the collar; the appliance's own body is not known


def house_shapes(site: Site, building: Building | None, units: str) -> list[Shape]:
    """Everything of the house, in the order of the site file."""
    return [
        *_outside(site),
        *_rooms(site, building, units),
        *(_roof(n, roof.name, roof.corners, roof.thickness_m, units) for n, roof in enumerate(site.roofs, 1)),
        *(_hole(n, hole, building, units) for n, hole in enumerate(site.holes, 1)),
        *(_cut(n, cut, units) for n, cut in enumerate(site.cuts, 1)),
        *(_obstacle(n, thing, site, units) for n, thing in enumerate(site.obstacles, 1)),
        *_boxes(site, units),
        _collar(site, units),
    ]


def obstacle_triangles(obstacle: Obstacle) -> FloatArray:
    """The surface of an obstacle: box, cylinder, or the mesh that was read."""
    if obstacle.corner is not None and obstacle.size is not None:
        return solids.box(obstacle.corner, obstacle.size)
    if obstacle.ends is not None and obstacle.diameter_m is not None:
        return solids.tube(obstacle.ends, obstacle.diameter_m / 2.0)
    return np.array(obstacle.triangles, float).reshape(-1, 3, 3)


def room_triangles(room: Room, building: Building | None, site: Site) -> FloatArray:
    """The inside of a room: its prism, or its cells under the roof as the building found them."""
    if room.top_m is not None:
        return solids.prism(room.floor, room.bottom_m, room.top_m)
    member = next((m for m in building.rooms if m.room.name == room.name), None) if building else None
    if member is not None:
        return solids.join([cell.triangles() for cell in member.cells])
    heights = [corner[2] for roof in site.roofs for corner in roof.corners]
    return solids.prism(room.floor, room.bottom_m, max([room.bottom_m + 0.1, *heights]))


def _outside(site: Site) -> list[Shape]:
    footprint = np.array(site.building.footprint, float)
    low, high = footprint.min(axis=0) - AROUND_M, footprint.max(axis=0) + AROUND_M
    around = [(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])]
    grade_m = site.place.grade_m
    eaves = [corner[2] for roof in site.roofs for corner in roof.corners]
    top_m = site.building.top_m if site.building.top_m is not None else min(eaves, default=grade_m)
    shapes = [Shape("ground_1", "ground", "ground", "finished grade", solids.plate([around, footprint], grade_m))]
    walls = solids.wall(footprint, site.building.bottom_m, top_m)
    return [*shapes, Shape("building_1", "outside walls", "building", "outside faces of the walls", walls)]


def _rooms(site: Site, building: Building | None, units: str) -> list[Shape]:
    shapes = []
    for n, room in enumerate(site.rooms, 1):
        triangles = room_triangles(room, building, site)
        wide = np.ptp(np.array(room.floor), axis=0)
        said = f"{'heated' if room.heated else 'unheated'}; {length(wide[0], units)} by {length(wide[1], units)}"
        if room.top_m is not None:
            said += f", {length(room.top_m - room.bottom_m, units)} high"
        look = "room" if room.heated else "cold_room"
        shapes.append(Shape(ident("room", n), room.name, look, said, triangles, label=_middle(triangles, 0.12)))
    return shapes


def _roof(n: int, name: str, corners: object, thickness_m: float, units: str) -> Shape:
    said = f"roof, {length(thickness_m, units)} thick"
    return Shape(ident("roof", n), name, "roof", said, solids.slab(corners, thickness_m))  # type: ignore[arg-type]


def _hole(n: int, hole: Hole, building: Building | None, units: str) -> Shape:
    start, end = _hole_ends(hole, building)
    said = f"existing hole, {length(hole.clear_m, units)} clear, {hole.through[0]} to {hole.through[1]}"
    radius_m = hole.clear_m / 2.0
    triangles = solids.cone(start, end, radius_m, radius_m)
    return Shape(ident("hole", n), hole.name, "hole", said, triangles, label=_middle(triangles))


def _hole_ends(hole: Hole, building: Building | None) -> tuple[FloatArray, FloatArray]:
    """Where the axis enters and leaves the construction."""
    at, axis = np.array(hole.at, float), np.array(hole.axis, float)
    passage = next((p for p in building.passages if p.name == hole.name), None) if building else None
    if passage is None:
        return at - axis * BARRIER_M / 2, at + axis * BARRIER_M / 2
    point, along = np.asarray(passage.point, float), np.asarray(passage.axis, float)
    ends = [point + along * _reach(point, along, plane) for plane in (passage.mouth_a, passage.mouth_b)]
    return ends[0], ends[1]


def _reach(point: FloatArray, along: FloatArray, plane: tuple[object, float]) -> float:
    normal = np.asarray(plane[0], float)
    return float((plane[1] - normal @ point) / (normal @ along))


def _cut(n: int, cut: Cut, units: str) -> Shape:
    triangles = solids.box(cut.corner, cut.size)
    said = f"a new hole may be cut here, {cut.through[0]} to {cut.through[1]}"
    said += f"; making and sealing costs {cut.cost:g}" if cut.cost else ""
    return Shape(ident("cut", n), cut.name, "cut", said, triangles, label=_middle(triangles))


def _obstacle(n: int, thing: Obstacle, site: Site, units: str) -> Shape:
    gap_m = site.want.gap_m if thing.gap_m is None else thing.gap_m
    triangles = obstacle_triangles(thing)
    said = f"obstacle; stay {length(gap_m, units)} clear"
    return Shape(ident("obstacle", n), thing.name, "obstacle", said, triangles, label=_middle(triangles))


def _boxes(site: Site, units: str) -> list[Shape]:
    shapes = []
    for n, feature in enumerate(site.features, 1):
        triangles = solids.box(feature.corner, feature.size)
        mark = _middle(triangles)
        shapes.append(Shape(ident("feature", n), feature.name, "feature", feature.kind, triangles, label=mark))
    for n, keep in enumerate(site.keep_outs, 1):
        what = {"terminal": "no terminal", "route": "no pipe", "both": "no pipe and no terminal"}[keep.applies]
        triangles = solids.box(keep.corner, keep.size)
        said = f"{what} in here"
        shapes.append(Shape(ident("keep_out", n), keep.name, "keep_out", said, triangles, label=_middle(triangles)))
    return shapes


def _collar(site: Site, units: str) -> Shape:
    unit = site.appliance
    at, faces = np.array(unit.collar_m, float), np.array(unit.faces, float)
    radius_m = unit.collar_size_in * 0.0254 * 0.6
    foot = solids.cone(at - faces * STUB_M, at - faces * STUB_M * 0.5, radius_m * 2.2, radius_m * 1.2)
    triangles = solids.join([foot, solids.cone(at - faces * STUB_M * 0.5, at, radius_m, radius_m)])
    where = ", ".join(length(v, units) for v in unit.collar_m)
    said = f"exhaust collar, {format_size(unit.collar_size_in)}, at {where}"
    return Shape("appliance_1", unit.name or "appliance", "appliance", said, triangles, label=_middle(triangles))


def _middle(triangles: FloatArray, height: float = 0.5) -> tuple[float, float, float] | None:
    """A point for the name: the middle of the box around, at a fraction of its height."""
    if not len(triangles):
        return None
    points = triangles.reshape(-1, 3)
    low, high = points.min(axis=0), points.max(axis=0)
    x, y, z = low + (high - low) * np.array([0.5, 0.5, height])
    return float(x), float(y), float(z)
