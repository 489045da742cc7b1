"""Clauses about things beside the terminal: openings, regulators, walkways, decks, neighbours, corners, lot lines.

Distances are straight ones, also round a corner of the house: never more than the way the gas would go.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polygon import convex_parts
from ventroute.geometry.polytope import Polytope
from ventroute.model.site import Feature
from ventroute.model.source import Evidence
from ventroute.rules.clause import Clause, Way
from ventroute.rules.pack import Rule, in_band
from ventroute.rules.scene import Scene, Surface, corners
from ventroute.rules.shapes import around_box, box_gap, rectangle, ring_gap, upright

FloatArray = NDArray[np.float64]
LEAST_EAVE_M = 0.01  # a roof that reaches no farther beyond the walls has no soffit

Maker = Callable[[Rule, Scene], Iterator[Clause]]


def beside(rule: Rule, scene: Scene, low: FloatArray, high: FloatArray, limit_m: float, evidence: Evidence) -> Way:
    """Level distance from a box to the end."""
    across = scene.across_m(rule)
    return Way("beside", lambda p: box_gap(low[:2], high[:2], p[:, :2]) - across, limit_m, evidence)


def above(rule: Rule, scene: Scene, level_m: float, limit_m: float, evidence: Evidence) -> Way:
    """Rise of the end's lowest point over a level."""
    upward = scene.upward_m(rule)
    return Way("above", lambda p: p[:, 2] - upward - level_m, limit_m, evidence)


def below(rule: Rule, scene: Scene, level_m: float, limit_m: float, evidence: Evidence) -> Way:
    """Drop of the end's highest point under a level."""
    upward = scene.upward_m(rule)
    return Way("below", lambda p: level_m - p[:, 2] - upward, limit_m, evidence)


def around(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Straight distance from the feature, every way."""
    limit, across = rule.figures["distance"], scene.across_m(rule)
    for feature, low, high in _boxes(rule, scene):
        way = Way("straight", _straight(low, high, across), limit.value, limit.evidence)
        yield Clause(rule, feature.label, (way,), (around_box(low, high, limit.value + across),))


def any_way_out(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Far enough below, beside or above: one of them is enough."""
    down, side, up = (rule.figures[name] for name in ("below", "beside", "above"))
    tall = scene.upward_m(rule)
    for feature, low, high in _boxes(rule, scene):
        ways = (
            below(rule, scene, low[2], down.value, down.evidence),
            beside(rule, scene, low, high, side.value, side.evidence),
            above(rule, scene, high[2], up.value, up.evidence),
        )
        ends = (low[2] - down.value - tall, high[2] + up.value + tall)
        yield Clause(rule, feature.label, ways, _column(rule, scene, low, high, side.value, *ends))


def rise_near(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Within a level distance of the feature, high enough above it."""
    side, up = rule.figures["within"], rule.figures["above"]
    for feature, low, high in _boxes(rule, scene):
        ways = (
            beside(rule, scene, low, high, side.value, side.evidence),
            above(rule, scene, high[2], up.value, up.evidence),
        )
        ends = (scene.floor_m, high[2] + up.value + scene.upward_m(rule))
        yield Clause(rule, feature.label, ways, _column(rule, scene, low, high, side.value, *ends))


def column(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """A column over the feature, about the upright line through its middle."""
    side, up, tall = rule.figures["beside"], rule.figures["above"], scene.upward_m(rule)
    for feature, low, high in _boxes(rule, scene):
        middle = (low + high) / 2
        ways = (
            beside(rule, scene, middle, middle, side.value, side.evidence),
            below(rule, scene, low[2], 0.0, side.evidence),
            above(rule, scene, high[2], up.value, up.evidence),
        )
        ends = (low[2] - tall, high[2] + up.value + tall)
        yield Clause(rule, feature.label, ways, _column(rule, scene, middle, middle, side.value, *ends))


def beneath(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Under a floor: far enough below its underside, and only where enough sides are open."""
    gap, sides = rule.figures["gap"], rule.figures["sides"]
    for feature, low, high in _boxes(rule, scene):
        ways = [
            beside(rule, scene, low, high, 0.0, rule.evidence),
            above(rule, scene, high[2], 0.0, rule.evidence),
        ]
        bottom, note = scene.floor_m, _open_note(feature, sides.value)
        if not note:
            ways.append(below(rule, scene, low[2], gap.value, gap.evidence))
            bottom = low[2] - gap.value - scene.upward_m(rule) - 2e-6
        cover = _column(rule, scene, low, high, 0.0, bottom, high[2] + scene.upward_m(rule))
        yield Clause(rule, feature.label, tuple(ways), cover, note=note)


def on_top(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Over a floor that carries snow: above floor and snow."""
    up, snow, tall = rule.figures["above"], scene.site.place.snow_m, scene.upward_m(rule)
    for feature, low, high in _boxes(rule, scene):
        ways = (
            beside(rule, scene, low, high, 0.0, rule.evidence),
            below(rule, scene, high[2], 0.0, rule.evidence),
            above(rule, scene, high[2], snow + up.value, up.evidence),
        )
        ends = (high[2] - tall, high[2] + snow + up.value + tall)
        yield Clause(rule, feature.label, ways, _column(rule, scene, low, high, 0.0, *ends))


def facing(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """In front of a neighbour's opening, unless far enough off, above or below."""
    side, up, down = (rule.figures[name] for name in ("beside", "above", "below"))
    across, tall = scene.across_m(rule), scene.upward_m(rule)
    for feature, low, high in _boxes(rule, scene):
        ways = [
            beside(rule, scene, low, high, side.value, side.evidence),
            above(rule, scene, high[2], up.value, up.evidence),
            below(rule, scene, low[2], down.value, down.evidence),
        ]
        ends = (low[2] - down.value - tall, high[2] + up.value + tall)
        cover = _column(rule, scene, low, high, side.value, *ends)
        if feature.faces is not None:
            look = np.asarray(feature.faces, float)
            front = float(np.minimum(low * look, high * look).sum())
            ways.append(Way("behind it", _behind(look, front - across), 0.0, rule.evidence))
            cover = tuple(body for piece in cover if (body := piece.clip(-look, across - front)) is not None)
        yield Clause(rule, feature.label, tuple(ways), cover)


def over(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Over the feature, however high."""
    for feature, low, high in _boxes(rule, scene):
        way = beside(rule, scene, low, high, 0.0, rule.evidence)
        cover = _column(rule, scene, low, high, 0.0, scene.floor_m, scene.ceiling_m)
        yield Clause(rule, feature.label, (way,), cover)


def height_beside(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Beside or over the feature: high enough above its top."""
    side, up = rule.figures["beside"], rule.figures["height"]
    for feature, low, high in _boxes(rule, scene):
        level = max(float(high[2]), scene.site.place.grade_m)
        ways = (
            beside(rule, scene, low, high, side.value, side.evidence),
            above(rule, scene, level, up.value, up.evidence),
        )
        ends = (scene.floor_m, level + up.value + scene.upward_m(rule))
        yield Clause(rule, feature.label, ways, _column(rule, scene, low, high, side.value, *ends))


def under_eaves(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Below a soffit, entered or found from the roofs, and not far enough to its side."""
    side, tall = rule.figures["beside"], scene.upward_m(rule)
    for feature, low, high in _boxes(rule, scene):
        ways = (
            beside(rule, scene, low, high, side.value, side.evidence),
            above(rule, scene, high[2], 0.0, rule.evidence),
        )
        cover = _column(rule, scene, low, high, side.value, scene.floor_m, high[2] + tall)
        yield Clause(rule, feature.label, ways, cover)
    walls = np.array(scene.site.building.footprint, dtype=np.float64)
    for surface in scene.surfaces if "soffit, vented" in rule.features else ():
        if float(ring_gap(walls, surface.outline).max()) > LEAST_EAVE_M:
            yield _eave(rule, scene, surface)


def inside_corner(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Near an upright corner of the footprint that is hollow seen from outside."""
    yield from _corners(rule, scene, hollow=True)


def outside_corner(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Near an upright corner of the footprint that stands out."""
    yield from _corners(rule, scene, hollow=False)


def under_building(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Beneath a building that stands clear of the ground."""
    envelope, tall, across = scene.site.building, scene.upward_m(rule), scene.across_m(rule)
    if envelope.bottom_m <= scene.site.place.grade_m:
        return
    outline = np.array(envelope.footprint, dtype=np.float64)
    ways = (
        Way("beside", lambda p: ring_gap(outline, p[:, :2]) - across, 0.0, rule.evidence),
        above(rule, scene, envelope.bottom_m, 0.0, rule.evidence),
    )
    ends = (scene.floor_m, envelope.bottom_m + tall + 1e-6)
    yield Clause(rule, "under the building", ways, tuple(upright(c, across, *ends) for c in convex_parts(outline)))


def keep_out(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Boxes where the person wants no terminal."""
    across = scene.across_m(rule)
    for box in scene.site.keep_outs:
        if box.applies in ("terminal", "both"):
            ends = np.array([box.corner, np.add(box.corner, box.size)], dtype=np.float64)
            low, high = ends.min(axis=0), ends.max(axis=0)
            way = Way("straight", _straight(low, high, across), 0.0, rule.evidence)
            yield Clause(rule, box.name, (way,), (around_box(low, high, max(across, 1e-6)),))


MAKERS: Mapping[str, Maker] = {
    "around": around, "any way out": any_way_out, "rise near": rise_near, "column": column, "beneath": beneath,
    "on top": on_top, "facing": facing, "over": over, "height beside": height_beside, "under eaves": under_eaves,
    "inside corner": inside_corner, "outside corner": outside_corner, "under building": under_building,
    "keep out": keep_out,
}  # fmt: skip


def by_pressure(rule: Rule, scene: Scene, make: Maker) -> Iterator[Clause]:
    """Clauses of a rule that depends on the gas pressure, of each feature by its own.

    Where it was not given the figure for low pressure holds, and a person is asked about that for high pressure.
    """
    band = rule.when.pressure_Pa
    if band == (None, None):
        yield from make(rule, scene)
        return
    for feature in scene.features(*rule.features):
        alone = replace(scene, site=replace(scene.site, features=(feature,)))
        if feature.pressure_Pa is None:
            for clause in make(rule, alone):
                yield replace(clause, ask=band[0] is not None, note="the gas pressure was not given")
        elif in_band(feature.pressure_Pa, band):
            yield from make(rule, alone)


def _boxes(rule: Rule, scene: Scene) -> Iterator[tuple[Feature, FloatArray, FloatArray]]:
    for feature in scene.features(*rule.features):
        yield feature, *corners(feature)


def _column(
    rule: Rule, scene: Scene, low: FloatArray, high: FloatArray, reach_m: float, bottom_m: float, top_m: float
) -> tuple[Polytope, ...]:
    return (upright(rectangle(low, high), reach_m + scene.across_m(rule), bottom_m, max(top_m, bottom_m + 1e-6)),)


def _straight(low: FloatArray, high: FloatArray, across_m: float) -> Callable[[FloatArray], FloatArray]:
    return lambda p: box_gap(low, high, p) - across_m


def _behind(look: FloatArray, front_m: float) -> Callable[[FloatArray], FloatArray]:
    return lambda p: front_m - p @ look


def _open_note(feature: Feature, wanted: float) -> str:
    if feature.open_sides is None:
        return "its open sides were not given, so nothing may end beneath it"
    return f"open on {feature.open_sides} sides; {wanted:.0f} are asked" if feature.open_sides < wanted else ""


def _eave(rule: Rule, scene: Scene, surface: Surface) -> Clause:
    side, across = rule.figures["beside"], scene.across_m(rule)
    ways = (
        Way("beside", lambda p: ring_gap(surface.outline, p[:, :2]) - across, side.value, side.evidence),
        Way("above", lambda p: p[:, 2] - surface.top_m, 0.0, rule.evidence),
    )
    ends = (scene.floor_m, surface.top_m + 1e-6)
    cover = tuple(upright(part, side.value + across, *ends) for part in convex_parts(surface.outline))
    return Clause(rule, f"eaves of {surface.name}", ways, cover)


def _corners(rule: Rule, scene: Scene, *, hollow: bool) -> Iterator[Clause]:
    ring, limit = np.array(scene.site.building.footprint, dtype=np.float64), rule.figures["distance"]
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turns = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    for n, at in enumerate(ring, 1):
        if turns[n - 1] < 0 if hollow else turns[n - 1] > 0:
            way = beside(rule, scene, at, at, limit.value, limit.evidence)
            cover = _column(rule, scene, at, at, limit.value, scene.floor_m, scene.ceiling_m)
            yield Clause(rule, f"corner {n} of the footprint", (way,), cover)
