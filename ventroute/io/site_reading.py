"""One document on its way to a `Site`: table by table, so that one bad value hides nothing else."""

from __future__ import annotations

import contextlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from ventroute.errors import Fault, GeometryError, InputError, UnitError
from ventroute.io import site_make as make
from ventroute.io.appliance_shape import ApplianceShape
from ventroute.io.near import did_you_mean, listed
from ventroute.io.site_checks import (
    OUTDOORS,
    building_shape_faults,
    repeated_names,
    table_faults,
    through_faults,
)
from ventroute.io.site_faults import shape_words, unknown_key
from ventroute.io.site_lines import KeyPath
from ventroute.io.site_shape import (
    BuildingShape,
    CutShape,
    FeatureShape,
    FramingShape,
    HeadShape,
    HoleShape,
    KeepOutShape,
    ObstacleShape,
    PlaceShape,
    RoofShape,
    RoomShape,
    SiteShape,
    WantShape,
)
from ventroute.io.site_text import Document
from ventroute.io.site_words import MESHES, UNITS
from ventroute.model.site import Obstacle, Site
from ventroute.units import shown

Rows = Mapping[str, Mapping[str, object]]
_S = TypeVar("_S", bound=BaseModel)

HEAD = ("format", "name", "units")
# Stands in for the row of a model that is not in the catalog, so that its fields are not missing as well.
_STAND_IN: Mapping[str, object] = {
    "name": "unknown",
    "fuel": "natural gas",
    "input": "1 kW",
    "category": "IV",
    "vent_style": "direct",
    "exhaust_max": "100 degC",
    "materials": ["PVC"],
    "collar_size": "2 in",
    "sizes": [{"size": "2 in", "max_length": "1 m"}],
}


def _bare_lengths(row: Mapping[str, object]) -> list[str]:
    """Keys of a catalog row with a bare number where the row, which has no `units`, must give a unit."""
    bare = [key for key in ("above_roof", "above_grade") if isinstance(row.get(key), int | float)]
    sizes = row.get("sizes", [])
    for n, size in enumerate(sizes if isinstance(sizes, list) else []):
        for key, value in size.items() if isinstance(size, dict) else ():
            if key not in ("size", "max_elbows") and isinstance(value, int | float):
                bare.append(f"sizes[{n + 1}].{key}")
    return bare


def _path_refused(mesh: str, folder: Path) -> str | None:
    """Why a mesh's path is not opened, None where it may be."""
    wanted = 'wanted a file in the folder of the site file, such as "scan.glb"'
    if not mesh.strip() or not mesh.isprintable() or len(mesh) > 200:
        return f"{shown(mesh)} is not a file name; {wanted}"
    parts = mesh.replace("\\", "/").split("/")
    if mesh[0] in "/\\~" or ":" in parts[0] or ".." in parts:
        return f"{shown(mesh)} leads out of the site file's folder; {wanted}"
    if Path(mesh).suffix.lower() not in MESHES:
        return f"{shown(mesh)} is not a mesh this reads; wanted one of {listed(MESHES)}"
    try:
        real = (folder / mesh).resolve()
        inside, there = real.is_relative_to(folder.resolve()), real.is_file()
    except (OSError, RuntimeError):  # links that go round in a circle
        inside, there = True, False
    if not inside:
        return f"{shown(mesh)} is a link out of the site file's folder; {wanted}"
    return None if there else f"no file {shown(mesh)} beside the site file; {wanted}"


@dataclass(slots=True)
class Reading:
    """A document on its way to a site."""

    document: Document
    folder: Path
    appliances: Rows
    packs: Collection[str]
    unit: str = "ft"
    faults: list[Fault] = field(default_factory=list)

    def fault(self, path: KeyPath, what: str) -> None:
        """Note a fault."""
        self.faults.append(self.document.fault(path, what))

    def shape(self, shape: type[_S], table: Mapping[str, Any], at: KeyPath) -> _S | None:
        """One table as its shape, or None, with its faults noted.

        Where a value does not read, the rest of the table is still looked at without it.
        """
        before = len(self.faults)
        made: _S | None = None
        bad: set[object] = set()
        try:
            made = shape.model_validate(table, context={"unit": self.unit})
        except ValidationError as error:
            for found in error.errors(include_url=False):
                self.fault((*at, *found["loc"]), shape_words(shape, found["loc"], found))
                bad.add(found["loc"][0] if found["loc"] else None)
            rest = {key: value for key, value in table.items() if key not in bad}
            with contextlib.suppress(ValidationError):
                made = shape.model_validate(rest, context={"unit": self.unit})
        for below, what in table_faults(made, table) if made else ():
            if below[0] not in bad:
                self.fault((*at, *below), what)
        return made if len(self.faults) == before else None

    def head(self) -> str:
        """Format, name and units; the unit of bare numbers is set."""
        tables = self.document.tables
        if (unit := tables.get("units")) in UNITS:
            self.unit = str(unit)
        made = self.shape(HeadShape, {key: tables[key] for key in HEAD if key in tables}, ())
        return made.name if made else ""

    def unknown(self) -> None:
        """Keys at the top that nothing reads."""
        for key in self.document.tables:
            if key not in SiteShape.model_fields:
                self.fault((key,), unknown_key(key, SiteShape.model_fields))

    def single(self, key: str, shape: type[_S], *, needed: bool) -> _S | None:
        """A table that stands once."""
        table = self.document.tables.get(key)
        if table is None and not needed:
            return shape.model_validate({}, context={"unit": self.unit})
        if table is None:
            self.fault((key,), f"missing; wanted a table [{key}]")
        elif not isinstance(table, dict):
            self.fault((key,), f"{shown(table)} is not a table; wanted [{key}], in single brackets, once")
        else:
            return self.shape(shape, self.with_model(table) if key == "appliance" else table, (key,))
        return None

    def several(self, key: str, shape: type[_S]) -> dict[KeyPath, _S]:
        """Tables that may stand many times, those that read well."""
        tables = self.document.tables.get(key, [])
        if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
            self.fault((key,), f"not a list of tables; wanted [[{key}]], in double brackets")
            return {}
        made = {(key, n): self.shape(shape, table, (key, n)) for n, table in enumerate(tables)}
        return {path: good for path, good in made.items() if good is not None}

    def with_model(self, table: Mapping[str, object]) -> Mapping[str, object]:
        """The appliance's table laid over the catalog's row that it names."""
        model = table.get("model")
        if not isinstance(model, str):
            return table
        row = self.appliances.get(model)
        if row is None:
            near = did_you_mean(model, self.appliances) or f"; wanted one of {listed(sorted(self.appliances))}"
            self.fault(("appliance", "model"), f"no appliance {shown(model)} in the catalog{near}")
            row = {key: value for key, value in _STAND_IN.items() if key not in table}
        for key in _bare_lengths(row):
            self.fault(("appliance", "model"), f"the catalog's row {shown(model)} gives {key} without a unit")
        known = {key: value for key, value in row.items() if key in ApplianceShape.model_fields}
        return {**known, **table}

    def triangles(self, path: KeyPath, obstacle: ObstacleShape) -> make.FloatArray | None:
        """The triangles of an obstacle's mesh; none, and a fault, where the file will not do."""
        if obstacle.mesh is None:
            return None
        at = (*path, "mesh")
        if (refused := _path_refused(obstacle.mesh, self.folder)) is not None:
            self.fault(at, refused)
            return None
        from ventroute.io.mesh_file import read_mesh  # few sites have one, and meshes load slowly

        made = make.obstacle(obstacle)
        try:
            return read_mesh(self.folder / obstacle.mesh, made.scale_m, made.move)
        except (UnitError, GeometryError, OSError) as error:
            self.fault(at, f"{shown(obstacle.mesh)}: {error}")
            return None

    def names(self, *keys: str) -> dict[KeyPath, str]:
        """The names that tables of these kinds have, read or not."""
        found: dict[KeyPath, str] = {}
        for key in keys:
            tables = self.document.tables.get(key, [])
            for n, table in enumerate(tables if isinstance(tables, list) else []):
                if isinstance(table, dict) and isinstance(name := table.get("name"), str):
                    found[key, n] = name
        return found

    def together(self, passages: Mapping[KeyPath, HoleShape | CutShape]) -> None:
        """What tables say beside each other."""
        for kinds in (("room",), ("roof",), ("hole", "cut"), ("obstacle",), ("feature",), ("keep_out",), ("framing",)):
            for path, what in repeated_names(self.names(*kinds)):
                self.fault(path, what)
        spaces = {OUTDOORS, *self.names("room").values()}
        for at, passage in passages.items():
            for below, what in through_faults(passage, spaces):
                self.fault((*at, *below), what)

    def outside(self) -> tuple[PlaceShape | None, BuildingShape | None]:
        """The place and the building, in the light of each other and of the roofs."""
        place = self.single("place", PlaceShape, needed=True)
        building = self.single("building", BuildingShape, needed=True)
        if building:
            for below, what in building_shape_faults(building, bool(self.document.tables.get("roof"))):
                self.fault(("building", *below), what)
        if place and self.packs and place.rules not in self.packs:
            near = did_you_mean(place.rules, self.packs) or f"; wanted one of {listed(sorted(self.packs))}"
            self.fault(("place", "rules"), f"no rule pack {shown(place.rules)}{near}")
        return place, building

    def rooms(self) -> dict[KeyPath, RoomShape]:
        """At least one room."""
        if "room" not in self.document.tables:
            self.fault(("room",), "missing; wanted at least one [[room]]")
        return self.several("room", RoomShape)

    def obstacles(self) -> tuple[Obstacle, ...]:
        """Obstacles, those from mesh files with their triangles."""
        shapes = self.several("obstacle", ObstacleShape)
        return tuple(make.obstacle(shape, self.triangles(at, shape)) for at, shape in shapes.items())

    def read(self) -> Site:
        """The whole document.

        Raises
        ------
        InputError
            All that is wrong with it.
        """
        name = self.head()
        self.unknown()
        place, building = self.outside()
        rooms, roofs = self.rooms(), self.several("roof", RoofShape)
        holes, cuts = self.several("hole", HoleShape), self.several("cut", CutShape)
        self.together({**holes, **cuts})
        obstacles = self.obstacles()
        features = self.several("feature", FeatureShape)
        keep_outs = self.several("keep_out", KeepOutShape)
        framing = self.several("framing", FramingShape)
        appliance = self.single("appliance", ApplianceShape, needed=True)
        want = self.single("want", WantShape, needed=False)
        if self.faults or not (place and building and appliance and want):
            raise InputError(self.faults)
        return Site(
            name,
            make.place(place),
            make.envelope(building, place.grade),
            make.appliance(appliance),
            tuple(map(make.room, rooms.values())),
            tuple(slope for shape in roofs.values() for slope in make.roofs(shape)),
            tuple(map(make.hole, holes.values())),
            tuple(map(make.cut, cuts.values())),
            obstacles,
            tuple(map(make.feature, features.values())),
            tuple(map(make.keep_out, keep_outs.values())),
            tuple(map(make.framing, framing.values())),
            make.want(want),
        )
