"""Every direction sequence of a room, with exact lengths by mixed-integer programming: written apart from the solver.

A room is a box with boxes in it; the route goes from a pose to a pose. For each sequence of directions whose turns the
fittings make, HiGHS finds the least sum of leg lengths, with one binary for each plane that may stand between a leg (or a
hub) and a box, and one for each leg that may be closed up by a street bend. Slow, and plain enough to be believed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

FAR = 60.0  # big M: no room here is so large


@dataclass(frozen=True)
class Fitting:
    """One angle in one pattern: take-offs, equivalents, all in metres; the spigot infinite where no street bend is made."""

    angle: float
    laying: float
    socket: float
    spigot: float
    equivalent: float


@dataclass(frozen=True)
class Stage:
    """A room, what is in it, and both ends: ``ahead`` is the least leg before the last pose for each angle."""

    low: np.ndarray
    high: np.ndarray
    boxes: list[tuple[np.ndarray, np.ndarray]]
    start: np.ndarray
    end: np.ndarray
    into: np.ndarray
    out: np.ndarray
    directions: list[tuple[np.ndarray, np.ndarray]]  # nominal, true
    fittings: list[Fitting]
    give: float
    pipe: float
    hub: float
    gap: float
    first_socket: float
    ceiling: float

    def turns(self, a: int, b: int) -> list[Fitting]:
        """The fittings that turn direction a into b, one for each pattern."""
        (na, ta), (nb, tb) = self.directions[a], self.directions[b]
        nominal = math.degrees(math.acos(max(-1.0, min(1.0, float(na @ nb)))))
        true = math.degrees(math.acos(max(-1.0, min(1.0, float(ta @ tb)))))
        return [
            f
            for f in self.fittings
            if abs(true - f.angle) < 1e-4 or (abs(nominal - f.angle) < 1e-4 and abs(true - f.angle) <= self.give + 1e-4)
        ]

    def index(self, true: np.ndarray) -> int:
        """Number of a direction."""
        return int(np.argmin([np.linalg.norm(t - true) for _, t in self.directions]))


def cheaper(stage: Stage, price: float, most: int) -> tuple[float, list[int]] | None:
    """A legal route of at most `most` fittings that costs less than `price`, None where there is none."""
    every = range(len(stage.directions))
    nexts = {a: [(b, f) for b in every for f in stage.turns(a, b)] for a in every}
    straight = float(np.linalg.norm(stage.end - stage.start))
    last = stage.index(stage.out)
    stack: list[tuple[list[int], list[Fitting], float]] = [([stage.index(stage.into)], [], 0.0)]
    while stack:
        path, turns, cost = stack.pop()
        if path[-1] == last and relaxed(stage, path, turns) + cost < price:
            value = exact(stage, path, turns) + cost
            if value < price:
                return value, path
        if len(path) <= most:
            for b, f in nexts[path[-1]]:
                more = cost + f.equivalent
                if more + straight < price:
                    stack.append(([*path, b], [*turns, f], more))
    return None


def leasts(stage: Stage, path: list[int], turns: list[Fitting]) -> tuple[np.ndarray, np.ndarray]:
    """Least leg lengths closed up, and with pipe."""
    k = len(turns)
    hub = np.zeros(k + 1)
    for i, f in enumerate(turns):
        hub[i] += f.laying + f.socket
        hub[i + 1] += f.laying + f.socket
    street = hub.copy()
    hub[0] += stage.first_socket
    street[0] = hub[0]
    for i in range(1, k):
        street[i] = turns[i - 1].laying + turns[i].laying + turns[i].spigot
    if k:
        street[0] = turns[0].laying + turns[0].spigot
        hub[k] = street[k] = turns[-1].laying + turns[-1].socket + stage.gap + (stage.end[2] - stage.ceiling)
    return street, hub


def rows(stage: Stage, path: list[int], turns: list[Fitting]) -> tuple[list[np.ndarray], list[float]]:
    """Walls: ``a.L <= b``."""
    d = [stage.directions[i][1] for i in path]
    a_rows, b_rows = [], []
    for n, limit in [(e, h) for e, h in zip(np.eye(3), stage.high, strict=True)] + [
        (-e, -low) for e, low in zip(np.eye(3), stage.low, strict=True)
    ]:
        for i, f in enumerate(turns, 1):
            reach = f.laying + f.socket
            for u in (-d[i - 1], d[i]):
                rim = stage.hub / 2 * math.sqrt(max(0.0, 1 - float(n @ u) ** 2))
                need = limit - stage.gap - rim - max(0.0, reach * float(n @ u)) - float(n @ stage.start)
                a_rows.append(np.array([float(n @ d[j]) if j < i else 0.0 for j in range(len(d))]))
                b_rows.append(need)
    return a_rows, b_rows


def relaxed(stage: Stage, path: list[int], turns: list[Fitting]) -> float:
    """Least length without boxes, legs closed up where they may be."""
    d = np.array([stage.directions[i][1] for i in path])
    street, hub = leasts(stage, path, turns)
    a, b = rows(stage, path, turns)
    low = np.minimum(street, hub)
    found = linprog(
        np.ones(len(d)), A_ub=np.array(a) if a else None, b_ub=b or None, A_eq=d.T, b_eq=stage.end - stage.start,
        bounds=[(v, None) for v in low],
    )  # fmt: skip
    return found.fun if found.status == 0 else math.inf


def planes(
    stage: Stage, box: tuple[np.ndarray, np.ndarray], u: np.ndarray, radius: float
) -> list[tuple[np.ndarray, float]]:
    """Planes that may stand between a cylinder along u and a box."""
    normals = [s * e for e in np.eye(3) for s in (1.0, -1.0)]
    for e in np.eye(3):
        c = np.cross(u, e)
        if np.linalg.norm(c) > 1e-6:
            normals += [c / np.linalg.norm(c), -c / np.linalg.norm(c)]
    corners = np.array([[box[(i >> k) & 1][k] for k in range(3)] for i in range(8)])
    return [
        (n, float((corners @ n).max()) + radius * math.sqrt(max(0.0, 1 - float(n @ u) ** 2)) + stage.gap)
        for n in normals
    ]


def exact(stage: Stage, path: list[int], turns: list[Fitting]) -> float:
    """Least length with boxes and sockets."""
    d = [stage.directions[i][1] for i in path]
    legs = len(d)
    street, hub = leasts(stage, path, turns)
    a_ub, b_ub = rows(stage, path, turns)
    a_ub = [np.asarray(a) for a in a_ub]
    binaries: list[list[tuple[list[np.ndarray], list[float]]]] = []  # each: choices, a choice being rows a.L >= b

    def corner(i: int, n: np.ndarray) -> tuple[np.ndarray, float]:
        return np.array([float(n @ d[j]) if j < i else 0.0 for j in range(legs)]), float(n @ stage.start)

    for box in stage.boxes:
        for i in range(legs):
            top = (stage.ceiling - stage.end[2]) if i == legs - 1 else 0.0
            choices = []
            for n, t in planes(stage, box, d[i], stage.pipe / 2):
                a0, c0 = corner(i, n)
                a1, c1 = corner(i + 1, n)
                choices.append(([a0, a1], [t - c0, t - c1 - top * float(n @ d[i])]))
            binaries.append(choices)
        for i, f in enumerate(turns, 1):
            for u in (-d[i - 1], d[i]):
                choices = []
                for n, t in planes(stage, box, u, stage.hub / 2):
                    a, c = corner(i, n)
                    choices.append(([a], [t - c - min(0.0, (f.laying + f.socket) * float(n @ u))]))
                binaries.append(choices)
    closing = [i for i in range(legs) if hub[i] - street[i] > 1e-9]
    sizes = [len(c) for c in binaries]
    total = legs + sum(sizes) + len(closing)
    matrix, low, high = [], [], []
    for a, b in zip(a_ub, b_ub, strict=True):
        matrix.append(np.concatenate([a, np.zeros(total - legs)]))
        low.append(-np.inf)
        high.append(b)
    for axis in range(3):
        matrix.append(np.concatenate([[v[axis] for v in d], np.zeros(total - legs)]))
        low.append(stage.end[axis] - stage.start[axis])
        high.append(stage.end[axis] - stage.start[axis])
    at = legs
    for choices in binaries:
        some = np.zeros(total)
        for q, (a_rows, b_rows) in enumerate(choices):
            some[at + q] = 1.0
            for a, b in zip(a_rows, b_rows, strict=True):
                row = np.zeros(total)
                row[:legs] = a
                row[at + q] = -FAR
                matrix.append(row)
                low.append(b - FAR)
                high.append(np.inf)
        matrix.append(some)
        low.append(1.0)
        high.append(np.inf)
        at += len(choices)
    for i in closing:
        # z = 1: closed up, L == street; z = 0: L >= hub
        row = np.zeros(total)
        row[i], row[at] = 1.0, hub[i] - street[i]
        matrix.append(row)
        low.append(hub[i])
        high.append(np.inf)
        row = np.zeros(total)
        row[i], row[at] = 1.0, FAR
        matrix.append(row)
        low.append(-np.inf)
        high.append(street[i] + FAR)
        at += 1
    least = np.minimum(street, hub)
    bounds = Bounds(
        np.concatenate([least, np.zeros(total - legs)]), np.concatenate([np.full(legs, FAR), np.ones(total - legs)])
    )
    integral = np.concatenate([np.zeros(legs), np.ones(total - legs)])
    found = milp(
        np.concatenate([np.ones(legs), np.zeros(total - legs)]),
        constraints=LinearConstraint(np.array(matrix), np.array(low), np.array(high)),
        bounds=bounds,
        integrality=integral,
        options={"mip_rel_gap": 0.0},
    )
    return float(found.fun) if found.status == 0 else math.inf
