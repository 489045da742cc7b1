"""Distances against shapely in the plane, trimesh, and plain minimising."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy.optimize import minimize

from ventroute.geometry.distance import (
    points_segments,
    points_triangles,
    segments_polytope,
    segments_segments,
    segments_triangles,
)
from ventroute.geometry.polytope import Polytope

numbers = st.floats(-2, 2).map(lambda x: round(x, 4))


def arrays(*shape: int) -> st.SearchStrategy[np.ndarray]:
    return hnp.arrays(np.float64, shape, elements=numbers)


def least_between(p: np.ndarray, q: np.ndarray, a: np.ndarray, b: np.ndarray) -> float:
    """Distance of two segments by minimising a convex function of two shares from several starts."""

    def square(share: np.ndarray) -> float:
        return float(((p + share[0] * (q - p) - a - share[1] * (b - a)) ** 2).sum())

    starts = [(0.5, 0.5), (0, 0), (1, 0), (0, 1), (1, 1)]
    bounds = [(0, 1), (0, 1)]
    options = {"ftol": 1e-16, "gtol": 1e-12}
    found = [minimize(square, s, bounds=bounds, method="L-BFGS-B", options=options).fun for s in starts]
    return float(np.sqrt(min(found)))


@given(arrays(4, 3))
def test_two_segments_are_as_far_as_minimising_finds(ends: np.ndarray) -> None:
    p, q, a, b = ends
    assert segments_segments(p[None], q[None], a[None], b[None])[0, 0] == pytest.approx(
        least_between(p, q, a, b), abs=1e-5
    )


@pytest.mark.parametrize(
    ("p", "q", "a", "b", "far"),
    [
        ((0, 0, 0), (1, 0, 0), (0, 1, 0), (1, 1, 0), 1.0),  # side by side
        ((0, 0, 0), (1, 0, 0), (2, 0, 0), (3, 0, 0), 1.0),  # in line
        ((0, 0, 0), (1, 0, 0), (0.5, -1, 2), (0.5, 1, 2), 2.0),  # crossing over
        ((0, 0, 0), (1, 0, 0), (0.5, -1, 0), (0.5, 1, 0), 0.0),  # crossing
        ((0, 0, 0), (0, 0, 0), (3, 4, 0), (3, 4, 0), 5.0),  # two points
        ((0, 0, 0), (0, 0, 0), (-1, 2, 0), (1, 2, 0), 2.0),
        ((0, 0, 0), (2, 0, 0), (1, 0, 0), (3, 0, 0), 0.0),  # lying on each other
    ],
)
def test_segments_of_the_handbook(p: object, q: object, a: object, b: object, far: float) -> None:
    ends = [np.array([e], float) for e in (p, q, a, b)]
    assert segments_segments(*ends)[0, 0] == pytest.approx(far, abs=1e-12)


@given(arrays(3, 3), arrays(3, 3), arrays(4, 3), arrays(4, 3))
def test_distance_of_segments_is_the_same_both_ways(p: np.ndarray, q: np.ndarray, a: np.ndarray, b: np.ndarray) -> None:
    there, back = segments_segments(p, q, a, b), segments_segments(a, b, p, q)
    assert there.shape == (3, 4)
    assert there == pytest.approx(back.T, abs=1e-9)
    assert there == pytest.approx(segments_segments(q, p, b, a), abs=1e-9)


@given(arrays(5, 3), arrays(2, 3), arrays(2, 3))
def test_a_point_is_a_segment_without_length(points: np.ndarray, a: np.ndarray, b: np.ndarray) -> None:
    assert points_segments(points, a, b) == pytest.approx(segments_segments(points, points, a, b), abs=1e-9)


@given(arrays(6, 3), arrays(3, 3))
def test_points_are_as_far_from_a_triangle_as_trimesh_says(points: np.ndarray, corners: np.ndarray) -> None:
    assume(np.linalg.norm(np.cross(corners[1] - corners[0], corners[2] - corners[0])) > 0.1)
    nearest = trimesh.triangles.closest_point(np.repeat(corners[None], 6, axis=0), points)
    expected = np.linalg.norm(nearest - points, axis=1)
    assert points_triangles(points, corners[None])[:, 0] == pytest.approx(expected, abs=1e-7)


@given(arrays(2, 3), arrays(3, 3))
def test_a_segment_is_as_far_from_a_triangle_as_its_nearest_point(ends: np.ndarray, corners: np.ndarray) -> None:
    assume(np.linalg.norm(np.cross(corners[1] - corners[0], corners[2] - corners[0])) > 0.1)
    p, q = ends
    far = segments_triangles(p[None], q[None], corners[None])[0, 0]
    shares = np.linspace(0, 1, 2001)[:, None]
    sampled = points_triangles(p + shares * (q - p), corners[None]).min()
    assert far <= sampled + 1e-9
    assert sampled - far <= np.linalg.norm(q - p) / 2000 + 1e-9  # the distance changes no faster than the point moves


def test_a_segment_through_a_triangle_is_at_no_distance() -> None:
    triangle = np.array([[[0, 0, 0], [1, 0, 0], [0, 1, 0]]], float)
    p, q = np.array([[0.2, 0.2, -1]]), np.array([[0.2, 0.2, 1.0]])
    assert segments_triangles(p, q, triangle)[0, 0] == 0


@given(arrays(5, 3), arrays(5, 3), arrays(2, 3))
def test_segments_outside_a_box_are_as_far_as_trimesh_says(p: np.ndarray, q: np.ndarray, box: np.ndarray) -> None:
    low, high = box.min(axis=0), box.max(axis=0) + 0.2
    body = Polytope.box(low, high)
    signed = segments_polytope(p, q, body)
    shares = np.linspace(0, 1, 401)[:, None]
    for k in range(5):
        points = p[k] + shares * (q[k] - p[k])
        sampled = np.linalg.norm(points - points.clip(low, high), axis=1).min()
        assert signed[k] <= sampled + 1e-9
        if signed[k] > 0:
            assert sampled - signed[k] <= np.linalg.norm(q[k] - p[k]) / 400 + 1e-9


@given(arrays(4, 3), arrays(4, 3))
def test_a_segment_that_meets_a_box_is_never_called_clear(p: np.ndarray, q: np.ndarray) -> None:
    body = Polytope.box((-0.5, -0.5, -0.5), (0.5, 0.5, 0.5))
    shares = np.linspace(0, 1, 401)[:, None]
    signed = segments_polytope(p, q, body)
    for k in range(4):
        if body.contains(p[k] + shares * (q[k] - p[k]), 0.0).any():
            assert signed[k] <= 0


def test_depth_in_a_box_is_no_shallower_than_told() -> None:
    # A point segment in the middle of a 2 m cube is 1 m deep.
    body = Polytope.box((-1, -1, -1), (1, 1, 1))
    middle = np.zeros((1, 3))
    assert segments_polytope(middle, middle, body)[0] == pytest.approx(-1)


@given(arrays(3, 3), arrays(3, 3), arrays(3))
def test_moving_everything_changes_no_distance(p: np.ndarray, q: np.ndarray, step: np.ndarray) -> None:
    body = Polytope.box((-0.3, -0.4, -0.5), (0.5, 0.5, 0.5))
    moved = segments_polytope(p + step, q + step, body.moved(step))
    assert moved == pytest.approx(segments_polytope(p, q, body), abs=1e-7)
