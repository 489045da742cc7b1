"""A drawn route becomes parts, so that the same rules judge it; nothing is searched."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ventroute.catalog.lookup import kits
from ventroute.constants import MEET_M
from ventroute.errors import Fault, InputError
from ventroute.layout.assemble import Course, assemble
from ventroute.layout.building import Building, Passage
from ventroute.model.drawn import DrawnRoute
from ventroute.model.parts import Bend, Kit
from ventroute.model.route import Crossing, Route
from ventroute.model.site import Site
from ventroute.planner import Workshop
from ventroute.units import format_length, format_size

FloatArray = NDArray[np.float64]

STRAIGHT_DEG = 0.05  # less than this is no turn that anybody draws


def drawn_route(site: Site, building: Building, shop: Workshop, drawn: DrawnRoute) -> Route:
    """The parts of a drawn route, however bad it is.

    Raises
    ------
    InputError
        No parts can make it: no such kit, no row for the size, runs too short for their fittings. Keys are those of
        the route file; file and line are for the caller to add.
    """
    kit = _kit(site, shop, drawn)
    limit = site.appliance.limit(drawn.size_in)
    if limit is None:
        rows = ", ".join(format_size(row.size_in) for row in site.appliance.sizes)
        what = f"the appliance's table has no row for {format_size(drawn.size_in)}; wanted one of {rows}"
        raise _error("size", what)
    steps = np.array([np.multiply(run.toward, run.length_m) for run in drawn.runs])
    corners = np.asarray(site.appliance.collar_m) + np.concatenate([np.zeros((1, 3)), np.cumsum(steps, axis=0)])
    bends = _bends(kit, corners)
    faults = [*_straight(corners), *_too_short(kit, corners, bends)]
    if faults:
        raise InputError(faults)
    through = [run.through for run in drawn.runs]
    crossings = [(c, leg) for leg, names in enumerate(through) for c in _crossings(building, corners, leg, names)]
    course = Course(
        drawn.terminal,
        corners,
        bends,
        tuple(c for c, _ in crossings),
        tuple(leg for _, leg in crossings),
        tuple(_barriers(building, kit, corners, leg, names) for leg, names in enumerate(through)),
    )
    route = assemble(course, kit, limit, site.appliance, lambda p: building.room_at(p) or "")
    if route is None:
        raise InputError(_no_coupling(kit, corners))
    return route


def _error(key: str, what: str) -> InputError:
    return InputError([Fault("", 0, key, what)])


def _kit(site: Site, shop: Workshop, drawn: DrawnRoute) -> Kit:
    appliance = site.appliance
    kit = kits(shop.catalog, drawn.material, drawn.size_in, appliance.collar_material, appliance.collar_size_in)
    if isinstance(kit, str):
        raise _error("size", kit)
    return kit


def _angles_deg(corners: FloatArray) -> list[float]:
    dirs = np.diff(corners, axis=0)
    crossed = np.linalg.norm(np.cross(dirs[:-1], dirs[1:]), axis=1)
    return [math.degrees(a) for a in np.arctan2(crossed, np.sum(dirs[:-1] * dirs[1:], axis=1))]


def _bends(kit: Kit, corners: FloatArray) -> tuple[Bend, ...]:
    """The bend nearest to each turn; a street bend where the run before it leaves no room for pipe."""
    lengths = np.linalg.norm(np.diff(corners, axis=0), axis=1)
    out: list[Bend] = []
    for i, turn in enumerate(_angles_deg(corners)):
        hub = min((b for b in kit.bends if not b.street), key=lambda b: abs(b.angle_deg - turn))
        street = next(
            (b for b in kit.bends if b.street and (b.angle_deg, b.pattern) == (hub.angle_deg, hub.pattern)), None
        )
        before = out[-1].laying_m if out else sum(change.length_m for change in kit.start)
        room = lengths[i] - before - hub.laying_m
        out.append(street if street and abs(room - (street.spigot_m or 0.0)) < 1e-4 else hub)
    return tuple(out)


def _straight(corners: FloatArray) -> Iterator[Fault]:
    """Runs that go on the way of the one before."""
    for n, turn in enumerate(_angles_deg(corners), 2):
        if turn < STRAIGHT_DEG:
            yield Fault("", 0, f"run[{n}].toward", f"the same way as run {n - 1}; wanted one run for both, or a turn")


def _too_short(kit: Kit, corners: FloatArray, bends: tuple[Bend, ...]) -> Iterator[Fault]:
    """Runs with less room than the fittings at their ends take."""
    start = sum(change.length_m for change in kit.start)
    before = [start, *(bend.laying_m for bend in bends)]
    after = [*(bend.laying_m + (bend.spigot_m or 0.0) for bend in bends), 0.0]
    lengths = np.linalg.norm(np.diff(corners, axis=0), axis=1)
    for n, (long, taken) in enumerate(zip(lengths, map(sum, zip(before, after, strict=True)), strict=True), 1):
        if long < taken - MEET_M:
            what = f"too short: the fittings at its ends take {format_length(taken, short=True)}, without any pipe"
            yield Fault("", 0, f"run[{n}].length", what)


def _no_coupling(kit: Kit, corners: FloatArray) -> Iterator[Fault]:
    """Runs that could want a coupling."""
    longest = max(kit.pipe.stick_m)
    for n, (a, b) in enumerate(pairwise(corners), 1):
        if float(np.linalg.norm(b - a)) > longest:
            what = f"longer than a stick, {format_length(longest)}, with no place for a coupling clear of construction"
            yield Fault("", 0, f"run[{n}]", what)


def _crossings(building: Building, corners: FloatArray, leg: int, through: tuple[str, ...]) -> list[Crossing]:
    """Where the leg's axis is half-way between the mouths of the passages it goes through."""
    a, b = corners[leg], corners[leg + 1]
    u = (b - a) / np.linalg.norm(b - a)
    out = []
    for name in through:
        passage, ends = _passed(building, name, a, u, leg)
        p = a + u * sum(ends) / 2
        out.append(Crossing(name, passage.kind == "cut", (float(p[0]), float(p[1]), float(p[2])), tuple(u.tolist())))
    return out


def _passed(
    building: Building, name: str, a: FloatArray, u: FloatArray, leg: int
) -> tuple[Passage, tuple[float, float]]:
    """The passage of this name whose middle the leg comes nearest to, and how far along the leg its mouths are."""
    found: list[tuple[float, int, Passage, tuple[float, float]]] = []
    for passage in (p for p in building.passages if p.name == name):
        along = [float(n @ u) for n, _ in (passage.mouth_a, passage.mouth_b)]
        if min(abs(x) for x in along) > 1e-6:
            planes = zip((passage.mouth_a, passage.mouth_b), along, strict=True)
            first, last = sorted((offset - float(normal @ a)) / x for (normal, offset), x in planes)
            off = float(np.linalg.norm(a + u * (first + last) / 2 - passage.point))
            found.append((off, len(found), passage, (first, last)))
    if not found:
        raise _error(f"run[{leg + 1}].through", f'the run goes along the mouths of "{name}", not through it')
    return min(found, key=lambda f: f[:2])[2:]


def _barriers(
    building: Building, kit: Kit, corners: FloatArray, leg: int, through: tuple[str, ...]
) -> tuple[tuple[float, float], ...]:
    """Stretches in construction, where no coupling may be."""
    a, b = corners[leg], corners[leg + 1]
    u = (b - a) / np.linalg.norm(b - a)
    reach = kit.coupling.socket_m + kit.coupling.gap_m + building.site.want.gap_m
    ends = (_passed(building, name, a, u, leg)[1] for name in through)
    return tuple((low - reach, high + reach) for low, high in ends)
