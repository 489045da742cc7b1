"""The space that a route's parts take up, as round shapes.

Pipe is a cylinder of its outside diameter. A bend is a hub round each leg, from the corner to the hub's face, with
the bent pipe between them. Couplings and changes are cylinders of their hub. A terminal takes none: the pipe's
end is the terminal's point.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ventroute.constants import MEET_M
from ventroute.geometry.rounds import Rounds
from ventroute.layout.building import Building, Passage
from ventroute.model.parts import Kit
from ventroute.model.route import Part, PartKind, Route

FloatArray = NDArray[np.float64]

STEP_RAD = math.radians(22.5)  # a bend's arc is taken in steps of at most so much
OFF_AXIS_RAD = math.radians(5)  # pitch tilts a pipe in a level hole; more is another direction
CENTRED_M = 1e-4  # a pipe this near the axis of a hole is centred on it


@dataclass(frozen=True, slots=True, eq=False)
class Section:
    """One end of a shape: centre (3,), bar axis (3,), radius [m], normal (3,) of the plane it is cut by."""

    centre: FloatArray
    axis: FloatArray
    radius_m: float
    cut: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Envelope:
    """A convex round shape of a part, and what it is measured against.

    ``built``: against construction and the container of space ``space``, but for ``faces`` and ``solids`` that its
    passage pierces. ``things``: against obstacles, solid features and places kept out of. ``turn_rad``: how far the
    route has turned since the collar.
    """

    part_n: int
    hub: bool
    ends: tuple[Section, Section]
    space: int
    turn_rad: float
    built: bool = True
    things: bool = True
    faces: frozenset[int] = frozenset()
    solids: frozenset[int] = frozenset()


def rounds_of(envelopes: Sequence[Envelope]) -> Rounds:
    """The shapes of the envelopes as arrays."""
    ends = [e.ends for e in envelopes]
    axes = np.array([[s.axis for s in pair] for pair in ends], dtype=np.float64).reshape(-1, 2, 3)
    return Rounds(
        np.array([[s.centre for s in pair] for pair in ends], dtype=np.float64).reshape(-1, 2, 3),
        axes,
        np.array([[s.radius_m for s in pair] for pair in ends], dtype=np.float64).reshape(-1, 2),
        np.array([[s.cut for s in pair] for pair in ends], dtype=np.float64).reshape(-1, 2, 3),
    )


def envelopes(building: Building, route: Route) -> tuple[Envelope, ...]:
    """The shapes of a route's parts in flow order; a part in a space that the building has not gives none."""
    out: list[Envelope] = []
    turn = 0.0
    for k, part in enumerate(route.parts):
        space = building.space_named(part.space)
        index = space.index if space is not None else -1
        if part.kind is PartKind.PIPE:
            out += _pipe(building, part, route.kit_of(part).pipe.od_m / 2, index, turn)
        elif part.kind is PartKind.ELBOW:
            bend = _elbow(part, route.kit_of(part), index, turn)
            out += bend
            turn = bend[-1].turn_rad if bend else turn
        elif part.kind is not PartKind.TERMINAL:
            ends = fitting_sections(route, k)
            out += [Envelope(part.n, True, ends, index, turn)] if ends is not None else []
    return tuple(out)


def _at(point: object) -> FloatArray:
    return np.asarray(point, dtype=np.float64)


def _bar(start: FloatArray, end: FloatArray, radius_m: float) -> tuple[Section, Section] | None:
    """A cylinder with flat ends, None where it has no length."""
    length = float(np.linalg.norm(end - start))
    if length <= 1e-9:
        return None
    axis = (end - start) / length
    return Section(start, axis, radius_m, axis), Section(end, axis, radius_m, axis)


def _along(parts: Sequence[Part], k: int) -> FloatArray | None:
    """The way the run goes at a part that may have no length of its own."""
    for part in (parts[k], *parts[k + 1 :], *reversed(parts[:k])):
        ahead = _at(part.corner_m if part.corner_m is not None and part is not parts[k] else part.end_m)
        start = _at(part.start_m)
        length = float(np.linalg.norm(ahead - start))
        if length > 1e-9:
            return np.asarray((ahead - start) / length, dtype=np.float64)
    return None


def fitting_sections(route: Route, k: int) -> tuple[Section, Section] | None:
    """Ends of the cylinder that part k, a coupling or a change, takes up; None where there is none.

    A coupling reaches a socket beyond both stops, a change beyond the downstream one.
    """
    part, way = route.parts[k], _along(route.parts, k)
    if way is None:
        return None
    kit = route.kit_of(part)
    change = next((c for c in kit.start if c.item == part.item), None)
    fitting = change or kit.coupling
    before = kit.coupling.socket_m if change is None else 0.0
    sleeve = _at(part.start_m) - way * before, _at(part.end_m) + way * fitting.socket_m
    return _bar(*sleeve, fitting.hub_od_m / 2)


def _elbow(part: Part, kit: Kit, space: int, turn: float) -> list[Envelope]:
    bend = kit.bend(part.item)
    if part.corner_m is None:
        return []
    start, corner, end = _at(part.start_m), _at(part.corner_m), _at(part.end_m)
    back, on = start - corner, end - corner
    lengths = float(np.linalg.norm(back)), float(np.linalg.norm(on))
    if min(lengths) <= 1e-9:
        return []
    back, on = back / lengths[0], on / lengths[1]
    hub = bend.hub_od_m if bend is not None else kit.hub_od_m
    socket = bend.socket_m if bend is not None else max([kit.coupling.socket_m, *(b.socket_m for b in kit.bends)])
    upstream = 0.0 if part.street else socket  # a spigot ends inside the hub before it
    angle = math.atan2(float(np.linalg.norm(np.cross(-back, on))), float(-back @ on))
    first = _bar(corner, corner + back * (lengths[0] + upstream), hub / 2)
    last = _bar(corner, corner + on * (lengths[1] + socket), hub / 2)
    body = kit.pipe.od_m / 2
    knee = Section(corner, back, body, back), Section(corner, on, body, on)
    laying = bend.laying_m if bend is not None else min(lengths)
    middle = [(ends, turn + angle / 2) for ends in (knee, *_arc(corner, back, on, laying, angle, body))]
    shapes = [(first, turn), *middle, (last, turn + angle)]
    return [Envelope(part.n, True, ends, space, at) for ends, at in shapes if ends is not None]


def _arc(
    corner: FloatArray, back: FloatArray, on: FloatArray, laying_m: float, angle: float, radius_m: float
) -> Iterator[tuple[Section, Section]]:
    """Wedges that enclose pipe bent in an arc from stop to stop, the widest turn that the fitting has room for.

    Each is the hull of two tilted discs, so large that the arc's outside does not bulge beyond the straight between
    them. A tighter turn, down to 0.6 of that radius, lies within the knee: two discs at the corner.
    """
    steps = max(1, math.ceil(angle / STEP_RAD - 1e-6))
    sweep = laying_m / max(math.tan(angle / 2), 1e-6)
    inner, outer = sweep - radius_m, (sweep + radius_m) / math.cos(angle / steps / 2)
    inward = (back + on) / max(float(np.linalg.norm(back + on)), 1e-12)
    along = (on - back) / float(np.linalg.norm(on - back))
    centre = corner + inward * (sweep / math.cos(angle / 2))
    turns = [angle * (k / steps - 0.5) for k in range(steps + 1)]
    spokes = [math.sin(t) * along - math.cos(t) * inward for t in turns]
    tangents = [math.cos(t) * along + math.sin(t) * inward for t in turns]
    discs = [
        Section(centre + spoke * (inner + outer) / 2, way, (outer - inner) / 2, way)
        for spoke, way in zip(spokes, tangents, strict=True)
    ]
    yield from pairwise(discs)


def _pipe(building: Building, part: Part, radius_m: float, space: int, turn: float) -> Iterator[Envelope]:
    """The pipe as a whole, or cut at the mouths of the passages it goes through."""
    start, end = _at(part.start_m), _at(part.end_m)
    whole = _bar(start, end, radius_m)
    if whole is None:
        return
    through = _through(building, part, space, whole[0].axis, radius_m)
    if not through:
        yield Envelope(part.n, False, whole, space, turn)
        return
    spaces = {space, *(p.spaces[1] for p in through)}
    for index in sorted(spaces):
        yield Envelope(part.n, False, whole, index, turn, built=False)
    opened = whole[0]
    faces, solids = frozenset[int](), frozenset[int]()
    for passage in through:
        leave = _section(whole[0], *passage.mouth_a)
        ends = (opened, leave)
        faces, solids = faces | set(passage.pierced_a[0]), solids | set(passage.pierced_a[1])
        if float((leave.centre - opened.centre) @ leave.axis) > MEET_M:
            yield Envelope(part.n, False, ends, passage.spaces[0], turn, True, False, faces, solids)
        opened = _section(whole[0], *passage.mouth_b)
        faces, solids = frozenset(passage.pierced_b[0]), frozenset(passage.pierced_b[1])
    if float((whole[1].centre - opened.centre) @ opened.axis) > MEET_M:
        yield Envelope(part.n, False, (opened, whole[1]), through[-1].spaces[1], turn, True, False, faces, solids)


def _section(end: Section, normal: FloatArray, offset: float) -> Section:
    """Where a bar is cut by a plane."""
    along = (offset - float(normal @ end.centre)) / float(normal @ end.axis)
    return Section(end.centre + end.axis * along, end.axis, end.radius_m, normal)


def _through(building: Building, part: Part, space: int, axis: FloatArray, radius_m: float) -> list[Passage]:
    """The passages that a pipe truly goes through, in flow order, each turned the way of the flow.

    A name on the part is not enough: the pipe has to run along the passage's axis, fit the hole and be centred on it
    half-way through, or cross inside the area of the cut.
    """
    out: list[Passage] = []
    for name in part.passes:
        both = (q for p in building.passages if p.name == name for q in (p, p.reversed()))
        here = [p for p in both if p.spaces[0] == space and fits(p, _at(part.start_m), axis, radius_m)]
        if here:
            out.append(here[0])
            space = here[0].spaces[1]
    return out


def fits(passage: Passage, start: FloatArray, axis: FloatArray, radius_m: float) -> bool:
    """Whether a pipe from a point (3,) along a direction (3,) goes through the passage as it should."""
    if float(axis @ passage.axis) < math.cos(OFF_AXIS_RAD):
        return False
    crossings = []
    for normal, offset in (passage.mouth_a, passage.mouth_b):
        crossings.append(start + axis * ((offset - float(normal @ start)) / float(normal @ axis)))
    middle = (crossings[0] + crossings[1]) / 2
    if passage.area is not None:
        across = np.abs(passage.axis) < 1 - 1e-9
        low, high = passage.area
        return bool(((middle >= low - CENTRED_M) & (middle <= high + CENTRED_M))[across].all())
    out = middle - passage.point
    off = float(np.linalg.norm(out - (out @ passage.axis) * passage.axis))
    return off <= CENTRED_M and (passage.clear_m is None or 2 * radius_m <= passage.clear_m + MEET_M)
