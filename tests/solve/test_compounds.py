"""Compound rolls: three bends past what stands in the way, against trigonometry and scipy."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import nnls

from tests.solve.scenes import EAST, by_length, problem, result_of, two_rooms
from tests.solve.test_rolls import wall_site
from ventroute.solve.compounds import Compounds
from ventroute.solve.conditions import Conditions
from ventroute.solve.links import chains, links
from ventroute.solve.search import Search

ANGLES = (90.0, 45.0, 22.5)
POST = ((1.62, 1.12, 0.7), (1.78, 1.28, 2.4))  # half-way between collar and hole


def link_of(p):
    return links(p, chains(p)[0][0])[0]


def room(collar=(1.2, 0.9, 0.6), hole=(2.2, 1.5), boxes=(), angles=ANGLES):
    """A made-up room, a collar that looks up, a hole in its ceiling."""
    return problem(two_rooms(collar, hole, size=(4.0, 3.0, 2.6), obstacles=boxes, angles=angles), angles)


def turn_deg(a, b):
    return math.degrees(math.acos(np.clip(a @ b, -1.0, 1.0)))


places = st.tuples(st.floats(0.4, 3.6), st.floats(0.4, 2.6))


@settings(max_examples=40, deadline=None)
@given(places, places)
def test_every_bend_of_a_compound_roll_turns_by_its_angle_and_the_legs_lead_to_the_end(collar, hole):
    # Oracle: the angle between vectors by their scalar product; least squares without negative lengths (scipy's nnls).
    p = room((*collar, 0.6), hole)
    link = link_of(p)
    way = link.end.centre_m - link.start_m
    compounds = Compounds.of(p, link)
    for pair, angles in zip(compounds.dirs, compounds.angles_deg, strict=True):
        legs = [link.start_true, *pair, link.end.true]
        turns = [turn_deg(a, b) for a, b in zip(legs, legs[1:], strict=False)]
        assert turns == pytest.approx(angles, abs=p.give_deg)
        assert nnls(np.array(legs).T, way)[1] < 1e-6
        assert all(d[2] >= p.appliance.pitch * math.hypot(d[0], d[1]) - 1e-9 for d in pair)


def test_two_45s_with_a_45_between_them_differ_by_65_53_degrees_in_plan():
    # cos 45 = cos^2 45 + sin^2 45 cos x for two legs at 45 degrees to the axis: spherical law of cosines.
    p = room()
    compounds = Compounds.of(p, link_of(p))
    three = [pair for pair, a in zip(compounds.dirs, compounds.angles_deg, strict=True) if a.tolist() == [45.0] * 3]
    assert three
    for first, last in three:
        x = math.degrees(math.atan2(last[1], last[0]) - math.atan2(first[1], first[0])) % 360
        assert min(x, 360 - x) == pytest.approx(math.degrees(math.acos(math.sqrt(2) - 1)), abs=1e-6)


def test_three_45s_swing_about_a_post_in_the_way_of_an_offset():
    # By hand: legs at 45 degrees to the plumb, rolled r and r - 65.53 from the way in plan, whose length is 1.16619 m;
    # by the law of sines they measure 1.16619 sin(65.53 - r) / sin 65.53 and 1.16619 sin r / sin 65.53 in plan, and
    # 1 / sin 45 times as much along the pipe; what is left of the height is plumb.
    free, blocked = room(angles=(90.0, 45.0)), room(boxes=[POST], angles=(90.0, 45.0))
    plain = result_of(Search(Conditions.of(free), link_of(free), by_length(free))).paths[0]
    assert plain.strand.angles == (45.0, 45.0)
    found = result_of(Search(Conditions.of(blocked), link_of(blocked), by_length(blocked))).paths[0]
    none = Conditions.of(blocked)
    none._compounds[link_of(blocked).key] = Compounds.none()
    without = result_of(Search(none, link_of(blocked), by_length(blocked))).paths[0]
    assert found.price < without.price - 0.1
    assert len(found.strand.angles) == 3
    first, last = found.strand.dirs[1:3]
    way = np.array([1.0, 0.6])
    roll = math.acos(abs(first[:2] @ way) / np.linalg.norm(first[:2]) / np.linalg.norm(way))
    swing = math.acos(first[:2] @ last[:2] / np.linalg.norm(first[:2]) / np.linalg.norm(last[:2]))
    steep = math.hypot(first[0], first[1])
    size = np.linalg.norm(way) / math.sin(swing) / steep
    lengths = size * math.sin(swing - roll), size * math.sin(roll)
    assert found.lengths[1:3] == pytest.approx(lengths, abs=1e-6)


def test_what_stands_in_the_way_does_not_change_which_compound_rolls_there_are():
    free, blocked = room(), room(boxes=[POST])
    assert np.array_equal(Compounds.of(free, link_of(free)).dirs, Compounds.of(blocked, link_of(blocked)).dirs)


def test_a_turned_house_has_the_same_compound_rolls_turned():
    # A quarter turn maps (x, y) to (-y, x).
    p, q = room((1.0, 1.0, 0.6), (2.0, 1.7)), room((1.0, 1.0, 0.6), (0.3, 2.0))
    turned = Compounds.of(p, link_of(p)).dirs @ np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    other = Compounds.of(q, link_of(q)).dirs
    assert len(turned) == len(other)
    gaps = np.abs(turned[:, None] - other[None]).max(axis=(2, 3)).min(axis=1)
    assert gaps.max() < 1e-9


def test_a_run_straight_up_has_no_compound_roll():
    p = room((1.0, 1.0, 0.6), (1.0, 1.0))
    assert not len(Compounds.of(p, link_of(p)).dirs)


def test_a_run_that_left_a_level_collar_by_a_bend_does_not_come_back_to_level():
    # A level collar's pipe may go straight on level through a wall; behind a joint every run has its pitch.
    p = problem(wall_site((1.0, 1.0, 1.2), (1.6, 1.5), faces=EAST), ANGLES)
    ends = {row.end.true[2]: len(Compounds.of(p, row).dirs) for chain in chains(p)[0] for row in links(p, chain)[:1]}
    assert ends.pop(0.0) == 0
    (pitched,) = ends.values()
    assert pitched > 0


def test_pipe_that_drains_to_the_terminal_does_not_rise_behind_a_collar_that_does_not():
    # A rise after a fall, or after a level collar, is a low point that holds water.
    p = problem(wall_site((1.0, 1.0, 1.2), (1.6, 1.0), faces=EAST), ANGLES)
    p = replace(p, appliance=replace(p.appliance, falls_to="terminal"))
    for chain in chains(p)[0]:
        assert (Compounds.of(p, links(p, chain)[0]).dirs[:, :, 2] <= 0.0).all()
