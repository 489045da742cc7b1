"""The solver beside lattice searches, in one run on one scene. Run by hand: python tests/bench/bench_solve.py

The scene is invented: three rooms one above the other and an attic, twelve boxes, a hole in each ceiling, an end above the
roof. First the problem that a lattice can state (see tests/solve/lattice.py); building the lattice counts for those that
search one. Then the problem that it cannot: 45s, 22 1/2s, rolled offsets, pitch, take-offs, hubs, clearances. Last the
lattice's problem again in the same rooms with other boxes, more and more of them, beside scipy's Dijkstra.
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.solve.lattice import (
    Lattice,
    Scene,
    axis_price_in,
    axis_problem,
    heap_astar,
    networkx_astar,
    scipy_dijkstra,
)
from tests.solve.scenes import FT, IN, by_length, kit, limit
from ventroute.layout.building import build
from ventroute.solve.problem import Problem
from ventroute.solve.solver import Outcome, solve

SCENE = Scene(
    (240.0, 168.0, 96.0),
    (
        (0, (40.3, 30.7, 0), (90.1, 60.9, 60.2)), (0, (120.6, 41.2, 20.5), (170.4, 91.7, 96)),
        (0, (61.5, 100.8, 40.1), (111.2, 148.3, 96)), (1, (92.4, 50.2, 0), (131.8, 119.6, 51.3)),
        (1, (109.3, 10.9, 30.4), (152.7, 45.1, 96)), (1, (149.2, 101.9, 0), (201.3, 141.4, 70.8)),
        (2, (50.9, 21.6, 40.7), (121.1, 69.5, 96)), (2, (101.3, 81.3, 0), (139.9, 125.2, 61.9)),
        (2, (59.4, 131.2, 0), (95.6, 159.7, 80.3)), (3, (43.7, 52.8, 0), (88.6, 99.3, 62.6)),
        (3, (130.2, 31.9, 21.8), (178.9, 92.6, 96)), (3, (141.7, 111.1, 0), (198.8, 151.5, 48.4)),
    ),
    ((70.0, 80.0), (160.0, 90.0), (40.0, 130.0), (200.0, 100.0)),
    (30.0, 20.0, 30.0),
)  # fmt: skip

PER_ROOM = (3, 4, 6, 8)  # boxes


def furnished(per_room: int, seed: int) -> Scene:
    """The same rooms with boxes put in at random, clear of the holes."""
    rng, (wide, deep, high) = np.random.default_rng(seed), SCENE.size
    boxes = []
    for room, spot in enumerate(SCENE.spots):
        ends = [spot, SCENE.spots[room - 1] if room else SCENE.start[:2]]
        while sum(box[0] == room for box in boxes) < per_room:
            extent = rng.uniform([10.0, 10.0, 10.0], [50.0, 50.0, 60.0])
            low = rng.uniform([5.0, 5.0, 0.0], np.array([wide - 5.0, deep - 5.0, high]) - extent)
            if all(np.any(np.abs(np.array(end) - (low + extent / 2)[:2]) > extent[:2] / 2 + 6.0) for end in ends):
                boxes.append((room, tuple(low.round(1).tolist()), tuple((low + extent).round(1).tolist())))
    return Scene(SCENE.size, tuple(boxes), SCENE.spots, SCENE.start)


def full_problem() -> Problem:
    """Everything that the trade has."""
    site = SCENE.site(1 * IN, 1 / 48)
    row = replace(limit(), elbow_90_m=60 * IN, elbow_45_m=30 * IN, elbow_22_m=18 * IN)
    return Problem(build(site), kit(), row, site.appliance, site.want, {})


def timed(run: Callable[[], object], times: int) -> tuple[object, float, float]:
    """What a call gives, its first time and its least [s]."""
    took = []
    for _ in range(times):
        began = time.perf_counter()
        value = run()
        took.append(time.perf_counter() - began)
    return value, took[0], min(took)


def main() -> None:
    """Print the table."""
    axes, everything = axis_problem(SCENE), full_problem()
    axis, axis_first, axis_s = timed(lambda: axis_price_in(axes), 15)
    rows = [("this solver, axis moves", axis, axis_s)]
    for name, search, times in (
        ("heapq A*, implicit lattice", heap_astar, 1),
        ("scipy Dijkstra, build and search", scipy_dijkstra, 5),
        ("networkx A*, build and search", networkx_astar, 1),
    ):
        value, _, seconds = timed(lambda search=search: search(Lattice(SCENE)), times)
        rows.append((name, value, seconds))
    outcome, full_first, full_s = timed(lambda: solve(everything, by_length(everything)), 5)
    assert isinstance(outcome, Outcome)
    rows.append(("this solver, everything", outcome.ways[0].price / IN, full_s))
    print(
        f"{Lattice(SCENE).states} states; first call axis {1e3 * axis_first:.0f}, everything {1e3 * full_first:.0f} ms"
    )
    print(f"{'method':36}{'equivalent':>12}{'time':>12}{'ratio':>9}")
    for name, value, seconds in rows:
        print(f"{name:36}{value * IN / FT:9.3f} ft{seconds * 1e3:9.1f} ms{seconds / axis_s:9.1f}")
    below = 100 * (1 - outcome.ways[0].price / IN / rows[1][1])
    least, rolled = outcome.least["roof"] / FT, outcome.rolled["roof"] / FT
    print(f"everything: {below:.1f} % below the lattice; least in steps {least:.3f} ft, at any roll {rolled:.3f} ft")
    for per_room in PER_ROOM:
        scene = furnished(per_room, 1)
        problem = axis_problem(scene)
        here, _, own_s = timed(lambda problem=problem: axis_price_in(problem), 5)
        there, _, scipy_s = timed(lambda scene=scene: scipy_dijkstra(Lattice(scene)), 2)
        told = (
            f"{4 * per_room} boxes, {Lattice(scene).states} states: {here * IN / FT:.3f} and {there * IN / FT:.3f} ft"
        )
        print(f"{told}, {1e3 * own_s:.1f} and {1e3 * scipy_s:.1f} ms, ratio {scipy_s / own_s:.1f}")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
