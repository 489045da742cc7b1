"""A site file and a stand-in for the planner: reads the site for real, then draws one route by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import sample
from ventroute.viewer.answer import answered, looked, refused

from ventroute.errors import InputError
from ventroute.io.site_file import building_faults, read_site_text
from ventroute.layout.building import build
from ventroute.model.plan import Plan

SITE = """# Birch Row, measured on a rainy day
format = 1
name = "Birch Row"
units = "ft"   # tape in feet

[place]
grade = -3

[building]
footprint = [[0,0],[30,0],[30,24],[0,24]]
bottom = -7.5
top = 18

[[room]]
name = "utility"          # where the heater stands
corner = [0.5, 0.5, -7.5]
size = [12, 9, "7 ft 2 in"]
air = "heated"

[[room]]
name = "closet"
corner = [4, 2, 0.5]
size = [5, 4, 8]
air = "heated"

[[hole]]
name = "old flue, first floor"
at = [6, 4, 0]
axis = "up"
clear = "6 in"            # measured twice
through = ["utility", "closet"]

[[obstacle]]
name = "supply duct"
corner = [1, 7, -1.8]
size = [11, 1.2, 0.8]

[[feature]]
kind = "window, openable"
name = "kitchen window"
corner = [14, -0.2, 3]
size = [3, 0.2, 4]

[appliance]
name = "water heater"
fuel = "natural gas"
input = "120000 Btu/h"
category = "IV"
vent_style = "non-direct"
exhaust_max = "149 degF"
materials = ["PVC", "ABS"]
collar_size = "3 in"
collar = [6, 4, -4]
faces = "up"
source = "invented"
sizes = [
  {size = "2 in", max_length = "40 ft", elbow_90 = "5 ft"},
  {size = "3 in", max_length = "100 ft", elbow_90 = "4 ft"},
]

[want]
materials = ["PVC"]
sizes = ["2 in"]          # what is on the shelf
prefer = "length"
"""


def read(text: str):
    site = read_site_text(text, "birch.toml", Path("."), {})
    try:
        return site, build(site)
    except InputError as error:
        raise building_faults(text, "birch.toml", error.faults) from None


def look_text(text: str) -> dict:
    try:
        return looked(read(text)[0])
    except InputError as error:
        return refused(error.faults)


def plan_text(text: str) -> dict:
    """One route straight up and out; its equivalent length and bill depend on the size that is wanted."""
    try:
        site, building = read(text)
    except InputError as error:
        return refused(error.faults)
    x, y, z = site.appliance.collar_m
    size_in = (site.want.sizes_in or (3.0,))[0]
    corners = [(x, y, z), (x, y, 2.0), (x + 1.0, y, 2.02), (x + 1.0, y, 6.5)]
    made = replace(sample.kit(site.want.materials[0]), size_in=size_in)
    drawn = sample.route(made, corners, "roof", ["utility", "closet", "closet"], {0: "old flue, first floor"})
    row = site.appliance.limit(size_in)
    drawn = replace(drawn, fittings_m=2 * row.elbow_90_m)
    planned = sample.planned("1", drawn, "the only one")
    price = {2.0: 12.25, 3.0: 21.5}[size_in]
    bill = (replace(planned.shopping[0], description=f"{size_in:g} in pipe", price=price), *planned.shopping[1:])
    planned = replace(planned, limit_m=row.max_length_m, shopping=bill, cost=round(4 * price + 12.5, 2))
    return answered(site, building, Plan(site.name, "us-2021", (planned,), ()))
