"""Links whose strands are kept together: what each has of its own, and the same of all of them as arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.fittings import Fittings
from ventroute.solve.links import Link
from ventroute.solve.strands import End, Piece, Shape
from ventroute.solve.stretches import Stretches

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_FAR_M = 1e3  # offset of a face that is none


class Member:
    """A link with so many bends in each of its spaces."""

    def __init__(self, conditions: Conditions, link: Link, fittings: Fittings, counts: tuple[int, ...]) -> None:
        self.conditions, self.link = conditions, link
        self.shape = Shape(conditions.problem, link, counts)
        self.dirs = conditions.dirs(link)
        self.ends_m = self.shape.ends_m(fittings)

    @property
    def clear(self) -> bool:
        """Whether pipe at its fixed ends keeps inside the hulls of its spaces: with one bend as with any more."""
        known, key = self.conditions.clear, (self.link.key, self.shape.bends == 0)
        if key not in known:
            known[key] = not len(self.shape.end_rows.t)
        return known[key]

    @cached_property
    def stretches(self) -> tuple[Stretches, ...]:
        """Hubs and pipe in every space, and what is bored where there is framing."""
        shape, link, out = self.shape, self.link, []
        for space in range(len(link.spaces)):
            pool = self.conditions.pool(link, link.spaces[space])
            bends = [bend for bend, at in enumerate(shape.corner_space) if at == space]
            hubs = [(bend, leg, sign) for bend in bends for leg, sign in ((bend, -1.0), (bend + 1, 1.0))]
            out.append(Stretches.of(pool, hubs, [p for p in shape.pieces if p.space == space]))
        if self.conditions.building.site.framing and link.cuts:
            bored = []
            for crossing, leg in zip(link.cuts, shape.cut_leg, strict=True):
                mouths = crossing.passage.mouth_a, crossing.passage.mouth_b
                a, b = (End(leg, mouth, crossing.true) for mouth in mouths)
                bored.append(Piece(leg, 0, a, b, frozenset(), frozenset()))
            out.append(Stretches.of(self.conditions.pool(link, None), [], bored))
        return tuple(s for s in out if s.spared.size)


@dataclass(frozen=True, eq=False)
class Stacked:
    """L members: (L, 3) starts and fixed ends, None where they are open.

    ``bare_m`` (L,) are the least lengths without bends, ``ends_m`` (3, L, S) those beside the first and the last bend;
    ``hulls`` holds for each space the faces of its hull, (L, F, 3) normals and (L, F) offsets.
    """

    start_m: FloatArray
    end_m: FloatArray | None
    bare_m: FloatArray
    ends_m: FloatArray
    hulls: tuple[tuple[FloatArray, FloatArray], ...]

    @classmethod
    def of(cls, members: Sequence[Member]) -> Stacked:
        """The same of all of them as arrays."""
        links = [member.link for member in members]
        ends = [link.end.centre_m for link in links if link.end is not None and link.end.centre_m is not None]
        return cls(
            np.array([link.start_m for link in links]),
            np.array(ends) if ends else None,
            np.array([member.shape.bare_m for member in members]),
            np.array([member.ends_m for member in members]).transpose(1, 0, 2),
            tuple(_hulls(members, space) for space in range(len(links[0].spaces))),
        )


def _hulls(members: Sequence[Member], space: int) -> tuple[FloatArray, FloatArray]:
    hulls = [member.conditions.building.spaces[member.link.spaces[space]].container for member in members]
    most = max(len(hull.offsets) for hull in hulls)
    normals, offsets = np.zeros((len(hulls), most, 3)), np.full((len(hulls), most), _FAR_M)
    for i, hull in enumerate(hulls):
        normals[i, : len(hull.offsets)], offsets[i, : len(hull.offsets)] = hull.normals, hull.offsets
    return normals, offsets
