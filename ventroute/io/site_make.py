"""Tables of a site file, checked, to the nouns of the model."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from ventroute.io.appliance_shape import ApplianceShape, SizeShape
from ventroute.io.outline import counter_clockwise
from ventroute.io.site_shape import (
    BuildingShape,
    CutShape,
    FeatureShape,
    FramingShape,
    GableShape,
    HoleShape,
    KeepOutShape,
    ObstacleShape,
    PlaceShape,
    RoofShape,
    RoomShape,
    WantShape,
)
from ventroute.model.appliance import PATTERN_KEYS, Appliance, SizeLimit, Vec3, Want
from ventroute.model.site import (
    Cut,
    Envelope,
    Feature,
    Framing,
    Hole,
    KeepOut,
    Obstacle,
    Place,
    Roof,
    Room,
)

FloatArray = NDArray[np.float64]


def place(shape: PlaceShape) -> Place:
    """The place."""
    return Place(shape.altitude, shape.winter, shape.grade, shape.snow, shape.rules)


def envelope(shape: BuildingShape, grade_m: float) -> Envelope:
    """The building's outside; the bottom is the grade where none is given."""
    bottom_m = grade_m if shape.bottom is None else shape.bottom
    return Envelope(counter_clockwise(shape.footprint), bottom_m, shape.top)


def room(shape: RoomShape) -> Room:
    """A room; a box becomes its floor and two heights."""
    heated = shape.air == "heated"
    if shape.floor is not None:
        top_m = None if isinstance(shape.top, str) else shape.top
        return Room(shape.name, counter_clockwise(shape.floor), shape.bottom or 0.0, top_m, heated)
    assert shape.corner is not None
    assert shape.size is not None
    (x, y, z), (dx, dy, dz) = shape.corner, shape.size
    return Room(shape.name, ((x, y), (x + dx, y), (x + dx, y + dy), (x, y + dy)), z, z + dz, heated)


def _gable(name: str, shape: GableShape, thickness_m: float) -> tuple[Roof, Roof]:
    """Two slopes; the ridge stands over the middle of the walls."""
    across = 1 if shape.ridge in ("east", "west") else 0  # the coordinate that the slopes fall along
    along = 1 - across
    walls = [sorted(corner[axis] for corner in shape.over) for axis in (0, 1)]
    low, high = walls[along][0] - shape.overhang, walls[along][1] + shape.overhang
    middle = (walls[across][0] + walls[across][1]) / 2
    eave_z = shape.eave - shape.overhang * shape.pitch
    ridge_z = shape.eave + (walls[across][1] - walls[across][0]) / 2 * shape.pitch

    def slope(side: str, edge: float) -> Roof:
        corners: list[Vec3] = []
        for at, where, z in (
            (low, edge, eave_z),
            (high, edge, eave_z),
            (high, middle, ridge_z),
            (low, middle, ridge_z),
        ):
            corners.append((at, where, z) if across == 1 else (where, at, z))
        plan = [(x, y) for x, y, _ in corners]
        ordered = corners if counter_clockwise(plan) == tuple(plan) else [corners[0], *reversed(corners[1:])]
        return Roof(f"{name}, {side} slope", tuple(ordered), thickness_m)

    low_side, high_side = ("south", "north") if across == 1 else ("west", "east")
    return slope(low_side, walls[across][0] - shape.overhang), slope(high_side, walls[across][1] + shape.overhang)


def roofs(shape: RoofShape) -> tuple[Roof, ...]:
    """One slope, or the two of a gable."""
    if shape.gable is not None:
        return _gable(shape.name, shape.gable, shape.thickness)
    return (Roof(shape.name, shape.corners or (), shape.thickness),)


def hole(shape: HoleShape) -> Hole:
    """A hole."""
    return Hole(shape.name, shape.at, shape.axis, shape.clear, shape.through)


def cut(shape: CutShape) -> Cut:
    """A cut."""
    return Cut(shape.name, shape.through, shape.corner, shape.size, shape.axis, shape.cost)


def obstacle(shape: ObstacleShape, triangles: FloatArray | None = None) -> Obstacle:
    """An obstacle, with the triangles (t, 3, 3) [m] of its mesh if it is one."""
    return Obstacle(
        shape.name,
        shape.gap,
        shape.corner,
        shape.size,
        shape.ends,
        shape.diameter,
        shape.mesh,
        1.0 if shape.scale is None else shape.scale,
        (0.0, 0.0, 0.0) if shape.move is None else shape.move,
        np.zeros((0, 3, 3)) if triangles is None else triangles,
    )


def feature(shape: FeatureShape) -> Feature:
    """A thing outdoors."""
    return Feature(shape.kind, shape.name, shape.corner, shape.size, shape.open_sides, shape.faces, shape.pressure)


def keep_out(shape: KeepOutShape) -> KeepOut:
    """A box to keep out of."""
    return KeepOut(shape.name, shape.applies, shape.corner, shape.size)


def framing(shape: FramingShape) -> Framing:
    """Parallel members."""
    return Framing(
        shape.name,
        shape.kind,
        shape.corner,
        shape.size,
        shape.runs,
        shape.spacing,
        shape.offset,
        shape.width,
        shape.depth,
    )


def _limits(rows: Iterable[SizeShape]) -> tuple[SizeLimit, ...]:
    return tuple(
        SizeLimit(
            row.size,
            row.max_length,
            row.min_length,
            row.max_elbows,
            row.elbow_90,
            row.elbow_45,
            row.elbow_22,
            row.terminal,
            row.reducer,
            row.increaser,
            tuple((*of, m) for key, of in PATTERN_KEYS.items() if (m := getattr(row, key)) is not None),
        )
        for row in rows
    )


def appliance(shape: ApplianceShape) -> Appliance:
    """The appliance; its usual exhaust is as hot as the hottest where nothing else is said."""
    return Appliance(
        name=shape.name,
        fuel=shape.fuel,
        input_W=shape.input,
        category=shape.category,
        vent_style=shape.vent_style,
        exhaust_max_degC=shape.exhaust_max,
        exhaust_usual_degC=shape.exhaust_max if shape.exhaust_usual is None else shape.exhaust_usual,
        materials=shape.materials,
        collar_size_in=shape.collar_size,
        collar_material=shape.collar_material,
        collar_m=shape.collar,
        faces=shape.faces,
        sizes=_limits(shape.sizes),
        pitch=shape.pitch,
        falls_to=shape.falls_to,
        count=shape.count,
        mixed_sizes=shape.mixed_sizes,
        excess_air=shape.excess_air,
        derate=shape.derate,
        cellular_core=shape.cellular_core,
        above_roof_m=shape.above_roof,
        above_grade_m=shape.above_grade,
        model=shape.model or "",
        source=shape.source,
    )


def want(shape: WantShape) -> Want:
    """What the person wants, each thing once: ``80 mm`` and ``3 in`` are one size of two trades."""
    return Want(
        tuple(dict.fromkeys(shape.materials)),
        tuple(dict.fromkeys(shape.sizes)),
        tuple(dict.fromkeys(shape.terminals)),
        shape.prefer,
        shape.gap,
        shape.outdoors,
        shape.reach,
    )
