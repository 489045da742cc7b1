"""Roofs: planes over the plan, and the body each one is made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.constants import MEET_M
from ventroute.errors import Fault, GeometryError
from ventroute.geometry.polygon import convex_parts
from ventroute.geometry.polytope import Polytope
from ventroute.model.site import Roof

FloatArray = NDArray[np.float64]

FLAT_M = 3e-3  # corners are typed to 1/16 or 1/8 in; more than that is another plane
STEEPEST = 0.05  # least upward share of a roof's normal: steeper is a wall


@dataclass(frozen=True, slots=True, eq=False)
class Slope:
    """A roof's outer plane ``normal @ x = offset`` (normal upward), thickness square to it, and plan in convex parts.

    The roof is cut plumb at its edges: thickness is carried straight down, so that slopes that meet at a ridge, hip
    or valley meet below it too.
    """

    name: str
    normal: FloatArray
    offset: float
    thickness_m: float
    plan: tuple[FloatArray, ...]
    low_m: float  # least z of the slope's lower face
    high_m: float

    @property
    def underside(self) -> float:
        """Offset of the lower face's plane."""
        return self.offset - self.thickness_m

    def slabs(self) -> tuple[Polytope, ...]:
        """The roof's own body as convex parts."""
        parts = (below(prism, self.normal, self.offset) for prism in self.columns(self.low_m - 1, self.high_m + 1))
        cut = [part.clip(-self.normal, -self.underside) for part in parts if part is not None]
        return tuple(part for part in cut if part is not None)

    def columns(self, bottom_m: float, top_m: float) -> tuple[Polytope, ...]:
        """Upright prisms over the plan."""
        return tuple(Polytope.prism(part, bottom_m, top_m) for part in self.plan)


def below(body: Polytope | None, normal: FloatArray, offset: float) -> Polytope | None:
    """The part of a body under a plane."""
    return None if body is None else body.clip(normal, offset)


def slopes(roofs: Sequence[Roof], faults: list[Fault]) -> tuple[Slope, ...]:
    """Every roof of a site as a slope; what cannot be one is a fault."""
    found = []
    for n, roof in enumerate(roofs, 1):
        try:
            found.append(_slope(roof))
        except GeometryError as error:
            faults.append(Fault("", 0, f"roof[{n}].corners", f"{error}"))
    return tuple(found)


def _slope(roof: Roof) -> Slope:
    corners = np.asarray(roof.corners, float).reshape(-1, 3)
    if len(corners) < 3:
        raise GeometryError("a roof needs three corners or more")
    centre = corners.mean(axis=0)
    # Newell's normal: right for any simple loop, whichever corners are taken first
    onward = np.roll(corners, -1, axis=0)
    normal = np.cross(corners - centre, onward - centre).sum(axis=0)
    size = float(np.linalg.norm(normal))
    if size < MEET_M**2:
        raise GeometryError("the corners of a roof lie in one line; a surface is wanted")
    normal = normal / size * (1 if normal[2] >= 0 else -1)
    off = float(np.abs((corners - centre) @ normal).max())
    if off > FLAT_M:
        raise GeometryError(f"the corners are not in one plane (off by {off:.4g} m); split the roof into flat parts")
    if normal[2] < STEEPEST:
        raise GeometryError("a roof stands upright; give walls by the footprint")
    drop = roof.thickness_m / float(normal[2])
    low, high = float(corners[:, 2].min()), float(corners[:, 2].max())
    plan = convex_parts(corners[:, :2])
    return Slope(roof.name, normal, float(normal @ centre), roof.thickness_m, plan, low - drop, high)
