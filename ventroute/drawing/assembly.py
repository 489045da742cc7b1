"""The order of work: what to cut and mark, dry-fit, slide through holes, and join first."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from ventroute.drawing.words import part_words
from ventroute.geometry.frames import unit
from ventroute.model.appliance import Vec3
from ventroute.model.route import Part, PartKind, Route
from ventroute.units import format_length, format_pitch

LONG_M = 1.5  # a longer piece may not turn into line with its hole in a usual room; common practice
SHORT_M = 0.15  # a shorter piece is hard to hold at the saw; common practice
FLAT = 1e-4  # a slope so small is none: a level collar's own run
STRAIGHT_DEG = 1.5  # a roll so small is the pitch, or nothing
BENCH_M = 0.6  # fittings this near each other are joined on a bench; common practice
ROOM_NOTE = (
    "see first that there is room to bring it in line with its hole; where there is not, plan with shorter sticks."
)
DRY_NOTE = (
    "A socket is tapered: a dry pipe stops well short of the socket's end, so a dry-fitted run is longer than the "
    "finished one. Go by the marks on the pipe, not by how far it went in dry."
)


class Step(NamedTuple):
    """One step: a headline and what to do."""

    title: str
    lines: tuple[str, ...]


def steps(route: Route, units: str) -> tuple[Step, ...]:
    """Steps in order, for cemented or gasketed joints as the material has them."""
    cemented = route.kit.material.joint == "cemented"
    return tuple(
        step
        for step in (_cut(route, units), _mark(route, units, cemented), _turn(route, units),
                     _dry_fit(route, units), _through_holes(route, units), _join(route, cemented),
                     _close(route, units))
        if step.lines
    )  # fmt: skip


def _lay_out(route: Route, units: str) -> Step:
    """Lengths as they are sold, where pipe is not sawn."""
    lines = [
        "Measure the collar, every hole and the way between them again before buying; the plan rests on them.",
        "This vent is not sawn: lay out the lengths of the list and write the number on each.",
    ]
    lines += [
        f"Piece {part.n} is an adjustable length: set it to {format_length(part.cut_m or 0.0, units)} and fix it as "
        "its maker says; its slip joint stays in the room."
        for part in route.parts
        if route.kit_of(part).adjusts(part.item)
    ]
    return Step("Lay out", tuple(lines))


def _cut(route: Route, units: str) -> Step:
    if not route.kit.pipe.can_be_cut:
        return _lay_out(route, units)
    pipes = [part for part in route.parts if part.kind is PartKind.PIPE]
    short = [part for part in pipes if (part.cut_m or 0.0) < SHORT_M]
    lines = [
        "Measure the collar, every hole and the way between them again before the first cut; the plan rests on them.",
        "Saw the pieces of the cut list square, take off the burr inside and outside, write the number on each.",
    ]
    lines += [
        f"Piece {part.n} is only {format_length(part.cut_m or 0.0, units)}: saw it from a long piece." for part in short
    ]
    return Step("Cut", tuple(lines))


def _mark(route: Route, units: str, cemented: bool) -> Step:
    bends = {round(bend.socket_m, 4) for kit in route.kits for bend in kit.bends}
    depths = sorted(bends | {round(kit.coupling.socket_m, 4) for kit in route.kits})
    words = " or ".join(format_length(depth, units) for depth in depths)
    lines = [f"Mark how deep each end goes into its socket ({words} here; measure the fittings you bought)."]
    rolled = [part for part in route.parts if part.kind is PartKind.ELBOW]
    if rolled:
        lines.append(
            "Draw one line across hub and pipe at each elbow while dry, so that it is turned the same way again."
        )
    if cemented:
        lines.append(DRY_NOTE)
    return Step("Mark", tuple(lines))


def _turn(route: Route, units: str) -> Step:
    """How each elbow is rolled about the pipe that comes into it."""
    elbows = [part for part in route.parts if part.kind is PartKind.ELBOW]
    if not elbows:
        return Step("", ())
    lines = [
        "Angles are about the pipe that comes into the elbow, seen along the flow; lengths go round that pipe.",
        f"Part {elbows[0].n}: {_first_turn(route)}.",
    ]
    for before, part, roll in zip(elbows, elbows[1:], rolls_deg(route), strict=False):
        if abs(roll) < STRAIGHT_DEG:
            words = f"in line with part {before.n}, turning on the same way"
        elif abs(roll) > 180.0 - STRAIGHT_DEG:
            words = f"in line with part {before.n}, turning back"
        else:
            round_m = math.pi * route.kit_of(part).pipe.od_m * abs(roll) / 360.0
            length = format_length(round_m, units, short=True)
            words = f"{_clockwise(roll)} from where part {before.n} would turn on, {length} round the pipe"
        lines.append(f"Part {part.n}: {words}.")
    return Step("Turn the elbows", tuple(lines))


def _first_turn(route: Route) -> str:
    """Where the first elbow leads, with nothing before it to turn it against."""
    into, out = (unit(np.subtract(run.end_m, run.start_m)) for run in route.runs[:2])
    if math.hypot(into[0], into[1]) < 0.1:
        bearing = math.degrees(math.atan2(float(out[0]), float(out[1])))
        return f"towards a bearing of {_half_degrees(bearing)} degrees, clockwise from north in plan"
    up = np.array([0.0, 0.0, 1.0])
    roll = math.degrees(math.atan2(float(into @ np.cross(up, out)), float(up @ out - (up @ into) * (into @ out))))
    if abs(roll) < STRAIGHT_DEG:
        return "turning up"
    return "turning down" if abs(roll) > 180.0 - STRAIGHT_DEG else f"{_clockwise(roll)} from turning up"


def _clockwise(roll_deg: float) -> str:
    way = "clockwise" if roll_deg > 0 else "counterclockwise"
    return f"{_half_degrees(abs(roll_deg))} degrees {way}"


def rolls_deg(route: Route) -> list[float]:
    """For each elbow after the first, its roll against the one before it, -180 to 180.

    About the run between them, clockwise seen along the flow: 0 turns on in the same plane, 180 back in it.
    """
    ways = [unit(np.subtract(run.end_m, run.start_m)) for run in route.runs]
    planes = [np.cross(a, b) for a, b in pairwise(ways)]
    return [
        math.degrees(math.atan2(float(about @ np.cross(first, second)), float(first @ second)))
        for about, first, second in zip(ways[1:], planes, planes[1:], strict=False)
    ]


def _half_degrees(angle: float) -> str:
    whole, half = divmod(round(2 * angle) % 720, 2)
    return f"{whole} 1/2" if half else str(whole)


def _dry_fit(route: Route, units: str) -> Step:
    lines = [f"{room}: part{'s' if len(parts) > 1 else ''} {_numbers(parts)}." for room, parts in by_space(route)]
    if pitch := _pitch(route, units):
        lines.append(
            f"Set every level run with a level: at least {pitch}. "
            "The give of the joints makes this pitch; nothing is bent or forced."
        )
    return Step("Dry-fit, room by room, before anything is joined", tuple(lines))


def _pitch(route: Route, units: str) -> str:
    """How level runs are pitched, and which way; empty where none is."""
    ways = [np.subtract(run.end_m, run.start_m) for run in route.runs if _level(run.start_m, run.end_m)]
    slopes = [float(way[2]) / math.hypot(way[0], way[1]) for way in ways]
    pitched = [slope for slope in slopes if abs(slope) > FLAT]
    if not pitched:
        return ""
    least = format_pitch(min(map(abs, pitched)), units)
    if min(pitched) < 0.0 < max(pitched):
        return f"{least}, up or down as it is drawn"
    return f"{least} {'up' if pitched[0] > 0.0 else 'down'}, away from the appliance"


def by_space(route: Route) -> list[tuple[str, list[Part]]]:
    """Parts in flow order, grouped where the room changes."""
    groups: list[tuple[str, list[Part]]] = []
    for part in route.parts:
        if not groups or groups[-1][0] != part.space:
            groups.append((part.space, []))
        groups[-1][1].append(part)
    return groups


def _through_holes(route: Route, units: str) -> Step:
    """The pieces that must be in their holes before hubs are on both their ends."""
    lines = []
    for k, part in enumerate(route.parts):
        if not part.passes:
            continue
        hub = format_length(route.kit_of(part).hub_od_m, units, short=True)
        ends = [other.n for other in (*route.parts[max(k - 1, 0) : k], *route.parts[k + 1 : k + 2]) if _hub(other)]
        names = " and ".join(f'"{name}"' for name in part.passes)
        joined = f"part {ends[0]} is" if len(ends) == 1 else f"parts {' and '.join(map(str, ends))} are"
        after = f" before {joined} joined to it" if ends else ""
        lines.append(f"Slide piece {part.n} through {names}{after}; hubs are {hub} wide and need not pass.")
        if (part.cut_m or 0.0) > LONG_M:
            long = format_length(part.cut_m or 0.0, units)
            lines.append(f"Piece {part.n} is {long} long: {ROOM_NOTE}")
        lines.append(f"Slide the seal, flashing or firestop of {names} over piece {part.n} at the same time.")
    return Step("Through the holes first", tuple(lines))


def _hub(part: Part) -> bool:
    return part.kind not in (PartKind.PIPE, PartKind.TERMINAL)


def _join(route: Route, cemented: bool) -> Step:
    """Sub-assemblies that fit on a bench, then the run from the collar on."""
    word = "cement" if cemented else "push together"
    lines = []
    groups = [numbers for numbers in benches(route) if len(numbers) > 2]
    for numbers in groups:
        lines.append(f"On the bench: {word} {', '.join(map(str, numbers))}, at the marks; their turns are then fixed.")
    rest = "the rest " if groups else ""
    lines.append(
        f"{word.capitalize()} {rest}in the order of the flow, starting at the collar, one room after the other."
    )
    if cemented:
        lines.append(
            "Primer and cement as the pipe's maker says, for this material alone; move no joint before it has set."
        )
    else:
        lines.append("Check that every gasket lies in its groove; wet it only with what the maker of the pipe allows.")
    return Step("Join", tuple(lines))


def benches(route: Route) -> list[list[int]]:
    """Fittings with a short piece between them, no hole on the way: numbers in flow order."""
    groups: list[list[int]] = []
    for k, part in enumerate(route.parts[1:-1], 1):
        short = part.kind is PartKind.PIPE and not part.passes and (part.cut_m or 0.0) < BENCH_M
        before, after = route.parts[k - 1], route.parts[k + 1]
        if short and before.kind is PartKind.ELBOW and after.kind is PartKind.ELBOW:
            if groups and groups[-1][-1] == before.n:
                groups[-1] += [part.n, after.n]
            else:
                groups.append([before.n, part.n, after.n])
    return groups


def _close(route: Route, units: str) -> Step:
    lines = ["Support the pipe on its own hangers as the code and the pipe's maker ask; the appliance carries nothing."]
    if pitch := _pitch(route, units):
        lines.append(f"Check the pitch of every level run again: at least {pitch}, no dip to hold water.")
    lines.append("Seal every hole, fit the terminal, then test and have it inspected before anything is covered.")
    return Step("Support, seal, check", tuple(lines))


def _level(start: Vec3, end: Vec3) -> bool:
    flat = math.hypot(end[0] - start[0], end[1] - start[1])
    return flat > 0.05 and abs(end[2] - start[2]) < 0.1 * flat


def _numbers(parts: list[Part]) -> str:
    """``1 to 4, 7``."""
    spans: list[list[int]] = []
    for part in parts:
        if spans and part.n == spans[-1][-1] + 1:
            spans[-1].append(part.n)
        else:
            spans.append([part.n])
    return ", ".join(str(s[0]) if len(s) == 1 else f"{s[0]} to {s[-1]}" for s in spans)


def part_rows(route: Route, units: str) -> list[tuple[str, str, str, str]]:
    """The list of parts: number, what, item, where."""
    return [(str(part.n), part_words(part, route.kit_of(part), units), part.item, part.space) for part in route.parts]


def joints(route: Route) -> int:
    """How many joints there are between neighbouring parts."""
    return sum(PartKind.TERMINAL not in (a.kind, b.kind) for a, b in pairwise(route.parts))
