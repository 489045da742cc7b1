"""The equivalent-length worksheet: every run and fitting on a line of its own, as an inspector adds it up."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from ventroute.drawing.words import part_words, sized
from ventroute.model.appliance import Appliance, SizeLimit, change_m, in_metres_of, share_ratio
from ventroute.model.parts import Kit
from ventroute.model.plan import PlannedRoute
from ventroute.model.route import CHANGES, Part, PartKind, Route, bend_equivalent_m
from ventroute.units import format_length

SAME_M = 1e-6


@dataclass(frozen=True, slots=True)
class WorkLine:
    """One line: what, where it comes from, its length [m], and the sum so far [m]."""

    what: str
    basis: str
    length_m: float
    total_m: float


def worksheet(planned: PlannedRoute, appliance: Appliance, units: str) -> tuple[WorkLine, ...]:
    """Lines that add up to the route's equivalent length.

    Runs count from corner to corner, or pipe alone where the manual counts so. Of two sizes all is in lengths of the
    larger, a length of the smaller counting as much of its own greatest length. If the lines and the plan's own sum
    differ, the difference stands on a line of its own instead of being hidden.
    """
    route = planned.route
    pipe = _pipe_rows(route, appliance.count) if route.smaller is None else _shared_rows(route, appliance, units)
    rows = [*pipe, *_fitting_rows(route, appliance, units)]
    rest = route.equivalent_m - sum(length for _, _, length in rows)
    if abs(rest) > SAME_M:
        rows.append(("not on the lines above", "the plan's own sum: check before relying on it", rest))
    lines, total = [], 0.0
    for what, basis, length in rows:
        total += length
        lines.append(WorkLine(what, basis, length, total))
    return tuple(lines)


def _pipe_rows(route: Route, count: str, number: int = 1) -> list[tuple[str, str, float]]:
    """Its runs, the first of this number, or its pieces."""
    if count != "pipe":
        return [(f"run {k}", "corner to corner", run.length_m) for k, run in enumerate(route.runs, number)]
    pipes = [part for part in route.parts if part.kind is PartKind.PIPE]
    return [(f"piece {part.n}", "cut length; the manual counts pipe alone", part.cut_m or 0.0) for part in pipes]


def _shared_rows(route: Route, appliance: Appliance, units: str) -> list[tuple[str, str, float]]:
    """Pipe of two sizes in lengths of the larger; changes have lines of their own, in the size that makes them more."""
    limits = [appliance.limit(kit.size_in) for kit in route.kits]
    if limits[0] is None or limits[1] is None:
        return []
    ratio = share_ratio(limits[0], limits[1])
    rows: list[tuple[str, str, float]] = []
    numbers = (1, len(route.stretches[0].runs))  # the run with the change is one
    for stretch, scale, number in zip(route.stretches, (ratio, 1.0), numbers, strict=False):
        size = sized(stretch.kit.material.name, stretch.kit.size_in, units)
        times = f", times {scale:.4g} by share" if scale != 1.0 else ""
        changes = [part for part in stretch.parts if part.kind in CHANGES]
        taken = sum(_length_m(part) for part in changes) if appliance.count != "pipe" else 0.0
        for what, basis, length in _pipe_rows(stretch, appliance.count, number):
            rows.append((f"{what}, {size}", basis + times, (length - taken) * scale))
            taken = 0.0
        often = max(ratio, 1.0)
        rows += ((f"part {p.n}: its length", f"times {often:.4g} by share", _length_m(p) * often) for p in changes)
    return rows


def _length_m(part: Part) -> float:
    return math.dist(part.start_m, part.end_m)


def _fitting_rows(route: Route, appliance: Appliance, units: str) -> list[tuple[str, str, float]]:
    counted = [part for part in route.parts if part.equivalent_m or part.kind in _ALWAYS]
    return [
        (
            f"part {part.n}: {part_words(part, route.kit_of(part), units)}",
            _basis(part, _row(route, part, appliance), route.kit_of(part), units)
            + (", by share" if _shared(route, part) else ""),
            part.equivalent_m,
        )
        for part in counted
    ]


def _shared(route: Route, part: Part) -> bool:
    """Whether a fitting's figure is not its own row's, but as much of the larger size's greatest length."""
    return route.smaller is not None and (route.kit_of(part) is route.smaller or part.kind in CHANGES)


def _row(route: Route, part: Part, appliance: Appliance) -> SizeLimit | None:
    """The row of the table that a part counts by; of two sizes in lengths of the larger."""
    row = appliance.limit(route.kit.size_in)
    smaller = None if route.smaller is None else appliance.limit(route.smaller.size_in)
    if row is None or smaller is None:
        return row
    return (
        in_metres_of(smaller, row)
        if route.kit_of(part) is route.smaller
        else replace(row, increaser_m=change_m(smaller, row))
    )


_ALWAYS = (PartKind.ELBOW, PartKind.TERMINAL, PartKind.INCREASER, PartKind.REDUCER)


def _basis(part: Part, row: SizeLimit | None, kit: Kit, units: str) -> str:
    """Where a fitting's figure is from; it says so where the plan and the appliance's table do not agree."""
    table = None if row is None else _of_table(part, row, kit)
    if table is None:
        return "no figure in the appliance's table: check"
    if abs(table - part.equivalent_m) > SAME_M:
        return f"the appliance's table says {format_length(table, units)}: check before relying on it"
    return "the appliance's table"


def _of_table(part: Part, row: SizeLimit, kit: Kit) -> float | None:
    if part.kind is PartKind.ELBOW:
        return bend_equivalent_m(row, kit, part)
    known = {PartKind.TERMINAL: row.terminal_m, PartKind.REDUCER: row.reducer_m, PartKind.INCREASER: row.increaser_m}
    return known.get(part.kind, 0.0)
