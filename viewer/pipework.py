"""A route as shapes: pipe, sockets and bends at their true sizes."""

from __future__ import annotations

import numpy as np

from ventroute.constants import INCH_M
from ventroute.drawing.words import sized
from ventroute.model.plan import PlannedRoute
from ventroute.model.route import Part, PartKind, Route
from ventroute.units import format_length as length

from . import solids
from .shape import FloatArray, Shape, ident

SEE_M = 0.02  # a terminal has no length of its own: the ring that stands for it
ARROW_M = 0.35


def route_shapes(planned: PlannedRoute, units: str) -> list[Shape]:
    """Each part of one route as a shape of its own, named as in the cut list."""
    route = planned.route
    return [_shape(part, route, planned.id, units) for part in route.parts]


def part_text(part: Part, route: Route, units: str) -> str:
    """What a person wants to know of a part, in one line."""
    kit = route.kit_of(part)
    pipe = sized(kit.material.name, kit.size_in, units)
    said = [f"{pipe} {part.kind}"]
    if part.kind is PartKind.ELBOW and part.nominal_deg:
        said[0] = f"{pipe} {part.nominal_deg:g} degree elbow"
        if part.angle_deg is not None and abs(part.angle_deg - part.nominal_deg) > 0.05:
            said.append(f"turned {part.angle_deg:.1f} degrees")
    if part.street:
        said.append("street: spigot upstream")
    if part.cut_m is not None:
        said.append(f"cut {length(part.cut_m, units)}")
    if part.equivalent_m:
        said.append(f"counts as {length(part.equivalent_m, units)}")
    said.append(f"in {part.space}" if part.space != "outdoors" else "outdoors")
    if part.passes:
        said.append("through " + ", ".join(part.passes))
    return "; ".join(said)


def _shape(part: Part, route: Route, route_id: str, units: str) -> Shape:
    look = {PartKind.PIPE: "pipe", PartKind.TERMINAL: "terminal"}.get(part.kind, "fitting")
    start, end = np.array(part.start_m), np.array(part.end_m)
    marked = part.kind is PartKind.TERMINAL
    return Shape(
        id=ident("part", part.n, route_id),
        name=f"part {part.n}: {part.kind}",
        look=look,
        description=part_text(part, route, units),
        triangles=_triangles(part, route, start, end),
        route=route_id,
        label=_triple(end) if marked else None,
    )


def _triangles(part: Part, route: Route, start: FloatArray, end: FloatArray) -> FloatArray:
    pipe_m = route.kit_of(part).pipe.od_m / 2.0
    if part.kind is PartKind.PIPE:
        return solids.tube([start, end], pipe_m)
    if part.kind is PartKind.TERMINAL:
        return _terminal(end, np.array(route.terminal_direction), pipe_m)
    if part.kind is PartKind.ELBOW and part.corner_m is not None:
        return _elbow(part, route, start, end)
    if part.kind is PartKind.COUPLING:
        coupling = route.kit_of(part).coupling
        return _sleeve(start, end, coupling.socket_m, coupling.socket_m, coupling.hub_od_m / 2.0)
    return _change(part, route, start, end)


def _elbow(part: Part, route: Route, start: FloatArray, end: FloatArray) -> FloatArray:
    kit = route.kit_of(part)
    bend = next((row for row in kit.bends if row.item == part.item), None)
    pipe_m = kit.pipe.od_m / 2.0
    socket_m = bend.socket_m if bend else pipe_m
    hub_m = bend.hub_od_m / 2.0 if bend else 1.15 * pipe_m
    corner = np.array(part.corner_m)
    body = solids.tube(solids.bend_path(start, corner, end), pipe_m * 1.04)
    upstream, downstream = _unit(start - corner), _unit(end - corner)
    hubs = [solids.cone(end, end + downstream * socket_m, hub_m, hub_m)]
    if not part.street:
        hubs.append(solids.cone(start + upstream * socket_m, start, hub_m, hub_m))
    return solids.join([body, *hubs])


def _change(part: Part, route: Route, start: FloatArray, end: FloatArray) -> FloatArray:
    kit = route.kit_of(part)
    change = next((row for row in kit.start if row.item == part.item), None)
    pipe_m = kit.pipe.od_m / 2.0
    if change is None:
        return solids.cone(start, end, pipe_m, pipe_m)
    # the smaller or larger neighbour's wall is not in the row: its nominal size is near enough to look at
    below_m = pipe_m if change.from_size_in == kit.size_in else change.from_size_in * INCH_M * 0.57
    hub_m, along = change.hub_od_m / 2.0, _unit(end - start)
    return solids.join(
        [solids.cone(start, end, below_m, hub_m), solids.cone(end, end + along * change.socket_m, hub_m, hub_m)]
    )


def _sleeve(start: FloatArray, end: FloatArray, before_m: float, after_m: float, radius_m: float) -> FloatArray:
    along = _unit(end - start)
    return solids.cone(start - along * before_m, end + along * after_m, radius_m, radius_m)


def _terminal(end: FloatArray, direction: FloatArray, pipe_m: float) -> FloatArray:
    """A ring at the very end, and an arrow the way the exhaust leaves."""
    along = _unit(direction)
    ring = solids.cone(end - along * SEE_M, end, pipe_m * 1.25, pipe_m * 1.25)
    shaft = solids.cone(end + along * 0.05, end + along * ARROW_M * 0.6, pipe_m * 0.25, pipe_m * 0.25)
    head = solids.cone(end + along * ARROW_M * 0.6, end + along * ARROW_M, pipe_m * 0.7, 0.001)
    return solids.join([ring, shaft, head])


def _unit(vector: FloatArray) -> FloatArray:
    norm = float(np.linalg.norm(vector))
    return vector / norm if norm > 1e-12 else np.array([0.0, 0.0, 1.0])


def _triple(point: FloatArray) -> tuple[float, float, float]:
    return float(point[0]), float(point[1]), float(point[2])
