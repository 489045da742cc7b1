"""How things are called on a drawing and on the sheet."""

from __future__ import annotations

import math

from ventroute.constants import FOOT_M
from ventroute.model.appliance import Vec3
from ventroute.model.parts import Kit
from ventroute.model.plan import Finding, PlannedRoute, Verdict
from ventroute.model.route import Part, PartKind, Route
from ventroute.model.site import Roof, Site, Vec2
from ventroute.model.source import Grade
from ventroute.units import format_length, format_pressure, format_size, format_temperature

AXES = (("east", "west"), ("north", "south"), ("up", "down"))


def sized(material: str, size_in: float, units: str) -> str:
    """Size and material as the trade calls them: ``3 in PVC``, ``DN 80 PP``."""
    return f"{format_size(size_in, material, units)} {material}"


def route_title(route: Route, units: str) -> str:
    """Size, material and way out: ``3 in PVC to the roof``."""
    pipes = ", then ".join(sized(kit.material.name, kit.size_in, units) for kit in route.kits)
    return f"{pipes} to the {route.terminal_kind}"


def pipe_words(route: Route, units: str) -> str:
    """What the pipe is: ``3 in PVC, schedule 40``; ``2 in PVC, schedule 40, then 3 in PVC, schedule 40``."""
    return ", then ".join(kit_words(kit, units) for kit in route.kits)


def kit_words(kit: Kit, units: str) -> str:
    """What the pipe of one kit is."""
    kind = f"schedule {kit.schedule}" if kit.schedule.isdigit() else kit.schedule
    return sized(kit.material.name, kit.size_in, units) + (f", {kind}" if kind else "")


def share_words(route: Route, units: str) -> str:
    """How two sizes count: ``2 in PVC by share, in lengths of 3 in PVC``; "" for one size."""
    if route.smaller is None:
        return ""
    small, large = (sized(kit.material.name, kit.size_in, units) for kit in route.kits)
    return f"{small} by share, in lengths of {large}"


def proof_words(planned: PlannedRoute, units: str) -> str:
    """How short a route can be at all, as far as it is proved: ``shortest possible, proved``."""
    if planned.proved_optimal:
        return "shortest possible, proved"
    least = f"none is under {format_length(planned.least_possible_m, units)} however its fittings are rolled"
    if planned.proved_in_steps:
        return f"shortest at the rolls that were searched, proved; {least}"
    return f"a shorter one is not ruled out; {least}"


def part_words(part: Part, kit: Kit, units: str) -> str:
    """A part of a kit in a few words: ``pipe, cut 2 ft 3 in``, ``elbow 90``."""
    if part.kind is PartKind.PIPE:
        length = format_length(part.cut_m or 0.0, units)
        if kit.adjusts(part.item):
            return f"adjustable length, set to {length}"
        return f"pipe, cut {length}" if kit.pipe.can_be_cut else f"pipe, {length} as sold"
    if part.kind is PartKind.ELBOW:
        street = "street " if part.street else ""
        return f"{street}elbow {angle_words(part.nominal_deg or part.angle_deg or 0.0)}"
    return part.kind.value


def angle_words(degrees: float) -> str:
    """A bend's angle as the trade says it: ``90``, ``22 1/2``."""
    return "22 1/2" if abs(degrees - 22.5) < 1e-6 else f"{degrees:g}"


def measure(value: float | None, unit: str, units: str) -> str:
    """A finding's figure in its unit; blank where there is none."""
    if value is None:
        return ""
    if unit == "m":
        return format_length(value, units)
    if unit == "degC":
        return format_temperature(value, units)
    if unit == "Pa":
        return format_pressure(value, units)
    if unit == "deg":
        return f"{value:.1f}°"
    if unit == "m3" and units != "metric":
        return f"{value / FOOT_M**3:.0f} cu ft"
    return f"{value:g}" if unit in ("", "count") else f"{value:.4g} {unit}"


def margin(value: float | None, unit: str, units: str) -> str:
    """How far inside a limit, in its own unit: a difference of temperatures has no zero point."""
    if value is not None and unit == "degC":
        return f"{value:.0f} °C" if units == "metric" else f"{value * 9 / 5:.0f} °F"
    return measure(value, unit, units)


def money(value: float | None) -> str:
    """An amount, blank where the price is not known."""
    return "" if value is None else f"{value:,.2f}"


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Findings in the order a person should read them: failed, to be judged, then by how little margin is left."""
    rank = {Verdict.FAIL: 0, Verdict.ASK: 1, Verdict.PASS: 2}

    def key(finding: Finding) -> tuple[int, float, str, str]:
        share = math.inf if finding.margin is None else finding.margin / (abs(finding.limit or 0.0) or 1.0)
        return rank[finding.verdict], share, finding.rule, finding.subject

    return tuple(sorted(findings, key=key))


def grade_words(grade: Grade) -> str:
    """How far a figure can be trusted: ``standard read``, ``memory, unverified``."""
    return grade.value if grade.verified else f"{grade.value}, unverified"


def level_words(height_m: float, grade_m: float, units: str) -> str:
    """Height of a point over finished ground."""
    above = height_m - grade_m
    return f"{format_length(abs(above), units)} {'above' if above >= 0 else 'below'} grade"


def room_name(site: Site, point: Vec3) -> str:
    """The room whose floor plan and height hold a point, "" where there is none. A top at the roof counts as open."""
    x, y, z = point
    for room in site.rooms:
        if room.bottom_m <= z <= (math.inf if room.top_m is None else room.top_m) and _holds(room.floor, x, y):
            return room.name if room.top_m is not None or not _above_roofs(site, point) else ""
    return ""


def _holds(ring: tuple[Vec2, ...], x: float, y: float) -> bool:
    pairs = zip(ring, ring[1:] + ring[:1], strict=True)
    crossings = [a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1]) for a, b in pairs if (a[1] <= y) != (b[1] <= y)]
    return sum(at > x for at in crossings) % 2 == 1


def _above_roofs(site: Site, point: Vec3) -> bool:
    """Whether a point stands above every roof over it (planes through three of their corners)."""
    heights = [_roof_z(roof, point) for roof in site.roofs if _holds(tuple(c[:2] for c in roof.corners), *point[:2])]
    return bool(heights) and point[2] > min(heights)


def _roof_z(roof: Roof, point: Vec3) -> float:
    a, b, c = roof.corners[:3]
    u, v = [q - p for p, q in zip(a, b, strict=True)], [q - p for p, q in zip(a, c, strict=True)]
    normal = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    return a[2] - ((point[0] - a[0]) * normal[0] + (point[1] - a[1]) * normal[1]) / (normal[2] or 1e-12)
