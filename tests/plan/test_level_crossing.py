"""A level run that leaves through a wall right under a ceiling. The house is invented."""

import math
from dataclasses import replace

import numpy as np

from tests.plan.houses import FT, IN, UP, planned, random_house
from ventroute.model.appliance import Want
from ventroute.model.site import Cut, Envelope, Room, Site

CEILING_M, WALL_M = 12 * IN, 23.27 * FT  # of the basement: its ceiling, and the inside of its north wall


def basement() -> Site:
    """Half under the ground, in deep snow; a new hole may be made in the rim below the ceiling."""
    ring = ((0.0, 0.0), (28 * FT, 0.0), (28 * FT, 24 * FT), (0.0, 24 * FT))
    east, south = 27.27 * FT, 0.67 * FT
    floor = ((south, south), (east, south), (east, WALL_M), (south, WALL_M))
    rim = Cut("rim", ("basement", "outdoors"), (FT, 23.2 * FT, 2 * IN), (26 * FT, 0.9 * FT, 8 * IN), (0.0, 1.0, 0.0))
    house = random_house(1)
    return replace(
        house,
        place=replace(house.place, grade_m=0.0, snow_m=18 * IN),
        building=Envelope(ring, -8 * FT, 20 * FT),
        rooms=(Room("basement", floor, -7.5 * FT, CEILING_M),),
        holes=(), cuts=(rim,), obstacles=(),
        appliance=replace(house.appliance, collar_m=(20 * FT, 3 * FT, -3 * FT), faces=UP),
        want=Want(materials=("PVC",), sizes_in=(3.0,), terminals=("wall",), outdoors_m=5 * FT),
    )  # fmt: skip


def test_the_top_of_a_pitched_pipe_keeps_the_gap_to_the_ceiling_where_it_enters_the_wall():
    route = planned(basement()).routes[0].route
    crossing = route.crossings[0]
    d = np.array(crossing.direction)
    axis_m = crossing.point_m[2] + (WALL_M - crossing.point_m[1]) / d[1] * d[2]
    top_m = axis_m + route.kit.pipe.od_m / 2 / math.hypot(d[0], d[1])  # plain trigonometry: a cylinder cut by a plane
    assert CEILING_M - 1.1 * IN < top_m <= CEILING_M - 1 * IN + 1e-9
