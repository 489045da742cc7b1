"""The route file: a route drawn by hand, as runs and turns from the collar.

::

    format = 1
    material = "PVC"
    size = "3 in"
    terminal = "roof"                 # roof | wall

    [[run]]                           # in flow order, corner to corner; a turn is where two runs meet
    toward = "up"                     # up, north, ..., or [dx, dy, dz]
    length = "3 ft 2 in"
    [[run]]
    toward = "north"                  # a level direction is given the appliance's pitch, unless rise says otherwise
    length = "6 ft"
    rise = "2 in"
    [[run]]
    toward = "up"
    length = "12 ft"
    through = ["old flue, roof"]      # holes and cuts, in order
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from ventroute.errors import Fault, InputError, UnitError
from ventroute.io.near import did_you_mean, listed
from ventroute.io.site_lines import path_of
from ventroute.io.site_text import Document, parse, read_text
from ventroute.model.appliance import Vec3
from ventroute.model.drawn import DrawnRoute, DrawnRun
from ventroute.model.site import Site
from ventroute.units import parse_direction, parse_length, parse_size, shown

T = TypeVar("T")

MATERIALS = ("PVC", "CPVC", "ABS", "PP", "stainless")
_TOP = ("format", "material", "size", "terminal", "units", "run")
_RUN = ("toward", "length", "rise", "through")
_UNITS = ("ft", "in", "m", "cm", "mm")
_MOST_RUNS = 200
LEVEL = 1e-9  # upward share of a direction that nobody means


def read_route(path: Path, site: Site) -> DrawnRoute:
    """The route that a file draws.

    Raises
    ------
    InputError
        Every fault of the file, each with its line and key.
    """
    return read_route_text(read_text(path), str(path), site)


def read_route_text(text: str, file: str, site: Site) -> DrawnRoute:
    """The route that a text draws; `file` is its name in messages. See `read_route`."""
    return _Reader(parse(text, file), site, []).read()


def route_faults(text: str, file: str, faults: Iterable[Fault]) -> InputError:
    """Faults whose keys are those of a route file, with the lines of its text."""
    document = parse(text, file)
    return InputError([document.fault(path_of(fault.key), fault.what) for fault in faults])


class _Reader:
    def __init__(self, document: Document, site: Site, faults: list[Fault]) -> None:
        self.document, self.site, self.faults = document, site, faults
        self.names = (*(hole.name for hole in site.holes), *(cut.name for cut in site.cuts))

    def read(self) -> DrawnRoute:
        tables = self.document.tables
        self._known(tables, _TOP, ())
        if tables.get("format") != 1 or tables.get("format") is True:
            self.fault(("format",), "format = 1 is wanted")
        material = self._one_of(("material",), tables.get("material"), MATERIALS)
        terminal = self._one_of(("terminal",), tables.get("terminal"), ("roof", "wall"))
        unit = self._one_of(("units",), tables.get("units", "ft"), _UNITS)
        size = self._value(("size",), tables.get("size"), parse_size, 0.0)
        rows = tables.get("run")
        if not isinstance(rows, list) or not rows or not all(isinstance(row, dict) for row in rows):
            self.fault(("run",), "one [[run]] table for each straight stretch is wanted")
            rows = []
        if len(rows) > _MOST_RUNS:
            self.fault(("run",), f"{len(rows)} runs; no more than {_MOST_RUNS} are read")
        runs = tuple(self._run(i, row, unit) for i, row in enumerate(rows[:_MOST_RUNS]))
        if self.faults:
            raise InputError(self.faults)
        return DrawnRoute(material, size, terminal, runs)

    def fault(self, path: tuple[str | int, ...], what: str) -> None:
        self.faults.append(self.document.fault(path, what))

    def _known(self, table: Mapping[str, Any], keys: tuple[str, ...], path: tuple[str | int, ...]) -> None:
        for key in table:
            if key not in keys:
                self.fault((*path, key), f"unknown key {shown(key)}{did_you_mean(key, keys)}; wanted {listed(keys)}")

    def _one_of(self, path: tuple[str | int, ...], value: object, choices: tuple[str, ...]) -> str:
        if isinstance(value, str) and value in choices:
            return value
        what = "is missing" if value is None else f"{shown(value)} is not known{did_you_mean(value, choices)}"
        self.fault(path, f"{what}; wanted {listed(choices)}")
        return choices[0]

    def _value(self, path: tuple[str | int, ...], value: object, read: Callable[[object], T], default: T) -> T:
        if value is None:
            self.fault(path, "is missing")
            return default
        try:
            return read(value)
        except UnitError as error:
            self.fault(path, str(error))
            return default

    def _run(self, i: int, row: Mapping[str, Any], unit: str) -> DrawnRun:
        path = ("run", i)
        self._known(row, _RUN, path)
        length = self._value((*path, "length"), row.get("length"), lambda v: parse_length(v, unit), 1.0)
        if not 0.0 < length < 1000.0:
            self.fault((*path, "length"), "a length above 0 and below 1 km is wanted")
            length = 1.0
        toward = self._value((*path, "toward"), row.get("toward"), parse_direction, (0.0, 0.0, 1.0))
        rise = None
        if "rise" in row:
            rise = self._value((*path, "rise"), row["rise"], lambda v: parse_length(v, unit), 0.0)
            if math.hypot(toward[0], toward[1]) < LEVEL:
                self.fault((*path, "rise"), "only a run that goes sideways has it; leave it out")
            if not abs(rise) < length:
                self.fault((*path, "rise"), "the rise must be less than the length")
                rise = 0.0
        through = row.get("through", [])
        if not isinstance(through, list) or not all(isinstance(name, str) for name in through):
            self.fault((*path, "through"), "a list of names of holes and cuts is wanted")
            through = []
        for name in through:
            if name not in self.names:
                self.fault((*path, "through"), f"no hole or cut {shown(name)}{did_you_mean(name, self.names)}")
        if i == 0 and rise is None and abs(self.site.appliance.faces[2]) < LEVEL:
            return DrawnRun(toward, length, tuple(through))  # a level collar stays level up to the first joint
        return DrawnRun(self._pitched(toward, rise, length), length, tuple(through))

    def _pitched(self, toward: Vec3, rise_m: float | None, length_m: float) -> Vec3:
        """A level direction raised as drawn, or by the appliance's pitch."""
        if rise_m is None and abs(toward[2]) > LEVEL:
            return toward
        level = math.hypot(toward[0], toward[1])
        if level < LEVEL:
            return toward
        pitch = self.site.appliance.pitch if self.site.appliance.falls_to == "appliance" else -self.site.appliance.pitch
        sine = rise_m / length_m if rise_m is not None else pitch / math.hypot(1.0, pitch)
        across = math.sqrt(1.0 - sine * sine) / level
        return (toward[0] * across, toward[1] * across, sine)
