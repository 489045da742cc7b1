"""Chains of holes and cuts from the collar to the open air, the links they fall into, and the directions of a link."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ventroute.layout.building import Building, Passage
from ventroute.solve.directions import Directions, directions, rolled
from ventroute.solve.problem import Crossing, Problem
from ventroute.solve.reach import Span

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

MOST_CHAINS = 2000  # a house with more ways through its holes is planned by the shortest of them, and nothing is proved
_SAME_M = 1e-6
ROOF_SINE = math.sin(math.radians(10.0))  # an outside face that looks up more than this is a roof


@dataclass(eq=False)
class Link:
    """A part of a chain between two fixed places: collar or hole, and hole or terminal; cuts lie inside it.

    ``start`` is None at the collar, ``end`` None at the terminal.
    """

    start: Crossing | None
    cuts: tuple[Crossing, ...]
    end: Crossing | None
    spaces: tuple[int, ...]  # one more than the cuts
    start_m: FloatArray
    start_nominal: FloatArray
    start_true: FloatArray

    @cached_property
    def key(self) -> tuple[str, ...]:
        """What tells this link from another of the same problem: one cut may have several flat parts of one name."""
        ends = [self.start.mark if self.start else "", *(cut.mark for cut in self.cuts)]
        return (*ends, self.end.mark if self.end else "*")

    @cached_property
    def straight_m(self) -> float:
        """No way is shorter than the straight line to the end, or to the box that the end lies behind."""
        if self.end is not None:
            assert self.end.centre_m is not None
            return _size(self.end.centre_m - self.start_m)
        if not self.cuts or self.cuts[0].passage.area is None:
            return 0.0
        low, high = self.cuts[0].passage.area
        return _size(np.clip(self.start_m, low, high) - self.start_m)

    @cached_property
    def turns_deg(self) -> tuple[float, ...]:
        """Angles between the ways in which each space is entered and left."""
        through = [*self.cuts, *([self.end] if self.end else [])]
        ways = [self.start_true, *(crossing.true for crossing in through)]
        cosines = [max(-1.0, min(1.0, float(a @ b))) for a, b in pairwise(ways)]
        return tuple(math.degrees(math.acos(c)) for c in cosines)

    def bends(self, give_deg: float) -> int:
        """No fewer bends lead through: one where a way in and a way out differ, two to come back beside the first."""
        turned = sum(turn > give_deg for turn in self.turns_deg)
        if turned or self.end is None or self.cuts:
            return turned
        assert self.end.centre_m is not None
        way = self.end.centre_m - self.start_m
        aside = _size(way - (way @ self.start_true) * self.start_true)
        return 2 if aside > _SAME_M + _size(way) * math.sin(math.radians(2 * give_deg)) else 0

    @property
    def last(self) -> Crossing | None:
        """The crossing that leads into the last space, where there is one."""
        return self.cuts[-1] if self.cuts else self.start

    def span(self, problem: Problem, space: int) -> Span | None:
        """From where the link enters one of its spaces to where it leaves it; None where it ends in that space."""
        entered = self.cuts[space - 1] if space else None
        left = self.cuts[space] if space < len(self.cuts) else self.end
        if left is None:
            return None
        low = high = self.start_m
        if entered is not None:
            low, high = entered.mouth_box(entered.passage.mouth_b)
        if left.centre_m is not None:
            to_low = to_high = left.centre_m
        else:
            to_low, to_high = left.mouth_box(left.passage.mouth_a)
        start = self.start_true if entered is None else entered.true
        pitch = math.atan(problem.appliance.pitch)
        lowest = pitch if problem.appliance.falls_to == "appliance" else -math.pi / 2
        if space == 0:
            lowest = min(lowest, math.asin(max(-1.0, min(1.0, float(start[2])))))  # a level collar stays level
        give = min(math.radians(problem.give_deg), 2 * pitch)
        return Span(to_low - high, to_high - low, start, left.true, lowest, give)

    def outdoors_m(self, problem: Problem) -> float:
        """Least run from the last barrier's outside, or the last hole's middle, to the terminal's end."""
        last = self.last
        if last is None:
            return 0.0
        along = float(last.passage.mouth_b[0] @ last.true)
        rim = problem.radius_m * math.sqrt(max(0.0, 1.0 - along * along))
        return problem.want.reach_m + rim + (0.0 if self.cuts else last.half_b_m * along)

    def leaves_collar(self, space: int) -> bool:
        """Whether the collar stands before the first bend in a space."""
        return self.start is None and space == 0


def _size(vector: FloatArray) -> float:
    """Length of a vector (3,)."""
    return math.hypot(*vector.tolist())


def terminal_kind(crossing: Crossing) -> str:
    """ "roof" or "wall", by the way the outside face looks."""
    return "roof" if crossing.passage.mouth_b[0][2] > ROOF_SINE else "wall"


def chains(problem: Problem, most: int = MOST_CHAINS) -> tuple[list[tuple[Crossing, ...]], list[str]]:
    """Every way from the appliance's space to the outdoors that enters no space twice, and why others fail.

    Shorter chains come first; the order is that of the site file. Of more than ``most`` the first are given.
    """
    building = problem.building
    home = building.space_at(np.asarray(problem.appliance.collar_m))
    outdoors = next(space.index for space in building.spaces if space.outdoors)
    refusals: dict[str, None] = {}
    found: list[tuple[Crossing, ...]] = []
    paths: deque[tuple[tuple[int, ...], tuple[Crossing, ...]]] = deque([((home.index,), ())] if home else [])
    leaving: dict[int, list[tuple[int, Passage]]] = {}
    known: dict[tuple[int, Passage], tuple[Passage, Crossing | str]] = {}
    while paths and len(found) < most:
        spaces, crossings = paths.popleft()
        here = spaces[-1]
        if here == outdoors:
            found.append(crossings)
            continue
        if here not in leaving:
            leaving[here] = _leaving(building, here)
        for to, way in leaving[here]:
            if to in spaces:
                continue
            if (to, way) not in known:
                passage = way if way.spaces[1] == to else way.reversed()
                known[to, way] = passage, problem.crossing(passage)
            passage, crossed = known[to, way]
            level = None if crossings else problem.level_crossing(passage)
            for crossing in (crossed, level):
                if isinstance(crossing, str):
                    refusals[crossing] = None
                elif crossing is not None:
                    paths.append(((*spaces, to), (*crossings, crossing)))
    return found, list(refusals)


def _leaving(building: Building, space: int) -> list[tuple[int, Passage]]:
    """Where passages lead from a space, and they themselves."""
    return [(p.spaces[1] if p.spaces[0] == space else p.spaces[0], p) for p in building.passages if space in p.spaces]


def linked(problem: Problem) -> tuple[list[tuple[tuple[Crossing, ...], list[Link]]], list[str]]:
    """Every chain with its links, those of several chains being one and the same; and why others fail."""
    known: dict[tuple[str, ...], Link] = {}
    found, refusals = chains(problem)
    return [(c, [known.setdefault(link.key, link) for link in links(problem, c)]) for c in found], refusals


def links(problem: Problem, chain: tuple[Crossing, ...]) -> list[Link]:
    """A chain cut at its holes, where the pipe's place and direction are fixed."""
    out: list[Link] = []
    start: Crossing | None = None
    at, true = np.asarray(problem.appliance.collar_m), np.asarray(problem.appliance.faces)  # a level collar stays level
    nominal = problem.forms(true)[0]
    cuts: list[Crossing] = []
    spaces: list[int] = [chain[0].passage.spaces[0]]
    for crossing in chain:
        if crossing.is_cut:
            cuts.append(crossing)
            spaces.append(crossing.passage.spaces[1])
            continue
        out.append(Link(start, tuple(cuts), crossing, tuple(spaces), at, nominal, true))
        assert crossing.centre_m is not None
        start, at, nominal, true = crossing, crossing.centre_m, crossing.nominal, crossing.true
        cuts, spaces = [], [crossing.passage.spaces[1]]
    out.append(Link(start, tuple(cuts), None, tuple(spaces), at, nominal, true))
    return out


def direction_set(problem: Problem, link: Link) -> Directions:
    """The building's compass, the ends' own directions, and rolled offsets aimed from one end to the other."""
    through = [*link.cuts, *([link.end] if link.end else [])]
    ends = [(link.start_nominal, link.start_true), *((c.nominal, c.true) for c in through)]
    target = _target(link)
    extra = [np.zeros((0, 3))]
    if target is not None:
        axes = [link.start_true, *([link.end.true] if link.end else []), np.array([0.0, 0.0, 1.0])]
        once = {axis.tobytes(): axis for axis in axes}
        extra += [rolled(axis, target - link.start_m) for axis in once.values()]
    return directions(
        problem.compass,
        np.concatenate(extra),
        ends=ends,
        pitch=problem.appliance.pitch,
        falls_to=problem.appliance.falls_to,
        angles_deg=sorted(problem.elbows, reverse=True),
        give_deg=problem.give_deg,
    )


def _target(link: Link) -> FloatArray | None:
    if link.end is not None:
        return link.end.centre_m
    return link.cuts[0].passage.point if link.cuts else None
