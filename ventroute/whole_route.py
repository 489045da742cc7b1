"""Whether a route is whole: from this collar, of these parts, turned by fittings that exist, its parts along its runs.

No rule pack says so: these are the product's own demands. A drawn route, or a plan read back, may break them; a planned
route is held against them too before it is offered.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np

from ventroute.catalog.lookup import Catalog, kits
from ventroute.constants import MEET_M
from ventroute.model.parts import Bend, Kit
from ventroute.model.plan import Finding, Verdict
from ventroute.model.route import Part, PartKind, Route
from ventroute.model.site import Site
from ventroute.model.source import Grade
from ventroute.rules.clause import ROUNDING

STRAIGHT_DEG = 0.01  # off the way that the collar faces: what is drawn in sixteenths over a foot is not less
SLACK_DEG = 1e-4
UPRIGHT = 0.7  # rise over length from which water runs back over the step of a change; own choice, sin 45 deg
OWN = "geometry of the route"


def with_catalog_kit(route: Route, site: Site, catalog: Catalog) -> Route | str:
    """The route with the catalog's own parts of its material and size: what a file says of them is not believed.

    Where the catalog has none, why not: nothing could be held against what the file says.
    """
    material, start = site.appliance.collar_material, site.appliance.collar_size_in
    ours: list[Kit] = []
    for kit in route.kits:
        found = kits(catalog, kit.material.name, kit.size_in, material, start)
        if isinstance(found, str):
            return found
        ours.append(found)
        material, start = kit.material.name, kit.size_in
    return replace(route, kit=ours[-1], smaller=ours[0] if len(ours) > 1 else None)


def whole_findings(site: Site, catalog: Catalog, route: Route) -> tuple[Finding, ...]:
    """From the collar, the way it faces, by turns that fittings make, its parts where its runs are."""
    return (*_at_collar(site, route), *_turns(catalog, route), _agreement(route), *_growth(site, route))


def _own(rule: str, subject: str, measured: float, limit: float, unit: str, note: str) -> Finding:
    verdict = Verdict.PASS if measured <= limit + ROUNDING else Verdict.FAIL
    return Finding(rule, OWN, Grade.PRACTICE, subject, measured, limit, unit, verdict, limit - measured, note)


def _degrees(a: np.ndarray, b: np.ndarray) -> float:
    return math.degrees(math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b)))


def _bends(route: Route) -> dict[str, Bend]:
    return {bend.item: bend for kit in route.kits for bend in kit.bends}


def _at_collar(site: Site, route: Route) -> Iterator[Finding]:
    start, end = np.asarray(route.runs[0].start_m), np.asarray(route.runs[0].end_m)
    away = float(np.linalg.norm(start - np.asarray(site.appliance.collar_m)))
    yield _own("route.collar", "start", away, MEET_M, "m", "the route starts at the collar")
    off = _degrees(end - start, np.asarray(site.appliance.faces))
    yield _own("route.collar", "run 1", off, STRAIGHT_DEG, "deg", "the first run leaves the way the collar faces")


def _turns(catalog: Catalog, route: Route) -> Iterator[Finding]:
    """Every bend turns what it is made for, within the give of its joints."""
    bends = _bends(route)
    made = ", ".join(f"{angle:g}" for angle in sorted({bend.angle_deg for bend in bends.values()}))
    for part in route.parts:
        bend = bends.get(part.item)
        if part.kind is not PartKind.ELBOW or bend is None:
            continue
        off = abs((part.angle_deg or 0.0) - bend.angle_deg)
        note = (
            f"turns {part.angle_deg or 0.0:.2f} deg; fittings of {made} deg are made, and their joints give this much"
        )
        limit = bend.give_deg + SLACK_DEG
        found = _own("route.turn", f"part {part.n}", off, limit, "deg", note)
        yield replace(found, source=catalog.cite(bend.evidence), grade=bend.evidence.grade)


def _growth(site: Site, route: Route) -> Iterator[Finding]:
    """Of two sizes: the manual lets the size grow, it grows once, indoors, and what stands before it is the smaller."""
    if route.smaller is None:
        return
    at = route.grows_at or 0
    before, after = route.parts[:at], route.parts[at:]
    changes = [change.item for change in route.kit.start]
    reasons = {
        "the appliance's manual is not entered as letting the size grow": site.appliance.mixed_sizes != "by share",
        "of two materials": route.smaller.material.name != route.kit.material.name,
        "the size does not grow": route.smaller.size_in >= route.kit.size_in,
        "the smaller size stands after the larger": any(route.kit_of(part) is route.smaller for part in after),
        "no coupling of the smaller size takes the change": not before or before[-1].kind is not PartKind.COUPLING,
        "its increasers are not those from the one size to the other": (
            not changes or [part.item for part in after[: len(changes)]] != changes
        ),
        "the change stands outdoors": not after or after[0].space == "outdoors",
    }
    said = "; ".join(words for words, so in reasons.items() if so)
    verdict = Verdict.FAIL if said else Verdict.PASS
    note = said or "the size grows once on the way, and shrinks nowhere"
    yield Finding("route.size", OWN, Grade.PRACTICE, "all parts", None, None, "", verdict, None, note)
    drains_back = site.appliance.condensing and site.appliance.falls_to == "appliance"
    if drains_back and after and _rise(after[0]) < UPRIGHT:
        note = "the larger pipe's bottom lies below the smaller's: does this increaser let the water run back past it?"
        subject = f"part {after[0].n} ({after[0].kind})"
        yield Finding("route.size", OWN, Grade.PRACTICE, subject, None, None, "", Verdict.ASK, None, note)


def _rise(part: Part) -> float:
    """Rise over length of a straight part."""
    return (part.end_m[2] - part.start_m[2]) / max(math.dist(part.start_m, part.end_m), MEET_M)


def _agreement(route: Route) -> Finding:
    """Corners of runs and of parts are the same; bends and pipes are as long as they are made or cut."""
    elbows = [part for part in route.parts if part.kind is PartKind.ELBOW]
    corners = [route.parts[0].start_m, *(part.corner_m or part.start_m for part in elbows), route.parts[-1].end_m]
    runs = [route.runs[0].start_m, *(run.end_m for run in route.runs)]
    joined = [math.dist(a.end_m, b.start_m) for a, b in pairwise(route.runs)]
    off = [math.dist(a, b) for a, b in zip(corners, runs, strict=len(corners) == len(runs))]
    off += [*joined, math.dist(route.terminal_m, route.parts[-1].end_m), *_lengths_off(route)]
    note = "the parts lie along the runs, as long as they are"
    if len(corners) != len(runs) or not _nominal(route):
        other = "bends and runs do not belong together"
        return Finding("route.parts", OWN, Grade.PRACTICE, "all parts", None, None, "", Verdict.FAIL, None, other)
    return _own("route.parts", "all parts", max(off), 10 * MEET_M, "m", note)


def _nominal(route: Route) -> bool:
    """Every bend is counted as the bend it is."""
    bends = {item: bend.angle_deg for item, bend in _bends(route).items()}
    elbows = (part for part in route.parts if part.kind is PartKind.ELBOW)
    return all(bends.get(part.item, part.nominal_deg) == part.nominal_deg for part in elbows)


def _lengths_off(route: Route) -> Iterator[float]:
    bends = _bends(route)
    for part in route.parts:
        if part.kind is PartKind.PIPE:
            yield abs(math.dist(part.start_m, part.end_m) - (part.cut_m or 0.0))
        elif part.item in bends:
            yield from _bend_off(part, bends[part.item])


def _bend_off(part: Part, bend: Bend) -> Iterator[float]:
    corner = part.corner_m or part.start_m
    yield abs(math.dist(part.start_m, corner) - bend.laying_m - (bend.spigot_m or 0.0))
    yield abs(math.dist(part.end_m, corner) - bend.laying_m)
