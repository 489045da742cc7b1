"""The JSON Schema says of a site file what the reader says, as far as a schema can."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.badsites.cases import CASES, GOOD
from ventroute.catalog.lookup import load_catalog
from ventroute.catalog.paths import catalogs_folder
from ventroute.errors import Fault, InputError
from ventroute.io.site_file import read_site, read_site_text, write_site
from ventroute.io.site_schema import json_schema

SCHEMA = json_schema()
CHECKER = jsonschema.Draft202012Validator(SCHEMA)
DEMOS = sorted((catalogs_folder() / "sites").glob("*.toml"))


def complaints(text: str) -> list[str]:
    return [error.message for error in CHECKER.iter_errors(tomllib.loads(text))]


def test_the_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"].endswith("2020-12/schema")


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demonstration_keeps_the_schema(path):
    assert complaints(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
@pytest.mark.parametrize("unit", ["ft", "m"])
def test_what_is_written_keeps_the_schema(path, unit):
    assert complaints(write_site(read_site(path, load_catalog().appliances), unit)) == []


def test_the_good_file_keeps_the_schema():
    assert complaints(GOOD) == []


def test_no_good_table_is_refused_for_being_written_another_way():
    text = (
        GOOD.replace('snow = "18 in"', "snow = '1′6″'")
        .replace('"7 ft 2 in"', '"2.18 m"')
        .replace('axis = "up"', "axis = [0, 0, 1]")
    )
    text = text.replace('category = "IV"', 'category = "IV"\npitch = "2 %"\nexcess_air = "30 %"')
    assert complaints(text) == []


SEEN = [
    "format of the future", "name a number", "name empty", "units unknown", "unknown table", "unknown key at the top",
    "place missing", "building missing", "appliance missing", "want in double brackets", "misspelt key", "missing key",
    "length without unit", "length a table", "length true", "power without unit", "temperature without unit",
    "pitch a number", "size without unit", "point in the plane", "point of text", "direction misspelt", "air unknown",
    "kind unknown", "material unknown", "no material", "category 4", "money below nothing", "money in words",
    "half an elbow", "rule pack up the tree", "floor of two corners", "gable without eave", "gable ridge upward",
    "one space", "footprint of endless corners",
]  # fmt: skip


@pytest.mark.parametrize("name", SEEN)
def test_an_editor_sees_what_the_reader_refuses(name):
    case = next(case for case in CASES if case.name == name)
    assert complaints(case.text) != []


def tables(schema: dict[str, object]) -> list[tuple[str, dict[str, dict[str, object]]]]:
    """Every table of the schema with its properties."""
    found = [("site", SCHEMA["properties"])]
    return found + [(name, shape["properties"]) for name, shape in SCHEMA["$defs"].items()]


def test_every_default_is_stated():
    # A person who leaves a key out must be able to find what is taken in its place.
    for name, properties in tables(SCHEMA):
        for key, shape in properties.items():
            if "default" in shape and shape["default"] not in (None, [], ()) and key not in ("want", "room"):
                assert "efault" in str(shape.get("description")), f"{name}.{key}"


def test_unknown_keys_are_refused_in_every_table():
    assert SCHEMA["additionalProperties"] is False
    assert all(shape["additionalProperties"] is False for shape in SCHEMA["$defs"].values())


# Ranges of plain numbers: the same in the schema as in the reader, in every unit of the file.

PLAIN = re.compile(
    r"-?[0-9.e+-]+ is (too small|too large|out of range|not a count|not a format)|the number is too large"
)


def range_faults(text: str) -> list[Fault]:
    """Faults of a plain number that the reader finds outside its range."""
    try:
        read_site_text(text, "house.toml", Path(__file__).parent)
    except InputError as error:
        return [fault for fault in error.faults if PLAIN.match(fault.what)]
    return []


# The checker cannot print a number of thousands of digits.
RANGES = [case for case in CASES if len(case.new) < 1000 and range_faults(case.text)]


def test_there_are_range_faults_of_plain_numbers():
    assert {"hole of no size", "length too long", "money below nothing", "room inside out"} <= {c.name for c in RANGES}


@pytest.mark.parametrize("case", RANGES, ids=lambda case: case.name)
def test_a_plain_number_out_of_range_is_refused_by_the_schema_too(case):
    assert complaints(case.text) != []


LEAVES = {
    "snow": 'snow = "18 in"', "grade": "grade = 0", "altitude": 'altitude = "850 ft"', "cost": "cost = 45",
    "clear": 'clear = "6 in"', "max_elbows": "max_elbows = 6", "min_length": 'min_length = "3 ft"',
}  # fmt: skip


@given(
    st.sampled_from(sorted(LEAVES)),
    st.sampled_from(["ft", "in", "m", "cm", "mm"]),
    st.integers(-(10**8), 10**8) | st.integers(-50, 50) | st.floats(-5000, 5000).map(lambda v: round(v, 3)),
)
def test_schema_and_reader_agree_on_the_range_of_a_number(key, unit, value):
    value = int(value) if key == "max_elbows" else value  # to JSON, 6.0 is a whole number
    text = GOOD.replace('units = "ft"', f'units = "{unit}"').replace(LEAVES[key], f"{key} = {value}", 1)
    refused = any(fault.key.endswith(key) for fault in range_faults(text))
    said = [error for error in CHECKER.iter_errors(tomllib.loads(text)) if key in map(str, error.absolute_path)]
    assert bool(said) == refused
