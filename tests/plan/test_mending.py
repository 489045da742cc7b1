"""Where there is no route, what is offered as a mend is one."""

from dataclasses import replace

from tests.plan.houses import IN, planned, random_house, workshop
from ventroute.mending import mends


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
