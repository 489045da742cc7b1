"""Two small invented sites that are hard for their size."""

from __future__ import annotations

_HEAD = """# Invented, for measuring.
format = 1
name = "{name}"
units = "m"
[place]
altitude = "200 m"
winter = "-12 degC"
grade = 0
rules = "us-2021"
"""

CORNER_ROOM = (
    _HEAD.format(name="room round a corner")
    + """
[building]
footprint = [[0, 0], [8, 0], [8, 7], [0, 7]]
bottom = -2.4
top = 1.0
[[room]]
name = "cellar"
floor = [[0.3, 0.3], [7.7, 0.3], [7.7, 3.0], [3.0, 3.0], [3.0, 6.7], [0.3, 6.7]]
bottom = -2.3
top = 0.6
air = "heated"
[[cut]]
name = "east wall"
through = ["cellar", "outdoors"]
corner = [7.7, 0.6, 0.15]
size = [0.3, 2.0, 0.35]
axis = "east"
[[obstacle]]
name = "duct"
corner = [0.4, 2.2, 0.1]
size = [6.0, 0.4, 0.3]
[[keep_out]]
name = "panel"
applies = "route"
corner = [3.2, 0.3, -2.3]
size = [1.0, 1.0, 2.6]
[appliance]
model = "generic-condensing-water-heater-120"
collar = [1.2, 5.8, -0.9]
faces = "up"
[want]
materials = ["PVC"]
sizes = ["2 in", "3 in", "4 in"]
terminals = ["wall"]
"""
)

IN_SERIES = (
    _HEAD.format(name="three new holes one after the other")
    + """
[building]
footprint = [[0, 0], [12, 0], [12, 6], [0, 6]]
[[roof]]
name = "roof"
gable = { over = [[0, 0], [12, 6]], ridge = "east", eave = 3, pitch = "8/12", overhang = "0.3 m" }
thickness = "0.2 m"
[[room]]
name = "plant"
corner = [0.3, 0.3, 0.1]
size = [3.5, 5.4, 2.4]
air = "heated"
[[room]]
name = "hall"
corner = [4.0, 0.3, 0.1]
size = [3.5, 5.4, 2.4]
air = "heated"
[[room]]
name = "store"
corner = [7.7, 0.3, 0.1]
size = [4.0, 5.4, 2.4]
air = "heated"
[[cut]]
name = "first"
through = ["plant", "hall"]
corner = [3.8, 1.0, 1.4]
size = [0.2, 3.5, 0.9]
axis = "east"
[[cut]]
name = "second"
through = ["hall", "store"]
corner = [7.5, 1.5, 1.4]
size = [0.2, 3.5, 0.9]
axis = "east"
[[cut]]
name = "gable wall"
through = ["store", "outdoors"]
corner = [11.7, 2.0, 1.4]
size = [0.3, 3.0, 0.9]
axis = "east"
[[obstacle]]
name = "cupboard"
corner = [5.0, 1.0, 0.1]
size = [0.6, 3.0, 2.0]
[[feature]]
kind = "window, openable"
name = "gable window"
corner = [11.9, 2.6, 1.2]
size = [0.2, 1.0, 1.0]
[appliance]
model = "generic-condensing-water-heater-120"
collar = [1.0, 1.0, 1.0]
faces = "up"
[want]
materials = ["PVC"]
sizes = ["3 in"]
terminals = ["wall"]
"""
)

SITES = {"room round a corner": CORNER_ROOM, "three cuts in series": IN_SERIES}
