"""How things are called on a drawing and on the sheet."""

from __future__ import annotations

from ventroute.model.route import Part, PartKind, Route
from ventroute.units import format_length, format_pressure, format_size, format_temperature

AXES = (("east", "west"), ("north", "south"), ("up", "down"))


def route_title(route: Route) -> str:
    """Material, size and way out: ``PVC 3 in to the roof``."""
    return f"{route.kit.material.name} {format_size(route.kit.size_in)} to the {route.terminal_kind}"


def pipe_words(route: Route) -> str:
    """What the pipe is: ``3 in PVC, schedule 40``."""
    schedule = route.kit.schedule
    kind = f"schedule {schedule}" if schedule.isdigit() else schedule
    return f"{format_size(route.kit.size_in)} {route.kit.material.name}" + (f", {kind}" if kind else "")


def part_words(part: Part, units: str) -> str:
    """A part in a few words: ``pipe, cut 2 ft 3 in``, ``elbow 90``."""
    if part.kind is PartKind.PIPE:
        return f"pipe, cut {format_length(part.cut_m or 0.0, units)}"
    if part.kind is PartKind.ELBOW:
        street = "street " if part.street else ""
        return f"{street}elbow {angle_words(part.nominal_deg or part.angle_deg or 0.0)}"
    return part.kind.value


def angle_words(degrees: float) -> str:
    """A bend's angle as the trade says it: ``90``, ``22 1/2``."""
    return "22 1/2" if abs(degrees - 22.5) < 1e-6 else f"{degrees:g}"


def measure(value: float, unit: str, units: str) -> str:
    """A finding's figure in its unit."""
    if unit == "m":
        return format_length(value, units)
    if unit == "degC":
        return format_temperature(value, units)
    if unit == "Pa":
        return format_pressure(value, units)
    if unit == "deg":
        return f"{value:.1f}°"
    return f"{value:g}" + (f" {unit}" if unit not in ("", "count") else "")


def level_words(height_m: float, grade_m: float, units: str) -> str:
    """Height of a point over finished ground."""
    above = height_m - grade_m
    return f"{format_length(abs(above), units)} {'above' if above >= 0 else 'below'} grade"
