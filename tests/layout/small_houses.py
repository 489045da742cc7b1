"""Small houses for the tests, in metres. Invented."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ventroute.layout.building import Building, build
from ventroute.model.appliance import Appliance, SizeLimit, Want
from ventroute.model.site import Cut, Envelope, Hole, Obstacle, Place, Roof, Room, Site

APPLIANCE = Appliance(
    name="water heater",
    fuel="natural gas",
    input_W=35_000,
    category="IV",
    vent_style="non-direct",
    exhaust_max_degC=65,
    exhaust_usual_degC=60,
    materials=("PVC",),
    collar_size_in=3.0,
    collar_material=None,
    collar_m=(1.0, 1.0, -1.0),
    faces=(0.0, 0.0, 1.0),
    sizes=(SizeLimit(3.0, 12.0),),
)


def box_floor(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float], ...]:
    """A rectangle, counter-clockwise."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def gable(x0: float, y0: float, x1: float, y1: float, eave: float, ridge: float, over: float = 0.3) -> tuple[Roof, ...]:
    """Two slopes with the ridge along x; ``eave`` is the outer z above the walls, edges ``over`` beyond them."""
    middle = (y0 + y1) / 2
    low = eave - over * (ridge - eave) / (middle - y0)
    a, b = x0 - over, x1 + over
    south = ((a, y0 - over, low), (b, y0 - over, low), (b, middle, ridge), (a, middle, ridge))
    north = ((a, middle, ridge), (b, middle, ridge), (b, y1 + over, low), (a, y1 + over, low))
    return Roof("south slope", south, 0.2), Roof("north slope", north, 0.2)


def gabled_site(**changes: object) -> Site:
    """A basement, a closet over it, and an attic under a gable; 8 m x 6 m outside, walls 0.2 m."""
    site = Site(
        name="test house",
        place=Place(),
        building=Envelope(box_floor(0, 0, 8, 6), -2.5, None),
        appliance=APPLIANCE,
        rooms=(
            Room("utility", box_floor(0.2, 0.2, 5, 5), -2.4, -0.1),
            Room("closet", box_floor(0.5, 0.5, 2, 2), 0.1, 2.6),
            Room("attic", box_floor(0.2, 0.2, 7.8, 5.8), 2.8, None, heated=False),
        ),
        roofs=gable(0, 0, 8, 6, 3.0, 5.0),
        holes=(
            Hole("first floor", (1.0, 1.0, -0.05), (0, 0, 1.0), 0.15, ("utility", "closet")),
            Hole("ceiling", (1.0, 1.0, 2.7), (0, 0, -1.0), 0.15, ("closet", "attic")),
            Hole("roof", (1.0, 1.0, 4.0), (0, 0, 1.0), 0.15, ("attic", "outdoors")),
        ),
        want=Want(),
    )
    return replace(site, **changes)  # type: ignore[arg-type]


def boxes_site(rooms: Sequence[Room], **changes: object) -> Site:
    """Rooms inside a flat-topped block, 20 m x 20 m, from z = -3 to 4."""
    site = Site(
        name="block",
        place=Place(),
        building=Envelope(box_floor(-10, -10, 10, 10), -3.0, 4.0),
        appliance=APPLIANCE,
        rooms=tuple(rooms),
    )
    return replace(site, **changes)  # type: ignore[arg-type]


def wall_cut(name: str, through: tuple[str, str], low: Sequence[float], high: Sequence[float], axis: object) -> Cut:
    """A cut by its corners."""
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    return Cut(name, through, tuple(low), size, axis)  # type: ignore[arg-type]


GAP = 0.0254
HALL = Room("hall", box_floor(-5, -5, 5, 5), -2.9, 3.9)


def hall(*things: Obstacle, **changes: object) -> Building:
    """One large room with obstacles; the collar out of the way in a corner."""
    site = boxes_site([HALL], obstacles=things, appliance=replace(APPLIANCE, collar_m=(-4.9, -4.9, 3.0)))
    return build(replace(site, **changes))  # type: ignore[arg-type]


def box(
    name: str, low: tuple[float, float, float], high: tuple[float, float, float], gap: float | None = None
) -> Obstacle:
    """A box by its corners."""
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    return Obstacle(name, gap, low, size)  # type: ignore[arg-type]
