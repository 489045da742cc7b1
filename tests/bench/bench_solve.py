"""The solver beside lattice searches, in one run on one scene. Run by hand: python tests/bench/bench_solve.py

The scenes are invented: three rooms one above the other and an attic, twelve boxes set by hand or at random, a hole in each
ceiling, an end above the roof. First the problem that a lattice can state (see tests/solve/lattice.py); building the
lattice counts for those that search one, and all searches of a scene take turns. Then the problem that it cannot state:
45s, 22 1/2s, rolled offsets, pitch, take-offs, hubs, clearances. Last the lattice's problem with more boxes.
"""

from __future__ import annotations

import gc
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
from ventroute.cli.main import NEW_OBJECTS
from ventroute.layout.building import build
from ventroute.solve import compounds, directions
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

SEEDS = range(1, 6)  # of scenes with twelve boxes at random
PER_ROOM = (4, 6, 8)  # more boxes


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


def alone(problem: Problem) -> float:
    """What `axis_price_in` finds, with nothing remembered of the sequences of a run before."""
    directions._made.cache_clear()
    return axis_price_in(problem)


def whole(problem: Problem) -> Outcome:
    """What the solver finds, likewise."""
    directions._made.cache_clear()
    compounds._swings.cache_clear()
    return solve(problem, by_length(problem))


def turns_s(*runs: tuple[Callable[[], object], int], rounds: int) -> tuple[np.ndarray, list[object]]:
    """The least time that each of some calls takes in each turn [s], (rounds, calls), so many times a turn; their values."""
    took, values = np.full((rounds, len(runs)), np.inf), [None] * len(runs)
    for turn in took:
        for i, (run, times) in enumerate(runs):
            for _ in range(times):
                began = time.perf_counter()
                values[i] = run()
                turn[i] = min(turn[i], time.perf_counter() - began)
    return took, values


def compared(scene: Scene, rounds: int, *slow: Callable[[Lattice], float]) -> tuple[float, list[float], list[float]]:
    """This solver's least time [s]; the ratios of scipy's Dijkstra, in the median turn, and of others; all optima [ft]."""
    problem = axis_problem(scene)
    ours = lambda: alone(problem), 3
    took, values = turns_s(ours, (lambda: scipy_dijkstra(Lattice(scene)), 1), rounds=rounds)
    ratios = [float(np.median(took[:, 1] / took[:, 0]))]
    for search in slow:
        [turn], (_, value) = turns_s(ours, (lambda search=search: search(Lattice(scene)), 1), rounds=1)
        ratios.append(turn[1] / turn[0])
        values.append(value)
    return took[:, 0].min(), ratios, [value * IN / FT for value in values]


def main() -> None:
    """Print the tables."""
    gc.set_threshold(NEW_OBJECTS)  # as every command does
    axis_price_in(axis_problem(SCENE))
    scenes = {"by hand": SCENE} | {f"at random, {seed}": furnished(3, seed) for seed in SEEDS}
    print(f"{'twelve boxes':14}{'states':>8}{'optimum':>12}{'ours':>10}{'scipy':>8}{'heapq':>8}{'networkx':>10}")
    rows = []
    for name, scene in scenes.items():
        ours_s, ratios, feet = compared(scene, 21, heap_astar, networkx_astar)
        assert max(feet) - min(feet) < 1e-4
        rows.append(ratios)
        told = f"{name:14}{Lattice(scene).states:8}{feet[0]:9.3f} ft{1e3 * ours_s:7.1f} ms"
        print(told + "".join(f"{ratio:{width}.1f}" for ratio, width in zip(ratios, (8, 8, 10), strict=True)))
    middle = np.median(rows[1:], axis=0)
    print(f"{'median of those at random':54}{middle[0]:8.1f}{middle[1]:8.1f}{middle[2]:10.1f}")
    everything = full_problem()
    took, (outcome, feet) = turns_s(
        (lambda: whole(everything), 5), (lambda: scipy_dijkstra(Lattice(SCENE)), 1), rounds=2
    )
    full_s, lattice_s = took.min(axis=0)
    assert isinstance(outcome, Outcome)
    below = 100 * (1 - outcome.ways[0].price / IN / feet)
    least, rolled = outcome.least["roof"] / FT, outcome.rolled["roof"] / FT
    print(f"everything, boxes by hand: {outcome.ways[0].price / FT:.3f} ft, {below:.1f} % below the lattice, in")
    print(
        f"{1e3 * full_s:.0f} ms (scipy {1e3 * lattice_s:.0f}); least in steps {least:.3f} ft, at any roll {rolled:.3f} ft"
    )
    for per_room in PER_ROOM:
        scene = furnished(per_room, 1)
        ours_s, [ratio], feet = compared(scene, 5)
        told = f"{4 * per_room} boxes, {Lattice(scene).states} states: {feet[0]:.3f} and {feet[1]:.3f} ft"
        print(f"{told}, {1e3 * ours_s:.1f} ms, ratio to scipy {ratio:.1f}")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
