"""Where there is no route, what is offered as a mend is one."""

from dataclasses import replace

from tests.plan.houses import FT, IN, planned, random_house, workshop
from ventroute.layout.openings import new_openings
from ventroute.mending import mends
from ventroute.model.site import Cut, Envelope, KeepOut, Room, Site

NORTH = (0.0, 1.0, 0.0)


def test_a_hole_too_small_is_named_with_the_size_that_would_do():
    site = random_house(1)
    small = replace(site, holes=(site.holes[0], replace(site.holes[1], clear_m=2 * IN)))
    assert not planned(small).routes
    offered = mends(small, workshop(small))
    assert offered[0].startswith('"roof" made 2 5/8 in clear') or offered[0].startswith('"roof" made 3 3/4 in clear')
    # The offer, taken: a hole of that size has a route.
    wide = replace(small, holes=(small.holes[0], replace(small.holes[1], clear_m=3.75 * IN)))
    assert planned(wide).routes


def test_a_wish_that_leaves_nothing_is_offered_to_be_widened():
    site = random_house(1)
    narrow = replace(site, want=replace(site.want, terminals=("wall",)))
    assert not planned(narrow).routes
    assert any("roof or wall" in words for words in mends(narrow, workshop(narrow)))


def test_a_house_without_a_hole_is_offered_a_new_one_that_planning_confirms():
    site = random_house(1)
    bare = replace(site, holes=(), cuts=())
    assert not planned(bare).routes
    offered = mends(bare, workshop(bare))
    opened = dict(new_openings(bare))
    named = [words for words in opened if any(line.startswith(f"{words}: then") for line in offered)]
    assert named
    # The offer, taken: the same house with that opening alone has a route.
    assert planned(replace(bare, cuts=opened[named[0]])).routes


def test_where_nothing_opens_a_route_it_is_said_what_was_tried():
    site = random_house(1)
    box = KeepOut("everywhere", "terminal", (-50.0, -50.0, -50.0), (100.0, 100.0, 100.0))
    shut = replace(site, keep_outs=(box, replace(box, name="and again")))
    (said,) = mends(shut, workshop(shut))
    assert said.startswith("no single change was found that opens a route; tried: ")
    assert "a keep-out left out (2)" in said


def test_a_low_wall_in_deep_snow_is_offered_more_pipe_outdoors():
    # Invented: the cut ends 2 ft 3 1/2 in over the ground, the terminal stands 4 ft over it (3 ft of snow and a foot),
    # and 2 ft of pipe outdoors do not climb that far when they also leave the wall.
    site = low_wall()
    assert not planned(site).routes
    offered = mends(site, workshop(site))
    assert offered[0].startswith("up to 5 ft of pipe outdoors")
    assert planned(replace(site, want=replace(site.want, outdoors_m=5 * FT))).routes


def low_wall() -> Site:
    room = Room("garage", ((0.5 * FT, 0.5 * FT), (19.5 * FT, 0.5 * FT), (19.5 * FT, 19.5 * FT), (0.5 * FT, 19.5 * FT)),
                0.5 * FT, 10.5 * FT, heated=True)  # fmt: skip
    low = Cut("low wall", ("garage", "outdoors"), (2 * FT, 19 * FT, 1.5 * FT), (16 * FT, 1.5 * FT, 0.8 * FT), NORTH)
    ring = ((0.0, 0.0), (20 * FT, 0.0), (20 * FT, 20 * FT), (0.0, 20 * FT))
    appliance = replace(random_house(1).appliance, collar_m=(10 * FT, 10 * FT, FT), faces=NORTH)
    site = random_house(1)
    return replace(
        site,
        place=replace(site.place, grade_m=0.0, snow_m=3 * FT),
        building=Envelope(ring, 0.0, 12 * FT), rooms=(room,), roofs=(), holes=(), cuts=(low,), obstacles=(),
        features=(), keep_outs=(), appliance=appliance,
        want=replace(site.want, terminals=("wall",), materials=("PVC",), sizes_in=(3.0,)),
    )  # fmt: skip
