"""Closed surfaces: inside against trimesh, covers that leave nothing out."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from ventroute.geometry.surface import BLOCK, Boxed, bounds, cover_of, surrounds


def lying_eight() -> trimesh.Trimesh:
    """A ring: hollow in the middle, not convex."""
    return trimesh.creation.annulus(0.5, 1.0, 0.4)


SHAPES = {
    "ball": trimesh.creation.icosphere(subdivisions=2, radius=0.7),
    "ring": lying_eight(),
    "cone": trimesh.creation.cone(0.6, 1.3),
    "box": trimesh.creation.box((0.3, 1.2, 0.8)),
    "fine ball": trimesh.creation.icosphere(subdivisions=5, radius=0.7),  # several blocks
}


@settings(deadline=None, max_examples=20)
@given(st.sampled_from(sorted(SHAPES)), st.integers(0, 1000))
def test_inside_is_what_trimesh_contains(name: str, seed: int) -> None:
    mesh = SHAPES[name]
    points = np.random.default_rng(seed).uniform(-1.1, 1.1, (50, 3))
    far = np.abs(trimesh.proximity.signed_distance(mesh, points)) > 1e-6
    assert (surrounds(mesh.triangles, points)[far] == mesh.contains(points)[far]).all()


@pytest.mark.parametrize("name", sorted(SHAPES))
def test_a_surface_turned_inside_out_surrounds_the_same(name: str) -> None:
    points = np.random.default_rng(3).uniform(-1.1, 1.1, (200, 3))
    there = surrounds(SHAPES[name].triangles, points)
    assert (surrounds(SHAPES[name].triangles[:, ::-1], points) == there).all()


@settings(deadline=None, max_examples=20)
@given(st.sampled_from(sorted(SHAPES)), st.integers(1, 14), st.integers(0, 1000))
def test_a_cover_leaves_nothing_out(name: str, cells: int, seed: int) -> None:
    mesh = SHAPES[name]
    turn = trimesh.transformations.random_rotation_matrix(np.random.default_rng(seed).uniform(size=3))
    turned = mesh.copy().apply_transform(turn)
    boxes = cover_of(turned.triangles, cells)
    inside = np.concatenate([trimesh.sample.volume_mesh(turned, 300), turned.vertices, turned.triangles_center])
    held = [((inside >= low - 1e-9) & (inside <= high + 1e-9)).all(axis=1) for low, high in boxes]
    assert np.any(held, axis=0).all()


@pytest.mark.parametrize("count", [1, BLOCK - 1, BLOCK, 2 * BLOCK + 1])
def test_the_box_of_each_triangle_is_that_of_its_corners(count: int) -> None:
    triangles = np.random.default_rng(count).normal(size=(count, 3, 3))
    low, high = bounds(triangles)
    assert low.T.tolist() == triangles.min(axis=1).tolist()
    assert high.T.tolist() == triangles.max(axis=1).tolist()


def test_the_cover_of_a_box_is_the_box() -> None:
    ((low, high),) = cover_of(SHAPES["box"].triangles)
    assert low == pytest.approx([-0.15, -0.6, -0.4])
    assert high == pytest.approx([0.15, 0.6, 0.4])


def test_the_hole_of_a_ring_stays_open() -> None:
    middle = np.zeros(3)
    assert not any(((low < middle) & (middle < high)).all() for low, high in cover_of(SHAPES["ring"].triangles))


def test_a_cover_has_no_box_twice_and_little_more_than_its_shape() -> None:
    ball = SHAPES["ball"]
    boxes = cover_of(ball.triangles)
    volume = sum(float(np.prod(high - low)) for low, high in boxes)
    assert ball.volume < volume < 1.6 * ball.volume


@settings(deadline=None, max_examples=30)
@given(st.sampled_from(sorted(SHAPES)), st.integers(0, 1000), st.floats(0, 0.8))
def test_near_triangles_are_those_whose_boxes_are_near(name: str, seed: int, reach: float) -> None:
    triangles = np.array(SHAPES[name].triangles)
    boxed = Boxed.of(triangles)
    low = np.random.default_rng(seed).uniform(-1.2, 1, 3)
    high = low + 0.2
    apart = np.maximum(triangles.min(axis=1) - high, low - triangles.max(axis=1)).clip(0)
    near = np.linalg.norm(apart, axis=1) < reach
    found = boxed.triangles[boxed.within(low, high, reach)].reshape(-1, 9)
    assert sorted(found.tolist()) == sorted(triangles[near].reshape(-1, 9).tolist())
    assert len(boxed.nearest(low, high))
