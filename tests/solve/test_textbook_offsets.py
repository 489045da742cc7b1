"""Routes whose best answer a textbook gives."""

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.solve.scenes import FT, IN, by_length, problem, two_rooms, wall_cut
from ventroute.model.site import Framing
from ventroute.solve.solver import solve


def best(site, **kind):
    p = problem(site, **kind)
    return solve(p, by_length(p)).ways[0]


def travel_in(way, leg):
    return float(np.linalg.norm(way.corners[leg + 1] - way.corners[leg])) / IN


def test_a_12_in_offset_takes_two_45s_and_16_971_in_of_travel():
    # Pipe reference case 1 (textbook right triangle): travel = 12 sqrt 2 = 16.971 in.
    way = best(two_rooms((1.5, 2.0, 0.8), (1.5 + 12 * IN, 2.0)), angles=(90.0, 45.0))
    assert way.angles == (45.0, 45.0)
    assert travel_in(way, 1) == pytest.approx(16.971, abs=1e-3)


def test_a_rolling_offset_of_12_and_16_has_28_284_in_of_travel():
    # Pipe reference case 7 (textbook rolling offset): true offset 20, travel at 45 degrees 28.284 in.
    way = best(two_rooms((1.0, 2.0, 0.8), (1.0 + 16 * IN, 2.0 + 12 * IN)), angles=(90.0, 45.0))
    assert way.angles == (45.0, 45.0)
    assert travel_in(way, 1) == pytest.approx(28.284, abs=1e-3)


def test_a_6_in_offset_by_sixteenth_bends_has_15_679_in_of_travel():
    # Pipe reference case 6: travel = 6 / sin 22.5 = 15.679 in.
    way = best(two_rooms((1.5, 2.0, 0.8), (1.5 + 6 * IN, 2.0), angles=(22.5,)), angles=(22.5,))
    assert way.angles == (22.5, 22.5)
    assert travel_in(way, 1) == pytest.approx(15.679, abs=1e-3)


def test_equivalent_length_adds_runs_and_table_figures():
    # Two 45s at 2 1/2 ft each on a straight rise with a 12 in offset: rise + (sqrt 2 - 1) 12 in + 5 ft.
    site = two_rooms((1.5, 2.0, 0.8), (1.5 + 12 * IN, 2.0))
    way = best(site, angles=(90.0, 45.0))
    rise = way.corners[-1][2] - 0.8
    assert way.price == pytest.approx(rise + (math.sqrt(2) - 1) * 12 * IN + 5 * FT, abs=1e-6)


def test_a_straight_rise_has_no_bend():
    way = best(two_rooms((2.0, 2.0, 0.8), (2.0, 2.0)))
    assert way.angles == ()


def test_the_shortest_45_offset_with_hubs_is_4_596_in_and_street_bends_go_down_to_3_536():
    # Pipe reference case 10: 3 in drainage pattern, hub-hub offset 4.596 in, hub-street 3.536 in.
    hubs = two_rooms((1.5, 2.0, 0.8), (1.5 + 4.6 * IN, 2.0), angles=(45.0,))
    assert best(hubs, angles=(45.0,), street=False).angles == (45.0, 45.0)
    small = two_rooms((1.5, 2.0, 0.8), (1.5 + 4.5 * IN, 2.0), angles=(45.0,))
    p = problem(small, angles=(45.0,), street=False)
    assert all(len(way.angles) > 2 for way in solve(p, by_length(p)).ways)
    exact = 5.0 * IN * math.sqrt(0.5)
    street = best(two_rooms((1.5, 2.0, 0.8), (1.5 + exact, 2.0), angles=(45.0,)), angles=(45.0,))
    assert street.angles == (45.0, 45.0)
    assert street.street == (False, True)


def test_a_level_run_rises_a_quarter_inch_in_a_foot():
    # Pipe reference case 16: 15 ft at 1/4 in per ft rises 3.75 in.
    way = best(two_rooms((0.5, 2.0, 1.6), (0.5 + 15 * FT, 2.0), size=(6.0, 4.0, 2.6), angles=(90.0,)), angles=(90.0,))
    assert way.angles == (90.0, 90.0)
    a, b = way.corners[1], way.corners[2]
    assert math.hypot(*(b - a)[:2]) == pytest.approx(15 * FT)
    assert (b - a)[2] == pytest.approx(3.75 * IN, abs=1e-6)


def test_a_new_hole_goes_between_the_studs():
    # 2x4 studs 1 1/2 in wide, 16 in on centre (lumber and spacing: pipe reference section 8, PS 20 and common practice).
    def framed(offset_m):
        wall = wall_cut((0.3, 4.0, 0.5), (3.7, 4.2, 1.8))
        studs = Framing(
            "studs", "stud", (0.0, 4.0, 0.0), (4.0, 0.2, 2.6), (0.0, 0.0, 1.0), 16 * IN, offset_m, 1.5 * IN, 0.2
        )
        return replace(two_rooms((2.0, 2.0, 0.8), (2.0, 2.0), cuts=(wall,)), framing=(studs,))

    for offset_m in (0.0, 2.0 - 5 * 16 * IN + 0.05, 0.2):
        way = next(w for w in ways(framed(offset_m)) if w.kind == "wall")
        x = way.corners[-1][0]
        nearest = min(abs(x - offset_m - k * 16 * IN) for k in range(12))
        assert nearest >= 0.75 * IN + 1.75 * IN + 0.125 * IN - 1e-6


def ways(site):
    p = problem(site)
    return solve(p, by_length(p)).ways
