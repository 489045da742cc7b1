"""The solver beside lattice searches, in one run on one scene. Run by hand: python tests/bench/bench_solve.py

The scene is invented: three rooms one above the other and an attic, twelve boxes, a hole in each ceiling, an end above the roof.
First the problem that a lattice can state: a pipe without thickness, axis moves, every turn a 90 at 60 in. The lattice is
the escape lattice (coordinates of faces, holes and ends), on which an optimum of that problem lies. Then the problem that it
cannot: 45s, 22 1/2s, rolled offsets, pitch, take-offs, hubs, clearances.
"""

from __future__ import annotations

import heapq
import resource
import sys
import time
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.solve.scenes import FT, IN, appliance, by_length, kit, limit
from ventroute.layout.building import build
from ventroute.model.appliance import Want
from ventroute.model.site import Envelope, Hole, Obstacle, Place, Room, Site
from ventroute.solve.conditions import Conditions
from ventroute.solve.directions import directions
from ventroute.solve.problem import Problem, chains, links
from ventroute.solve.solver import solve

TURN_M = 60 * IN
SIZE = (240.0, 168.0, 96.0)  # in, each room; 12 in between
LEVELS = (0.0, 108.0, 216.0, 324.0)
BOXES = (
    (0, (40.3, 30.7, 0), (90.1, 60.9, 60.2)), (0, (120.6, 41.2, 20.5), (170.4, 91.7, 96)),
    (0, (61.5, 100.8, 40.1), (111.2, 148.3, 96)), (1, (92.4, 50.2, 0), (131.8, 119.6, 51.3)),
    (1, (109.3, 10.9, 30.4), (152.7, 45.1, 96)), (1, (149.2, 101.9, 0), (201.3, 141.4, 70.8)),
    (2, (50.9, 21.6, 40.7), (121.1, 69.5, 96)), (2, (101.3, 81.3, 0), (139.9, 125.2, 61.9)),
    (2, (59.4, 131.2, 0), (95.6, 159.7, 80.3)), (3, (43.7, 52.8, 0), (88.6, 99.3, 62.6)),
    (3, (130.2, 31.9, 21.8), (178.9, 92.6, 96)), (3, (141.7, 111.1, 0), (198.8, 151.5, 48.4)),
)  # fmt: skip
HOLES = ((70.0, 80.0), (160.0, 90.0), (40.0, 130.0))
START, END = (30.0, 20.0, 30.0), (200.0, 100.0)


def scene(gap_m: float, pitch: float) -> Site:
    """The house."""
    w, d, h = (v * IN for v in SIZE)
    floor = ((0.0, 0.0), (w, 0.0), (w, d), (0.0, d))
    out = ((-0.2, -0.2), (w + 0.2, -0.2), (w + 0.2, d + 0.2), (-0.2, d + 0.2))
    rooms = tuple(Room(f"room {i}", floor, z * IN, z * IN + h) for i, z in enumerate(LEVELS))
    names = [r.name for r in rooms] + ["outdoors"]
    spots = (*HOLES, END)
    holes = tuple(
        Hole(
            f"hole {i}",
            (x * IN, y * IN, (LEVELS[i] + SIZE[2] + 6) * IN),
            (0.0, 0.0, 1.0),
            0.2,
            (names[i], names[i + 1]),
        )
        for i, (x, y) in enumerate(spots)
    )
    boxes = tuple(
        Obstacle(f"box {i}", corner=(a[0] * IN, a[1] * IN, (LEVELS[r] + a[2]) * IN), size=tuple((np.array(b) - a) * IN))
        for i, (r, a, b) in enumerate(BOXES)
    )
    start = tuple(v * IN for v in START)
    top = (LEVELS[-1] + SIZE[2] + 12) * IN
    return Site(
        "bench", Place(), Envelope(out, -0.2, top), appliance(start, pitch=pitch), rooms, holes=holes, obstacles=boxes,
        want=Want(gap_m=gap_m, reach_m=1e-9),
    )  # fmt: skip


def thin(angles: tuple[float, ...]) -> object:
    """A kit without take-offs or thickness."""
    k = kit(angles, street=False)
    bends = tuple(replace(b, laying_m=0.0, socket_m=0.0, hub_od_m=1e-9) for b in k.bends)
    return replace(
        k,
        bends=bends,
        pipe=replace(k.pipe, od_m=1e-9),
        coupling=replace(k.coupling, socket_m=0.0, hub_od_m=1e-9, gap_m=0.0),
    )


def ours_axis() -> tuple[float, float]:
    """Our solver, axis directions only: price [m], seconds."""
    site = scene(0.0, 0.0)
    house = build(site)
    began = time.perf_counter()
    p = Problem(house, thin((90.0,)), replace(limit((90.0,)), elbow_90_m=TURN_M), site.appliance, site.want, {})
    conditions = Conditions(p)
    axes = np.concatenate([np.eye(3), -np.eye(3)])
    for chain in chains(p)[0]:
        for link in links(p, chain):
            conditions._directions[link.key] = directions(
                axes, np.zeros((0, 3)), pitch=0.0, falls_to="terminal", angles_deg=(90.0,), give_deg=0.0
            )
    for found in conditions._directions.values():
        found.turn[:] = np.where(np.abs(found.nominal @ found.nominal.T) < 0.5, 90.0, 0.0)
    way = solve(p, by_length(p), conditions).ways[0]
    return way.price, time.perf_counter() - began


def ours_full() -> tuple[float, float, float]:
    """Our solver, everything: price [m], bound [m], seconds."""
    site = scene(1 * IN, 1 / 48)
    house = build(site)
    began = time.perf_counter()
    p = Problem(
        house,
        kit(),
        replace(limit(), elbow_90_m=TURN_M, elbow_45_m=30 * IN, elbow_22_m=18 * IN),
        site.appliance,
        site.want,
        {},
    )
    outcome = solve(p, by_length(p))
    return outcome.ways[0].price, outcome.least["roof"], time.perf_counter() - began


class Lattice:
    """Escape lattice of the axis problem, in inches: free nodes, and arcs that cross no box and no floor but at a hole."""

    def __init__(self) -> None:
        solids = [(np.array(a) + (0, 0, LEVELS[r]), np.array(b) + (0, 0, LEVELS[r])) for r, a, b in BOXES]
        self.solids = [(a.astype(float), b.astype(float)) for a, b in solids]
        spots = (*HOLES, END)
        end = (*END, LEVELS[-1] + SIZE[2] + 12)
        axes = [{0.0, SIZE[0], START[0]}, {0.0, SIZE[1], START[1]}, {START[2], end[2]}]
        for a, b in self.solids:
            for k in range(3):
                axes[k] |= {float(a[k]), float(b[k])}
        for x, y in spots:
            axes[0].add(x)
            axes[1].add(y)
        for z in LEVELS:
            axes[2] |= {z, z + SIZE[2]}
        self.axes = [sorted(v) for v in axes]
        self.shape = tuple(len(v) for v in self.axes)
        self.start = tuple(self.axes[k].index(v) for k, v in enumerate(START))
        self.end = tuple(self.axes[k].index(v) for k, v in enumerate(end))
        self.spots = spots
        self.open = {d: self._open(d) for d in range(3)}

    def _open(self, axis: int) -> np.ndarray:
        """Whether the lattice edge from each node onward along an axis is free."""
        free = np.zeros(self.shape, dtype=bool)
        for i, j, k in product(*(range(n) for n in self.shape)):
            index = [i, j, k]
            if index[axis] + 1 < self.shape[axis]:
                a = np.array([self.axes[m][index[m]] for m in range(3)])
                b = a.copy()
                b[axis] = self.axes[axis][index[axis] + 1]
                free[i, j, k] = self._free((a + b) / 2, axis)
        return free

    def _free(self, middle: np.ndarray, axis: int) -> bool:
        for a, b in self.solids:
            if all(a[m] + 1e-9 < middle[m] < b[m] - 1e-9 for m in range(3)):
                return False
        level = next((n for n, z in enumerate(LEVELS) if z <= middle[2] <= z + SIZE[2]), None)
        if level is not None:
            return True
        gap = next((n for n, z in enumerate(LEVELS) if z + SIZE[2] < middle[2] < z + SIZE[2] + 12.01), None)
        return axis == 2 and gap is not None and (middle[0], middle[1]) == self.spots[gap]

    def steps(self, node: tuple[int, int, int, int]):
        """Neighbours of (i, j, k, way) with their price [in]; ways 0..5 are +x -x +y -y +z -z."""
        *cell, way = node
        for d in range(6):
            axis, sign = d // 2, 1 - 2 * (d % 2)
            at = list(cell)
            at[axis] += sign
            if not 0 <= at[axis] < self.shape[axis] or (d ^ 1) == way:
                continue
            low = tuple(cell) if sign > 0 else tuple(at)
            if self.open[axis][low]:
                length = abs(self.axes[axis][at[axis]] - self.axes[axis][cell[axis]])
                yield (*at, d), length + (60.0 if d != way else 0.0)


def networkx_astar(lattice: Lattice) -> tuple[float, float]:
    """Build a graph, and A* on it."""
    import networkx as nx

    began = time.perf_counter()
    graph = nx.DiGraph()
    for node in product(*(range(n) for n in (*lattice.shape, 6))):
        graph.add_weighted_edges_from((node, to, cost) for to, cost in lattice.steps(node))
    end = np.array([lattice.axes[k][lattice.end[k]] for k in range(3)])

    def far(node, _):
        return float(np.abs(np.array([lattice.axes[k][node[k]] for k in range(3)]) - end).sum())

    value = nx.astar_path_length(graph, (*lattice.start, 4), (*lattice.end, 4), far, "weight")
    return value * IN, time.perf_counter() - began


def scipy_dijkstra(lattice: Lattice) -> tuple[float, float]:
    """Build a sparse matrix with NumPy, and Dijkstra on it."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import dijkstra

    began = time.perf_counter()
    index = np.arange(np.prod(lattice.shape)).reshape(lattice.shape)
    rows, cols, data = [], [], []
    for axis in range(3):
        low = tuple(slice(None, -1) if k == axis else slice(None) for k in range(3))
        high = tuple(slice(1, None) if k == axis else slice(None) for k in range(3))
        free = lattice.open[axis][low]
        shape = [1, 1, 1]
        shape[axis] = -1
        length = np.broadcast_to(np.diff(lattice.axes[axis]).reshape(shape), free.shape)[free]
        a, b = index[low][free], index[high][free]
        for d, (p, q) in ((2 * axis, (a, b)), (2 * axis + 1, (b, a))):
            for way in range(6):
                if way != d ^ 1:
                    rows.append(p * 6 + way)
                    cols.append(q * 6 + d)
                    data.append(length + (60.0 if way != d else 0.0))
    n = index.size * 6
    graph = coo_matrix((np.concatenate(data), (np.concatenate(rows), np.concatenate(cols))), shape=(n, n)).tocsr()
    start = index[lattice.start] * 6 + 4
    value = dijkstra(graph, indices=start)[index[lattice.end] * 6 + 4]
    return float(value) * IN, time.perf_counter() - began


def heap_astar(lattice: Lattice) -> tuple[float, float]:
    """A* with the standard library's heap on the implicit graph."""
    began = time.perf_counter()
    end = [lattice.axes[k][lattice.end[k]] for k in range(3)]
    start = (*lattice.start, 4)
    best = {start: 0.0}
    heap = [(0.0, start)]
    goal = (*lattice.end, 4)
    while heap:
        _, node = heapq.heappop(heap)
        if node == goal:
            return best[node] * IN, time.perf_counter() - began
        for to, cost in lattice.steps(node):
            price = best[node] + cost
            if price < best.get(to, np.inf):
                best[to] = price
                far = sum(abs(lattice.axes[k][to[k]] - end[k]) for k in range(3))
                heapq.heappush(heap, (price + far, to))
    return np.inf, time.perf_counter() - began


def main() -> None:
    """Print the table."""
    lattice = Lattice()
    first = ours_axis()
    axis = min((ours_axis() for _ in range(5)), key=lambda r: r[1])
    full_first = ours_full()
    full = min((ours_full() for _ in range(3)), key=lambda r: r[2])
    rows = [("this solver, axis moves", *axis)]
    rows.append(("heapq A*, implicit lattice", *heap_astar(lattice)))
    rows.append(("scipy Dijkstra, build and search", *scipy_dijkstra(lattice)))
    rows.append(("networkx A*, build and search", *networkx_astar(lattice)))
    rows.append(("this solver, everything", full[0], full[2]))
    nodes = int(np.prod(lattice.shape)) * 6
    print(f"lattice: {nodes} states; first call axis {first[1] * 1e3:.1f} ms, everything {full_first[2] * 1e3:.1f} ms")
    print(f"{'method':36}{'equivalent':>12}{'time':>12}{'ratio':>9}")
    for name, value, seconds in rows:
        print(f"{name:36}{value / FT:9.3f} ft{seconds * 1e3:9.1f} ms{seconds / axis[1]:9.1f}")
    print(f"everything: {100 * (1 - full[0] / rows[1][1]):.1f} % below the lattice; bound {full[1] / FT:.3f} ft")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
