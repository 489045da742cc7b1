"""Edits keep what the person wrote."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ventroute.viewer.document import EditError, changed, tables, written

from ventroute.units import parse_length

TEXT = """format = 1   # first line
name = "Birch Row"
units = "ft"

[[room]]            # where the heater stands
name = "utility"
corner = [0.5, 0.5, -7.5]   # from the north wall
size = [12, 9, "7 ft 2 in"]

[[hole]]
name = "old flue"
clear = "6 in"   # measured twice
through = ["utility", "outdoors"]

[want]
prefer = "length"
"""


def test_a_change_touches_its_line_alone():
    after = changed(TEXT, [{"op": "set", "path": ["hole", 0, "clear"], "value": "4 in"}])
    assert after == TEXT.replace('clear = "6 in"', 'clear = "4 in"')


def test_moving_one_coordinate_keeps_the_others_and_the_comment():
    after = changed(TEXT, [{"op": "set", "path": ["room", 0, "corner", 0], "value": {"m": 0.3048 * 2}}])
    assert after == TEXT.replace("[0.5, 0.5, -7.5]", "[2.0, 0.5, -7.5]")


def test_what_is_added_reads_back_and_every_old_line_stands():
    added = {"name": "closet", "corner": [{"m": 1.0}, 2, 0], "size": [5, 5, 8], "air": "heated"}
    after = changed(TEXT, [{"op": "add", "table": "room", "value": added}])
    assert [row["name"] for row in tomllib.loads(after)["room"]] == ["utility", "closet"]
    assert set(TEXT.splitlines()) <= set(after.splitlines())


def test_the_first_of_a_kind_can_be_added_and_the_last_removed():
    after = changed(TEXT, [{"op": "add", "table": "obstacle", "value": {"name": "duct", "corner": [0, 0, 0]}}])
    assert tables(after)["obstacle"][0]["name"] == "duct"
    assert "obstacle" not in tables(changed(after, [{"op": "remove", "table": "obstacle", "index": 0}]))


def test_renaming_a_room_renames_it_in_the_holes_that_lead_to_it():
    after = changed(TEXT, [{"op": "set", "path": ["room", 0, "name"], "value": "cellar"}])
    assert tables(after)["hole"][0]["through"] == ["cellar", "outdoors"]


def test_a_table_that_is_not_there_yet_is_made():
    after = changed(TEXT, [{"op": "set", "path": ["place", "snow"], "value": "18 in"}])
    assert tables(after)["place"] == {"snow": "18 in"}


def test_a_key_set_to_nothing_is_taken_away():
    assert "prefer" not in changed(TEXT, [{"op": "set", "path": ["want", "prefer"], "value": None}])


@pytest.mark.parametrize(
    "change",
    [
        {"op": "set", "path": ["hole", 7, "clear"], "value": "3 in"},
        {"op": "set", "path": ["hole", "x", "clear"], "value": "3 in"},
        {"op": "set", "path": ["nothing", 0], "value": 1},
        {"op": "set", "path": ["room", 0, "name"], "value": "a\nb"},
        {"op": "set", "path": ["room", 0, "name"], "value": "a" * 5000},
        {"op": "set", "path": ["room", 0, "size"], "value": [float("nan")]},
        {"op": "set", "path": ["room", 0, "size"], "value": [[[[[1]]]]]},
        {"op": "set", "path": ["room", 0, "size"], "value": {"m": float("inf")}},
        {"op": "set", "path": [], "value": 1},
        {"op": "set", "path": "room", "value": 1},
        {"op": "set", "path": ["room", -1, "name"], "value": "x"},
        {"op": "remove", "table": "room", "index": 9},
        {"op": "remove", "table": "want", "index": 0},
        {"op": "add", "table": "want", "value": {}},
        {"op": "add", "table": "room", "value": []},
        {"op": "unknown"},
        "text",
    ],
)
def test_what_cannot_be_changed_is_refused(change):
    with pytest.raises(EditError):
        changed(TEXT, [change])


def test_text_that_is_not_toml_is_refused():
    with pytest.raises(EditError):
        changed("[[[", [])


@given(st.floats(-100, 100), st.sampled_from(["ft", "in", "m", "cm", "mm"]))
def test_a_written_length_reads_back_within_a_thirty_second_of_an_inch_or_half_a_millimetre(metres, unit):
    assert parse_length(written(metres, unit), unit) == pytest.approx(metres, abs=0.0254 / 32 + 1e-9)
