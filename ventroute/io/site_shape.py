"""The tables of a site file: their keys, what each means, and what stands in for one that is left out.

These shapes are also the JSON Schema, so that an editor can complete and check a site file. Lengths come out in metres.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from ventroute.io import site_words as words
from ventroute.io.appliance_shape import ApplianceShape
from ventroute.io.site_fields import (
    Altitude,
    Bore,
    Box,
    Coordinate,
    Corners,
    Direction,
    Ends,
    Extent,
    Format,
    ListKind,
    Measure,
    Money,
    Name,
    Names2,
    Point,
    Point2,
    Polygon,
    Pressure,
    RoofPitch,
    Size,
    ThinBox,
    Top,
    WinterTemperature,
    choice_kind,
    count_kind,
    length_kind,
)

CORNER = [0.5, 0.5, -7.5]
SIZE = [12, 9, "7 ft 2 in"]


class Shape(BaseModel):
    """A table without unknown keys."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class PlaceShape(Shape):
    """Where the house stands."""

    altitude: Altitude = Field(0.0, description="Height above sea level; default 0.", examples=["850 ft"])
    winter: WinterTemperature = Field(
        -40.0,
        description="Outdoor design temperature in winter; default -40 degF, colder than nearly any, "
        "so that freezing and condensate are not missed.",
        examples=["5 degF"],
    )
    grade: Coordinate = Field(description="z of the finished ground.", examples=[0])
    snow: Annotated[float, *length_kind(0.0, 20.0)] = Field(
        0.0, description="Depth of snow that terminals stay above; default 0.", examples=["18 in"]
    )
    rules: Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$")] = Field(
        "us-2021", description="Rule pack; default us-2021.", examples=["us-2021"]
    )


class BuildingShape(Shape):
    """The outside of the building."""

    footprint: Polygon = Field(
        description="Outside faces of the exterior walls, counter-clockwise; the other way round is turned about.",
        examples=[[[0, 0], [30, 0], [30, 24], [0, 24]]],
    )
    bottom: Coordinate | None = Field(None, description="Lowest z of the building; default the grade.", examples=[-8])
    top: Coordinate | None = Field(
        None, description="z of a flat roof's outer surface; left out where [[roof]] covers it.", examples=[18]
    )


class RoomShape(Shape):
    """A room, clear inside, surface to surface: corner and size, or floor, bottom and top."""

    name: Name = Field(examples=["utility"])
    corner: Point | None = Field(None, description="Least x, y, z.", examples=[CORNER])
    size: Box | None = Field(None, description="East, north, up.", examples=[SIZE])
    floor: Polygon | None = Field(
        None,
        description="A polygon in place of corner and size, counter-clockwise; the other way round is turned about.",
        examples=[[[0, 0], [30, 0], [30, 24], [0, 24]]],
    )
    bottom: Coordinate | None = Field(None, description="z of the floor.", examples=[18])
    top: Top | None = Field(None, description='z of the ceiling, or "roof": up to its underside.', examples=["roof"])
    air: Annotated[str, *choice_kind(words.AIR)] = Field(
        "unheated", description="Default unheated: the colder, so that freezing is not missed.", examples=["heated"]
    )


class GableShape(Shape):
    """Two slopes over a rectangle."""

    over: Annotated[tuple[Point2, Point2], ListKind(2, 2, "two opposite corners [[x, y], [x, y]]")] = Field(
        description="Two opposite corners of the walls' outside faces.", examples=[[[0, 0], [30, 24]]]
    )
    ridge: Annotated[str, *choice_kind(words.RIDGES)] = Field(description="The way it runs.", examples=["east"])
    eave: Coordinate = Field(description="The outer surface's z above the wall's outside face.", examples=[18])
    pitch: RoofPitch = Field(description="Slope of both sides.", examples=["6/12"])
    overhang: Annotated[float, *length_kind(0.0, 5.0)] = Field(
        0.0, description="How far the roof reaches beyond the walls, on every side; default 0.", examples=["1 ft"]
    )


class RoofShape(Shape):
    """A roof slope by its corners, or the two slopes of a gable."""

    name: Name = Field(examples=["south slope"])
    corners: Corners | None = Field(
        None,
        description="Corners of the outer surface, planar.",
        examples=[[[-1, -1, 17.5], [31, -1, 17.5], [31, 12, 24], [-1, 12, 24]]],
    )
    gable: GableShape | None = Field(None, description="In place of corners.")
    thickness: Annotated[float, *length_kind(0.0, 2.0, above=True)] = Field(
        description="Square to the slope.", examples=["9 in"]
    )


class HoleShape(Shape):
    """An existing passage through construction."""

    name: Name = Field(examples=["old flue"])
    at: Point = Field(description="Any point of its axis.", examples=[[6, 4, 0]])
    axis: Direction = Field(description="The way it runs.", examples=["up"])
    clear: Bore = Field(description="Clear diameter.", examples=["6 in"])
    through: Names2 = Field(description="The two spaces that it joins.", examples=[["utility", "closet"]])


class CutShape(Shape):
    """An area where a new hole may be made."""

    name: Name = Field(examples=["north rim"])
    through: Names2 = Field(description="The two spaces that it would join.", examples=[["utility", "outdoors"]])
    corner: Point = Field(description="Least x, y, z of the box that the pipe's axis crosses.", examples=[CORNER])
    size: Box = Field(description="East, north, up.", examples=[[10, 0.5, 1.5]])
    axis: Direction = Field(description="The way the hole runs.", examples=["north"])
    cost: Money = Field(0.0, description="What making and sealing the hole costs; default 0.", examples=[45])


class ObstacleShape(Shape):
    """Something in the way: a box, a cylinder (ends and diameter), or a mesh file."""

    name: Name = Field(examples=["supply duct"])
    gap: Annotated[float, *length_kind(0.0, 3.0)] | None = Field(
        None, description="To the outside of pipe and hubs; default [want].gap.", examples=["1 in"]
    )
    corner: Point | None = Field(None, description="Box: least x, y, z.", examples=[CORNER])
    size: Box | None = Field(None, description="Box: east, north, up.", examples=[[1.2, 9, 0.8]])
    ends: Ends | None = Field(None, description="Cylinder: ends of its axis.", examples=[[[0, 2, -1], [12, 2, -1]]])
    diameter: Annotated[float, *length_kind(0.0, 10.0, above=True)] | None = Field(
        None, description="Cylinder.", examples=["4 in"]
    )
    mesh: str | None = Field(
        None, description="A closed mesh, its path relative to this file and inside its folder.", examples=["scan.glb"]
    )
    scale: Annotated[float, *length_kind(1e-6, 1000.0)] | None = Field(
        None, description="Length of one unit of the mesh; default 1 m.", examples=["1 m"]
    )
    move: Point | None = Field(None, description="Where the mesh's origin lies; default [0, 0, 0].")


class FeatureShape(Shape):
    """A thing outdoors that clearance rules are about."""

    kind: Annotated[str, *choice_kind(words.FEATURES)] = Field(examples=["window, openable"])
    name: Name = Field(examples=["kitchen window"])
    corner: Point = Field(description="Least x, y, z.", examples=[CORNER])
    size: ThinBox = Field(description="East, north, up; one of them may be 0.", examples=[[3, 0.2, 4]])
    open_sides: Annotated[int, *count_kind(4)] | None = Field(
        None, description="Porch, deck, balcony: sides open to the air below.", examples=[3]
    )
    faces: Direction | None = Field(None, description="The way a neighbour's opening looks.", examples=["south"])
    pressure: Pressure | None = Field(None, description="Gas pressure at a gas regulator vent.", examples=["2 psi"])


class KeepOutShape(Shape):
    """A box where no terminal, no route, or neither may be."""

    name: Name = Field(examples=["play area"])
    applies: Annotated[str, *choice_kind(words.APPLIES)] = Field(
        "both", description="Default both.", examples=["terminal"]
    )
    corner: Point = Field(description="Least x, y, z.", examples=[CORNER])
    size: Box = Field(description="East, north, up.", examples=[[10, 8, 8]])


class FramingShape(Shape):
    """Parallel joists, studs or rafters inside construction."""

    name: Name = Field(examples=["first floor joists"])
    kind: Annotated[str, *choice_kind(words.MEMBERS)] = Field(examples=["joist"])
    corner: Point = Field(description="Least x, y, z of the box that the members fill.", examples=[CORNER])
    size: Box = Field(description="East, north, up.", examples=[[29, 23, "9 1/4 in"]])
    runs: Direction = Field(description="The way the members run.", examples=["north"])
    spacing: Extent = Field(description="Centre to centre.", examples=["16 in"])
    offset: Measure = Field(
        description="Centre of the first member from the box's corner, across the way they run.", examples=["16 in"]
    )
    width: Bore = Field(description="Thickness of a member.", examples=["1 1/2 in"])
    depth: Annotated[float, *length_kind(0.0, 2.0, above=True)] = Field(
        description="Height of a member's section.", examples=["9 1/4 in"]
    )


class WantShape(Shape):
    """What the person wants; what is left out is wide open."""

    materials: Annotated[
        tuple[Annotated[str, *choice_kind(words.MATERIALS)], ...], ListKind(1, 5, "a list of materials")
    ] = Field((), description="Default: all that the appliance allows.", examples=[["PVC", "ABS"]])
    sizes: Annotated[tuple[Size, ...], ListKind(1, 20, 'a list of sizes, such as ["2 in", "3 in"]')] = Field(
        (), description="Default: all in the appliance's table.", examples=[["2 in", "3 in"]]
    )
    terminals: Annotated[
        tuple[Annotated[str, *choice_kind(words.TERMINALS)], ...], ListKind(1, 2, "a list: roof, wall, or both")
    ] = Field(("roof", "wall"), description="Default both.", examples=[["roof", "wall"]])
    prefer: Annotated[str, *choice_kind(words.PREFERENCES)] = Field(
        "length",
        description="What the best route has least of: equivalent length, cost, or fittings (bends, couplings, "
        "increasers, reducers and adapters; not pipe or terminal); default length.",
        examples=["length"],
    )
    gap: Annotated[float, *length_kind(0.0, 1.0)] = Field(
        0.0254, description="Hub to any surface; default 1 in.", examples=["1 in"]
    )
    outdoors: Measure = Field(0.6096, description="Most pipe outdoors from a wall; default 2 ft.", examples=["2 ft"])
    reach: Annotated[float, *length_kind(0.0, 3.0)] = Field(
        0.1524, description="Least reach of a wall terminal's end beyond the outside face; default 6 in."
    )


class HeadShape(Shape):
    """What stands above the tables."""

    format: Format = Field(description="Always 1.", examples=[1])
    name: Name = Field(examples=["Birch Row basement"])
    units: Annotated[str, *choice_kind(words.UNITS)] = Field(
        "ft", description="Unit of bare numbers; default ft.", examples=["ft"]
    )


class SiteShape(HeadShape):
    """A house, its appliance and what is wanted, for ventroute."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True, title="ventroute site file")

    place: PlaceShape
    building: BuildingShape
    room: tuple[RoomShape, ...] = Field(min_length=1)
    roof: tuple[RoofShape, ...] = ()
    hole: tuple[HoleShape, ...] = ()
    cut: tuple[CutShape, ...] = ()
    obstacle: tuple[ObstacleShape, ...] = ()
    feature: tuple[FeatureShape, ...] = ()
    keep_out: tuple[KeepOutShape, ...] = ()
    framing: tuple[FramingShape, ...] = ()
    appliance: ApplianceShape
    want: WantShape = WantShape()
