"""The story: a site becomes a plan.

For every material and size: may it be used at all; is there a kit of parts; where may it not end; which ways are
there; what parts make them; what do the rules find; what does the gas do; what is to be bought. What fails is kept
with its reason.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import zip_longest

import numpy as np

from ventroute.catalog.load import Catalog
from ventroute.catalog.lookup import kits, shelf
from ventroute.choices import chosen, failed, told, too_long
from ventroute.flue.fuel import Fuel
from ventroute.flue.state import flue_states
from ventroute.layout.building import Building
from ventroute.layout.zone import Zone
from ventroute.model.appliance import SizeLimit, change_m, share_ratio
from ventroute.model.parts import Kit
from ventroute.model.plan import Finding, FlueState, Plan, PlannedRoute, Rejected, Verdict
from ventroute.model.route import Route
from ventroute.model.shelf import Asks, Shelf, Stock
from ventroute.model.site import Site
from ventroute.placing import make_route
from ventroute.rules.check import in_order, judge
from ventroute.rules.materials import gate
from ventroute.rules.pack import Pack
from ventroute.rules.supports import spacing
from ventroute.rules.zones import terminal_zones
from ventroute.shop.count import Bill, shopping
from ventroute.shop.cuts import CutError
from ventroute.solve.conditions import Conditions
from ventroute.solve.growing import Growing
from ventroute.solve.problem import Problem, Weights
from ventroute.solve.solver import Outcome, Way, solve
from ventroute.stocking import buyable, elsewhere, priced, rated, scarcer, scarcity, short
from ventroute.whole_route import whole_findings

Progress = Callable[[str], None]
Kinds = Mapping[str, tuple[Zone, ...]]

JUDGED_PER_KIND = 5  # ways of one kit and terminal kind that are worked out in full
_HEATED_DEGC = 20.0  # common practice for a heated room in winter
_TROUBLE_M = 0.5  # run that a fitter would rather cut than make one more joint: common practice
_TIE_M = 1e-5  # for a bend that is not of the kit's own pattern: settles ties
_ODD_M = 0.05  # the same where trouble counts: two sorts to keep apart on the bench, our own choice
_LESS = 1500  # effort for the alternatives: only the least length is proved
_FEWEST_M = 1000.0  # price of a bend where the fewest are wanted: above any length


@dataclass(frozen=True, eq=False)
class Workshop:
    """What planning needs besides the site: catalogs, rule pack, what is in the box and on the shelf."""

    catalog: Catalog
    pack: Pack
    stock: Stock
    fuels: Mapping[str, Fuel]

    @cached_property
    def shelf(self) -> Shelf:
        """The catalog as a shop's shelf."""
        return shelf(self.catalog)


def plan(site: Site, building: Building, shop: Workshop, progress: Progress = lambda _: None) -> Plan:
    """Every way out that complies, best first, and why the others do not."""
    found: list[PlannedRoute] = []
    known: dict[tuple[object, ...], Outcome] = {}
    rejected: list[Rejected] = []
    for material in site.want.materials or site.appliance.materials:
        for size_in in site.want.sizes_in or tuple(row.size_in for row in site.appliance.sizes):
            progress(f"{size_in:g} in {material}")
            choice = _Choice(site, building, shop, material, size_in, known)
            for result in choice.results():
                (found if isinstance(result, PlannedRoute) else rejected).append(result)  # type: ignore[arg-type]
        for smaller_in, size_in in pairs(site):
            progress(f"{smaller_in:g} in, then {size_in:g} in, in {material}")
            grown = _Grown(site, building, shop, material, size_in, known, smaller_in)
            for result in grown.results():
                (found if isinstance(result, PlannedRoute) else rejected).append(result)  # type: ignore[arg-type]
    routes = elsewhere(chosen(found, site.want.prefer))
    return Plan(site.name, site.place.rules, routes, tuple(rejected))


def pairs(site: Site) -> list[tuple[float, float]]:
    """Sizes from and to which a run may grow on its way: the manual allows it, and the larger may be longer."""
    rows = {row.size_in: row for row in site.appliance.sizes if row.size_in in (site.want.sizes_in or (row.size_in,))}
    if site.appliance.mixed_sizes != "by share":
        return []
    return [(a, b) for a in rows for b in rows if a < b and rows[a].max_length_m < rows[b].max_length_m]


def judged(
    site: Site, building: Building, shop: Workshop, route: Route, flue: FlueState | None = None
) -> tuple[Finding, ...]:
    """Every rule applied to a route, however it was made, and whether it is whole. ``flue``: worked out where None."""
    flue = flue or flues_of(site, [route], shop.fuels)[0]
    own = whole_findings(site, shop.catalog, route)
    return in_order((*own, *judge(site, building, shop.pack, route, flue)))


def flues_of(site: Site, routes: Sequence[Route], fuels: Mapping[str, Fuel]) -> list[FlueState]:
    """The gas on its way through this house's spaces: heated rooms at 20 degC, others as cold as outdoors."""
    air = {room.name: _HEATED_DEGC if room.heated else site.place.winter_degC for room in site.rooms}
    through = {hole.name: hole.through for hole in site.holes} | {cut.name: cut.through for cut in site.cuts}
    air["outdoors"] = site.place.winter_degC
    return flue_states(routes, site.appliance, site.place, air, fuels, through=through)


def bill_of(
    site: Site, shop: Workshop, route: Route, flue: FlueState | None, findings: tuple[Finding, ...] = ()
) -> Bill:
    """What a route takes to build, with what is at home and on the shelves, and with what its findings ask for."""
    cold = (
        frozenset(flue.freezes_idle) if flue and flue.freezes_running else frozenset()
    )  # all the cold is wrapped, or none
    *before, held = (spacing(shop.pack, site.appliance, kit) for kit in route.kits)
    asks = Asks(held, rated(site, route, findings), cold, smaller=before[0] if before else held)
    return shopping(route, site, shop.shelf, shop.stock, flue, asks)


@dataclass(frozen=True, eq=False)
class _Choice:
    """One material and size."""

    site: Site
    building: Building
    shop: Workshop
    material: str
    size_in: float
    known: dict[tuple[object, ...], Outcome]  # what was searched already, by measures and price

    def results(self) -> Iterator[PlannedRoute | Rejected]:
        """Compliant routes; for a terminal kind that has none, the reason."""
        limit = self.site.appliance.limit(self.size_in)
        kit = self._kit(self.size_in, self.site.appliance.collar_material, self.site.appliance.collar_size_in)
        if isinstance(kit, Rejected) or limit is None:
            first = kit if isinstance(kit, Rejected) else self._rejected("size", "", None)
            for kind in self.site.want.terminals:
                yield Rejected(first.material, first.size_in, kind, first.rule, first.because, None)
            return
        stocked = buyable(kit, self.shop.stock)
        found = list(self._with(stocked.kit, limit))
        lacking = {r.terminal for r in found if isinstance(r, Rejected) and r.rule == "stock"}
        for fewer in scarcer(kit, self.shop.stock) if lacking else ():
            again = [r for r in self._with(fewer.kit, limit) if isinstance(r, PlannedRoute)]
            mended = {r.route.terminal_kind for r in again} & lacking
            if mended:
                stocked = fewer
                found = [r for r in found if isinstance(r, PlannedRoute) or r.terminal not in mended]
                found += (r for r in again if r.route.terminal_kind in mended)
                break
        if stocked.gone:
            found = self._compared(found, kit, limit, stocked.gone)
        yield from found

    def _with(self, kit: Kit, limit: SizeLimit) -> Iterator[PlannedRoute | Rejected]:
        problem = self._problem(kit, limit)
        conditions = Conditions(problem)
        weights = [(w,) for w in _weights(problem, self.shop.stock)]
        key, constant_m = problem.measures, limit.terminal_m + _changes_m(problem)
        outcomes = self._outcomes(key, weights, lambda w: solve(problem, w, conditions), limit, constant_m)
        kinds = self.site.want.terminals
        yield from self._of_kinds(limit, outcomes, kinds, constant_m, lambda way: make_route(conditions, way))

    def _problem(self, kit: Kit, limit: SizeLimit) -> Problem:
        zones = {kind: self._zones(kind, kit) for kind in self.site.want.terminals}
        return Problem(self.building, kit, limit, self.site.appliance, self.site.want, zones)

    def _compared(
        self, found: list[PlannedRoute | Rejected], kit: Kit, limit: SizeLimit, gone: tuple[str, ...]
    ) -> list[PlannedRoute | Rejected]:
        """The routes, each with what scarcity cost it against the best of its kind with everything in stock."""
        plenty = replace(self.shop, stock=replace(self.shop.stock, offers=self.shop.catalog.offers))
        wished = [r for r in replace(self, shop=plenty)._with(kit, limit) if isinstance(r, PlannedRoute)]
        best = {r.route.terminal_kind: r for r in reversed(chosen(wished, self.site.want.prefer))}
        return [
            replace(r, scarcity=scarcity(r, best[r.route.terminal_kind], gone, self.shop.stock, self.shop.catalog))
            if isinstance(r, PlannedRoute) and r.route.terminal_kind in best
            else r
            for r in found
        ]

    def _outcomes(
        self,
        measures: tuple[object, ...],
        weights: Sequence[tuple[Weights, ...]],
        solved: Callable[..., Outcome],
        limit: SizeLimit,
        constant_m: float,
    ) -> list[Outcome]:
        """What each price gave; where even the least length is too long, the others are not asked.

        The search is done once for kits of the same measures: ABS and PVC of one pattern differ in name only.
        """
        out: list[Outcome] = []
        for each in weights:
            key = (*measures, *(w.key for w in each))
            if key not in self.known:
                self.known[key] = solved(*each)
            out.append(self.known[key])
            if all(least + constant_m > limit.max_length_m for least in out[0].least.values()):
                break
        return out

    def _kit(self, size_in: float, collar_material: str | None, collar_size_in: float) -> Kit | Rejected:
        appliance, catalog = self.site.appliance, self.shop.catalog
        if self.material not in catalog.materials:
            return self._rejected("catalog", f"the catalog has no {self.material}", None)
        stuff = catalog.materials[self.material]
        for finding in gate(appliance, stuff, size_in, self.shop.pack, self.site.want):
            if finding.verdict is Verdict.FAIL:
                return self._rejected(finding.rule, told(finding), None)
        kit = kits(catalog, self.material, size_in, collar_material, collar_size_in)
        return self._rejected("catalog", kit, None) if isinstance(kit, str) else kit

    def _rejected(self, rule: str, because: str, nearest_m: float | None, kind: str = "") -> Rejected:
        return Rejected(self.material, self.size_in, kind, rule, because, nearest_m)

    def _zones(self, kind: str, kit: Kit) -> tuple[Zone, ...]:
        return terminal_zones(self.site, self.building, self.shop.pack, kind, kit.pipe.od_m / 2)

    def _of_kinds(
        self,
        limit: SizeLimit,
        outcomes: list[Outcome],
        kinds: Sequence[str],
        constant_m: float,
        route_of: Callable[[Way], Route | None],
    ) -> Iterator[PlannedRoute | Rejected]:
        """Compliant routes of terminal kinds; for a kind that has none, the reason."""
        routes = {kind: [route_of(way) for way in _ways(outcomes, kind)] for kind in kinds}
        within = [r for made in routes.values() for r in made if r and not too_long(r, limit.max_length_m)]
        flues = {id(r): flue for r, flue in zip(within, flues_of(self.site, within, self.shop.fuels), strict=True)}
        for kind, made in routes.items():
            if not made:
                yield self._none(outcomes[0], kind)
                continue
            least = tuple(v.get(kind, 0.0) + constant_m for v in (outcomes[0].rolled, outcomes[0].least))
            judged_ = [self._judged(limit.max_length_m, kind, route, flues.get(id(route)), least) for route in made]
            passed = [result for result in judged_ if isinstance(result, PlannedRoute)]
            misses = [result for result in judged_ if isinstance(result, Rejected)]
            if passed:
                yield from passed
            else:
                yield min(misses, key=lambda m: (m.rule != "stock", m.nearest_m is None, m.nearest_m or 0.0))

    def _none(self, outcome: Outcome, kind: str) -> Rejected:
        if outcome.refusals:
            return self._rejected("passage", f"{self._no_way}: " + "; ".join(outcome.refusals), None, kind)
        because = f"{self._no_way}: no hole or cut leads there with room for its fittings"
        return self._rejected("passage", because, None, kind)

    @property
    def _no_way(self) -> str:
        return "no way"

    def _judged(
        self, limit: float, kind: str, route: Route | None, flue: FlueState | None, least_m: tuple[float, ...]
    ) -> PlannedRoute | Rejected:
        """The route with all that is shown of it; ``least_m`` bounds those at any roll, and those in steps [m]."""
        if route is None:
            return self._rejected("coupling", "a run longer than a stick has no place for a coupling", None, kind)
        site, shop = self.site, self.shop
        long = too_long(route, limit)
        if long is not None:
            return long
        findings = judged(site, self.building, shop, route, flue)
        if any(f.verdict is Verdict.FAIL for f in findings):
            return failed(route, findings)
        try:
            bill = bill_of(site, shop, route, flue, findings)
        except CutError as error:
            return self._rejected("stock", str(error), route.equivalent_m, route.terminal_kind)
        missing = short(bill, shop.stock, shop.catalog)
        if missing:
            return self._rejected("stock", missing, route.equivalent_m, route.terminal_kind)
        holes = sum(c.cost for c in site.cuts if any(x.name == c.name for x in route.crossings))
        cost = bill.cost + holes
        least, in_steps = (min(bound, route.equivalent_m) for bound in least_m)
        proved = route.equivalent_m - least <= 1e-3
        rest = (findings, bill.lines, bill.cuts, flue)
        return PlannedRoute("", route, limit, least, proved, round(cost, 2), *rest, least_in_steps_m=in_steps)


@dataclass(frozen=True, eq=False)
class _Grown(_Choice):
    """One material in two sizes, the smaller up to and through a hole that the larger does not pass."""

    smaller_in: float

    def results(self) -> Iterator[PlannedRoute | Rejected]:
        """Compliant routes; the reason for a terminal kind that has none, where a change of size could lead there."""
        appliance, stock = self.site.appliance, self.shop.stock
        before, limit = appliance.limit(self.smaller_in), appliance.limit(self.size_in)
        first = self._kit(self.smaller_in, appliance.collar_material, appliance.collar_size_in)
        last = self._kit(self.size_in, self.material, self.smaller_in)
        if isinstance(first, Rejected) or isinstance(last, Rejected) or before is None or limit is None:
            return  # either size alone says why
        problem = self._problem(buyable(last, stock).kit, limit)
        larger = Conditions(problem)
        smaller = larger.of(replace(problem, kit=buyable(first, stock).kit, limit=before, zones={}))
        growing = Growing(smaller, larger)
        ratio = share_ratio(before, limit)
        weights = list(zip(_weights(smaller.problem, stock, ratio), _weights(problem, stock), strict=False))
        changes_m = _changes_m(smaller.problem) * ratio + change_m(before, limit) * len(problem.kit.start)
        constant_m = limit.terminal_m + changes_m
        key = ("grown", *smaller.problem.measures, *problem.measures)
        outcomes = self._outcomes(key, weights, growing.solve, limit, constant_m)
        kinds = [kind for kind in self.site.want.terminals if kind in growing.kinds]
        yield from self._of_kinds(limit, outcomes, kinds, constant_m, lambda way: make_route(larger, way, smaller))

    @property
    def _no_way(self) -> str:
        return f"no way in {self.smaller_in:g} in, then {self.size_in:g} in"


def _weights(problem: Problem, stock: Stock, ratio: float = 1.0) -> list[Weights]:
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


def _changes_m(problem: Problem) -> float:
    """Equivalents of the changes at the collar, which every route of a kit has."""
    by_kind = {"increaser": problem.limit.increaser_m, "reducer": problem.limit.reducer_m}
    return sum(by_kind.get(change.kind, 0.0) for change in problem.kit.start)
