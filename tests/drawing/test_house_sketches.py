"""Sketches of rooms, wall and roof, read back."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.drawing import samples
from tests.drawing.reading import SIXTEENTH_M, overlapping, said_m, svg_texts
from ventroute.drawing.flat import Flat, hull, slice_of, within
from ventroute.drawing.outside import outside_sketch
from ventroute.drawing.primitives import Drawing, Hatch
from ventroute.drawing.sketches import room_sketches
from ventroute.drawing.svg import to_svg
from ventroute.geometry.polytope import Polytope
from ventroute.layout.building import Building, build

FOOT = 0.3048
HALF = SIXTEENTH_M / 2 + 1e-9


@pytest.fixture(scope="module")
def building() -> Building:
    return build(samples.house())


@pytest.fixture(scope="module")
def drawings(building: Building) -> list[Drawing]:
    found = []
    for planned in (samples.roof_route(), samples.wall_route()):
        found += room_sketches(planned, building, "us")
        found.append(outside_sketch(planned, building, samples.zones(), "us"))
    return found


def test_no_texts_overlap_on_any_sketch(drawings: list[Drawing]):
    assert len(drawings) == 6
    for drawing in drawings:
        assert overlapping(svg_texts(to_svg(drawing))) == []


def test_every_dimension_says_what_it_measures(drawings: list[Drawing]):
    for drawing in drawings:
        for text in svg_texts(to_svg(drawing)):
            if text.value_m is not None:
                assert said_m(text.text) == pytest.approx(text.value_m, abs=HALF)


def test_rooms_come_in_the_order_of_the_flow(building: Building):
    titles = [drawing.title for drawing in room_sketches(samples.roof_route(), building, "us")]
    assert [title.rsplit(": ", 1)[1] for title in titles] == ["utility", "closet", "attic"]


def test_the_pipe_in_the_first_room_is_located_from_walls_and_floor(building: Building):
    # utility: corner 0.5, 0.5, -7.5 ft. Collar 6, 4, -4; bends at z -1.5 and y 7, a quarter inch a foot higher; the
    # ceiling is at -0.4 ft. So 5.5 ft from the west, 3.5 and 6.5 from the south; 3.5, 6, 6 + 3/48 and 7.1 ft up.
    drawing = room_sketches(samples.roof_route(), building, "us")[0]
    found: dict[str, list[float]] = {}
    for text in drawing.dimensions:
        found.setdefault(text.about, []).append((text.value_m or 0.0) / FOOT)
    assert found["utility: from the west wall"] == pytest.approx([5.5])
    assert found["utility: from the south wall"] == pytest.approx([3.5, 6.5])
    assert found["utility: from the floor"] == pytest.approx([3.5, 6.0, 6.0 + 3 / 48, 7.1])


def test_obstacles_and_holes_are_named(building: Building):
    texts = [t.text for t in room_sketches(samples.roof_route(), building, "us")[0].texts]
    for words in ("supply duct", "beam", "hole: old flue, first floor"):
        assert texts.count(words) == 2  # plan and elevation


def test_the_wall_terminal_is_located_from_the_walls_end_and_grade(building: Building):
    # x 6 ft from the west end, which is the right-hand end for somebody who looks at a north wall.
    drawing = outside_sketch(samples.wall_route(), building, samples.zones(), "us")
    found = {t.about: (t.value_m or 0.0) / FOOT for t in drawing.dimensions}
    assert found["terminal: from the wall's end"] == pytest.approx(6.0)
    assert found["terminal: from the grade"] == pytest.approx(5 + 17.8 / 48)


def test_the_margin_that_a_finding_measured_is_dimensioned(building: Building):
    drawing = outside_sketch(samples.wall_route(), building, samples.zones(), "us")
    margin = next(t for t in drawing.dimensions if t.about == "terminal to kitchen window")
    assert margin.text == "8 ft (rule: 4 ft)"


def test_the_north_wall_is_seen_from_outside(building: Building):
    # Who looks south at the north wall has east on the left: the window (east of the meter) is left of it.
    texts = {t.text: t.centre for t in outside_sketch(samples.wall_route(), building, (), "us").texts}
    assert texts["kitchen window"][0] < texts["gas meter"][0]


def test_zones_are_shaded_only_where_they_meet_the_terminals_plane(building: Building):
    def zone_hatches(zones: tuple) -> int:
        drawing = outside_sketch(samples.wall_route(), building, zones, "us")
        return sum(getattr(item, "layer", "") == "zone" for item in drawing.items)

    far = (samples._zone("zone.far", "far window", samples.feet(6, 40, 0), samples.feet(9, 50, 9)),)
    assert zone_hatches(()) == zone_hatches(far) == 0
    assert zone_hatches(samples.zones()) > 20


def test_the_roof_terminal_stands_over_the_roof_it_passes(building: Building):
    # South slope: outer face 8.5 ft at y -1 to 15 ft at y 12, so 12.5 ft at y 7; the terminal's end is at 15.5 ft.
    texts = [t.text for t in outside_sketch(samples.roof_route(), building, (), "us").texts]
    assert any("3 ft above the roof, plumb" in text for text in texts)


def test_the_same_sketch_gives_the_same_bytes(building: Building):
    one, two = (outside_sketch(samples.wall_route(), building, samples.zones(), "us") for _ in range(2))
    assert to_svg(one) == to_svg(two)


def test_a_slice_of_a_box_is_its_rectangle():
    view = Flat((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0), 1.0)
    ring = slice_of(Polytope.box((1, 0, 1), (3, 2, 2)), view, (0, 1, 0), ((0, 0), (2, 5)))
    assert np.allclose(sorted(ring), [(1, 1), (1, 2), (2, 1), (2, 2)])
    assert slice_of(Polytope.box((1, 0, 1), (3, 2, 2)), view, (0, 2.5, 0), ((0, 0), (9, 9))) == ()


def test_every_point_of_a_slice_is_in_the_body():
    body = Polytope.hull(np.random.default_rng(4).normal(size=(14, 3)))
    view = Flat((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0), 1.0)
    ring = slice_of(body, view, (0.1, 0, 0), ((-9, -9), (9, 9)))
    points = np.array([(0.1, y, z) for y, z in ring])
    assert len(ring) >= 3
    assert (body.normals @ points.T <= body.offsets[:, None] + 1e-9).all()


def test_the_part_of_a_stretch_in_a_box():
    box = Polytope.box((0, 0, 0), (1, 1, 1))
    assert within((-1, 0.5, 0.5), (3, 0.5, 0.5), box) == pytest.approx((0.25, 0.5))
    assert within((-1, 2, 0.5), (3, 2, 0.5), box) is None
    assert within((0.2, 0.5, 0.5), (0.8, 0.5, 0.5), box) == pytest.approx((0.0, 1.0))


def test_a_hull_drops_what_lies_inside():
    assert set(hull([(0, 0), (2, 0), (2, 2), (0, 2), (1, 1), (1, 0)])) == {(0, 0), (2, 0), (2, 2), (0, 2)}


def test_hatch_is_drawn_as_strokes():
    assert all(math.dist(*s) > 0 for s in Hatch(((0, 0), (5, 0), (5, 5)), "zone").strokes)
