"""Rooms from readings round their walls. Expected values are worked by hand beside each check."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ventroute.errors import GeometryError
from ventroute.survey.closure import Diagonal, Wall, close_walls, reading_sd_m

EAST, NORTH, WEST, SOUTH = (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)
FOOT_M = 0.3048
INCH_M = 0.0254


def box(*lengths_m: float) -> list[Wall]:
    """Four walls round a room, from its south-west corner."""
    return [Wall(way, length) for way, length in zip((EAST, NORTH, WEST, SOUTH), lengths_m, strict=True)]


L_SHAPE = [(EAST, 4.0), (NORTH, 2.0), (WEST, 1.5), (NORTH, 1.0), (WEST, 2.5), (SOUTH, 3.0)]


def test_readings_that_close_are_kept():
    closure = close_walls(box(4, 3, 4, 3))
    assert closure.corners_m == ((0, 0), (4, 0), (4, 3), (0, 3))
    assert closure.misfit_m == (0, 0)
    assert closure.corrections_m == pytest.approx([0, 0, 0, 0], abs=1e-12)
    assert closure.perimeter_m == 14
    assert not closure.slip
    assert closure.suspects(box(4, 3, 4, 3)) == ()


def test_an_l_shaped_room_keeps_its_corners():
    closure = close_walls([Wall(way, length) for way, length in L_SHAPE])
    assert np.allclose(closure.corners_m, [(0, 0), (4, 0), (4, 2), (2.5, 2), (2.5, 3), (0, 3)])


def test_opposite_walls_that_differ_meet_half_way():
    # 6 mm between two walls of nearly one length, and so of nearly one weight: 3 mm each. The others cannot help.
    closure = close_walls(box(4.000, 3, 4.006, 3))
    assert closure.corrections_m == pytest.approx([0.003, 0, -0.003, 0], abs=2e-5)
    assert closure.misfit_m == pytest.approx((-0.006, 0))


def test_long_walls_take_more_of_the_misfit():
    # East 6 m against 4 m and 2 m west, 12 mm over: shares are as the variances, (1/16 in + 1 mm a metre) squared.
    walls = [Wall(EAST, 6.012), Wall(NORTH, 3), Wall(WEST, 4), Wall(SOUTH, 1), Wall(WEST, 2), Wall(SOUTH, 2)]
    variances = [(INCH_M / 16 + 1e-3 * length) ** 2 for length in (6.012, 4, 2)]
    shares = [0.012 * part / sum(variances) for part in variances]
    closure = close_walls(walls)
    found = closure.corrections_m
    assert [found[0], found[2], found[4]] == pytest.approx([-shares[0], shares[1], shares[2]], rel=1e-6)
    assert [found[1], found[3], found[5]] == pytest.approx([0, 0, 0], abs=1e-12)


def test_walls_at_45_degrees_close():
    # An isosceles right triangle with legs of 2 m: its long side is 2 sqrt 2.
    half = math.sqrt(0.5)
    closure = close_walls([Wall(EAST, 2), Wall((-half, half), 2 * math.sqrt(2)), Wall(SOUTH, 2)])
    assert np.allclose(closure.corners_m, [(0, 0), (2, 0), (0, 2)])


def test_diagonals_of_a_3_4_5_room_leave_it_square():
    closure = close_walls(box(4, 3, 4, 3), [Diagonal(0, 2, 5), Diagonal(1, 3, 5)])
    assert np.allclose(closure.corners_m, [(0, 0), (4, 0), (4, 3), (0, 3)], atol=1e-9)
    assert closure.diagonals_off_m == pytest.approx((0, 0), abs=1e-9)


@pytest.mark.parametrize("lean_deg", [-0.8, 0.3, 1.0])
def test_diagonals_find_a_room_that_leans(lean_deg):
    # A true parallelogram, measured without error: all six readings are met to a millimetre.
    lean = math.radians(lean_deg)
    true = np.array(
        [(0, 0), (4, 0), (4 + 3 * math.sin(lean), 3 * math.cos(lean)), (3 * math.sin(lean), 3 * math.cos(lean))]
    )
    diagonals = [Diagonal(0, 2, math.dist(true[0], true[2])), Diagonal(1, 3, math.dist(true[1], true[3]))]
    found = np.array(close_walls(box(4, 3, 4, 3), diagonals).corners_m)
    for first, second in ((0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)):
        assert math.dist(found[first], found[second]) == pytest.approx(math.dist(true[first], true[second]), abs=1e-3)


def test_a_foot_misread_is_a_slip_and_its_walls_are_named():
    walls = box(12 * FOOT_M, 9 * FOOT_M, 13 * FOOT_M, 9 * FOOT_M)
    closure = close_walls(walls)
    assert closure.slip
    assert closure.off_m == pytest.approx(FOOT_M)
    assert closure.suspects(walls) == (0, 2)


def test_a_slip_one_can_see_the_direction_of_names_one_wall():
    walls = [Wall(way, length) for way, length in L_SHAPE]
    walls[3] = Wall(NORTH, 1.5)
    assert close_walls(walls).suspects(walls) == (1, 3, 5)


def test_what_is_a_tape_and_what_is_a_slip_grows_with_the_room():
    # Round 108 ft careful readings miss by some 3/4 in (one standard deviation), round a closet of 16 ft by 1/4 in.
    house, closet = (30 * FOOT_M, 24 * FOOT_M), (4 * FOOT_M, 4 * FOOT_M)
    assert close_walls(box(*house, *house)).sd_m == pytest.approx(0.75 * INCH_M, abs=INCH_M / 16)
    assert close_walls(box(*closet, *closet)).sd_m == pytest.approx(0.25 * INCH_M, abs=INCH_M / 16)
    for room, off_in, slip in ((house, 2, False), (house, 2.5, True), (closet, 1, False), (closet, 1.1, True)):
        assert close_walls(box(room[0], room[1], room[0] + off_in * INCH_M * 0.999, room[1])).slip is slip


def test_a_diagonal_misread_is_a_slip():
    # A foot too long, alone, would bend the 3-4-5 room by some 5 degrees; against the other it cannot be met.
    assert close_walls(box(4, 3, 4, 3), [Diagonal(0, 2, 5.3)]).lean_rad > math.radians(3)
    assert close_walls(box(4, 3, 4, 3), [Diagonal(0, 2, 5.3)]).slip
    assert close_walls(box(4, 3, 4, 3), [Diagonal(0, 2, 5.3), Diagonal(1, 3, 5)]).slip


def test_walls_without_diagonals_lean_nowhere():
    assert close_walls(box(4.0, 3.0, 4.006, 3.0)).lean_rad == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("walls", "words"),
    [
        ([], "0 walls do not go round"),
        ([Wall(EAST, 3), Wall(WEST, 3)], "2 walls do not go round"),
        ([Wall(EAST, 1), Wall(EAST, 1), Wall(WEST, 2)], "all walls run one way"),
        (box(4, 3, 4, 3)[:2] + [Wall(EAST, 4), Wall(SOUTH, 3)], "contradict each other"),
    ],
)
def test_walls_that_go_nowhere_are_refused(walls, words):
    with pytest.raises(GeometryError, match=words):
        close_walls(walls)


@pytest.mark.parametrize("ends", [(0, 1), (0, 3), (1, 1), (2, 4), (-1, 2)])
def test_a_diagonal_joins_corners_across_the_room(ends):
    with pytest.raises(GeometryError, match="does not join two corners across"):
        close_walls(box(4, 3, 4, 3), [Diagonal(*ends, 5.0)])


def test_a_reading_of_four_metres_is_good_to_a_quarter_inch():
    assert reading_sd_m(4.0) == pytest.approx(INCH_M / 16 + 0.004)


# Laws

lengths = st.floats(1.0, 10.0)
slips = st.floats(-0.004, 0.004)


@st.composite
def taped_rooms(draw: st.DrawFn) -> list[Wall]:
    """L-shaped rooms with readings that are each a little off."""
    a, b, c, d = (draw(lengths) for _ in range(4))
    true = [(EAST, a + b), (NORTH, c), (WEST, b), (NORTH, d), (WEST, a), (SOUTH, c + d)]
    return [Wall(way, length + draw(slips)) for way, length in true]


@given(taped_rooms())
def test_the_room_always_closes(walls):
    closure = close_walls(walls)
    closed = [length + wall.length_m for length, wall in zip(closure.corrections_m, walls, strict=True)]
    assert np.allclose(np.array(closed) @ np.array([wall.toward for wall in walls]), 0, atol=1e-9)


@given(taped_rooms(), st.lists(st.floats(-0.01, 0.01), min_size=6, max_size=6))
def test_no_other_closing_room_is_nearer_to_the_readings(walls, nudges):
    ways = np.array([wall.toward for wall in walls])
    sd = np.array([reading_sd_m(wall.length_m) for wall in walls])
    best = np.array(close_walls(walls).corrections_m)
    # A nudge that keeps the room closed: what of it would open the room is taken out.
    nudge = np.array(nudges) - ways @ np.linalg.lstsq(ways.T @ ways, ways.T @ np.array(nudges), rcond=None)[0]
    assert np.sum((best / sd) ** 2) <= np.sum(((best + nudge) / sd) ** 2) + 1e-9


@given(taped_rooms())
def test_turning_the_room_turns_its_corners(walls):
    turned = [Wall((-wall.toward[1], wall.toward[0]), wall.length_m) for wall in walls]
    before, after = np.array(close_walls(walls).corners_m), np.array(close_walls(turned).corners_m)
    assert np.allclose(after, np.stack([-before[:, 1], before[:, 0]], axis=1), atol=1e-9)


@given(taped_rooms(), st.floats(-0.005, 0.005))
def test_good_diagonals_never_make_a_good_room_a_slip(walls, off):
    corners = close_walls(walls).corners_m
    diagonal = Diagonal(0, 3, math.dist(corners[0], corners[3]) + off)
    assert not close_walls(walls, [diagonal]).slip
