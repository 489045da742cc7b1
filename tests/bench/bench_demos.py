"""The solver on the demonstration houses, every material and size. Run by hand: python tests/bench/bench_demos.py

Solver time is what `together` takes of a whole plan, with nothing kept from an earlier plan; the least of some runs. The plain
A* of bench_solve.py is timed in the same run: it tells how fast the machine is just now.
"""

from __future__ import annotations

import gc
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.bench.bench_solve import SCENE
from tests.solve.lattice import Lattice, heap_astar
from ventroute import planner, searching
from ventroute.catalog.paths import catalogs_folder
from ventroute.cli.desk import open_site
from ventroute.cli.main import NEW_OBJECTS
from ventroute.cli.plan import DEMOS
from ventroute.cli.stock import read_stock
from ventroute.solve import compounds, directions

RUNS = 5
together, spent = searching.together, [0.0]


def timed(*given: object) -> object:
    """`together`, timed."""
    began = time.perf_counter()
    try:
        return together(*given)
    finally:
        spent[0] += time.perf_counter() - began


def main() -> None:
    """Print a line for each house."""
    gc.set_threshold(NEW_OBJECTS)  # as every command does
    searching.together = timed
    for name in DEMOS:
        best = whole = float("inf")
        for _ in range(RUNS):
            directions._made.cache_clear()
            compounds._swings.cache_clear()
            desk = open_site(catalogs_folder() / "sites" / f"{name}.toml", read_stock(None, None))
            spent[0], began = 0.0, time.perf_counter()
            routes = planner.plan(desk.site, desk.building, desk.shop).routes
            whole = min(whole, time.perf_counter() - began)
            best = min(best, spent[0])
        print(f"{name:15} solver {best:.2f} s, plan {whole:.2f} s, {len(routes)} routes")
    began = time.perf_counter()
    heap_astar(Lattice(SCENE))
    print(f"plain A* of bench_solve.py {time.perf_counter() - began:.2f} s")


if __name__ == "__main__":
    main()
