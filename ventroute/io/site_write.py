"""A site as TOML text that reads back as exactly the same site."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from ventroute.model.appliance import PATTERN_KEYS, Appliance, SizeLimit, Vec3, Want
from ventroute.model.excess import DryGas
from ventroute.model.site import Envelope, Obstacle, Place, Room, Site
from ventroute.units import (
    DIRECTIONS,
    METRES,
    decimal,
    format_length,
    format_pitch,
    format_power,
    parse_length,
    parse_pitch,
    parse_power_W,
    parse_temperature_degC,
)

Row = tuple[str, str | None]  # a key and its value as TOML; None: left out


def text(value: str) -> str:
    """A string as TOML: JSON's escapes are TOML's, but for the delete character."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _list(items: Sequence[str]) -> str:
    return "[" + ", ".join(items) + "]"


def inline(table: Mapping[str, str]) -> str:
    """An inline table of values that are TOML already."""
    return "{" + ", ".join(f"{key} = {value}" for key, value in table.items()) + "}"


@dataclass(frozen=True, slots=True)
class Lengths:
    """Lengths in one unit of bare numbers; what would not read back exactly is written in metres."""

    unit: str = "m"

    def bare(self, metres: float) -> str:
        """A coordinate: a short bare number if it is exact, else text."""
        number = round(metres / float(METRES[self.unit]), 4) + 0.0
        if parse_length(number, self.unit) == metres:
            return decimal(number)
        return f'"{decimal(metres)} m"' if self.unit != "m" else _float(metres)

    def said(self, metres: float) -> str:
        """A measure, as a person says it if that is exact."""
        said = format_length(metres)
        if self.unit in ("ft", "in") and parse_length(said, None) == metres:
            return f'"{said}"'
        return self.bare(metres)

    def point(self, point: Sequence[float]) -> str:
        """A list of coordinates."""
        return _list([self.bare(part) for part in point])

    def points(self, points: Sequence[Sequence[float]]) -> str:
        """A list of points."""
        return _list([self.point(point) for point in points])

    def maybe(self, metres: float | None) -> str | None:
        """A measure that may be left out."""
        return None if metres is None else self.said(metres)


def _float(value: float) -> str:
    return repr(float(value)) if abs(value) >= 1e16 or 0 < abs(value) < 1e-4 else decimal(value)


def _direction(way: Vec3) -> str:
    name = next((name for name, known in DIRECTIONS.items() if known == way), None)
    return text(name) if name else _list([_float(part) for part in way])


def _size(size_in: float) -> str:
    return f'"{decimal(size_in)} in"'


def _share(part: float) -> str:
    """A fraction as a percentage, the point of its shortest decimal moved."""
    return format(Decimal(repr(part)) * 100, "f")


def _excess(said: float | DryGas) -> str:
    return f'"{_share(said.share)} % {said.gas}"' if isinstance(said, DryGas) else f'"{_share(said)} %"'


def _either(said: str, reads: Callable[[str], float], value: float, exact: str) -> str:
    """What people say, where it reads back as the same number; else the exact text."""
    return f'"{said if reads(said) == value else exact}"'


def _degC(value: float) -> str:
    exact = f"{decimal(value)} degC"
    return _either(f"{round(value * 9 / 5 + 32)} degF", parse_temperature_degC, value, exact)


def _power(value: float) -> str:
    return _either(format_power(value), parse_power_W, value, f"{decimal(value)} W")


def _pitch(value: float) -> str:
    return _either(format_pitch(value), parse_pitch, value, f"{_share(value)} %")


def _table(name: str, rows: Sequence[Row]) -> Iterator[str]:
    yield ""
    yield name
    for key, value in rows:
        if value is not None:
            yield f"{key} = {value}"


def _place(place: Place, lengths: Lengths) -> list[Row]:
    return [
        ("altitude", lengths.said(place.altitude_m)),
        ("winter", _degC(place.winter_degC)),
        ("grade", lengths.bare(place.grade_m)),
        ("snow", lengths.said(place.snow_m)),
        ("rules", text(place.rules)),
    ]


def _building(building: Envelope, lengths: Lengths) -> list[Row]:
    return [
        ("footprint", lengths.points(building.footprint)),
        ("bottom", lengths.bare(building.bottom_m)),
        ("top", None if building.top_m is None else lengths.bare(building.top_m)),
    ]


def _as_box(room: Room) -> tuple[Vec3, Vec3] | None:
    """Corner and size of a room that reads back exactly from them, else None."""
    if room.top_m is None or len(room.floor) != 4:
        return None
    (x, y), (x1, y1) = room.floor[0], room.floor[2]
    size = (x1 - x, y1 - y, room.top_m - room.bottom_m)
    floor = ((x, y), (x + size[0], y), (x + size[0], y + size[1]), (x, y + size[1]))
    exact = floor == room.floor and room.bottom_m + size[2] == room.top_m
    return ((x, y, room.bottom_m), size) if exact and min(size) > 0 else None


def _room(room: Room, lengths: Lengths) -> list[Row]:
    air: Row = ("air", text("heated" if room.heated else "unheated"))
    if box := _as_box(room):
        size = _list([lengths.said(side) for side in box[1]])
        return [("name", text(room.name)), ("corner", lengths.point(box[0])), ("size", size), air]
    return [
        ("name", text(room.name)),
        ("floor", lengths.points(room.floor)),
        ("bottom", lengths.bare(room.bottom_m)),
        ("top", '"roof"' if room.top_m is None else lengths.bare(room.top_m)),
        air,
    ]


def _obstacle(obstacle: Obstacle, lengths: Lengths) -> list[Row]:
    mesh = obstacle.mesh is not None
    return [
        ("name", text(obstacle.name)),
        ("gap", lengths.maybe(obstacle.gap_m)),
        ("corner", lengths.point(obstacle.corner) if obstacle.corner else None),
        ("size", lengths.point(obstacle.size) if obstacle.size else None),
        ("ends", lengths.points(obstacle.ends) if obstacle.ends else None),
        ("diameter", lengths.maybe(obstacle.diameter_m)),
        ("mesh", text(obstacle.mesh) if obstacle.mesh is not None else None),
        ("scale", lengths.bare(obstacle.scale_m) if mesh else None),
        ("move", lengths.point(obstacle.move) if mesh else None),
    ]


def _limit(row: SizeLimit, lengths: Lengths) -> str:
    keys = ("max_length", "min_length", "elbow_90", "elbow_45", "elbow_22", "terminal", "reducer", "increaser")
    values = {key: lengths.maybe(getattr(row, f"{key}_m")) for key in keys}
    patterns = {key: lengths.maybe(row.own_equivalent_m(*of)) for key, of in PATTERN_KEYS.items()}
    values = {"size": _size(row.size_in), **values, **patterns}
    if row.max_elbows is not None:
        values["max_elbows"] = str(row.max_elbows)
    return inline({key: value for key, value in values.items() if value is not None})


def _appliance(appliance: Appliance, lengths: Lengths) -> list[Row]:
    return [
        ("model", text(appliance.model) if appliance.model else None),
        ("name", text(appliance.name)),
        ("collar", lengths.point(appliance.collar_m)),
        ("faces", _direction(appliance.faces)),
        ("fuel", text(appliance.fuel)),
        ("input", _power(appliance.input_W)),
        ("category", text(appliance.category)),
        ("vent_style", text(appliance.vent_style)),
        ("exhaust_max", _degC(appliance.exhaust_max_degC)),
        ("exhaust_usual", _degC(appliance.exhaust_usual_degC)),
        ("materials", _list([text(material) for material in appliance.materials])),
        ("collar_size", _size(appliance.collar_size_in)),
        ("collar_material", None if appliance.collar_material is None else text(appliance.collar_material)),
        ("pitch", _pitch(appliance.pitch)),
        ("falls_to", text(appliance.falls_to)),
        ("count", text(appliance.count)),
        ("mixed_sizes", text(appliance.mixed_sizes)),
        ("excess_air", _excess(appliance.excess_air)),
        ("derate", text(appliance.derate)),
        ("cellular_core", "true" if appliance.cellular_core else "false"),
        ("above_roof", lengths.said(appliance.above_roof_m)),
        ("above_grade", lengths.said(appliance.above_grade_m)),
        ("sizes", "[\n" + "".join(f"  {_limit(row, lengths)},\n" for row in appliance.sizes) + "]"),
        ("source", text(appliance.source) if appliance.source else None),
    ]


def _want(want: Want, lengths: Lengths) -> list[Row]:
    return [
        ("materials", _list([text(name) for name in want.materials]) if want.materials else None),
        ("sizes", _list([_size(size) for size in want.sizes_in]) if want.sizes_in else None),
        ("terminals", _list([text(kind) for kind in want.terminals])),
        ("prefer", text(want.prefer)),
        ("gap", lengths.said(want.gap_m)),
        ("outdoors", lengths.said(want.outdoors_m)),
        ("reach", lengths.said(want.reach_m)),
    ]


def _house(site: Site, lengths: Lengths) -> Iterator[tuple[str, list[Row]]]:
    """Rooms, roofs and the ways through them."""
    for room in site.rooms:
        yield "room", _room(room, lengths)
    for roof in site.roofs:
        yield (
            "roof",
            [
                ("name", text(roof.name)),
                ("corners", lengths.points(roof.corners)),
                ("thickness", lengths.said(roof.thickness_m)),
            ],
        )
    for hole in site.holes:
        yield (
            "hole",
            [
                ("name", text(hole.name)),
                ("at", lengths.point(hole.at)),
                ("axis", _direction(hole.axis)),
                ("clear", lengths.said(hole.clear_m)),
                ("through", _list([text(space) for space in hole.through])),
            ],
        )
    for cut in site.cuts:
        yield (
            "cut",
            [
                ("name", text(cut.name)),
                ("through", _list([text(space) for space in cut.through])),
                ("corner", lengths.point(cut.corner)),
                ("size", lengths.point(cut.size)),
                ("axis", _direction(cut.axis)),
                ("cost", _float(cut.cost)),
            ],
        )


def _surroundings(site: Site, lengths: Lengths) -> Iterator[tuple[str, list[Row]]]:
    """What is in the way, or has clearances."""
    for obstacle in site.obstacles:
        yield "obstacle", _obstacle(obstacle, lengths)
    for feature in site.features:
        yield (
            "feature",
            [
                ("kind", text(feature.kind)),
                ("name", text(feature.name)),
                ("corner", lengths.point(feature.corner)),
                ("size", lengths.point(feature.size)),
                ("open_sides", None if feature.open_sides is None else str(feature.open_sides)),
                ("faces", None if feature.faces is None else _direction(feature.faces)),
                ("pressure", None if feature.pressure_Pa is None else f'"{decimal(feature.pressure_Pa)} Pa"'),
            ],
        )
    for box in site.keep_outs:
        yield (
            "keep_out",
            [
                ("name", text(box.name)),
                ("applies", text(box.applies)),
                ("corner", lengths.point(box.corner)),
                ("size", lengths.point(box.size)),
            ],
        )
    for members in site.framing:
        yield (
            "framing",
            [
                ("name", text(members.name)),
                ("kind", text(members.kind)),
                ("corner", lengths.point(members.corner)),
                ("size", lengths.point(members.size)),
                ("runs", _direction(members.runs)),
                ("spacing", lengths.said(members.spacing_m)),
                ("offset", lengths.said(members.offset_m)),
                ("width", lengths.said(members.width_m)),
                ("depth", lengths.said(members.depth_m)),
            ],
        )


def write_site(site: Site, units: str = "m") -> str:
    """TOML text of a site; reading it gives the same site, to the last bit.

    `units` is that of bare numbers: with ft or in, lengths that are whole sixteenths are written as people say them.
    """
    lengths = Lengths(units)
    lines = ["format = 1", f"name = {text(site.name)}", f"units = {text(units)}"]
    lines += _table("[place]", _place(site.place, lengths))
    lines += _table("[building]", _building(site.building, lengths))
    for name, rows in (*_house(site, lengths), *_surroundings(site, lengths)):
        lines += _table(f"[[{name}]]", rows)
    lines += _table("[appliance]", _appliance(site.appliance, lengths))
    lines += _table("[want]", _want(site.want, lengths))
    return "\n".join(lines) + "\n"
