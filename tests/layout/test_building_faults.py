"""Houses that cannot be: every fault with the key of the site file, all at once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.layout.small_houses import APPLIANCE, box_floor, boxes_site, gabled_site
from ventroute.errors import InputError
from ventroute.layout.building import build
from ventroute.model.site import Envelope, KeepOut, Obstacle, Roof, Room, Site


def faults_of(site: Site) -> dict[str, str]:
    with pytest.raises(InputError) as caught:
        build(site)
    return {fault.key: fault.what for fault in caught.value.faults}


@pytest.mark.parametrize(
    ("changes", "key", "says"),
    [
        ({"roofs": ()}, "building.top", "a top, or a roof"),
        ({"building": Envelope(box_floor(0, 0, 9, 6), -2.5, None)}, "building.top", "no roof over"),
        ({"building": Envelope(((0, 0), (8, 6), (8, 0), (0, 6)), -2.5, None)}, "building.footprint", "cross"),
        ({"building": Envelope(box_floor(0, 0, 8, 6), -2.3, None)}, "room[1]", "building.bottom"),
        ({"building": Envelope(box_floor(0, 0, 8, 4), -2.5, None)}, "room[1]", "outside the building"),
    ],
)
def test_an_envelope_that_does_not_hold_its_rooms(changes: dict[str, object], key: str, says: str) -> None:
    assert says in faults_of(gabled_site(**changes))[key]


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        (((0, 0, 3), (1, 0, 3), (2, 0, 3)), "line"),
        (((0, 0, 3), (8, 0, 3), (8, 6, 3), (0, 6, 4)), "not in one plane"),
        (((0, 0, 3), (8, 0, 3), (8, 0, 5), (0, 0, 5)), "upright"),
        (((0, 0, 3), (8, 6, 3), (8, 0, 3), (0, 6, 3)), "roof"),
    ],
)
def test_a_roof_that_is_no_plane(corners: tuple[tuple[float, float, float], ...], says: str) -> None:
    site = gabled_site()
    found = faults_of(replace(site, roofs=(*site.roofs, Roof("odd", corners, 0.2))))
    assert "roof[3].corners" in found
    if says != "roof":
        assert says in found["roof[3].corners"]


@pytest.mark.parametrize(
    ("room", "key", "says"),
    [
        (Room("r", box_floor(1, 1, 2, 2), 0.5, 0.5), "room[4].floor", "no height"),
        (Room("r", ((1, 1), (2, 2), (2, 1), (1, 2)), 0.2, 1.0), "room[4].floor", "cross"),
        (Room("r", ((1, 1), (2, 1)), 0.2, 1.0), "room[4].floor", "three corners"),
        (Room("r", box_floor(1, 1, 2, 2), 2.8, 3.6), "room[4].top", "reaches into the roof"),
        (Room("r", box_floor(1, 1, 2, 2), 2.8, 6.0), "room[4]", "outside the building"),
        (Room("r", box_floor(1, 1, 2, 2), 4.5, None), "room[4].bottom", "above the roof"),
        (Room("r", box_floor(1, 1, 9, 2), 2.8, None), "room[4].top", "no roof over"),
    ],
)
def test_a_room_that_cannot_be(room: Room, key: str, says: str) -> None:
    site = gabled_site()
    assert says in faults_of(replace(site, rooms=(*site.rooms, room)))[key]


@pytest.mark.parametrize(
    ("at", "faces", "says"),
    [
        ((0.1, 1, -1), (0, 0, 1), "inside construction"),
        ((6.5, 3, -1), (0, 0, 1), "inside construction"),
        ((-2, 3, 1), (0, 0, 1), "outdoors"),
        ((1, 1, -0.1), (0, 0, 1), "straight into construction"),
        ((1, 0.2, -1), (0, -1, 0), "straight into construction"),
        ((3, 3, -1), (0, 0, 1), 'inside "chest"'),
        ((3, 3, -1.52), (0, 0, 1), 'inside "chest"'),
    ],
)
def test_a_collar_without_air(at: tuple[float, float, float], faces: tuple[float, float, float], says: str) -> None:
    chest = Obstacle("chest", None, (2.5, 2.5, -1.5), (1, 1, 1))
    site = gabled_site(obstacles=(chest,), appliance=replace(APPLIANCE, collar_m=at, faces=faces))
    assert says in faults_of(site)["appliance.collar"]


def test_a_collar_on_top_of_an_obstacle_is_in_air() -> None:
    heater = Obstacle("heater", 0.0, (0.5, 0.5, -2.4), (1, 1, 1.4))
    assert build(gabled_site(obstacles=(heater,))).room_at((1, 1, -1)) == "utility"


@pytest.mark.parametrize(
    ("obstacle", "says"),
    [
        (Obstacle("o", None, (1, 1, -1), (0, 1, 1)), "three sides above zero"),
        (Obstacle("o", None, ends=((1, 1, -1), (1, 1, -1)), diameter_m=0.1), "two ends apart"),
        (Obstacle("o", None, ends=((1, 1, -1), (2, 1, -1)), diameter_m=0.0), "diameter above zero"),
        (Obstacle("o"), "a box, two ends"),
    ],
)
def test_an_obstacle_that_is_nothing(obstacle: Obstacle, says: str) -> None:
    assert says in faults_of(gabled_site(obstacles=(obstacle,)))["obstacle[1]"]


def test_all_faults_come_at_once() -> None:
    site = gabled_site(
        roofs=(Roof("a", ((0, 0, 3), (1, 0, 3), (2, 0, 3)), 0.2),),
        obstacles=(Obstacle("o"),),
        keep_outs=(KeepOut("k", "route", (0, 0, 0), (1, 0, 1)),),
    )
    assert {"roof[1].corners", "building.top", "obstacle[1]", "keep_out[1].size"} <= set(faults_of(site))


def test_a_house_without_rooms_is_a_fault() -> None:
    assert "room" in faults_of(boxes_site([]))
