"""The directions a run may take, and which fitting turns one into another.

A direction has a nominal form (what the fitting's angle is made for: level, plumb, a diagonal) and a true form (the
nominal one tilted by the pitch where it is level). A turn is allowed where the nominal forms differ by a fitting's
angle and the true ones by no more than the joint's give from it: the give makes pitch and shortens nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

LEVEL = 1e-6  # |z| of a level direction
_SAME = 1e-6  # two directions, or two angles [rad], are one
_STEPS_DEG = (0.0, 22.5, 45.0, 67.5, 90.0)


@dataclass(frozen=True, eq=False)
class Directions:
    """Directions of one stage.

    ``nominal`` and ``true`` are (m, 3) unit vectors; ``turn`` is (m, m), the nominal angle of the fitting that turns
    row into column [deg], 0 where none does.
    """

    nominal: FloatArray
    true: FloatArray
    turn: FloatArray
    _sequences: dict[tuple[int, int, tuple[float, ...]], NDArray[np.intp]] = field(default_factory=dict, repr=False)
    _by_angle: dict[float, NDArray[np.bool_]] = field(default_factory=dict, repr=False)
    _lists: dict[float, tuple[NDArray[np.intp], NDArray[np.intp]]] = field(default_factory=dict, repr=False)

    def index(self, nominal: Sequence[float] | FloatArray) -> int:
        """Number of a direction by its nominal form, -1 where it is not among them."""
        gap = np.linalg.norm(self.nominal - np.asarray(nominal, dtype=float), axis=1)
        best = int(np.argmin(gap))
        return best if gap[best] < 1e-7 else -1

    def at(self, true: FloatArray) -> int:
        """Number of a direction by its true form, -1 where it is not among them."""
        gap = np.linalg.norm(self.true - true, axis=1)
        best = int(np.argmin(gap))
        return best if gap[best] < 1e-7 else -1

    def wider(self, more: FloatArray, angles_deg: Sequence[float], give_deg: float, falls_to: str) -> Directions:
        """These and further directions (n, 3) that drain, their nominal forms being true; what else as `directions`."""
        if not len(more):
            return self
        nominal, true = np.concatenate([self.nominal, more]), np.concatenate([self.true, more])
        turn = _turns(nominal, true, angles_deg, give_deg, falls_to)
        turn[:, : len(self.true)][:, ~self.turn.any(axis=0)] = 0.0  # a level collar's is not come back to
        return Directions(nominal, true, turn)

    def sequences(self, start: int, end: int, angles: tuple[float, ...]) -> NDArray[np.intp]:
        """All (n, k + 1) direction sequences from start to end whose k turns are `angles` in some order."""
        key = (start, end, tuple(sorted(angles, reverse=True)))
        if key not in self._sequences:
            self._sequences[key] = self._expand(*key)
        return self._sequences[key]

    def _expand(self, start: int, end: int, angles: tuple[float, ...]) -> NDArray[np.intp]:
        found = [self._follow(start, end, order) for order in _orders(angles)]
        return np.concatenate(found) if found else np.zeros((0, len(angles) + 1), dtype=np.intp)

    def _follow(self, start: int, end: int, order: tuple[float, ...]) -> NDArray[np.intp]:
        """Sequences with the turns in this order; only directions from which the end can be reached are entered."""
        goals = [np.arange(len(self.true)) == end]
        for angle in reversed(order):
            goals.append((self._turns_by(angle) & goals[-1]).any(axis=1))
        paths = np.array([[start]] if goals[-1][start] else [], dtype=np.intp).reshape(-1, 1)
        for angle, goal in zip(order, reversed(goals[:-1]), strict=True):
            first, follower = self._followers(angle)
            last = paths[:, -1]
            count = first[last + 1] - first[last]
            at = np.repeat(np.arange(len(paths)), count)
            nth = np.arange(len(at)) - np.repeat(np.cumsum(count) - count, count)
            nxt = follower[first[last[at]] + nth]
            kept = goal[nxt]
            paths = np.concatenate([paths[at[kept]], nxt[kept, None]], axis=1)
        return paths

    def _turns_by(self, angle: float) -> NDArray[np.bool_]:
        if angle not in self._by_angle:
            self._by_angle[angle] = self.turn == angle
        return self._by_angle[angle]

    def _followers(self, angle: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Directions that a fitting turns each direction into, one after the other, and where each begins."""
        if angle not in self._lists:
            rows, follower = np.nonzero(self._turns_by(angle))
            first = np.searchsorted(rows, np.arange(len(self.true) + 1)).astype(np.intp)
            self._lists[angle] = first, follower.astype(np.intp)
        return self._lists[angle]


def _orders(angles: tuple[float, ...]) -> list[tuple[float, ...]]:
    """Distinct orders of a multiset, in a fixed order."""
    if not angles:
        return [()]
    return [
        (first, *rest)
        for first in sorted(set(angles), reverse=True)
        for rest in _orders(tuple(_without(list(angles), first)))
    ]


def _without(items: list[float], item: float) -> list[float]:
    items.remove(item)
    return items


@dataclass(frozen=True, eq=False)
class Sides:
    """On which side of some vectors the directions of a link lie, a bit a vector: (V, 3) vectors, (m,) bits."""

    vectors: FloatArray
    behind: NDArray[np.uint64]

    @classmethod
    def of(cls, directions: FloatArray, whole: FloatArray) -> Sides:
        """For a link that leads a whole way (3,): level and sloping vectors all round, and those beside the way."""
        turn = np.arange(16) * (math.pi / 8)
        level = np.stack([np.cos(turn), np.sin(turn), np.zeros(16)], axis=1)
        up = np.array([0.0, 0.0, 1.0])
        side = np.cross(up, whole)
        size = float(np.linalg.norm(side))
        slope = -1.0 if directions[:, 2].sum() > 0 else 1.0  # most directions rise, or most fall
        steep = slope * math.tan(3 * math.pi / 8)
        beside = [(side / size * sign)[None] for sign in (1.0, -1.0) if size > 1e-9]
        w = np.concatenate([level, level + slope * up, level + steep * up, up[None], -up[None], *beside])
        return cls(w, _bits(directions @ w.T <= 1e-12))

    def leads(self, path: NDArray[np.intp], rest: FloatArray) -> NDArray[np.bool_]:
        """Whether more of each leg may make up what is left to the end: (N, k + 1) sequences, (N, 3) -> (N,).

        It may not where some vector has all directions of the sequence on one side, and what is left on the other (the
        lemma of Farkas); as only some vectors are tried, a few sequences pass that lead nowhere.
        """
        out: NDArray[np.bool_] = (
            np.bitwise_and.reduce(self.behind[path], axis=1) & _bits(rest @ self.vectors.T > 1e-9) == 0
        )
        return out


def _bits(truths: NDArray[np.bool_]) -> NDArray[np.uint64]:
    """Rows of up to 64 truths as numbers."""
    bits: NDArray[np.uint64] = truths @ (np.uint64(1) << np.arange(truths.shape[1], dtype=np.uint64))
    return bits


def tilted(nominal: FloatArray, rise: float) -> FloatArray:
    """A level direction raised by `rise` (tangent, negative falls); any other as it is."""
    if abs(nominal[2]) > LEVEL:
        return nominal
    return np.array([nominal[0], nominal[1], rise]) / math.hypot(1.0, rise)


def compass(azimuth_rad: float) -> FloatArray:
    """Level, plumb and diagonal directions in steps of 22 1/2 degrees about a building's azimuth, (m, 3)."""
    out: list[tuple[float, float, float]] = [(0.0, 0.0, 1.0), (0.0, 0.0, -1.0)]
    for elevation in (0.0, 22.5, 45.0, 67.5, -22.5, -45.0, -67.5):
        e = math.radians(elevation)
        for k in range(16):
            a = azimuth_rad + math.radians(22.5 * k)
            out.append((_clean(math.cos(e) * math.cos(a)), _clean(math.cos(e) * math.sin(a)), _clean(math.sin(e))))
    return np.array(out)


def rolled(axis: FloatArray, toward: FloatArray) -> FloatArray:
    """Directions between an axis and a target rolled about it: the exact rolling offset, (n, 3), maybe none."""
    across = toward - (toward @ axis) * axis
    size = float(np.linalg.norm(across))
    if size < 1e-9:
        return np.zeros((0, 3))
    v = across / size
    steps = [math.radians(s) for s in _STEPS_DEG[1:]]
    return np.array([math.cos(t) * axis + sign * math.sin(t) * v for t, sign in product(steps, (1.0, -1.0))])


def directions(
    nominal: FloatArray,
    extra: FloatArray,
    *,
    ends: Sequence[tuple[FloatArray, FloatArray]] = (),
    pitch: float,
    falls_to: str,
    angles_deg: Sequence[float],
    give_deg: float,
) -> Directions:
    """The directions that the pitch allows, and their turns.

    Parameters
    ----------
    nominal : (m, 3) nominal directions; the level ones are tilted
    extra : (n, 3) rolled offsets; the level ones are tilted
    ends : nominal and true forms of the start, then of what is gone through; the start may be level, as a collar is
    pitch : rise over run that every run keeps
    falls_to : "appliance" (every run rises along the flow) or "terminal" (runs fall once they have stopped rising)
    angles_deg : nominal angles of the fittings
    give_deg : joint's give
    """
    whole = tuple((n.tobytes(), t.tobytes()) for n, t in ends)
    return _made(nominal.tobytes(), extra.tobytes(), whole, pitch, falls_to, tuple(angles_deg), give_deg)


@lru_cache(maxsize=64)
def _made(
    compass_: bytes,
    extra: bytes,
    ends_: tuple[tuple[bytes, bytes], ...],
    pitch: float,
    falls_to: str,
    angles_deg: tuple[float, ...],
    give_deg: float,
) -> Directions:
    """Made once for equal input: kits of different sizes share directions and the sequences found in them."""
    nominal, more = (np.frombuffer(raw).reshape(-1, 3) for raw in (compass_, extra))
    ends = [(np.frombuffer(n), np.frombuffer(t)) for n, t in ends_]
    rise = pitch if falls_to == "appliance" else -pitch
    forms = [*ends, *((n, tilted(n, rise)) for n in (*nominal, *more))]
    kept: dict[tuple[float, ...], tuple[FloatArray, FloatArray]] = {}
    for i, form in enumerate(forms):
        if _drains(form[1], pitch, falls_to) or (i == 0 and ends):
            kept.setdefault(tuple((np.round(form[1], 8) + 0.0).tolist()), form)
    nom = np.array([k[0] for k in kept.values()]).reshape(-1, 3)
    true = np.array([k[1] for k in kept.values()]).reshape(-1, 3)
    turn = _turns(nom, true, angles_deg, give_deg, falls_to)
    if ends and not _drains(true[0], pitch, falls_to):
        turn[:, 0] = 0.0  # only the collar makes a level run: pitch starts at the first joint
    return Directions(nom, true, turn)


def _drains(true: FloatArray, pitch: float, falls_to: str) -> bool:
    run = math.hypot(float(true[0]), float(true[1]))
    if falls_to == "appliance":
        return bool(true[2] >= pitch * run - 1e-12) and bool(true[2] > 0 or pitch == 0)
    if true[2] > 0:
        return bool(true[2] >= run - 1e-9)  # what rises before the first fall drains back: at 45 degrees or steeper
    return bool(-true[2] >= pitch * run - 1e-12)


def _turns(
    nom: FloatArray, true: FloatArray, angles_deg: Sequence[float], give_deg: float, falls_to: str
) -> FloatArray:
    nominal = np.arccos(np.clip(nom @ nom.T, -1.0, 1.0))
    actual = np.arccos(np.clip(true @ true.T, -1.0, 1.0))
    turn = np.zeros_like(nominal)
    for angle_deg in angles_deg:
        angle = math.radians(angle_deg)
        meant = (np.abs(nominal - angle) < _SAME) & (np.abs(actual - angle) <= math.radians(give_deg) + _SAME)
        turn[(turn == 0.0) & (meant | (np.abs(actual - angle) < _SAME))] = angle_deg
    if falls_to == "terminal":
        rising = true[:, 2] > 0
        turn[~rising[:, None] & rising[None, :]] = 0.0  # a rise after a fall is a low point that holds water
    return turn


def _clean(x: float) -> float:
    return 0.0 if abs(x) < 1e-15 else x
