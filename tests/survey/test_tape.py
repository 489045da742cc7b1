"""Answers as people call them out."""

from __future__ import annotations

import pytest

from ventroute.errors import UnitError
from ventroute.survey.closure import Diagonal, Wall
from ventroute.survey.tape import read_diagonal, read_length, read_lengths, read_wall

FOOT_M, INCH_M = 0.3048, 0.0254  # exact


def test_a_number_alone_is_in_the_unit_of_the_survey():
    assert read_length("7.5", "ft") == pytest.approx(7.5 * FOOT_M)
    assert read_length("90", "in") == pytest.approx(7.5 * FOOT_M)
    assert read_length("2.31", "m") == pytest.approx(2.31)


def test_a_unit_wins_over_that_of_the_survey():
    assert read_length("7 ft 6 1/2 in", "m") == pytest.approx(90.5 * INCH_M)


@pytest.mark.parametrize("text", ["6 ft, 4 ft, -4 ft", "6,4,-4", " 6 , 4 ft , -4 "])
def test_three_lengths_make_a_point(text):
    assert read_lengths(text, "ft", 3) == pytest.approx((6 * FOOT_M, 4 * FOOT_M, -4 * FOOT_M))


def test_sizes_may_be_said_with_x():
    assert read_lengths("12 ft x 9 ft 2 in x 7", "ft", 3) == pytest.approx((12 * FOOT_M, 110 * INCH_M, 7 * FOOT_M))


@pytest.mark.parametrize("text", ["6, 4", "6, 4, 3, 2", "6 4 3", "", "6,,3", "a, b, c", "nan, 0, 0", "1e999, 0, 0"])
def test_other_than_three_lengths_are_refused(text):
    with pytest.raises(UnitError):
        read_lengths(text, "ft", 3)


@pytest.mark.parametrize("text", ["east 12 ft 3 in", "East 12' 3\"", "e 12.25", "E 147 in"])
def test_a_wall_is_a_way_and_a_length(text):
    wall = read_wall(text, "ft")
    assert wall == Wall((1.0, 0.0), pytest.approx(147 * INCH_M))


def test_walls_of_bays_run_between_the_winds():
    assert read_wall("north-east 2 ft", "ft").toward == pytest.approx((0.5**0.5, 0.5**0.5))
    assert read_wall("sw 2 ft", "ft").toward == pytest.approx((-(0.5**0.5), -(0.5**0.5)))


@pytest.mark.parametrize("text", ["", "east", "12 ft", "up 12 ft", "left 12 ft", "east -3", "east 0", "east twelve"])
def test_other_words_are_no_wall(text):
    with pytest.raises(UnitError):
        read_wall(text, "ft")


@pytest.mark.parametrize("text", ["1-3 15 ft 2 in", "1 - 3: 15' 2\"", "1 to 3, 182 in"])
def test_a_diagonal_is_two_corners_and_a_reading(text):
    assert read_diagonal(text, "ft") == Diagonal(0, 2, pytest.approx(182 * INCH_M))


@pytest.mark.parametrize("text", ["", "1-3", "15 ft", "a-b 3 ft", "1-3 -2", "1-3 0", "1--3 2 ft"])
def test_other_words_are_no_diagonal(text):
    with pytest.raises(UnitError):
        read_diagonal(text, "ft")
