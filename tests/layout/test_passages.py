"""Holes and cuts: where they leave and enter, what they pierce, and what is no passage."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.layout.small_houses import APPLIANCE, box_floor, boxes_site, gabled_site, wall_cut
from tests.solve.scenes import two_rooms
from tests.solve.scenes import wall_cut as scene_cut
from ventroute.errors import InputError
from ventroute.layout.building import Building, Passage, build
from ventroute.model.site import Cut, Hole, Obstacle, Place, Room, Site
from ventroute.units import format_length

UP = (0.0, 0.0, 1.0)


def passage(building: Building, name: str) -> Passage:
    return next(p for p in building.passages if p.name == name)


def fault(site: Site, key: str) -> str:
    with pytest.raises(InputError) as caught:
        build(site)
    return {f.key: f.what for f in caught.value.faults}[key]


def corner_site(**changes: object) -> Site:
    """A room against the west and south walls of a block from (-10, -10), walls 0.2 m; ground at its feet."""
    room = Room("shop", box_floor(-9.8, -9.8, -5, -5), -2.4, 0.0)
    site = boxes_site([room], place=Place(grade_m=-2.8), appliance=replace(APPLIANCE, collar_m=(-8.0, -8.0, -1.0)))
    return replace(site, **changes)  # type: ignore[arg-type]


@settings(deadline=None, max_examples=25)
@given(st.floats(-2.3, 2.5), st.booleans(), st.booleans())
def test_any_point_of_the_axis_and_either_way_give_the_same_hole(z: float, down: bool, swapped: bool) -> None:
    through = ("closet", "utility") if swapped else ("utility", "closet")
    hole = Hole("first floor", (1.0, 1.0, z), (0, 0, -1.0 if down else 1.0), 0.15, through)
    found = passage(build(gabled_site(holes=(hole,))), "first floor")
    if swapped:
        found = found.reversed()
    assert found.spaces == (0, 1)
    assert found.axis.tolist() == [0, 0, 1]
    assert found.point == pytest.approx([1, 1, 0])
    assert (found.mouth_a[0].tolist(), found.mouth_a[1]) == ([0, 0, 1], pytest.approx(-0.1))
    assert (found.mouth_b[0].tolist(), found.mouth_b[1]) == ([0, 0, 1], pytest.approx(0.1))


def test_a_hole_walked_back_is_the_same_hole() -> None:
    there = passage(build(gabled_site()), "roof")
    back = there.reversed()
    assert back.spaces == there.spaces[::-1]
    assert [m.tolist() for m in back.mouths(there.point)] == [m.tolist() for m in there.mouths(there.point)[::-1]]
    assert (back.pierced_a, back.pierced_b) == (there.pierced_b, there.pierced_a)
    again = back.reversed()
    assert again.mouth_a[0].tolist() == there.mouth_a[0].tolist()
    assert again.mouth_b[1] == there.mouth_b[1]


def test_mouth_normals_point_along_the_way() -> None:
    for found in build(gabled_site()).passages:
        for normal, _ in (found.mouth_a, found.mouth_b):
            assert normal @ found.axis > 0
            assert np.linalg.norm(normal) == pytest.approx(1)
        leave, enter = found.mouths(found.point)
        assert (enter - leave) @ found.axis > 0
        assert (leave + enter) / 2 == pytest.approx(found.point)


def test_a_hole_through_a_roof_pierces_the_slope_and_what_is_under_it() -> None:
    building = build(gabled_site())
    found = passage(building, "roof")
    attic = building.spaces[found.spaces[0]]
    (face,), solids = found.pierced_a
    assert attic.container.normals[face] == pytest.approx(np.array([0, -2, 3]) / 13**0.5)
    assert solids == ()
    names = {building.outdoors.solids[k].name for k in found.pierced_b[1]}
    assert {"building", "south slope"} <= names


def test_a_hole_near_a_side_wall_does_not_pierce_it() -> None:
    hole = Hole("h", (0.56, 1.0, 0.0), UP, 0.15, ("utility", "closet"))
    building = build(gabled_site(holes=(hole,)))
    found = passage(building, "h")
    for side, pierced in zip(found.spaces, (found.pierced_a, found.pierced_b), strict=True):
        normals = building.spaces[side].container.normals[list(pierced[0])]
        assert np.abs(normals[:, 2]).tolist() == [1.0]


def test_a_hole_through_the_inner_wall_of_an_ell_pierces_the_wall() -> None:
    # The nook of the ell is construction in the hull of its rooms; the neighbour stands in the nook.
    rooms = [
        Room("long", box_floor(0, 0, 6, 2), -2.0, 0.0),
        Room("short", box_floor(0, 2, 2, 6), -2.0, 0.0),
        Room("nook", box_floor(2.2, 2.2, 4, 4), -2.0, 0.0),
    ]
    hole = Hole("h", (3, 2.1, -1), (0, 1.0, 0), 0.15, ("short", "nook"))
    building = build(boxes_site(rooms, holes=(hole,)))
    found = passage(building, "h")
    ell = building.spaces[0]
    assert found.spaces == (0, 1)
    assert found.mouth_a[1] == pytest.approx(2.0)
    assert {ell.solids[k].kind for k in found.pierced_a[1]} == {"construction"}
    assert len(found.pierced_a[1]) == len(ell.solids)


def test_of_two_floors_on_the_axis_the_one_nearest_to_the_point_is_meant() -> None:
    rooms = [
        Room("low", box_floor(0, 0, 3, 3), -2.8, -1.2),
        Room("low shaft", box_floor(4, 0, 5, 1), -2.8, 3.0),
        Room("link", box_floor(3, 0, 4, 1), -2.8, -1.2),
        Room("mid", box_floor(0, 0, 3, 3), -1.0, 1.0),
        Room("high", box_floor(0, 0, 3, 3), 1.2, 3.0),
        Room("high link", box_floor(3, 0, 4, 1), 1.2, 3.0),
    ]
    site = boxes_site(rooms, appliance=replace(APPLIANCE, collar_m=(1.0, 1.0, -2.0)))
    for z, middle in ((-2.0, -1.1), (-0.2, -1.1), (0.2, 1.1), (2.9, 1.1)):
        found = passage(build(replace(site, holes=(Hole("h", (2, 2, z), UP, 0.1, ("low", "mid")),))), "h")
        assert found.point[2] == pytest.approx(middle)


@pytest.mark.parametrize(
    ("hole", "key", "says"),
    [
        (Hole("h", (1, 1, 0), UP, 0.1, ("utility", "closett")), "hole[1].through", 'did you mean "closet"'),
        (Hole("h", (1, 1, 0), UP, 0.1, ("utility", "xyz")), "hole[1].through", "wanted: one of"),
        (Hole("h", (1, 1, 0), UP, 0.1, ("utility", "utility")), "hole[1].through", "two spaces"),
        (Hole("h", (6.5, 3, 0), UP, 0.1, ("utility", "closet")), "hole[1]", "never runs in"),
        (Hole("h", (1, 1, 0), (1.0, 0, 0), 0.1, ("utility", "closet")), "hole[1]", "never runs in"),
        (Hole("h", (1, 1, 0), UP, 0.1, ("utility", "attic")), "hole[1]", "leads through nothing"),
        (Hole("h", (3, 3, 0), UP, 0.1, ("utility", "outdoors")), "hole[1]", "leads through nothing"),
    ],
)
def test_a_hole_through_nothing(hole: Hole, key: str, says: str) -> None:
    assert says in fault(gabled_site(holes=(hole,)), key)


def test_a_hole_between_rooms_that_are_open_to_each_other() -> None:
    rooms = [Room("a", box_floor(0, 0, 3, 3), -2, 0), Room("b", box_floor(3, 0, 5, 3), -2, 0)]
    site = boxes_site(rooms, holes=(Hole("h", (3, 1, -1), (1.0, 0, 0), 0.1, ("a", "b")),))
    assert "open to each other" in fault(site, "hole[1].through")


def test_a_hole_past_a_third_room() -> None:
    rooms = [
        Room("a", box_floor(0, 0, 3, 3), -2.5, -1.5),
        Room("thin", box_floor(0, 0, 3, 3), -1.4, -0.9),
        Room("b", box_floor(0, 0, 3, 3), -0.8, 1.0),
    ]
    site = boxes_site(rooms, appliance=replace(APPLIANCE, collar_m=(1.0, 1.0, -2.0)))
    assert "another space lies between" in fault(
        replace(site, holes=(Hole("h", (1, 1, -1), UP, 0.1, ("a", "b")),)), "hole[1]"
    )


@pytest.mark.parametrize(("thick", "good"), [(1.99, True), (2.01, False)])
def test_two_metres_of_construction_are_the_most(thick: float, good: bool) -> None:
    rooms = [Room("a", box_floor(0, 0, 3, 3), -2, 0), Room("b", box_floor(0, 0, 3, 3), thick, 3)]
    site = boxes_site(rooms, holes=(Hole("h", (1, 1, 0.5), UP, 0.1, ("a", "b")),))
    if good:
        assert len(build(site).passages) == 1
    else:
        assert "not within 6 ft 6 3/4 in" in fault(site, "hole[1]")


def test_an_obstacle_in_front_does_not_hide_a_hole() -> None:
    chest = Obstacle("chest", None, (0.5, 0.5, -0.6), (1, 1, 0.3))
    assert passage(build(gabled_site(obstacles=(chest,))), "first floor").point[2] == pytest.approx(0)


def test_a_cut_keeps_the_part_where_the_wall_is_flat_both_sides() -> None:
    # The area runs past the room's end, its ceiling, and below the ground: x from -9.8, z from -2.4 and to 0.
    cut = wall_cut("c", ("shop", "outdoors"), (-12, -10, -3.5), (-6, -9.8, 1), (0, 1.0, 0))
    found = passage(build(corner_site(cuts=(cut,))), "c")
    assert found.kind == "cut"
    assert found.axis.tolist() == [0, -1, 0]
    assert found.area is not None
    low, high = found.area
    assert (low[0], high[0]) == pytest.approx((-9.8, -6))
    assert (low[2], high[2]) == pytest.approx((-2.4, 0.0))
    assert found.point == pytest.approx([-7.9, -9.9, -1.2])
    assert found.mouth_b[1] == pytest.approx(10.0)


def test_a_cut_stops_at_the_ground() -> None:
    cut = wall_cut("c", ("shop", "outdoors"), (-9, -10, -2.3), (-6, -9.8, -0.2), (0, 1.0, 0))
    found = passage(build(corner_site(cuts=(cut,), place=Place(grade_m=-1.0))), "c")
    assert found.area is not None
    assert found.area[0][2] == pytest.approx(-1.0)


def test_a_cut_over_a_ridge_is_one_area_on_each_slope() -> None:
    cut = wall_cut("c", ("attic", "outdoors"), (3, 2, 3), (5, 4.5, 6), UP)
    found = [p for p in build(gabled_site(cuts=(cut,))).passages if p.name == "c"]
    spans = sorted((p.area[0][1], p.area[1][1]) for p in found if p.area is not None)
    assert spans == [pytest.approx((2, 3)), pytest.approx((3, 4.5))]
    normals = sorted(round(float(p.mouth_b[0][1]), 6) for p in found)
    assert normals == [pytest.approx(-2 / 13**0.5, abs=1e-6), pytest.approx(2 / 13**0.5, abs=1e-6)]


def test_a_cut_of_no_height_is_a_line() -> None:
    cut = wall_cut("c", ("shop", "outdoors"), (-9, -10, -1.0), (-6, -9.8, -1.0), (0, 1.0, 0))
    found = passage(build(corner_site(cuts=(cut,))), "c")
    assert found.area is not None
    assert found.area[0][2] == found.area[1][2] == -1.0


@pytest.mark.parametrize(
    ("cut", "says"),
    [
        (wall_cut("c", ("shop", "outdoors"), (-4, -10, -2), (-3, -9, -1), (0, 1.0, 0)), "never runs in"),
        (wall_cut("c", ("shop", "outdoors"), (-7, -10, -2), (-6, -9, -1), UP), "leads through nothing"),
    ],
)
def test_a_cut_that_leads_nowhere(cut: Cut, says: str) -> None:
    assert says in fault(corner_site(cuts=(cut,)), "cut[1]")


def test_a_cut_square_to_a_wall_that_is_square_to_nothing() -> None:
    # The block turned 45 degrees: walls 0.2 m, the axis along (1, 1).
    d = 2**0.5
    diamond = ((0, -4 * d), (4 * d, 0), (0, 4 * d), (-4 * d, 0))
    inner = tuple((x * 3.8 / 4, y * 3.8 / 4) for x, y in diamond)
    site = boxes_site([Room("hall", inner, 0.2, 3.0)], appliance=replace(APPLIANCE, collar_m=(0.0, 0.0, 1.0)))
    site = replace(site, building=replace(site.building, footprint=diamond))
    cut = wall_cut("c", ("hall", "outdoors"), (2.6, 2.6, 1), (2.9, 2.9, 2), (1 / d, 1 / d, 0))
    found = passage(build(replace(site, cuts=(cut,))), "c")
    assert found.axis == pytest.approx(np.array([1, 1, 0]) / d)
    assert (found.mouth_a[1], found.mouth_b[1]) == pytest.approx((3.8, 4.0))


def test_a_cut_askew_that_reaches_past_its_wall_says_which_corner_does() -> None:
    # The same block. Along (1, 1) the hall is seen where |x - y| < 3.8 times the root of 2; a corner at (9, 2.6) is not.
    d = 2**0.5
    diamond = ((0, -4 * d), (4 * d, 0), (0, 4 * d), (-4 * d, 0))
    inner = tuple((x * 3.8 / 4, y * 3.8 / 4) for x, y in diamond)
    site = boxes_site([Room("hall", inner, 0.2, 3.0)], appliance=replace(APPLIANCE, collar_m=(0.0, 0.0, 1.0)))
    site = replace(site, building=replace(site.building, footprint=diamond))
    said = fault(
        replace(site, cuts=(wall_cut("c", ("hall", "outdoors"), (2.6, 2.6, 1), (9, 2.9, 2), (1 / d, 1 / d, 0)),)),
        "cut[1]",
    )
    assert said.startswith(f"at its corner [{format_length(9.0)}, ")
    assert said.endswith("make the area smaller")


def test_a_cut_wholly_inside_a_room_is_refused():
    inside = scene_cut((1.0, 1.0, 0.5), (2.0, 1.2, 1.5))
    with pytest.raises(InputError, match="beside the barrier"):
        build(replace(two_rooms((0.5, 0.5, 0.8), (2.0, 2.0)), cuts=(inside,)))
