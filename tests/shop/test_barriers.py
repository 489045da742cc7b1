"""Holes used, holes left behind, roofs and walls."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from tests.layout.small_houses import gable, wall_cut
from tests.shop.small_routes import IN, house, kit, laid, the_shelf
from ventroute.model.plan import ShoppingLine
from ventroute.model.route import Crossing, Route
from ventroute.model.shelf import Asks, Shelf
from ventroute.model.site import Hole, Site
from ventroute.sentences import told_in
from ventroute.shop.barriers import barrier_lines

UP = (0.0, 0.0, 1.0)


def chimney(*names: str) -> Route:
    """Straight up from the utility, through the holes named."""
    places = {"first floor": -0.05, "ceiling": 2.7, "roof": 4.0}
    crossings = [(Crossing(name, False, (1.0, 1.0, places[name]), UP), 0) for name in names]
    return laid([(1.0, 1.0, -1.0), (1.0, 1.0, 5.0)], crossings=crossings)


def lines(route: Route, site: Site | None = None, asks: Asks | None = None) -> list[ShoppingLine]:
    return list(barrier_lines(route, site or house(), the_shelf(), asks or Asks()))


def test_reasons_are_read_in_either_system():
    # 0.15 m clear, 3 1/2 in is 88.9 mm: 30.55 mm all round; 2 m of rise over 3 m is 33.7 degrees
    found = [told_in(line.why, "metric") for line in lines(chimney("first floor", "roof"))]
    assert "hole 150 mm clear, pipe 89 mm outside" in found[0]
    assert "31 mm all round" in found[0]
    assert "pitch 34°" in found[2]
    assert not any(re.search(r"\d (in|ft)\b", text) for text in found)


def test_a_hole_that_is_used_is_sealed_at_both_faces_by_its_annulus():
    # hole 0.15 m = 5.906 in clear, pipe 3 1/2 in outside: 1.203 in all round
    first = lines(chimney("first floor", "ceiling", "roof"))[0]
    assert (first.item, first.quantity) == ("seal-annulus-wide", 2)
    assert "1 3/16 in all round" in told_in(first.why)
    assert "first floor" in first.why


@pytest.mark.parametrize(
    ("clear_in", "item"),
    [
        (3.75, "seal-annulus-narrow"),
        (4.5, "seal-annulus-medium"),
        (6.0, "seal-annulus-wide"),
        (3.5, "seal-annulus-narrow"),
    ],
)
def test_the_seal_fits_the_gap(clear_in, item):
    # gap all round = (clear - 3.5) / 2: 1/8, 1/2, 1 1/4 in and none
    holes = (replace(house().holes[0], clear_m=clear_in * IN), *house().holes[1:])
    assert lines(chimney("first floor"), house(holes=holes))[0].item == item


def test_a_hole_left_behind_is_a_line():
    found = lines(chimney("first floor"))
    plugs = [line for line in found if line.item.startswith("plug")]
    assert [line.why.split("'")[1] for line in plugs] == ["ceiling", "roof"]
    assert all(line.quantity == 2 and "left behind" in line.why for line in plugs)
    assert {line.item for line in plugs} == {"plug-hole-7"}  # 5.9 in clear


def test_every_hole_is_used_or_closed():
    for names in ((), ("first floor",), ("first floor", "ceiling", "roof")):
        text = " ".join(line.why for line in lines(chimney(*names)))
        assert all(hole.name in text for hole in house().holes)


def test_a_hole_wider_than_any_plug_is_still_a_line():
    holes = (Hole("shaft", (3.0, 3.0, -0.05), UP, 0.6, ("utility", "closet")),)
    plug = lines(chimney(), house(holes=holes))[0]
    assert (plug.item, plug.quantity) == ("hole-plug", 2)


def test_the_flashing_suits_the_roofs_pitch():
    # 2 m of rise over 3 m of run: 8 in 12
    found = [line for line in lines(chimney("roof")) if "boot" in line.item]
    assert [line.item for line in found] == ["boot-pvc-3"]
    assert "pitch 8/12" in told_in(found[0].why)
    assert "south slope" in found[0].why


def test_a_steep_roof_takes_the_steep_flashing():
    # 4 m of rise over 3 m of run: 16 in 12
    site = house(roofs=gable(0, 0, 8, 6, 3.0, 7.0))
    assert [line.item for line in lines(chimney("roof"), site) if "boot" in line.item] == ["boot-pvc-3-steep"]


def test_a_flat_roof_takes_a_flashing_too():
    found = [line for line in lines(chimney("roof"), house(roofs=())) if "boot" in line.item]
    assert [line.item for line in found] == ["boot-pvc-3"]
    assert "flat" in found[0].why


def test_a_roof_steeper_than_any_flashing_is_described():
    site = house(roofs=gable(0, 0, 8, 6, 3.0, 9.0))  # 24 in 12
    found = next(line for line in lines(chimney("roof"), site) if "flashing" in line.item)
    assert "24/12" in told_in(found.description)


def test_a_wall_takes_a_plate_on_each_face_and_a_seal():
    wall = wall_cut("rim", ("utility", "outdoors"), (0, 2, -2), (0.2, 3, -1), (-1.0, 0.0, 0.0))
    crossing = Crossing("rim", True, (0.1, 2.5, -1.5), (-1.0, 0.0, 0.0))
    route = laid([(1.0, 2.5, -1.5), (-0.3, 2.5, -1.5)], kind="wall", crossings=[(crossing, 0)])
    found = lines(route, house(cuts=(wall,), holes=()))
    assert {line.item: line.quantity for line in found} == {"seal-annulus-narrow": 2, "plate-wall-pvc-3": 2}
    assert "new hole" in found[0].why


def test_a_firestop_comes_only_where_it_is_asked_for():
    route = chimney("first floor", "ceiling", "roof")
    assert not [line for line in lines(route) if line.item == "firestop-vent"]
    asked = [line for line in lines(route, asks=Asks(firestop=frozenset({"ceiling"}))) if line.item == "firestop-vent"]
    assert len(asked) == 1
    assert "ceiling" in asked[0].why


def test_inner_barriers_remind_of_fire_rating():
    found = lines(chimney("first floor", "roof"))
    assert "fire-rated" in found[0].why  # utility to closet
    assert "fire-rated" not in found[1].why  # attic to outdoors


def test_every_size_of_pipe_has_flashing_plate_and_hanger_on_the_shelf():
    shelf: Shelf = the_shelf()
    for size in (1.5, 2.0, 3.0, 4.0, 6.0):
        assert shelf.of_kind("flashing", size, "PVC")
        assert shelf.of_kind("wall plate", size, "PVC")
        assert shelf.of_kind("hanger", size, "PVC")


def test_the_pipe_of_the_kit_decides_the_gap():
    # 2 in pipe is 2.375 in outside: (5.906 - 2.375) / 2 = 1.766 in
    crossing = Crossing("first floor", False, (1.0, 1.0, -0.05), UP)
    route = laid([(1.0, 1.0, -1.0), (1.0, 1.0, 2.0)], (), kit("PVC", 2.0), crossings=[(crossing, 0)])
    assert "1 3/4 in all round" in told_in(lines(route)[0].why)
