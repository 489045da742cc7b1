"""Pitches, directions, sizes and quantities with units. Factors: NIST SP 811 (2008), appendix B.8, unless said."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ventroute.errors import UnitError
from ventroute.sentences import note_length, note_roof, told_in
from ventroute.units import (
    format_pitch,
    format_power,
    format_pressure,
    format_size,
    format_temperature,
    parse_direction,
    parse_fraction,
    parse_pitch,
    parse_power_W,
    parse_pressure_Pa,
    parse_size,
    parse_temperature_degC,
)


@pytest.mark.parametrize(
    ("text", "slope"),
    [
        ("6/12", 0.5),
        ("6 / 12", 0.5),
        ("6:12", 0.5),
        ("6 in 12", 0.5),
        ("1/4 in per ft", 1 / 48),
        ("1/4 in per foot", 1 / 48),
        ("1/4\" per ft", 1 / 48),
        ("¼ in per ft", 1 / 48),
        ("1/4 in/ft", 1 / 48),
        ("1/8 in per 1 ft", 1 / 96),
        ("2 %", 0.02),
        ("2.5%", 0.025),
        ("20 mm per m", 0.02),
        ("45 deg", 1.0),
        ("45°", 1.0),
        ("26.565 deg", 0.5),  # arctan 1/2 = 26.565 05 degrees
        ("30 degrees", 1 / math.sqrt(3)),
        ("0 %", 0.0),
        ("0/12", 0.0),
    ],
)  # fmt: skip
def test_a_pitch_is_rise_over_run(text, slope):
    assert parse_pitch(text) == pytest.approx(slope, rel=1e-5, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    ["6/0", "90 deg", "91 deg", "-6/12", "-2 %", "6", "6/12/12", "steep", "", "1/4 in", "6,5/12", "nan %", "60/1",
     "1/4 in per", "1/4 in per kg", 0.5, None, True, [6, 12], "1/4 in per ft per ft"],
)  # fmt: skip
def test_what_is_no_pitch_is_refused(text):
    with pytest.raises(UnitError):
        parse_pitch(text)


@given(st.integers(0, 191))
def test_a_pitch_in_sixteenths_per_foot_comes_back_exactly(sixteenths):
    slope = sixteenths / (16 * 12)
    assert parse_pitch(format_pitch(slope)) == pytest.approx(slope, rel=1e-12, abs=1e-15)


@pytest.mark.parametrize(
    ("name", "way"),
    [("up", (0, 0, 1)), ("down", (0, 0, -1)), ("north", (0, 1, 0)), ("south", (0, -1, 0)), ("east", (1, 0, 0)),
     ("west", (-1, 0, 0)), (" Up ", (0, 0, 1)), ([0, 0, 7], (0, 0, 1)), ([3, 0, 4], (0.6, 0, 0.8))],
)  # fmt: skip
def test_a_direction_is_a_unit_vector_x_east_y_north_z_up(name, way):
    assert parse_direction(name) == pytest.approx(way)


@pytest.mark.parametrize(
    "value",
    [
        "upwards",
        "",
        "ne",
        [0, 0, 0],
        [0, 0],
        [0, 0, 1, 0],
        [0, "1", 0],
        [0, math.nan, 1],
        [math.inf, 0, 0],
        1,
        None,
        [True, 0, 0],
        {},
    ],
)
def test_what_points_nowhere_is_refused(value):
    with pytest.raises(UnitError, match="write up, down, north"):
        parse_direction(value)


@given(st.tuples(*[st.floats(-1e6, 1e6)] * 3).filter(lambda v: math.hypot(*v) > 1e-6))
def test_a_direction_has_length_one_and_reads_back_as_itself(way):
    once = parse_direction(list(way))
    assert math.hypot(*once) == pytest.approx(1)
    assert parse_direction(list(once)) == once


@pytest.mark.parametrize(
    ("text", "size_in"),
    [("3 in", 3.0), ('3"', 3.0), ("1 1/2 in", 1.5), ("1½ in", 1.5), ("1.5 in", 1.5), ("80 mm", 3.0), ("60 mm", 2.0),
     ("110 mm", 4.0), ("125 mm", 5.0), ("160 mm", 6.0), ("100 mm", 3.937), ("DN 80", 3.0), ("dn110", 4.0), ("8 cm", 3.0)],
)  # fmt: skip
def test_a_nominal_size_is_in_inches_and_metric_pipe_has_its_own_names(text, size_in):
    assert parse_size(text) == size_in


@pytest.mark.parametrize(
    "value",
    ["3", 3, "93 mm", "76.2 mm", "0 in", "-3 in", "3 ft 2 m", "40 in", "", "three", None, True, "3 in 2 in", "DN 93"],
)
def test_what_is_no_size_is_refused(value):
    with pytest.raises(UnitError):
        parse_size(value)


@given(st.sampled_from([1.5, 2.0, 2.5, 3.0, 3.937, 4.0, 5.0, 6.0]) | st.integers(8, 36 * 16).map(lambda n: n / 16))
def test_a_size_comes_back_from_what_is_written(size_in):
    assert parse_size(format_size(size_in)) == size_in


@pytest.mark.parametrize(
    ("text", "power_W"),
    [
        ("35 kW", 35_000),
        ("35000 W", 35_000),
        ("120000 Btu/h", 35_168.5),  # 1 Btu (IT) per hour = 0.293 071 1 W
        ("120 kBtu/hr", 35_168.5),
        ("120 MBH", 35_168.5),
        ("120000 BTUH", 35_168.5),
        ("3.6 MJ/h", 1000),  # exact
        ("1 therm/h", 29_307.1),  # 100 000 Btu (IT)
    ],
)
def test_a_power_is_in_watts(text, power_W):
    assert parse_power_W(text) == pytest.approx(power_W, rel=1e-3 if "therm" in text else 1e-5)


@pytest.mark.parametrize(
    ("text", "pressure_Pa"),
    [
        ("2 psi", 13_789.5),  # 6 894.757 Pa
        ("7 in w.c.", 1743.6),  # inch of water, conventional: 249.088 9 Pa
        ("7 inH2O", 1743.6),
        ("1.7 kPa", 1700),
        ("20 mbar", 2000),
        ("100 Pa", 100),
        ("1 atm", 101_325),  # exact
    ],
)
def test_a_pressure_is_in_pascals(text, pressure_Pa):
    assert parse_pressure_Pa(text) == pytest.approx(pressure_Pa, rel=2e-5)


@pytest.mark.parametrize(
    ("text", "degC"),
    [
        ("32 degF", 0.0),  # ice
        ("212 °F", 100.0),  # steam
        ("-40 F", -40.0),  # where the scales cross
        ("-40 degC", -40.0),
        ("149 degF", 65.0),
        ("65 °C", 65.0),
        ("273.15 K", 0.0),
        ("-459.67 degF", -273.15),  # absolute zero
    ],
)
def test_a_temperature_is_in_celsius(text, degC):
    assert parse_temperature_degC(text) == degC


@pytest.mark.parametrize(
    "text", ["5", 5, "5 deg", "5 R", "-460 degF", "-1 K", "1e3 degC", "", "warm", "5,5 degC", None, "nan degC"]
)
def test_what_is_no_temperature_is_refused(text):
    with pytest.raises(UnitError):
        parse_temperature_degC(text)


@pytest.mark.parametrize(
    ("parse", "text"),
    [(parse_power_W, "35"), (parse_power_W, 35), (parse_power_W, "35 kWh"), (parse_power_W, "35 degF"),
     (parse_power_W, "120,000 Btu/h"), (parse_power_W, "35 kW kW"), (parse_pressure_Pa, "2 ft"),
     (parse_pressure_Pa, "7 in"), (parse_fraction, 0.4), (parse_fraction, "0.4"), (parse_fraction, "40"),
     (parse_fraction, "40 deg"), (parse_fraction, True)],
)  # fmt: skip
def test_a_quantity_without_its_unit_is_refused(parse, text):
    with pytest.raises(UnitError):
        parse(text)


def test_a_share_is_a_fraction():
    assert parse_fraction("40 %") == 0.4
    assert parse_fraction("12.5 percent") == 0.125


def test_what_people_read():
    assert format_temperature(65.0) == "149 °F"
    assert format_temperature(65.0, "metric") == "65 °C"
    assert format_power(parse_power_W("120000 Btu/h")) == "120000 Btu/h"
    assert format_power(35_200.0, "metric") == "35.2 kW"
    assert format_pressure(30.0, "metric") == "30 Pa"
    assert format_pressure(249.08891) == "1 in w.c."
    assert format_pitch(1 / 48) == "1/4 in per ft"
    assert format_pitch(0.0208, "metric") == "2.1 %"


def test_a_kept_text_is_read_in_either_system():
    # 1 in is 25.4 mm and 1 ft 0.3048 m exactly; half a foot of rise in a foot is 26.565 degrees
    text = f"{note_length(0.3048)} of 3 in pipe, {note_length(0.0254, short=True)} round it"
    assert told_in(text) == "1 ft of 3 in pipe, 1 in round it"
    assert told_in(text, "metric") == "0.305 m of 3 in pipe, 25 mm round it"
    assert told_in(note_roof(0.5)) == "pitch 6/12"
    assert told_in(note_roof(0.5), "metric") == "pitch 27°"
    assert told_in("pitch 0.5 of route 12.5 m in size 4.25 mm2") == "pitch 0.5 of route 12.5 m in size 4.25 mm2"


@given(st.floats(0, 100, allow_subnormal=False))
def test_a_kept_length_is_within_a_tenth_of_a_millimetre(metres):
    kept = note_length(metres)
    assert abs(float(kept.removesuffix(" m")) - metres) <= 5.1e-5
    assert told_in(kept, "metric").endswith(" m")
