"""What is searched for a kit, all kits of a house side by side; the ways that come of it are worked out in full."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest

import numpy as np

from ventroute.choices import too_long
from ventroute.model.appliance import SizeLimit
from ventroute.model.plan import FlueState
from ventroute.model.route import Route
from ventroute.model.shelf import Stock
from ventroute.solve.conditions import Common
from ventroute.solve.problem import Problem, Weights
from ventroute.solve.solver import Outcome, Quest, Way
from ventroute.solve.together import Steps, together
from ventroute.stocking import priced

JUDGED_PER_KIND = 5  # ways of one kit and terminal kind that are worked out in full
_TROUBLE_M = 0.5  # run that a fitter would rather cut than make one more joint: common practice
_TIE_M = 1e-5  # for a bend that is not of the kit's own pattern: settles ties
_ODD_M = 0.05  # the same where trouble counts: two sorts to keep apart on the bench, our own choice
_LESS = 1500  # effort for the alternatives: only the least length is proved
_FEWEST_M = 1000.0  # price of a bend where the fewest are wanted: above any length


@dataclass(frozen=True, eq=False)
class Known:
    """What the choices of a house share: what was searched already, by measures and price."""

    common: Common
    quests: dict[tuple[object, ...], Quest] = field(default_factory=dict)


@dataclass(eq=False)
class Job:
    """What is searched for one kit, or two of one material, the least length first, and what comes of it.

    ``flues`` are those of the routes that are within the limit, in the order in which they stand in ``routes``.
    """

    wanted: Mapping[tuple[object, ...], Callable[[], Quest]]  # by measures and price
    limit: SizeLimit
    constant_m: float
    kinds: Sequence[str]
    route_of: Callable[[Way], Route | None]
    outcomes: list[Outcome] = field(default_factory=list)
    routes: dict[str, list[Route | None]] = field(default_factory=dict)  # by kind of terminal
    flues: list[FlueState] = field(default_factory=list)

    @property
    def too_long(self) -> bool:
        """Whether even the least length is over the limit; then nothing is asked beside it."""
        if not self.outcomes:
            return False
        return all(least + self.constant_m > self.limit.max_length_m for least in self.outcomes[0].least.values())

    @property
    def within(self) -> list[Route]:
        """The routes that are not too long."""
        made = (route for routes in self.routes.values() for route in routes)
        return [route for route in made if route and not too_long(route, self.limit.max_length_m)]


def work_out(jobs: Sequence[Job], known: Known, flues_of: Callable[[Sequence[Route]], list[FlueState]]) -> None:
    """Search jobs side by side, then follow the gas in all their ways.

    Kits of the same measures share a search: ABS and PVC of one pattern differ in name only.
    """
    for prices in (slice(1), slice(1, None)):
        going = [(job, list(job.wanted.items())[prices]) for job in jobs if not job.too_long]
        new = {key: make for _, wanted in going for key, make in wanted if key not in known.quests}
        together([_begun(known, key, make) for key, make in new.items()])
        for job, wanted in going:
            job.outcomes += [known.quests[key].outcome for key, _ in wanted]
    for job in jobs:
        job.routes = {kind: [job.route_of(way) for way in _ways(job.outcomes, kind)] for kind in job.kinds}
    flues = iter(flues_of([route for job in jobs for route in job.within]))
    for job in jobs:
        job.flues = [next(flues) for _ in job.within]


def _begun(known: Known, key: tuple[object, ...], make: Callable[[], Quest]) -> Steps:
    """A search from its chains on."""
    quest = known.quests[key] = make()
    yield from quest.steps()


def weights_of(problem: Problem, stock: Stock, ratio: float = 1.0) -> list[Weights]:
    """Least equivalent length; the same with some weight on fittings; fewest fittings; least cost.

    Where the box holds some of what the kit is made from there are two kinds of least cost: as if all were bought,
    and as if what is there were enough. How many there are counts in the bill, which decides among the routes.
    ``ratio``: what a metre counts, where it counts with metres of another size.
    """
    taken = 2.0 if problem.appliance.count == "pipe" else 0.0
    hubs = {(a, i): e.hub for a, elbows in problem.patterns.items() for i, e in enumerate(elbows)}
    by_table = {key: ratio * (problem.equivalent_m(hub) - taken * hub.laying_m) for key, hub in hubs.items()}
    out = [Weights.of("length", ratio, {key: v + _TIE_M * key[1] for key, v in by_table.items()})]
    for name, each_m in (("balanced", _TROUBLE_M), ("fittings", _FEWEST_M)):
        prices = {key: v + each_m + _ODD_M * (key[1] > 0) for key, v in by_table.items()}
        out.append(Weights.of(name, ratio, prices, _LESS))
    for per_m, bends in priced(stock, problem.kit.pipe, {key: hub.item for key, hub in hubs.items()}):
        out.append(Weights.of("cost", per_m, bends, _LESS))
    return out


def _ways(outcomes: Sequence[Outcome], kind: str) -> list[Way]:
    """The ways of a terminal kind that are worked out in full, the best of every price first."""
    layers = zip_longest(*([w for w in outcome.ways if w.kind == kind] for outcome in outcomes))
    return _distinct([way for layer in layers for way in layer if way is not None])[:JUDGED_PER_KIND]


def _distinct(ways: list[Way]) -> list[Way]:
    """Ways of different corners, in order."""
    out: list[Way] = []
    for way in ways:
        same = (
            o.corners.shape == way.corners.shape and bool(np.allclose(o.corners, way.corners, atol=1e-5)) for o in out
        )
        if not any(same):
            out.append(way)
    return out


def changes_m(problem: Problem) -> float:
    """Equivalents of the changes at the collar, which every route of a kit has."""
    by_kind = {"increaser": problem.limit.increaser_m, "reducer": problem.limit.reducer_m}
    return sum(by_kind.get(change.kind, 0.0) for change in problem.kit.start)
