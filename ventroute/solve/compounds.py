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
from functools import cached_property, lru_cache
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
        way, end = link.end.centre_m - link.start_m, link.end
        side = _aside(link.start_nominal, way, end.nominal)
        if side is None:
            return cls.none()
        c, s = np.array([side[0], side[1]]) / math.hypot(side[0], side[1]) if side[:2].any() else (1.0, 0.0)
        turned = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])  # so that houses turned alike share the work
        level = np.array([math.hypot(side[0], side[1]), 0.0, side[2]])
        ways = [turned @ d + 0.0 for d in (link.start_nominal, link.start_true, end.nominal, end.true)]
        swings = _swings(
            tuple(d.tobytes() for d in (level, *ways)), tuple(sorted(problem.elbows)), problem.give_deg,
            problem.appliance.pitch, problem.appliance.falls_to,
        )  # fmt: skip
        kept = swings.leading(turned @ way)
        return cls(swings.legs[kept, 1:3] @ turned, swings.angles_deg[kept])

    def rows(self, angles_deg: tuple[float, ...]) -> IntArray:
        """Numbers of those with these bends in any order."""
        kind = np.sort(np.array(angles_deg))
        out: IntArray = (self._sorted == kind).all(axis=1).nonzero()[0]
        return out

    @cached_property
    def _sorted(self) -> FloatArray:
        return np.sort(self.angles_deg, axis=1)


@dataclass(frozen=True, eq=False)
class _Swings:
    """M compound rolls between two directions, wherever they lead: the legs' directions, the bends' angles [deg].

    ``across`` holds the normals of two legs each, by their numbers, and ``sign`` on which side of it the third leg of
    three lies, no number where they lie in one plane.
    """

    legs: FloatArray  # (M, 4, 3)
    angles_deg: FloatArray  # (M, 3)
    across: dict[tuple[int, int], FloatArray]  # (M, 3)
    sign: dict[tuple[int, int, int], FloatArray]  # (M,)

    @classmethod
    def of(cls, legs: FloatArray, angles_deg: FloatArray) -> _Swings:
        """With what tells where they lead."""
        d = [np.ascontiguousarray(legs[:, i]) for i in range(4)]
        across = {(i, j): cross(d[i], d[j]) for i, j in combinations(range(4), 2)}
        sign = {}
        for i, j, k in combinations(range(4), 3):
            size = np.einsum("nk,nk->n", d[i], across[j, k])
            sign[i, j, k] = np.where(np.abs(size) > _SAME, np.sign(size), np.nan)
        return cls(legs, angles_deg, across, {three: s for three, s in sign.items() if not np.isnan(s).all()})

    def leading(self, way: FloatArray) -> IntArray:
        """Numbers of those whose legs, each as long as it may be, make up a way: some three of them do."""
        toward = {pair: normal @ way for pair, normal in self.across.items()}
        out = np.zeros(len(self.legs), dtype=np.bool_)
        for (i, j, k), sign in self.sign.items():  # Cramer's rule; no number is not negative
            ahead = (sign * toward[j, k] >= -_HAIR) & (sign * toward[i, j] >= -_HAIR)
            out |= ahead & (sign * toward[i, k] <= _HAIR)
        return np.flatnonzero(out)


@lru_cache(maxsize=8)
def _swings(
    ways: tuple[bytes, ...], angles: tuple[float, ...], give_deg: float, pitch: float, falls_to: str
) -> _Swings:
    """Every order of three bends at every roll that turns and drains.

    ``ways``: from where rolls are counted, then the nominal and true forms of the start and of the end.
    """
    side, start, start_true, end, end_true = (np.frombuffer(raw) for raw in ways)
    orders = np.array(list(product(angles, repeat=3)))
    roll = np.radians(np.arange(round(360.0 / STEP_DEG)) * STEP_DEG)
    about = np.cos(roll)[:, None] * side + np.sin(roll)[:, None] * np.cross(start, side)
    first, middle, last = np.radians(orders).T[:, :, None]
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
    dirs, bends = _tilted(pairs.reshape(-1, 2, 3), pitch if falls_to == "appliance" else -pitch), np.repeat(order, 2)
    ends = [np.broadcast_to(way, (len(dirs), 1, 3)) for way in (start_true, end_true)]
    legs = np.concatenate([ends[0], dirs, ends[1]], axis=1)
    kept = _turned(legs, np.radians(orders[bends]), give_deg) & _drained(legs, pitch, falls_to)
    return _Swings.of(legs[kept], orders[bends[kept]])


def _tilted(dirs: FloatArray, rise: float) -> FloatArray:
    """Directions (M, 2, 3) with the level ones raised by the pitch."""
    level = np.abs(dirs[:, :, 2]) <= LEVEL
    raised = np.concatenate([dirs[:, :, :2], np.full((*level.shape, 1), rise)], axis=2)
    out: FloatArray = np.where(level[:, :, None], raised / math.hypot(1.0, rise), dirs)
    return out


def _turned(legs: FloatArray, angles: FloatArray, give_deg: float) -> BoolArray:
    """Where the turns between four directions (M, 4, 3) are within the joint's give of their angles (M, 3)."""
    turns = np.arccos(np.clip(np.einsum("mik,mik->mi", legs[:, :-1], legs[:, 1:]), -1.0, 1.0))
    out: BoolArray = (np.abs(turns - angles) <= math.radians(give_deg) + _SAME).all(axis=1)
    return out


def _drained(legs: FloatArray, pitch: float, falls_to: str) -> BoolArray:
    """Where all of four directions but the first, as a level collar may have it, let water out."""
    out = drains(legs[:, 1:].reshape(-1, 3), pitch, falls_to).reshape(-1, 3)
    if falls_to == "terminal":
        up = legs[:, :, 2] > 0
        out &= up[:, :-1] | ~up[:, 1:]  # a rise after a fall is a low point that holds water
    return np.asarray(out.all(axis=1))


def _aside(start: FloatArray, way: FloatArray, end: FloatArray) -> FloatArray | None:
    """From where rolls are counted: the way to the end, or the end's direction, square to the start."""
    for vector in (way, end):
        across = vector - (vector @ start) * start
        size = float(np.linalg.norm(across))
        if size > _SAME:
            out: FloatArray = across / size
            return out
    return None
