"""Compound rolls: three bends that take a run past what stands in its way.

Two bends on parallel axes make an offset, and its roll is given by where it leads. With a third bend between them the
run can swing about: of the legs a, d, e, b the second leaves a cone about a, the third comes to one about b, and the
bend between couples them. So one roll is free, and what stands in the way decides which is best. Every order of three
bends is kept at rolls in even steps from the way to the end, where more of each leg can lead there; they are strands
beside the others. Which there are does not depend on what stands in the way: a further body takes none away and brings
none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.frames import cross
from ventroute.solve.directions import LEVEL, drains
from ventroute.solve.links import Link
from ventroute.solve.problem import Problem

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

STEP_DEG = 2.5  # of the roll: as fine as a fitter sets it with an angle finder, our own choice
_SAME = 1e-7
_HAIR = 1e-9


@dataclass(frozen=True, eq=False)
class Compounds:
    """N compound rolls of a link: the second and third leg's directions (N, 2, 3), the bends' angles (N, 3) [deg]."""

    dirs: FloatArray
    angles_deg: FloatArray

    @classmethod
    def none(cls) -> Compounds:
        """No compound rolls."""
        return cls(np.zeros((0, 2, 3)), np.zeros((0, 3)))

    @classmethod
    def of(cls, problem: Problem, link: Link) -> Compounds:
        """Those that lead from a link's fixed start to its fixed end through one space."""
        if link.end is None or link.cuts or not problem.elbows:
            return cls.none()
        assert link.end.centre_m is not None
        way = link.end.centre_m - link.start_m
        orders = np.array(list(product(sorted(problem.elbows), repeat=3)))
        start, end = link.start_nominal, link.end.nominal
        dirs, order = _swings(start, end, way, np.radians(orders))
        ends = (np.broadcast_to(d, (len(dirs), 1, 3)) for d in (link.start_true, link.end.true))
        legs = np.concatenate([next(ends), _tilted(problem, dirs), next(ends)], axis=1)
        kept = _turned(problem, legs, np.radians(orders[order])) & _drained(problem, legs) & _leads(legs, way)
        return cls(legs[kept, 1:3], orders[order[kept]])

    @cached_property
    def _rows(self) -> dict[tuple[float, ...], IntArray]:
        kinds: dict[tuple[float, ...], list[int]] = {}
        for i, row in enumerate(np.sort(self.angles_deg)[:, ::-1].tolist()):
            kinds.setdefault(tuple(row), []).append(i)
        return {kind: np.array(rows, dtype=np.intp) for kind, rows in kinds.items()}

    def rows(self, angles_deg: tuple[float, ...]) -> IntArray:
        """Numbers of those with these bends in any order."""
        return self._rows.get(tuple(sorted(angles_deg, reverse=True)), np.zeros(0, dtype=np.intp))


def _swings(start: FloatArray, end: FloatArray, way: FloatArray, orders: FloatArray) -> tuple[FloatArray, IntArray]:
    """Second and third leg's directions (M, 2, 3) at every roll, and the number of their order of bends (M,)."""
    side = _aside(start, way, end)
    if side is None:
        return np.zeros((0, 2, 3)), np.zeros(0, dtype=np.intp)
    roll = np.radians(np.arange(round(360.0 / STEP_DEG)) * STEP_DEG)
    about = np.cos(roll)[:, None] * side + np.sin(roll)[:, None] * np.cross(start, side)
    first, middle, last = orders.T[:, :, None]
    d = np.cos(first)[:, :, None] * start + np.sin(first)[:, :, None] * about  # (orders, rolls, 3)
    g = d @ end
    square = np.maximum(1.0 - g * g, _SAME)
    along_end = (np.cos(last) - g * np.cos(middle)) / square
    along_d = (np.cos(middle) - g * np.cos(last)) / square
    off = (1.0 - along_end**2 - along_d**2 - 2.0 * along_end * along_d * g) / square
    order, nth = np.nonzero((off > _SAME) & (1.0 - g * g > _SAME))  # what lies in one plane is no compound roll
    d, off = d[order, nth], np.sqrt(off[order, nth])[:, None]
    between = along_end[order, nth, None] * end + along_d[order, nth, None] * d
    aside = off * cross(np.broadcast_to(end, d.shape), d)
    pairs = np.stack([np.stack([d, between + aside], axis=1), np.stack([d, between - aside], axis=1)], axis=1)
    return pairs.reshape(-1, 2, 3), np.repeat(order, 2)


def _tilted(problem: Problem, dirs: FloatArray) -> FloatArray:
    """Directions (M, 2, 3) with the level ones raised by the pitch."""
    level = np.abs(dirs[:, :, 2]) <= LEVEL
    raised = np.concatenate([dirs[:, :, :2], np.full((*level.shape, 1), problem.rise)], axis=2)
    out: FloatArray = np.where(level[:, :, None], raised / math.hypot(1.0, problem.rise), dirs)
    return out


def _turned(problem: Problem, legs: FloatArray, angles: FloatArray) -> BoolArray:
    """Where the turns between four directions (M, 4, 3) are within the joint's give of their angles (M, 3)."""
    turns = np.arccos(np.clip(np.einsum("mik,mik->mi", legs[:, :-1], legs[:, 1:]), -1.0, 1.0))
    out: BoolArray = (np.abs(turns - angles) <= math.radians(problem.give_deg) + _SAME).all(axis=1)
    return out


def _drained(problem: Problem, legs: FloatArray) -> BoolArray:
    """Where the second and third of four directions let water out."""
    pitch, falls_to = problem.appliance.pitch, problem.appliance.falls_to
    out = drains(legs[:, 1:3].reshape(-1, 3), pitch, falls_to).reshape(-1, 2)
    if falls_to == "terminal":
        up = legs[:, 1:, 2] > 0
        out[up[:, 1:] & ~up[:, :-1]] = False  # a rise after a fall is a low point that holds water
    return np.asarray(out.all(axis=1))


def _leads(dirs: FloatArray, way: FloatArray) -> BoolArray:
    """Whether lengths along four directions (N, 4, 3) make up a way: some three of them do."""
    legs = [np.ascontiguousarray(dirs[:, i]) for i in range(4)]
    across = {(i, j): cross(legs[i], legs[j]) for i, j in combinations(range(4), 2)}
    toward = {pair: normal @ way for pair, normal in across.items()}
    out = np.zeros(len(dirs), dtype=np.bool_)
    for i, j, k in combinations(range(4), 3):
        size = np.einsum("nk,nk->n", legs[i], across[j, k])
        sign = np.where(np.abs(size) > _SAME, np.sign(size), np.nan)  # no number is not negative
        out |= (sign * toward[j, k] >= -_HAIR) & (-sign * toward[i, k] >= -_HAIR) & (sign * toward[i, j] >= -_HAIR)
    return out


def _aside(start: FloatArray, way: FloatArray, end: FloatArray) -> FloatArray | None:
    """From where rolls are counted: the way to the end, or the end's direction, square to the start."""
    for vector in (way, end):
        across = vector - (vector @ start) * start
        size = float(np.linalg.norm(across))
        if size > _SAME:
            out: FloatArray = across / size
            return out
    return None
