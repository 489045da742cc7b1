"""The problem that a lattice can state, and searches of it by other libraries: an oracle, and what the bench times.

A pipe without thickness goes along the axes, every turn a 90 of one price. An optimum lies on the escape lattice: the
coordinates of faces, holes and ends.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from tests.solve.scenes import IN, appliance, by_length, kit, limit
from ventroute.layout.building import build
from ventroute.model.appliance import Want
from ventroute.model.site import Envelope, Hole, Obstacle, Place, Room, Site
from ventroute.solve.compounds import Compounds
from ventroute.solve.conditions import Conditions
from ventroute.solve.directions import directions
from ventroute.solve.problem import Problem
from ventroute.solve.solver import solve

BETWEEN_IN = 12.0  # construction between two rooms
TURN_IN = 60.0


@dataclass(frozen=True)
class Scene:
    """Rooms one above the other, in inches: boxes by room, a hole in each ceiling, an end above the topmost."""

    size: tuple[float, float, float]
    boxes: tuple[tuple[int, tuple[float, ...], tuple[float, ...]], ...]  # room, low, high
    spots: tuple[tuple[float, float], ...]  # holes, one for each room
    start: tuple[float, float, float]

    @property
    def levels(self) -> list[float]:
        """Heights of the floors."""
        return [i * (self.size[2] + BETWEEN_IN) for i in range(len(self.spots))]

    def site(self, gap_m: float, pitch: float) -> Site:
        """The house."""
        w, d, h = (v * IN for v in self.size)
        floor = ((0.0, 0.0), (w, 0.0), (w, d), (0.0, d))
        out = ((-0.2, -0.2), (w + 0.2, -0.2), (w + 0.2, d + 0.2), (-0.2, d + 0.2))
        rooms = tuple(Room(f"room {i}", floor, z * IN, z * IN + h) for i, z in enumerate(self.levels))
        names = [r.name for r in rooms] + ["outdoors"]
        holes = tuple(
            Hole(f"hole {i}", (x * IN, y * IN, (z + self.size[2] + BETWEEN_IN / 2) * IN), (0.0, 0.0, 1.0), 0.2,
                 (names[i], names[i + 1]))
            for i, ((x, y), z) in enumerate(zip(self.spots, self.levels, strict=True))
        )  # fmt: skip
        boxes = tuple(
            Obstacle(f"box {i}", corner=(a[0] * IN, a[1] * IN, (self.levels[r] + a[2]) * IN),
                     size=tuple((np.array(b) - a) * IN))
            for i, (r, a, b) in enumerate(self.boxes)
        )  # fmt: skip
        top = (self.levels[-1] + self.size[2] + BETWEEN_IN) * IN
        return Site(
            "lattice", Place(), Envelope(out, -0.2, top), appliance(tuple(v * IN for v in self.start), pitch=pitch),
            rooms, holes=holes, obstacles=boxes, want=Want(gap_m=gap_m, reach_m=1e-9),
        )  # fmt: skip


def thin():
    """A kit without take-offs or thickness."""
    k = kit((90.0,), street=False)
    bends = tuple(replace(b, laying_m=0.0, socket_m=0.0, hub_od_m=1e-9) for b in k.bends)
    return replace(
        k,
        bends=bends,
        pipe=replace(k.pipe, od_m=1e-9),
        coupling=replace(k.coupling, socket_m=0.0, hub_od_m=1e-9, gap_m=0.0),
    )


def axis_problem(scene: Scene) -> Problem:
    """The same problem in the solver's terms."""
    site = scene.site(0.0, 0.0)
    return Problem(build(site), thin(), replace(limit((90.0,)), elbow_90_m=TURN_IN * IN), site.appliance, site.want, {})


def axis_price_in(p: Problem) -> float:
    """What the solver finds for it, with the axes as its only directions."""
    conditions = Conditions.of(p)
    found = directions(
        np.concatenate([np.eye(3), -np.eye(3)]), np.zeros((0, 3)), pitch=0.0, falls_to="terminal", angles_deg=(90.0,),
        give_deg=0.0,
    )  # fmt: skip
    found.turn[:] = np.where(np.abs(found.nominal @ found.nominal.T) < 0.5, 90.0, 0.0)
    none = Compounds.none()
    for link in (link for _, row in conditions.linked[0] for link in row):
        conditions._directions[link.key], conditions._compounds[link.key] = found, none
    ways = solve(p, by_length(p), conditions).ways
    return ways[0].price / IN if ways else np.inf


class Lattice:
    """Nodes (i, j, k, way) of the escape lattice; ways 0..5 are +x -x +y -y +z -z."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.solids = [
            (np.array(a) + (0, 0, scene.levels[r]), np.array(b) + (0, 0, scene.levels[r])) for r, a, b in scene.boxes
        ]
        top = scene.levels[-1] + scene.size[2] + BETWEEN_IN
        axes = [{0.0, scene.size[0], scene.start[0]}, {0.0, scene.size[1], scene.start[1]}, {scene.start[2], top}]
        for k, axis in enumerate(axes):
            axis |= {float(v[k]) for pair in self.solids for v in pair}
        for x, y in scene.spots:
            axes[0].add(x)
            axes[1].add(y)
        for z in scene.levels:
            axes[2] |= {z, z + scene.size[2]}
        self.axes = [np.array(sorted(v)) for v in axes]
        self.shape = tuple(len(v) for v in self.axes)
        self.start = (*(int(np.searchsorted(self.axes[k], v)) for k, v in enumerate(scene.start)), 4)
        end = (*scene.spots[-1], top)
        self.end = (*(int(np.searchsorted(self.axes[k], v)) for k, v in enumerate(end)), 4)

    @property
    def states(self) -> int:
        """Number of nodes."""
        return int(np.prod(self.shape)) * 6

    @cached_property
    def open(self) -> list[np.ndarray]:
        """Whether the edge from each node onward along an axis crosses no box and no floor but at a hole."""
        return [self._open(axis) for axis in range(3)]

    def _open(self, axis: int) -> np.ndarray:
        middles = [v.copy() for v in self.axes]
        middles[axis] = (middles[axis][:-1] + middles[axis][1:]) / 2
        x, y, z = np.meshgrid(*middles, indexing="ij")
        free = np.zeros(x.shape, dtype=bool)
        for level, spot in zip(self.scene.levels, self.scene.spots, strict=True):
            ceiling = level + self.scene.size[2]
            free |= (z >= level) & (z <= ceiling)
            if axis == 2:
                free |= (z > ceiling) & (z < ceiling + BETWEEN_IN + 0.01) & (x == spot[0]) & (y == spot[1])
        for low, high in self.solids:
            inside = [(v > a + 1e-9) & (v < b - 1e-9) for v, a, b in zip((x, y, z), low, high, strict=True)]
            free &= ~(inside[0] & inside[1] & inside[2])
        whole = np.zeros(self.shape, dtype=bool)
        whole[tuple(slice(0, n) for n in free.shape)] = free
        return whole

    @cached_property
    def far(self) -> np.ndarray:
        """Least distance to the end along the axes [in], of every place."""
        axes = [np.abs(axis - axis[at]) for axis, at in zip(self.axes, self.end, strict=False)]
        return (axes[0][:, None, None] + axes[1][:, None] + axes[2]).ravel()

    @property
    def ends(self) -> tuple[int, int]:
        """Numbers of the first node and the last."""
        first, last = (np.ravel_multi_index(node, (*self.shape, 6)) for node in (self.start, self.end))
        return int(first), int(last)

    def arcs(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Every arc: numbers of its nodes, and its price [in]."""
        index = np.arange(np.prod(self.shape)).reshape(self.shape)
        rows, cols, data = [], [], []
        for axis in range(3):
            low = tuple(slice(None, -1) if k == axis else slice(None) for k in range(3))
            high = tuple(slice(1, None) if k == axis else slice(None) for k in range(3))
            free = self.open[axis][low]
            shape = [1, 1, 1]
            shape[axis] = -1
            length = np.broadcast_to(np.diff(self.axes[axis]).reshape(shape), free.shape)[free]
            a, b = index[low][free], index[high][free]
            for d, (p, q) in ((2 * axis, (a, b)), (2 * axis + 1, (b, a))):
                for way in range(6):
                    if way != d ^ 1:
                        rows.append(p * 6 + way)
                        cols.append(q * 6 + d)
                        data.append(length + (TURN_IN if way != d else 0.0))
        return np.concatenate(rows), np.concatenate(cols), np.concatenate(data)


def networkx_astar(lattice: Lattice) -> float:
    """Build a graph, and A* on it [in]."""
    import networkx as nx

    graph = nx.DiGraph()
    graph.add_weighted_edges_from(zip(*(part.tolist() for part in lattice.arcs()), strict=True))
    far = np.repeat(lattice.far, 6).tolist()
    return nx.astar_path_length(graph, *lattice.ends, lambda node, _: far[node], "weight")


def scipy_dijkstra(lattice: Lattice) -> float:
    """Build a sparse matrix with NumPy, and Dijkstra on it [in]."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import dijkstra

    rows, cols, data = lattice.arcs()
    graph = coo_matrix((data, (rows, cols)), shape=(lattice.states, lattice.states)).tocsr()
    start, end = lattice.ends
    return float(dijkstra(graph, indices=start)[end])


def heap_astar(lattice: Lattice) -> float:
    """A* with the standard library's heap on the implicit graph [in]."""
    strides = [lattice.shape[1] * lattice.shape[2], lattice.shape[2], 1]
    moves = []  # of each way: by how much the number of the place grows, and the length from every place, 0 where shut
    for axis, stride in enumerate(strides):
        shape = [1, 1, 1]
        shape[axis] = -1
        length = lattice.open[axis] * np.append(np.diff(lattice.axes[axis]), 0.0).reshape(shape)
        moves += [(stride, length.ravel().tolist()), (-stride, np.roll(length, 1, axis).ravel().tolist())]
    onward = [[(d, *moves[d], TURN_IN if d != way else 0.0) for d in range(6) if d ^ 1 != way] for way in range(6)]
    far, (start, end) = lattice.far.tolist(), lattice.ends
    best = [np.inf] * lattice.states
    best[start] = 0.0
    heap = [(far[start // 6], 0.0, start)]
    while heap:
        _, price, node = heapq.heappop(heap)
        if node == end:
            return price
        if price > best[node]:
            continue
        place, way = divmod(node, 6)
        for d, step, lengths, turn in onward[way]:
            if lengths[place]:
                to, more = (place + step) * 6 + d, price + lengths[place] + turn
                if more < best[to]:
                    best[to] = more
                    heapq.heappush(heap, (more + far[place + step], more, to))
    return np.inf
