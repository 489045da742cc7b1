"""A route judged by every rule: what fails first, then what a person must answer, then what passes, nearest first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from ventroute.layout.building import Building
from ventroute.model.plan import Finding, FlueState, Verdict
from ventroute.model.route import Route
from ventroute.model.site import Site
from ventroute.rules.air import air_findings
from ventroute.rules.cautions import cautions
from ventroute.rules.framing import framing_findings
from ventroute.rules.gaps import gap_findings
from ventroute.rules.gasflow import flue_findings
from ventroute.rules.length import length_findings, part_findings
from ventroute.rules.materials import gate
from ventroute.rules.pack import Pack
from ventroute.rules.passage import passage_findings
from ventroute.rules.shapes import ring_gap
from ventroute.rules.supports import support_findings
from ventroute.rules.verdict import at_least, at_most, stated
from ventroute.rules.zones import clauses

__all__ = ["cautions", "in_order", "judge"]

FloatArray = NDArray[np.float64]

_ORDER = {Verdict.FAIL: 0, Verdict.ASK: 1, Verdict.PASS: 2}
_DIGITS = 6  # of a margin that tell findings apart: what is a hair from a limit is at it, on every machine


def judge(
    site: Site, building: Building, pack: Pack, route: Route, flue: FlueState | None = None
) -> tuple[Finding, ...]:
    """Every rule of the pack applied to a route. Places are judged afresh, not by the zones it was searched with.

    Parameters
    ----------
    flue : the gas at full input, None where it was not computed
    """
    appliance, kit = site.appliance, route.kit
    pack = pack.applying(appliance, kit.material.name)
    found = [
        *dict.fromkeys(
            finding
            for each in route.kits
            for finding in gate(appliance, each.material, each.size_in, pack, site.want, each.schedule)
        ),
        *place_findings(site, building, pack, route),
        *length_findings(appliance, pack, route),
        *part_findings(pack, route),
        *passage_findings(building, pack, route),
        *gap_findings(building, pack, route, site.want.gap_m),
        *framing_findings(site, building, pack, route),
        *support_findings(appliance, pack, route),
        *air_findings(site, building, pack, kit.pipe.od_m),
        *_questions(site, pack, route),
        *(flue_findings(site, pack, flue) if flue is not None else ()),
    ]
    return in_order(found)


def _questions(site: Site, pack: Pack, route: Route) -> Iterator[Finding]:
    """What only a person can say, of the whole vent or of its way through the cold."""
    for rule in pack.of("question"):
        yield from stated(pack, rule.id, "the vent", Verdict.ASK)
    cold = {room.name for room in site.rooms if not room.heated}
    through = [*sorted({part.space for part in route.parts} & cold), "outdoors"]  # every vent ends outdoors
    for rule in pack.of("cold spaces"):
        yield from stated(pack, rule.id, ", ".join(through), Verdict.ASK)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Fails, then asks, then passes; within each the least margin first, and what has none last."""

    def key(finding: Finding) -> tuple[int, float, str, str]:
        margin = np.inf if finding.margin is None else round(finding.margin, _DIGITS)
        return _ORDER[finding.verdict], margin, finding.rule, finding.subject

    return tuple(sorted(findings, key=key))


def place_findings(site: Site, building: Building, pack: Pack, route: Route) -> Iterator[Finding]:
    """Where the terminal's end is: every rule about the place, applied to every thing it is about."""
    at = np.asarray(route.terminal_m, dtype=np.float64)
    space = building.space_at(at)
    outdoors = space is not None and space.outdoors
    note = "" if outdoors else "the end is in a room or in construction"
    yield from stated(pack, "terminal.outdoors", "terminal", Verdict.PASS if outdoors else Verdict.FAIL, note=note)
    for clause in clauses(site, building, pack, route.terminal_kind, route.kit.pipe.od_m / 2):
        yield clause.finding(at, pack)
    for rule in pack.of("lone wall"):
        if rule.when.end(route.terminal_kind, route.kit.pipe.od_m):
            yield from stated(pack, rule.id, "terminal", Verdict.ASK, note="does the manual or a listing allow it?")
    if route.terminal_kind == "wall":
        yield from _wall_end(site, pack, route)


def _wall_end(site: Site, pack: Pack, route: Route) -> Iterator[Finding]:
    """How far a wall terminal stands out, and how much pipe is outdoors."""
    outline = np.array(site.building.footprint, dtype=np.float64)
    out = float(ring_gap(outline, np.array([route.terminal_m[:2]]))[0])
    yield from at_least(pack, "terminal.reach", "terminal", out, site.want.reach_m, "m")
    yield from at_most(
        pack, "terminal.pipe-outdoors", "terminal", _outdoors_m(outline, route), site.want.outdoors_m, "m"
    )


def _outdoors_m(outline: FloatArray, route: Route) -> float:
    """Length of the last runs beyond the outside face [m]."""
    beyond = 0.0
    for run in reversed(route.runs):
        ends = np.array([run.start_m, run.end_m], dtype=np.float64)
        gaps = ring_gap(outline, ends[:, :2])
        if gaps[0] < 0:
            return beyond + run.length_m * (1.0 - _leaves_at(outline, ends[0, :2], ends[1, :2]))
        beyond += run.length_m
    return beyond


def _leaves_at(ring: FloatArray, a: FloatArray, b: FloatArray) -> float:
    """Share of the way from a (inside) to b at which the outline is last crossed; 1 where it is not."""
    starts, sides = ring, np.roll(ring, -1, axis=0) - ring
    way = b - a
    across = way[0] * sides[:, 1] - way[1] * sides[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        off = starts - a
        t = (off[:, 0] * sides[:, 1] - off[:, 1] * sides[:, 0]) / across
        s = (off[:, 0] * way[1] - off[:, 1] * way[0]) / across
    met = (np.abs(across) > 1e-12) & (t >= 0) & (t <= 1) & (s >= -1e-9) & (s <= 1 + 1e-9)
    return float(t[met].max(initial=0.0)) if met.any() else 1.0
