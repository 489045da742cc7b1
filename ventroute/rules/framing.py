"""Bored and notched members, and pipes near their faces."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.model.plan import Finding, Verdict
from ventroute.model.route import Crossing, Route
from ventroute.model.site import Framing, Site
from ventroute.rules.clause import ROUNDING
from ventroute.rules.pack import Pack, Rule
from ventroute.rules.verdict import stated

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


def cavity_left_m(depth_m: float, outside_m: float) -> float:
    """Room left between both faces of a wall [m] beside a pipe or hub; none is not enough, it touches both."""
    return depth_m - outside_m


def framing_findings(site: Site, pack: Pack, route: Route) -> Iterator[Finding]:
    """New holes against the members entered: they go between, or bore them within the limits."""
    for crossing in route.crossings:
        for framing in site.framing if crossing.cut else ():
            if _inside(crossing, framing):
                yield from _against(crossing, framing, pack, route.kit.pipe.od_m)


def _inside(crossing: Crossing, framing: Framing) -> bool:
    ends = np.array([framing.corner, np.add(framing.corner, framing.size)], dtype=np.float64)
    low, high = ends.min(axis=0), ends.max(axis=0)
    axis, at = np.abs(np.asarray(crossing.direction)), np.asarray(crossing.point_m)
    within = (at >= low - ROUNDING) & (at <= high + ROUNDING)
    return bool(np.all(within | (axis > 1 - SHOWN)))


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
    low = min(framing.corner[step], framing.corner[step] + framing.size[step])
    off = crossing.point_m[step] - low - framing.offset_m
    beside = abs(off - round(off / framing.spacing_m) * framing.spacing_m) - framing.width_m / 2 - od_m / 2
    verdict = Verdict.PASS if beside >= -ROUNDING else Verdict.FAIL
    note = f"{beside * 1000:.0f} mm beside the nearest member" if beside >= 0 else "it would cut a member through"
    yield from stated(pack, "framing.miss", subject, verdict, note=note)
    for rule in pack.of("shield") if verdict is Verdict.PASS and needs_plate_between(pack, beside) else ():
        yield from stated(pack, rule.id, subject, Verdict.ASK, note="is the pipe concealed here?")


def needs_plate_between(pack: Pack, beside_m: float) -> bool:
    """Whether any shield rule of the pack asks for a plate this near to a member."""
    return any(needs_plate(rule, beside_m) for rule in pack.of("shield"))


def _bored(subject: str, crossing: Crossing, framing: Framing, deep: int, pack: Pack, od_m: float) -> Iterator[Finding]:
    rule = pack.rule("framing.stud" if framing.kind == "stud" else "framing.joist")
    if rule is None:
        return
    low = min(framing.corner[deep], framing.corner[deep] + framing.size[deep])
    centre = crossing.point_m[deep] - low
    edge = min(centre, framing.depth_m - centre) - od_m / 2
    result = bore(rule, framing.depth_m, od_m, edge)
    verdict = Verdict.ASK if result.doubled else Verdict.PASS if result.allowed else Verdict.FAIL
    note = f"a hole of {od_m * 1000:.0f} mm, {edge * 1000:.0f} mm from the edge; at most {result.most_m * 1000:.0f} mm"
    yield from stated(pack, rule.id, subject, verdict, note=note)
