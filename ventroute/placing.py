"""Ways become routes: their corners and crossings as placed parts."""

from __future__ import annotations

from ventroute.layout.assemble import Course, Smaller, assemble
from ventroute.model.route import Crossing, Route
from ventroute.solve import problem as solved
from ventroute.solve.conditions import Conditions
from ventroute.solve.couplings import blocked
from ventroute.solve.solver import Way


def make_route(conditions: Conditions, way: Way, smaller: Conditions | None = None) -> Route | None:
    """The parts of a way, None where a coupling has no place; ``smaller``: of the kit up to its change of size."""
    problem, free = conditions.problem, blocked(conditions, way)
    first, leg = None, 0
    if smaller is not None and way.growth is not None:
        leg = way.crossing_leg[way.growth.crossing]
        free = tuple((*a, *b) for a, b in zip(blocked(smaller, way), free, strict=True))
        stop_m = float((way.growth.stop_m - way.corners[leg]) @ way.dirs[leg])
        first = Smaller(smaller.problem.kit, smaller.problem.limit, leg, stop_m)
    made_of = [smaller.problem if smaller and i < leg else problem for i in range(len(way.angles))]
    elbows = [one.patterns[a][nth] for one, a, nth in zip(made_of, way.angles, way.patterns, strict=True)]
    bends = [e.street if s and e.street else e.hub for e, s in zip(elbows, way.street, strict=True)]
    crossings = tuple(_crossing(way, c, leg) for c, leg in zip(way.crossings, way.crossing_leg, strict=True))
    course = Course(way.kind, way.corners, tuple(bends), crossings, way.crossing_leg, free)
    room_at = problem.building.room_at
    return assemble(course, problem.kit, problem.limit, problem.appliance, lambda p: room_at(p) or "", first)


def _crossing(way: Way, crossing: solved.Crossing, leg: int) -> Crossing:
    """Where a leg's axis is half-way between the mouths."""
    a, u = way.corners[leg], way.dirs[leg]
    passage = crossing.passage
    at = [(offset - float(n @ a)) / float(n @ u) for n, offset in (passage.mouth_a, passage.mouth_b)]
    p = a + u * sum(at) / 2
    point, direction = (float(p[0]), float(p[1]), float(p[2])), (float(u[0]), float(u[1]), float(u[2]))
    return Crossing(passage.name, crossing.is_cut, point, direction)
