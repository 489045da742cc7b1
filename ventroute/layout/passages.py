"""Ways through construction: existing holes, and areas where a new one may be made."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from ventroute.constants import MEET_M
from ventroute.errors import Fault, GeometryError
from ventroute.geometry.frames import unit
from ventroute.layout.sight import Barrier, Face, Mouth, barrier, faces_between
from ventroute.layout.spaces import Space
from ventroute.model.site import Cut, Hole
from ventroute.units import format_length

FloatArray = NDArray[np.float64]
Plane = tuple[FloatArray, float]
Pierced = tuple[tuple[int, ...], tuple[int, ...]]

STEPS = 6  # a cut's area is tried in at least so many strips each way
ASTRAY_M = 0.1  # a line that counts as along an axis strays less over the largest site
INSET_M = 1e-5  # corners of a strip are tried this far inside, where faces meet


@dataclass(frozen=True, slots=True, eq=False)
class Passage:
    """A way through construction from space ``spaces[0]`` (a) to ``spaces[1]`` (b), along ``axis``.

    ``point`` (3,) lies on the axis half-way through (for a cut: on the axis through the middle of the area). ``area``
    is the box (least, greatest corner) that a cut's axis crosses; only its extent across the axis says where.
    ``mouth_a`` is the plane (normal, offset) where the axis leaves a, normal into the barrier; ``mouth_b`` where it
    enters b, normal out of the barrier. ``pierced_a`` and ``pierced_b`` are faces of the container and solids of that
    space which the pipe itself may touch here.
    """

    name: str
    kind: str  # hole | cut
    spaces: tuple[int, int]
    axis: FloatArray
    point: FloatArray
    area: tuple[FloatArray, FloatArray] | None
    clear_m: float | None
    cost: float
    mouth_a: Plane
    mouth_b: Plane
    pierced_a: Pierced
    pierced_b: Pierced

    def reversed(self) -> Passage:
        """The same passage walked from b to a."""
        return replace(
            self,
            spaces=(self.spaces[1], self.spaces[0]),
            axis=-self.axis,
            mouth_a=(-self.mouth_b[0], -self.mouth_b[1]),
            mouth_b=(-self.mouth_a[0], -self.mouth_a[1]),
            pierced_a=self.pierced_b,
            pierced_b=self.pierced_a,
        )

    def mouths(self, point: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Where the axis through a point (3,) [m] leaves a and enters b: two points (3,) [m]."""
        ends = [point + self.axis * ((o - n @ point) / (n @ self.axis)) for n, o in (self.mouth_a, self.mouth_b)]
        return ends[0], ends[1]


def holes(found: Sequence[Hole], spaces: Sequence[Space], faults: list[Fault]) -> list[Passage]:
    """Existing holes as passages; one that does not lead from one of its spaces to the other is a fault."""
    out = []
    for n, hole in enumerate(found, 1):
        key = f"hole[{n}]"
        pair = _pair(hole.through, spaces, key, faults)
        if pair is None:
            continue
        try:
            wall = barrier(np.asarray(hole.at, float), unit(hole.axis), pair, spaces)
        except GeometryError as error:
            faults.append(Fault("", 0, key, f"{error}"))
            continue
        middle = (wall.leave.point + wall.enter.point) / 2
        out.append(_passage(hole.name, "hole", pair, wall, middle, None, hole.clear_m, 0.0))
    return out


def cuts(found: Sequence[Cut], spaces: Sequence[Space], faults: list[Fault]) -> list[Passage]:
    """Areas for new holes as passages: one for each pair of flat faces that the area lies between."""
    out: list[Passage] = []
    for n, cut in enumerate(found, 1):
        key = f"cut[{n}]"
        pair = _pair(cut.through, spaces, key, faults)
        if pair is None:
            continue
        try:
            out += _cut(cut, pair, spaces)
        except GeometryError as error:
            faults.append(Fault("", 0, key, f"{error}"))
    return out


def _pair(
    through: tuple[str, str], spaces: Sequence[Space], key: str, faults: list[Fault]
) -> tuple[Space, Space] | None:
    """The two spaces by the names of their rooms."""
    rooms = {room: space for space in spaces for room in space.rooms}
    for name in through:
        if name not in rooms:
            near = get_close_matches(name, rooms, 1)
            hint = f'did you mean "{near[0]}"?' if near else f"wanted: one of {', '.join(rooms)}"
            faults.append(Fault("", 0, f"{key}.through", f'no space "{name}"; {hint}'))
            return None
    first, second = rooms[through[0]], rooms[through[1]]
    if first.index == second.index:
        what = f'"{through[0]}" and "{through[1]}" are open to each other, one space; two spaces are wanted'
        faults.append(Fault("", 0, f"{key}.through", what))
        return None
    return first, second


def _passage(
    name: str,
    kind: str,
    pair: tuple[Space, Space],
    wall: Barrier,
    point: FloatArray,
    area: tuple[FloatArray, FloatArray] | None,
    clear_m: float | None,
    cost: float,
) -> Passage:
    a, b = pair
    (normal_a, offset_a), (normal_b, offset_b) = wall.leave.plane, wall.enter.plane
    mouth_b = (-normal_b, -offset_b)
    pierced = _pierced(a, wall.leave), _pierced(b, wall.enter)
    return Passage(
        name, kind, (a.index, b.index), wall.axis, point, area, clear_m, cost, (normal_a, offset_a), mouth_b, *pierced
    )


def _pierced(space: Space, mouth: Mouth) -> Pierced:
    """Container faces that the axis leaves by, and construction that lies wholly behind the mouth's plane.

    Construction comes in convex pieces; a wall of several is one barrier, so all behind the plane are meant.
    """
    normal, offset = mouth.plane
    level = (space.container.normals @ normal > 1 - 1e-9) & (np.abs(space.container.offsets - offset) < MEET_M)
    faces = {int(k) for k in np.flatnonzero(level)} | set(mouth.faces)
    behind = tuple(
        k
        for k, solid in enumerate(space.solids)
        if solid.kind == "construction" and all((b.vertices @ normal).min() >= offset - MEET_M for b in solid.bodies)
    )
    return tuple(sorted(faces)), behind


def _cut(cut: Cut, pair: tuple[Space, Space], spaces: Sequence[Space]) -> list[Passage]:
    low = np.asarray(cut.corner, float)
    high = low + np.asarray(cut.size, float)
    axis = unit(cut.axis)
    along = int(np.argmax(np.abs(axis)))
    middle = (low + high) / 2
    if abs(axis[along]) < 1 - 1e-9:
        corners = [np.where(take, low, high) for take in product((True, False), repeat=3)]
        walls = {_key(_faces_of_skew(at, axis, pair, spaces)) for at in (*corners, middle)}
        if len(walls) > 1:
            raise GeometryError("the area does not lie between two flat faces; make it smaller or split it")
        areas = [(low, high)]
    else:
        areas = _flat_areas(low, high, along, axis, pair, spaces)
    return [_cut_passage(cut, pair, axis, area, spaces) for area in areas]


def _faces_of_skew(
    at: FloatArray, axis: FloatArray, pair: tuple[Space, Space], spaces: Sequence[Space]
) -> tuple[Face, Face]:
    """The barrier's faces at a corner of an area that is crossed askew, which has to lie before the wall as a whole."""
    try:
        return faces_between(at, axis, pair, spaces)
    except GeometryError as error:
        where = ", ".join(format_length(float(v)) for v in at)
        raise GeometryError(
            f"at its corner [{where}], looking along the axis: {error}; make the area smaller"
        ) from None


def _cut_passage(
    cut: Cut,
    pair: tuple[Space, Space],
    axis: FloatArray,
    area: tuple[FloatArray, FloatArray],
    spaces: Sequence[Space],
) -> Passage:
    wall = barrier((area[0] + area[1]) / 2, axis, pair, spaces)
    middle = (wall.leave.point + wall.enter.point) / 2
    reach = np.array(list(product(*zip(*area, strict=True)))) @ axis
    if reach.max() < float(wall.leave.point @ axis) - MEET_M or reach.min() > float(wall.enter.point @ axis) + MEET_M:
        raise GeometryError(
            f"the area lies wholly beside the barrier between {pair[0].name} and {pair[1].name}; a box that reaches "
            "into it is wanted"
        )
    return _passage(cut.name, "cut", pair, wall, middle, area, None, cut.cost)


def _key(faces: tuple[Face, Face]) -> tuple[float, ...]:
    """Tells barriers between different faces apart."""
    return tuple(round(v, 6) + 0.0 for face in faces for v in face)


def _flat_areas(
    low: FloatArray, high: FloatArray, along: int, axis: FloatArray, pair: tuple[Space, Space], spaces: Sequence[Space]
) -> list[tuple[FloatArray, FloatArray]]:
    """The greatest box of the area between each pair of flat faces, widest first.

    The area is split at the corners of both spaces and into strips; a strip counts where the axis meets the same two
    faces at its middle and its corners.
    """
    u, v = (k for k in range(3) if k != along)
    lines = [_lines(low, high, k, pair) for k in (u, v)]
    span = [(x0, x1) for x0, x1 in zip(low.tolist(), high.tolist(), strict=True)]
    span[along] = (-math.inf, math.inf)
    ahead = [space for space in spaces if space.container.meets_box(span, ASTRAY_M)]
    found: dict[tuple[float, ...], NDArray[np.bool_]] = {}
    shape = len(lines[0]) - 1, len(lines[1]) - 1
    for i, j in product(range(shape[0]), range(shape[1])):
        key = _strip(low, high, (u, v), (lines[0][i : i + 2], lines[1][j : j + 2]), axis, pair, ahead)
        if key is not None:
            found.setdefault(key, np.zeros(shape, dtype=np.bool_))[i, j] = True
    if not found:
        barrier((low + high) / 2, axis, pair, spaces)  # says why, where the middle has no barrier either
        raise GeometryError("the area does not lie between two flat faces; make it smaller or split it")
    areas = [_widest(mask, lines[0], lines[1]) for mask in found.values()]
    out = []
    for (u0, u1), (v0, v1) in sorted(areas, key=lambda a: -(a[0][1] - a[0][0]) * (a[1][1] - a[1][0])):
        first, last = low.copy(), high.copy()
        first[u], last[u], first[v], last[v] = u0, u1, v0, v1
        out.append((first, last))
    return out


def _lines(low: FloatArray, high: FloatArray, k: int, pair: tuple[Space, Space]) -> list[float]:
    """Coordinates that split the area along one of its sides."""
    bodies = [body for space in pair for body in space.construction]
    corners = np.concatenate([body.vertices[:, k] for body in (*bodies, *(space.container for space in pair))])
    inside = corners[(corners > low[k] + MEET_M) & (corners < high[k] - MEET_M)]
    if high[k] - low[k] <= MEET_M:
        return [float(low[k]), float(high[k])]
    between = np.round(np.concatenate([inside, np.linspace(low[k], high[k], STEPS + 1)[1:-1]]), 9)
    return [float(low[k]), *sorted(set(between.tolist())), float(high[k])]


def _strip(
    low: FloatArray,
    high: FloatArray,
    sides: tuple[int, int],
    spans: tuple[list[float], list[float]],
    axis: FloatArray,
    pair: tuple[Space, Space],
    spaces: Sequence[Space],
) -> tuple[float, ...] | None:
    """The pair of faces that a strip lies between, None where there are several, or none."""
    keys = set()
    tries = [(0.5, 0.5), *product((0.0, 1.0), repeat=2)]
    for shares in tries:
        at = (low + high) / 2
        for k, (start, end), share in zip(sides, spans, shares, strict=True):
            inset = min(INSET_M, (end - start) / 4)
            at[k] = start + inset + (end - start - 2 * inset) * share
        try:
            keys.add(_key(faces_between(at, axis, pair, spaces)))
        except GeometryError:
            return None
        if len(keys) > 1:
            return None
    return keys.pop()


def _widest(
    mask: NDArray[np.bool_], us: list[float], vs: list[float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """The greatest rectangle of a mask, measured along two sides."""
    best = (-1.0, (0.0, 0.0), (0.0, 0.0))
    for i in range(len(us) - 1):
        clear = np.ones(len(vs) - 1, dtype=np.bool_)
        for k in range(i, len(us) - 1):
            clear &= mask[k]
            edges = np.flatnonzero(np.diff(np.concatenate([[0], clear.astype(int), [0]])))
            for j, m in list(pairwise(edges))[::2]:
                size = (us[k + 1] - us[i]) * (vs[m] - vs[j])
                best = max(best, (size, (us[i], us[k + 1]), (vs[j], vs[m])), key=lambda b: b[0])
    return best[1], best[2]
