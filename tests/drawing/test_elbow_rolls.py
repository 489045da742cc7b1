"""How far each elbow is rolled about the pipe that comes into it."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from tests.drawing import samples
from ventroute.drawing.assembly import rolls_deg, steps

SQUARE = math.sqrt(0.5)
SWING = math.acos(math.sqrt(2) - 1)  # in plan between two 45s with a 45 between them: spherical law of cosines


def route(*ways, length=1.0):
    """A route of runs of one length along some ways."""
    corners = [np.zeros(3)]
    for way in ways:
        corners.append(corners[-1] + length * np.asarray(way, float))
    return samples.route([tuple(corner.tolist()) for corner in corners])


def said(made, units="imperial"):
    """The lines of the order of work about elbows, but for the first."""
    return next(step.lines[1:] for step in steps(made, units) if step.title == "Turn the elbows")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from((22.5, 45.0, 90.0)), st.floats(-179.0, 179.0)), min_size=2, max_size=5))
def test_elbows_rolled_as_told_lead_the_runs_where_they_go(bends):
    # Oracle: scipy's rotations. A bend turns its run about an axis square to it, which each roll turns about the run.
    way, axis = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
    ways = [way]
    for angle, roll in bends:
        axis = Rotation.from_rotvec(math.radians(roll) * way).apply(axis)
        way = Rotation.from_rotvec(math.radians(angle) * axis).apply(way)
        ways.append(way)
    assume(all(np.linalg.norm(np.cross(a, b)) > 0.1 for a, b in pairwise(ways)))
    assert rolls_deg(route(*ways)) == pytest.approx([roll for _, roll in bends[1:]], abs=1e-6)


def test_an_offset_turns_back_and_a_quarter_turn_of_two_45s_turns_on():
    up, north, slope = (0, 0, 1), (0, 1, 0), (0, SQUARE, SQUARE)
    assert said(route(up, slope, up))[1] == "Part 4: in line with part 2, turning back."
    assert said(route(up, slope, north))[1] == "Part 4: in line with part 2, turning on the same way."


def test_the_first_elbow_has_a_bearing_from_a_plumb_collar_and_up_or_a_side_from_a_level_one():
    up, east = (0, 0, 1), (1, 0, 0)
    assert said(route(up, east))[0] == "Part 2: towards a bearing of 90 degrees, clockwise from north in plan."
    assert "bearing of 0 degrees" in said(route(up, (-1e-12, 1, 0)))[0]  # a hair west of north
    assert said(route(east, up))[0] == "Part 2: turning up."
    # East to south is a turn to the right: seen along the flow, a quarter clockwise from up.
    assert said(route(east, (0, -1, 0)))[0] == "Part 2: 90 degrees clockwise from turning up."


def test_three_45s_that_swing_to_the_right_are_rolled_a_half_angle_each_and_measured_round_the_pipe():
    # Spherical triangle of plumb and both legs: three sides of 45 degrees, so by the law of cosines for sides each of
    # its angles has the cosine (cos 45 - cos^2 45) / sin^2 45, and each roll is what is left to a half turn. 3 in pipe
    # is 3.5 in outside.
    first = (SQUARE * math.sin(0.0), SQUARE * math.cos(0.0), SQUARE)
    last = (SQUARE * math.sin(SWING), SQUARE * math.cos(SWING), SQUARE)
    made = route((0, 0, 1), first, last, (0, 0, 1))
    roll = 180.0 - math.degrees(math.acos((math.cos(math.pi / 4) - 0.5) / 0.5))
    assert np.abs(rolls_deg(made)) == pytest.approx([roll, roll])
    inches = math.pi * 3.5 * roll / 360.0
    line = said(made)[1]
    # The first leg goes up and north. Seen along it the first elbow would turn on at six o'clock; the second turns to
    # the right and a little up, a little past two: against the clock.
    assert line.startswith("Part 4: 114 1/2 degrees counterclockwise from where part 2 would turn on, ")
    assert roll == pytest.approx(114.47, abs=0.01)
    assert inches == pytest.approx(3.496, abs=1e-3)
    assert line.endswith("3 1/2 in round the pipe.")
