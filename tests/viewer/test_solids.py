"""Solids as they are drawn: closed, outward, and of the volume that geometry says."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ventroute.viewer import solids


def volume(triangles):
    """Signed volume by the divergence theorem: positive where the faces look outwards."""
    return float(np.einsum("ij,ij->i", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2])).sum() / 6.0)


def open_edges(triangles):
    """Directed edges without their opposite: none on a closed, well-turned surface."""
    count = {}
    for triangle in np.round(triangles, 9):
        for k in range(3):
            a, b = tuple(triangle[k]), tuple(triangle[(k + 1) % 3])
            count[(a, b)] = count.get((a, b), 0) + 1
    return [edge for edge, n in count.items() if count.get(edge[::-1], 0) != n]


@pytest.mark.parametrize(
    "solid",
    [
        solids.box((1, 2, 3), (4, 5, 6)),
        solids.prism([(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (0, 2)], 0, 2),
        solids.slab([(0, 0, 0), (4, 0, 0), (4, 3, 2), (0, 3, 2)], 0.2),
        solids.cone((0, 0, 0), (0, 0, 1), 0.2, 0.1),
        solids.tube(solids.bend_path((0, 0, 0), (0, 0, 1), (1, 0, 1)), 0.1),
    ],
)
def test_every_solid_is_closed_and_faces_outwards(solid):
    assert open_edges(solid) == []
    assert volume(solid) > 0


def test_a_box_of_4_by_5_by_6_holds_120():
    assert volume(solids.box((1, 2, 3), (4, 5, 6))) == pytest.approx(120.0)


def test_an_l_shaped_room_holds_its_floor_times_its_height():
    # floor by hand: 3 x 1 + 1 x 1 = 4
    assert volume(solids.prism([(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (0, 2)], 0, 2)) == pytest.approx(8.0)


def test_a_plate_with_a_hole_has_the_area_between():
    ring = [(0, 0), (10, 0), (10, 10), (0, 10)]
    hole = [(2, 2), (4, 2), (4, 4), (2, 4)]
    found = solids.plate([ring, hole], 1.5)
    areas = np.linalg.norm(np.cross(found[:, 1] - found[:, 0], found[:, 2] - found[:, 0]), axis=1) / 2
    assert areas.sum() == pytest.approx(96.0)
    assert np.all(found[:, :, 2] == 1.5)


def test_a_drawn_cylinder_holds_what_a_prism_of_fourteen_sides_holds():
    assert volume(solids.cone((0, 0, 0), (0, 2, 0), 0.5, 0.5)) == pytest.approx(2 * 7 * 0.25 * math.sin(math.pi / 7))


def test_an_elbow_turns_on_a_circle_of_its_laying_length():
    # A 90 with both laying lengths 1 turns about (1, 0) with radius 1: every point of the arc is 1 from it.
    path = solids.bend_path((0, 0, 0), (0, 0, 1), (1, 0, 1))
    assert np.linalg.norm(path - np.array([1, 0, 0]), axis=1) == pytest.approx(1.0)


@given(st.floats(0.3, 2), st.floats(0.3, 2), st.floats(0.1, 2.6))
def test_a_bend_starts_and_ends_where_it_is_told_and_never_passes_its_corner(a, b, turn):
    start, corner = np.array([0, 0, -a]), np.zeros(3)
    end = b * np.array([math.sin(turn), 0, math.cos(turn)])
    path = solids.bend_path(start, corner, end)
    assert path[0] == pytest.approx(start)
    assert path[-1] == pytest.approx(end)
    lengths = np.linalg.norm(np.diff(path, axis=0), axis=1).sum()
    assert lengths <= a + b + 1e-9


def test_points_that_coincide_make_no_triangle():
    assert len(solids.tube([(0, 0, 0), (0, 0, 0)], 0.1)) == 0
