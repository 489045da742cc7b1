"""The appliance's table of a site file, and of a row of the appliance catalog."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from ventroute.io import site_words as words
from ventroute.io.site_fields import (
    Direction,
    ExcessAir,
    ExhaustTemperature,
    FallPitch,
    ListKind,
    Name,
    Point,
    Power,
    Size,
    choice_kind,
    count_kind,
    length_kind,
)

Run = Annotated[float, *length_kind(0.0, 300.0, above=True)]
Equivalent = Annotated[float, *length_kind(0.0, 50.0)]
BEND = "Equivalent length of one bend; left out: that bend is not used."
PATTERN = (
    "Of a bend of this pattern, where the manual lets it be used. Left out: it is used only where it turns no sharper "
    "than the material's own pattern, and then counts as any bend of its angle."
)


class SizeShape(BaseModel):
    """A row of the appliance's vent table."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

    size: Size = Field(description="Nominal size.", examples=["3 in"])
    max_length: Run = Field(description="Greatest equivalent length.", examples=["60 ft"])
    min_length: Equivalent = Field(0.0, description="Least equivalent length; default 0.", examples=["3 ft"])
    max_elbows: Annotated[int, *count_kind(50)] | None = Field(
        None, description="Most bends; left out: no limit but the length.", examples=[6]
    )
    elbow_90: Equivalent | None = Field(None, description=BEND, examples=["5 ft"])
    elbow_45: Equivalent | None = Field(None, description=BEND, examples=["2 ft 6 in"])
    elbow_22: Equivalent | None = Field(None, description=BEND, examples=["1 ft 3 in"])
    elbow_90_short: Equivalent | None = Field(None, description=PATTERN, examples=["8 ft"])
    elbow_90_long: Equivalent | None = Field(
        None, description="Of a long-turn 90; left out: it counts as any 90.", examples=["3 ft"]
    )
    elbow_90_pressure: Equivalent | None = Field(None, description=PATTERN, examples=["5 ft"])
    elbow_45_pressure: Equivalent | None = Field(None, description=PATTERN, examples=["2 ft 6 in"])
    elbow_22_pressure: Equivalent | None = Field(None, description=PATTERN, examples=["1 ft 3 in"])
    terminal: Equivalent = Field(0.0, description="Of the terminal; default 0.", examples=["0 ft"])
    reducer: Equivalent = Field(0.0, description="Of a reducer; default 0.", examples=["0 ft"])
    increaser: Equivalent = Field(0.0, description="Of an increaser; default 0.", examples=["0 ft"])


_INLINE = ("name", "fuel", "input", "category", "vent_style", "exhaust_max", "materials", "collar_size", "sizes")


def _model_or_fields(schema: dict[str, Any]) -> None:
    """Where `model` is given the other fields may come from the catalog."""
    schema["required"] = ["collar", "faces"]
    schema["anyOf"] = [{"required": ["model"]}, {"required": list(_INLINE)}]


class ApplianceShape(BaseModel):
    """The appliance: a catalog `model`, or every field of its manual inline; inline wins."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True, json_schema_extra=_model_or_fields)

    model: Name | None = Field(None, description="A row of the appliance catalog, which is for demonstration only.")
    collar: Point = Field(description="Centre of the exhaust outlet's end.", examples=[[6, 4, -4]])
    faces: Direction = Field(description="The way the outlet points.", examples=["up"])
    name: Name = Field(examples=["water heater"])
    fuel: Annotated[str, *choice_kind(words.FUELS)] = Field(examples=["natural gas"])
    input: Power = Field(description="Input on the rating plate.", examples=["120000 Btu/h"])
    category: Annotated[str, *choice_kind(words.CATEGORIES)] = Field(examples=["IV"])
    vent_style: Annotated[str, *choice_kind(words.VENT_STYLES)] = Field(
        description="direct: takes its air through a pipe of its own; non-direct: breathes the room.",
        examples=["non-direct"],
    )
    exhaust_max: ExhaustTemperature = Field(description="Highest exhaust temperature.", examples=["149 degF"])
    exhaust_usual: ExhaustTemperature | None = Field(
        None, description="Usual exhaust temperature, for condensate; default exhaust_max.", examples=["120 degF"]
    )
    materials: Annotated[
        tuple[Annotated[str, *choice_kind(words.MATERIALS)], ...], ListKind(1, 5, "a list of materials")
    ] = Field(description="What the manual allows.", examples=[["PVC", "CPVC"]])
    collar_size: Size = Field(description="Nominal size of the outlet.", examples=["2 in"])
    collar_material: Annotated[str, *choice_kind(words.MATERIALS)] | None = Field(
        None, description="Default: takes the run's own material.", examples=["PVC"]
    )
    pitch: FallPitch = Field(1 / 48, description="Default 1/4 in per ft.", examples=["1/4 in per ft"])
    falls_to: Annotated[str, *choice_kind(words.FALLS)] = Field(
        "appliance", description="Where condensate runs; default appliance.", examples=["appliance"]
    )
    count: Annotated[str, *choice_kind(words.COUNTS)] = Field(
        "centreline",
        description="How the manual counts length: corner to corner, or pipe only; default centreline, the longer.",
        examples=["centreline"],
    )
    mixed_sizes: Annotated[str, *choice_kind(words.MIXED)] = Field(
        "no",
        description="Whether the manual lets the size grow along the run. by share: it says so, and that each size's "
        "equivalent length counts as a share of that size's own greatest length, all shares together at most 1; "
        "default no, one size from collar to terminal.",
        examples=["no"],
    )
    excess_air: ExcessAir = Field(
        0.4,
        description="Beyond what burning needs, or what the manual gives of CO2 or O2 in dry flue gas at full input; "
        'default "40 %".',
        examples=["40 %"],
    )
    derate: Annotated[str, *choice_kind(words.DERATES)] = Field(
        "none", description="How the input falls with altitude; default none: the full input.", examples=["none"]
    )
    cellular_core: bool = Field(
        False, strict=True, description="The manual names cellular-core pipe; default false.", examples=[False]
    )
    above_roof: Annotated[float, *length_kind(0.0, 10.0)] = Field(
        0.0, description="Terminal height above the roof that the manual asks for; default 0.", examples=["12 in"]
    )
    above_grade: Annotated[float, *length_kind(0.0, 10.0)] = Field(
        0.0, description="Terminal height above grade that the manual asks for; default 0.", examples=["12 in"]
    )
    sizes: Annotated[tuple[SizeShape, ...], ListKind(1, 20, "a list of tables {size, max_length, ...}")] = Field(
        description="The manual's vent table."
    )
    source: Annotated[str, Field(max_length=500)] = Field(
        "", description="Where the figures come from; default: not said.", examples=["installation manual, page 12"]
    )
