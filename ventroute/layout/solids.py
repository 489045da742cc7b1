"""What is solid in a space: construction, obstacles, solid features, places kept out of."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ventroute.constants import MEET_M
from ventroute.errors import Fault, GeometryError
from ventroute.geometry.frames import square_to
from ventroute.geometry.polytope import Polytope, prism_faces
from ventroute.geometry.surface import Boxed, cover_of, surrounds
from ventroute.model.site import Obstacle, Site

FloatArray = NDArray[np.float64]

SOLID_FEATURES = ("deck", "porch", "balcony", "soffit, vented", "soffit, unvented")
SIDES = 12  # of the prism round a cylinder


@dataclass(frozen=True, slots=True, eq=False)
class Cylinder:
    """A round bar with flat ends: end centres (3,) and radius [m]."""

    start: FloatArray
    end: FloatArray
    radius_m: float


@dataclass(frozen=True, eq=False)
class Mesh:
    """A closed surface as triangles (t, 3, 3) [m]."""

    triangles: FloatArray

    @cached_property
    def boxed(self) -> Boxed:
        """The triangles so that those near to something are soon found."""
        return Boxed.of(self.triangles)


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """Something no pipe runs through, and how far pipe and hubs stay from it.

    ``kind`` is construction, obstacle, feature or keep_out. ``bodies`` together enclose the solid; ``exact`` is the
    true shape where the bodies enclose more than it.
    """

    name: str
    kind: str
    bodies: tuple[Polytope, ...]
    gap_m: float
    exact: Cylinder | Mesh | None = None

    def holds(self, point: FloatArray) -> bool:
        """Whether the point (3,) [m] lies inside, deeper than 1e-6 m below the surface of a flat-faced body."""
        if isinstance(self.exact, Mesh):  # the boxes of its cover meet inside it
            covered = any(body.holds(point, MEET_M) for body in self.bodies)
            return covered and bool(surrounds(self.exact.triangles, point[None])[0])
        if not any(body.holds(point, -MEET_M) for body in self.bodies):
            return False
        if isinstance(self.exact, Cylinder):
            axis = self.exact.end - self.exact.start
            length = float(np.linalg.norm(axis))
            along = float((point - self.exact.start) @ axis) / length
            off = float(np.linalg.norm(point - self.exact.start - along * axis / length))
            return MEET_M < along < length - MEET_M and off < self.exact.radius_m - MEET_M
        return True


def round_prism(start: FloatArray, end: FloatArray, radius_m: float) -> Polytope:
    """Twelve-sided prism that encloses a cylinder with flat ends."""
    along = (end - start) / np.linalg.norm(end - start)
    right, up = square_to(along)
    turns = np.arange(SIDES) * (2 * np.pi / SIDES)
    half = np.pi / SIDES
    sides = np.outer(np.cos(turns), right) + np.outer(np.sin(turns), up)
    spokes = np.outer(np.cos(turns - half), right) + np.outer(np.sin(turns - half), up)
    ring = spokes * (radius_m / np.cos(half))
    normals = np.vstack([sides, -along, along])
    offsets = np.concatenate([sides @ start + radius_m, [-along @ start, along @ end]])
    return Polytope(normals, offsets, np.vstack([start + ring, end + ring]), prism_faces(SIDES))


def extent(obstacle: Obstacle) -> tuple[FloatArray, FloatArray]:
    """Least and greatest corner (3,) [m] of a box round an obstacle."""
    if obstacle.corner is not None and obstacle.size is not None:
        ends = np.array([obstacle.corner, np.add(obstacle.corner, obstacle.size)], dtype=np.float64)
        return ends.min(axis=0), ends.max(axis=0)
    if obstacle.ends is not None:
        line, radius = np.array(obstacle.ends, dtype=np.float64), (obstacle.diameter_m or 0.0) / 2
        return line.min(axis=0) - radius, line.max(axis=0) + radius
    cloud = np.asarray(obstacle.triangles, dtype=np.float64).reshape(-1, 3)
    return cloud.min(axis=0), cloud.max(axis=0)


def obstacles(site: Site, faults: list[Fault]) -> tuple[Solid, ...]:
    """The obstacles, route keep-outs and solid features of a site, in its order."""
    found: list[Solid] = []
    for n, obstacle in enumerate(site.obstacles, 1):
        try:
            found.append(_obstacle(obstacle, site.want.gap_m))
        except GeometryError as error:
            faults.append(Fault("", 0, f"obstacle[{n}]", f"{error}"))
    for n, keep in enumerate(site.keep_outs, 1):
        if keep.applies in ("route", "both"):
            body = _box(keep.corner, keep.size, f"keep_out[{n}].size", faults)
            found += [Solid(keep.name, "keep_out", (body,), 0.0)] if body is not None else []
    return tuple(found)


def solid_features(site: Site, faults: list[Fault]) -> tuple[Solid, ...]:
    """Decks, porches, balconies and soffits."""
    found: list[Solid] = []
    for n, feature in enumerate(site.features, 1):
        if feature.kind in SOLID_FEATURES:
            body = _box(feature.corner, feature.size, f"feature[{n}].size", faults)
            found += [Solid(feature.name, "feature", (body,), site.want.gap_m)] if body is not None else []
    return tuple(found)


def _box(corner: object, size: object, key: str, faults: list[Fault]) -> Polytope | None:
    low = np.asarray(corner, dtype=np.float64)
    try:
        return Polytope.box(low, low + np.asarray(size, dtype=np.float64))
    except GeometryError:
        faults.append(Fault("", 0, key, "a box has no volume; three sizes above zero are wanted"))
        return None


def _obstacle(obstacle: Obstacle, gap_m: float) -> Solid:
    gap = gap_m if obstacle.gap_m is None else obstacle.gap_m
    if obstacle.corner is not None and obstacle.size is not None:
        low = np.asarray(obstacle.corner, float)
        return Solid(obstacle.name, "obstacle", (Polytope.box(low, low + np.asarray(obstacle.size, float)),), gap)
    if obstacle.ends is not None and obstacle.diameter_m is not None:
        return _bar(obstacle.name, gap, *obstacle.ends, obstacle.diameter_m / 2)
    if not len(obstacle.triangles):
        raise GeometryError("a box, two ends with a diameter, or a mesh is wanted")
    mesh = Mesh(np.asarray(obstacle.triangles, float))
    boxes = tuple(Polytope.box(low, high) for low, high in cover_of(mesh.triangles))
    return Solid(obstacle.name, "obstacle", boxes, gap, mesh)


def _bar(name: str, gap_m: float, start: object, end: object, radius_m: float) -> Solid:
    first, last = np.asarray(start, dtype=np.float64), np.asarray(end, dtype=np.float64)
    if not (float(np.linalg.norm(last - first)) > MEET_M and radius_m > MEET_M):
        raise GeometryError("a cylinder needs two ends apart and a diameter above zero")
    bar = Cylinder(first, last, radius_m)
    return Solid(name, "obstacle", (round_prism(first, last, radius_m),), gap_m, bar)
