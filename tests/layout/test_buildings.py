"""Houses as solids: volumes by hand, rooms that open to each other, roofs of every kind, faults."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.layout.small_houses import APPLIANCE, box_floor, boxes_site, gable, gabled_site
from ventroute.layout.building import Building, Space, build, construction_mesh, mesh_of
from ventroute.model.site import Envelope, Feature, KeepOut, Obstacle, Place, Roof, Room, Site


def air_m3(space: Space) -> float:
    """Volume of the air: construction does not overlap itself indoors."""
    return space.container.volume_m3 - sum(
        b.volume_m3 for s in space.solids if s.kind == "construction" for b in s.bodies
    )


def collar_in(site: Site, at: tuple[float, float, float]) -> Site:
    return replace(site, appliance=replace(APPLIANCE, collar_m=at))


def house(rooms: list[Room], at: tuple[float, float, float] = (1.0, 1.0, -1.0), **changes: object) -> Building:
    return build(collar_in(boxes_site(rooms, **changes), at))


BASE = Room("base", box_floor(0, 0, 3, 3), -2.5, 0.0)


def test_a_room_is_a_space_of_its_volume() -> None:
    building = house([BASE])
    assert [space.name for space in building.spaces] == ["base", "outdoors"]
    assert air_m3(building.spaces[0]) == pytest.approx(3 * 3 * 2.5)
    assert building.spaces[0].solids == ()


def test_two_boxes_that_share_a_face_are_one_ell() -> None:
    building = house([BASE, Room("bay", box_floor(3, 0, 5, 1), -2.5, 0.0)])
    (space, _) = building.spaces
    assert space.rooms == ("base", "bay")
    assert air_m3(space) == pytest.approx(2.5 * (9 + 2))
    assert building.space_named("bay") is space
    assert building.room_at((4, 0.5, -1)) == "bay"
    assert building.space_at((4, 2.5, -1)) is None  # in the nook of the ell


def test_overlapping_rooms_are_one_space_and_count_once() -> None:
    building = house([BASE, Room("other", box_floor(2, 2, 4, 4), -2.0, 0.5)])
    # Union by inclusion and exclusion: overlap 1 x 1 x 2.
    assert air_m3(building.spaces[0]) == pytest.approx(22.5 + 2 * 2 * 2.5 - 2)


@pytest.mark.parametrize("crack", [1e-9, -1e-9])
def test_rounding_does_not_part_rooms_that_share_a_face(crack: float) -> None:
    building = house([BASE, Room("bay", box_floor(3 + crack, 0, 5, 3), -2.5, 0.0)])
    assert len(building.spaces) == 2
    assert building.spaces[0].solids == ()


def test_rooms_that_touch_in_an_edge_are_two_spaces() -> None:
    building = house([BASE, Room("other", box_floor(3, 3, 5, 5), -2.5, 0.0)])
    assert [space.name for space in building.spaces] == ["base", "other", "outdoors"]


def test_a_room_is_heated_only_when_all_of_its_space_is() -> None:
    building = house([BASE, Room("bay", box_floor(3, 0, 5, 1), -2.5, 0.0, heated=False)])
    assert not building.spaces[0].heated


@st.composite
def hollow_floors(draw: st.DrawFn) -> tuple[tuple[float, float], ...]:
    """Star-shaped floors round (0, 0), counter-clockwise."""
    n = draw(st.integers(4, 9))
    turns = (np.arange(n) + [draw(st.floats(0.2, 0.8)) for _ in range(n)]) * 2 * np.pi / n
    reach = np.array([draw(st.floats(1.0, 5.0)) for _ in range(n)])
    return tuple((float(r * np.cos(t)), float(r * np.sin(t))) for r, t in zip(reach, turns, strict=True))


@settings(deadline=None, max_examples=30)
@given(hollow_floors(), st.integers(0, 99))
def test_a_room_on_any_floor_has_its_area_times_its_height(floor: tuple[tuple[float, float], ...], seed: int) -> None:
    plan = shapely.Polygon(floor)
    building = house([Room("hall", floor, -2.0, 0.5)], (0.0, 0.0, -1.0))
    space = building.spaces[0]
    assert air_m3(space) == pytest.approx(plan.area * 2.5, rel=1e-6)
    points = np.random.default_rng(seed).uniform((-5, -5, -2), (5, 5, 0.5), (40, 3))
    for point in points:
        if shapely.distance(plan.exterior, shapely.Point(point[:2])) > 1e-5:
            assert space.is_air(point) == shapely.contains_xy(plan, *point[:2])


def test_an_attic_under_a_gable_is_one_convex_space() -> None:
    building = build(gabled_site())
    attic = building.space_named("attic")
    assert attic is not None
    assert attic.solids == ()
    # Pitch 2 in 3; thickness 0.2 square to the slope is 0.2 sqrt(13) / 3 upright. Outer surface at y from the wall:
    # 3 + 2 y / 3; the section is the integral over y from 0.2 to 3, twice, of what lies above 2.8.
    drop = 0.2 * 13**0.5 / 3
    half = (3 - drop - 2.8) * 2.8 + (3**2 - 0.2**2) / 3
    start = max(0.2, (2.8 - 3 + drop) * 1.5)
    half = sum((3 - drop - 2.8 + 2 * y / 3) for y in np.linspace(start, 3, 20_001)[:-1] + (3 - start) / 40_000)
    assert air_m3(attic) == pytest.approx(7.6 * 2 * half * (3 - start) / 20_000, rel=1e-6)


def test_thickness_is_square_to_the_slope() -> None:
    building = build(gabled_site())
    hole = next(p for p in building.passages if p.name == "roof")
    (normal, under), (_, over) = hole.mouth_a, hole.mouth_b
    assert over - under == pytest.approx(0.2)
    assert normal == pytest.approx(np.array([0, -2, 3]) / 13**0.5)


def test_an_attic_under_a_flat_roof_ends_at_its_underside() -> None:
    deck = Roof("deck", ((-1, -1, 4), (9, -1, 4), (9, 7, 4), (-1, 7, 4)), 0.25)
    site = gabled_site(roofs=(deck,), holes=())
    attic = build(site).space_named("attic")
    assert attic is not None
    assert air_m3(attic) == pytest.approx(7.6 * 5.6 * (4 - 0.25 - 2.8))


def hip(size: float, eave: float, ridge: float) -> tuple[Roof, ...]:
    """Four triangles to one point over a square: a hip without a ridge."""
    corners = [(0, 0, eave), (size, 0, eave), (size, size, eave), (0, size, eave)]
    top = (size / 2, size / 2, ridge)
    return tuple(Roof(f"hip {k}", (corners[k], corners[(k + 1) % 4], top), 0.2) for k in range(4))


def test_an_attic_under_a_hip_is_a_pyramid() -> None:
    site = boxes_site(
        [BASE, Room("attic", box_floor(0.5, 0.5, 9.5, 9.5), 3.0, None)],
        building=Envelope(box_floor(0, 0, 10, 10), -3.0, None),
        roofs=hip(10, 3.0, 8.0),
    )
    attic = build(site).space_named("attic")
    assert attic is not None
    # Slope 1 in 1; 0.2 square to it is 0.2 sqrt(2) upright. Over the plan up to 4.5 from the middle, the integral of
    # (h - d) 8 d from d = 0 to 4.5.
    height = 5 - 0.2 * 2**0.5
    assert air_m3(attic) == pytest.approx(8 * (height * 4.5**2 / 2 - 4.5**3 / 3))
    assert len(attic.solids) == 0


def test_crossing_gables_trimmed_at_their_valleys_are_one_attic() -> None:
    # An ell of two wings, each 4 m wide, slopes 1 in 1, meeting in one hip and one valley, thickness upright 0.2.
    t = 0.2 / 2**0.5
    roofs = (
        Roof("south", ((0, 0, 3), (10, 0, 3), (10, 2, 5), (2, 2, 5)), t),
        Roof("north", ((4, 4, 3), (2, 2, 5), (10, 2, 5), (10, 4, 3)), t),
        Roof("west", ((0, 0, 3), (2, 2, 5), (2, 10, 5), (0, 10, 3)), t),
        Roof("east", ((4, 4, 3), (4, 10, 3), (2, 10, 5), (2, 2, 5)), t),
    )
    ell = ((0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10))
    site = boxes_site(
        [Room("base", box_floor(0.5, 0.5, 3, 3), -2.5, 0), Room("attic", ell, 2.8, None)],
        building=Envelope(ell, -3.0, None),
        roofs=roofs,
    )
    building = build(site)
    attic = building.space_named("attic")
    assert attic is not None
    # Height of the underside above 2.8 is the distance to the nearest eave: integrate over the plan.
    grid = np.arange(0.025, 10, 0.05)
    points = np.stack(np.meshgrid(grid, grid), axis=-1).reshape(-1, 2)
    plan = shapely.Polygon(ell)
    eaves = shapely.MultiLineString([[(0, 10), (0, 0), (10, 0)], [(10, 4), (4, 4), (4, 10)]])
    inside = shapely.contains_xy(plan, points)
    height = shapely.distance(eaves, shapely.points(points[inside]))
    # Past the inner corner the slopes are still measured square to the eaves, not round the corner.
    x, y = points[inside].T
    beside = np.where((x < 4) & (y < 4), np.minimum(np.minimum(x, y), np.maximum(4 - x, 4 - y)), height)
    assert air_m3(attic) == pytest.approx(float(beside.sum()) * 0.05**2, rel=2e-3)
    assert building.room_at((3, 3, 3.5)) == "attic"
    assert building.room_at((2, 2, 4.7)) == "attic"


def test_an_untrimmed_roof_inside_an_attic_is_solid() -> None:
    # Two gables entered over each other: the lower one's slab hangs in the attic. Nobody said it is not there.
    low = gable(0, 0, 8, 6, 3.0, 4.0)
    site = gabled_site(roofs=(*gable(0, 0, 8, 6, 3.0, 6.0), *low), holes=())
    building = build(site)
    assert building.room_at((4, 2.9, 3.9)) is None
    assert building.room_at((4, 2.9, 5.4)) == "attic"


def test_outdoors_starts_at_grade_and_ends_at_walls_and_eaves() -> None:
    building = build(gabled_site())
    outside = building.outdoors
    assert outside.outdoors
    assert building.room_at((-1, 3, 1)) == "outdoors"
    assert building.room_at((-1, 3, -0.5)) is None  # ground
    assert building.room_at((0.1, 3, 1)) is None  # wall
    assert building.space_at((-0.2, 3, 3.9)) is outside  # under the gable end's overhang
    eave_z = 3.0 - 0.2 * 2 / 3
    assert building.space_at((4, -0.2, eave_z - 0.05)) is None  # in the eave
    assert building.space_at((4, -0.2, eave_z - 0.3)) is outside  # below it
    assert building.space_at((4, 3, 5.1)) is outside


def test_a_basement_is_below_grade_and_open_air_is_not() -> None:
    building = house([BASE])
    assert building.room_at((1, 1, -1)) == "base"
    assert building.outdoors.container.low[2] == 0.0
    sunk = house([BASE], place=Place(grade_m=-2.0))
    assert sunk.outdoors.container.low[2] == -2.0


def test_a_porch_is_solid_outdoors_and_a_window_is_not() -> None:
    porch = Feature("porch", "front porch", (11, 0, 0), (2, 2, 3), open_sides=3)
    window = Feature("window, openable", "kitchen", (12, 5, 1), (0.1, 1, 1))
    building = house([BASE], features=(porch, window))
    assert building.space_at((12, 1, 1)) is None
    assert building.space_at((12.05, 5.5, 1.5)) is building.outdoors


def test_obstacles_belong_to_every_space_they_touch() -> None:
    shaft = Obstacle("shaft", None, (2, 2, -1), (0.5, 0.5, 3))
    rooms = [BASE, Room("hall", box_floor(0, 0, 3, 3), 0.3, 3.0)]
    building = house(rooms, obstacles=(shaft,))
    assert [[s.name for s in space.solids if s.kind == "obstacle"] for space in building.spaces] == [
        ["shaft"],
        ["shaft"],
        [],
    ]


def test_an_obstacle_has_its_own_gap_or_the_one_that_is_wanted() -> None:
    things = (
        Obstacle("near", 0.0, (2, 2, -1), (0.1, 0.1, 0.1)),
        Obstacle("far", None, (2, 1, -1), (0.1, 0.1, 0.1)),
    )
    solids = house([BASE], obstacles=things).spaces[0].solids
    assert [s.gap_m for s in solids] == [0.0, pytest.approx(0.0254)]


def test_only_keep_outs_for_routes_are_solid() -> None:
    keeps = (
        KeepOut("play", "terminal", (11, 0, 0), (1, 1, 1)),
        KeepOut("bed", "both", (11, 2, 0), (1, 1, 1)),
        KeepOut("shelf", "route", (1, 2, -1), (1, 0.5, 0.5)),
    )
    building = house([BASE], keep_outs=keeps)
    assert [[s.name for s in space.solids if s.kind == "keep_out"] for space in building.spaces] == [["shelf"], ["bed"]]


def test_a_round_obstacle_lies_inside_its_cover_and_is_held_exactly() -> None:
    bar = Obstacle("main", None, ends=((0.5, 2, -1), (2.5, 2.4, -1.2)), diameter_m=0.3)
    (solid,) = house([BASE], obstacles=(bar,)).spaces[0].solids
    axis = np.subtract((2.5, 2.4, -1.2), (0.5, 2, -1))
    mesh = trimesh.creation.cylinder(radius=0.15, segment=[(0.5, 2, -1), (2.5, 2.4, -1.2)], sections=64)
    assert all(solid.bodies[0].contains(mesh.vertices, 1e-9))
    # A 12-gon round a circle: 12 tan(15 deg) r^2 to pi r^2.
    assert solid.bodies[0].volume_m3 == pytest.approx(12 * np.tan(np.pi / 12) * 0.15**2 * np.linalg.norm(axis))
    assert solid.holds(np.array([1.5, 2.2, -1.1]))
    assert not solid.holds(np.array([1.5, 2.2, -0.94]))


def test_a_mesh_obstacle_is_covered_and_held_exactly() -> None:
    ball = trimesh.creation.icosphere(subdivisions=2, radius=0.4).apply_translation((1.5, 2, -1.2))
    (solid,) = (
        house([BASE], obstacles=(Obstacle("tank", None, mesh="tank.stl", triangles=np.array(ball.triangles)),))
        .spaces[0]
        .solids
    )
    assert solid.holds(np.array([1.5, 2, -1.2]))
    corner = np.array([1.5, 2, -1.2]) + 0.39 / 3**0.5 * np.ones(3) * 1.05
    assert not solid.holds(corner)
    inside = trimesh.sample.volume_mesh(ball, 200)
    assert np.any([body.contains(inside, 1e-9) for body in solid.bodies], axis=0).all()


def signed_m3(triangles: np.ndarray) -> float:
    return float(np.einsum("ti,ti->t", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2])).sum() / 6)


def test_the_mesh_of_a_space_encloses_its_air() -> None:
    building = house([BASE, Room("bay", box_floor(3, 0, 5, 1), -2.5, 0.0)])
    assert signed_m3(construction_mesh(building.spaces[0])) == pytest.approx(2.5 * 11)
    assert list(mesh_of(building)) == ["base + bay"]


@settings(deadline=None, max_examples=15)
@given(
    st.lists(st.tuples(*[st.integers(-8, 4)] * 2, *[st.integers(1, 4)] * 2), min_size=1, max_size=4), st.integers(0, 99)
)
def test_air_is_where_a_room_is(plans: list[tuple[int, int, int, int]], seed: int) -> None:
    rooms = [BASE, *(Room(f"r{k}", box_floor(x, y, x + w, y + d), -2, 0) for k, (x, y, w, d) in enumerate(plans))]
    building = house(rooms)
    for point in np.random.default_rng(seed).uniform((-9, -9, -3), (9, 9, 3.5), (60, 3)):
        x, y, z = point
        inside = -2.5 < z < 0 and 0 < x < 3 and 0 < y < 3
        inside |= any(a < x < a + w and b < y < b + d and -2 < z < 0 for a, b, w, d in plans)
        assert (building.space_at(point) is not None) == inside
        assert (building.room_at(point) is not None) == inside
