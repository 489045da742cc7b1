"""A level run that leaves through a wall right under a ceiling. The house is invented."""

import math
from pathlib import Path

import numpy as np

from tests.plan.houses import IN
from ventroute.cli.desk import open_text
from ventroute.planner import plan

HOUSE = """
format = 1
name = "low wall in deep snow"
[place]
grade = 0
snow = "18 in"
rules = "us-2021"
[building]
footprint = [[0,0],[28,0],[28,24],[0,24]]
bottom = -8
top = 20
[[room]]
name = "basement"
corner = [0.67, 0.67, -7.5]
size = [26.6, 22.6, "8 ft 6 in"]
[[cut]]
name = "rim"
through = ["basement", "outdoors"]
corner = [1, 23.2, "2 in"]
size = [26, 0.9, "8 in"]
axis = "north"
[appliance]
model = "generic-condensing-water-heater-120"
collar = [20, 3, -3]
faces = "up"
[want]
materials = ["PVC"]
sizes = ["3 in"]
terminals = ["wall"]
outdoors = "5 ft"
"""
CEILING_M, WALL_M = 12 * IN, 23.27 * 12 * IN  # of the basement: its ceiling, and the inside of its north wall


def test_the_top_of_a_pitched_pipe_keeps_the_gap_to_the_ceiling_where_it_enters_the_wall():
    desk = open_text(HOUSE, "house.toml", Path())
    route = plan(desk.site, desk.building, desk.shop).routes[0].route
    crossing = route.crossings[0]
    d = np.array(crossing.direction)
    axis_m = crossing.point_m[2] + (WALL_M - crossing.point_m[1]) / d[1] * d[2]
    top_m = axis_m + route.kit.pipe.od_m / 2 / math.hypot(d[0], d[1])  # plain trigonometry: a cylinder cut by a plane
    assert CEILING_M - 1.1 * IN < top_m <= CEILING_M - 1 * IN + 1e-9
