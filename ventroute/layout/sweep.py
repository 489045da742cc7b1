"""A route's parts as triangle surfaces, to be looked at."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.frames import square_to
from ventroute.layout.envelope import fitting_sections
from ventroute.model.parts import Kit
from ventroute.model.route import Part, PartKind, Route

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
Tube = tuple[int, str, FloatArray, IntArray]

SIDES = 24
ARC_RAD = math.radians(7.5)  # the bend's arc is drawn in steps of about so much


def tubes(route: Route) -> tuple[Tube, ...]:
    """Closed surfaces of the parts that have a length, in flow order.

    Returns
    -------
    (n, kind, vertices, faces) for each: the part's number and kind, (v, 3) points [m], (f, 3) corner indices,
    counter-clockwise seen from outside. Pipe has 24 sides; an elbow is a swept arc with a hub at either end.
    """
    out: list[Tube] = []
    for k, part in enumerate(route.parts):
        rings = _elbow(part, route.kit_of(part)) if part.kind is PartKind.ELBOW else _straight(route, k)
        if len(rings) > 1:
            out.append((part.n, part.kind.value, *_skin(np.array(rings))))
    return tuple(out)


def _straight(route: Route, k: int) -> list[FloatArray]:
    part = route.parts[k]
    if part.kind is PartKind.TERMINAL:
        return []
    if part.kind is PartKind.PIPE:
        start, end = np.asarray(part.start_m, float), np.asarray(part.end_m, float)
        radius = route.kit_of(part).pipe.od_m / 2
    else:
        ends = fitting_sections(route, k)
        if ends is None:
            return []
        start, end, radius = ends[0].centre, ends[1].centre, ends[0].radius_m
    length = float(np.linalg.norm(end - start))
    if length <= 1e-9:
        return []
    frame = square_to(end - start)
    return [_ring(at, frame, radius) for at in (start, end)]


def _elbow(part: Part, kit: Kit) -> list[FloatArray]:
    """Rings of a bend: hub, arc of the pipe's size from stop to stop, hub."""
    bend = kit.bend(part.item)
    if part.corner_m is None:
        return []
    start, corner, end = (np.asarray(p, float) for p in (part.start_m, part.corner_m, part.end_m))
    reach = float(np.linalg.norm(end - corner)), float(np.linalg.norm(corner - start))
    into, on = (corner - start) / reach[1], (end - corner) / reach[0]
    turn = math.atan2(float(np.linalg.norm(np.cross(into, on))), float(into @ on))
    hub = bend.hub_od_m / 2 if bend is not None else kit.hub_od_m / 2
    socket = bend.socket_m if bend is not None else kit.coupling.socket_m
    body = kit.pipe.od_m / 2
    frame = square_to(into)
    laying = min(*reach)
    if part.street:
        rings = [_ring(start, frame, body), _ring(corner - into * laying, frame, body)]
    else:
        rings = [_ring(start + into * s, frame, r) for s, r in ((-socket, hub), (0.0, hub), (1e-4, body))]
    axis = np.cross(into, on) / max(math.sin(turn), 1e-12)
    radius = laying / max(math.tan(turn / 2), 1e-9)
    centre = corner - into * laying + np.cross(axis, into) * radius
    for angle in np.linspace(0, turn, max(2, math.ceil(turn / ARC_RAD) + 1)):
        spin = _spin(axis, float(angle))
        rings.append(_ring(centre + spin @ (corner - into * laying - centre), _turned(spin, frame), body))
    last = _turned(_spin(axis, turn), frame)
    return rings + [_ring(end + on * s, last, r) for s, r in ((-1e-4, body), (0.0, hub), (socket, hub))]


def _turned(spin: FloatArray, frame: tuple[FloatArray, FloatArray]) -> tuple[FloatArray, FloatArray]:
    return spin @ frame[0], spin @ frame[1]


def _spin(axis: FloatArray, angle_rad: float) -> FloatArray:
    """Turn about a unit axis, as a matrix (Rodrigues)."""
    x, y, z = axis
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.asarray(np.eye(3) + math.sin(angle_rad) * cross + (1 - math.cos(angle_rad)) * cross @ cross)


def _ring(centre: FloatArray, frame: tuple[FloatArray, FloatArray], radius_m: float) -> FloatArray:
    turns = np.arange(SIDES) * (2 * math.pi / SIDES)
    spokes = np.outer(np.cos(turns), frame[0]) + np.outer(np.sin(turns), frame[1])
    return np.asarray(centre + radius_m * spokes, dtype=np.float64)


def _skin(rings: FloatArray) -> tuple[FloatArray, IntArray]:
    """Closed surface over rings (r, 24, 3) in flow order: sides, and a fan over either end."""
    count = len(rings)
    points = np.concatenate([rings.reshape(-1, 3), [rings[0].mean(axis=0), rings[-1].mean(axis=0)]])
    i = np.arange(SIDES)
    j = (i + 1) % SIDES
    faces: list[FloatArray | IntArray] = []
    for k in range(count - 1):
        a, b = k * SIDES, (k + 1) * SIDES
        faces += [np.stack([a + i, a + j, b + j], axis=1), np.stack([a + i, b + j, b + i], axis=1)]
    last = (count - 1) * SIDES
    faces.append(np.stack([j, i, np.full(SIDES, count * SIDES)], axis=1))
    faces.append(np.stack([last + i, last + j, np.full(SIDES, count * SIDES + 1)], axis=1))
    return points, np.concatenate(faces).astype(np.intp)
