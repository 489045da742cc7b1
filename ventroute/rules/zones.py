"""Where a terminal's end may not be: every clause of a pack that applies, as a solid with a signed margin."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polytope import Polytope
from ventroute.layout.building import Building
from ventroute.layout.zone import Zone
from ventroute.model.site import Site
from ventroute.rules import heights, places
from ventroute.rules.clause import Clause
from ventroute.rules.pack import Pack
from ventroute.rules.scene import make_scene

FloatArray = NDArray[np.float64]

MAKERS = {**places.MAKERS, **heights.MAKERS}
HALVINGS = 30  # of the way from a cover's corner to the zone: below a micrometre
SEAM_M = 0.3


def clauses(site: Site, building: Building, pack: Pack, kind: str, end_radius_m: float) -> tuple[Clause, ...]:
    """Every rule of the pack about the terminal's place, applied to every thing it is about.

    Parameters
    ----------
    kind : roof | wall
    end_radius_m : outside radius of the pipe's end [m]
    """
    scene = make_scene(site, building, kind, end_radius_m)
    found: list[Clause] = []
    for rule in pack.applying(site.appliance).rules:
        if rule.kind in MAKERS and rule.when.end(kind, 2 * end_radius_m):
            found += places.by_pressure(rule, scene, MAKERS[rule.kind])
    return tuple(found)


def terminal_zones(site: Site, building: Building, pack: Pack, kind: str, end_radius_m: float) -> tuple[Zone, ...]:
    """Forbidden regions for the centre of the terminal's end; what only a person can judge is left out.

    Parameters
    ----------
    kind : roof | wall
    end_radius_m : outside radius of the pipe's end [m], accounted for where a rule measures from its nearest edge
    """
    found = clauses(site, building, pack, kind, end_radius_m)
    return tuple(clause.zone() for clause in found if not (clause.ask or clause.rule.ask))


def zone_mesh(zone: Zone, sag_m: float = 0.005) -> FloatArray:
    """Triangles (t, 3, 3) [m] of the zone's skin, to draw.

    The corners of the cover's faces are drawn in to where the margin is zero, and faces divided until their middles
    miss it by no more than ``sag_m``, or four times.
    """
    parts = [_fitted(zone, body, sag_m) for body in zone.cover]
    return np.concatenate(parts) if parts else np.zeros((0, 3, 3))


def _fitted(zone: Zone, body: Polytope, sag_m: float, most: int = 4) -> FloatArray:
    done: list[FloatArray] = []
    rough = body.triangles()
    holds = float(zone.margin(body.centre[None])[0]) < 0
    for turn in range(most + 1):
        drawn = _drawn_in(zone, rough, body.centre) if holds else rough
        depth = -zone.margin(drawn.mean(axis=1))
        # where a cover has several bodies, what lies deep inside is a seam between them, and is not seen
        seam = (depth > SEAM_M) & (len(zone.cover) > 1)
        split = (depth > sag_m) & ~seam & holds & (turn < most)
        done.append(drawn[~split])
        if not split.any():
            break
        rough = _quartered(rough[split])
    return np.concatenate(done)


def _drawn_in(zone: Zone, triangles: FloatArray, centre: FloatArray) -> FloatArray:
    """Corners moved towards the centre until the margin is zero; those within stay."""
    corners = triangles.reshape(-1, 3)
    inner, outer = np.zeros(len(corners)), np.ones(len(corners))
    outside = zone.margin(corners) > 0
    for _ in range(HALVINGS):
        middle = (inner + outer) / 2
        free = zone.margin(centre + middle[:, None] * (corners - centre)) > 0
        inner, outer = np.where(free, inner, middle), np.where(free, middle, outer)
    share = np.where(outside, outer, 1.0)
    return np.asarray((centre + share[:, None] * (corners - centre)).reshape(-1, 3, 3))


def _quartered(triangles: FloatArray) -> FloatArray:
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    return np.concatenate([np.stack(part, axis=1) for part in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))])
