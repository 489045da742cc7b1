"""Convex bodies against handbook solids, scipy's hull and manifold's booleans."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy.spatial import ConvexHull

from ventroute.errors import GeometryError
from ventroute.geometry.polytope import Polytope

coordinates = st.integers(-40, 40).map(lambda k: k / 8)
clouds = hnp.arrays(
    np.float64, st.tuples(st.integers(5, 12), st.just(3)), elements=st.floats(-3, 3).map(lambda x: round(x, 3))
)
vectors = hnp.arrays(np.float64, 3, elements=st.floats(-1, 1)).filter(lambda v: np.linalg.norm(v) > 0.1)


@st.composite
def boxes(draw: st.DrawFn) -> Polytope:
    """Boxes on a lattice of eighths, so that faces often coincide."""
    low = np.array([draw(coordinates) for _ in range(3)])
    return Polytope.box(low, low + np.array([draw(st.integers(1, 40)) / 8 for _ in range(3)]))


@st.composite
def bodies(draw: st.DrawFn) -> Polytope:
    """Hulls of random points that are not flat."""
    cloud = draw(clouds)
    spread = np.linalg.svd(cloud - cloud.mean(axis=0), compute_uv=False)
    assume(spread[2] > 0.3)
    return Polytope.hull(cloud)


def unit(vector: np.ndarray) -> np.ndarray:
    return vector / np.linalg.norm(vector)


def mesh(body: Polytope) -> trimesh.Trimesh:
    out = trimesh.Trimesh(*trimesh.triangles.to_kwargs(body.triangles()).values())
    out.merge_vertices()
    return out


def volume(body: Polytope | None) -> float:
    return 0.0 if body is None else body.volume_m3


def sound(body: Polytope) -> None:
    """Faces are flat, on their planes, run counter-clockwise, and close the surface."""
    assert len(body.faces) == len(body.normals) == len(body.offsets)
    edges = []
    for face, normal, offset in zip(body.faces, body.normals, body.offsets, strict=True):
        ring = body.vertices[list(face)]
        assert np.abs(ring @ normal - offset).max() < 1e-6
        area = sum(np.cross(a, b) for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True)) / 2
        assert area @ normal > 0
        edges += list(zip(face, (*face[1:], face[0]), strict=True))
    assert len(edges) == len(set(edges))
    assert {(b, a) for a, b in edges} == set(edges)
    assert len(body.vertices) - len(edges) // 2 + len(body.faces) == 2  # Euler, 1758
    assert body.contains(body.vertices, 1e-6).all()


def test_a_box_has_the_volume_of_its_sides() -> None:
    assert Polytope.box((1, 2, 3), (3, 5, 8)).volume_m3 == pytest.approx(2 * 3 * 5)


def test_a_box_has_three_edge_directions() -> None:
    directions = Polytope.box((0, 0, 0), (1, 2, 3)).edge_directions
    assert sorted(np.abs(directions).tolist()) == [[0, 0, 1], [0, 1, 0], [1, 0, 0]]


def test_a_prism_has_the_volume_of_its_floor_times_its_height() -> None:
    # Regular hexagon of side 1: area 3 sqrt(3) / 2.
    turns = np.arange(6) * math.pi / 3
    prism = Polytope.prism(np.column_stack([np.cos(turns), np.sin(turns)]), -1, 3)
    assert prism.volume_m3 == pytest.approx(4 * 3 * math.sqrt(3) / 2)
    sound(prism)


def test_a_corner_where_a_wall_goes_straight_on_is_no_corner() -> None:
    assert len(Polytope.prism([(0, 0), (1, 0), (2, 0), (2, 2), (0, 2)], 0, 1).faces) == 6


def test_an_octahedron_from_planes_has_a_third_of_four_times_the_cube_of_its_reach() -> None:
    signs = [(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]
    body = Polytope.from_planes(signs, np.ones(8))
    assert body.volume_m3 == pytest.approx(4 / 3)
    assert len(body.vertices) == 6
    sound(body)


@pytest.mark.parametrize(
    ("floor", "bottom", "top"),
    [
        ([(0, 0), (1, 0)], 0, 1),
        ([(0, 0), (0, 1), (1, 0)], 0, 1),  # clockwise
        ([(0, 0), (2, 0), (1, 0.2), (1, 2)], 0, 1),  # hollow
        ([(0, 0), (1, 0), (0, 1)], 1, 1),
        ([(0, 0), (1, 0), (0, 1)], 2, 1),
    ],
)
def test_what_is_no_prism_is_refused(floor: list[tuple[float, float]], bottom: float, top: float) -> None:
    with pytest.raises(GeometryError):
        Polytope.prism(floor, bottom, top)


@pytest.mark.parametrize("size", [(0, 1, 1), (1, 0, 1), (1, 1, 0), (1, -1, 1)])
def test_a_box_without_volume_is_refused(size: tuple[float, float, float]) -> None:
    with pytest.raises(GeometryError):
        Polytope.box((0, 0, 0), size)


def test_planes_that_do_not_close_are_refused() -> None:
    with pytest.raises(GeometryError, match="do not close"):
        Polytope.from_planes([(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1)], [1, 1, 1, 1, 1])


def test_planes_with_nothing_between_are_refused() -> None:
    with pytest.raises(GeometryError, match="no volume"):
        Polytope.from_planes([(1, 0, 0), (-1, 0, 0)], [-1, -1])


@pytest.mark.parametrize("points", [[(0, 0, 0), (1, 0, 0), (0, 1, 0)], [(0, 0, 0), (1, 0, 0), (0, 1, 0), (1, 1, 0)]])
def test_points_in_one_plane_have_no_hull(points: list[tuple[float, float, float]]) -> None:
    with pytest.raises(GeometryError):
        Polytope.hull(points)


@given(clouds)
def test_hull_volume_equals_scipys(cloud: np.ndarray) -> None:
    assume(np.linalg.svd(cloud - cloud.mean(axis=0), compute_uv=False)[2] > 0.3)
    body = Polytope.hull(cloud)
    assert body.volume_m3 == pytest.approx(ConvexHull(cloud).volume, abs=1e-6)
    assert body.contains(cloud, 1e-6).all()
    sound(body)


@given(bodies())
def test_a_body_is_what_its_planes_enclose(body: Polytope) -> None:
    assert Polytope.from_planes(body.normals, body.offsets).volume_m3 == pytest.approx(body.volume_m3, abs=1e-5)


@given(bodies(), vectors, st.floats(-2, 2))
def test_both_sides_of_a_cut_add_up_to_the_whole(body: Polytope, way: np.ndarray, offset: float) -> None:
    normal = unit(way)
    kept, rest = body.clip(normal, offset), body.clip(-normal, -offset)
    assert volume(kept) + volume(rest) == pytest.approx(body.volume_m3, abs=1e-5)
    for part, side in ((kept, 1), (rest, -1)):
        if part is not None:
            sound(part)
            assert (side * (part.vertices @ normal - offset)).max() <= 1e-6


@given(boxes(), boxes())
def test_a_cut_along_a_face_leaves_the_body_alone_or_nothing(one: Polytope, other: Polytope) -> None:
    for normal, offset in zip(one.normals, one.offsets, strict=True):
        assert one.clip(normal, float(offset)) is one
        assert one.clip(-normal, -float(offset)) is None
    shared = one.intersect(other)
    sides = np.minimum(one.high, other.high) - np.maximum(one.low, other.low)
    assert volume(shared) == pytest.approx(float(np.prod(sides.clip(0))), abs=1e-9)


@settings(deadline=None)
@given(boxes(), st.lists(boxes(), max_size=4))
def test_pieces_of_a_difference_do_not_overlap_and_add_up(whole: Polytope, others: list[Polytope]) -> None:
    pieces = whole.subtract(others)
    # Inclusion and exclusion on the lattice of eighths: count its cells.
    axes = [np.arange(whole.low[k] + 1 / 16, whole.high[k], 1 / 8) for k in range(3)]
    cells = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    taken = np.zeros(len(cells), bool)
    for other in others:
        taken |= (other.normals @ cells.T <= other.offsets[:, None]).all(axis=0)
    assert sum(p.volume_m3 for p in pieces) == pytest.approx((~taken).sum() / 512, abs=1e-6)
    held = np.array([p.contains(cells, 0.0) for p in pieces]).reshape(len(pieces), len(cells)).sum(axis=0)
    assert (held == ~taken).all()
    for piece in pieces:
        sound(piece)


@settings(deadline=None, max_examples=40)
@given(bodies(), bodies())
def test_difference_and_overlap_agree_with_manifold(one: Polytope, other: Polytope) -> None:
    overlap = trimesh.boolean.intersection([mesh(one), mesh(other)], engine="manifold", check_volume=False).volume
    pieces = one.subtract([other])
    assert volume(one.intersect(other)) == pytest.approx(abs(overlap), abs=1e-4)
    assert sum(p.volume_m3 for p in pieces) == pytest.approx(one.volume_m3 - abs(overlap), abs=1e-4)


@given(bodies(), vectors)
def test_a_move_changes_neither_volume_nor_faces(body: Polytope, step: np.ndarray) -> None:
    moved = body.moved(step)
    assert moved.volume_m3 == pytest.approx(body.volume_m3)
    assert moved.contains(body.vertices + step, 1e-9).all()
    sound(moved)


@given(bodies())
def test_a_quarter_turn_keeps_the_volume(body: Polytope) -> None:
    turn = np.array([[0, -1, 0], [1, 0, 0], [0, 0, 1.0]])
    turned = Polytope.from_planes(body.normals @ turn.T, body.offsets)
    assert turned.volume_m3 == pytest.approx(body.volume_m3, abs=1e-5)


@given(bodies(), hnp.arrays(np.float64, (20, 3), elements=st.floats(-3, 3)))
def test_inside_is_within_every_plane(body: Polytope, points: np.ndarray) -> None:
    depth = body.depths(points)
    expected = (points @ body.normals.T <= body.offsets + 1e-7).all(axis=1)
    assert (body.contains(points) == expected).all()
    assert (depth[expected] >= -1e-7).all()


def test_a_sliver_thinner_than_the_tolerance_is_no_body() -> None:
    box = Polytope.box((0, 0, 0), (1, 1, 1))
    assert box.clip((1, 0, 0), 5e-8) is None
    assert box.clip((1, 0, 0), 1 - 5e-8) is box


@pytest.mark.parametrize("crack", [1e-9, 1e-8, -1e-9, -1e-8])
def test_a_crack_of_rounding_leaves_no_sliver_between_neighbours(crack: float) -> None:
    whole = Polytope.box((0, 0, 0), (2, 1, 1))
    halves = [Polytope.box((0, 0, 0), (1, 1, 1)), Polytope.box((1 + crack, 0, 0), (2, 1, 1))]
    assert whole.subtract(halves) == ()
