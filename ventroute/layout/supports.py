"""Where a route is held: how many hangers, supports and guides a spacing makes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from ventroute.model.route import Route, Run
from ventroute.model.shelf import Spacing

# Plumbing codes call pipe horizontal at less than 45 degrees to the level (UPC and IPC definitions; memory).
_LEVEL = math.sin(math.radians(45.0)) - 1e-6
_SAME_M = 1e-6
_FAR_M = 1e9  # nobody says how far: ends, feet and crossings only


@dataclass(frozen=True, slots=True)
class Supports:
    """Hangers of level runs, supports at the feet of risers and where they cross construction, guides between."""

    level: int
    feet: int
    guides: int

    @property
    def total(self) -> int:
        """All of them."""
        return self.level + self.feet + self.guides


def supports(route: Route, spacing: Spacing) -> Supports:
    """What holds a route, none farther apart than the spacing; where nobody says how far, only what must be there."""
    return Supports(hangers(route, spacing.level_m or _FAR_M), *risers(route, spacing.upright_m or _FAR_M))


def spans(length_m: float, spacing_m: float) -> int:
    """Stretches between supports along a length, each at most the spacing."""
    return max(1, math.ceil(length_m / spacing_m - 1e-9))


def hangers(route: Route, spacing_m: float) -> int:
    """Hangers of the level runs: one at each end, which two runs share at a corner, and the spacing between them.

    At a wall the wall holds the end.
    """
    level = [run for run in route.runs if abs(_rise(run)) < _LEVEL]
    ends = {_place(end) for run in level for end in (run.start_m, run.end_m)}
    if route.terminal_kind == "wall":
        ends.discard(_place(route.terminal_m))
    return len(ends) + sum(spans(run.length_m, spacing_m) - 1 for run in level)


def risers(route: Route, spacing_m: float) -> tuple[int, int]:
    """Supports and guides of the upright runs: one support at each foot and each crossing, guides between.

    A guide stands mid-way in every stretch over half the spacing, as plumbing codes put one at mid-storey
    (Minnesota Rules 4714.0313, after the uniform code).
    """
    feet = guides = 0
    for run in route.runs:
        if abs(_rise(run)) < _LEVEL:
            continue
        stops = sorted({0.0, run.length_m, *_crossed(route, run)})
        feet += len(stops) - 1
        guides += sum(spans(b - a, spacing_m / 2) - 1 for a, b in pairwise(stops))
    return feet, guides


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
