"""The outdoors: everything above grade that is neither in the building, its roofs, nor a solid feature."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from ventroute.constants import FOOT_M, MEET_M
from ventroute.errors import Fault, GeometryError
from ventroute.geometry.pieces import joined
from ventroute.geometry.polygon import convex_parts
from ventroute.geometry.polytope import Polytope
from ventroute.layout.roofs import Slope
from ventroute.layout.solids import Solid
from ventroute.layout.spaces import BARE_M2, Space, uncovered, under_slope
from ventroute.model.site import Site

FloatArray = NDArray[np.float64]

AROUND_M = 10.0  # open air kept round and above everything entered


def building_blocks(site: Site, slopes: Sequence[Slope], faults: list[Fault]) -> tuple[Polytope, ...]:
    """The building from its bottom to the outer surface of roof or flat top, in convex pieces."""
    envelope = site.building
    try:
        plan = convex_parts(envelope.footprint)
    except GeometryError as error:
        faults.append(Fault("", 0, "building.footprint", f"{error}"))
        return ()
    under = (under_slope(part, envelope.bottom_m, slope, slope.offset) for slope in slopes for part in plan)
    blocks = list(chain.from_iterable(under))
    bare = uncovered(plan, slopes)
    area = sum(piece.volume_m3 for piece in bare)
    if area > BARE_M2:
        blocks += _flat_topped(site, bare, area, faults)
    return joined(blocks)


def _flat_topped(site: Site, bare: Sequence[Polytope], area_m2: float, faults: list[Fault]) -> list[Polytope]:
    """Blocks under the flat top, over prisms of the plan that no slope lies over."""
    envelope = site.building
    if envelope.top_m is None:
        bare_ft2 = area_m2 / FOOT_M**2
        what = f"no roof over {bare_ft2:.3g} ft2 of the footprint; a top, or a roof over all of it, is wanted"
        faults.append(Fault("", 0, "building.top", what))
        return []
    if envelope.top_m - envelope.bottom_m <= MEET_M:
        faults.append(Fault("", 0, "building.top", "the top is not above the bottom; a higher z is wanted"))
        return []
    floors = [piece.vertices[np.isclose(piece.vertices[:, 2], 0)][:, :2] for piece in bare]
    return [Polytope.prism(_ring(floor), envelope.bottom_m, envelope.top_m) for floor in floors]


def _ring(points: FloatArray) -> FloatArray:
    """Corners of a convex polygon in counter-clockwise order."""
    out = points - points.mean(axis=0)
    return np.asarray(points[np.argsort(np.arctan2(out[:, 1], out[:, 0]), kind="stable")], dtype=np.float64)


def outdoors(
    index: int, site: Site, blocks: Sequence[Polytope], slopes: Sequence[Slope], extra: Sequence[Solid]
) -> Space:
    """The one space outside: a box from grade up, less the building, its roofs with their eaves, and ``extra``."""
    gap_m = site.want.gap_m
    solids = [Solid("building", "construction", (block,), gap_m) for block in blocks]
    solids += [Solid(slope.name, "construction", (slab,), gap_m) for slope in slopes for slab in slope.slabs()]
    solids += extra
    corners = [body.vertices for solid in solids for body in solid.bodies]
    boxes = [(f.corner, f.size) for f in site.features] + [(k.corner, k.size) for k in site.keep_outs]
    corners += [np.array([corner, np.add(corner, size)], dtype=np.float64) for corner, size in boxes]
    everything = np.vstack(corners)
    low, high = everything.min(axis=0) - AROUND_M, everything.max(axis=0) + AROUND_M
    low[2] = site.place.grade_m
    high[2] = max(high[2], low[2] + AROUND_M)
    return Space(index, "outdoors", ("outdoors",), True, False, Polytope.box(low, high), tuple(solids))
