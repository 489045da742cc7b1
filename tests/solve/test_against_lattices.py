"""Axis moves on the escape lattice: the solver against scipy's Dijkstra and an A* of networkx."""

import numpy as np
import pytest

from tests.solve.lattice import Lattice, Scene, axis_price_in, axis_problem, heap_astar, networkx_astar, scipy_dijkstra

SIZE = (120.0, 100.0, 90.0)


def random_scene(seed: int) -> Scene:
    """Two rooms of up to three boxes each; neither the start nor a hole stands in or under one."""
    rng = np.random.default_rng(seed)
    start = (*np.round(rng.uniform(10, [110, 90]), 1).tolist(), 20.0)
    spots = [tuple(np.round(rng.uniform(10, [110, 90]), 1).tolist()) for _ in range(2)]
    boxes = []
    for room in range(2):
        for _ in range(int(rng.integers(1, 4))):
            low = rng.uniform(0, [80, 60, 60])
            high = np.minimum(low + rng.uniform(15, 50, 3), SIZE)
            low, high = np.round(low, 1), np.round(high, 1)
            clear = [start[:2], spots[room]] if room == 0 else [spots[0], spots[1]]
            if not any(low[0] - 3 < x < high[0] + 3 and low[1] - 3 < y < high[1] + 3 for x, y in clear):
                boxes.append((room, tuple(low.tolist()), tuple(high.tolist())))
    return Scene(SIZE, tuple(boxes), tuple(spots), start)


@pytest.mark.parametrize("seed", range(12))
def test_the_solver_finds_what_dijkstra_and_a_star_find_on_the_lattice(seed):
    # Oracles: scipy.sparse.csgraph.dijkstra and networkx.astar_path_length on the arcs of the lattice; an A* without them.
    scene = random_scene(seed)
    lattice = Lattice(scene)
    ours = axis_price_in(axis_problem(scene))
    assert ours == pytest.approx(scipy_dijkstra(lattice), abs=1e-4)
    assert ours == pytest.approx(networkx_astar(lattice), abs=1e-4)
    assert ours == pytest.approx(heap_astar(lattice), abs=1e-4)
