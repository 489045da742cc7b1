"""Whether corners bound an area: against another library's own judgement, and by hand."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from ventroute.io.outline import counter_clockwise, outline_faults, signed_area_m2, slope_faults

corner = st.tuples(st.integers(0, 6), st.integers(0, 6)).map(lambda at: (float(at[0]), float(at[1])))
outlines = st.lists(corner, min_size=3, max_size=7)


@given(outlines)
def test_an_outline_is_good_where_shapely_finds_its_ring_simple(outline):
    # shapely calls a ring simple that touches no part of itself; spikes and repeated corners are not.
    ring = shapely.LinearRing([*outline, outline[0]])
    repeated = any(a == b for a, b in zip(outline, [*outline[1:], outline[0]], strict=True))
    good = not repeated and ring.is_simple and shapely.Polygon(outline).is_valid
    assert (not list(outline_faults(outline))) == good


@given(outlines)
def test_the_area_is_shapely_s(outline):
    assume(shapely.Polygon(outline).is_valid)
    assert abs(signed_area_m2(outline)) == pytest.approx(shapely.Polygon(outline).area)
    assert signed_area_m2(counter_clockwise(outline)) >= 0
    assert set(counter_clockwise(outline)) == set(outline)
    assert counter_clockwise(outline)[0] == outline[0]


@given(outlines, st.integers(0, 6))
def test_where_one_begins_does_not_matter(outline, first):
    n = first % len(outline)
    assert bool(list(outline_faults(outline))) == bool(list(outline_faults([*outline[n:], *outline[:n]])))
    assert bool(list(outline_faults(outline))) == bool(list(outline_faults(outline[::-1])))


def test_a_closed_ring_is_told_to_leave_the_last_corner_out():
    said = list(outline_faults([(0, 0), (4, 0), (4, 3), (0, 0)]))
    assert said == ["corners 4 and 1 are the same point; leave the last one out, the outline closes itself"]


def test_a_bow_tie_names_the_sides_that_cross():
    assert "sides 1 and 3" in next(outline_faults([(0, 0), (4, 3), (4, 0), (0, 3)]))


@given(st.floats(-2, 2), st.floats(-2, 2), st.floats(-5, 5), st.integers(3, 8))
def test_corners_of_one_plane_are_a_slope(a, b, c, count):
    turns = [2 * math.pi * n / count for n in range(count)]
    corners = [(3 * math.cos(t), 3 * math.sin(t), c + a * 3 * math.cos(t) + b * 3 * math.sin(t)) for t in turns]
    assert list(slope_faults(corners)) == []


def test_one_corner_an_inch_off_is_not_planar():
    corners = [(0, 0, 3), (5, 0, 3), (5, 4, 5), (0, 4, 5 + 0.0254 * 4)]
    assert "not planar" in next(slope_faults(corners))


def test_an_eighth_of_an_inch_is_a_tape_s_reading():
    assert list(slope_faults([(0, 0, 3), (5, 0, 3), (5, 4, 5), (0, 4, 5.003)])) == []


def test_a_wall_is_no_roof():
    assert "upright" in next(slope_faults([(0, 0, 0), (5, 0, 0), (5, 0.05, 4), (0, 0.05, 4)]))
