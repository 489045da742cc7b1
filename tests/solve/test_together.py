"""Links searched side by side give what each gives alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.solve.lattice import Scene
from tests.solve.scenes import IN, by_length, kit, limit
from ventroute.layout.building import build
from ventroute.solve.conditions import Conditions
from ventroute.solve.links import linked
from ventroute.solve.problem import Problem, Weights
from ventroute.solve.search import Search
from ventroute.solve.solver import solve

SIZE = (150.0, 120.0, 90.0)


def house(seed: int) -> Problem:
    """Three rooms one above the other, a hole in each ceiling, two boxes in each room clear of the holes; invented."""
    rng = np.random.default_rng(seed)
    spots = [tuple(rng.uniform(15.0, [135.0, 105.0]).round(1).tolist()) for _ in range(3)]
    start = (*rng.uniform(15.0, [135.0, 105.0]).round(1).tolist(), 24.0)
    boxes = []
    for room, spot in enumerate(spots):
        ends = np.array([spot, spots[room - 1] if room else start[:2]])
        while sum(box[0] == room for box in boxes) < 2:
            extent = rng.uniform([10.0, 10.0, 15.0], [40.0, 40.0, 50.0])
            low = rng.uniform([0.0, 0.0, 0.0], np.array(SIZE) - extent)
            if (np.abs(ends - (low + extent / 2)[:2]) > extent[:2] / 2 + 9.0).any(axis=1).all():
                boxes.append((room, tuple(low.round(1).tolist()), tuple((low + extent).round(1).tolist())))
    site = Scene(SIZE, tuple(boxes), tuple(spots), start).site(1.0 * IN, 1 / 48)
    return Problem(build(site), kit(), limit(), site.appliance, site.want, {})


def prices(p: Problem) -> list[Weights]:
    """Equivalent length, and the same with bends that cost more."""
    length = by_length(p)
    return [length, replace(length, name="few", bend={angle: price + 0.7 for angle, price in length.bend.items()})]


@pytest.mark.parametrize("seed", range(16))
def test_a_chain_costs_what_its_links_cost_when_each_is_searched_by_itself(seed):
    # Against searches of one link at a time, in conditions of their own.
    p = house(seed)
    beside = Conditions.of(p)
    (_, row), *others = linked(p)[0]
    assert not others
    for weights in prices(p):
        alone = [Search(Conditions.of(p), link, weights).run() for link in row]
        outcome = solve(p, weights, beside)
        if not all(result.paths for result in alone):
            assert not outcome.ways
            continue
        least = [result.paths[0] for result in alone]
        assert outcome.ways[0].price == pytest.approx(sum(path.price for path in least), abs=1e-9)
        assert outcome.least["roof"] == pytest.approx(sum(min(r.bound, r.paths[0].price) for r in alone), abs=1e-9)
        corners = np.concatenate([path.corners[1:-1] for path in least])
        if all(len(result.paths) == 1 for result in alone):
            assert outcome.ways[0].corners[1:-1] == pytest.approx(corners, abs=1e-6)
