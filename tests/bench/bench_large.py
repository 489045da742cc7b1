"""A large site from file to plan: where the time goes, and how it grows. Run by hand: python tests/bench/bench_large.py

Ten rooms on three floors, 20 holes, 10 areas for new holes, a closed mesh of 200 000 triangles, boxes and cylinders. Every row is a
process of its own, so its memory is its own, and nothing is warm but the compiled code, which an installed package brings along. Two small
sites that are hard for their size follow. Arguments: numbers of obstacles.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.bench.large_site import TRIANGLES, written
from tests.bench.slow_sites import SITES

HERE = Path(__file__).resolve()
HEADS = (
    "obstacles",
    "imports",
    "reading",
    "building",
    "catalog",
    "solving",
    "judging",
    "gas",
    "rest",
    "whole s",
    "cpu s",
    "MB",
)


def main() -> None:
    """Print one row for each number of obstacles."""
    if sys.argv[1:2] == ["row"]:
        print(json.dumps(row(Path(sys.argv[2]))))
        return
    print("".join(f"{head:>10}" for head in HEADS) + "   routes")
    for count in [int(text) for text in sys.argv[1:]] or [125, 250, 500, 1000]:
        with tempfile.TemporaryDirectory() as folder:
            shown(count, written(Path(folder), count, TRIANGLES), "large")
    with tempfile.TemporaryDirectory() as folder:
        for name, text in SITES.items():
            path = Path(folder) / "small.toml"
            path.write_text(text, encoding="utf-8")
            shown(text.count("[[obstacle]]"), path, name)


def shown(count: int, site: Path, name: str) -> None:
    """Print the best of three runs after one that compiles."""
    told = min([measured(site) for _ in range(4)][1:], key=lambda t: t["cpu s"])
    print(f"{count:>10}" + "".join(f"{told[head]:>10.2f}" for head in HEADS[1:]) + f"   {told['routes']}  {name}")


def measured(site: Path) -> dict[str, float]:
    """One row, in a process of its own."""
    here = {**os.environ, "PYTHONPYCACHEPREFIX": str(site.parent)}
    here.pop("PYTHONDONTWRITEBYTECODE", None)
    call = [sys.executable, str(HERE), "row", str(site)]
    done = subprocess.run(call, capture_output=True, text=True, check=True, env=here)
    told: dict[str, float] = json.loads(done.stdout)
    return told


def row(path: Path) -> dict[str, float]:
    """Seconds of each step of `ventroute plan` up to the plan, nothing drawn; peak memory."""
    clock = [time.perf_counter()]

    def lap() -> float:
        clock.append(time.perf_counter())
        return clock[-1] - clock[-2]

    from ventroute import planner, searching
    from ventroute.catalog.lookup import load_catalog
    from ventroute.catalog.paths import catalogs_folder
    from ventroute.flue.fuel import read_fuels
    from ventroute.io.site_file import read_site_text
    from ventroute.layout.building import build
    from ventroute.model.shelf import Stock
    from ventroute.rules.pack import load_pack

    told = {"imports": lap()}
    catalog = load_catalog()
    rules = catalogs_folder() / "rules"
    pack = load_pack("us-2021", rules)
    shop = planner.Workshop(catalog, pack, Stock(offers=catalog.offers), read_fuels(catalogs_folder() / "flue"))
    told["catalog"] = lap()
    site = read_site_text(path.read_text(encoding="utf-8"), str(path), path.parent, catalog.appliances)
    told["reading"] = lap()
    building = build(site)
    told["building"] = lap()
    spent = {"solving": 0.0, "judging": 0.0, "gas": 0.0}
    for module, name, head in (
        (searching, "together", "solving"),
        (planner, "judged", "judging"),
        (planner, "flues_of", "gas"),
    ):
        setattr(module, name, timed(getattr(module, name), spent, head))
    plan = planner.plan(site, building, shop)
    told |= spent | {"rest": lap() - sum(spent.values()), "whole s": clock[-1] - clock[0], "cpu s": time.process_time()}
    return told | {"MB": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, "routes": len(plan.routes)}


def timed(function: object, spent: dict[str, float], head: str) -> object:
    """The function, its seconds added up."""

    def call(*args: object, **kwargs: object) -> object:
        began = time.perf_counter()
        try:
            return function(*args, **kwargs)  # type: ignore[operator]
        finally:
            spent[head] += time.perf_counter() - began

    return call


if __name__ == "__main__":
    main()
