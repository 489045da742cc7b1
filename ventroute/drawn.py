"""A drawn route becomes parts, so that the same rules judge it; nothing is searched."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ventroute.catalog.lookup import kits
from ventroute.errors import VentrouteError
from ventroute.layout.assemble import Course, assemble
from ventroute.layout.building import Building, Passage
from ventroute.model.drawn import DrawnRoute
from ventroute.model.parts import Bend, Kit
from ventroute.model.route import Crossing, Route
from ventroute.model.site import Site
from ventroute.planner import Workshop

FloatArray = NDArray[np.float64]


class DrawnError(VentrouteError):
    """A drawn route that cannot be made of parts at all."""


def drawn_route(site: Site, building: Building, shop: Workshop, drawn: DrawnRoute) -> Route:
    """The parts of a drawn route, however bad it is.

    Raises
    ------
    DrawnError
        No such kit, no row for the size, or runs too short for the fittings between them.
    """
    appliance = site.appliance
    kit = kits(shop.catalog, drawn.material, drawn.size_in, appliance.collar_material, appliance.collar_size_in)
    if isinstance(kit, str):
        raise DrawnError(kit)
    limit = appliance.limit(drawn.size_in)
    if limit is None:
        raise DrawnError(f"the appliance's table has no row for {drawn.size_in:g} in")
    steps = np.array([np.multiply(run.toward, run.length_m) for run in drawn.runs])
    corners = np.asarray(appliance.collar_m) + np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])
    bends = _bends(kit, corners)
    crossings = [
        (c, leg) for leg, run in enumerate(drawn.runs) for c in _crossings(building, corners, leg, run.through)
    ]
    course = Course(
        drawn.terminal,
        corners,
        bends,
        tuple(c for c, _ in crossings),
        tuple(leg for _, leg in crossings),
        tuple(_barriers(building, kit, corners, leg, run.through) for leg, run in enumerate(drawn.runs)),
    )
    route = assemble(course, kit, limit, appliance, lambda p: building.room_at(p) or "")
    if route is None:
        raise DrawnError("a run is too short for the fittings at its ends, or has no place for a coupling")
    return route


def _bends(kit: Kit, corners: FloatArray) -> tuple[Bend, ...]:
    """The bend nearest to each turn; a street bend where the run before it leaves no room for pipe."""
    dirs = np.diff(corners, axis=0)
    lengths = np.linalg.norm(dirs, axis=1)
    dirs = dirs / lengths[:, None]
    out: list[Bend] = []
    for i in range(len(dirs) - 1):
        turn = float(np.degrees(np.arccos(np.clip(dirs[i] @ dirs[i + 1], -1.0, 1.0))))
        hub = min((b for b in kit.bends if not b.street), key=lambda b: abs(b.angle_deg - turn))
        street = next(
            (b for b in kit.bends if b.street and (b.angle_deg, b.pattern) == (hub.angle_deg, hub.pattern)), None
        )
        before = out[-1].laying_m if out else sum(change.length_m for change in kit.start)
        room = lengths[i] - before - hub.laying_m
        out.append(street if street and abs(room - (street.spigot_m or 0.0)) < 1e-4 else hub)
    return tuple(out)


def _named(building: Building, name: str) -> Passage:
    return next(passage for passage in building.passages if passage.name == name)


def _crossings(building: Building, corners: FloatArray, leg: int, through: tuple[str, ...]) -> list[Crossing]:
    """Where the leg's axis is half-way between the mouths of the passages it goes through."""
    a, b = corners[leg], corners[leg + 1]
    u = (b - a) / np.linalg.norm(b - a)
    out = []
    for name in through:
        passage = _named(building, name)
        ends = _mouth_distances(passage, a, u, name)
        p = a + u * sum(ends) / 2
        out.append(Crossing(name, passage.kind == "cut", (float(p[0]), float(p[1]), float(p[2])), tuple(u.tolist())))
    return out


def _mouth_distances(passage: Passage, a: FloatArray, u: FloatArray, name: str) -> tuple[float, float]:
    along = [float(n @ u) for n, _ in (passage.mouth_a, passage.mouth_b)]
    if min(abs(x) for x in along) < 1e-6:
        raise DrawnError(f'the run along "{name}" does not go through it')
    first, last = ((o - float(n @ a)) / x for (n, o), x in zip((passage.mouth_a, passage.mouth_b), along, strict=True))
    return min(first, last), max(first, last)


def _barriers(
    building: Building, kit: Kit, corners: FloatArray, leg: int, through: tuple[str, ...]
) -> tuple[tuple[float, float], ...]:
    """Stretches in construction, where no coupling may be."""
    a, b = corners[leg], corners[leg + 1]
    u = (b - a) / np.linalg.norm(b - a)
    reach = kit.coupling.socket_m + kit.coupling.gap_m + building.site.want.gap_m
    ends = (_mouth_distances(_named(building, name), a, u, name) for name in through)
    return tuple((low - reach, high + reach) for low, high in ends)
