"""How short turns at any roll can be: against rolled pipe laid at random, and against triangles."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.solve.scenes import by_length, problem, two_rooms
from tests.solve.test_against_exhaustive import ANGLES, random_site
from ventroute.solve.links import Link, chains, links
from ventroute.solve.problem import Crossing
from ventroute.solve.reach import Span, Turns, least_m
from ventroute.solve.solver import solve

UP = np.array([0.0, 0.0, 1.0])
ANY = -math.pi / 2  # legs may go any way
STRAIGHT_UP = Span(UP, UP, UP, UP, ANY, 0.0)


def bound(span, turns, legs_m):
    """The bound of one stretch, worked out beside another."""
    alone = least_m([span], turns, legs_m[None])[0]
    beside = least_m([span, STRAIGHT_UP], turns, np.array([legs_m] * 2))[0]
    assert beside == pytest.approx(alone, abs=1e-12)
    return beside


def turned(direction, angle_deg, roll_deg):
    """A direction turned by a fitting that is rolled about it."""
    side = np.cross(direction, [1.0, 0.0, 0.0] if abs(direction[0]) < 0.9 else [0.0, 1.0, 0.0])
    side = side / np.linalg.norm(side)
    other = np.cross(direction, side)
    a, r = math.radians(angle_deg), math.radians(roll_deg)
    return math.cos(a) * direction + math.sin(a) * (math.cos(r) * side + math.sin(r) * other)


def laid(fittings):
    """The runs' directions of pipe that begins plumb, its fittings (angle, roll) one after the other [deg]."""
    dirs = [UP]
    for angle, roll in fittings:
        dirs.append(turned(dirs[-1], angle, roll))
    return dirs


FITTINGS = st.lists(st.tuples(st.sampled_from([90.0, 45.0, 22.5]), st.floats(0.0, 360.0)), max_size=5)


@settings(max_examples=300, deadline=None)
@given(FITTINGS, st.data())
def test_no_pipe_laid_with_rolled_fittings_is_shorter_than_the_bound(fittings, data):
    dirs = laid(fittings)
    k = len(fittings)
    least = np.array(data.draw(st.lists(st.floats(0.0, 0.3), min_size=k + 1, max_size=k + 1)))
    lengths = least + np.array(data.draw(st.lists(st.floats(0.0, 3.0), min_size=k + 1, max_size=k + 1)))
    way = lengths @ np.array(dirs)
    span = Span(way, way, UP, dirs[-1], ANY, 0.0)
    turns = Turns.of([tuple(a for a, _ in fittings)])
    # An inverse cosine near one is good to 1.5e-8 rad; the search takes a micrometre off for that.
    assert bound(span, turns, least[None])[0] <= lengths.sum() + 1e-6


@settings(max_examples=100, deadline=None)
@given(FITTINGS, st.floats(-1.0, 1.0), st.data())
def test_an_end_that_may_lie_anywhere_in_a_box_only_lowers_the_bound(fittings, slack, data):
    way = np.array(data.draw(st.tuples(*[st.floats(-3, 3)] * 3)))
    turns, legs = Turns.of([tuple(a for a, _ in fittings)]), np.zeros((1, len(fittings) + 1))
    exact = bound(Span(way, way, UP, UP, ANY, 0.0), turns, legs)[0]
    loose = bound(Span(way - abs(slack), way + abs(slack), UP, UP, ANY, 0.0), turns, legs)[0]
    assert loose <= exact + 1e-6


@pytest.mark.parametrize("angle", [90.0, 45.0, 22.5])
def test_an_offset_by_two_equal_bends_has_the_length_of_its_triangle(angle):
    # The fitter's rule: travel = offset / sin(angle), advance = offset / tan(angle); see the textbook cases beside this.
    offset, rise, a = 0.8, 2.5, math.radians(angle)
    span = Span(np.array([offset, 0.0, rise]), np.array([offset, 0.0, rise]), UP, UP, ANY, 0.0)
    length = offset / math.sin(a) + rise - offset / math.tan(a)
    assert bound(span, Turns.of([(angle, angle)]), np.zeros((1, 3)))[0] == pytest.approx(length, abs=1e-9)


def test_an_offset_rolled_into_two_planes_has_the_length_of_its_travel():
    # Textbook: true offset is the hypotenuse of the two offsets, travel at 45 degrees 1.414 times that.
    across = math.hypot(0.3, 0.4)
    way = np.array([0.3, 0.4, 2.0])
    got = bound(Span(way, way, UP, UP, ANY, 0.0), Turns.of([(45.0, 45.0)]), np.zeros((1, 3)))[0]
    assert got == pytest.approx(2.0 - across + across * math.sqrt(2.0), rel=1e-3)
    assert got <= 2.0 - across + across * math.sqrt(2.0) + 1e-9


def test_turns_that_cannot_end_as_they_began_lead_nowhere():
    way = np.array([0.5, 0.0, 2.0])
    span = Span(way, way, UP, UP, ANY, 0.0)
    assert np.isinf(bound(span, Turns.of([(90.0, 22.5), (90.0, 45.0)]), np.zeros((2, 3)))).all()
    assert np.isfinite(bound(span, Turns.of([(90.0, 45.0, 45.0)]), np.zeros((1, 4)))).all()


def test_an_offset_wider_than_its_rise_cannot_be_made_by_two_45s():
    way = np.array([2.0, 0.0, 1.5])
    assert np.isinf(bound(Span(way, way, UP, UP, ANY, 0.0), Turns.of([(45.0, 45.0)]), np.zeros((1, 3)))[0])


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000))
def test_the_bound_at_any_roll_is_below_the_best_way_in_steps(seed):
    p = problem(random_site(seed), ANGLES)
    outcome = solve(p, by_length(p))
    for kind, price in outcome.least.items():
        assert outcome.rolled[kind] <= price + 1e-9


@pytest.mark.parametrize(("hole", "bends"), [((1.0, 1.0), 0), ((1.4, 1.0), 2)])
def test_a_run_that_ends_beside_the_line_it_began_on_has_two_bends_and_none_where_it_ends_on_it(hole, bends):
    # A bend leaves the line and another comes back to its direction; without one a pipe goes straight.
    p = problem(two_rooms((1.0, 1.0, 0.5), hole, size=(2.5, 2.5, 2.4), angles=ANGLES), ANGLES)
    link = links(p, chains(p)[0][0])[0]
    assert link.bends(p.give_deg) == bends
    assert len(solve(p, by_length(p)).ways[0].angles) >= bends


@settings(max_examples=200, deadline=None)
@given(FITTINGS, st.data())
def test_no_pipe_laid_with_rolled_fittings_has_fewer_bends_than_a_link_between_its_ends_asks_for(fittings, data):
    dirs = laid(fittings)
    lengths = np.array(data.draw(st.lists(st.floats(0.05, 3.0), min_size=len(dirs), max_size=len(dirs))))
    end = Crossing(None, dirs[-1], dirs[-1], centre_m=lengths @ np.array(dirs))  # type: ignore[arg-type]
    link = Link(None, (), end, (0,), np.zeros(3), UP, UP)
    assert link.bends(2.5) <= len(fittings)
