"""Made-up pipes, routes and appliances for the flue tests."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from ventroute.constants import FOOT_M, INCH_M
from ventroute.model.appliance import Appliance, SizeLimit
from ventroute.model.parts import Bend, Coupling, Kit, Material, PipeStock, TerminalFitting
from ventroute.model.route import Crossing, Part, PartKind, Route, Run
from ventroute.model.site import Place
from ventroute.model.source import Evidence, Grade

Point = tuple[float, float, float]
BTU_H = 0.29307107  # W, exact to the digits shown
MADE_UP = Evidence("invented", Grade.INVENTED)
PVC = Material("PVC", "II A", 65.0, 60.0, 5e-5, 0.16, 0.90, 1.5e-6, "cemented", MADE_UP)
STAINLESS = Material("stainless", "", None, 300.0, 1.7e-5, 15.0, 0.40, 1.5e-6, "gasketed", MADE_UP)


def degC(degF: float) -> float:
    return (degF - 32.0) / 1.8


def kit(material: Material = PVC, size_in: float = 3.0, bore_in: float = 3.068, od_in: float = 3.5) -> Kit:
    pipe = PipeStock(
        "pipe", material.name, "40", size_in, od_in * INCH_M, bore_in * INCH_M, (3.0,), None, True, MADE_UP
    )
    bends = tuple(
        Bend(
            item=f"bend-{angle:g}-{pattern}",
            material=material.name,
            size_in=size_in,
            pattern=pattern,
            angle_deg=angle,
            laying_m=size_in * INCH_M * math.tan(math.radians(angle) / 2),
            socket_m=0.04,
            hub_od_m=(od_in + 0.5) * INCH_M,
            give_deg=2.0,
            spigot_m=None,
            evidence=MADE_UP,
        )
        for angle in (90.0, 45.0)
        for pattern in ("drainage", "pressure")
    )
    coupling = Coupling("coupling", material.name, size_in, 0.003, 0.04, (od_in + 0.5) * INCH_M, MADE_UP)
    ends = tuple(TerminalFitting(kind, material.name, size_in, kind, "open", MADE_UP) for kind in ("roof", "wall"))
    return Kit(material, "40", size_in, pipe, bends, coupling, (), ends)


def appliance(**changes: object) -> Appliance:
    base = Appliance(
        name="made-up heater",
        fuel="natural gas",
        input_W=75_000 * BTU_H,
        category="IV",
        vent_style="direct",
        exhaust_max_degC=60.0,
        exhaust_usual_degC=degC(100.0),
        materials=("PVC",),
        collar_size_in=3.0,
        collar_material=None,
        collar_m=(0.0, 0.0, 0.0),
        faces=(0.0, 0.0, 1.0),
        sizes=(SizeLimit(2.0, 12.0, elbow_90_m=2.0), SizeLimit(3.0, 30.0, elbow_90_m=1.5)),
    )
    return replace(base, **changes)  # type: ignore[arg-type]


def route(corners: list[tuple[float, float, float]], spaces: list[str], parts_of: Kit, bend: str = "drainage") -> Route:
    """A route through corners, the k-th run in the k-th space; a bend of the nearest nominal angle at each corner.

    Bends are drawn as points: start, corner and end are one.
    """
    parts: list[Part] = []
    runs = list(pairwise(corners))
    for k, (a, b) in enumerate(runs):
        turn = _turn(*runs[k - 1], b) if k else 0.0
        if turn > 0.5:
            nominal = min((90.0, 45.0), key=lambda angle: abs(angle - turn))
            item = f"bend-{nominal:g}-{bend}"
            parts.append(
                Part(
                    len(parts) + 1,
                    PartKind.ELBOW,
                    item,
                    a,
                    a,
                    spaces[k],
                    corner_m=a,
                    angle_deg=turn,
                    nominal_deg=nominal,
                )
            )
        parts.append(Part(len(parts) + 1, PartKind.PIPE, "pipe", a, b, spaces[k], cut_m=math.dist(a, b)))
    parts.append(Part(len(parts) + 1, PartKind.TERMINAL, "roof", corners[-1], corners[-1], spaces[-1]))
    length = sum(math.dist(a, b) for a, b in runs)
    return Route(
        parts_of,
        "roof",
        corners[-1],
        (0.0, 0.0, 1.0),
        tuple(Run(a, b, math.dist(a, b)) for a, b in runs),
        tuple(parts),
        (),
        length,
        0.0,
    )


def level(length_m: float, parts_of: Kit, space: str = "attic") -> Route:
    """A level straight route."""
    return route([(0.0, 0.0, 0.0), (length_m, 0.0, 0.0)], [space], parts_of)


def through_holes(points: list[float], names: list[str], parts_of: Kit) -> Route:
    """One pipe straight up from 0 to the last height, through holes at the heights before it."""
    top = points[-1]
    crossings = tuple(
        Crossing(name, False, (0.0, 0.0, z), (0.0, 0.0, 1.0)) for name, z in zip(names, points[:-1], strict=True)
    )
    pipe = Part(1, PartKind.PIPE, "pipe", (0.0, 0.0, 0.0), (0.0, 0.0, top), "cellar", cut_m=top, passes=tuple(names))
    end = Part(2, PartKind.TERMINAL, "roof", (0.0, 0.0, top), (0.0, 0.0, top), "outdoors")
    run = Run((0.0, 0.0, 0.0), (0.0, 0.0, top), top)
    return Route(parts_of, "roof", (0.0, 0.0, top), (0.0, 0.0, 1.0), (run,), (pipe, end), crossings, top, 0.0)


def _turn(a: Point, corner: Point, b: Point) -> float:
    """Angle turned at a corner [deg]."""
    into = [q - p for p, q in zip(a, corner, strict=True)]
    out = [q - p for p, q in zip(corner, b, strict=True)]
    dot = sum(p * q for p, q in zip(into, out, strict=True))
    return math.degrees(math.acos(max(-1.0, min(1.0, dot / math.hypot(*into) / math.hypot(*out)))))


WINTER = Place(winter_degC=-15.0)
FOOT = FOOT_M
