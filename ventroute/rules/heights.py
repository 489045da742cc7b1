"""Clauses about height: over the ground, over a roof, over what stands on it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polygon import convex_parts
from ventroute.geometry.polytope import Polytope
from ventroute.model.source import Evidence
from ventroute.rules.clause import Clause, Way
from ventroute.rules.manual import manual_evidence
from ventroute.rules.pack import Figure, Rule
from ventroute.rules.places import Maker, above
from ventroute.rules.scene import Scene, Surface, Thing, standing, steps
from ventroute.rules.shapes import ring_gap, sheared, upright

FloatArray = NDArray[np.float64]

PITCH_ROUNDING = 1e-6  # a 6/12 roof given by its corners is 6/12 but for rounding


def grade(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Over finished ground and the snow on it."""
    figure = rule.figures["height"]
    yield _over_ground(rule, scene, figure.value, figure.evidence)


def grade_manual(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """The same, as high as the appliance's manual asks."""
    appliance = scene.site.appliance
    if appliance.above_grade_m > 0:
        yield _over_ground(rule, scene, appliance.above_grade_m, manual_evidence(appliance, rule))


def rise(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Over the appliance's outlet, so that warm gas draws."""
    figure, outlet = rule.figures["above"], scene.site.appliance.collar_m[2]
    way = above(rule, scene, outlet, figure.value, figure.evidence)
    cover = _under(scene, outlet + figure.value + scene.upward_m(rule))
    yield Clause(rule, "the appliance's outlet", (way,), (cover,))


def roof(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Over a roof's surface at the pipe's upslope edge, and the snow on it."""
    figure = rule.figures["height"]
    for surface in scene.surfaces:
        yield _over_roof(rule, scene, surface, figure.value, figure.evidence)


def roof_manual(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """The same, as high as the appliance's manual asks."""
    appliance = scene.site.appliance
    for surface in scene.surfaces if appliance.above_roof_m > 0 else ():
        yield _over_roof(rule, scene, surface, appliance.above_roof_m, manual_evidence(appliance, rule))


def roof_by_pitch(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """The same, by a table of pitches. A roof steeper than the table has no height that is enough."""
    for surface in scene.surfaces:
        figure = pitch_height(rule, surface.pitch)
        if figure is None:
            note = "the roof is steeper than the table goes"
            ceiling = scene.ceiling_m - surface.at_zero_m + 10 * surface.pitch * scene.ceiling_m
            yield _over_roof(rule, scene, surface, abs(ceiling), rule.evidence, note)
        else:
            yield _over_roof(rule, scene, surface, figure.value, figure.evidence)


def pitch_height(rule: Rule, pitch: float) -> Figure | None:
    """Height of the table's first row that reaches this pitch (rise over run), None where no row does."""
    rows = (line.figures for line in rule.table)
    return next((row["height"] for row in rows if pitch <= row["pitch_to"].value + PITCH_ROUNDING), None)


def roof_parts(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Within a level distance of anything: above it. A slope counts as high as it is within that distance."""
    for thing in standing(scene):
        yield _over_thing(rule, scene, thing, None)
    for surface in scene.surfaces:
        yield _over_part(rule, scene, surface, None)


def roof_walls(rule: Rule, scene: Scene) -> Iterator[Clause]:
    """Near a wall that rises beside the terminal: above every part of the building within a distance."""
    things = [*standing(scene), *steps(scene)]
    lowest = min((float(s.height(s.outline).min()) for s in scene.surfaces), default=scene.floor_m)
    for wall in (thing for thing in things if thing.top_m > lowest):
        near = [_over_thing(rule, scene, thing, wall) for thing in things]
        near += [_over_part(rule, scene, surface, wall) for surface in scene.surfaces]
        yield from (clause for clause in near if clause.cover)  # without one the wall and the part are far apart


MAKERS: Mapping[str, Maker] = {
    "grade": grade, "grade, manual": grade_manual, "roof": roof, "roof, manual": roof_manual,
    "roof by pitch": roof_by_pitch, "roof parts": roof_parts, "roof walls": roof_walls, "rise": rise,
}  # fmt: skip


def _over_ground(rule: Rule, scene: Scene, height_m: float, evidence: Evidence) -> Clause:
    ground, limit = scene.site.place.grade_m, scene.site.place.snow_m + height_m
    way = above(rule, scene, ground, limit, evidence)
    cover = _under(scene, ground + limit + scene.upward_m(rule))
    return Clause(rule, "finished grade" + _snow(scene), (way,), (cover,))


def _under(scene: Scene, top_m: float) -> Polytope:
    """All outdoors below a height."""
    return Polytope.box(scene.low, (*scene.high[:2], max(top_m, scene.floor_m + 1e-6)))


def _snow(scene: Scene) -> str:
    return " and snow" if scene.site.place.snow_m > 0 else ""


@dataclass(frozen=True, slots=True, eq=False)
class _Slab:
    """Heights of the end over a sloping surface. The end's disc takes the slope's rise over its radius."""

    surface: Surface
    across_m: float
    upward_m: float

    @property
    def rise_m(self) -> float:
        return self.across_m * self.surface.pitch

    def over(self, points: FloatArray) -> FloatArray:
        return np.asarray(points[:, 2] - self.upward_m - self.surface.height(points) - self.rise_m)

    def under(self, points: FloatArray) -> FloatArray:
        return np.asarray(self.surface.height(points) - self.rise_m - points[:, 2] - self.upward_m)

    def beside(self, points: FloatArray) -> FloatArray:
        return ring_gap(self.surface.outline, points[:, :2]) - self.across_m


def _over_roof(
    rule: Rule, scene: Scene, surface: Surface, height_m: float, evidence: Evidence, note: str = ""
) -> Clause:
    slab = _Slab(surface, scene.across_m(rule), scene.upward_m(rule))
    limit = height_m + scene.site.place.snow_m
    ways = (
        Way("above", slab.over, limit, evidence),
        Way("beside", slab.beside, 0.0, evidence),
        Way("below", slab.under, 0.0, evidence),
    )
    thick = slab.rise_m + slab.upward_m
    prisms = (upright(part, slab.across_m, -thick - 1e-6, limit + thick) for part in convex_parts(surface.outline))
    cover = tuple(sheared(prism, surface.slope, surface.at_zero_m) for prism in prisms)
    return Clause(rule, surface.name + _snow(scene), ways, cover, note=note)


def _near_wall(rule: Rule, wall: Thing | None) -> Iterator[Way]:
    if wall is not None:
        limit = rule.figures["wall"]
        yield Way(f"beside {wall.name}", wall.gap, limit.value, limit.evidence)


def _over_thing(rule: Rule, scene: Scene, thing: Thing, wall: Thing | None) -> Clause:
    side, up, across = rule.figures["within"], rule.figures["above"], scene.across_m(rule)
    ways = (
        *_near_wall(rule, _shrunk(wall, across)),
        Way("beside", lambda p: thing.gap(p) - across, side.value, side.evidence),
        above(rule, scene, thing.top_m, up.value, up.evidence),
    )
    ends = (scene.floor_m, max(thing.top_m + up.value + scene.upward_m(rule), scene.floor_m + 1e-6))
    cover = tuple(upright(part, side.value + across, *ends) for part in _plan(thing.outline))
    return Clause(rule, thing.name, ways, _near(rule, scene, wall, cover))


def _over_part(rule: Rule, scene: Scene, surface: Surface, wall: Thing | None) -> Clause:
    side, up, across = rule.figures["within"], rule.figures["above"], scene.across_m(rule)
    reach = side.value + across
    slab = _Slab(surface, across, scene.upward_m(rule))
    ways = (
        *_near_wall(rule, _shrunk(wall, across)),
        Way("beside", slab.beside, side.value, side.evidence),
        Way("above", _over_highest(surface, reach, slab.upward_m), up.value, up.evidence),
    )
    top = surface.top_m + up.value + slab.upward_m
    prisms = tuple(upright(part, reach, scene.floor_m, top) for part in convex_parts(surface.outline))
    return Clause(rule, surface.name, ways, _near(rule, scene, wall, prisms))


def _near(rule: Rule, scene: Scene, wall: Thing | None, cover: tuple[Polytope, ...]) -> tuple[Polytope, ...]:
    """The part of a cover that lies near the wall."""
    if wall is None:
        return cover
    reach = rule.figures["wall"].value + scene.across_m(rule)
    about = [upright(part, reach, scene.floor_m, scene.ceiling_m) for part in _plan(wall.outline)]
    return tuple(body for piece in cover for near in about if (body := piece.intersect(near)) is not None)


def _over_highest(surface: Surface, reach_m: float, upward_m: float) -> Callable[[FloatArray], FloatArray]:
    """Height over the highest that a slope can be within a reach: its plane uphill, or its top."""

    def measure(points: FloatArray) -> FloatArray:
        highest = np.minimum(surface.height(points) + reach_m * surface.pitch, surface.top_m)
        return np.asarray(points[:, 2] - upward_m - highest)

    return measure


def _shrunk(wall: Thing | None, across_m: float) -> Thing | None:
    return None if wall is None else _Edge(wall.name, wall.outline, wall.top_m, across_m)


@dataclass(frozen=True, slots=True, eq=False)
class _Edge(Thing):
    """A thing measured to the edge of the end."""

    across_m: float = 0.0

    def gap(self, points: FloatArray) -> FloatArray:
        return np.asarray(Thing.gap(self, points) - self.across_m)


def _plan(outline: FloatArray) -> tuple[FloatArray, ...]:
    return (outline,) if len(outline) == 2 else convex_parts(outline)
