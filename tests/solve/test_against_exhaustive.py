"""The solver against every sequence of at most five fittings, lengths by HiGHS."""

import os

import numpy as np
import pytest

from tests.solve.exhaustive import Fitting, Stage, cheaper, exact
from tests.solve.scenes import IN, LAYING_IN, by_length, problem, two_rooms
from ventroute.solve.conditions import Conditions
from ventroute.solve.links import chains, links
from ventroute.solve.search import Search

ANGLES = (90.0, 45.0)
SITES = 300


def random_site(seed: int):
    """A small room with up to four boxes, a collar below and a hole in the ceiling."""
    rng = np.random.default_rng(seed)
    size = rng.uniform([2.0, 2.0, 1.9], [3.5, 3.5, 2.6])
    boxes = []
    for _ in range(int(rng.integers(0, 5))):
        extent = rng.uniform(0.15, 0.9, 3)
        low = rng.uniform(0.0, size - extent)
        boxes.append((low, low + extent))
    inner = size - 0.3
    collar = (*rng.uniform(0.3, inner[:2]), float(rng.uniform(0.2, 0.9)))
    hole = rng.uniform(0.3, inner[:2])
    free = [
        b
        for b in boxes
        if not _near(b, collar)
        and not (b[0][0] - 0.1 < hole[0] < b[1][0] + 0.1 and b[0][1] - 0.1 < hole[1] < b[1][1] + 0.1)
    ]
    return two_rooms(tuple(collar), tuple(hole), size=tuple(size), obstacles=free, angles=ANGLES)


def _near(box, collar) -> bool:
    low, high = box
    return bool(np.all(np.asarray(collar) > low - 0.15) and np.all(np.asarray(collar)[:2] < high[:2] + 0.15))


def stage_of(p, link) -> Stage:
    """The room of a problem in the oracle's own words."""
    room = p.building.site.rooms[0]
    xs, ys = zip(*room.floor, strict=True)
    boxes = [(np.array(o.corner), np.add(o.corner, o.size)) for o in p.building.site.obstacles]
    found = Conditions(p).directions(link)
    fittings = [Fitting(a, LAYING_IN[a] * IN, 1.5 * IN, 1.5 * IN, p.equivalent_m(a)) for a in ANGLES]
    return Stage(
        np.array([min(xs), min(ys), room.bottom_m]), np.array([max(xs), max(ys), room.top_m]), boxes,
        link.start_m, link.end.centre_m, link.start_true, link.end.true,
        list(zip(found.nominal, found.true, strict=True)), fittings, 2.5, 3.5 * IN, 4.0 * IN, p.want.gap_m, 1.5 * IN, room.top_m,
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(int(os.environ.get("VENTROUTE_SITES", SITES))))
def test_no_sequence_is_shorter_and_the_one_found_is_legal(seed):
    p = problem(random_site(seed), ANGLES)
    chain = next(c for c in chains(p)[0] if c)
    link = links(p, chain)[0]
    result = Search(p, link, by_length(p), Conditions(p)).run()
    stage = stage_of(p, link)
    if not result.paths:
        assert cheaper(stage, 12.0, 3) is None
        return
    best = result.paths[0]
    assert cheaper(stage, best.price - 1e-3, 5) is None
    path = [stage.index(d) for d in best.strand.dirs]
    turns = [stage.turn(a, b) for a, b in zip(path[:-1], path[1:], strict=True)]
    own = exact(stage, path, turns) + sum(t.equivalent for t in turns)
    assert own == pytest.approx(best.price, abs=1e-3)
