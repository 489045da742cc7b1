"""Rolls of offsets that a link is worth searching with, found before obstacles are looked at.

An offset aimed from end to end of a link (`directions.rolled`) is right where it makes up the whole way. Beside other
bends, or where the end may lie anywhere in an area, another roll is better. So in each space sequences of the
directions that are there, with at most two turns, are tried with an offset about each of their legs, at the roll that
is best for them in an empty room (`offsets`). The directions of the cheapest are added: few, and far enough apart to
differ, as between obstacles the best roll is yet another, near one of these or none.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.directions import Directions
from ventroute.solve.links import Link
from ventroute.solve.offsets import Offsets
from ventroute.solve.problem import Crossing, Elbow, Problem, hub_clear_m
from ventroute.solve.reach import Span

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

MOST_ROLLS = 8  # added for each space
MOST_SEQUENCES = 128  # tried for each space: those that could be the cheapest
WORTH_M = 1e-3  # saved against the rolls that are there, or it is not added
APART_RAD = math.radians(2.0)  # a roll so near a cheaper one is not added
_TIE_M = 1e-6  # what is as cheap as the last is kept too, so that a mirrored house is not another
_SAME = 1e-7


def with_rolls(problem: Problem, link: Link, known: Directions) -> Directions:
    """The known directions of a link and those of rolled offsets that are worth searching beside them."""
    more = worthwhile(problem, link, known)
    return known.wider(more, sorted(problem.elbows, reverse=True), problem.give_deg, problem.appliance.falls_to)


def worthwhile(problem: Problem, link: Link, known: Directions) -> FloatArray:
    """Directions of rolled offsets to search beside the known ones, (n, 3), maybe none."""
    found = [np.zeros((0, 3))]
    for space in range(len(link.spaces)):
        span = link.span(problem, space)
        if span is not None:
            sequences = list(_sequences(problem, link, known, space, span))
            if sequences:
                found.append(_Tried.of(problem, known, span, sequences).cheapest(known))
    more = np.concatenate(found)
    if not len(more):
        return more
    return more[np.sort(np.unique(np.round(more, 7) + 0.0, axis=0, return_index=True)[1])]


@dataclass(frozen=True, eq=False)
class _Sequences:
    """S sequences with an offset in each.

    ``dirs`` (S, k + 1, 3) and ``least`` (S, k + 1) are the directions and least legs [m] beside the offset; its axis is
    the known direction ``axis`` (S,), its angle ``turn`` (S,) [deg], its least travel ``travel`` (S,) [m]; ``price``
    (S,) is the equivalent of all fittings [m].
    """

    dirs: FloatArray
    least: FloatArray
    axis: IntArray
    turn: FloatArray
    travel: FloatArray
    price: FloatArray


def _sequences(problem: Problem, link: Link, known: Directions, space: int, span: Span) -> Iterator[_Sequences]:
    """Sequences through a space with an offset about each leg, by the number of other bends."""
    start, end, angles = known.at(span.start), known.at(span.end), np.array(sorted(problem.elbows))
    counted = [min(problem.equivalent_m(e.hub) for e in problem.patterns[a]) for a in angles.tolist()]
    equivalent = np.array(counted)
    fixed = bool((span.high - span.low <= _SAME).all())
    if min(start, end) < 0 or (fixed and start == end):
        return  # between two places on parallel lines an offset is all there is: aimed from end to end it is best
    for bends in (1, 2) if fixed else (0, 1):
        path = _paths(known, start, end, bends)
        grid = np.meshgrid(np.arange(bends + 1), np.arange(len(path)), np.arange(len(angles)), indexing="ij")
        leg, nth, number = (g.ravel() for g in grid)
        back = known.turn[:, path[nth, leg]].any(axis=0)  # a level collar's direction is left and not come back to
        leg, nth, number = leg[back], nth[back], number[back]
        if not len(leg):
            continue
        turns = np.searchsorted(angles, known.turn[path[:, :-1], path[:, 1:]])
        c, at = np.arange(bends + 2), leg[:, None]
        both = np.concatenate([turns[nth], number[:, None]], axis=1)
        order = np.take_along_axis(both, np.where(c < at, c, np.where(c <= at + 1, bends, c - 2)), axis=1)
        legs = _legs_m(problem, link, space, order, angles)
        least = np.where(c[:-1] <= at, legs[:, :-2], legs[:, 2:])
        i = np.arange(len(leg))
        least[i, leg] += legs[i, leg + 2]
        price = equivalent[order].sum(axis=1)
        yield _Sequences(known.true[path[nth]], least, path[nth, leg], angles[number], legs[i, leg + 1], price)


def _paths(known: Directions, start: int, end: int, bends: int) -> IntArray:
    """Sequences of known directions from one to another with at most two bends, (n, bends + 1)."""
    if bends == 2:
        between = np.flatnonzero((known.turn[start] > 0.0) & (known.turn[:, end] > 0.0))
        return np.stack([np.full_like(between, start), between, np.full_like(between, end)], axis=1)
    meets = start == end if bends == 0 else known.turn[start, end] > 0.0
    return np.array([[start, end][: bends + 1]] if meets else [], dtype=np.intp).reshape(-1, bends + 1)


@dataclass(frozen=True, eq=False)
class _Tried:
    """Sequences with their offsets from each of K corners of the area where the way may end.

    ``offsets`` (S * K), sequence by sequence; ``price`` (S,) of the fittings and the least legs [m], ``axis`` (S,) and
    ``turn`` (S,) as in `_Sequences`.
    """

    offsets: Offsets
    price: FloatArray
    axis: IntArray
    turn: FloatArray

    @classmethod
    def of(cls, problem: Problem, known: Directions, span: Span, parts: list[_Sequences]) -> _Tried:
        """Those that could be the cheapest, by the straight line for what is left of the way."""
        most = max(part.dirs.shape[1] for part in parts)
        sizes = np.cumsum([0, *(len(p.price) for p in parts)]).tolist()
        dirs, least = np.zeros((sizes[-1], most, 3)), np.zeros((sizes[-1], most))
        for p, a, b in zip(parts, sizes, sizes[1:], strict=False):
            dirs[a:b, : p.dirs.shape[1]], least[a:b, : p.dirs.shape[1]] = p.dirs, p.least
        axis, turn, travel = (np.concatenate([getattr(p, name) for p in parts]) for name in ("axis", "turn", "travel"))
        price = np.concatenate([p.price for p in parts]) + least.sum(axis=1)
        at, sides, width = _ends(span)
        rest = at - np.einsum("sk,skj->sj", least, dirs)[:, None]
        bound = price + np.linalg.norm(rest, axis=2).min(axis=1)
        rows = _first(np.argsort(bound, kind="stable"), bound, MOST_SEQUENCES)
        dirs, rest, axis = dirs[rows], rest[rows], axis[rows]
        rising = known.true[axis, 2] > 0.0
        pitch, to_terminal = math.atan(problem.appliance.pitch), problem.appliance.falls_to == "terminal"
        slope = np.where(rising & to_terminal, math.pi / 4, pitch)  # what rises before a fall drains back if steep
        corners = len(at)
        offsets = Offsets(
            np.repeat(known.true[axis], corners, axis=0),
            np.repeat(np.radians(turn[rows]), corners),
            np.repeat(travel[rows], corners),
            rest.reshape(-1, 3),
            np.concatenate([np.repeat(dirs, corners, axis=0), np.tile(sides, (len(rows), 1, 1))], axis=1),
            np.repeat([1.0, 0.0], [most, len(width)]),
            np.concatenate([np.full(most, np.inf), width]),
            np.repeat(slope, corners),
            np.repeat(np.where(rising | (not to_terminal), 1.0, -1.0), corners),
        )
        return cls(offsets, price[rows], axis, turn[rows])

    def cheapest(self, known: Directions) -> FloatArray:
        """The directions of the cheapest that beat the known rolls, (n, 3)."""
        count = len(self.price)
        corners = len(self.offsets.least) // count
        roll, length = self.offsets.best()
        price = np.repeat(self.price, corners)[:, None] + length
        least = np.repeat(price.reshape(count, -1).min(axis=1), corners)[:, None]
        row, nth = np.nonzero((price <= least + _TIE_M / 10) & np.isfinite(price))
        which, d, price = (
            row // corners,
            self.offsets.toward(row, (roll[0][row, nth], roll[1][row, nth])),
            price[row, nth],
        )
        rows = _apart(d, price)
        rows = rows[self._known(which[rows], known) - price[rows] > WORTH_M]
        out: FloatArray = d[_first(rows, price, MOST_ROLLS)]
        return out

    def _known(self, which: IntArray, known: Directions) -> FloatArray:
        """The prices of some sequences (R,) with the offset in the best of the known directions, (R,)."""
        axis, turn = self.axis[which], self.turn[which, None]
        there = (known.turn[axis] == turn) & (turn == known.turn[:, axis].T)
        nth = np.argsort(~there, axis=1, kind="stable")[:, : int(there.sum(axis=1).max(initial=0))]
        corners = len(self.offsets.least) // len(self.price)
        rows = (which[:, None] * corners + np.arange(corners)).ravel()
        length = self.offsets.take(rows).at(np.repeat(known.true[nth], corners, axis=0))
        length = length.reshape(len(which), corners, nth.shape[1]).min(axis=1)
        length[~np.take_along_axis(there, nth, axis=1)] = np.inf
        out: FloatArray = self.price[which] + length.min(axis=1, initial=np.inf)
        return out


def _apart(d: FloatArray, price: FloatArray) -> IntArray:
    """Which directions (R, 3) are not near a cheaper one, twice as many as are added, cheapest first."""
    order = np.argsort(price, kind="stable")
    order = order[np.sort(np.unique(np.round(d[order], 7) + 0.0, axis=0, return_index=True)[1])]
    near = d[order] @ d[order].T > math.cos(APART_RAD)
    cheaper = price[order] < price[order][:, None] - _TIE_M
    kept = np.zeros(len(order), dtype=np.bool_)
    for i in range(len(order)):
        kept[i] = not (near[i] & cheaper[i] & kept).any()
    return _first(order[kept], price, 2 * MOST_ROLLS)


def _first(rows: IntArray, price: FloatArray, most: int) -> IntArray:
    """The first of some rows in the order of their prices, with those that tie with the last."""
    return rows if len(rows) <= most else rows[price[rows] <= price[rows[most - 1]] + _TIE_M]


def _ends(span: Span) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Corners of where the way may end (K, 3), the way back from its sides there (K, w, 3), and their widths (w,)."""
    wide = np.flatnonzero(span.high - span.low > _SAME)
    far = np.array(list(product((False, True), repeat=len(wide))), dtype=np.bool_).reshape(2 ** len(wide), -1)
    at = np.tile(span.low, (len(far), 1))
    at[:, wide] = np.where(far, span.high[wide], span.low[wide])
    return at, np.eye(3)[wide] * np.where(far, 1.0, -1.0)[:, :, None], (span.high - span.low)[wide]


def _legs_m(problem: Problem, link: Link, space: int, order: IntArray, angles: FloatArray) -> FloatArray:
    """What the legs of fittings (S, k) in a space measure at least, hubs clear of the barriers, (S, k + 1)."""
    steps = np.pad(order, ((0, 0), (1, 1)), constant_values=len(angles))
    between_m = problem.between_m(tuple(angles.tolist()), first=link.leaves_collar(space))
    legs = between_m[steps[:, :-1], steps[:, 1:]]
    entered = link.cuts[space - 1] if space else link.start
    left = link.cuts[space] if space < len(link.cuts) else link.end
    for crossing, nth, before in ((entered, 0, False), (left, -1, True)):
        if crossing is not None:
            clear = _clear_m(problem, crossing, [problem.elbows[a] for a in angles.tolist()], before)
            legs[:, nth] = np.maximum(legs[:, nth], clear[order[:, nth]])
    return legs


def _clear_m(problem: Problem, crossing: Crossing, elbows: Sequence[Elbow], before: bool) -> FloatArray:
    """Least distances from a hole's middle, or from a cut's mouth, to the corners of elbows before or after it."""
    reach, radius = np.array([(e.reach_m, e.hub.hub_od_m / 2) for e in elbows]).T
    if crossing.centre_m is None:
        mouth = crossing.passage.mouth_a if before else crossing.passage.mouth_b
        return hub_clear_m(mouth[0], crossing.true, reach, radius, problem.gap_m)
    clear = crossing.clear_of_a_m if before else crossing.clear_of_b_m
    return clear(reach, radius, problem.gap_m)
