"""A hundred crowded rooms: how long one stage takes, and how often its proof closes. Run: python tests/bench/bench_stages.py

The rooms are invented: 20 by 14 by 8 ft with eight boxes set at random, a collar near the floor, a hole in the ceiling.
Everything counts: 90s, 45s, 22 1/2s, rolled offsets aimed at the hole, pitch, take-offs, hubs, gaps.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.solve.scenes import IN, by_length, problem, result_of, two_rooms
from ventroute.errors import InputError
from ventroute.solve.conditions import Conditions
from ventroute.solve.links import chains, links
from ventroute.solve.search import Search

ROOMS = 100
BOXES = 8
SIZE_M = np.array([240.0, 168.0, 96.0]) * IN
KEEP_M = 0.35  # boxes leave this round the collar's pipe and the hole


def stage(seed: int):
    """A room whose collar and hole stand free."""
    rng = np.random.default_rng(seed)
    while True:
        collar = np.array([*rng.uniform(0.4, SIZE_M[:2] - 0.4), rng.uniform(0.3, 0.9)])
        hole = rng.uniform(0.4, SIZE_M[:2] - 0.4)
        boxes = []
        while len(boxes) < BOXES:
            extent = rng.uniform([0.5, 0.5, 0.5], [1.3, 1.3, 1.8])
            low = rng.uniform(0.0, SIZE_M - extent)
            if not (_stands(low, extent, collar) or _stands(low, extent, np.array([*hole, SIZE_M[2]]))):
                boxes.append((low, low + extent))
        try:
            return problem(two_rooms(tuple(collar), tuple(hole), size=tuple(SIZE_M), obstacles=boxes))
        except InputError:
            continue


def _stands(low: np.ndarray, extent: np.ndarray, point: np.ndarray) -> bool:
    return bool(np.all(point > low - KEEP_M) and np.all(point < low + extent + KEEP_M))


def main() -> None:
    """Print the table."""
    times, proved, found = [], 0, 0
    for seed in range(ROOMS):
        p = stage(seed)
        link = links(p, chains(p)[0][0])[0]
        began = time.perf_counter()
        search = Search(Conditions.of(p), link, by_length(p))
        result = result_of(search)
        times.append(time.perf_counter() - began)
        found += bool(result.paths)
        proved += result.bound == np.inf if not result.paths else result.bound >= result.paths[0].price - 1e-9
    ms = 1e3 * np.array(times)
    within = (ms <= 1000).sum()
    print(f"{ROOMS} rooms of {BOXES} boxes: {found} have a way; {proved} proved, {within} within 1 s")
    print(f"median {np.median(ms):.0f} ms, p90 {np.percentile(ms, 90):.0f} ms, most {ms.max():.0f} ms")


if __name__ == "__main__":
    main()
