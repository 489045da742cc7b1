"""Small houses and a made-up kit for the solver's tests. All invented."""

from __future__ import annotations

import numpy as np

from ventroute.layout.building import build
from ventroute.model.appliance import Appliance, SizeLimit, Want
from ventroute.model.parts import Bend, Coupling, Kit, Material, PipeStock, TerminalFitting
from ventroute.model.site import Cut, Envelope, Hole, Obstacle, Place, Room, Site
from ventroute.model.source import Evidence, Grade
from ventroute.solve.problem import Problem, Weights
from ventroute.solve.search import LinkResult, Search
from ventroute.solve.together import together

MADE_UP = Evidence("invented", Grade.INVENTED)
IN, FT = 0.0254, 0.3048
# D3311 drainage bends, 3 in: quarter bend 3 1/16, eighth 1 3/4, sixteenth 15/16; socket 1 1/2, hub 4 (memory, second-hand)
LAYING_IN = {90.0: 3.0625, 45.0: 1.75, 22.5: 0.9375}
TABLE_FT = {90.0: 5.0, 45.0: 2.5, 22.5: 1.25}
UP, EAST, NORTH = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)


def kit(angles=(90.0, 45.0, 22.5), street=True) -> Kit:
    """3 in drainage pattern."""
    stuff = Material("PVC", "II A", 65.0, 60.0, 5.4e-5, 0.16, 0.9, 1.5e-6, "cemented", MADE_UP)
    pipe = PipeStock("pipe-pvc-40-3", "PVC", "40", 3.0, 3.5 * IN, 3.042 * IN, (10 * FT,), 2.1, True, MADE_UP)
    ends = [None, 1.5 * IN] if street else [None]
    bends = [
        Bend(f"elbow-{a:g}{'-street' if s else ''}", "PVC", 3.0, "drainage", a, LAYING_IN[a] * IN, 1.5 * IN, 4 * IN, 2.5, s, MADE_UP)
        for s in ends
        for a in angles
    ]  # fmt: skip
    screens = tuple(TerminalFitting(f"screen-{k}", "PVC", 3.0, k, "screen", MADE_UP) for k in ("roof", "wall"))
    return Kit(
        stuff, "40", 3.0, pipe, tuple(bends), Coupling("c", "PVC", 3.0, 2e-3, 1.5 * IN, 4 * IN, MADE_UP), (), screens
    )


def limit(angles=(90.0, 45.0, 22.5)) -> SizeLimit:
    """100 ft; a 90 counts 5 ft, a 45 half, a 22 1/2 a quarter."""
    a = {k: v * FT for k, v in TABLE_FT.items() if k in angles}
    return SizeLimit(3.0, 100 * FT, elbow_90_m=a.get(90.0), elbow_45_m=a.get(45.0), elbow_22_m=a.get(22.5))


def appliance(collar, faces=UP, pitch=1 / 48, angles=(90.0, 45.0, 22.5)) -> Appliance:
    """A condensing appliance."""
    return Appliance(
        "made up",
        "natural gas",
        30e3,
        "IV",
        "direct",
        60.0,
        50.0,
        ("PVC",),
        3.0,
        None,
        collar,
        faces,
        (limit(angles),),
        pitch,
    )


def two_rooms(
    collar,
    hole,
    *,
    size=(4.0, 4.0, 2.6),
    obstacles=(),
    faces=UP,
    pitch=1 / 48,
    angles=(90.0, 45.0, 22.5),
    cuts=(),
    want=None,
) -> Site:
    """A room with a hole in its ceiling at `hole` (x, y), a loft above it, and a hole in the flat roof straight above."""
    x, y, z = size
    floor = ((0.0, 0.0), (x, 0.0), (x, y), (0.0, y))
    outside = ((-0.2, -0.2), (x + 0.2, -0.2), (x + 0.2, y + 0.2), (-0.2, y + 0.2))
    boxes = tuple(
        Obstacle(f"box {i}", corner=tuple(a), size=tuple(np.subtract(b, a))) for i, (a, b) in enumerate(obstacles)
    )
    holes = (
        Hole("ceiling", (*hole, z + 0.1), UP, 0.15, ("room", "loft")),
        Hole("roof", (*hole, z + 1.7), UP, 0.15, ("loft", "outdoors")),
    )
    return Site(
        "made up",
        Place(),
        Envelope(outside, -0.1, z + 1.8),
        appliance(collar, faces, pitch, angles),
        (Room("room", floor, 0.0, z), Room("loft", floor, z + 0.2, z + 1.6)),
        holes=() if cuts else holes,
        cuts=tuple(cuts),
        obstacles=boxes,
        want=want or Want(),
    )


def wall_cut(low, high, through=("room", "outdoors"), axis=NORTH) -> Cut:
    """A cut between two corners."""
    return Cut("wall", through, tuple(low), tuple(np.subtract(high, low)), axis)


def problem(site: Site, angles=(90.0, 45.0, 22.5), street=True) -> Problem:
    """The made-up kit in a site."""
    return Problem(build(site), kit(angles, street), limit(angles), site.appliance, site.want, {})


def by_length(p: Problem) -> Weights:
    """Equivalent length."""
    return Weights("length", 1.0, {a: p.limit.equivalent_m(a) for a in p.elbows})


def result_of(search: Search) -> LinkResult:
    """What a search finds by itself."""
    together([search.steps()])
    return search.result
