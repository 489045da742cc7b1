"""Polygons against shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from ventroute.errors import GeometryError
from ventroute.geometry.polygon import area_m2, convex_parts, counter_clockwise, crosses_itself, inside

lattice = st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=3, max_size=10).map(np.array)


@st.composite
def stars(draw: st.DrawFn) -> np.ndarray:
    """Star-shaped polygons, so simple, mostly hollow somewhere."""
    n = draw(st.integers(4, 12))
    turns = (np.arange(n) + [draw(st.floats(0.1, 0.9)) for _ in range(n)]) * 2 * np.pi / n
    reach = np.array([draw(st.floats(0.3, 3)) for _ in range(n)])
    ring = np.column_stack([reach * np.cos(turns), reach * np.sin(turns)])
    assume(shapely.Polygon(ring).is_valid)
    return ring


def test_area_is_positive_counter_clockwise() -> None:
    assert area_m2([(0, 0), (2, 0), (2, 3), (0, 3)]) == 6
    assert area_m2([(0, 3), (2, 3), (2, 0), (0, 0)]) == -6


@given(stars())
def test_turned_round_twice_it_is_the_same(ring: np.ndarray) -> None:
    assert area_m2(counter_clockwise(ring[::-1])) == pytest.approx(area_m2(counter_clockwise(ring)))
    assert area_m2(counter_clockwise(ring[::-1])) > 0


@given(lattice)
def test_crossing_itself_is_what_shapely_calls_invalid(ring: np.ndarray) -> None:
    assume(not (ring == np.roll(ring, -1, axis=0)).all(axis=1).any())  # we refuse repeated corners, shapely does not
    assert crosses_itself(ring) == (not shapely.Polygon(ring).is_valid)


@pytest.mark.parametrize(
    "ring",
    [
        [(0, 0), (1, 1), (1, 0), (0, 1)],  # a bow
        [(0, 0), (2, 0), (1, 0), (1, 1)],  # a spike
        [(0, 0), (1, 0), (1, 0), (0, 1)],  # a corner twice
        [(0, 0), (2, 0), (2, 2), (1, 0), (0, 2)],  # a corner on a side
        [(0, 0), (1, 0), (2, 0)],
    ],
)
def test_what_is_no_simple_polygon_has_no_parts(ring: list[tuple[float, float]]) -> None:
    with pytest.raises(GeometryError):
        convex_parts(ring)


def test_a_line_there_and_back_has_no_parts() -> None:
    with pytest.raises(GeometryError):
        convex_parts([(0, 0), (1, 0)])


@given(stars(), st.booleans())
def test_parts_are_convex_and_are_the_polygon(ring: np.ndarray, clockwise: bool) -> None:
    parts = [shapely.Polygon(part) for part in convex_parts(ring[::-1] if clockwise else ring)]
    whole = shapely.Polygon(ring)
    assert sum(part.area for part in parts) == pytest.approx(whole.area, abs=1e-6)
    assert shapely.union_all(parts).symmetric_difference(whole).area < 1e-6
    assert all(part.convex_hull.area - part.area < 1e-6 for part in parts)
    assert all(part.exterior.is_ccw for part in parts)


def test_a_convex_polygon_stays_whole() -> None:
    turns = np.arange(9) * 2 * np.pi / 9
    assert len(convex_parts(np.column_stack([np.cos(turns), np.sin(turns)]))) == 1


def test_an_ell_is_two_rectangles_or_trapezia() -> None:
    parts = convex_parts([(0, 0), (4, 0), (4, 2), (2, 2), (2, 5), (0, 5)])
    assert len(parts) == 2
    assert sum(area_m2(part) for part in parts) == pytest.approx(14)


@given(stars(), st.lists(st.tuples(st.floats(-3, 3), st.floats(-3, 3)), min_size=1, max_size=20))
def test_inside_is_what_shapely_contains(ring: np.ndarray, points: list[tuple[float, float]]) -> None:
    whole = shapely.Polygon(ring)
    far = np.array([shapely.distance(whole.exterior, shapely.Point(p)) > 1e-6 for p in points])
    expected = shapely.contains_xy(whole, np.array(points))
    assert (inside(ring, points)[far] == expected[far]).all()


def test_corners_and_sides_are_inside() -> None:
    square = [(0, 0), (1, 0), (1, 1), (0, 1)]
    assert inside(square, [(0, 0), (1, 1), (0.5, 1), (0, 0.5)]).all()
    assert not inside(square, [(1 + 1e-6, 0.5), (0.5, -1e-6)]).any()
