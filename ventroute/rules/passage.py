"""Holes and what is inside construction: fit, tilt, joints, firestops, the part of a vent that can be seen."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.constants import ANGLE_RAD, INCH_M
from ventroute.layout.building import Building, Passage
from ventroute.model.plan import Finding, Verdict
from ventroute.model.route import Crossing, Part, PartKind, Route
from ventroute.rules.clause import ROUNDING
from ventroute.rules.fittings import beside
from ventroute.rules.pack import Pack
from ventroute.rules.verdict import at_least, at_most, stated
from ventroute.sentences import note_length

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Barrier:
    """A crossing with the passage it uses: its mouths (3,) [m], and tilt of the pipe in it [rad]."""

    crossing: Crossing
    passage: Passage
    mouths: tuple[FloatArray, FloatArray]
    tilt_rad: float

    @property
    def thickness_m(self) -> float:
        """Along the hole."""
        return float(np.linalg.norm(self.mouths[1] - self.mouths[0]))


def passage_findings(building: Building, pack: Pack, route: Route) -> Iterator[Finding]:
    """Every crossing: the hole takes the pipe, and no joint is inside."""
    found = [barrier_of(building, crossing) for crossing in route.crossings]
    for crossing, barrier in zip(route.crossings, found, strict=True):
        if barrier is None:
            note = "no such hole or cut leads through here"
            yield from stated(pack, "hole.fit", crossing.name, Verdict.FAIL, note=note)
            continue
        through = _through(route, barrier)
        od_m = max((route.kit_of(part).pipe.od_m for _, part in through), default=route.kit.pipe.od_m)
        yield from _fit(barrier, pack, od_m)
        yield from _joint(barrier, pack, route, through)
    yield from _firestop(building, pack, [barrier for barrier in found if barrier is not None])
    yield from _in_view(pack, route, [barrier for barrier in found if barrier is not None])


def barrier_of(building: Building, crossing: Crossing) -> Barrier | None:
    """The passage of a crossing: of those with its name, the one whose middle its point is nearest to."""
    at, way = np.asarray(crossing.point_m, float), np.asarray(crossing.direction, float)
    named = [p for p in building.passages if p.name == crossing.name]
    if not named:
        return None
    passage = min(named, key=lambda p: float(np.linalg.norm(sum(p.mouths(at)) / 2 - at)))
    tilt = math.acos(min(1.0, abs(float(passage.axis @ way))))
    return Barrier(crossing, passage, passage.mouths(at), tilt if tilt > ANGLE_RAD else 0.0)


def tilted_need_m(od_m: float, thickness_m: float, tilt_rad: float) -> float:
    """Clear diameter [m] that a tilted pipe needs to go through a hole of this depth."""
    return od_m / math.cos(tilt_rad) + thickness_m * math.tan(tilt_rad)


def _fit(barrier: Barrier, pack: Pack, od_m: float) -> Iterator[Finding]:
    clear, rule = barrier.passage.clear_m, pack.rule("hole.fit")
    if clear is None or rule is None:  # a new hole is made to fit
        return
    name = barrier.crossing.name
    need = tilted_need_m(od_m, barrier.thickness_m, barrier.tilt_rad)
    left = f"{note_length((clear - od_m) / 2, short=True)} left all round, to be sealed"
    yield from at_most(pack, rule.id, name, od_m, clear, "m", note=left)
    if od_m > clear + ROUNDING:
        return
    spare = rule.figures["least"]
    note = "the pipe fills the hole: is there room to push it through and to seal round it?"
    note = note if clear - od_m < spare.value - ROUNDING else ""
    yield from at_least(
        pack, rule.id, f"{name}: room", clear - od_m, spare.value, "m", note=note, evidence=spare.evidence, ask=True
    )
    if need > max(clear, od_m) + ROUNDING:
        ask = f"tilted for its pitch the pipe needs {need / INCH_M:.3f} in clear: can the hole be eased?"
        yield from stated(pack, rule.id, f"{name}: tilt", Verdict.ASK, note=ask)


def _joint(barrier: Barrier, pack: Pack, route: Route, through: list[tuple[int, Part]]) -> Iterator[Finding]:
    """Distance from the nearest hub face to the barrier, along the pipe."""
    name = barrier.crossing.name
    pipes = [(i, part) for i, part in through if part.kind is PartKind.PIPE]
    if len(through) != 1 or not pipes:
        kinds = ", ".join(f"{part.kind} {part.n}" for _, part in through) or "nothing"
        yield from stated(pack, "hole.joint", name, Verdict.FAIL, note=f"one pipe is wanted there; found {kinds}")
        return
    index, part = pipes[0]
    start, end = np.asarray(part.start_m), np.asarray(part.end_m)
    span = float(np.linalg.norm(end - start))
    into, out = _stations(barrier, start, (end - start) / span)
    clear = min(into - beside(route, index, -1), span - beside(route, index, 1) - out)
    yield from at_least(pack, "hole.joint", name, clear, 0.0, "m", note="nearest hub to the barrier")


def _through(route: Route, barrier: Barrier) -> list[tuple[int, Part]]:
    """The parts, by their place in the route, of which any length lies between the mouths, near the crossing's axis."""
    way = np.asarray(barrier.crossing.direction, float)
    at = np.asarray(barrier.crossing.point_m, float)
    first, last = sorted(float((mouth - at) @ way) for mouth in barrier.mouths)
    ends = np.array([(part.start_m, part.end_m) for part in route.parts], dtype=np.float64).reshape(-1, 2, 3)
    some = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) >= 1e-9
    along = (ends - at) @ way
    off = np.linalg.norm(ends[:, 0] - at - along[:, :1] * way, axis=1)
    inside = (along.min(axis=1) < last - 1e-6) & (along.max(axis=1) > first + 1e-6) & (off < 1e-3)
    return [(int(i), route.parts[i]) for i in np.flatnonzero(some & inside)]


def _stations(barrier: Barrier, start: FloatArray, way: FloatArray) -> tuple[float, float]:
    planes = (barrier.passage.mouth_a, barrier.passage.mouth_b)
    at = sorted((offset - float(normal @ start)) / float(normal @ way) for normal, offset in planes)
    return at[0], at[1]


def _firestop(building: Building, pack: Pack, barriers: list[Barrier]) -> Iterator[Finding]:
    """One question for all floors, ceilings and walls between rooms."""
    inner = [b.crossing.name for b in barriers if not any(building.spaces[i].outdoors for i in b.passage.spaces)]
    if inner:
        yield from stated(pack, "hole.firestop", ", ".join(f'"{name}"' for name in inner), Verdict.ASK)


def _in_view(pack: Pack, route: Route, barriers: list[Barrier]) -> Iterator[Finding]:
    """How much of the vent can be seen, counted from the collar to the near face of the first barrier."""
    for rule in pack.of("in view"):
        whole = sum(run.length_m for run in route.runs)
        seen = min([whole, *(_along(route, barrier.crossing) - barrier.thickness_m / 2 for barrier in barriers)])
        figure = rule.figures["length"]
        least = min(figure.value, whole)
        yield from at_least(pack, rule.id, "from the collar", seen, least, "m", evidence=figure.evidence)


def _along(route: Route, crossing: Crossing) -> float:
    """Distance along the runs to the middle of a crossing [m]; none where it lies on no run."""
    at, done = np.asarray(crossing.point_m, float), 0.0
    for run in route.runs:
        start, end = np.asarray(run.start_m, float), np.asarray(run.end_m, float)
        way = (end - start) / max(float(np.linalg.norm(end - start)), 1e-12)
        along = float((at - start) @ way)
        if 0 <= along <= run.length_m and float(np.linalg.norm(at - start - along * way)) < 1e-3:
            return done + along
        done += run.length_m
    return 0.0
