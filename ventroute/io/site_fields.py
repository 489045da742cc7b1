"""Kinds of value in a site file: how each is read from what the person wrote, and how the JSON Schema describes it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Annotated, Literal, TypeVar

from pydantic import BeforeValidator, GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo, WithJsonSchema
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import PydanticCustomError
from pydantic_core.core_schema import CoreSchema, no_info_before_validator_function

from ventroute import units
from ventroute.errors import UnitError
from ventroute.io.near import did_you_mean, listed
from ventroute.model.excess import MOST_EXCESS, DryGas, parse_excess_air
from ventroute.units import Vec3, format_length, shown

RANGE = "x-range-m"  # least, most [m], and whether the least itself is out: for the schema, which gives it by unit
FARTHEST_M = 1000.0  # a coordinate beyond this is a mistake in the unit
LONGEST_NAME = 100
_T = TypeVar("_T")


def told(what: str) -> PydanticCustomError:
    """An error in our own words; braces are not for the library to fill in."""
    return PydanticCustomError("told", "{what}", {"what": what})


def _read(parse: Callable[[object], _T], value: object) -> _T:
    try:
        return parse(value)
    except UnitError as error:
        raise told(str(error)) from None


def _length(value: object, info: ValidationInfo, *, least: float, most: float, above: bool) -> float:
    unit = (info.context or {}).get("unit")
    metres = _read(lambda raw: units.parse_length(raw, unit), value)
    if metres < least or (above and metres == least):
        raise told(f"{shown(value)} is too small; wanted {'more than' if above else 'at least'} {format_length(least)}")
    if metres > most:
        hint = f'; a bare number is in {unit}, inches are written "{shown(value)} in"' if unit != "in" else ""
        hint = hint if isinstance(value, int | float) else ""
        raise told(f"{shown(value)} is too large; wanted at most {format_length(most)}{hint}")
    return metres


_LENGTH_TEXT = r"^\s*[-+−]?\s*[0-9.½¼¾⅛⅜⅝⅞⅓⅔].*(ft|foot|feet|in|inch|inches|m|cm|mm|met(re|er)s?|'|\"|′|″|’|”)\.?\s*$"
_LENGTH_SCHEMA = {
    "description": 'A length: a bare number in the file\'s units, or text such as "7 ft 6 1/2 in" or "2.31 m".',
    "anyOf": [{"type": "number"}, {"type": "string", "pattern": _LENGTH_TEXT}],
}


def length_kind(least: float, most: float, *, above: bool = False) -> tuple[BeforeValidator, WithJsonSchema]:
    """The two marks of a length field: its range [m] and its schema."""
    schema = {**_LENGTH_SCHEMA, RANGE: [least, most, above]}
    return BeforeValidator(partial(_length, least=least, most=most, above=above)), WithJsonSchema(schema)


Coordinate = Annotated[float, *length_kind(-FARTHEST_M, FARTHEST_M)]
Extent = Annotated[float, *length_kind(0.0, FARTHEST_M, above=True)]
Measure = Annotated[float, *length_kind(0.0, FARTHEST_M)]
Bore = Annotated[float, *length_kind(0.0, 1.0, above=True)]
Altitude = Annotated[float, *length_kind(-500.0, 6000.0)]


def _quantity(
    value: object, *, parse: Callable[[object], float], least: float, most: float, show: Callable[[float], str]
) -> float:
    number = _read(parse, value)
    if not least <= number <= most:
        raise told(f"{shown(value)} is out of range; wanted from {show(least)} to {show(most)}")
    return number


def quantity_kind(
    parse: Callable[[object], float], least: float, most: float, show: Callable[[float], str], example: str
) -> tuple[BeforeValidator, WithJsonSchema]:
    """The two marks of a field that carries its own unit: its range in SI and its schema."""
    check = partial(_quantity, parse=parse, least=least, most=most, show=show)
    return BeforeValidator(check), WithJsonSchema({"type": "string", "description": f'Such as "{example}".'})


def _temperature(degC: float) -> str:
    return f"{units.format_temperature(degC)} ({round(degC)} °C)"


def _percent(share: float) -> str:
    return f"{round(share * 100)} %"


Power = Annotated[float, *quantity_kind(units.parse_power_W, 500.0, 600e3, units.format_power, "120000 Btu/h")]
WinterTemperature = Annotated[
    float, *quantity_kind(units.parse_temperature_degC, -70.0, 35.0, _temperature, "5 degF")
]  # fmt: skip
ExhaustTemperature = Annotated[
    float, *quantity_kind(units.parse_temperature_degC, 15.0, 600.0, _temperature, "149 degF")
]  # fmt: skip


def _excess(value: object) -> float | DryGas:
    said = _read(parse_excess_air, value)
    if isinstance(said, float) and not 0.0 <= said <= MOST_EXCESS:
        raise told(f"{shown(value)} is out of range; wanted from {_percent(0.0)} to {_percent(MOST_EXCESS)}")
    return said


ExcessAir = Annotated[
    float | DryGas,
    BeforeValidator(_excess),
    WithJsonSchema({"type": "string", "description": 'Such as "40 %", "9 % CO2" or "5 % O2" (of dry flue gas).'}),
]
Pressure = Annotated[float, *quantity_kind(units.parse_pressure_Pa, 0.0, 1e6, units.format_pressure, "2 psi")]
FallPitch = Annotated[float, *quantity_kind(units.parse_pitch, 0.0, 1.0, units.format_pitch, "1/4 in per ft")]
RoofPitch = Annotated[float, *quantity_kind(units.parse_pitch, 0.01, 5.0, units.format_pitch, "6/12")]
Size = Annotated[
    float,
    BeforeValidator(partial(_read, units.parse_size)),
    WithJsonSchema({"type": "string", "description": 'A nominal size such as "3 in" or "80 mm".'}),
]


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise told(f"{shown(value)} is not a number; wanted an amount of money, such as 45")
    if not 0 <= value <= 1e6:
        raise told(f"{shown(value)} is out of range; wanted from 0 to 1000000")
    return float(value)


Money = Annotated[float, BeforeValidator(_number), WithJsonSchema({"type": "number", "minimum": 0, "maximum": 1e6})]


def _count(value: object, *, most: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= most:
        raise told(f"{shown(value)} is not a count; wanted a whole number from 0 to {most}")
    return value


def count_kind(most: int) -> tuple[BeforeValidator, WithJsonSchema]:
    """The two marks of a whole number from 0 to `most`."""
    schema = {"type": "integer", "minimum": 0, "maximum": most}
    return BeforeValidator(partial(_count, most=most)), WithJsonSchema(schema)


def _format(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value != 1:
        raise told(f"{shown(value)} is not a format; wanted 1, the only one there is")
    return 1


Format = Annotated[int, BeforeValidator(_format), WithJsonSchema({"type": "integer", "enum": [1]})]


def _name(value: object) -> str:
    if not isinstance(value, str):
        raise told(f'{shown(value)} is not text; wanted a name in quotes, such as "attic"')
    if not value.strip():
        raise told('empty; wanted a name, such as "attic"')
    if len(value) > LONGEST_NAME or not value.isprintable():
        raise told(f"{shown(value)} is not a name; wanted at most {LONGEST_NAME} printable characters on one line")
    return value


_NAME_SCHEMA = {"type": "string", "pattern": r"\S", "maxLength": LONGEST_NAME}
Name = Annotated[str, BeforeValidator(_name), WithJsonSchema(_NAME_SCHEMA)]


def _choice(value: object, *, known: tuple[str, ...]) -> str:
    if not isinstance(value, str) or value not in known:
        raise told(f"{shown(value)} is not known; wanted one of {listed(known)}{did_you_mean(value, known)}")
    return value


def choice_kind(known: tuple[str, ...]) -> tuple[BeforeValidator, WithJsonSchema]:
    """The two marks of a field that takes one of a few words."""
    return BeforeValidator(partial(_choice, known=known)), WithJsonSchema({"type": "string", "enum": list(known)})


def _list_of(value: object, *, least: int, most: int, wanted: str) -> object:
    if not isinstance(value, list | tuple):
        raise told(f"{shown(value)} is not a list; wanted {wanted}")
    if not least <= len(value) <= most:
        raise told(f"{len(value)} items; wanted {wanted}")
    return value


@dataclass(frozen=True, slots=True)
class ListKind:
    """The mark of a list of so many items."""

    least: int
    most: int
    wanted: str

    def __get_pydantic_core_schema__(self, source: type[object], handler: GetCoreSchemaHandler) -> CoreSchema:
        """Checked before its items are."""
        check = partial(_list_of, least=self.least, most=self.most, wanted=self.wanted)
        return no_info_before_validator_function(check, handler(source))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """The count, which the type alone does not tell."""
        return {**handler(core), "minItems": self.least, "maxItems": self.most}


Point = Annotated[tuple[Coordinate, Coordinate, Coordinate], ListKind(3, 3, "a point [x, y, z]")]
Point2 = Annotated[tuple[Coordinate, Coordinate], ListKind(2, 2, "a point [x, y]")]
Box = Annotated[tuple[Extent, Extent, Extent], ListKind(3, 3, "a size [east, north, up]")]
ThinBox = Annotated[tuple[Measure, Measure, Measure], ListKind(3, 3, "a size [east, north, up]")]
Polygon = Annotated[tuple[Point2, ...], ListKind(3, 200, "from 3 to 200 corners, each [x, y]")]
Corners = Annotated[tuple[Point, ...], ListKind(3, 200, "from 3 to 200 corners, each [x, y, z]")]
Ends = Annotated[tuple[Point, Point], ListKind(2, 2, "the two ends of the axis, each [x, y, z]")]
Names2 = Annotated[tuple[Name, Name], ListKind(2, 2, 'the names of two spaces, such as ["utility", "outdoors"]')]

Direction = Annotated[
    Vec3,
    BeforeValidator(partial(_read, units.parse_direction)),
    WithJsonSchema({
        "description": "up, down, north, south, east, west, or [dx, dy, dz].",
        "anyOf": [
            {"type": "string", "enum": list(units.DIRECTIONS)},
            {"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3},
        ],
    }),
]  # fmt: skip


def _top(value: object, info: ValidationInfo) -> float | str:
    return "roof" if value == "roof" else _length(value, info, least=-FARTHEST_M, most=FARTHEST_M, above=False)


Top = Annotated[
    float | Literal["roof"],
    BeforeValidator(_top),
    WithJsonSchema({
        "anyOf": [{"const": "roof"}, *_LENGTH_SCHEMA["anyOf"]],
        "description": 'A z, or "roof".',
        RANGE: [-FARTHEST_M, FARTHEST_M, False],
    }),
]  # fmt: skip
