"""From corners to parts: pipes cut to length, couplings where a run is longer than a stick, ends that meet.

Along each leg stand, in flow order: changes at the collar, pipe, and the elbow at its far corner. Couplings go where
they are let: `Course.blocked` holds, for each leg, the stretches where no coupling's middle may be (construction,
obstacles). Pipe is split so that the most is sawn from whole sticks. Where the size grows on the way, a coupling of the
smaller size takes the first increaser's spigot.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ventroute.layout.lengths import whole_lengths
from ventroute.model.appliance import Appliance, SizeLimit, Vec3, change_m, in_metres_of, share_ratio
from ventroute.model.parts import Bend, Kit
from ventroute.model.route import CHANGES, Crossing, Part, PartKind, Route, Run

FloatArray = NDArray[np.float64]
_NONE_M = 1e-6  # shorter than this is no pipe


@dataclass(frozen=True, eq=False)
class Course:
    """Corners and what turns them; the geometry of a route without its parts.

    ``corners`` (k + 2, 3), ``bends`` the k fittings, ``crossings[i]`` lies on leg ``crossing_leg[i]``, ``blocked[i]``
    are intervals [m] along leg i from its first corner.
    """

    kind: str  # roof | wall
    corners: FloatArray
    bends: tuple[Bend, ...]
    crossings: tuple[Crossing, ...]
    crossing_leg: tuple[int, ...]
    blocked: tuple[tuple[tuple[float, float], ...], ...]


@dataclass(frozen=True, eq=False)
class Smaller:
    """What a route is made of up to its change of size: the smaller pipe ends `stop_m` along leg `leg`."""

    kit: Kit
    limit: SizeLimit
    leg: int
    stop_m: float


@dataclass(slots=True)
class _Bench:
    """Parts as they are laid out, one after the other."""

    course: Course
    kit: Kit
    limit: SizeLimit
    room_at: Callable[[FloatArray], str]
    parts: list[Part]

    def put(self, kind: PartKind, item: str, start: FloatArray, end: FloatArray, **more: object) -> None:
        """Add a part; its space is the one it starts in, seen a hair along its way."""
        along = end - start
        size = float(np.linalg.norm(along))
        inside = start + along * (min(0.5, 1e-3 / size) if size > 0 else 0.0)
        space = self.room_at(inside)
        if not space:
            space = self.parts[-1].space if self.parts else ""
        self.parts.append(Part(len(self.parts) + 1, kind, item, _vec(start), _vec(end), space, **more))  # type: ignore[arg-type]


def assemble(
    course: Course,
    kit: Kit,
    limit: SizeLimit,
    appliance: Appliance,
    room_at: Callable[[FloatArray], str],
    smaller: Smaller | None = None,
) -> Route | None:
    """The route's parts, or None where a run needs a coupling and has no place for one.

    Parameters
    ----------
    course : corners, bends and crossings
    kit, limit, appliance : the parts, the table's row, and the way lengths are counted
    room_at : name of the room at a point, "outdoors", or "" inside construction
    smaller : up to the change of size, None where there is none
    """
    first = smaller or Smaller(kit, limit, -1, 0.0)
    bench = _Bench(course, first.kit, in_metres_of(first.limit, limit), room_at, [])
    corners = course.corners
    at = corners[0]
    for leg in range(len(corners) - 1):
        a, b = corners[leg], corners[leg + 1]
        u = (b - a) / np.linalg.norm(b - a)
        if leg == 0:
            at = _changes(bench, at, u)
        if leg == first.leg:
            end = a + u * first.stop_m
            if not _pipe(bench, leg, a, at, end, u):
                return None
            at = end + u * first.kit.coupling.gap_m
            bench.put(PartKind.COUPLING, first.kit.coupling.item, end, at)
            bench.kit, bench.limit = kit, replace(limit, increaser_m=change_m(first.limit, limit))
            at = _changes(bench, at, u)
        stop = b - u * _upstream_m(course.bends[leg]) if leg < len(course.bends) else b
        if not _pipe(bench, leg, a, at, stop, u):
            return None
        if leg < len(course.bends):
            at = _elbow(bench, course.bends[leg], stop, b, corners[leg + 2])
    _terminal(bench, corners[-1])
    return _route(bench, appliance, smaller)


def _upstream_m(bend: Bend) -> float:
    return bend.laying_m + (bend.spigot_m or 0.0)


def _changes(bench: _Bench, at: FloatArray, u: FloatArray) -> FloatArray:
    equivalents = {"increaser": bench.limit.increaser_m, "reducer": bench.limit.reducer_m}
    for change in bench.kit.start:
        end = at + u * change.length_m
        bench.put(PartKind(change.kind), change.item, at, end, equivalent_m=equivalents.get(change.kind, 0.0))
        at = end
    return at


def _elbow(bench: _Bench, bend: Bend, start: FloatArray, corner: FloatArray, beyond: FloatArray) -> FloatArray:
    out = (beyond - corner) / np.linalg.norm(beyond - corner)
    into = (corner - start) / np.linalg.norm(corner - start)
    end: FloatArray = corner + out * bend.laying_m
    angle = math.degrees(math.atan2(float(np.linalg.norm(np.cross(into, out))), float(into @ out)))
    bench.put(
        PartKind.ELBOW,
        bend.item,
        start,
        end,
        corner_m=_vec(corner),
        angle_deg=angle,
        nominal_deg=bend.angle_deg,
        street=bend.street,
        equivalent_m=bench.kit.equivalent_m(bench.limit, bend) or 0.0,
    )
    return end


def _pipe(bench: _Bench, leg: int, corner: FloatArray, start: FloatArray, stop: FloatArray, u: FloatArray) -> bool:
    """Pipe from stop to stop, with couplings; False where one has no place."""
    length = float((stop - start) @ u)
    if length < _NONE_M:
        return length > -_NONE_M
    offset = float((start - corner) @ u)
    blocked = [(low - offset, high - offset) for low, high in bench.course.blocked[leg]]
    pieces = _pieces(length, bench.kit, blocked)
    if pieces is None:
        return False
    at = 0.0
    for i, (item, piece) in enumerate(pieces):
        a = start + u * at
        end = stop if i == len(pieces) - 1 else start + u * (at + piece)
        passes = _passed(bench.course, leg, a, end, u)
        bench.put(PartKind.PIPE, item, a, end, cut_m=float((end - a) @ u), passes=passes)
        at += piece
        if i < len(pieces) - 1:
            gap = start + u * (at + bench.kit.coupling.gap_m)
            bench.put(PartKind.COUPLING, bench.kit.coupling.item, end, gap)
            at += bench.kit.coupling.gap_m
    return True


def _pieces(length: float, kit: Kit, blocked: Sequence[tuple[float, float]]) -> list[tuple[str, float]] | None:
    """Items and lengths of a straight stretch; None where a joint that it needs has no place.

    Where pipe is not sawn and no lengths that are sold make it up, it is split all the same: nobody can buy it then.
    """
    made = None if kit.pipe.can_be_cut else whole_lengths(length, kit, blocked)
    if made is not None:
        return made
    split = _split(length, max(kit.pipe.stick_m), kit.coupling.gap_m, kit.coupling.socket_m, blocked)
    return None if split is None else [(kit.pipe.item, piece) for piece in split]


def _passed(course: Course, leg: int, a: FloatArray, b: FloatArray, u: FloatArray) -> tuple[str, ...]:
    low, high = float(a @ u), float(b @ u)
    return tuple(
        c.name
        for c, on in zip(course.crossings, course.crossing_leg, strict=True)
        if on == leg and low <= float(np.asarray(c.point_m) @ u) <= high
    )


def _split(
    length: float, stick: float, gap: float, socket: float, blocked: Sequence[tuple[float, float]]
) -> list[float] | None:
    """Piece lengths of a straight stretch, whole sticks first; None where no coupling fits.

    A piece is no longer than a stick and no shorter than two sockets.
    """
    if length <= stick + 1e-9:
        return [length]
    pieces: list[float] = []
    at = 0.0
    while length - at > stick + 1e-9:
        middle = _free_below(min(at + stick, length - 2 * socket - gap) + gap / 2, blocked)
        piece = middle - gap / 2 - at
        if piece < 2 * socket:
            return None
        pieces.append(piece)
        at += piece + gap
    return [*pieces, length - at]


def _free_below(t: float, blocked: Sequence[tuple[float, float]]) -> float:
    """The greatest place at or below t outside every blocked interval."""
    for low, high in sorted(blocked, key=lambda i: -i[1]):
        if low < t < high:
            t = low
    return t


def _terminal(bench: _Bench, end: FloatArray) -> None:
    fitting = next((t for t in bench.kit.terminals if t.kind == bench.course.kind), None)
    item = fitting.item if fitting else ""
    bench.put(PartKind.TERMINAL, item, end, end, equivalent_m=bench.limit.terminal_m)


def _route(bench: _Bench, appliance: Appliance, smaller: Smaller | None) -> Route:
    corners = bench.course.corners
    runs = tuple(Run(_vec(a), _vec(b), float(np.linalg.norm(b - a))) for a, b in pairwise(corners))
    if smaller is not None:
        counted = _by_share(bench, appliance, smaller)
    elif appliance.count == "pipe":
        counted = sum(p.cut_m or 0.0 for p in bench.parts) + sum(c.length_m for c in bench.kit.start)
    else:
        counted = sum(run.length_m for run in runs)
    last = corners[-1] - corners[-2]
    return Route(
        kit=bench.kit,
        terminal_kind=bench.course.kind,
        terminal_m=_vec(corners[-1]),
        terminal_direction=_vec(last / np.linalg.norm(last)),
        runs=runs,
        parts=tuple(bench.parts),
        crossings=bench.course.crossings,
        runs_m=counted,
        fittings_m=sum(part.equivalent_m for part in bench.parts),
        smaller=smaller.kit if smaller else None,
    )


def _by_share(bench: _Bench, appliance: Appliance, smaller: Smaller) -> float:
    """Run of both sizes in metres of the larger; changes count in the size that makes them more."""
    ratio = share_ratio(smaller.limit, bench.limit)
    runs = 0.0
    for part in bench.parts:
        if part.kind in CHANGES:
            runs += _axis_m(part) * max(ratio, 1.0)
        else:
            length = _axis_m(part) if appliance.count != "pipe" else part.cut_m or 0.0
            runs += length * (ratio if smaller.kit.holds(part.item) else 1.0)
    return runs


def _axis_m(part: Part) -> float:
    """Along the axis, from start over the corner to end [m]."""
    through = [part.start_m, *([part.corner_m] if part.corner_m else []), part.end_m]
    return sum(math.dist(p, q) for p, q in pairwise(through))


def _vec(v: FloatArray) -> Vec3:
    return (float(v[0]) + 0.0, float(v[1]) + 0.0, float(v[2]) + 0.0)
