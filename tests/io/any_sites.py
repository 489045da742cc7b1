"""Sites that no person would enter, but that a site file can say: for laws that hold of every site."""

from __future__ import annotations

import math
from typing import Any

from hypothesis import strategies as st

from ventroute.io import site_words as words
from ventroute.model.appliance import PATTERN_KEYS, Appliance, SizeLimit, Want
from ventroute.model.excess import DryGas
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
    Site,
)
from ventroute.units import DIRECTIONS, parse_direction

FT, IN = 0.3048, 0.0254


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    """Any float in a range [m], and often one that a tape would show."""
    sixteenths = st.integers(math.ceil(low / IN * 16), math.floor(high / IN * 16)).map(lambda n: n * IN / 16)
    tape = sixteenths.filter(lambda v: low <= v <= high)
    millimetres = st.integers(math.ceil(low * 1000), math.floor(high * 1000)).map(lambda n: n / 1000)
    return st.floats(low, high, allow_subnormal=False) | tape | millimetres


coordinates = lengths(-900, 900)
points = st.tuples(coordinates, coordinates, coordinates)
boxes = st.tuples(*[lengths(1e-3, 900)] * 3)
names = st.text(
    st.characters(exclude_categories=["C", "Z"]) | st.just(" "), min_size=1, max_size=30
).filter(lambda name: name.strip() and name.isprintable() and name != "outdoors")  # fmt: skip
free = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: math.hypot(*v) > 0.1).map(lambda v: parse_direction(list(v)))
directions = st.sampled_from(sorted(DIRECTIONS.values())) | free
shares = st.floats(0, 4, allow_subnormal=False) | st.integers(0, 400).map(lambda n: n / 100)


def some(kind: st.SearchStrategy[Any], most: int = 3) -> st.SearchStrategy[tuple[Any, ...]]:
    """A few tables of a kind, each with a name of its own."""
    return st.lists(kind, max_size=most, unique_by=lambda table: table.name).map(tuple)


@st.composite
def outlines(draw: st.DrawFn) -> tuple[tuple[float, float], ...]:
    """A convex polygon, counter-clockwise, its corners well apart."""
    x, y, r = draw(lengths(-500, 500)), draw(lengths(-500, 500)), draw(lengths(1, 300))
    if draw(st.booleans()):
        return ((x, y), (x + r, y), (x + r, y + r), (x, y + r))
    count, first = draw(st.integers(3, 9)), draw(st.floats(0, 6))
    turns = [first + 2 * math.pi * n / count for n in range(count)]
    return tuple((x + r * math.cos(turn), y + r * math.sin(turn)) for turn in turns)


@st.composite
def rooms(draw: st.DrawFn) -> Room:
    """A room, a box or a polygon."""
    bottom = draw(lengths(-100, 100))
    top = draw(st.none() | lengths(1, 100).map(lambda height: bottom + height))
    return Room(draw(names), draw(outlines()), bottom, top, draw(st.booleans()))


@st.composite
def roofs(draw: st.DrawFn) -> Roof:
    """A planar slope, its corners as near the plane as floats come."""
    a, b, c = draw(st.floats(-1, 1)), draw(st.floats(-1, 1)), draw(lengths(-10, 10))
    corners = tuple((x, y, c + a * x + b * y) for x, y in draw(outlines()) if abs(c + a * x + b * y) < 1000)
    if len(corners) < 3:
        corners = ((0.0, 0.0, c), (1.0, 0.0, c), (1.0, 1.0, c))
    return Roof(draw(names), corners, draw(lengths(1e-3, 2)))


@st.composite
def obstacles(draw: st.DrawFn) -> Obstacle:
    """A box or a cylinder."""
    gap = draw(st.none() | lengths(0, 3))
    if draw(st.booleans()):
        return Obstacle(draw(names), gap, draw(points), draw(boxes))
    start = draw(points)
    end = (start[0], start[1] - 0.5, start[2])
    return Obstacle(draw(names), gap, ends=(start, end), diameter_m=draw(lengths(1e-3, 10)))


@st.composite
def features(draw: st.DrawFn) -> Feature:
    """A thing outdoors, with what only its kind has."""
    kind = draw(st.sampled_from(words.FEATURES))
    return Feature(
        kind,
        draw(names),
        draw(points),
        draw(boxes),
        draw(st.none() | st.integers(0, 4)) if kind in words.SHELTERS else None,
        draw(st.none() | directions) if kind == "neighbour opening" else None,
        draw(st.none() | st.floats(0, 1e6)) if kind == "gas regulator vent" else None,
    )


@st.composite
def limits(draw: st.DrawFn, size_in: float) -> SizeLimit:
    """A row of a vent table."""
    least = draw(lengths(0, 50))
    bend = st.none() | lengths(0, 50)
    own = [(*of, m) for of in PATTERN_KEYS.values() if (m := draw(bend)) is not None]
    return SizeLimit(
        size_in, draw(lengths(least + 1, 200)), least, draw(st.none() | st.integers(0, 50)), *[draw(bend) for _ in "123"],
        *[draw(lengths(0, 50)) for _ in "123"], tuple(own),
    )  # fmt: skip


@st.composite
def appliances(draw: st.DrawFn) -> Appliance:
    """An appliance with every field inline."""
    hottest = draw(st.floats(15, 600) | st.integers(60, 1100).map(lambda degF: (degF - 32) * 5 / 9))
    sizes = draw(st.lists(st.sampled_from([1.5, 2.0, 3.0, 3.937, 4.0, 6.0]), min_size=1, max_size=3, unique=True))
    choice = {key: draw(st.sampled_from(known)) for key, known in {
        "fuel": words.FUELS, "category": words.CATEGORIES, "vent_style": words.VENT_STYLES, "falls_to": words.FALLS,
        "count": words.COUNTS, "mixed_sizes": words.MIXED, "derate": words.DERATES}.items()}  # fmt: skip
    return Appliance(
        name=draw(names),
        input_W=draw(st.floats(500, 600e3) | st.integers(2000, 900_000).map(lambda btu_h: btu_h * 0.2930710701722222)),
        exhaust_max_degC=hottest,
        exhaust_usual_degC=draw(st.just(hottest) | st.floats(15, hottest)),
        materials=tuple(draw(st.lists(st.sampled_from(words.MATERIALS), min_size=1, max_size=5))),
        collar_size_in=draw(st.sampled_from([1.5, 2.0, 3.0, 3.937])),
        collar_material=draw(st.none() | st.sampled_from(words.MATERIALS)),
        collar_m=draw(points),
        faces=draw(directions),
        sizes=tuple(draw(limits(size)) for size in sizes),
        pitch=draw(st.floats(0.001, 1) | st.sampled_from([1 / 48, 1 / 96, 0.02])),
        excess_air=draw(shares | st.builds(DryGas, st.sampled_from(["CO2", "O2"]), st.floats(0, 1))),
        cellular_core=draw(st.booleans()),
        above_roof_m=draw(lengths(0, 10)),
        above_grade_m=draw(lengths(0, 10)),
        source=draw(st.text(st.characters(exclude_categories=["Cs"]), max_size=40)),
        **choice,
    )


def framings() -> st.SearchStrategy[Framing]:
    """Joists, studs, rafters."""
    small = lengths(1e-3, 1)
    kinds = st.sampled_from(words.MEMBERS)
    return st.builds(Framing, names, kinds, points, boxes, directions, small, lengths(0, 9), small, small)


def wants() -> st.SearchStrategy[Want]:
    """What a person asks for."""
    return st.builds(
        Want,
        st.lists(st.sampled_from(words.MATERIALS), max_size=5, unique=True).map(tuple),
        st.lists(st.sampled_from([1.5, 2.0, 3.0, 3.937]), max_size=4, unique=True).map(tuple),
        st.sampled_from([("roof", "wall"), ("roof",), ("wall",), ("wall", "roof")]),
        st.sampled_from(words.PREFERENCES),
        lengths(0, 1),
        lengths(0, 900),
        lengths(0, 3),
    )


@st.composite
def sites(draw: st.DrawFn) -> Site:
    """A whole site."""
    house = draw(st.lists(rooms(), min_size=1, max_size=3, unique_by=lambda room: room.name))
    slopes = draw(some(roofs(), 2))
    bottom = draw(lengths(-100, 100))
    top = draw(lengths(1, 100).map(lambda height: bottom + height) | (st.none() if slopes else st.nothing()))
    spaces = ["outdoors", *(room.name for room in house)]
    through = st.permutations(spaces).map(lambda order: (order[0], order[1]))
    ways = draw(st.lists(names, max_size=4, unique=True))
    money = st.floats(0, 1e6, allow_subnormal=False) | st.integers(0, 500).map(float)
    return Site(
        draw(names),
        Place(draw(lengths(-500, 6000)), draw(st.floats(-70, 35)), draw(coordinates), draw(lengths(0, 20))),
        Envelope(draw(outlines()), bottom, top),
        draw(appliances()),
        tuple(house),
        slopes,
        tuple(Hole(way, draw(points), draw(directions), draw(lengths(1e-3, 1)), draw(through)) for way in ways[::2]),
        tuple(Cut(way, draw(through), draw(points), draw(boxes), draw(directions), draw(money)) for way in ways[1::2]),
        draw(some(obstacles())),
        draw(some(features())),
        draw(some(st.builds(KeepOut, names, st.sampled_from(words.APPLIES), points, boxes))),
        draw(some(framings(), 2)),
        draw(wants()),
    )
