"""Sentences of inches told in metric: 1 in is 25.4 mm and 1 ft 304.8 mm, exactly (NIST SP 811, 2008, B.8)."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ventroute.sentences import counted, note_temperature, size_in_words, told_in
from ventroute.units import format_length, format_pitch, format_size, parse_length


@pytest.mark.parametrize(
    ("text", "metric"),
    [
        ("10 ft to a vent for gas above 2 psi", "3.048 m to a vent for gas above 13.8 kPa"),  # 1 psi is 6894.757 Pa
        ("at least 46 ft 3 1/16 in, over 40 ft", "at least 14.099 m, over 12.192 m"),
        ("12 in above the roof", "305 mm above the roof"),
        ("it falls 1/4 in per ft or more", "it falls 2.1 % or more"),
        ("a gap of 1/2 to 3/4 in all round", "a gap of 13 to 19 mm all round"),
        ("up to 0.011 in", "up to 0.3 mm"),
        ("spent 1 in w.c. on the way", "spent 249.1 Pa on the way"),
        ("the gas is 140 degF (60 degC) at most", "the gas is 60 degC at most"),
        ("drains 0.40 US gal/h (1.53 kg/h)", "drains 1.53 kg/h"),
        ("table at 140 °F, -40 °F outdoors", "table at 60 °C, -40 °C outdoors"),
        ("100 in2 free, 100 ft2 bare", "645.2 cm2 free, 9.29 m2 bare"),
        ("roofs from 3/12 to 12/12", "roofs from 14° to 45°"),  # atan(3/12) is 14.04 degrees
        ("near x -3 ft, y 0 in", "near x -0.914 m, y 0 mm"),
    ],
)
def test_a_quantity_is_told_in_metric(text, metric):
    assert told_in(text, "metric") == metric
    assert told_in(text, "us") == text


@pytest.mark.parametrize(
    "text",
    [
        "3 in PVC to 2 in reducer",
        "no PVC increaser from 2 in to 3 in in the catalog",
        "PVC joints: 5 of 2 in and 1 of 3 in",
        "the room 'den, 3 ft down' and \"7 ft wall\"",
        "pieces 2 and 3 in the attic",
        "16 mm left all round",
    ],
)
def test_names_nominal_sizes_and_words_stay(text):
    assert told_in(text, "metric") == text


def test_pipe_made_in_metric_sizes_goes_by_those():
    # EN 14471 pipe is named by its outside diameter.
    assert told_in("the best way in 3 in PP to the roof", "metric") == "the best way in DN 80 PP to the roof"
    assert told_in("3 in (DN 80) PP pipe", "metric") == "DN 80 PP pipe"
    assert format_size(3.0, "PP", "metric") == "DN 80"
    assert format_size(3.0, "PP") == format_size(3.0, "PVC", "metric") == "3 in"
    assert size_in_words("3 in, 10 elbows", 3.0, "PP", "metric") == "DN 80, 10 elbows"
    assert size_in_words("13 in, 3 in", 3.0, "PP", "metric") == "13 in, DN 80"


@given(st.floats(0.0005, 3000), st.booleans())
def test_what_we_write_in_inches_is_found_and_keeps_its_length(length_m, short):
    told = told_in(f"clear by {format_length(length_m, short=short)} of it", "metric")
    found = re.fullmatch(r"clear by ([0-9.]+ m?m) of it", told)
    assert found
    # to the nearest sixteenth of an inch, then to half a millimetre
    assert abs(parse_length(found[1], None) - length_m) <= 0.0254 / 32 + 0.51e-3


@given(st.floats(0.001, 0.9))
def test_a_pitch_we_write_is_found(slope):
    assert re.fullmatch(r"falls [0-9.]+ % here", told_in(f"falls {format_pitch(slope)} here", "metric"))


def test_a_count_of_one_has_no_plural():
    assert counted(1, "guide") == "1 guide"
    assert counted(0, "guide") == "0 guides"
    assert counted(2, "guide") == "2 guides"


def test_a_temperature_in_a_text_is_read_by_both():
    # exact: -40 is where the two scales meet, 100 degC is 212 degF
    assert told_in(note_temperature(-40.0), "metric") == "-40 degC"
    assert note_temperature(100.0) == "212 degF (100 degC)"
