"""A small invented house with two routes drawn by hand: what the pictures are tried on. Every figure is made up."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

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
from ventroute.model.site import Cut, Envelope, Feature, Hole, KeepOut, Obstacle, Place, Roof, Room, Site
from ventroute.model.source import Evidence, Grade

FT, IN = 0.3048, 0.0254
MADE_UP = Evidence("invented", Grade.INVENTED)


def ft(*values: float) -> tuple:
    return tuple(value * FT for value in values)


def appliance() -> Appliance:
    sizes = (
        SizeLimit(2.0, 40 * FT, elbow_90_m=5 * FT, elbow_45_m=2.5 * FT),
        SizeLimit(3.0, 100 * FT, elbow_90_m=5 * FT, elbow_45_m=2.5 * FT),
    )
    return Appliance(
        name="water heater <120>", fuel="natural gas", input_W=35_169.0, category="IV", vent_style="non-direct",
        exhaust_max_degC=65.0, exhaust_usual_degC=55.0, materials=("PVC", "ABS"), collar_size_in=3.0,
        collar_material=None, collar_m=ft(6, 4, -4), faces=(0.0, 0.0, 1.0), sizes=sizes, source="invented",
    )  # fmt: skip


def site() -> Site:
    """A basement utility room, a closet over it, an attic under a gable, a window and a gas meter outside."""
    floor = (ft(0.5, 0.5), ft(29.5, 0.5), ft(29.5, 23.5), ft(0.5, 23.5))
    return Site(
        name="Birch Row <basement> & \"attic\"",
        place=Place(altitude_m=850 * FT, grade_m=-3 * FT, snow_m=18 * IN),
        building=Envelope((ft(0, 0), ft(30, 0), ft(30, 24), ft(0, 24)), -7.5 * FT, None),
        appliance=appliance(),
        rooms=(
            Room("utility", (ft(0.5, 0.5), ft(12.5, 0.5), ft(12.5, 9.5), ft(0.5, 9.5)), -7.5 * FT, -0.34 * FT),
            Room("closet", (ft(4, 2), ft(9, 2), ft(9, 6), ft(4, 6)), 0.5 * FT, 8.5 * FT),
            Room("attic", floor, 9.5 * FT, None, heated=False),
        ),
        roofs=(
            Roof("south slope", (ft(-1, -1, 9.5), ft(31, -1, 9.5), ft(31, 12, 16), ft(-1, 12, 16)), 9 * IN),
            Roof("north slope", (ft(-1, 12, 16), ft(31, 12, 16), ft(31, 25, 9.5), ft(-1, 25, 9.5)), 9 * IN),
        ),
        holes=(
            Hole("old flue, first floor", ft(6, 4, 0), (0.0, 0.0, 1.0), 6 * IN, ("utility", "closet")),
            Hole("old flue, ceiling", ft(6, 4, 9), (0.0, 0.0, 1.0), 6 * IN, ("closet", "attic")),
        ),
        cuts=(Cut("south rim", ("utility", "outdoors"), ft(2, 0, -1.6), ft(8, 0.5, 1), (0.0, -1.0, 0.0), 45.0),),
        obstacles=(
            Obstacle("supply duct", corner=ft(1, 6, -1.8), size=ft(11, 1.2, 0.8)),
            Obstacle("drain", ends=(ft(0.5, 8.5, -2), ft(12.5, 8.5, -1.8)), diameter_m=4 * IN),
        ),
        features=(
            Feature("window, openable", "kitchen window", ft(14, -0.2, 3), ft(3, 0.2, 4)),
            Feature("gas meter", "meter </script>", ft(24, -1, 1), ft(1.5, 1, 2)),
        ),
        keep_outs=(KeepOut("play area", "terminal", ft(12, 24, 0), ft(10, 8, 6)),),
        want=Want(("PVC", "ABS"), (2.0, 3.0)),
    )  # fmt: skip


def kit(material: str = "PVC") -> Kit:
    low = material.lower()
    bends = tuple(
        Bend(
            f"elbow-{angle:g}-{low}-3",
            material,
            3.0,
            "pressure",
            angle,
            lay * IN,
            1.5 * IN,
            4.1 * IN,
            2.0,
            None,
            MADE_UP,
        )
        for angle, lay in ((90.0, 3.06), (45.0, 1.5))
    )
    made = Material(material, "II A", 65.0, 60.0, 5e-5, 0.19, 0.9, 1.5e-6, "cemented", MADE_UP)
    pipe = PipeStock(f"pipe-{low}-40-3", material, "40", 3.0, 3.5 * IN, 3.04 * IN, (10 * FT,), 2.2, True, MADE_UP)
    coupling = Coupling(f"coupling-{low}-3", material, 3.0, 0.1 * IN, 1.5 * IN, 4.1 * IN, MADE_UP)
    end = TerminalFitting(f"terminal-{low}-3", material, 3.0, "roof", "open end", MADE_UP)
    return Kit(made, "40", 3.0, pipe, bends, coupling, (), (end,))


def route(made: Kit, corners: list, terminal: str, spaces: list[str], passes: dict[int, str]) -> Route:
    """Pipes between corners, an elbow at each."""
    at = [np.array(corner, float) for corner in corners]
    unit = [(b - a) / np.linalg.norm(b - a) for a, b in pairwise(at)]
    parts: list[Part] = []

    def add(kind: PartKind, item: str, start, end, **more) -> None:
        parts.append(Part(len(parts) + 1, kind, item, tuple(map(float, start)), tuple(map(float, end)), **more))

    begin = at[0]
    for k, (_, b) in enumerate(pairwise(at)):
        last = k == len(unit) - 1
        turn = 0.0 if last else float(np.degrees(np.arccos(np.clip(unit[k] @ unit[k + 1], -1, 1))))
        bend = min(made.bends, key=lambda row: abs(row.angle_deg - turn))
        end = b if last else b - unit[k] * bend.laying_m
        through = (passes[k],) if k in passes else ()
        cut = float(np.linalg.norm(end - begin))
        add(PartKind.PIPE, made.pipe.item, begin, end, space=spaces[k], cut_m=cut, passes=through)
        if not last:
            begin = b + unit[k + 1] * bend.laying_m
            counted = {90.0: 5 * FT, 45.0: 2.5 * FT}[bend.angle_deg]
            add(PartKind.ELBOW, bend.item, end, begin, space=spaces[k], corner_m=tuple(map(float, b)), angle_deg=turn,
                nominal_deg=bend.angle_deg, equivalent_m=counted)  # fmt: skip
    add(PartKind.TERMINAL, made.terminals[0].item, at[-1], at[-1], space="outdoors")
    runs = tuple(Run(tuple(map(float, a)), tuple(map(float, b)), float(np.linalg.norm(b - a))) for a, b in pairwise(at))
    crossings = tuple(
        Crossing(name, "rim" in name, tuple(map(float, at[k])), tuple(map(float, unit[k])))
        for k, name in passes.items()
    )
    total = sum(run.length_m for run in runs)
    fittings = sum(part.equivalent_m for part in parts)
    direction = tuple(map(float, unit[-1]))
    return Route(made, terminal, runs[-1].end_m, direction, runs, tuple(parts), crossings, total, fittings)


def findings() -> tuple[Finding, ...]:
    return (
        Finding("equivalent-length", "appliance's table", Grade.INVENTED, "whole run", 13.1, 30.48, "m", Verdict.PASS,
                17.38),
        Finding("pitch", "appliance's manual", Grade.INVENTED, "run 3", 1.19, 1.19, "deg", Verdict.PASS, 0.0),
        Finding("window-beside", "IFGC table 503.8", Grade.MEMORY, "kitchen window", 2.5, 1.2192, "m",
                Verdict.PASS, 1.28),
        Finding("firestop", "IRC R302.11", Grade.SECOND_HAND, "old flue, ceiling", None, None, "", Verdict.ASK, None,
                "Is the ceiling part of a rated assembly?"),
        Finding("gas temperature", "listing class II A", Grade.STANDARD, "PVC", 65.0, 65.0, "degC", Verdict.PASS, 0.0),
    )  # fmt: skip


def planned(ident: str, drawn: Route, reason: str) -> PlannedRoute:
    pipes = [part for part in drawn.parts if part.kind is PartKind.PIPE]
    pieces = tuple(part.cut_m for part in pipes)
    shopping = (
        ShoppingLine(drawn.kit.pipe.item, "3 in pipe, 10 ft stick", 4, "each", "pieces in the cut list", 10 * FT, 21.5),
        ShoppingLine(drawn.kit.bends[0].item, "3 in elbow, 90 degrees", 2, "each", "parts 2, 4", None, 6.25),
        ShoppingLine("seal-6-3", "seal for what is left of a 6 in hole", 2, "each", "old flue <holes>", None, None),
    )
    cuts = (CutStick(1, drawn.kit.pipe.item, 10 * FT, pieces[:1], ("1",), 10 * FT - pieces[0]),)
    stations = tuple(
        Station(d, 55 - d, 54 - d, 45 - 1.2 * d, 40 - 1.2 * d, 30 - 2 * d, "utility" if d < 3 else "attic")
        for d in (0.0, 2.0, 4.0, 6.0, 8.0)
    )
    flue = FlueState(52.8, 0.0165, 38.0, 47.0, 0.35, 3.1, 1.4, 120.0, stations, ("Condenses from the collar on.",))
    return PlannedRoute(ident, drawn, 30.48, drawn.equivalent_m - 0.2, ident == "1", 160.75, findings(), shopping, cuts,
                        flue, reason)  # fmt: skip


def plan() -> Plan:
    roof = route(
        kit(), [ft(6, 4, -4), ft(6, 4, 10.5), ft(10, 8, 11.2), ft(10, 8, 17)], "roof",
        ["utility", "attic", "attic"], {0: "old flue, first floor"},
    )  # fmt: skip
    wall = route(
        kit("ABS"), [ft(6, 4, -4), ft(6, 4, -1.2), ft(6, -1.2, -1.1)], "wall", ["utility", "utility"], {1: "south rim"}
    )
    rejected = (Rejected("PVC", 2.0, "roof", "equivalent-length",
                         "2 in PVC to the roof needs 47 ft 2 in, 7 ft 2 in over the limit", 14.4),)  # fmt: skip
    return Plan(
        site().name, "us-2021",
        (planned("1", roof, "shortest that uses the old holes"), planned("2", wall, "fewest fittings")), rejected,
    )  # fmt: skip


def zones() -> tuple[Zone, ...]:
    body = Polytope.box(np.array(ft(10, -6, -1)), np.array(ft(21, 0, 8)))
    column = Polytope.box(np.array(ft(22, -4, -100)), np.array(ft(28, 0, 100)))

    def never(points):
        return np.full(len(points), 1.0)

    return (Zone("window-beside", "kitchen window", (body,), never), Zone("meter-column", "meter", (column,), never))


def many_parts(count: int = 1000) -> Plan:
    """A plan of one route with this many parts, for measuring how fast a picture is drawn."""
    corners = [np.array(ft(2, 2, -4))]
    for k in range(count // 2):
        step = [(1.2, 0, 0), (0, 1.2, 0.02), (-1.2 if k % 8 > 3 else 1.2, 0, 0.02), (0, -1.1, 0.02)][k % 4]
        corners.append(corners[-1] + np.array(ft(*step)))
    drawn = route(kit(), corners, "roof", ["utility"] * count, {})
    return replace(plan(), routes=(planned("1", drawn, ""),))
