"""Turns and tilts against trigonometry."""

import math

import numpy as np
import pytest
from scipy.optimize import linprog, nnls

from ventroute.solve import directions as module
from ventroute.solve.directions import Sides, compass, directions, rolled, tilted

UP, EAST, NORTH = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)


def made(pitch=1 / 48, falls_to="appliance", give_deg=2.5, extra=None, angles=(90.0, 45.0, 22.5)):
    extra = np.zeros((0, 3)) if extra is None else extra
    return directions(compass(0.0), extra, pitch=pitch, falls_to=falls_to, angles_deg=angles, give_deg=give_deg)


def test_a_quarter_inch_in_a_foot_is_1_194_degrees():
    # Pipe reference case 16: 1/4 in per ft is 1.194 degrees.
    true = tilted(np.array(EAST), 1 / 48)
    assert math.degrees(math.asin(true[2])) == pytest.approx(1.1935, abs=1e-3)
    assert np.linalg.norm(true) == pytest.approx(1.0)


def test_no_direction_runs_downhill_where_condensate_returns_to_the_appliance():
    found = made()
    level = np.hypot(found.true[:, 0], found.true[:, 1])
    assert (found.true[:, 2] >= level / 48 - 1e-12).all()


def test_a_quarter_bend_turns_plumb_to_pitched():
    found = made()
    assert found.turn[found.index(UP), found.index(EAST)] == 90.0
    assert found.turn[found.index(EAST), found.index(UP)] == 90.0


def test_a_joint_without_give_makes_no_pitch():
    found = made(give_deg=0.5)
    assert found.turn[found.index(UP), found.index(EAST)] == 0.0


def test_two_diagonals_at_sixty_degrees_have_no_fitting():
    found = made()
    s = math.sqrt(0.5)
    assert found.turn[found.index((s, 0.0, s)), found.index((0.0, s, s))] == 0.0


def test_rolled_offset_stands_at_45_to_its_axis_and_lies_in_the_plane_of_the_offset():
    # Textbook rolling offset: rise 12, roll 16; roll angle from level = atan(12/16) = 36.870 degrees.
    axis, target = np.array(EAST), np.array([30.0, 16.0, 12.0])
    found = [v for v in rolled(axis, target) if v @ axis == pytest.approx(math.cos(math.pi / 4))]
    assert any(math.degrees(math.atan2(v[2], v[1])) == pytest.approx(36.870, abs=1e-3) for v in found)


def test_two_45s_carry_a_plumb_pipe_across_and_back():
    found = made()
    up = found.index(UP)
    across = {tuple(np.round(found.nominal[s[1]], 6)) for s in found.sequences(up, up, (45.0, 45.0))}
    s = round(math.sqrt(0.5), 6)
    assert {(s, 0.0, s), (-s, 0.0, s), (0.0, s, s), (0.0, -s, s)} <= across


def test_after_a_fall_nothing_rises_where_condensate_runs_to_the_terminal():
    found = made(falls_to="terminal")
    rising = found.true[:, 2] > 0
    assert not found.turn[np.ix_(~rising, rising)].any()


def test_every_turn_of_a_sequence_is_one_of_its_fittings():
    found = made()
    for path in found.sequences(found.index(UP), found.index(NORTH), (90.0, 45.0, 45.0)):
        turns = sorted(found.turn[a, b] for a, b in zip(path[:-1], path[1:], strict=True))
        assert turns == [45.0, 45.0, 90.0]


@pytest.mark.parametrize("way", [(2.0, 0.3, 1.1), (-0.7, 1.4, 0.4), (0.2, -0.1, 3.0)])
def test_sequences_left_out_for_the_end_of_the_way_cannot_reach_it_at_any_lengths(way):
    # Oracle: non-negative least squares of scipy: lengths that lead to the end leave nothing over.
    found, up = made(), made().index(UP)
    sides = Sides.of(found.true, np.array(way))
    every = found.sequences(up, up, (90.0, 45.0, 45.0)).tolist()
    kept = {tuple(path) for path in found.sequences(up, up, (90.0, 45.0, 45.0), sides).tolist()}
    out = [path for path in every if tuple(path) not in kept]
    assert out
    assert [tuple(path) for path in every if tuple(path) in kept] == [
        tuple(path) for path in found.sequences(up, up, (90.0, 45.0, 45.0), sides).tolist()
    ]
    assert all(nnls(found.true[path].T, np.array(way))[1] > 1e-6 for path in out[:200])


@pytest.mark.parametrize(
    "way", [(2.0, 0.3, 1.1), (-0.7, 1.4, 0.4), (0.2, -0.1, 3.0), (0.0, 0.0, 1.0), (1.0, -1.0, 1.0)]
)
@pytest.mark.parametrize("falls_to", ["appliance", "terminal"])
def test_no_legs_that_make_up_a_way_are_shorter_than_the_least(way, falls_to):
    # Oracle: linear programming in HiGHS over all directions.
    found, way = made(falls_to=falls_to), np.array(way)
    best = linprog(np.ones(len(found.true)), A_eq=found.true.T, b_eq=way)
    assert best.status == 0
    assert 0.9 * best.fun < Sides.of(found.true, way).least_m(found.true) <= best.fun + 1e-9


@pytest.mark.parametrize("way", [(2.0, 0.3, 1.1), (-0.7, 1.4, 0.4), (0.2, -3.0, 0.1), (0.0, 0.0, 1.0)])
def test_along_the_axes_the_least_is_the_sum_of_the_sides(way):
    axes = np.concatenate([np.eye(3), -np.eye(3)[:2]])  # a rectilinear path is as long as the box around its ends
    assert Sides.of(axes, np.array(way)).least_m(axes) == pytest.approx(np.abs(way).sum(), abs=1e-8)


def test_legs_that_never_fall_make_up_no_way_down():
    found = made()
    assert Sides.of(found.true, np.array([1.0, 0.5, -0.4])).least_m(found.true) > 1e6


@pytest.mark.parametrize("falls_to", ["appliance", "terminal"])
@pytest.mark.parametrize("angles", [(90.0,), (45.0,), (90.0, 45.0), (45.0, 45.0), (22.5, 22.5)])
def test_few_sequences_are_the_same_tried_one_by_one_or_grown_a_turn_at_a_time(falls_to, angles, monkeypatch):
    ways = [(first, last) for first in range(0, 60, 7) for last in range(0, 60, 5)]
    tried = [made(falls_to=falls_to).sequences(*ends, angles).tolist() for ends in ways]
    monkeypatch.setattr(module, "_FEW", -1)
    module._made.cache_clear()
    grown = [made(falls_to=falls_to).sequences(*ends, angles).tolist() for ends in ways]
    module._made.cache_clear()
    assert tried == grown
    assert any(tried)
