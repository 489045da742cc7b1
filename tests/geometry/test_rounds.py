"""Gaps of round shapes against closed forms and plain minimising over a box."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy.optimize import minimize

from ventroute.geometry.rounds import CLOSE_M, Corners, Rounds, gaps

CUBE = np.array([(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)], float)
numbers = st.floats(-2, 2).map(lambda x: round(x, 4))
points = hnp.arrays(np.float64, 3, elements=numbers)


@st.composite
def cylinders(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, float]:
    start, end = draw(points), draw(points)
    assume(np.linalg.norm(end - start) > 0.05)
    return start, end, draw(st.floats(0.01, 0.5))


@st.composite
def boxes(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    low = draw(points)
    return low, low + np.array([draw(st.floats(0.05, 2)) for _ in range(3)])


def rounds(cylinder: tuple[np.ndarray, np.ndarray, float]) -> Rounds:
    start, end, radius = cylinder
    return Rounds.cylinders(start[None], end[None], np.array([radius]))


def corners(box: tuple[np.ndarray, np.ndarray]) -> Corners:
    return Corners((box[0] + CUBE * (box[1] - box[0]))[None])


def gap(first: Rounds, second: Rounds | Corners) -> float:
    return float(gaps(first, second, 1)[0])


def from_cylinder(at: np.ndarray, cylinder: tuple[np.ndarray, np.ndarray, float]) -> float:
    """Distance of a point to a solid cylinder with flat ends, by its axial and radial excess."""
    start, end, radius = cylinder
    length = float(np.linalg.norm(end - start))
    axis = (end - start) / length
    along = float((at - start) @ axis)
    off = float(np.linalg.norm(at - start - along * axis))
    return math.hypot(max(-along, along - length, 0), max(off - radius, 0))


@pytest.mark.parametrize(
    ("start", "end", "radius", "expected"),
    [
        ((-1, 0.5, 0.5), (-0.4, 0.5, 0.5), 0.2, 0.4),  # flat end to a face
        ((-0.5, 0.5, -1), (-0.5, 0.5, 2), 0.2, 0.3),  # side to a face
        ((-0.5, -0.5, -1), (-0.5, -0.5, 2), 0.2, math.sqrt(0.5) - 0.2),  # side to an edge
        ((0.5, 0.5, 2), (0.5, 0.5, 3), 0.1, 1.0),  # end over a face
        ((2, 0.5, 2), (2, 0.5, 3), 0.5, math.hypot(0.5, 1)),  # rim to an edge
        ((1, 1, 1.5), (1, 1, 3), 0.5, 0.5),  # the corner lies straight below the middle of the end
        ((0.5, 0.5, -1), (0.5, 0.5, 2), 0.1, 0.0),  # through it
        ((0.4, 0.5, 0.5), (0.6, 0.5, 0.5), 0.1, 0.0),  # inside it
        ((-1, 0.5, 0.5), (0, 0.5, 0.5), 0.1, 0.0),  # touching
    ],
)
def test_a_cylinder_beside_a_unit_cube(
    start: tuple[float, ...], end: tuple[float, ...], radius: float, expected: float
) -> None:
    cylinder = (np.array(start, float), np.array(end, float), radius)
    assert gap(rounds(cylinder), Corners(CUBE[None])) == pytest.approx(expected, abs=1e-6)


@settings(deadline=None)
@given(cylinders(), boxes())
def test_gap_to_a_box_is_what_minimising_finds(
    cylinder: tuple[np.ndarray, np.ndarray, float], box: tuple[np.ndarray, np.ndarray]
) -> None:
    found = gap(rounds(cylinder), corners(box))
    best = []
    for start in ((box[0] + box[1]) / 2, cylinder[0].clip(*box), cylinder[1].clip(*box)):
        run = minimize(
            lambda x: from_cylinder(x, cylinder) ** 2,
            start,
            bounds=list(zip(*box, strict=True)),
            method="L-BFGS-B",
            options={"ftol": 1e-16, "gtol": 1e-12},
        )
        best.append(from_cylinder(np.asarray(run.x), cylinder))
    assert found <= min(best) + 1e-9  # never overstated: what is minimised is reached
    assert min(best) - found < 2e-4  # the minimiser's own error at a rim


@settings(deadline=None)
@given(cylinders(), cylinders())
def test_the_gap_of_two_cylinders_is_the_same_both_ways(
    one: tuple[np.ndarray, np.ndarray, float], other: tuple[np.ndarray, np.ndarray, float]
) -> None:
    there, back = gap(rounds(one), rounds(other)), gap(rounds(other), rounds(one))
    assert there == pytest.approx(back, abs=3e-7)


@settings(deadline=None)
@given(cylinders(), boxes(), points)
def test_moving_both_changes_no_gap(
    cylinder: tuple[np.ndarray, np.ndarray, float], box: tuple[np.ndarray, np.ndarray], step: np.ndarray
) -> None:
    moved = (cylinder[0] + step, cylinder[1] + step, cylinder[2])
    there = gap(rounds(moved), corners((box[0] + step, box[1] + step)))
    assert there == pytest.approx(gap(rounds(cylinder), corners(box)), abs=3e-7)


@settings(deadline=None)
@given(cylinders(), boxes(), st.floats(0.01, 0.3))
def test_a_thicker_cylinder_is_no_farther(
    cylinder: tuple[np.ndarray, np.ndarray, float], box: tuple[np.ndarray, np.ndarray], more: float
) -> None:
    thick = (cylinder[0], cylinder[1], cylinder[2] + more)
    slim_gap, thick_gap = gap(rounds(cylinder), corners(box)), gap(rounds(thick), corners(box))
    assert thick_gap <= slim_gap + 2 * CLOSE_M
    assert thick_gap >= slim_gap - more - 2 * CLOSE_M


def test_parallel_cylinders_keep_their_axes_less_their_radii() -> None:
    one = (np.zeros(3), np.array([0, 0, 2.0]), 0.3)
    other = (np.array([1, 0, 1.0]), np.array([1, 0, 5.0]), 0.2)
    assert gap(rounds(one), rounds(other)) == pytest.approx(0.5, abs=1e-6)


def test_crossed_cylinders_keep_their_axes_less_their_radii() -> None:
    one = (np.array([-1, 0, 0.0]), np.array([1, 0, 0.0]), 0.3)
    other = (np.array([0, -1, 1.0]), np.array([0, 1, 1.0]), 0.2)
    assert gap(rounds(one), rounds(other)) == pytest.approx(0.5, abs=1e-6)


@given(cylinders())
def test_reach_is_the_farthest_point(cylinder: tuple[np.ndarray, np.ndarray, float]) -> None:
    shape = rounds(cylinder)
    ways = np.vstack([np.eye(3), -np.eye(3), [[0.6, 0.8, 0]]])
    far = np.array([float(shape.farthest(way[None])[0] @ way) for way in ways])
    assert shape.reach(ways)[0] == pytest.approx(far, abs=1e-9)


@given(st.floats(-1, 1), st.floats(-1, 1))
def test_a_bar_cut_slanting_reaches_the_points_of_its_ellipse(x: float, y: float) -> None:
    # An upright bar of radius 0.5 cut by the plane z = 2 + x: the ellipse is (0.5 cos t, 0.5 sin t, 2 + 0.5 cos t).
    assume(math.hypot(x, y) > 1e-3)
    cut = np.array([-1, 0, 1]) / math.sqrt(2)
    up = np.array([0, 0, 1.0])
    bar = Rounds(
        np.array([[[0, 0, 0], [0, 0, 2]]], float),
        np.array([[up, up]]),
        np.array([[0.5, 0.5]]),
        np.array([[up, cut]]),
    )
    t = np.linspace(0, 2 * math.pi, 20_001)
    ellipse = np.column_stack([0.5 * np.cos(t), 0.5 * np.sin(t), 2 + 0.5 * np.cos(t)])
    way = np.array([x, y, 1.0])
    assert bar.reach(way[None])[0, 0] == pytest.approx(float((ellipse @ way).max()), abs=1e-6)


def test_many_pairs_are_measured_as_one_by_one() -> None:
    rng = np.random.default_rng(7)
    starts, ends, radii = rng.normal(size=(40, 3)), rng.normal(size=(40, 3)), rng.uniform(0.05, 0.3, 40)
    boxes_ = CUBE[None] * rng.uniform(0.1, 1, (40, 1, 3)) + rng.normal(size=(40, 1, 3))
    shapes = Rounds.cylinders(starts, ends, radii)
    together = gaps(shapes, Corners(boxes_), 40)
    for k in range(40):
        alone = gaps(shapes.take(np.array([k])), Corners(boxes_[k : k + 1]), 1)[0]
        assert together[k] == pytest.approx(alone, abs=2e-7)
