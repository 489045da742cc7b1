"""The directions a run may take, and which fitting turns one into another.

A direction has a nominal form (what the fitting's angle is made for: level, plumb, a diagonal) and a true form (the
nominal one tilted by the pitch where it is level). A turn is allowed where the nominal forms differ by a fitting's
angle and the true ones by no more than the joint's give from it: the give makes pitch and shortens nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

LEVEL = 1e-6  # |z| of a level direction
_SAME = 1e-6  # two directions, or two angles [rad], are one
_NOWHERE = np.uint64(1 << 63)  # stands for no vector: the end is not reached
_SOMEWHERE = ~_NOWHERE
_NONE_AHEAD = ~np.uint64(0)
_ROUND = np.array([[math.cos(k * math.pi / 8), math.sin(k * math.pi / 8), 0.0] for k in range(16)])  # level, all round
_FEW = 1000  # ways through any directions are looked at one by one
_BESIDE = 3 * 16 + 10  # number of the first of three vectors: two that lie beside a way, and the way


def _around(slope: float) -> FloatArray:
    """Vectors (64, 3) level and sloping all round, up, down, and to the corners of a cube; no vector for the rest."""
    up, out = np.array([0.0, 0.0, slope]), np.zeros((64, 3))
    out[:48] = np.concatenate([_ROUND, _ROUND + up, _ROUND + math.tan(3 * math.pi / 8) * up])
    out[48:50], out[50:_BESIDE] = [up, -up], list(product((-1.0, 1.0), repeat=3))
    return out


_AROUND = _around(-1.0), _around(1.0)  # where most directions rise, and where most fall
_ASIDE = np.array([(math.cos(t), s * math.sin(t)) for t in np.radians((22.5, 45.0, 67.5, 90.0)) for s in (1.0, -1.0)])


@dataclass(eq=False)
class Directions:
    """Directions of one stage.

    ``nominal`` and ``true`` are (m, 3) unit vectors; ``turn`` is (m, m), the nominal angle of the fitting that turns
    row into column [deg], 0 where none does.
    """

    nominal: FloatArray
    true: FloatArray
    turn: FloatArray
    _places: dict[bytes, int] = field(default_factory=dict, repr=False)
    _sequences: dict[tuple[object, ...], NDArray[np.intp]] = field(default_factory=dict, repr=False)
    _onward: dict[tuple[object, ...], NDArray[np.uint64]] = field(default_factory=dict, repr=False)
    _lists: dict[float, tuple[NDArray[np.intp], ...]] = field(default_factory=dict, repr=False)

    def index(self, nominal: Sequence[float] | FloatArray) -> int:
        """Number of a direction by its nominal form, -1 where it is not among them."""
        gap = np.linalg.norm(self.nominal - np.asarray(nominal, dtype=float), axis=1)
        best = int(np.argmin(gap))
        return best if gap[best] < 1e-7 else -1

    def at(self, true: FloatArray) -> int:
        """Number of a direction by its true form, -1 where it is not among them."""
        key = true.tobytes()
        if key not in self._places:
            gap = np.linalg.norm(self.true - true, axis=1)
            best = int(np.argmin(gap))
            self._places[key] = best if gap[best] < 1e-7 else -1
        return self._places[key]

    def wider(self, more: FloatArray, angles_deg: Sequence[float], give_deg: float, falls_to: str) -> Directions:
        """These and further directions (n, 3) that drain, their nominal forms being true; what else as `directions`."""
        if not len(more):
            return self
        nominal, true = np.concatenate([self.nominal, more]), np.concatenate([self.true, more])
        turn = _turns(nominal, true, angles_deg, give_deg, falls_to)
        turn[:, : len(self.true)][:, ~self.turn.any(axis=0)] = 0.0  # a level collar's is not come back to
        return Directions(nominal, true, turn)

    def sequences(
        self, start: int, end: int, angles: tuple[float, ...], sides: Sides | None = None
    ) -> NDArray[np.intp]:
        """All (n, k + 1) direction sequences from start to end whose k turns are `angles` in some order.

        With `sides`, those are left out that keep the end of the whole way behind them however long their legs are.
        """
        key = (start, end, tuple(sorted(angles, reverse=True)), sides.whole if sides else b"")
        if key not in self._sequences:
            if len(self.true) ** (len(angles) - 1) > _FEW:
                found = self._expand(start, end, key[2], sides or self._no_sides)
            elif sides is None:
                found = self._tried(start, end, key[2])
            else:
                found = self.sequences(start, end, angles)  # the same for every way
                found = found[sides.behind_all(found) & sides.toward == 0]
            self._sequences[key] = found
        return self._sequences[key]

    def _tried(self, start: int, end: int, angles: tuple[float, ...]) -> NDArray[np.intp]:
        """All orders of the turns, from all ways through any directions."""
        steps = [len(self.true) ** i for i in range(max(len(angles), 1))]  # how many rows keep a direction
        path = np.empty((steps[-1], len(angles) + 1), dtype=np.intp)
        path[:, 0], path[:, -1] = start, end
        for i, step in enumerate(steps[-2::-1], start=1):
            path[:, i] = np.arange(len(path)) // step % len(self.true)
        turns = self.turn[path[:, :-1], path[:, 1:]]
        right = (np.sort(turns, axis=1) == angles[::-1]).all(axis=1).nonzero()[0]
        found: NDArray[np.intp] = path.take(right, 0)
        if not angles:
            return found[: int(start == end)]
        order: NDArray[np.intp] = np.lexsort(-turns.take(right, 0).T[::-1])
        return found.take(order, 0)

    @cached_property
    def _no_sides(self) -> Sides:
        """No vectors."""
        bits = np.zeros(len(self.true), dtype=np.uint64)
        return Sides(np.zeros((0, 3)), np.zeros(0), bits, np.uint64(0), b"")

    def _expand(self, start: int, end: int, angles: tuple[float, ...], sides: Sides) -> NDArray[np.intp]:
        """All orders of the turns, a turn at a time; only directions from which the end can be reached are entered."""
        kinds, radix, parts, there = _parts_of(angles)
        onward = np.array([self._behind(end, part, sides) for part in parts])
        left, last = np.array([len(parts) - 1], dtype=np.intp), np.array([start], dtype=np.intp)
        paths, behind = last[:, None], sides.behind | _NOWHERE
        seen = (sides.toward | _NOWHERE) & behind.take(last)
        if onward[-1, start] & seen[0]:
            return np.zeros((0, len(angles) + 1), dtype=np.intp)
        lists = [self._followers(angle) for angle in kinds]
        follower = np.concatenate([row[1] for row in lists])
        first = np.array([row[0] for row in lists])
        count = np.diff(first, axis=1)  # of followers, by kind and direction
        first[1:] += np.cumsum(first[:-1, -1])[:, None]
        first, order, wide = first[:, :-1].ravel(), np.zeros(1, dtype=np.intp), len(behind)
        for _ in angles:
            row, kind = there.take(left, 0).nonzero()
            by = kind * wide + last.take(row)
            many = count.take(by)
            at = np.arange(len(row)).repeat(many)
            nxt = follower.take(np.arange(len(at)) + (first.take(by) - many.cumsum() + many).take(at))
            row, kind = row.take(at), kind.take(at)
            ahead = left.take(row) - radix.take(kind)  # number of what is left after the turn
            kept = (seen.take(row) & onward.take(ahead * wide + nxt) == 0).nonzero()[0]
            row, kind, last, left = row.take(kept), kind.take(kept), nxt.take(kept), ahead.take(kept)
            paths = np.concatenate([paths.take(row, 0), last[:, None]], axis=1)
            seen = seen.take(row) & behind.take(last)
            order = order.take(row) * len(kinds) + kind
        return paths[order.argsort(kind="stable")]

    def _behind(self, end: int, angles: tuple[float, ...], sides: Sides) -> NDArray[np.uint64]:
        """For each direction the vectors that have it behind, and all that may follow by these turns up to the end.

        Where the end is not reached it has all bits.
        """
        key = (end, angles, sides.whole)
        if key not in self._onward:
            out = np.full(len(self.true), _NONE_AHEAD)
            for angle in dict.fromkeys(angles):
                _, follower, rows, starts = self._followers(angle)
                if len(rows):
                    more = self._behind(end, _without(angles, angle), sides)[follower]
                    out[rows] &= np.bitwise_and.reduceat(more, starts)
            if not angles:
                out[end] = sides.behind[end]
            else:
                out = np.where(out == _NONE_AHEAD, out, out & sides.behind)
            self._onward[key] = out
        return self._onward[key]

    def _followers(self, angle: float) -> tuple[NDArray[np.intp], ...]:
        """What a fitting turns each direction into.

        Returns
        -------
        (m + 1,) where each direction's followers begin, the followers one after the other, the directions that have
        any, and where those of each begin
        """
        if angle not in self._lists:
            rows, follower = np.nonzero(self.turn == angle)
            first = np.searchsorted(rows, np.arange(len(self.true) + 1))
            having = np.flatnonzero(np.diff(first))
            self._lists[angle] = first, follower, having, first[having]
        return self._lists[angle]


@lru_cache(maxsize=256)
def _parts_of(
    angles: tuple[float, ...],
) -> tuple[list[float], NDArray[np.intp], list[tuple[float, ...]], NDArray[np.bool_]]:
    """The kinds of some angles, greatest first; what one of each adds to the number of a part of them; all parts by
    their numbers, and which kinds are in each.
    """
    kinds = sorted(set(angles), reverse=True)
    counts = [angles.count(angle) for angle in kinds]
    radix = np.cumprod([1, *(n + 1 for n in counts)])[:-1]
    rows = [row[::-1] for row in product(*(range(n + 1) for n in counts[::-1]))]
    parts = [tuple(a for a, n in zip(kinds, row, strict=True) for _ in range(n)) for row in rows]
    return kinds, radix, parts, np.array(rows, dtype=np.bool_).reshape(len(rows), len(kinds))


def _without(items: tuple[float, ...], item: float) -> tuple[float, ...]:
    at = items.index(item)
    return items[:at] + items[at + 1 :]


@dataclass(eq=False)
class Sides:
    """On which side of some vectors the directions of a link lie, a bit a vector: (64, 3) vectors, (m,) bits."""

    vectors: FloatArray
    ahead: FloatArray  # of the end of the whole way along the vectors (64,), for certain
    behind: NDArray[np.uint64]
    toward: np.uint64  # the vectors that have the end of the whole way well before them
    whole: bytes  # the whole way

    @classmethod
    def of(cls, directions: FloatArray, whole: FloatArray) -> Sides:
        """For a link that leads a whole way (3,): vectors all round, those beside the way, and the way."""
        w = _AROUND[0 if directions[:, 2].sum() > 0 else 1].copy()  # most directions rise, or most fall
        size = math.hypot(whole[0], whole[1])
        if size > 1e-9:
            side = np.array([-whole[1], whole[0], 0.0]) / size
            w[_BESIDE], w[_BESIDE + 1], w[_BESIDE + 2] = side, -side, whole / math.hypot(size, whole[2])
        ahead = w @ whole - 2e-9
        behind = _bits(directions @ w.T <= 1e-12)
        behind &= _SOMEWHERE
        return cls(w, ahead, behind, _bits(ahead > 0.0)[0], whole.tobytes())

    def least_m(self, directions: FloatArray) -> float:
        """What legs in some directions (m, 3) measure at least that make up the whole way."""
        most = (directions @ self.vectors.T).max(axis=0)
        return float((self.ahead / np.maximum(most, 1e-12)).max())  # beyond all bounds where none lead there

    def leads(self, path: NDArray[np.intp], rest: FloatArray) -> NDArray[np.bool_]:
        """Whether more of each leg may make up what is left to the end: (N, k + 1) sequences, (N, 3) -> (N,).

        It may not where some vector has all directions of the sequence on one side, and what is left on the other (the
        lemma of Farkas); as only some vectors are tried, a few sequences pass that lead nowhere.
        """
        out: NDArray[np.bool_] = self.behind_all(path) & _bits(rest @ self.vectors.T > 1e-9) == 0
        return out

    def behind_all(self, path: NDArray[np.intp]) -> NDArray[np.uint64]:
        """The vectors that have all directions of sequences (N, k + 1) behind, (N,) bits."""
        out: NDArray[np.uint64] = np.bitwise_and.reduce(self.behind.take(path.T), axis=0)
        return out


def _bits(truths: NDArray[np.bool_]) -> NDArray[np.uint64]:
    """Rows of 64 truths as numbers, all of them one after the other."""
    return np.packbits(truths, bitorder="little").view("<u8")


def tilted(nominal: FloatArray, rise: float) -> FloatArray:
    """A level direction raised by `rise` (tangent, negative falls); any other as it is."""
    if abs(nominal[2]) > LEVEL:
        return nominal
    return np.array([nominal[0], nominal[1], rise]) / math.hypot(1.0, rise)


@lru_cache(maxsize=16)
def compass(azimuth_rad: float) -> FloatArray:
    """Level, plumb and diagonal directions in steps of 22 1/2 degrees about a building's azimuth, (m, 3)."""
    out: list[tuple[float, float, float]] = [(0.0, 0.0, 1.0), (0.0, 0.0, -1.0)]
    for elevation in (0.0, 22.5, 45.0, 67.5, -22.5, -45.0, -67.5):
        e = math.radians(elevation)
        for k in range(16):
            a = azimuth_rad + math.radians(22.5 * k)
            out.append((_clean(math.cos(e) * math.cos(a)), _clean(math.cos(e) * math.sin(a)), _clean(math.sin(e))))
    found = np.array(out)
    found.flags.writeable = False  # all houses of that azimuth have the same
    return found


def rolled(axis: FloatArray, toward: FloatArray) -> FloatArray:
    """Directions between an axis and a target rolled about it: the exact rolling offset, (n, 3), maybe none."""
    across = toward - (toward @ axis) * axis
    size = math.hypot(*across.tolist())
    if size < 1e-9:
        return np.zeros((0, 3))
    out: FloatArray = _ASIDE @ np.array([axis, across / size])
    return out


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
    whole = np.concatenate([nominal, more])
    level = np.abs(whole[:, 2]) <= LEVEL
    raised = np.where(
        level[:, None], np.append(whole[:, :2], np.full((len(whole), 1), rise), axis=1) / math.hypot(1.0, rise), whole
    )
    through = np.array(ends).reshape(-1, 2, 3)
    nom, true = np.concatenate([through[:, 0], whole]), np.concatenate([through[:, 1], raised])
    flows = drains(true, pitch, falls_to)
    flows[: min(1, len(ends))] = True
    flowing = flows.nonzero()[0]
    rounded = (np.round(true.take(flowing, 0), 8) + 0.0).view("V24")[:, 0].tolist()  # rows as bytes
    first = dict(zip(rounded[::-1], flowing[::-1].tolist(), strict=True))  # of each direction
    kept = sorted(first.values())
    nom, true = nom[kept], true[kept]
    turn = _turns(nom, true, angles_deg, give_deg, falls_to)
    if ends and not drains(true[:1], pitch, falls_to)[0]:
        turn[:, 0] = 0.0  # only the collar makes a level run: pitch starts at the first joint
    return Directions(nom, true, turn)


def drains(true: FloatArray, pitch: float, falls_to: str) -> NDArray[np.bool_]:
    """Which of (m, 3) directions let water out."""
    run, up = np.hypot(true[:, 0], true[:, 1]), true[:, 2]
    if falls_to == "appliance":
        return (up >= pitch * run - 1e-12) & ((up > 0) | (pitch == 0))
    rising = up >= run - 1e-9  # what rises before the first fall drains back: at 45 degrees or steeper
    return np.where(up > 0, rising, -up >= pitch * run - 1e-12)


def _turns(
    nom: FloatArray, true: FloatArray, angles_deg: Sequence[float], give_deg: float, falls_to: str
) -> FloatArray:
    nominal, actual = nom @ nom.T, true @ true.T  # cosines: cheaper to compare than angles
    turn = np.zeros_like(nominal)
    for angle_deg in angles_deg:
        angle = math.radians(angle_deg)
        meant = _turns_by(nominal, angle, _SAME) & _turns_by(actual, angle, math.radians(give_deg) + _SAME)
        turn[(turn == 0.0) & (meant | _turns_by(actual, angle, _SAME))] = angle_deg
    if falls_to == "terminal":
        rising = true[:, 2] > 0
        turn[~rising[:, None] & rising[None, :]] = 0.0  # a rise after a fall is a low point that holds water
    return turn


def _turns_by(cosines: FloatArray, angle: float, within: float) -> NDArray[np.bool_]:
    """Where directions are an angle apart, give or take so much [rad]."""
    out: NDArray[np.bool_] = (cosines > math.cos(angle + within)) & (cosines < math.cos(angle - within))
    return out


def _clean(x: float) -> float:
    return 0.0 if abs(x) < 1e-15 else x
