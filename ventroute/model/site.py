"""The house and its surroundings as entered. SI; right-handed, x east, y north, z up."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ventroute.model.appliance import Appliance, Vec3, Want

Vec2 = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Place:
    """Where the house stands."""

    altitude_m: float = 0.0
    winter_degC: float = -15.0
    grade_m: float = 0.0
    snow_m: float = 0.0
    rules: str = "us-2021"


@dataclass(frozen=True, slots=True)
class Envelope:
    """The outside of the building."""

    footprint: tuple[Vec2, ...]  # counter-clockwise, outside faces of the exterior walls
    bottom_m: float
    top_m: float | None  # flat roof's outer surface; None where roofs cover it


@dataclass(frozen=True, slots=True)
class Room:
    """Clear inside, surface to surface. ``top_m`` None: up to the roof's underside."""

    name: str
    floor: tuple[Vec2, ...]  # counter-clockwise
    bottom_m: float
    top_m: float | None
    heated: bool = True


@dataclass(frozen=True, slots=True)
class Roof:
    """A planar slope: its outer surface, and the thickness square to it."""

    name: str
    corners: tuple[Vec3, ...]
    thickness_m: float


@dataclass(frozen=True, slots=True)
class Hole:
    """An existing passage through construction between two spaces."""

    name: str
    at: Vec3
    axis: Vec3
    clear_m: float
    through: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Cut:
    """An area where a new hole may be made; the pipe's axis crosses somewhere in the box."""

    name: str
    through: tuple[str, str]
    corner: Vec3
    size: Vec3
    axis: Vec3
    cost: float = 0.0


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Exactly one of a box (corner + size), a cylinder (ends + diameter) or a mesh file.

    ``mesh`` is the path as written, relative to the site file; ``triangles`` (t, 3, 3) [m] what was read from it.
    Obstacles are compared by what was written.
    """

    name: str
    gap_m: float | None = None  # None: the gap of [want]
    corner: Vec3 | None = None
    size: Vec3 | None = None
    ends: tuple[Vec3, Vec3] | None = None
    diameter_m: float | None = None
    mesh: str | None = None
    scale_m: float = 1.0
    move: Vec3 = (0.0, 0.0, 0.0)
    triangles: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 3, 3)), compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Feature:
    """A thing outdoors that clearance rules are about."""

    kind: str
    name: str
    corner: Vec3
    size: Vec3
    open_sides: int | None = None  # porch, deck, balcony
    faces: Vec3 | None = None  # neighbour opening: the way it looks
    pressure_Pa: float | None = None  # gas regulator vent

    @property
    def label(self) -> str:
        """What findings and zones call it."""
        return f"{self.name} ({self.kind})"


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A box where no terminal, no route, or neither may be."""

    name: str
    applies: str  # terminal | route | both
    corner: Vec3
    size: Vec3


@dataclass(frozen=True, slots=True)
class Framing:
    """Parallel members inside construction that a new hole must miss or may bore."""

    name: str
    kind: str  # joist | stud | rafter
    corner: Vec3  # box that the members fill
    size: Vec3
    runs: Vec3  # the way the members run
    spacing_m: float
    offset_m: float  # centre of the first member from the box's corner, across the way they run
    width_m: float
    depth_m: float


@dataclass(frozen=True, slots=True)
class Site:
    """Everything the person entered."""

    name: str
    place: Place
    building: Envelope
    appliance: Appliance
    rooms: tuple[Room, ...]
    roofs: tuple[Roof, ...] = ()
    holes: tuple[Hole, ...] = ()
    cuts: tuple[Cut, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
    features: tuple[Feature, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    framing: tuple[Framing, ...] = ()
    want: Want = field(default_factory=Want)
