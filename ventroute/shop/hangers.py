"""How far apart pipe is held, and how many hangers that makes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from ventroute.model.route import Route, Run
from ventroute.model.shelf import Shelf, Spacing
from ventroute.units import format_temperature

_LEVEL = 0.5  # upward share of a run's direction: flatter hangs, steeper is a riser
_SAME_M = 1e-6


@dataclass(frozen=True, slots=True)
class Holding:
    """Greatest distances [m] between supports, None where nobody says; ``why`` names the row that decided."""

    horizontal_m: float | None
    vertical_m: float | None
    why: str


def holding(shelf: Shelf, material: str, size_in: float, degC: float) -> Holding:
    """Distances between supports at a temperature: the least of every code row and of the table row that is hot enough.

    Between two rows of a temperature table the hotter one counts, beyond its end the last one; a size that the table
    lacks takes the next smaller size's row.
    """
    rows = [row for row in shelf.spacings if row.material == material]
    apply = [row for row in rows if row.degC is None and (row.size_in is None or _same(row.size_in, size_in))]
    hot = _hot_row([row for row in rows if row.degC is not None and row.size_in is not None], size_in, degC)
    apply += [hot] if hot else []
    level = min((row for row in apply if row.horizontal_m is not None), key=lambda r: r.horizontal_m or 0, default=None)
    upright = min((row.vertical_m for row in apply if row.vertical_m is not None), default=None)
    why = (
        f"table at {format_temperature(level.degC)}"
        if level and level.degC is not None
        else "code's limit at any temperature"
    )
    return Holding(level.horizontal_m if level else None, upright, why if level else "no figure known")


def _same(a_in: float, b_in: float) -> bool:
    return abs(a_in - b_in) < 1e-6


def _hot_row(rows: list[Spacing], size_in: float, degC: float) -> Spacing | None:
    sizes = [row.size_in for row in rows if row.size_in is not None]
    size = max((s for s in sizes if s <= size_in + 1e-6), default=min(sizes, default=None))
    table = sorted((row for row in rows if row.size_in == size), key=lambda row: row.degC or 0.0)
    return next((row for row in table if (row.degC or 0.0) >= degC - 1e-6), table[-1] if table else None)


def spans(length_m: float, spacing_m: float) -> int:
    """Stretches between supports along a length, each at most the spacing."""
    return max(1, math.ceil(length_m / spacing_m - 1e-9))


def hangers(route: Route, spacing_m: float) -> int:
    """Hangers of the level runs: one at each end, which two runs share at a corner, and the spacing between them.

    At a wall the wall holds the end.
    """
    level = [run for run in route.runs if abs(_rise(run)) <= _LEVEL]
    ends = {_place(end) for run in level for end in (run.start_m, run.end_m)}
    if route.terminal_kind == "wall":
        ends.discard(_place(route.terminal_m))
    return len(ends) + sum(spans(run.length_m, spacing_m) - 1 for run in level)


def risers(route: Route, spacing_m: float) -> tuple[int, int]:
    """Supports and guides of the upright runs: one support at each foot and each crossing, guides between.

    A guide stands mid-way in every stretch over half the spacing, as plumbing codes put one at mid-storey
    (Minnesota Rules 4714.0313, after the uniform code).
    """
    supports = guides = 0
    for run in route.runs:
        if abs(_rise(run)) <= _LEVEL:
            continue
        stops = sorted({0.0, run.length_m, *_crossed(route, run)})
        supports += len(stops) - 1
        guides += sum(spans(b - a, spacing_m / 2) - 1 for a, b in pairwise(stops))
    return supports, guides


def _rise(run: Run) -> float:
    return (run.end_m[2] - run.start_m[2]) / run.length_m if run.length_m > _SAME_M else 0.0


def _place(point: tuple[float, float, float]) -> tuple[int, int, int]:
    x, y, z = (round(c / _SAME_M / 10) for c in point)
    return (x, y, z)


def _crossed(route: Route, run: Run) -> list[float]:
    """How far along the run construction is crossed."""
    found = []
    for crossing in route.crossings:
        along = [c - s for c, s in zip(crossing.point_m, run.start_m, strict=True)]
        way = [(e - s) / run.length_m for s, e in zip(run.start_m, run.end_m, strict=True)]
        at = sum(a * w for a, w in zip(along, way, strict=True))
        off = math.dist(along, [at * w for w in way])
        if off < 1e-3 and 1e-3 < at < run.length_m - 1e-3:
            found.append(at)
    return found
