"""Where there is no route: the least changes that would open one, each tried by planning with it.

Changes are tried singly, the easiest for a person first: what was asked for, a figure that the manual may have and that
was not entered, the size of a hole, a new hole, a thing in the way, the appliance's place, a feature outdoors that is
perhaps not what it was entered as. Only those that planning confirms are offered; where none is, it is said what was
tried.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import chain, islice
from typing import TypeVar

from ventroute.catalog.lookup import kits
from ventroute.choices import named
from ventroute.constants import FOOT_M, INCH_M
from ventroute.errors import VentrouteError
from ventroute.layout.building import build
from ventroute.layout.openings import new_openings
from ventroute.model.appliance import PATTERN_KEYS, SizeLimit
from ventroute.model.plan import Plan
from ventroute.model.site import Hole, Site
from ventroute.planner import Workshop, plan
from ventroute.units import format_length, format_size

MOST_MENDS = 4  # offered
MOST_TRIES = 40  # planned
MOST_FIGURES = 3  # planned for one pattern of bend, besides
_ROOM_M = 0.25 * INCH_M  # a hole is cut this much over the pipe: common practice
_MOVE_M = 8 * INCH_M
_PATTERN_WORDS = {"short": "short-turn", "long": "long-turn", "pressure": "pressure-pattern"}
_OUTDOORS_M = 5 * FOOT_M  # enough to rise above deep snow: common practice

Change = tuple[str, str, str, Site]  # sort, what it changes (tried until one does), in words, the changed site
T = TypeVar("T")


def mends(site: Site, shop: Workshop) -> tuple[str, ...]:
    """Changes to a site without a route that would give it one, in words, each confirmed by planning.

    Where none does, one sentence that says so and names what was tried.
    """
    found: list[str] = []
    mended: set[str] = set()
    sorts: dict[str, int] = {}
    wider, others = tuple(_wider_wishes(site)), _changes(site, shop)
    for sort, what, words, changed in islice(chain(wider, _figures(site, shop, sorts), others), MOST_TRIES):
        if len(found) >= MOST_MENDS:
            break
        sorts[sort] = sorts.get(sort, 0) + 1
        result = None if what in mended else _planned(changed, shop)
        if result is not None and result.routes:
            mended.add(what)
            best = result.routes[0].route
            found.append(f"{words}: then {named(best)} fits, {format_length(best.equivalent_m)} equivalent")
    return tuple(found) or (_nothing(sorts),)


def _nothing(sorts: dict[str, int]) -> str:
    tried = ", ".join(f"{sort} ({count})" for sort, count in sorts.items()) or "nothing could be"
    return f"no single change was found that opens a route; tried: {tried}"


def _planned(site: Site, shop: Workshop) -> Plan | None:
    try:
        return plan(site, build(site), shop)
    except VentrouteError:
        return None  # the change makes no house: a collar moved into a wall


def _changes(site: Site, shop: Workshop) -> Iterator[Change]:
    yield from _larger_holes(site, shop)
    for words, cuts in new_openings(site):
        yield "a new hole through wall or roof", words, words, replace(site, cuts=(*site.cuts, *cuts))
    for i, obstacle in enumerate(site.obstacles):
        away = replace(site, obstacles=_without(site.obstacles, i))
        yield "a thing out of the way", obstacle.name, f'"{obstacle.name}" out of the way', away
    yield from _moved_collars(site)
    if site.want.gap_m > 0.5 * INCH_M:
        half = replace(site.want, gap_m=site.want.gap_m / 2)
        words = f"a gap of {format_length(half.gap_m, short=True)} to construction"
        yield "half the gap", "gap", words, replace(site, want=half)
    for i, feature in enumerate(site.features):
        words = f'if "{feature.name}" ({feature.kind}) were not there, or not what it is entered as'
        yield "a feature outdoors left out", feature.name, words, replace(site, features=_without(site.features, i))
    for i, keep_out in enumerate(site.keep_outs):
        words = f'without the keep-out "{keep_out.name}"'
        yield "a keep-out left out", keep_out.name, words, replace(site, keep_outs=_without(site.keep_outs, i))


def _without(items: tuple[T, ...], i: int) -> tuple[T, ...]:
    return items[:i] + items[i + 1 :]


def _wider_wishes(site: Site) -> Iterator[Change]:
    want = site.want
    if set(want.terminals) != {"roof", "wall"}:
        yield (
            "wider wishes",
            "terminals",
            "a terminal at roof or wall",
            replace(site, want=replace(want, terminals=("roof", "wall"))),
        )
    if want.sizes_in:
        yield (
            "wider wishes",
            "sizes",
            "any size of the appliance's table",
            replace(site, want=replace(want, sizes_in=())),
        )
    if want.materials:
        every = replace(site, want=replace(want, materials=()))
        yield "wider wishes", "materials", "any material of the appliance's list", every
    if "wall" in want.terminals and want.outdoors_m < _OUTDOORS_M:
        words = f"up to {format_length(_OUTDOORS_M)} of pipe outdoors from a wall, where the manual allows it"
        longer = replace(want, outdoors_m=_OUTDOORS_M)
        yield "wider wishes", "outdoors", words, replace(site, want=longer)


def _figures(site: Site, shop: Workshop, sorts: dict[str, int]) -> Iterator[Change]:
    """For each pattern of bend that is sold and has no figure here, one that would do: the manual may have it.

    A sharper bend is tried at the plain figure of its angle, which no manual undercuts, a wider one at half of it.
    What then is left under the limit is shared among the bends, and tried again.
    """
    sort = "a figure of the manual for another pattern of bend"
    for key, (angle, pattern) in PATTERN_KEYS.items():
        figures = {row.size_in: trial for row in site.appliance.sizes
                   if (trial := _trial_m(site, shop, row, angle, pattern)) is not None}  # fmt: skip
        if not figures:
            continue
        sorts[sort] = sorts.get(sort, 0) + 1
        offer: Change | None = None
        for _ in range(MOST_FIGURES):
            changed = _with_figures(site, angle, pattern, figures)
            most = _most_figure(site, _planned(changed, shop), angle, pattern, figures)
            if most is None or (offer and most[0] <= figures[most[1]]):
                break
            figures = {most[1]: most[0]}
            size = format_size(most[1])
            words = (
                f"the manual's own figure for a {size} {_PATTERN_WORDS[pattern]} {angle:g} ({key}), if it has one, of "
                f"no more than {format_length(most[0])}; enter none but the manual's"
            )
            offer = sort, key, words, _with_figures(site, angle, pattern, figures)
        if offer:
            yield offer


def _most_figure(
    site: Site, result: Plan | None, angle: float, pattern: str, figures: Mapping[float, float]
) -> tuple[float, float] | None:
    """The greatest figure [m], to the inch, that keeps the best route within its limit, and the size [in] it is for."""
    for planned in result.routes if result is not None else ():
        route, limit = planned.route, site.appliance.limit(planned.route.kit.size_in)
        bends = [route.kit.bend(part.item) for part in route.parts]
        count = sum(bend is not None and (bend.angle_deg, bend.pattern) == (angle, pattern) for bend in bends)
        if route.smaller is None and limit is not None and count:
            spare_m = (limit.max_length_m - route.equivalent_m) / count
            return math.floor((figures[limit.size_in] + spare_m) / INCH_M + 1e-9) * INCH_M, limit.size_in
    return None


def _trial_m(site: Site, shop: Workshop, row: SizeLimit, angle: float, pattern: str) -> float | None:
    """What a bend without a figure of its own counts on trial [m]; None where it has one, or is not sold."""
    appliance = site.appliance
    plain = row.equivalent_m(angle)
    if plain is None or row.own_equivalent_m(angle, pattern) is not None:
        return None
    for material in site.want.materials or appliance.materials:
        kit = kits(shop.catalog, material, row.size_in, appliance.collar_material, appliance.collar_size_in)
        if isinstance(kit, str):
            continue
        for bend in kit.bends:
            if (bend.angle_deg, bend.pattern) == (angle, pattern):
                return plain if kit.equivalent_m(row, bend) is None else plain / 2
    return None


def _with_figures(site: Site, angle: float, pattern: str, figures: Mapping[float, float]) -> Site:
    """The site, with a figure [m] for one pattern of bend in some sizes."""
    rows = tuple(
        replace(row, by_pattern=(*row.by_pattern, (angle, pattern, figures[row.size_in])))
        if row.size_in in figures
        else row
        for row in site.appliance.sizes
    )
    return replace(site, appliance=replace(site.appliance, sizes=rows))


def _larger_holes(site: Site, shop: Workshop) -> Iterator[Change]:
    """Each hole, then all holes, made large enough for each size of the table, smallest first."""
    materials = site.want.materials or site.appliance.materials
    sizes = {row.size_in for row in site.appliance.sizes}
    ods = sorted({p.od_m for p in shop.catalog.pipes if p.material in materials and p.size_in in sizes})
    for od in ods:
        clear = math.ceil((od + _ROOM_M) / (INCH_M / 8) - 1e-9) * INCH_M / 8
        tight = [i for i, hole in enumerate(site.holes) if hole.clear_m < clear]
        words = format_length(clear, short=True)
        for i in tight:
            opened = replace(site, holes=_opened(site.holes, (i,), clear))
            yield "a larger hole", "holes", f'"{site.holes[i].name}" made {words} clear', opened
        if len(tight) > 1:
            names = ", ".join(f'"{site.holes[i].name}"' for i in tight)
            opened = replace(site, holes=_opened(site.holes, tuple(tight), clear))
            yield "a larger hole", "holes", f"{names} made {words} clear", opened


def _opened(holes: tuple[Hole, ...], which: tuple[int, ...], clear_m: float) -> tuple[Hole, ...]:
    return tuple(replace(hole, clear_m=clear_m) if i in which else hole for i, hole in enumerate(holes))


def _moved_collars(site: Site) -> Iterator[Change]:
    x, y, z = site.appliance.collar_m
    step = format_length(_MOVE_M, short=True)
    ways = (("east", 1, 0, 0), ("west", -1, 0, 0), ("north", 0, 1, 0), ("south", 0, -1, 0), ("down", 0, 0, -1))
    for name, dx, dy, dz in ways:
        to = (x + dx * _MOVE_M, y + dy * _MOVE_M, z + dz * _MOVE_M)
        moved = replace(site, appliance=replace(site.appliance, collar_m=to))
        yield "the collar moved", "collar", f"the collar {step} farther {name}", moved
