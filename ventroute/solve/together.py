"""Searches carried on side by side: what they ask of one tree at a time is done in one go.

The links of a chain share nothing but the sum of their prices, so they can be searched in any order. An array of a few
numbers costs NumPy as much as one of a hundred, and what one link asks for is often what the next one does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from ventroute.solve.tree import Tree

LAY, SOLVE, BRANCH = range(3)
_DONE_BY = (Tree.lay, Tree.solve, Tree.branch)


class Ask(NamedTuple):
    """What a search wants done before it goes on: ``Tree.lay``, ``Tree.solve`` or ``Tree.branch`` of so much."""

    how: int
    tree: Tree
    what: Sequence[Any]

    @property
    def turn(self) -> tuple[int, int]:
        """The least is served first: so others catch up, and ask for the same."""
        return self.how, sum(self.tree.family.counts)


def together(searches: Iterable[Iterator[Ask]]) -> None:
    """Carry on all searches to their ends."""
    waiting: dict[tuple[int, int], list[tuple[Iterator[Ask], Ask]]] = {}
    ready = list(searches)
    while True:
        for search in ready:
            if (ask := next(search, None)) is not None:
                waiting.setdefault(ask.turn, []).append((search, ask))
        if not waiting:
            return
        turn = min(waiting)
        served = waiting.pop(turn)
        groups: dict[int, tuple[Tree, list[Any]]] = {}
        for _, ask in served:
            groups.setdefault(id(ask.tree), (ask.tree, []))[1].extend(ask.what)
        for tree, what in groups.values():
            _DONE_BY[turn[0]](tree, what)
        ready = [search for search, _ in served]
