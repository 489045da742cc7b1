"""Symbols of the isometric mean what they show."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.drawing import samples
from ventroute.drawing.iso_marks import (
    arrow_head,
    collar,
    pipes,
    skew_box,
    skew_corners,
    slab,
    straight_fitting,
    terminal,
)
from ventroute.drawing.iso_view import Leg, View, choose, fitted
from ventroute.drawing.primitives import Circle, Hatch, Line, Polyline
from ventroute.model.route import Crossing, PartKind


def rolled() -> View:
    """Up, then a run with parts along all three axes, then up again."""
    return fitted(samples.route([(0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.6, 0.8, 2.0), (0.6, 0.8, 3.0)]), 0)


@pytest.mark.parametrize("seed", range(10))
def test_the_steps_along_the_axes_end_where_the_skew_run_ends(seed: int):
    view = choose(samples.random_route(seed).route)
    for leg in view.legs:
        if leg.skew and not leg.fall and leg.length > 1:
            corners = skew_corners(view, leg)
            assert corners[0] == leg.start
            ratio = leg.scale * math.hypot(*leg.parts_m) / leg.length
            assert ratio > 0
            assert math.dist(corners[-1], leg.end) < 1e-6


def test_a_rolled_run_has_a_level_triangle_and_an_upright_one():
    view = rolled()
    hatches = [item for item in skew_box(view, view.legs[1]) if isinstance(item, Hatch)]
    assert len(hatches) == 2
    level, upright = hatches
    assert upright.angle_deg == 90.0  # strokes of the upright face stand upright
    assert level.points[0] == upright.points[0] == view.legs[1].start
    assert upright.points[1] == level.points[2]


def test_a_plain_45_has_one_triangle():
    view = choose(samples.roof_route().route)
    assert sum(isinstance(item, Hatch) for item in skew_box(view, view.legs[3])) == 1


@pytest.mark.parametrize(
    ("direction", "level"), [((0.0, 0.0, 1.0), True), ((0.0, 1.0, 0.0), False), ((1.0, 0.0, 0.02), False)]
)
def test_a_floor_is_drawn_level_and_a_wall_upright(direction: tuple[float, float, float], level: bool):
    view = rolled()
    outline = next(item for item in slab(view, (0.0, 0.0), Crossing("x", False, (0, 0, 0), direction))
                   if isinstance(item, Polyline))  # fmt: skip
    sides = [np.subtract(b, a) for a, b in zip(outline.points, (*outline.points[1:], outline.points[0]), strict=True)]
    upright = any(abs(side[0]) < 1e-9 for side in sides)
    assert upright is not level


def test_a_new_hole_has_a_ring_and_an_old_one_has_none():
    view = rolled()
    for cut in (True, False):
        items = slab(view, (0.0, 0.0), Crossing("x", cut, (0, 0, 0), (0, 0, 1)))
        assert any(isinstance(item, Circle) for item in items) is cut


def test_an_increaser_widens_along_the_flow_and_a_reducer_narrows():
    leg = rolled().legs[0]
    for kind, widens in ((PartKind.INCREASER, True), (PartKind.REDUCER, False)):
        (wedge,) = straight_fitting(leg, 0.5, kind)
        assert isinstance(wedge, Polyline)
        first, second, third, fourth = wedge.points
        assert (math.dist(third, fourth) > math.dist(first, second)) is widens


def test_a_coupling_is_two_strokes_across_the_pipe():
    leg = rolled().legs[0]
    strokes = straight_fitting(leg, 0.5, PartKind.COUPLING)
    assert len(strokes) == 2
    for stroke in strokes:
        assert isinstance(stroke, Line)
        assert stroke.start[1] == pytest.approx(stroke.end[1])  # the pipe runs straight up the paper


def test_pipes_cover_every_run_from_end_to_end():
    view = choose(samples.roof_route().route)
    lines = pipes(view)
    assert lines[0].start == view.legs[0].start
    assert lines[-1].end == view.legs[-1].end
    assert [line.end for line in lines[:-1]] == [line.start for line in lines[1:]]


def test_the_appliance_stands_behind_its_collar_and_the_exhaust_leaves_the_end():
    leg = Leg(rolled().legs[0].run, (0.0, 0.0), (0.0, 20.0), (0.0, 0.0, 1.0), None, 20.0)
    casing = next(item for item in collar(leg) if isinstance(item, Polyline))
    assert max(y for _, y in casing.points) < 0.0
    puffs = [item for item in terminal(leg) if isinstance(item, Line) and item.layer == "fitting"]
    assert len(puffs) == 3
    assert all(puff.start[1] > 20.0 and puff.end[1] > puff.start[1] for puff in puffs)


def test_an_arrow_head_ends_at_its_point():
    head = arrow_head((0.0, 0.0), (10.0, 0.0), "dimension", 2.0)
    assert head.filled
    assert head.points[0] == (10.0, 0.0)
    assert {round(x, 9) for x, _ in head.points[1:]} == {8.0}
