"""A forbidden region for the terminal, as the solver, the checks and the viewer all see it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polytope import Polytope

FloatArray = NDArray[np.float64]

HALVINGS = 30  # of the way from a cover's corner to the zone: below a micrometre
SEAM_M = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Zone:
    """Where the centre of the terminal's end may not be.

    ``margin`` maps (n, 3) points [m] to (n,) signed margins [m], negative inside, 0 on the limit (allowed). ``cover``
    is a set of convex bodies that together enclose every point of negative margin; it may enclose a little more.
    """

    rule: str
    subject: str
    cover: tuple[Polytope, ...]
    margin: Callable[[FloatArray], FloatArray]


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
