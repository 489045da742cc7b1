"""Bored and notched members, and pipes near their faces."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.constants import INCH_M
from ventroute.layout.building import Building
from ventroute.layout.framing import members
from ventroute.model.plan import Finding, Verdict
from ventroute.model.route import Crossing, Route
from ventroute.model.site import Framing, Site
from ventroute.rules.clause import ROUNDING
from ventroute.rules.pack import Pack, Rule
from ventroute.rules.passage import Barrier, barrier_of
from ventroute.rules.verdict import at_least, at_most, stated

FloatArray = NDArray[np.float64]

SHOWN = 1e-3  # directions nearer to square than this are square


@dataclass(frozen=True, slots=True)
class Bore:
    """Whether a hole may go through a member: greatest hole [m], what is left to the nearer edge [m], verdict."""

    most_m: float
    edge_m: float
    allowed: bool
    doubled: bool  # only where the member is doubled


def bore(rule: Rule, depth_m: float, hole_m: float, edge_m: float | None = None) -> Bore:
    """A hole of this diameter through a member of this depth, ``edge_m`` from its nearer edge (None: centred)."""
    left = (depth_m - hole_m) / 2 if edge_m is None else edge_m
    share, least = rule.figures["hole"].value, rule.figures["edge"].value
    most = min(share * depth_m, depth_m - 2 * least)
    allowed = hole_m <= most + ROUNDING and left >= least - ROUNDING
    doubled = "doubled" in rule.figures and hole_m > rule.figures["doubled"].value * depth_m + ROUNDING
    return Bore(most, left, allowed, allowed and doubled)


def needs_plate(rule: Rule, edge_m: float) -> bool:
    """Whether a concealed pipe this far [m] from a member's face needs a steel plate."""
    return edge_m < rule.figures["edge"].value - ROUNDING


def framing_findings(site: Site, building: Building, pack: Pack, route: Route) -> Iterator[Finding]:
    """New holes against the members entered: they go between, or bore or notch them within the limits."""
    for crossing in route.crossings:
        if crossing.cut and (barrier := barrier_of(building, crossing)) is not None:
            for framing in site.framing:
                od_m = route.kit_in(crossing).pipe.od_m
                if _meets(barrier, framing, od_m / 2):
                    yield from _against(crossing, framing, pack, od_m)


def _meets(barrier: Barrier, framing: Framing, radius_m: float) -> bool:
    """Whether the pipe, between the mouths of its hole, touches the box that the members fill."""
    low, high = _ends(framing)
    at, way = np.asarray(barrier.crossing.point_m, float), np.asarray(barrier.crossing.direction, float)
    half = barrier.thickness_m / 2 * np.abs(way) + radius_m * np.sqrt(np.maximum(1.0 - way**2, 0.0))
    return bool(np.all((at + half >= low - ROUNDING) & (at - half <= high + ROUNDING)))


def _ends(framing: Framing) -> tuple[FloatArray, FloatArray]:
    ends = np.array([framing.corner, np.add(framing.corner, framing.size)], dtype=np.float64)
    return ends.min(axis=0), ends.max(axis=0)


def _against(crossing: Crossing, framing: Framing, pack: Pack, od_m: float) -> Iterator[Finding]:
    runs, axis = np.abs(np.asarray(framing.runs, float)), np.abs(np.asarray(crossing.direction, float))
    size = np.abs(np.asarray(framing.size, float))
    across = [k for k in range(3) if runs[k] < 0.5]
    step = max(across, key=lambda k: size[k])  # the members stand side by side along the longer way
    deep = next(k for k in across if k != step)
    subject = f"{crossing.name}, {framing.name}"
    if axis[step] > 1 - SHOWN:
        yield from _bored(subject, crossing, framing, deep, pack, od_m)
    elif axis[deep] > 1 - SHOWN:
        yield from _between(subject, crossing, framing, step, pack, od_m)
    else:
        yield from stated(
            pack, "framing.miss", subject, Verdict.ASK, note="the pipe runs along or askew to the members"
        )


def _between(
    subject: str, crossing: Crossing, framing: Framing, step: int, pack: Pack, od_m: float
) -> Iterator[Finding]:
    """Beside the nearest member; a member that is met is cut through."""
    at = crossing.point_m[step]
    gaps = (max(float(body.low[step]) - at, at - float(body.high[step])) for body in members(framing))
    beside = min(gaps, default=math.inf) - od_m / 2
    note = "" if beside >= -ROUNDING else "it would cut a member through"
    yield from at_least(pack, "framing.miss", subject, beside, 0.0, "m", note=note)
    if beside >= -ROUNDING:
        yield from _shielded(pack, subject, beside)


def _shielded(pack: Pack, subject: str, beside_m: float) -> Iterator[Finding]:
    """A pipe nearer than this to the face of a member wants a steel plate where it is concealed."""
    for rule in pack.of("shield"):
        edge, plate = rule.figures["edge"], rule.figures["plate"]
        note = (
            f"is the pipe concealed here? Then steel {plate.value / INCH_M:.4f} in thick"
            if needs_plate(rule, beside_m)
            else ""
        )
        yield from at_least(
            pack, rule.id, subject, beside_m, edge.value, "m", note=note, evidence=edge.evidence, ask=True
        )


def _bored(subject: str, crossing: Crossing, framing: Framing, deep: int, pack: Pack, od_m: float) -> Iterator[Finding]:
    """Through the members: a hole within its edges, else a notch."""
    low = min(framing.corner[deep], framing.corner[deep] + framing.size[deep])
    centre = crossing.point_m[deep] - low
    edge = min(centre, framing.depth_m - centre) - od_m / 2
    if edge < -ROUNDING:
        yield from _notched(subject, framing, pack, od_m, od_m + edge)
        return
    rule = pack.rule("framing.stud" if framing.kind == "stud" else "framing.joist")
    if rule is None:
        return
    found = bore(rule, framing.depth_m, od_m, edge)
    depth, doubled = framing.depth_m, rule.figures.get("doubled")
    if doubled is not None and (found.doubled or od_m <= doubled.value * depth + ROUNDING):
        note, most, evidence = "more than this only in doubled members", doubled.value * depth, doubled.evidence
    else:
        note, most, evidence = "", found.most_m, rule.figures["hole"].evidence
    ask = found.doubled
    yield from at_most(pack, rule.id, f"{subject}: hole", od_m, most, "m", note=note, evidence=evidence, ask=ask)
    least = rule.figures["edge"]
    yield from at_least(pack, rule.id, f"{subject}: edge", edge, least.value, "m", evidence=least.evidence)
    yield from _shielded(pack, subject, edge)


def _notched(subject: str, framing: Framing, pack: Pack, od_m: float, into_m: float) -> Iterator[Finding]:
    """The pipe breaks out of a member's edge. No figure lets a pipe notch a stud."""
    rule = None if framing.kind == "stud" else pack.rule("framing.joist-notch")
    if into_m <= ROUNDING:
        yield from at_least(pack, "framing.miss", subject, -into_m, 0.0, "m", note="past the members' edges")
    elif rule is None:
        note = "it would cut through a member's edge"
        yield from at_least(pack, "framing.miss", subject, -into_m, 0.0, "m", note=note)
    else:
        deep, long = rule.figures["depth"], rule.figures["length"]
        depth = framing.depth_m
        most = deep.value * depth
        yield from at_most(pack, rule.id, f"{subject}: depth", into_m, most, "m", evidence=deep.evidence)
        yield from at_most(pack, rule.id, f"{subject}: length", od_m, long.value * depth, "m", evidence=long.evidence)
        note = "is it outside the middle third of the span?"
        yield from stated(pack, rule.id, f"{subject}: place", Verdict.ASK, note=note)
