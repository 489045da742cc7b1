"""Where a house without a way out could be given one: new holes through outer walls, or straight up to the roof."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ventroute.model.appliance import Vec3
from ventroute.model.site import Cut, Room, Site

THICKEST_M = 0.75  # of a wall, or a floor with what hangs below it, that is bored through: common practice
INSET_M = 0.15  # from a wall's ends, floor and ceiling, where plates and studs are: common practice
ABOUT_M = 1.0  # round the collar's upright, where a way up is looked for
_SIDES = (("west", 0, -1), ("east", 0, 1), ("south", 1, -1), ("north", 1, 1))
_UP: Vec3 = (0.0, 0.0, 1.0)


def new_openings(site: Site) -> Iterator[tuple[str, tuple[Cut, ...]]]:
    """Openings that could be made, in words, nearest wall first and the way up last; planning says what they are worth.

    Only outer walls, and ceilings with another room or the roof above, no thicker than `THICKEST_M`.
    """
    home = next((room for room in site.rooms if _holds(room, site.appliance.collar_m)), None)
    if home is None:
        return
    walls = [wall for side in _SIDES if (wall := _wall(site, home, *side))]
    for _, words, cut in sorted(walls, key=lambda wall: wall[0]):
        yield words, (cut,)
    up = _way_up(site, home)
    if up:
        names = ", ".join(room for cut in up for room in cut.through[:1])
        yield f"new holes straight up from {names} to outdoors", up


def _reach(room: Room) -> tuple[float, float, float, float]:
    xs, ys = zip(*room.floor, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _holds(room: Room, point: Vec3) -> bool:
    x0, y0, x1, y1 = _reach(room)
    return x0 <= point[0] <= x1 and y0 <= point[1] <= y1 and room.bottom_m <= point[2] <= _ceiling(room)


def _ceiling(room: Room) -> float:
    return math.inf if room.top_m is None else room.top_m


def _wall(site: Site, room: Room, side: str, axis: int, sign: int) -> tuple[float, str, Cut] | None:
    """The distance to an outer wall, what is said of it, and the area where it can be bored; None where it is none."""
    x0, y0, x1, y1 = _reach(room)
    outer = [corner[axis] for corner in site.building.footprint]
    inside, outside = (((x1, y1) if sign > 0 else (x0, y0))[axis], max(outer) if sign > 0 else min(outer))
    low = max(room.bottom_m, site.place.grade_m) + INSET_M
    high = min(_ceiling(room), low + 3.0) - INSET_M
    along = [[x0 + INSET_M, x1 - INSET_M], [y0 + INSET_M, y1 - INSET_M]]
    if not 0 < (outside - inside) * sign <= THICKEST_M or high <= low or along[1 - axis][0] >= along[1 - axis][1]:
        return None
    along[axis] = sorted((inside, outside))
    corner = (along[0][0], along[1][0], low)
    size = (along[0][1] - along[0][0], along[1][1] - along[1][0], high - low)
    way = [0.0, 0.0, 0.0]
    way[axis] = float(sign)
    words = f'a new hole through the {side} wall of "{room.name}"'
    cut = Cut(_free(site, f"new hole, {side} wall"), (room.name, "outdoors"), corner, size, (way[0], way[1], way[2]))
    return abs(inside - site.appliance.collar_m[axis]), words, cut


def _way_up(site: Site, room: Room) -> tuple[Cut, ...]:
    """Holes over each other, about the collar's upright, through every ceiling and the roof; none where one is not."""
    cuts: list[Cut] = []
    here = room
    while here.top_m is not None:
        above = _above(site, here)
        if above is None:
            roof = site.building.top_m
            if roof is None or not 0 < roof - here.top_m <= THICKEST_M:
                return ()
            return (*cuts, _ceiling_cut(site, here, "outdoors", (here.top_m, roof), _reach(here)))
        cuts.append(_ceiling_cut(site, here, above.name, (here.top_m, above.bottom_m), _reach(above)))
        here = above
    levels = [corner[2] for roof in site.roofs for corner in roof.corners]
    return (*cuts, _ceiling_cut(site, here, "outdoors", (here.bottom_m, max(levels)), _reach(here))) if levels else ()


def _above(site: Site, room: Room) -> Room | None:
    """The room that lies over the collar and next above a ceiling."""
    x, y, _ = site.appliance.collar_m
    found = [other for other in site.rooms if 0 < other.bottom_m - (room.top_m or 0.0) <= THICKEST_M]
    return next((other for other in found if _holds(other, (x, y, other.bottom_m))), None)


def _ceiling_cut(
    site: Site, below: Room, above: str, levels_m: tuple[float, float], reach: tuple[float, float, float, float]
) -> Cut:
    x, y, _ = site.appliance.collar_m
    x0, y0, x1, y1 = _reach(below)
    west, east = max(x0, reach[0], x - ABOUT_M - INSET_M) + INSET_M, min(x1, reach[2], x + ABOUT_M + INSET_M) - INSET_M
    south, north = (
        max(y0, reach[1], y - ABOUT_M - INSET_M) + INSET_M,
        min(y1, reach[3], y + ABOUT_M + INSET_M) - INSET_M,
    )
    corner, size = (west, south, levels_m[0]), (east - west, north - south, levels_m[1] - levels_m[0])
    return Cut(_free(site, f"new hole over {below.name}"), (below.name, above), corner, size, _UP)


def _free(site: Site, name: str) -> str:
    """The name, marked where a hole or cut has it already."""
    taken = {hole.name for hole in site.holes} | {cut.name for cut in site.cuts}
    while name in taken:
        name += " (tried)"
    return name
