"""Routes put together by hand, in 3 in pipe of round figures, for the tests of rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tests.rules.yard import appliance, built, house
from ventroute.layout.assemble import Course, assemble
from ventroute.model.appliance import Appliance
from ventroute.model.parts import Bend, Coupling, Kit, Material, PipeStock, TerminalFitting
from ventroute.model.route import Crossing, Route
from ventroute.model.site import Cut, Hole, Site
from ventroute.model.source import Evidence, Grade

MADE_UP = Evidence("test", Grade.INVENTED)
PVC = Material("PVC", "II A", 65.0, 60.0, 5.4e-5, 0.15, 0.9, 1.5e-6, "cemented", MADE_UP)
ROOF_HOLE = Hole("roof hole", (3.0, 3.0, 5.85), (0.0, 0.0, 1.0), 0.12, ("hall", "outdoors"))
NORTH_CUT = Cut("north cut", ("hall", "outdoors"), (2.0, 7.8, 1.0), (4.0, 0.2, 4.0), (0.0, 1.0, 0.0), 45.0)


def bend(angle: float, laying_m: float) -> Bend:
    return Bend(f"elbow-{angle:g}", "PVC", 3.0, "drainage", angle, laying_m, 0.038, 0.1, 3.0, None, MADE_UP)


def kit(**changes: object) -> Kit:
    base = Kit(
        PVC, "40", 3.0, PipeStock("pipe-3", "PVC", "40", 3.0, 0.0889, 0.0773, (3.0,), 2.1, True, MADE_UP),
        (bend(90.0, 0.078), bend(45.0, 0.044)), Coupling("coupling-3", "PVC", 3.0, 0.003, 0.038, 0.1, MADE_UP), (),
        (TerminalFitting("end-3", "PVC", 3.0, "roof", "open end", MADE_UP),
         TerminalFitting("end-3w", "PVC", 3.0, "wall", "open end", MADE_UP)),
    )  # fmt: skip
    return replace(base, **changes)  # type: ignore[arg-type]


def site(heater: Appliance | None = None, **changes: object) -> Site:
    """The house of the yard with a hole in its roof and room for one in its north wall."""
    return house(heater=heater or appliance(), **{"holes": (ROOF_HOLE,), "cuts": (NORTH_CUT,), **changes})


def route(
    where: Site, kind: str, corners: Sequence[Sequence[float]], crossings: Sequence[tuple[str, int]],
    bends: Sequence[float] = (), parts: Kit | None = None,
) -> Route:  # fmt: skip
    """A route through corners; each crossing is a passage's name and the leg it lies on."""
    used, at = parts or kit(), np.array(corners, dtype=np.float64)
    found = tuple(_crossing(where, name, at[leg], at[leg + 1]) for name, leg in crossings)
    by_angle = {b.angle_deg: b for b in used.bends}
    free = tuple(() for _ in range(len(at) - 1))
    course = Course(kind, at, tuple(by_angle[a] for a in bends), found, tuple(leg for _, leg in crossings), free)
    limit = where.appliance.limit(3.0)
    assert limit is not None
    made = assemble(course, used, limit, where.appliance, lambda p: built(where).room_at(p) or "")
    assert made is not None
    return made


def straight_up(where: Site, top: float = 6.6, parts: Kit | None = None) -> Route:
    """From the collar at (3, 3, 1) straight through the roof hole."""
    return route(where, "roof", [(3.0, 3.0, 1.0), (3.0, 3.0, top)], [("roof hole", 0)], parts=parts)


def out_north(where: Site, pitch: float = 1 / 48, end: float = 8.3, parts: Kit | None = None) -> Route:
    """Up 2 m, then out through the north wall with a pitch (a bend of 90 degrees, given a little)."""
    level = end - 3.0
    corners = [(3.0, 3.0, 1.0), (3.0, 3.0, 3.0), (3.0, end, 3.0 + pitch * level)]
    return route(where, "wall", corners, [("north cut", 1)], [90.0], parts)


def _crossing(where: Site, name: str, a: np.ndarray, b: np.ndarray) -> Crossing:
    u = (b - a) / np.linalg.norm(b - a)
    passage = next(p for p in built(where).passages if p.name == name)
    at = a + u * np.mean([(offset - n @ a) / (n @ u) for n, offset in (passage.mouth_a, passage.mouth_b)])
    cut = any(c.name == name for c in where.cuts)
    return Crossing(name, cut, tuple(at.tolist()), tuple(u.tolist()))  # type: ignore[arg-type]
