"""Room round the route: to construction and obstacles, and to itself."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ventroute.geometry.distance import segments_segments
from ventroute.layout.building import Building
from ventroute.layout.clearance import clearances
from ventroute.model.plan import Finding
from ventroute.model.route import Part, Route
from ventroute.rules.fittings import hub_od_m, label
from ventroute.rules.pack import Pack
from ventroute.rules.verdict import at_least


def gap_findings(building: Building, pack: Pack, route: Route, gap_m: float) -> Iterator[Finding]:
    """The nearest part to every solid and surface, and the nearest two parts of the route."""
    nearest: dict[str, tuple[float, float, int]] = {}
    for c in clearances(building, route, gap_m):
        spare = (c.gap_m - c.needed_m, c.needed_m, c.part_n)
        nearest[c.what] = min(nearest.get(c.what, spare), spare)
    for what, found in nearest.items():
        yield from at_least(pack, "gap", f"part {found[2]} to {what}", found[0] + found[1], found[1], "m")
    if pairs := list(_pairs(route, gap_m)):
        gap, subject = min(pairs)
        yield from at_least(pack, "gap.self", subject, gap, gap_m, "m")


@dataclass(frozen=True, slots=True)
class _Piece:
    """A straight piece of a part: how far along the route it starts and ends."""

    part: Part
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    since_m: float
    until_m: float


def _pieces(route: Route) -> list[_Piece]:
    out: list[_Piece] = []
    done = 0.0
    for part in route.parts:
        corners = [part.start_m, *([part.corner_m] if part.corner_m else []), part.end_m]
        for a, b in pairwise(corners):
            out.append(_Piece(part, a, b, done, done + math.dist(a, b)))
            done += math.dist(a, b)
    return [piece for piece in out if piece.until_m > piece.since_m]


def _pairs(route: Route, gap_m: float) -> Iterator[tuple[float, str]]:
    """Gap between pieces so far apart along the route that they are no neighbours.

    Over a square corner the straight distance is 0.71 of the way along, so nothing nearer along than the gap and a
    hub, times the square root of two, can meet.
    """
    pieces = _pieces(route)
    apart = math.sqrt(2) * (gap_m + route.kit.hub_od_m)
    for j, later in enumerate(pieces):
        early = [p for p in pieces[:j] if later.since_m - p.until_m > apart]
        if not early:
            continue
        starts, ends = np.array([p.start for p in early]), np.array([p.end for p in early])
        axes = segments_segments(np.array([later.start]), np.array([later.end]), starts, ends)
        for piece, axis_m in zip(early, axes[0].tolist(), strict=True):
            radii = (hub_od_m(route.kit, piece.part) + hub_od_m(route.kit, later.part)) / 2
            yield axis_m - radii, f"{label(piece.part)} to {label(later.part)}"
