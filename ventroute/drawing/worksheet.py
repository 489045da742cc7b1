"""The equivalent-length worksheet: every run and fitting on a line of its own, as an inspector adds it up."""

from __future__ import annotations

from dataclasses import dataclass

from ventroute.drawing.words import part_words
from ventroute.model.appliance import Appliance, SizeLimit
from ventroute.model.parts import Kit
from ventroute.model.plan import PlannedRoute
from ventroute.model.route import Part, PartKind, Route
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

    Runs count from corner to corner, or pipe alone where the manual counts so. If the lines and the plan's own sum
    differ, the difference stands on a line of its own instead of being hidden.
    """
    route = planned.route
    rows = [*_pipe_rows(route, appliance.count), *_fitting_rows(route, appliance, units)]
    rest = route.equivalent_m - sum(length for _, _, length in rows)
    if abs(rest) > SAME_M:
        rows.append(("not on the lines above", "the plan's own sum: check before relying on it", rest))
    lines, total = [], 0.0
    for what, basis, length in rows:
        total += length
        lines.append(WorkLine(what, basis, length, total))
    return tuple(lines)


def _pipe_rows(route: Route, count: str) -> list[tuple[str, str, float]]:
    if count != "pipe":
        return [(f"run {k}", "corner to corner", run.length_m) for k, run in enumerate(route.runs, 1)]
    pipes = [part for part in route.parts if part.kind is PartKind.PIPE]
    return [(f"piece {part.n}", "cut length; the manual counts pipe alone", part.cut_m or 0.0) for part in pipes]


def _fitting_rows(route: Route, appliance: Appliance, units: str) -> list[tuple[str, str, float]]:
    row = appliance.limit(route.kit.size_in)
    counted = [part for part in route.parts if part.equivalent_m or part.kind in _ALWAYS]
    return [
        (f"part {part.n}: {part_words(part, units)}", _basis(part, row, route.kit, units), part.equivalent_m)
        for part in counted
    ]


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
        bend = next((bend for bend in kit.bends if bend.item == part.item), None)
        return row.equivalent_m(part.nominal_deg or 0.0) if bend is None else kit.equivalent_m(row, bend)
    known = {PartKind.TERMINAL: row.terminal_m, PartKind.REDUCER: row.reducer_m, PartKind.INCREASER: row.increaser_m}
    return known.get(part.kind, 0.0)
