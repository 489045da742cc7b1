"""How far apart pipe is held, and how many hangers that makes."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.shop.small_routes import FT, bare, house, kit, laid, straight, the_shelf
from ventroute.layout.supports import hangers, risers, spans
from ventroute.model.route import Crossing
from ventroute.model.shelf import Asks, Shelf, Spacing, Stock
from ventroute.shop.sundries import sundry_lines

approx = pytest.approx
ORIGIN = (0.0, 0.0, 0.0)


def test_23_ft_level_at_4_ft_takes_7_hangers_and_at_3_ft_9():
    # ceil(23 / 4) = 6 spans and both ends; ceil(23 / 3) = 8 spans. Spacing of 4 ft: Minnesota Rules 4714.0313.
    route = straight(23 * FT)
    assert hangers(route, 4 * FT) == 7
    assert hangers(route, 3 * FT) == 9


def test_without_a_figure_the_line_says_so_and_counts_only_ends():
    route = straight(20 * FT)
    lines = list(sundry_lines(route, house(), Shelf(), Stock(), None, Asks()))
    held = next(line for line in lines if line.item.startswith("hanger"))
    assert held.quantity == 2
    assert "ask the pipe's maker" in held.why


def test_a_riser_through_two_storeys_is_held_at_its_foot_and_at_each_floor_with_guides_between():
    # Minnesota Rules 4714.0313: base and each floor, and a guide in the middle of each storey; two storeys of 8 ft
    floor = Crossing("floor", False, (0.0, 0.0, 8 * FT), (0.0, 0.0, 1.0))
    route = bare(straight(1.0), [(ORIGIN, (0.0, 0.0, 16 * FT))], [floor])
    assert risers(route, 10 * FT) == (2, 2)


def test_a_crossing_beside_the_riser_does_not_hold_it():
    beside = Crossing("other", False, (1.0, 0.0, 8 * FT), (0.0, 0.0, 1.0))
    route = bare(straight(1.0), [(ORIGIN, (0.0, 0.0, 16 * FT))], [beside])
    assert risers(route, 10 * FT)[0] == 1


def test_two_level_runs_share_the_hanger_at_their_corner():
    a, b, c = ORIGIN, (3.0, 0.0, 0.0), (3.0, 3.0, 0.0)
    route = bare(straight(1.0), [(a, b), (b, c)])
    assert hangers(route, 10.0) == 3


def test_the_wall_holds_the_end_of_a_wall_vent():
    route = laid([ORIGIN, (2.0, 0.0, 0.0)], kind="wall")
    assert hangers(route, 10.0) == 1


def test_risers_take_no_level_hangers_and_level_runs_no_supports():
    upright = straight(5.0, (0.0, 0.0, 1.0))
    assert hangers(upright, 1.0) == 0
    assert risers(straight(5.0), 1.0) == (0, 0)


@given(st.floats(0.05, 60.0), st.floats(0.3, 3.0))
def test_no_stretch_between_hangers_is_longer_than_the_spacing(length, spacing):
    count = spans(length, spacing)
    assert length / count <= spacing + 1e-6
    assert count == 1 or length / (count - 1) > spacing * (1 - 1e-6)


def test_the_list_counts_level_hangers_risers_and_guides_together():
    corners = [ORIGIN, (0.0, 0.0, 3.0), (4.0, 0.0, 3.0), (4.0, 0.0, 4.5)]
    route = laid(corners, (), kit("PVC", 3.0))
    asks = Asks(Spacing(3.5 * FT, 10 * FT, "table 7"))
    lines = list(sundry_lines(route, house(), the_shelf(), Stock(), None, asks))
    held = next(line for line in lines if line.item == "hanger-pvc-3")
    assert "table 7" in held.why
    # 3 1/2 ft on 4 m level = ceil(4 / 1.0668) = 4 spans, 5 hangers; risers of 3 m and 1.5 m: a foot each, and
    # guides at most 5 ft apart: ceil(3 / 1.524) - 1 = 1 and none
    assert math.ceil(4 / (3.5 * FT)) == 4
    assert held.quantity == 5 + 2 + 1
