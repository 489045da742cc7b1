"""Lengths as people write them. An inch is 25.4 mm and a foot 12 in, exactly: NIST SP 811 (2008), appendix B.8."""

from __future__ import annotations

import string
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ventroute.errors import UnitError
from ventroute.units import METRES, decimal, format_length, parse_length, shown

INCH = Fraction(254, 10000)
FOOT = 12 * INCH


def metres(feet: int = 0, inches: Fraction | int = 0) -> float:
    return float(feet * FOOT + inches * INCH)


HALF = Fraction(1, 2)


@pytest.mark.parametrize(
    ("text", "length_m"),
    [
        ("7 ft 6 1/2 in", metres(7, 6 + HALF)),
        ("7' 6-1/2\"", metres(7, 6 + HALF)),
        ("7′6½″", metres(7, 6 + HALF)),
        ("7'-6 1/2\"", metres(7, 6 + HALF)),
        ("7’ 6½”", metres(7, 6 + HALF)),
        ("7'6''", metres(7, 6)),
        ("7ft6in", metres(7, 6)),
        ("7 FT. 6 IN.", metres(7, 6)),
        ("7 feet 6 inches", metres(7, 6)),
        ("1 foot 1 inch", metres(1, 1)),
        ("7 ft", metres(7)),
        ("7.25 ft", float(Fraction(725, 100) * FOOT)),
        ("6 1/2 in", metres(0, 6 + HALF)),
        ("6-1/2 in", metres(0, 6 + HALF)),
        ("6½ in", metres(0, 6 + HALF)),
        ("6 ½ in", metres(0, 6 + HALF)),
        ("1/2 in", metres(0, HALF)),
        ("½ in", metres(0, HALF)),
        ("1⁄2 in", metres(0, HALF)),
        (".5 in", metres(0, HALF)),
        ("90 1/2 in", metres(0, 90 + HALF)),
        ("11 15/16 in", metres(0, 11 + Fraction(15, 16))),
        ("6 1/2 ft", float(Fraction(13, 2) * FOOT)),
        ("0 ft 0 in", 0.0),
        ("-7 ft 6 in", -metres(7, 6)),
        ("−7 ft 6 in", -metres(7, 6)),
        ("+3 in", metres(0, 3)),
        ("2.31 m", 2.31),
        ("2.31m", 2.31),
        ("231 cm", 2.31),
        ("2310 mm", 2.31),
        ("2 m 31 cm", 2.31),
        ("2 m 310 mm", 2.31),
        ("2.31 metres", 2.31),
        ("2.31 meters", 2.31),
        ("231 centimetres", 2.31),
        ("\u00a02.31\u202fm ", 2.31),
    ],
)
def test_a_length_is_read_as_a_person_means_it(text, length_m):
    assert parse_length(text, "ft") == length_m
    assert parse_length(text, None) == length_m  # what carries its unit does not care for the file's


@pytest.mark.parametrize("unit", METRES)
def test_a_bare_number_is_in_the_unit_of_the_file(unit):
    assert parse_length(3, unit) == float(3 * METRES[unit])
    assert parse_length(-2.5, unit) == float(Fraction(-5, 2) * METRES[unit])


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        # What a general unit parser makes of these: 3 in, 21 ft in, 23 m, 4; all wrong and none refused.
        ("2,3 m", "write a decimal point"),
        ("1,234 mm", "write a decimal point"),
        ("61/2 in", 'write "6 1/2 in", with a space'),
        ("6 2/2 in", "not a proper fraction"),
        ("6 1/0 in", "not a proper fraction"),
        ("6.5 1/2 in", "a decimal and a fraction"),
        ("6. 1/2 in", "a decimal and a fraction"),
        ("7.5 ft 2 in", "can be read in two ways"),
        ("7 1/2 ft 2 in", "can be read in two ways"),
        ("7 ft 12 in", "can be read in two ways"),
        ("2 m 100 cm", "can be read in two ways"),
        ("7 in 6 ft", "mixes units"),
        ("7 ft 6 ft", "mixes units"),
        ("7 ft 6 cm", "mixes units"),
        ("2 m 3 in", "mixes units"),
        ("7", 'write "7 in", "7 ft" or "7 m"'),
        ("7.5", "has no unit"),
        ("6 1/2", "has no unit"),
        ("1/2", "has no unit"),
        ("7 ft 6", "is not a length"),
        ("7' 6", "is not a length"),
        ("7 yd", "is not a length"),
        ("7 fathoms", "is not a length"),
        ("3 m2", "is not a length"),
        ("3e2 m", "is not a length"),
        ("0x10 in", "is not a length"),
        ("1_000 mm", "is not a length"),
        ("--3 in", "is not a length"),
        ("7 ft - 6 in", "is not a length"),
        ("7 ft -6 in", "is not a length"),  # a dash as in 7'-6", or a minus?
        ("3 in x 4 in", "is not a length"),
        ("seven feet", "is not a length"),
        ("inf m", "is not a length"),
        ("nan m", "is not a length"),
        ("٣ m", "is not a length"),  # digits of another script
        ("²3 in", "is not a length"),
        ("", "the text is empty"),
        ("  ", "the text is empty"),
        ("-", "the text is empty"),
        ("9" * 401 + " m", "too long"),
        (float("nan"), "not a number one can measure"),
        (float("inf"), "not a number one can measure"),
        (10**400, "too large"),
        (True, "is not a number"),
        (None, "is not a number"),
        ([7, 6], "is not a number"),
        ({"ft": 7}, "is not a number"),
    ],
)
def test_what_can_be_read_in_no_way_or_in_two_is_refused_with_an_example(text, wanted):
    with pytest.raises(UnitError) as caught:
        parse_length(text, "ft")
    assert wanted in str(caught.value)
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 300


def test_a_number_without_unit_is_refused_where_there_is_no_unit_to_take():
    with pytest.raises(UnitError, match="has no unit"):
        parse_length(3, None)


@given(st.floats(-3000, 3000))
def test_feet_and_inches_come_back_within_a_thirty_second(length_m):
    assert abs(parse_length(format_length(length_m), None) - length_m) <= float(INCH / 32) * (1 + 1e-9)
    assert abs(parse_length(format_length(length_m, short=True), None) - length_m) <= float(INCH / 32) * (1 + 1e-9)


@given(st.floats(-3000, 3000))
def test_metric_comes_back_within_half_a_millimetre(length_m):
    assert abs(parse_length(format_length(length_m, "metric"), None) - length_m) <= 0.5e-3 * (1 + 1e-9)
    assert abs(parse_length(format_length(length_m, "metric", short=True), None) - length_m) <= 0.5e-3 * (1 + 1e-9)


@given(st.integers(-200_000, 200_000))
def test_whole_sixteenths_come_back_exactly(count):
    length_m = float(Fraction(count, 16) * INCH)
    assert parse_length(format_length(length_m), None) == length_m
    assert parse_length(format_length(length_m, short=True), None) == length_m


@pytest.mark.parametrize(
    ("length_m", "us", "short", "metric"),
    [
        (0.0, "0 in", "0 in", "0 m"),
        (metres(7, 6 + HALF), "7 ft 6 1/2 in", "90 1/2 in", "2.299 m"),
        (metres(7), "7 ft", "84 in", "2.134 m"),
        (metres(0, HALF), "1/2 in", "1/2 in", "0.013 m"),
        (-metres(0, HALF), "-1/2 in", "-1/2 in", "-0.013 m"),
        (metres(6, 11 + Fraction(63, 64)), "7 ft", "84 in", "2.133 m"),  # rounds up into the next foot
        (-1e-6, "0 in", "0 in", "0 m"),
        (1.0, "3 ft 3 3/8 in", "39 3/8 in", "1 m"),
    ],
)
def test_a_length_is_written_as_a_person_reads_it(length_m, us, short, metric):
    assert format_length(length_m) == us
    assert format_length(length_m, short=True) == short
    assert format_length(length_m, "metric") == metric


@given(
    st.integers(0, 400),
    st.integers(0, 11),
    st.integers(0, 15),
    st.sampled_from("'′’"),
    st.sampled_from(['"', "″", "”", "''"]),
)
def test_marks_and_words_say_the_same(feet, inches, sixteenths, foot_mark, inch_mark):
    part = f" {sixteenths}/16" if sixteenths else ""
    words = parse_length(f"{feet} ft {inches}{part} in", None)
    assert words == metres(feet, inches + Fraction(sixteenths, 16))
    assert parse_length(f"{feet}{foot_mark} {inches}{part}{inch_mark}", None) == words
    assert parse_length(f"{feet}{foot_mark}-{inches}{part.replace(' ', '-')}{inch_mark}", None) == words


@given(st.text(string.digits + " ./'\"-+ftincme,½″′\n\x1b\x00é", max_size=30))
def test_any_text_is_a_length_or_a_refusal(text):
    said = ""
    try:
        length_m = parse_length(text, "ft")
    except UnitError as error:
        length_m, said = 0.0, str(error)
    assert isinstance(length_m, float)
    assert said.isprintable()


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_decimal_reads_back_as_the_same_number(value):
    assert float(decimal(value)) == value
    assert "e" not in decimal(value)


def test_a_shown_value_is_short_and_gives_a_terminal_no_orders():
    assert shown("\x1b[2J\n") == '"\\x1b[2J\\x0a"'
    assert len(shown("x" * 500)) < 70
    assert shown(10**9000) == "a very large number"


@given(st.floats(-1e12, 1e12) | st.integers(-(10**12), 10**12), st.sampled_from(sorted(METRES)))
def test_a_bare_number_is_the_decimal_that_was_written_to_the_last_bit(number, unit):
    # rational arithmetic, rounded once; and no zero has a sign
    assert repr(parse_length(number, unit)) == repr(float(Fraction(repr(number)) * METRES[unit]))
