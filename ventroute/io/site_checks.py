"""What one table, or one table beside the others, must not say, though each of its values reads well."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping

from pydantic import BaseModel

from ventroute.io.appliance_shape import ApplianceShape
from ventroute.io.near import did_you_mean, listed
from ventroute.io.outline import NEAREST_M, outline_faults, slope_faults
from ventroute.io.site_lines import KeyPath
from ventroute.io.site_shape import (
    BuildingShape,
    CutShape,
    FeatureShape,
    GableShape,
    HoleShape,
    ObstacleShape,
    RoofShape,
    RoomShape,
)
from ventroute.io.site_words import SHELTERS
from ventroute.units import format_length, format_size, format_temperature, shown

Found = Iterator[tuple[KeyPath, str]]  # a key below the table, and what is wrong

OUTDOORS = "outdoors"


def room_faults(room: RoomShape, written: Collection[str]) -> Found:
    """A box or a polygon, not both, with some height."""
    box = [key for key in ("corner", "size") if key in written]
    prism = [key for key in ("floor", "bottom", "top") if key in written]
    if box and prism:
        yield (prism[0],), "a room is given by corner and size, or by floor, bottom and top; leave one set out"
        return
    wanted = ("floor", "bottom", "top") if prism else ("corner", "size")
    either = (
        "floor, bottom and top" if prism else "corner and size" if box else "corner and size, or floor, bottom and top"
    )
    for key in wanted:
        if key not in written:
            yield (key,), f"missing; a room has {either}"
    if room.floor is not None:
        yield from (((("floor",), what)) for what in outline_faults(room.floor))
    if room.bottom is not None and isinstance(room.top, float) and room.top <= room.bottom:
        yield ("top",), "not above bottom; wanted a ceiling above the floor"
    if room.name == OUTDOORS:
        yield ("name",), f'"{OUTDOORS}" is what lies outside the building; wanted another name'


def _gable_faults(gable: GableShape) -> Found:
    (x0, y0), (x1, y1) = gable.over
    if min(abs(x1 - x0), abs(y1 - y0)) < NEAREST_M:
        yield ("gable", "over"), "the two corners bound no area; wanted two opposite corners of the walls"


def roof_faults(roof: RoofShape, written: Collection[str]) -> Found:
    """Corners or a gable."""
    if "corners" in written and "gable" in written:
        yield ("gable",), "a roof is given by corners or by gable; leave one out"
    elif roof.gable is not None:
        yield from _gable_faults(roof.gable)
    elif roof.corners is not None:
        yield from ((("corners",), what) for what in slope_faults(roof.corners))
    elif "corners" not in written and "gable" not in written:
        yield ("corners",), "missing; a roof has corners, or gable"


_SHAPES = {"box": ("corner", "size"), "cylinder": ("ends", "diameter"), "mesh": ("mesh",)}


def obstacle_faults(obstacle: ObstacleShape, written: Collection[str]) -> Found:
    """Exactly one shape, whole."""
    given = {name: [key for key in keys if key in written] for name, keys in _SHAPES.items()}
    named = [name for name, keys in given.items() if keys]
    if not named:
        yield ("corner",), "missing; an obstacle has corner and size, or ends and diameter, or mesh"
    elif len(named) > 1:
        yield (given[named[1]][0],), f"an obstacle has one shape, and this has {' and '.join(named)}; leave one out"
    else:
        for key in _SHAPES[named[0]]:
            if key not in written:
                yield (key,), f"missing; a {named[0]} has {' and '.join(_SHAPES[named[0]])}"
    for key in ("scale", "move"):
        if getattr(obstacle, key) is not None and "mesh" not in named:
            yield (key,), "only a mesh has it; leave it out"
    if obstacle.ends and math.dist(*obstacle.ends) < NEAREST_M:
        yield ("ends",), "both ends are the same point; wanted the two ends of the axis"


def feature_faults(feature: FeatureShape) -> Found:
    """At most one flat side, and only what the kind has."""
    if sum(side == 0 for side in feature.size) > 1:
        yield ("size",), "nothing of it can be seen; wanted a size with at most one 0"
    if feature.open_sides is not None and feature.kind not in SHELTERS:
        yield ("open_sides",), f"only {listed(SHELTERS)} have it; leave it out"
    if feature.faces is not None and feature.kind != "neighbour opening":
        yield ("faces",), 'only a "neighbour opening" has it; leave it out'
    if feature.pressure is not None and feature.kind != "gas regulator vent":
        yield ("pressure",), 'only a "gas regulator vent" has it; leave it out'


def appliance_faults(appliance: ApplianceShape) -> Found:
    """A vent table that contradicts nothing."""
    if appliance.exhaust_usual is not None and appliance.exhaust_usual > appliance.exhaust_max:
        yield ("exhaust_usual",), f"above exhaust_max, {format_temperature(appliance.exhaust_max)}; wanted at most that"
    if appliance.category in ("II", "IV") and appliance.pitch == 0:
        yield ("pitch",), 'a condensing appliance drains through its vent; wanted a fall, such as "1/4 in per ft"'
    seen: dict[float, int] = {}
    for n, row in enumerate(appliance.sizes):
        if (first := seen.setdefault(row.size, n)) != n:
            yield ("sizes", n, "size"), f"{format_size(row.size)} stands in row {first + 1} too; wanted one row a size"
        if row.min_length > row.max_length:
            yield ("sizes", n, "min_length"), f"more than max_length, {format_length(row.max_length)}; wanted less"


def building_shape_faults(building: BuildingShape, roofs: bool) -> Found:
    """An outline, and something on top."""
    yield from ((("footprint",), what) for what in outline_faults(building.footprint))
    if building.top is None and not roofs:
        yield ("top",), "missing, and there is no [[roof]]; wanted the z of the flat roof's outer surface, or roofs"
    if building.top is not None and building.bottom is not None and building.top <= building.bottom:
        yield ("top",), "not above bottom; wanted the roof above the lowest floor"


def through_faults(passage: HoleShape | CutShape, spaces: Collection[str]) -> Found:
    """Two different spaces that exist."""
    first, second = passage.through
    if first == second:
        yield ("through",), f"both are {shown(first)}; wanted two different spaces"
    for name in dict.fromkeys((first, second)):
        if name not in spaces:
            near = did_you_mean(name, spaces) or f"; wanted two of {listed(sorted(spaces))}"
            yield ("through",), f"no space {shown(name)}{near}"


def repeated_names(names: Mapping[KeyPath, str]) -> Found:
    """Names that an earlier table already has; `names` in order of the file."""
    first: dict[str, KeyPath] = {}
    for path, name in names.items():
        if (other := first.setdefault(name, path)) != path:
            table, number = other[0], other[1]
            assert isinstance(number, int)
            yield (*path, "name"), f"{shown(name)} is the name of {table}[{number + 1}] too; wanted a name of its own"


def table_faults(shape: BaseModel, written: Collection[str]) -> Found:
    """What is wrong inside one table; `written` are its keys in the file, of which some may not have read well."""
    match shape:
        case RoomShape():
            yield from room_faults(shape, written)
        case RoofShape():
            yield from roof_faults(shape, written)
        case ObstacleShape():
            yield from obstacle_faults(shape, written)
        case FeatureShape():
            yield from feature_faults(shape)
        case ApplianceShape():
            yield from appliance_faults(shape)
