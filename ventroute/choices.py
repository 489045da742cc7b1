"""Which routes to offer, in what order, why, and what to say of those that failed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from ventroute.constants import INCH_M
from ventroute.model.plan import Finding, PlannedRoute, Rejected, Verdict
from ventroute.model.route import PartKind, Route
from ventroute.units import format_length, format_size

MOST_ROUTES = 12
_SAME_M = 1e-6
_LEAST_M = INCH_M / 32  # what a sixteenth rounds to nothing


def fittings(route: Route) -> int:
    """What `prefer = "fittings"` counts: bends, couplings, increasers, reducers and adapters; not pipe or terminal.

    Each is a thing to buy with joints of its own to make; a terminal every route has.
    """
    return sum(part.kind not in (PartKind.PIPE, PartKind.TERMINAL) for part in route.parts)


def group(planned: PlannedRoute) -> tuple[str, float, str, float]:
    """Material, size and terminal kind, and the size it grows from on the way (0: none)."""
    route = planned.route
    return (
        route.kit.material.name,
        route.kit.size_in,
        route.terminal_kind,
        route.smaller.size_in if route.smaller else 0.0,
    )


def _measures(planned: PlannedRoute) -> tuple[float, tuple[int, float], int, int]:
    """Length, cost (a bill with fewer unknown prices first), fittings, new holes."""
    route = planned.route
    cost = (planned.unpriced, round(planned.cost, 2))
    return round(route.equivalent_m, 6), cost, fittings(route), route.new_holes


def _order(planned: PlannedRoute, prefer: str) -> tuple[float, ...]:
    length, cost, parts, holes = _measures(planned)
    first: dict[str, tuple[float, ...]] = {
        "length": (length, parts, *cost), "cost": (*cost, length, parts), "fittings": (parts, length, *cost)
    }  # fmt: skip
    return (*first[prefer], holes)


def chosen(found: Sequence[PlannedRoute], prefer: str) -> tuple[PlannedRoute, ...]:
    """The best of every material, size and terminal kind, and those not beaten in all measures at once.

    At most `MOST_ROUTES`, best first; ties are settled by material, size and kind.
    """
    ranked = sorted(found, key=lambda p: (*_order(p, prefer), group(p)))
    best = list({group(p): p for p in reversed(ranked)}.values())
    others = [p for p in ranked if not any(p is b for b in best) and not _beaten(p, ranked)]
    best.sort(key=lambda p: (*_order(p, prefer), group(p)))
    kept = [*best, *others][:MOST_ROUTES]
    kept.sort(key=lambda p: (*_order(p, prefer), group(p)))
    reasons = [_reason(p, kept) for p in kept]
    return tuple(replace(p, id=str(i), reason=why) for i, (p, why) in enumerate(zip(kept, reasons, strict=True), 1))


def _beaten(planned: PlannedRoute, others: Sequence[PlannedRoute]) -> bool:
    mine = _measures(planned)
    for i, other in enumerate(others):
        theirs = _measures(other)
        no_worse = _no_worse(theirs, mine)
        if other is not planned and no_worse and (theirs != mine or i < others.index(planned)):
            return True
    return False


def _no_worse(these: tuple[Any, ...], those: tuple[Any, ...]) -> bool:
    return all(a <= b for a, b in zip(these, those, strict=True))


def _reason(planned: PlannedRoute, others: Sequence[PlannedRoute]) -> str:
    """Why one would take it, in one line."""
    names = ("least equivalent length", "least cost", "fewest fittings", "fewest new holes")
    mine = _measures(planned)
    wins = [
        name for k, name in enumerate(names) if all(_no_worse(mine[k : k + 1], _measures(o)[k : k + 1]) for o in others)
    ]
    if planned.unpriced or any(planned.cost > o.cost for o in others):  # an unknown price of the others adds to theirs
        wins = [w for w in wins if w != names[1]]
    if mine[3] > 0 or any(_measures(o)[3] > 0 for o in others):
        wins = [w for w in wins if w != names[3] or mine[3] == 0]
    else:
        wins = [w for w in wins if w != names[3]]
    margin = planned.limit_m - planned.route.equivalent_m
    if all(margin >= o.limit_m - o.route.equivalent_m for o in others):
        wins.append("most room under its limit")
    if wins:
        return ", ".join(wins)
    return f"the best way in {named(planned.route)}"


def too_long(route: Route, limit_m: float) -> Rejected | None:
    """Why a route over the manual's greatest equivalent length is rejected, None where it is within."""
    over = route.equivalent_m - limit_m
    if over <= _SAME_M:
        return None
    elbow = max((p.equivalent_m for p in route.parts if p.kind is PartKind.ELBOW), default=0.0)
    enough = "might be enough" if elbow >= over else "would not be enough"
    because = (
        f"{_grown(route)}needs at least {format_length(route.equivalent_m)} equivalent, "
        f"{format_length(over)} over the {format_length(limit_m)} limit; one elbow fewer {enough}"
    )
    return _rejected(route, "length.max", because)


def failed(route: Route, findings: Sequence[Finding]) -> Rejected:
    """Why a route that was found does not comply: its worst finding."""
    worst = next(f for f in findings if f.verdict is Verdict.FAIL)
    words = _too_short(route, worst) if worst.rule == "length.min" else _grown(route) + told(worst)
    return _rejected(route, worst.rule, words)


def _too_short(route: Route, finding: Finding) -> str:
    """A route below the manual's least equivalent length: by how much, and what would lengthen it."""
    least, found = finding.limit or 0.0, finding.measured or 0.0
    short = least - found
    elbow = max((p.equivalent_m for p in route.parts if p.kind is PartKind.ELBOW), default=0.0)
    bends = f", or {math.ceil(short / elbow - _SAME_M)} elbow(s) more at {format_length(elbow)} each" if elbow else ""
    return (
        f"{_grown(route)}comes to {format_length(found)} equivalent, {format_length(short)} short of the "
        f"{format_length(least)} that the appliance needs at least; {format_length(short)} more pipe{bends} would do"
    )


def told(finding: Finding) -> str:
    """A failed finding in words: what it is about, what is asked, what was found and how far off that is."""
    words = f"{finding.subject}: {finding.note or finding.rule}"
    if finding.measured is None or finding.limit is None:
        return words
    found, asked = (_figure(value, finding.unit) for value in (finding.measured, finding.limit))
    off = "" if finding.margin is None else f", {_off(abs(finding.margin), finding.unit)} off"
    return f"{words} (found {found}, limit {asked}{off})"


def _off(margin: float, unit: str) -> str:
    """How far off: what a tape cannot show is still not nothing."""
    if unit == "m" and margin < _LEAST_M:
        return "less than 1/16 in"
    return _figure(margin, unit)


def _figure(value: float, unit: str) -> str:
    if unit == "m":
        return format_length(value)
    return f"{value:.4g}{'' if unit in ('', 'count') else ' ' + unit}"


def named(route: Route) -> str:
    """Size, material and way out: ``3 in PVC to the roof``, ``2 in PVC, then 3 in PVC to the roof``."""
    pipes = ", then ".join(f"{format_size(kit.size_in)} {kit.material.name}" for kit in route.kits)
    return f"{pipes} to the {route.terminal_kind}"


def _grown(route: Route) -> str:
    """What the choice beside it does not say: that the size grows on the way."""
    return f"{named(route)} " if route.smaller else ""


def _rejected(route: Route, rule: str, because: str) -> Rejected:
    kit = route.kit
    return Rejected(kit.material.name, kit.size_in, route.terminal_kind, rule, because, route.equivalent_m)
