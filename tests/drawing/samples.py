"""Routes made by hand and at random, for the drawings. Every figure here is invented for the tests."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import pairwise

import numpy as np

from ventroute.constants import FOOT_M, INCH_M
from ventroute.geometry.polytope import Polytope
from ventroute.layout.zone import Zone
from ventroute.model.appliance import Appliance, SizeLimit, Want
from ventroute.model.parts import Bend, Coupling, Kit, Material, PipeStock, TerminalFitting
from ventroute.model.plan import (
    CutStick,
    Finding,
    FlueState,
    Plan,
    PlannedRoute,
    Rejected,
    ShoppingLine,
    Station,
    Verdict,
)
from ventroute.model.route import Crossing, Part, PartKind, Route, Run
from ventroute.model.site import Cut, Envelope, Feature, Hole, Obstacle, Place, Roof, Room, Site
from ventroute.model.source import Evidence, Grade, Source

Vec = tuple[float, float, float]
MADE_UP = Evidence("tests", Grade.INVENTED)
STICK_M = 10 * FOOT_M
PITCH = 1 / 48
EQUIVALENT_FT = {90.0: 5.0, 45.0: 2.5, 22.5: 1.5}
LAYING_IN = {90.0: 3.0625, 45.0: 1.75, 22.5: 1.0}


def feet(*values: float) -> Vec:
    """A point given in feet, in metres."""
    x, y, z = (value * FOOT_M for value in values)
    return (x, y, z)


def kit() -> Kit:
    """3 in PVC."""
    pvc = Material("PVC", "II A", 65.0, 60.0, 5.4e-5, 0.15, 0.9, 1.5e-6, "cemented", MADE_UP)
    pipe = PipeStock("pipe-pvc-40-3", "PVC", "40", 3.0, 3.5 * INCH_M, 3.042 * INCH_M, (STICK_M,), 2.1, True, MADE_UP)
    bends = tuple(
        Bend(f"elbow-{angle:g}-pvc-3", "PVC", 3.0, "drainage", angle, laying * INCH_M, 1.5 * INCH_M, 4 * INCH_M, 2.0,
             None, MADE_UP)
        for angle, laying in LAYING_IN.items()
    )  # fmt: skip
    coupling = Coupling("coupling-pvc-3", "PVC", 3.0, 0.0032, 1.5 * INCH_M, 4 * INCH_M, MADE_UP)
    ends = (TerminalFitting("terminal-roof-pvc-3", "PVC", 3.0, "roof", "open end, turned up", MADE_UP),)
    return Kit(pvc, "40", 3.0, pipe, bends, coupling, (), ends)


def turn_deg(a: Vec, b: Vec) -> float:
    """Angle between two directions."""
    cosine = sum(x * y for x, y in zip(a, b, strict=True)) / (math.hypot(*a) * math.hypot(*b))
    return math.degrees(math.acos(max(-1.0, min(1.0, cosine))))


def along(point: Vec, direction: Vec, by: float) -> Vec:
    """A point moved along a direction."""
    return tuple(p + d * by for p, d in zip(point, direction, strict=True))  # type: ignore[return-value]


def route(corners: list[Vec], crossings: tuple[Crossing, ...] = (), kind: str = "roof",
          spaces: tuple[str, ...] = ()) -> Route:  # fmt: skip
    """A route through the given corners, from collar to terminal, with its parts."""
    made = kit()
    runs = [Run(a, b, math.dist(a, b)) for a, b in pairwise(corners)]
    ways = [tuple((e - s) / run.length_m for s, e in zip(run.start_m, run.end_m, strict=True)) for run in runs]
    parts: list[Part] = []
    start = corners[0]
    for k, (run, way) in enumerate(zip(runs, ways, strict=True)):
        room = spaces[k] if k < len(spaces) else "hall"
        bend = None if k == len(runs) - 1 else _bend(made, turn_deg(way, ways[k + 1]))
        stop = run.end_m if bend is None else along(run.end_m, way, -bend.laying_m)
        _pipes(parts, made, start, stop, way, room, crossings)
        if bend is None:
            parts.append(Part(len(parts) + 1, PartKind.TERMINAL, made.terminals[0].item, stop, stop, "outdoors"))
            break
        start = along(run.end_m, ways[k + 1], bend.laying_m)
        parts.append(
            Part(len(parts) + 1, PartKind.ELBOW, bend.item, stop, start, room, run.end_m, turn_deg(way, ways[k + 1]),
                 bend.angle_deg, equivalent_m=EQUIVALENT_FT[bend.angle_deg] * FOOT_M)
        )  # fmt: skip
    fittings_m = sum(part.equivalent_m for part in parts)
    return Route(made, kind, corners[-1], ways[-1], tuple(runs), tuple(parts), crossings,
                 sum(run.length_m for run in runs), fittings_m)  # fmt: skip


def _bend(made: Kit, turn: float) -> Bend:
    return min(made.bends, key=lambda bend: abs(bend.angle_deg - turn))


def _pipes(parts: list[Part], made: Kit, start: Vec, stop: Vec, way: Vec, room: str,
           crossings: tuple[Crossing, ...]) -> None:  # fmt: skip
    left = math.dist(start, stop)
    while left > 1e-9:
        piece = min(left, STICK_M)
        end = along(start, way, piece)
        passes = tuple(c.name for c in crossings if _between(start, end, c.point_m))
        parts.append(
            Part(len(parts) + 1, PartKind.PIPE, made.pipe.item, start, end, room, cut_m=piece, passes=passes)
        )  # fmt: skip
        left -= piece
        if left > 1e-9:
            start = along(end, way, made.coupling.gap_m)
            parts.append(Part(len(parts) + 1, PartKind.COUPLING, made.coupling.item, end, start, room))
            left -= made.coupling.gap_m


def _between(a: Vec, b: Vec, point: Vec) -> bool:
    return abs(math.dist(a, point) + math.dist(point, b) - math.dist(a, b)) < 1e-6


def planned(made: Route, name: str = "1") -> PlannedRoute:
    """A plan around a route, with findings of every verdict."""
    limit = 60 * FOOT_M
    findings = (
        Finding("length.most", "appliance", Grade.INVENTED, "3 in PVC", made.equivalent_m, limit, "m", Verdict.PASS,
                limit - made.equivalent_m),
        Finding("zone.window", "us-2021 row B", Grade.MEMORY, "kitchen window (window, openable)", 8 * FOOT_M, 4 * FOOT_M, "m",
                Verdict.PASS, 4 * FOOT_M),
        Finding("material.class", "standard-c1", Grade.STANDARD, "PVC", 55.0, 65.0, "degC", Verdict.PASS, 10.0),
        Finding("firestop.seal", "practice", Grade.PRACTICE, "old flue, first floor", None, None, "", Verdict.ASK,
                None, "ask whether this floor needs a listed firestop"),
    )  # fmt: skip
    pipes = [part for part in made.parts if part.kind is PartKind.PIPE]
    cuts = tuple(
        CutStick(k + 1, part.item, STICK_M, (part.cut_m or 0.0,), (str(part.n),), STICK_M - (part.cut_m or 0.0))
        for k, part in enumerate(pipes)
    )  # fmt: skip
    shopping = (
        ShoppingLine("pipe-pvc-40-3", "pipe, PVC schedule 40, 3 in", float(len(pipes)), "stick", "runs", STICK_M, 21.5),
        ShoppingLine("elbow-90-pvc-3", "elbow, 90 degrees, PVC, 3 in", 2.0, "each", "turns", None, None),
        ShoppingLine("cement-pvc", "cement for PVC", 1.0, "pint", "joints", None, 9.25, 1.0),
    )  # fmt: skip
    return PlannedRoute(name, made, limit, made.equivalent_m - 0.1, False, 143.25, findings, shopping, cuts,
                        flue(made), "shortest")  # fmt: skip


def flue(made: Route) -> FlueState:
    """A smooth fall of temperature and pressure."""
    total = sum(run.length_m for run in made.runs)
    stations = tuple(
        Station(t * total, 55 - 9 * t, 55 - 14 * t, 48 - 10 * t, 40 - 14 * t, 30 - 30 * t,
                ("utility", "attic")[t > 0.5])
        for t in (s / 20 for s in range(21))
    )  # fmt: skip
    return FlueState(52.5, 0.016, 30.0, 46.0, 0.8, 3.1, 2.5, 55.0, stations, ("condenses from 2 ft on",))


def appliance() -> Appliance:
    """A condensing water heater."""
    rows = (
        SizeLimit(2.0, 40 * FOOT_M, 0.0, 4, 5 * FOOT_M, 2.5 * FOOT_M, None),
        SizeLimit(3.0, 60 * FOOT_M, 2 * FOOT_M, None, 5 * FOOT_M, 2.5 * FOOT_M, 1.5 * FOOT_M),
    )
    return Appliance("demonstration water heater", "natural gas", 35_000.0, "IV", "non-direct", 60.0, 55.0,
                     ("PVC", "ABS"), 3.0, None, feet(6, 4, -4), (0, 0, 1), rows, model="generic-condensing",
                     source="invented-demo")  # fmt: skip


def house() -> Site:
    """Basement, closet, attic under a gable."""
    low, high = feet(0, 0, 0), feet(30, 24, 0)
    foot = ((low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1]))
    rooms = (
        _room("utility", (0.5, 0.5), (12, 9), -7.5, -0.4),
        _room("closet", (4, 5), (4, 18.5), 0.0, 8.0),
        Room("attic", _rectangle((0.5, 0.5), (29, 23)), 8.7 * FOOT_M, None, False),
    )
    slope = (feet(-1, -1, 8.5), feet(31, -1, 8.5), feet(31, 12, 15), feet(-1, 12, 15))
    other = (feet(31, 25, 8.5), feet(-1, 25, 8.5), feet(-1, 12, 15), feet(31, 12, 15))
    holes = (
        Hole("old flue, first floor", feet(6, 7, -0.2), (0, 0, 1), 6 * INCH_M, ("utility", "closet")),
        Hole("old flue, ceiling", feet(6, 7, 8.35), (0, 0, 1), 6 * INCH_M, ("closet", "attic")),
    )
    cuts = (
        Cut("roof patch", ("attic", "outdoors"), feet(7, 6, 11), feet(2, 2, 2), (0, 0, 1), 60.0),
        Cut("north wall", ("closet", "outdoors"), feet(4, 23.5, 1), feet(4, 0.5, 6), (0, 1, 0), 45.0),
    )
    things = (
        Obstacle("supply duct", corner=feet(2, 0.5, -1.8), size=feet(1.2, 9, 0.8)),
        Obstacle("beam", ends=(feet(9, 0.5, -1), feet(9, 9.5, -1)), diameter_m=6 * INCH_M),
    )
    features = (
        Feature("window, openable", "kitchen window", feet(10, 23.9, 3), feet(3, 0.2, 4)),
        Feature("gas meter", "gas meter", feet(1, 24, 1), feet(1, 1, 1.5)),
    )
    return Site("Sample house", Place(250.0, -15.0, 0.0, 0.3), Envelope(foot, -7.5 * FOOT_M, None), appliance(), rooms,
                (Roof("south slope", slope, 0.23), Roof("north slope", other, 0.23)), holes, cuts, things, features,
                want=Want())  # fmt: skip


def _rectangle(corner: tuple[float, float], size: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    (x, y), (w, d) = corner, size
    return tuple((a * FOOT_M, b * FOOT_M) for a, b in ((x, y), (x + w, y), (x + w, y + d), (x, y + d)))


def _room(name: str, corner: tuple[float, float], size: tuple[float, float], low: float, high: float) -> Room:
    return Room(name, _rectangle(corner, size), low * FOOT_M, high * FOOT_M)


def roof_route() -> PlannedRoute:
    """Collar up, north with pitch, up through two holes, a 45 offset in the attic, out of the roof."""
    rise = 3 * PITCH
    corners = [feet(6, 4, -4), feet(6, 4, -1.5), feet(6, 7, -1.5 + rise), feet(6, 7, 9.5), feet(8, 7, 11.5),
               feet(8, 7, 15.5)]  # fmt: skip
    crossings = (
        Crossing("old flue, first floor", False, feet(6, 7, -0.2), (0, 0, 1)),
        Crossing("old flue, ceiling", False, feet(6, 7, 8.35), (0, 0, 1)),
        Crossing("roof patch", True, feet(8, 7, 12.2), (0, 0, 1)),
    )
    return planned(route(corners, crossings, spaces=("utility", "utility", "utility", "attic", "attic")))


def wall_route() -> PlannedRoute:
    """From a collar in the closet up and out through the north wall."""
    corners = [feet(6, 7, 1), feet(6, 7, 5), feet(6, 24.8, 5 + 17.8 * PITCH)]
    crossings = (Crossing("north wall", True, feet(6, 23.9, 5 + 16.9 * PITCH), (0, 1, 0)),)
    return planned(route(corners, crossings, "wall", ("closet", "closet")), "2")


def plan(*routes: PlannedRoute) -> Plan:
    """The plan with what was rejected."""
    none = Rejected("PVC", 2.0, "roof", "length.most", "2 in PVC to the roof needs 47 ft 2 in, 7 ft 2 in too much",
                    47.2 * FOOT_M)  # fmt: skip
    return Plan("Sample house", "us-2021", routes or (roof_route(), wall_route()), (none,))


def zones() -> tuple[Zone, ...]:
    """A box around the kitchen window and one around the meter; margins by the box."""
    return (_zone("zone.window", "kitchen window (window, openable)", feet(6.5, 23, 1.5), feet(17, 30, 11)),
            _zone("zone.meter", "gas meter (gas meter)", feet(-2, 23, -1), feet(5, 28, 5.5)))  # fmt: skip


def _zone(rule: str, subject: str, low: Vec, high: Vec) -> Zone:
    def margin(points: np.ndarray) -> np.ndarray:
        return np.maximum(np.array(low) - points, points - np.array(high)).max(axis=1)

    return Zone(rule, subject, (Polytope.box(low, high),), margin)


def sources() -> dict[str, Source]:
    """Two sources."""
    return {
        "us-2021": Source("us-2021", "Fuel gas code, clearance table", "2021", "2020-10", "closed", "nobody"),
        "tests": Source("tests", "Figures made for tests", "1", "2026", "MIT", "the tests"),
    }


CAUTIONS = (
    "This is a drafting aid; the manual of the appliance decides.",
    "Flue gas holds carbon monoxide, which can kill without warning.",
)


def random_route(seed: int) -> PlannedRoute:
    """A route with 3 to 11 runs: axis runs with pitch, 45s, 22 1/2s, rolled offsets; never downhill."""
    chance = random.Random(seed)
    way: Vec = chance.choice([(0.0, 0.0, 1.0), (1.0, 0.0, PITCH), (0.0, -1.0, PITCH)])
    at: Vec = (0.0, 0.0, 0.0)
    corners = [at]
    crossings = []
    for k in range(chance.randint(3, 11)):
        size = math.hypot(*way)
        way = tuple(w / size for w in way)  # type: ignore[assignment]
        length = round(chance.choice([0.25, 0.4, 0.9, 2.0, 4.5]) * chance.uniform(0.8, 1.4), 3)
        if chance.random() < 0.35 and length > 0.8:
            name = f"{chance.choice(['old flue', 'new hole', 'chase'])}, level {k}"
            crossings.append(Crossing(name, chance.random() < 0.5, along(at, way, length / 2), way))
        at = along(at, way, length)
        corners.append(at)
        way = _next_way(chance, way)
    rooms = tuple(chance.choice(["utility", "closet", "attic", "hall, first floor"]) for _ in corners)
    made = route(corners, tuple(crossings), chance.choice(["roof", "wall"]), rooms)
    return replace(planned(made), id=str(seed))


def _next_way(chance: random.Random, way: Vec) -> Vec:
    """A direction turned by a catalog angle at a roll of axis, diagonal or chance, that does not fall."""
    for _ in range(200):
        angle = math.radians(chance.choice([90.0, 90.0, 45.0, 45.0, 22.5]))
        roll = chance.choice([0, 90, 180, 270, 45, chance.uniform(0, 360)])
        new = _turned(way, angle, math.radians(roll))
        if new[2] > 0.35:
            return new
        flat = math.hypot(new[0], new[1])
        if new[2] > -0.05 and flat > 0.9:
            return (new[0] / flat, new[1] / flat, PITCH)
    return (0.0, 0.0, 1.0)


def _turned(way: Vec, angle: float, roll: float) -> Vec:
    helper = (0.0, 0.0, 1.0) if abs(way[2]) < 0.9 else (1.0, 0.0, 0.0)
    side = _cross(way, helper)
    size = math.hypot(*side)
    side = tuple(s / size for s in side)  # type: ignore[assignment]
    other = _cross(way, side)
    c, s, t = math.cos(angle), math.sin(angle) * math.cos(roll), math.sin(angle) * math.sin(roll)
    x, y, z = (c * a + s * b + t * d for a, b, d in zip(way, side, other, strict=True))
    return (x, y, z)


def _cross(a: Vec, b: Vec) -> Vec:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
