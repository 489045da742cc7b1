"""The isometric's view: which way the house is looked at, and where each run lies on paper.

Axes stand at 30 degrees (ISO 6412-2). The drawing is not to scale: long runs are shortened so that short ones stay
legible. A run that is level but for its fall is drawn along the axis it follows, and the fall is written beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ventroute.drawing.primitives import Point
from ventroute.model.appliance import Vec3
from ventroute.model.route import Route, Run

COS30, SIN30 = math.sqrt(3) / 2, 0.5
FALL_MOST = 0.09  # steeper than this is a rise, not a fall: the steepest pitch asked for in practice is about 0.052
SLIGHT_M = 5e-4  # a sideways part of a run below a third of a sixteenth of an inch is not drawn
LEAST_MM, LEAST_SKEW_MM = 17.0, 27.0  # a drawn run holds its piece number and its dimension
POWER = 0.55  # drawn length goes with this power of the true one
PAPER_MM = (118.0, 128.0)  # what the bare pipe may fill
LEAST_RATIO = 0.35  # a run seen nearly end-on is drawn as if it were this long for its length


@dataclass(frozen=True, slots=True)
class Leg:
    """One run as drawn. ``parts_m`` are its signed lengths along east, north, up; a fall is left out of them."""

    run: Run
    start: Point
    end: Point
    parts_m: Vec3
    fall: float | None  # rise over horizontal run, for a level run with pitch
    scale: float  # mm on paper for a metre of space, on this run

    @property
    def skew(self) -> bool:
        """Whether it follows none of the three axes."""
        return sum(part != 0.0 for part in self.parts_m) > 1

    @property
    def length(self) -> float:
        """Length on paper [mm]."""
        return math.dist(self.start, self.end)

    def at(self, fraction: float) -> Point:
        """A point of it on paper."""
        return between(self.start, self.end, fraction)

    def along(self, point: Vec3) -> float:
        """How far along the run a point of space lies, 0 to 1."""
        way = [e - s for s, e in zip(self.run.start_m, self.run.end_m, strict=True)]
        size = sum(w * w for w in way) or 1.0
        part = sum((p - s) * w for p, s, w in zip(point, self.run.start_m, way, strict=True)) / size
        return min(max(part, 0.0), 1.0)


@dataclass(frozen=True, slots=True)
class View:
    """The view from one corner: ``quarter`` turns of the house under a viewer in the south-west."""

    quarter: int
    legs: tuple[Leg, ...]

    def axis(self, way: Vec3) -> Point:
        """Direction or step of space on paper."""
        return projected(way, self.quarter)


def between(a: Point, b: Point, fraction: float) -> Point:
    """A point between two, or beyond them."""
    return (a[0] + (b[0] - a[0]) * fraction, a[1] + (b[1] - a[1]) * fraction)


def projected(way: Vec3, quarter: int) -> Point:
    """Isometric projection, true length along each axis, seen from the south-west after `quarter` quarter turns."""
    x, y, z = way
    for _ in range(quarter):
        x, y = -y, x
    return ((x - y) * COS30, (x + y) * SIN30 + z)


def snapped(run: Run) -> tuple[Vec3, float | None]:
    """Signed lengths of a run along the axes without fall and slight parts, and the fall."""
    x, y, z = (e - s for s, e in zip(run.start_m, run.end_m, strict=True))
    flat = math.hypot(x, y)
    fall = z / flat if flat > SLIGHT_M and abs(z) <= FALL_MOST * flat else None
    x, y, z = (0.0 if abs(part) < SLIGHT_M else part for part in (x, y, 0.0 if fall is not None else z))
    return (x, y, z), (fall if fall else None)


def choose(route: Route) -> View:
    """The view of the four in which the runs are seen best: none end-on, few behind each other."""
    views = [fitted(route, quarter) for quarter in range(4)]
    return min(views, key=lambda view: (round(_trouble(view), 6), view.quarter))


def fitted(route: Route, quarter: int) -> View:
    """The runs on paper, as large as the paper lets them be."""
    low, high = 1.0, 60.0
    for _ in range(24):
        middle = (low + high) / 2
        low, high = (middle, high) if _fits(_legs(route, quarter, middle)) else (low, middle)
    return View(quarter, _legs(route, quarter, low))


def _fits(legs: tuple[Leg, ...]) -> bool:
    points = [legs[0].start, *(leg.end for leg in legs)]
    return all(max(p[k] for p in points) - min(p[k] for p in points) <= PAPER_MM[k] for k in (0, 1))


def _legs(route: Route, quarter: int, size: float) -> tuple[Leg, ...]:
    at: Point = (0.0, 0.0)
    legs = []
    for run in route.runs:
        parts, fall = snapped(run)
        length = math.hypot(*parts) or 1e-6
        shown = projected((parts[0] / length, parts[1] / length, parts[2] / length), quarter)
        skew = sum(part != 0.0 for part in parts) > 1
        drawn = max(size * length**POWER, LEAST_SKEW_MM if skew else LEAST_MM)
        drawn /= max(min(math.hypot(*shown), 1.0), LEAST_RATIO)
        end = (at[0] + shown[0] * drawn, at[1] + shown[1] * drawn)
        legs.append(Leg(run, at, end, parts, fall, drawn / length))
        at = end
    return tuple(legs)


def _trouble(view: View) -> float:
    """How hard a view is to read: runs seen end-on, runs that cross or nearly touch."""
    end_on = sum(max(0.0, LEAST_SKEW_MM - leg.length) for leg in view.legs)
    near = 0.0
    for i, one in enumerate(view.legs):
        for two in view.legs[i + 2 :]:
            near += max(0.0, 9.0 - segment_gap(one, two))
    south_up = 4.0 if projected((0.0, 1.0, 0.0), view.quarter)[1] < 0 else 0.0  # people expect north away from them
    return end_on + near + south_up


def segment_gap(one: Leg, two: Leg) -> float:
    """Least distance of two drawn runs, 0 where they cross."""
    if crossing(one, two) is not None:
        return 0.0
    ends = [(one.start, two), (one.end, two), (two.start, one), (two.end, one)]
    return min(_point_gap(point, leg) for point, leg in ends)


def _point_gap(point: Point, leg: Leg) -> float:
    way = (leg.end[0] - leg.start[0], leg.end[1] - leg.start[1])
    size = way[0] ** 2 + way[1] ** 2 or 1.0
    part = ((point[0] - leg.start[0]) * way[0] + (point[1] - leg.start[1]) * way[1]) / size
    return math.dist(point, leg.at(min(max(part, 0.0), 1.0)))


def crossing(one: Leg, two: Leg) -> tuple[float, float] | None:
    """Fractions along two drawn runs where they cross, None where they do not."""
    ax, ay = one.end[0] - one.start[0], one.end[1] - one.start[1]
    bx, by = two.end[0] - two.start[0], two.end[1] - two.start[1]
    cross = ax * by - ay * bx
    if abs(cross) < 1e-9:
        return None
    dx, dy = two.start[0] - one.start[0], two.start[1] - one.start[1]
    s, t = (dx * by - dy * bx) / cross, (dx * ay - dy * ax) / cross
    return (s, t) if 0 < s < 1 and 0 < t < 1 else None
