"""The questions of a survey, in the order one walks through a house with a tape.

The interview knows neither terminal nor file: it puts its questions through an `Asker` and returns the text of a site
file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial

from ventroute.errors import UnitError
from ventroute.survey.draft import Table, Value, draft_text
from ventroute.survey.manual import Keys, manual
from ventroute.survey.questions import OUTDOORS, Questions, blank_or, one_of, some_name
from ventroute.survey.tape import read_length, read_lengths
from ventroute.units import parse_direction, parse_pitch, parse_pressure_Pa, parse_temperature_degC, shown

Vec2 = tuple[float, float]

WINDS = ("north", "south", "east", "west")
UNITS = ("ft", "in", "m", "cm", "mm")


@dataclass(slots=True)
class Interview:
    """A survey under way. `kinds` are the features there are, `models` those of the appliance catalog."""

    put: Questions
    kinds: Sequence[str]
    models: Sequence[str]
    tables: list[Table] = field(default_factory=list)
    outside: tuple[Vec2, ...] = ()
    roofed: bool = False

    def add(self, name: str, keys: Keys, *, several: bool = False) -> None:
        """Keep a table."""
        self.tables.append(Table(name, tuple(keys), several))

    def run(self) -> str:
        """All questions; the text of the site file."""
        name = self.put.asker.ask("name", "What is the house called?", some_name)
        self.put.unit = self.put.words("units", "Unit of numbers without one", UNITS, self.put.unit)
        self.put.asker.tell(
            "x runs east, y north, z up. Zero is the south-west corner of the house, at finished ground."
        )
        for chapter in (self.place, self.building, self.roof, self.inside, self.holes, self.cuts, self.obstacles,
                        self.features, self.appliance):  # fmt: skip
            chapter()
        return draft_text(name, self.put.unit, self.tables)

    def place(self) -> None:
        """Where the house stands."""
        keys: Keys = [
            ("altitude", self.put.length("altitude", "Height above sea level")),
            ("winter", self.put.quantity("winter", "Coldest design temperature, as 5 degF", parse_temperature_degC)),
            ("grade", 0),
            ("snow", self.put.length("snow", "Depth of snow to stay above", "0")),
        ]
        self.add("place", keys)

    def building(self) -> None:
        """The outside walls."""
        self.put.asker.tell("Go round the outside walls from the south-west corner.")
        self.outside = self.put.outline("outside")
        keys: Keys = [("footprint", self.put.said.points(self.outside))]
        keys.append(
            ("bottom", self.put.length("bottom", "z of the lowest floor's underside, below ground negative", "0"))
        )
        kind = self.put.words("roof", "Roof", ("gable", "flat"), "gable")
        self.roofed = kind == "gable"
        if not self.roofed:
            keys.append(("top", self.put.length("top", "z of the flat roof's outer surface")))
        self.add("building", keys)

    def roof(self) -> None:
        """A gable over the whole house."""
        if not self.roofed:
            return
        over = self.put.asker.ask(
            "roof over",
            'Walls under it: two opposite corners, as "0, 0, 30, 24" (blank: the whole house)',
            blank_or(lambda text: read_lengths(text, self.put.unit, 4)),
        )
        xs, ys = zip(*self.outside, strict=True)
        over = over or (min(xs), min(ys), max(xs), max(ys))
        gable: dict[str, Value] = {
            "over": [self.put.said.point(over[:2]), self.put.said.point(over[2:])],
            "ridge": self.put.words("ridge", "The ridge runs toward", WINDS),
            "eave": self.put.length("eave", "z of the roof's outer surface above the wall's outside face"),
            "pitch": self.put.quantity("pitch", "Pitch, as 6/12", parse_pitch),
            "overhang": self.put.length("overhang", "Overhang", "0"),
        }
        thickness = self.put.length("thickness", "Thickness of the roof, square to the slope")
        self.add("roof", [("name", "roof"), ("gable", gable), ("thickness", thickness)], several=True)

    def inside(self) -> None:
        """Rooms that the pipe may run in."""
        while (
            name := self.put.more("room", "A room that the pipe may run in", [*self.put.rooms, OUTDOORS])
        ) or not self.put.rooms:
            if name is None:
                self.put.asker.again("room", "at least one room is needed: the one with the appliance")
                continue
            self.put.rooms.append(name)
            x, y, z = self.put.asker.ask(
                f"{name} corner",
                "Its south-west corner: x, y, and z of its floor",
                lambda text: read_lengths(text, self.put.unit, 3),
            )
            self.put.asker.tell("Go round its walls from that corner.")
            floor = [(x + dx, y + dy) for dx, dy in self.put.outline(name)]
            height = self.put.asker.ask(f"{name} height", 'Floor to ceiling, or "roof": up to the roof', self.height)
            top: Value = "roof" if height is None else self.put.said.length(z + height)
            air = self.put.words(f"{name} air", "Air in it", ("heated", "unheated"))
            self.add(
                "room",
                [
                    ("name", name),
                    ("floor", self.put.said.points(floor)),
                    ("bottom", self.put.said.length(z)),
                    ("top", top),
                    ("air", air),
                ],
                several=True,
            )

    def height(self, text: str) -> float | None:
        """A height [m], None up to the roof. Raises `UnitError`."""
        if text.strip().lower() == "roof":
            return None
        if (height_m := read_length(text, self.put.unit)) <= 0:
            raise UnitError(f"{shown(text)} is no height; wanted more than nothing")
        return height_m

    def holes(self) -> None:
        """What the old flue left."""
        names: list[str] = []
        while (name := self.put.more("hole", "An old hole", names)) is not None:
            names.append(name)
            keys: Keys = [
                ("name", name),
                ("at", self.put.point(f"{name} at", "A point of its axis: x, y, z")),
                ("axis", self.put.quantity(f"{name} axis", "The way it runs: up, north, ...", parse_direction)),
                ("clear", self.put.length(f"{name} clear", "Clear diameter of the hole itself")),
                ("through", [self.put.space(f"{name} from", "From"), self.put.space(f"{name} to", "To")]),
            ]
            self.add("hole", keys, several=True)

    def cuts(self) -> None:
        """Where a new hole may be made."""
        names = [str(dict(table.keys)["name"]) for table in self.tables if table.name == "hole"]
        while (name := self.put.more("cut", "A place where a new hole may be made", names)) is not None:
            names.append(name)
            keys: Keys = [
                ("name", name),
                ("through", [self.put.space(f"{name} from", "From"), self.put.space(f"{name} to", "To")]),
                *self.box(name),
                ("axis", self.put.quantity(f"{name} axis", "The way the hole would run", parse_direction)),
            ]
            self.add("cut", keys, several=True)

    def box(self, name: str) -> Keys:
        """Corner and size."""
        return [
            ("corner", self.put.point(f"{name} corner", "Its box: least x, y, z")),
            ("size", self.put.point(f"{name} size", "Its box: east, north, up")),
        ]

    def obstacles(self) -> None:
        """What is in the way."""
        names: list[str] = []
        while (name := self.put.more("obstacle", "Something in the way: a duct, a beam, a tank", names)) is not None:
            names.append(name)
            if self.put.words(f"{name} shape", "Shape", ("box", "round"), "box") == "box":
                keys: Keys = [("name", name), *self.box(name)]
            else:
                ends: list[Value] = [
                    self.put.point(f"{name} {end}", f"Its axis, {end} end: x, y, z") for end in ("one", "other")
                ]
                keys = [("name", name), ("ends", ends), ("diameter", self.put.length(f"{name} diameter", "Diameter"))]
            self.add("obstacle", keys, several=True)

    def features(self) -> None:
        """Things outdoors that clearances are kept from."""
        self.put.asker.tell(f"Outdoors, for clearances: {'; '.join(self.kinds)}.")
        names: list[str] = []
        while (name := self.put.more("feature", "Something outdoors: a window, a door, a meter", names)) is not None:
            names.append(name)
            kind = self.put.words(f"{name} kind", "Kind", self.kinds)
            keys: Keys = [("kind", kind), ("name", name), *self.box(name)]
            if kind in ("porch", "deck", "balcony"):
                sides = self.put.words(f"{name} open sides", "Sides open to the air below", ("0", "1", "2", "3", "4"))
                keys.append(("open_sides", int(sides)))
            if kind == "gas regulator vent":
                pressure = self.put.quantity(f"{name} pressure", "Gas pressure, as 2 psi", parse_pressure_Pa)
                keys.append(("pressure", pressure))
            self.add("feature", keys, several=True)

    def appliance(self) -> None:
        """The appliance, from its rating plate and manual."""
        collar: Keys = [
            ("collar", self.put.point("collar", "Centre of the end of the exhaust collar: x, y, z")),
            ("faces", self.put.quantity("faces", "The way the collar points: up, north, ...", parse_direction)),
        ]
        model = self.put.asker.ask(
            "model",
            "Catalog model, for trying out only (blank: from the manual)",
            blank_or(partial(one_of, self.models)),
        )
        self.add("appliance", [("model", model), *collar] if model else [*manual(self.put), *collar])
