"""Searches carried on side by side: what they ask of one tree at a time is done in one go.

The links of a chain share nothing but the sum of their prices, and what one kit or price leads to says nothing of
another, so they can be searched in any order. An array of a few numbers costs NumPy as much as one of a hundred, and
what one search asks for is often what the next one does.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True, eq=False)
class Await:
    """Searches that must have ended before the one that says so goes on."""

    searches: Sequence[Iterator[Ask | Await]]


Steps = Iterator[Ask | Await]


@dataclass(slots=True, eq=False)
class _Run:
    """A search under way, the one that waits for it, and how many it waits for itself."""

    steps: Steps
    above: _Run | None = None
    below: int = 0


def together(searches: Iterable[Steps]) -> None:
    """Carry on all searches to their ends."""
    waiting: dict[tuple[int, int], list[tuple[_Run, Ask]]] = {}
    ready = deque(_Run(steps) for steps in searches)
    while ready or waiting:
        while ready:
            run = ready.popleft()
            step = next(run.steps, None)
            if isinstance(step, Ask):
                waiting.setdefault(step.turn, []).append((run, step))
            elif step is not None:
                run.below = len(step.searches)
                ready += [_Run(steps, run) for steps in step.searches] or [run]
            elif run.above is not None:
                run.above.below -= 1
                if not run.above.below:
                    ready.append(run.above)
        if waiting:
            turn = min(waiting)
            served = waiting.pop(turn)
            groups: dict[int, tuple[Tree, list[Any]]] = {}
            for _, ask in served:
                groups.setdefault(id(ask.tree), (ask.tree, []))[1].extend(ask.what)
            for tree, what in groups.values():
                _DONE_BY[turn[0]](tree, what)
            ready += [run for run, _ in served]
