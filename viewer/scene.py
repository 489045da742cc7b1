"""From site and plan to plain shapes. Decides nothing: what is shown was found elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ventroute.layout.zone import zone_mesh
from ventroute.model.plan import Plan
from ventroute.model.site import Site

from .house import house_shapes
from .pipework import route_shapes
from .shape import FloatArray, Scene, Shape, ident

if TYPE_CHECKING:
    from ventroute.geometry.polytope import Polytope
    from ventroute.layout.building import Building
    from ventroute.layout.zone import Zone

__all__ = ["Scene", "Shape", "scene"]

WIDE_M = 4.0  # broader than the zone of any one window, door or meter
SAG_M = 0.03  # by which a flat face of a drawn zone may miss the round one it stands for
BEYOND_M = 1.0  # zones without end are shown this far beyond everything else


def scene(
    site: Site | None, building: Building | None, plan: Plan | None, zones: Sequence[Zone] = (), units: str = "us"
) -> Scene:
    """One description of all that can be seen.

    Parameters
    ----------
    site, building : the house; None shows the routes alone
    plan : None shows the house alone
    zones : where no terminal may be, drawn to where their margins are zero
    units : ``us`` or ``metric``, for the descriptions
    """
    shapes = house_shapes(site, building, units) if site is not None else []
    routes = [shape for planned in (plan.routes if plan else ()) for shape in route_shapes(planned, units)]
    seen = Scene("", (*shapes, *routes))
    named = site.name if site is not None else plan.site if plan is not None else ""
    drawn = [*shapes, *zone_shapes(zones, seen.bounds_m()), *routes]
    ids = tuple(planned.id for planned in (plan.routes if plan else ()))
    return Scene(named, tuple(drawn), ids, {**Scene("", ()).views, "corner": _corner(plan)})


def _corner(plan: Plan | None) -> tuple[float, float, float]:
    """Whence to look first: at the side where the best route's terminal stands."""
    x, y, _ = plan.routes[0].route.terminal_direction if plan and plan.routes else (0.0, 0.0, 1.0)
    if np.hypot(x, y) < 0.5:
        x, y = 0.0, -1.0
    return 1.5 * x + 0.9 * y, 1.5 * y - 0.9 * x, 0.9


def zone_shapes(zones: Sequence[Zone], bounds_m: FloatArray) -> list[Shape]:
    """Each forbidden region, cut off a little beyond what else is there (some have no end)."""
    low, high = bounds_m[0] - BEYOND_M, bounds_m[1] + BEYOND_M
    shapes = []
    for n, zone in enumerate(zones, 1):
        cover = (_within(body, low, high) for body in zone.cover)
        triangles = zone_mesh(replace(zone, cover=tuple(body for body in cover if body is not None)), SAG_M)
        name = f"{zone.rule}: {zone.subject}" if zone.subject else zone.rule
        if len(triangles):
            said = "no terminal may stand in here (drawn with flat faces where the rule is rounded)"
            look = "wide_zone" if _wide(triangles) else "zone"
            shapes.append(Shape(ident("zone", n), name, look, said, triangles))
    return shapes


def _wide(triangles: FloatArray) -> bool:
    """Whether a zone lies over a whole roof or all the ground, where a dense pattern would hide the house."""
    across = np.ptp(triangles.reshape(-1, 3), axis=0)[:2]
    return bool(across.min() > WIDE_M)


def _within(body: Polytope | None, low: FloatArray, high: FloatArray) -> Polytope | None:
    """A convex body cut to a box; None where nothing is left."""
    for axis in np.eye(3):
        for normal, offset in ((axis, float(axis @ high)), (-axis, float(-axis @ low))):
            if body is None:
                return None
            body = body.clip(normal, offset)
    return body
