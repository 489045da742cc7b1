"""What the clauses measure against: the site, the end of the terminal, heights, and how far the outdoors goes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polygon import counter_clockwise
from ventroute.layout.building import Building
from ventroute.model.site import Feature, Site
from ventroute.rules.pack import Rule
from ventroute.rules.shapes import line_gap, rectangle, ring_gap

FloatArray = NDArray[np.float64]

SOLID = ("deck", "porch", "balcony", "soffit, vented", "soffit, unvented")
BEYOND_M = 1.0  # zones without end are drawn this far past the outdoors that is searched


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A roof's outer surface: a plan outline (k, 2) and the plane ``slope @ (x, y) + at_zero_m`` over it."""

    name: str
    outline: FloatArray
    slope: FloatArray
    at_zero_m: float

    @property
    def pitch(self) -> float:
        """Rise over run."""
        return float(np.hypot(*self.slope))

    def height(self, points: FloatArray) -> FloatArray:
        """Height [m] of the plane at points (n, 2 or 3)."""
        return np.asarray(points[:, :2] @ self.slope + self.at_zero_m)

    @property
    def top_m(self) -> float:
        """Greatest height of the surface."""
        return float(self.height(self.outline).max())


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """Something that stands up beside a terminal: plan outline (k, 2) (two points: a wall's line) and its top [m]."""

    name: str
    outline: FloatArray
    top_m: float

    def gap(self, points: FloatArray) -> FloatArray:
        """Level distance [m] of points (n, 3), negative within the outline."""
        if len(self.outline) == 2:
            return line_gap(self.outline[0], self.outline[1], points[:, :2])
        return ring_gap(self.outline, points[:, :2])


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A site with one kind of terminal of one size.

    A wall terminal's end stands upright and takes its radius up and down; a roof terminal's end lies level, so its
    height is that of the pipe's end. Sideways both take the radius.
    """

    site: Site
    building: Building
    kind: str  # roof | wall
    end_radius_m: float
    low: FloatArray
    high: FloatArray
    surfaces: tuple[Surface, ...]

    def across_m(self, rule: Rule) -> float:
        """What the end's size takes off level and straight distances [m]."""
        return 0.0 if rule.centre else self.end_radius_m

    def upward_m(self, rule: Rule) -> float:
        """What the end's size takes off heights [m]."""
        return 0.0 if self.kind == "roof" else self.across_m(rule)

    def features(self, *kinds: str) -> tuple[Feature, ...]:
        """Outdoor features of these kinds."""
        return tuple(feature for feature in self.site.features if feature.kind in kinds)

    @property
    def floor_m(self) -> float:
        """Lowest height the outdoors is drawn to [m]."""
        return float(self.low[2])

    @property
    def ceiling_m(self) -> float:
        """Greatest height the outdoors is drawn to [m]."""
        return float(self.high[2])


def make_scene(site: Site, building: Building, kind: str, end_radius_m: float) -> Scene:
    """The scene of a site for a terminal of this kind and radius [m]."""
    low, high = _extent(building)
    return Scene(site, building, kind, end_radius_m, low, high, tuple(surfaces(site)))


def corners(thing: Feature) -> tuple[FloatArray, FloatArray]:
    """Least and greatest corner (3,) of a box [m]."""
    ends = np.array([thing.corner, np.add(thing.corner, thing.size)], dtype=np.float64)
    return ends.min(axis=0), ends.max(axis=0)


def surfaces(site: Site) -> Iterator[Surface]:
    """Outer surfaces of the roofs, and of the flat top."""
    for roof in site.roofs:
        at = np.array(roof.corners, dtype=np.float64)
        fit = np.column_stack([at[:, :2] - at[0, :2], np.ones(len(at))])
        slope_x, slope_y, first = np.linalg.lstsq(fit, at[:, 2], rcond=None)[0]
        slope = np.array([slope_x, slope_y])
        yield Surface(roof.name, counter_clockwise(at[:, :2]), slope, float(first - at[0, :2] @ slope))
    if site.building.top_m is not None:
        outline = np.array(site.building.footprint, dtype=np.float64)
        yield Surface("flat roof", outline, np.zeros(2), site.building.top_m)


def standing(scene: Scene) -> Iterator[Thing]:
    """Boxes of obstacles and solid features, as things that stand up; what ends inside a room is not among them."""
    for obstacle, low, high in scene.building.standing_out:
        yield Thing(obstacle.name, rectangle(low, high), float(high[2]))
    for feature in scene.features(*SOLID):
        low, high = corners(feature)
        yield Thing(feature.name, rectangle(low, high), float(high[2]))


def steps(scene: Scene) -> Iterator[Thing]:
    """Walls that rise from one roof to the edge of a higher one."""
    for upper in scene.surfaces:
        ends = zip(upper.outline, np.roll(upper.outline, -1, axis=0), strict=True)
        for n, (a, b) in enumerate(ends, 1):
            if any(_steps_over(upper, lower, (a + b) / 2) for lower in scene.surfaces if lower is not upper):
                yield Thing(f"{upper.name}, side {n}", np.array([a, b]), float(upper.height(np.array([a, b])).max()))


def _steps_over(upper: Surface, lower: Surface, middle: FloatArray) -> bool:
    over = float(ring_gap(lower.outline, middle[None])[0]) <= 1e-6
    return over and float((upper.height(middle[None]) - lower.height(middle[None]))[0]) > 0.1


def _extent(building: Building) -> tuple[FloatArray, FloatArray]:
    outdoors = next(space for space in building.spaces if space.outdoors)
    return outdoors.container.low - BEYOND_M, outdoors.container.high + BEYOND_M
