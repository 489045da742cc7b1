"""How near a placed route comes to everything solid, and to itself, with pipe and hubs round as they are.

Every gap is the true one or up to 1e-7 m less. Where a part is inside something, its gap is zero or negative and at
most the true (negative) depth.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polytope import Polytope
from ventroute.geometry.rounds import Corners, Mixed, Rounds, gaps
from ventroute.layout.building import Building, Cylinder, Mesh, Solid, Space
from ventroute.layout.envelope import Envelope, envelopes, rounds_of
from ventroute.layout.spaces import Faces
from ventroute.model.route import Route

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

WITHIN_M = 0.5  # what is farther than this beyond its gap is nobody's concern
TURNED_RAD = math.radians(95)  # a route that has turned less, with a bend's give, cannot have come back to itself
FEW = 64  # triangles of the nearest group that are tried first, to leave most of a mesh out


@dataclass(frozen=True, slots=True)
class Clearance:
    """The gap of one part to one thing, and what is needed; ``hub`` is whether a hub comes nearest."""

    part_n: int
    what: str
    gap_m: float
    needed_m: float
    hub: bool = False


def clearances(building: Building, route: Route, gap_m: float, within_m: float = WITHIN_M) -> tuple[Clearance, ...]:
    """Least gap of every part to every solid and surface of its space, and to parts that are not its neighbours.

    A pipe inside a hole is exempt from what the passage pierces; a hub never is. Two parts are neighbours while the
    route turns less than a right angle between them.

    Parameters
    ----------
    gap_m : what surfaces of the space and the route itself keep; every solid has its own
    within_m : gaps greater than what is needed by more than this are left out

    Returns
    -------
    In order of part, then name.
    """
    shapes = envelopes(building, route)
    found: dict[tuple[int, str], Clearance] = {}
    for record in _all(building, shapes, gap_m, within_m):
        key = (record.part_n, record.what)
        if key not in found or record.gap_m - record.needed_m < found[key].gap_m - found[key].needed_m:
            found[key] = record
    return tuple(sorted(found.values(), key=lambda c: (c.part_n, c.what)))


def _all(building: Building, shapes: Sequence[Envelope], gap_m: float, within_m: float) -> Iterator[Clearance]:
    for e in shapes:
        if e.space < 0:
            yield Clearance(e.part_n, "no known space", -math.inf, gap_m, e.hub)
    close: list[_Pair] = []
    for space in building.spaces:
        here = [e for e in shapes if e.space == space.index]
        if here:
            yield from _surfaces(space, [e for e in here if e.built], gap_m, within_m)
            close += _close(space, here, within_m)
    yield from _solids(close)
    yield from _itself(shapes, gap_m, within_m)


def _surfaces(space: Space, here: Sequence[Envelope], gap_m: float, within_m: float) -> Iterator[Clearance]:
    """Gaps to the faces of the container; outdoors only the ground is one."""
    if not here:
        return
    box = space.container
    reach = rounds_of(here).reach(box.normals)
    for i, e in enumerate(here):
        for k, normal in enumerate(box.normals):
            gap = float(box.offsets[k] - reach[i, k])
            real = not space.outdoors or normal[2] < -0.5
            if real and k not in e.faces and gap <= gap_m + within_m:
                yield Clearance(e.part_n, surface_name(space, normal), gap, gap_m, e.hub)


def surface_name(space: Space, normal: FloatArray) -> str:
    """What a person calls a face of a space, by its outward normal."""
    if space.outdoors:
        return "grade"
    if abs(normal[2]) > 0.99:
        return f"{space.name}: {'ceiling' if normal[2] > 0 else 'floor'}"
    if normal[2] > 0.05:
        return f"{space.name}: roof facing {_towards(normal)}"
    return f"{space.name}: {_towards(normal)} wall"


def _towards(normal: FloatArray) -> str:
    points = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")
    return points[round(math.atan2(normal[1], normal[0]) / (math.pi / 4)) % 8]


@dataclass(frozen=True, slots=True, eq=False)
class _Pair:
    """A shape and a body of a solid near it; ``least_m`` is what the body's faces show."""

    envelope: Envelope
    solid: Solid
    body: Polytope
    least_m: float


def _close(space: Space, here: Sequence[Envelope], within_m: float) -> Iterator[_Pair]:
    """The solids of a space that come near a shape."""
    faces = space.faces
    if faces is None:
        return
    needed = np.array([solid.gap_m for solid in space.solids])
    least = _least(rounds_of(here), faces)
    close = (least <= (needed + within_m)[faces.owner]) & _counts(space, here)[:, faces.owner]
    for i, c in zip(*(found.tolist() for found in np.nonzero(close)), strict=True):
        yield _Pair(here[i], space.solids[faces.owner[c]], faces.bodies[c], float(least[i, c]))


def _solids(close: Sequence[_Pair]) -> Iterator[Clearance]:
    """Gaps to solids, all that are not meshes at once."""
    bars = [(pair, pair.solid.exact) for pair in close if isinstance(pair.solid.exact, Cylinder)]
    flat = [pair for pair in close if pair.solid.exact is None]
    plain = [*(pair for pair, _ in bars), *flat]
    others = Mixed(_cylinders([bar for _, bar in bars]), Corners(_padded([pair.body.vertices for pair in flat])))
    rounds = rounds_of([pair.envelope for pair in plain])
    least = np.array([pair.least_m for pair in plain])
    for pair, gap in zip(plain, _signed(gaps(rounds, others, len(plain)), least).tolist(), strict=True):
        yield Clearance(pair.envelope.part_n, pair.solid.name, gap, pair.solid.gap_m, pair.envelope.hub)
    meshed: dict[tuple[int, int], _Pair] = {}  # of the bodies round a mesh, the one that shows least
    for pair in close:
        key = id(pair.envelope), id(pair.solid)
        if isinstance(pair.solid.exact, Mesh) and (key not in meshed or pair.least_m < meshed[key].least_m):
            meshed[key] = pair
    yield from (_to_mesh(pair) for pair in meshed.values())


def _cylinders(bars: Sequence[Cylinder]) -> Rounds:
    ends = np.array([(bar.start, bar.end) for bar in bars], dtype=np.float64).reshape(-1, 2, 3)
    return Rounds.cylinders(ends[:, 0], ends[:, 1], np.array([bar.radius_m for bar in bars]))


def _counts(space: Space, here: Sequence[Envelope]) -> NDArray[np.bool_]:
    """Whether each shape is measured against each solid."""
    built = np.array([solid.kind == "construction" for solid in space.solids])
    rows = [np.where(built, e.built, e.things) for e in here]
    for row, e in zip(rows, here, strict=True):
        row[list(e.solids)] = False
    return np.array(rows, dtype=np.bool_).reshape(len(here), len(built))


def _least(rounds: Rounds, faces: Faces) -> FloatArray:
    """The widest gap that a face of each body shows (n shapes, b bodies) [m]: never more than the true one."""
    ahead = -rounds.reach(-faces.normals)[:, faces.way] - faces.offsets
    return np.asarray(np.maximum.reduceat(ahead, faces.first, axis=1), dtype=np.float64)


def _signed(true: FloatArray, least: FloatArray) -> FloatArray:
    """Gap where shapes are apart, what their faces show where they meet."""
    return np.where(true > 1e-7, np.maximum(true, least), np.minimum(least, 0.0))


def _padded(corners: Sequence[FloatArray]) -> FloatArray:
    most = max((len(c) for c in corners), default=1)
    rows = [np.concatenate([c, np.repeat(c[:1], most - len(c), axis=0)]) for c in corners]
    return np.array(rows, dtype=np.float64).reshape(-1, most, 3)


def _to_mesh(pair: _Pair) -> Clearance:
    """Gap to a mesh, which the bodies round it enclose."""
    assert isinstance(pair.solid.exact, Mesh)
    true = np.array([_mesh_gap(rounds_of([pair.envelope]), pair.solid, pair.solid.exact)])
    gap = float(_signed(true, np.array([pair.least_m]))[0])
    return Clearance(pair.envelope.part_n, pair.solid.name, gap, pair.solid.gap_m, pair.envelope.hub)


def _mesh_gap(shape: Rounds, solid: Solid, mesh: Mesh) -> float:
    """Gap of one shape to a closed surface, 0 inside it: to the nearest triangles, then to all that are nearer."""
    low, high = -shape.reach(-np.eye(3))[0], shape.reach(np.eye(3))[0]
    boxed, best = mesh.boxed, math.inf
    for rows in (boxed.nearest(low, high)[:FEW], None):
        near = boxed.triangles[boxed.within(low, high, best) if rows is None else rows]
        if len(near) and best > 0:
            best = min(best, float(gaps(_repeated(shape, len(near)), Corners(near), len(near)).min()))
    return 0.0 if best <= 0 or solid.holds(shape.centres[0, 0]) else best


def _repeated(shape: Rounds, n: int) -> Rounds:
    return shape.take(np.zeros(n, dtype=np.intp))


def _itself(shapes: Sequence[Envelope], gap_m: float, within_m: float) -> Iterator[Clearance]:
    """Gaps between parts that the route has turned round between."""
    once = [e for e in shapes if e.things]
    whole = list({(e.part_n, e.hub, e.turn_rad): e for e in reversed(once)}.values())
    turn, n = np.array([e.turn_rad for e in whole]), np.array([e.part_n for e in whole])
    later = (turn[None] - turn[:, None] > TURNED_RAD) & (n[None] > n[:, None])
    if not later.any():
        return
    rounds = rounds_of(whole)
    low, high = -rounds.reach(-np.eye(3)), rounds.reach(np.eye(3))
    apart = np.maximum(low[None] - high[:, None], low[:, None] - high[None]).max(axis=2)
    rows, cols = np.nonzero(later & (apart <= gap_m + within_m))
    true = gaps(rounds.take(rows), rounds.take(cols), len(rows))
    for i, j, gap in zip(rows, cols, true, strict=True):
        hub = whole[i].hub or whole[j].hub
        yield Clearance(whole[j].part_n, f"part {whole[i].part_n}", float(gap), gap_m, hub)
