"""The story: a site becomes a plan.

For every material and size: may it be used at all; is there a kit of parts; where may it not end; which ways are
there; what parts make them; what do the rules find; what does the gas do; what is to be bought. What fails is kept
with its reason.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

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
from ventroute.searching import Job, Known, changes_m, weights_of, work_out
from ventroute.shop.count import Bill, shopping
from ventroute.shop.cuts import CutError
from ventroute.solve.conditions import Common, Conditions
from ventroute.solve.growing import Growing
from ventroute.solve.problem import Problem
from ventroute.solve.solver import Outcome, seek
from ventroute.stocking import buyable, elsewhere, rated, scarcer, scarcity, short
from ventroute.whole_route import whole_findings

Progress = Callable[[str], None]
Kinds = Mapping[str, tuple[Zone, ...]]

_HEATED_DEGC = 20.0  # common practice for a heated room in winter


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
    known = Known(Common(building))
    choices: list[_Choice] = []
    for material in site.want.materials or site.appliance.materials:
        for size_in in site.want.sizes_in or tuple(row.size_in for row in site.appliance.sizes):
            choices.append(_Choice(site, building, shop, material, size_in, known))
        for smaller_in, size_in in pairs(site):
            choices.append(_Grown(site, building, shop, material, size_in, known, smaller_in))
    progress("searching every material and size")
    work_out([choice.job for choice in choices if choice.job], known, partial(flues_of, site, fuels=shop.fuels))
    found: list[PlannedRoute] = []
    rejected: list[Rejected] = []
    for choice in choices:
        progress(f"judging {choice.told}")
        for result in choice.results():
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
    known: Known

    @property
    def told(self) -> str:
        """In words."""
        return f"{self.size_in:g} in {self.material}"

    def results(self) -> Iterator[PlannedRoute | Rejected]:
        """Compliant routes; for a terminal kind that has none, the reason."""
        kit, job = self._wished, self.job
        if isinstance(kit, Rejected) or job is None:
            first = kit if isinstance(kit, Rejected) else self._rejected("size", "", None)
            for kind in self.site.want.terminals:
                yield Rejected(first.material, first.size_in, kind, first.rule, first.because, None)
            return
        stocked = buyable(kit, self.shop.stock)
        found = list(self._of(job))
        lacking = {r.terminal for r in found if isinstance(r, Rejected) and r.rule == "stock"}
        for fewer in scarcer(kit, self.shop.stock) if lacking else ():
            again = [r for r in self._of(self._with(fewer.kit, job.limit)) if isinstance(r, PlannedRoute)]
            mended = {r.route.terminal_kind for r in again} & lacking
            if mended:
                stocked = fewer
                found = [r for r in found if isinstance(r, PlannedRoute) or r.terminal not in mended]
                found += (r for r in again if r.route.terminal_kind in mended)
                break
        if stocked.gone:
            found = self._compared(found, stocked.gone)
        yield from found

    @cached_property
    def _wished(self) -> Kit | Rejected:
        """Everything that the catalog has."""
        return self._kit(self.size_in, self.site.appliance.collar_material, self.site.appliance.collar_size_in)

    @cached_property
    def job(self) -> Job | None:
        """The search, with what can be bought; None where there is nothing to search."""
        limit = self.site.appliance.limit(self.size_in)
        if isinstance(self._wished, Rejected) or limit is None:
            return None
        return self._with(buyable(self._wished, self.shop.stock).kit, limit)

    def _with(self, kit: Kit, limit: SizeLimit) -> Job:
        problem = self._problem(kit, limit)
        conditions = Conditions(problem, self.known.common)
        weights = weights_of(problem, self.shop.stock)
        return Job(
            {(*problem.measures, *w.key): partial(seek, conditions, w) for w in weights},
            limit,
            limit.terminal_m + changes_m(problem),
            self.site.want.terminals,
            partial(make_route, conditions),
        )

    def _problem(self, kit: Kit, limit: SizeLimit) -> Problem:
        zones = {kind: self._zones(kind, kit) for kind in self.site.want.terminals}
        return Problem(self.building, kit, limit, self.site.appliance, self.site.want, zones)

    def _compared(self, found: list[PlannedRoute | Rejected], gone: tuple[str, ...]) -> list[PlannedRoute | Rejected]:
        """The routes, each with what scarcity cost it against the best of its kind with everything in stock."""
        plenty = replace(self.shop, stock=replace(self.shop.stock, offers=self.shop.catalog.offers))
        choice = replace(self, shop=plenty)
        wished = [r for r in choice._of(choice.job) if isinstance(r, PlannedRoute)] if choice.job else []
        best = {r.route.terminal_kind: r for r in reversed(chosen(wished, self.site.want.prefer))}
        return [
            replace(r, scarcity=scarcity(r, best[r.route.terminal_kind], gone, self.shop.stock, self.shop.catalog))
            if isinstance(r, PlannedRoute) and r.route.terminal_kind in best
            else r
            for r in found
        ]

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

    def _of(self, job: Job) -> Iterator[PlannedRoute | Rejected]:
        """Compliant routes of its kinds of terminal; for a kind that has none, the reason."""
        if not job.outcomes:
            work_out([job], self.known, partial(flues_of, self.site, fuels=self.shop.fuels))
        limit_m, first = job.limit.max_length_m, job.outcomes[0]
        flues = {id(route): flue for route, flue in zip(job.within, job.flues, strict=True)}
        for kind, made in job.routes.items():
            if not made:
                yield self._none(first, kind)
                continue
            least_m = tuple(v.get(kind, 0.0) + job.constant_m for v in (first.rolled, first.least))
            judged_ = [self._judged(limit_m, kind, route, flues.get(id(route)), least_m) for route in made]
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

    @property
    def told(self) -> str:
        """In words."""
        return f"{self.smaller_in:g} in, then {self.size_in:g} in {self.material}"

    def results(self) -> Iterator[PlannedRoute | Rejected]:
        """Compliant routes; the reason for a terminal kind that has none, where a change of size could lead there."""
        if self.job is not None:  # else either size alone says why
            yield from self._of(self.job)

    @cached_property
    def job(self) -> Job | None:
        appliance, stock = self.site.appliance, self.shop.stock
        before, limit = appliance.limit(self.smaller_in), appliance.limit(self.size_in)
        first = self._kit(self.smaller_in, appliance.collar_material, appliance.collar_size_in)
        last = self._kit(self.size_in, self.material, self.smaller_in)
        if isinstance(first, Rejected) or isinstance(last, Rejected) or before is None or limit is None:
            return None
        problem = self._problem(buyable(last, stock).kit, limit)
        larger = Conditions(problem, self.known.common)
        smaller = larger.beside(replace(problem, kit=buyable(first, stock).kit, limit=before, zones={}))
        growing = Growing(smaller, larger)
        ratio = share_ratio(before, limit)
        weights = list(zip(weights_of(smaller.problem, stock, ratio), weights_of(problem, stock), strict=False))
        growth_m = changes_m(smaller.problem) * ratio + change_m(before, limit) * len(problem.kit.start)
        measures = ("grown", *smaller.problem.measures, *problem.measures)
        return Job(
            {(*measures, *(w.key for w in pair)): partial(growing.seek, *pair) for pair in weights},
            limit,
            limit.terminal_m + growth_m,
            [kind for kind in self.site.want.terminals if kind in growing.kinds],
            lambda way: make_route(larger, way, smaller),
        )

    @property
    def _no_way(self) -> str:
        return f"no way in {self.smaller_in:g} in, then {self.size_in:g} in"
