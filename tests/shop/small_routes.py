"""Routes laid out by hand for the list's tests, in catalog parts. Invented."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from hypothesis import strategies as st

from tests.layout.small_houses import APPLIANCE, gabled_site
from ventroute.catalog.lookup import kits, load_catalog, shelf
from ventroute.layout.assemble import Course, assemble
from ventroute.model.appliance import SizeLimit, Vec3
from ventroute.model.parts import Bend, Kit
from ventroute.model.route import Crossing, Route, Run
from ventroute.model.shelf import Shelf
from ventroute.model.site import Site

IN, FT = 0.0254, 0.3048
LIMIT = SizeLimit(3.0, 100.0, elbow_90_m=1.5, elbow_45_m=0.8, elbow_22_m=0.5)


def the_shelf() -> Shelf:
    """The packaged catalog as a shelf."""
    return shelf(load_catalog())


def kit(material: str = "PVC", size_in: float = 3.0, collar_in: float | None = None) -> Kit:
    """Catalog parts of one material and size."""
    found = kits(load_catalog(), material, size_in, None, size_in if collar_in is None else collar_in)
    assert isinstance(found, Kit)
    return found


def bend(parts: Kit, angle_deg: float, street: bool = False) -> Bend:
    """The first bend of this nominal angle."""
    return next(b for b in parts.bends if b.angle_deg == angle_deg and b.street == street)


def laid(
    corners: Sequence[Vec3],
    bends: Sequence[Bend] = (),
    parts: Kit | None = None,
    *,
    kind: str = "roof",
    crossings: Sequence[tuple[Crossing, int]] = (),
) -> Route:
    """A route over these corners; without bends every corner takes a 90."""
    parts = parts or kit()
    bends = tuple(bends) or tuple(bend(parts, 90.0) for _ in corners[1:-1])
    course = Course(
        kind,
        np.array(corners, dtype=float),
        bends,
        tuple(crossing for crossing, _ in crossings),
        tuple(leg for _, leg in crossings),
        ((),) * (len(corners) - 1),
    )
    route = assemble(course, parts, LIMIT, APPLIANCE, lambda p: "outdoors" if p[2] > 5 else "utility")
    assert route is not None
    return route


def straight(length_m: float, way: Vec3 = (1.0, 0.0, 0.0), parts: Kit | None = None) -> Route:
    """One run."""
    return laid([(0.0, 0.0, 0.0), (length_m * way[0], length_m * way[1], length_m * way[2])], (), parts)


def bare(route: Route, runs: Sequence[tuple[Vec3, Vec3]], crossings: Sequence[Crossing] = ()) -> Route:
    """The same route with other runs and crossings, where only those matter."""
    made = tuple(Run(a, b, math.dist(a, b)) for a, b in runs)
    return replace(route, runs=made, crossings=tuple(crossings))


def offset(angle_deg: float, shift_m: float, laying_m: float) -> Route:
    """Up, over by `shift_m` at an angle, and up again, with bends of this laying length."""
    parts = kit()
    turn = replace(bend(parts, 45.0), angle_deg=angle_deg, laying_m=laying_m)
    run = shift_m / math.tan(math.radians(angle_deg))
    corners = [(0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (shift_m, 0.0, 1.0 + run), (shift_m, 0.0, 2.0 + run)]
    return laid(corners, [turn, turn], replace(parts, bends=(turn,)))


def house(**changes: object) -> Site:
    """A house with three old flue holes under a gable of 8 in 12."""
    return gabled_site(**changes)


_STEPS: tuple[Vec3, ...] = ((1, 0, 0), (0, 1, 0), (0, 0, 1), (-1, 0, 0), (0, -1, 0))


@st.composite
def routes(draw: st.DrawFn) -> Route:
    """Routes of 90s along the axes, with runs from 1 to 25 ft, sticks and couplings as they come."""
    parts = kit(draw(st.sampled_from(["PVC", "ABS", "CPVC", "PP"])), draw(st.sampled_from([2.0, 3.0])))
    at, way = np.zeros(3), np.array([0.0, 0.0, 1.0])
    corners = [at]
    for _ in range(draw(st.integers(1, 6))):
        at = at + way * draw(st.floats(0.4, 7.5))
        corners.append(at)
        way = np.array(draw(st.sampled_from([s for s in _STEPS if abs(np.dot(s, way)) < 0.5])), dtype=float)
    return laid([(float(c[0]), float(c[1]), float(c[2])) for c in corners], (), parts)
