"""Sockets to be cemented, and the cans they take."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.shop.small_routes import bend, house, kit, laid, routes, straight, the_shelf
from ventroute.model.route import PartKind
from ventroute.model.shelf import Asks, Can, Shelf, Stock
from ventroute.shop.joints import cans, joints, volume_L
from ventroute.shop.sundries import sundry_lines

approx = pytest.approx
QUART_L = 0.946352946  # exact US liquid quart, NIST SP 811
UP = [(0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 1.0), (1.0, 0.0, 2.0)]


def sizes(kind: str = "cement", material: str = "PVC") -> list[Can]:
    return [can for can in the_shelf().cans if can.kind == kind and can.pair == (material, material)]


def test_14_sockets_of_3_in_take_0_35_quart_of_cement_and_half_of_that_of_primer():
    # a cement maker's estimate, second-hand: 40 joints of 3 in a quart, primer twice as many
    assert volume_L([(3.0, 14)], the_shelf(), "cement") == approx(0.35 * QUART_L)
    assert volume_L([(3.0, 14)], the_shelf(), "primer") == approx(0.175 * QUART_L)


def test_20_sockets_of_2_in_and_6_of_3_in_take_0_483_quart():
    # 20 / 60 + 6 / 40
    assert volume_L([(2.0, 20), (3.0, 6)], the_shelf(), "cement") == approx((20 / 60 + 6 / 40) * QUART_L)


def test_0_35_quart_is_one_pint_and_0_55_a_quart_or_two_pints():
    assert [(can.item, count) for can, count in cans(0.35 * QUART_L, sizes(), {})] == [("cement-pvc-pint", 1)]
    assert [(can.item, count) for can, count in cans(0.55 * QUART_L, sizes(), {})] == [("cement-pvc-quart", 1)]
    cheap_pints = {"cement-pvc-pint": 4.0, "cement-pvc-quart": 9.0}
    assert [(can.item, count) for can, count in cans(0.55 * QUART_L, sizes(), cheap_pints)] == [("cement-pvc-pint", 2)]


def test_a_size_without_a_figure_has_no_volume():
    assert volume_L([(7.0, 3)], the_shelf(), "cement") is None


def test_without_a_figure_one_can_is_listed_and_the_line_says_so():
    lines = list(sundry_lines(laid(UP), house(), Shelf(), Stock(), None, Asks()))
    cement = next(line for line in lines if line.item == "cement-pvc")
    assert (cement.quantity, cement.unit) == (1, "can")
    assert "judge" in cement.why


def test_a_bend_has_two_sockets_and_the_collar_one():
    # two hub x hub bends, and the collar that takes the run's own material
    assert joints(laid(UP), None) == {("PVC", "PVC", 3.0): 5}


def test_a_street_bend_brings_one_socket():
    parts = kit()
    route = laid(UP, [bend(parts, 90.0), bend(parts, 90.0, street=True)], parts)
    assert joints(route, None) == {("PVC", "PVC", 3.0): 2 + 1 + 1}


def test_a_coupling_has_two_sockets():
    # 12 ft is two pieces from 10 ft sticks
    route = straight(3.6576)
    assert sum(part.kind is PartKind.COUPLING for part in route.parts) == 1
    assert joints(route, None) == {("PVC", "PVC", 3.0): 2 + 1}


def test_an_increaser_is_joined_at_both_its_sizes():
    route = laid(UP, (), kit("PVC", 3.0, collar_in=2.0))
    assert any(part.kind is PartKind.INCREASER for part in route.parts)
    # its spigot goes into the 2 in collar, its socket takes the first 3 in pipe
    assert joints(route, None) == {("PVC", "PVC", 2.0): 1, ("PVC", "PVC", 3.0): 4 + 1}


def test_an_abs_run_on_a_pvc_collar_has_one_transition_joint():
    parts = kit("ABS", 3.0)
    assert joints(laid(UP, (), parts), "PVC") == {("ABS", "ABS", 3.0): 4, ("ABS", "PVC", 3.0): 1}


def test_gasketed_pipe_takes_no_cement():
    route = laid(UP, (), kit("PP", 3.0))
    assert joints(route, None) == {}
    lines = list(sundry_lines(route, house(), the_shelf(), Stock(), None, Asks()))
    assert not [line for line in lines if line.unit == "can"]


def test_a_steel_collar_is_not_cemented():
    assert joints(laid(UP), "stainless") == {("PVC", "PVC", 3.0): 4}


@pytest.mark.parametrize(("material", "kinds"), [("PVC", 2), ("CPVC", 2), ("ABS", 1)])
def test_abs_takes_no_primer(material, kinds):
    # joining instructions read: primer is not recommended for ABS
    lines = list(sundry_lines(laid(UP, (), kit(material, 3.0)), house(), the_shelf(), Stock(), None, Asks()))
    assert len([line for line in lines if line.unit == "can"]) == kinds


@given(st.floats(0.01, 30.0))
def test_cans_hold_what_is_needed_and_one_less_would_not(litres):
    chosen = cans(litres, sizes(), {})
    held = sum(can.volume_L * count for can, count in chosen)
    assert held >= litres - 1e-9
    least = min(can.volume_L for can, _ in chosen)
    assert held - least < litres


@given(routes())
def test_joints_follow_from_the_parts(route):
    # counted anew: two sockets a hub fitting, one for the collar, none where the joint is a gasket
    fittings = sum(2 for part in route.parts if part.kind in (PartKind.ELBOW, PartKind.COUPLING))
    cemented = route.kit.material.joint == "cemented"
    assert sum(joints(route, None).values()) == (fittings + 1 if cemented else 0)


def test_no_can_is_no_line_of_cans():
    assert cans(1.0, [], {}) == ()
    one = replace(sizes()[0], volume_L=1.0)
    assert cans(math.pi, [one], {}) == ((one, 4),)
