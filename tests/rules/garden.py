"""A garden with one thing of every kind round a house with a 6/12 roof: each rule about a place meets something."""

from __future__ import annotations

from dataclasses import replace

from tests.rules.yard import appliance, house
from ventroute.model.site import Envelope, Feature, KeepOut, Obstacle, Place, Roof, Site

FT = 0.3048
SNOW = 0.4

THINGS = {
    "window": Feature("window, openable", "window", (4.0, 7.9, 2.0), (1.0, 0.1, 1.0)),
    "pane": Feature("window, fixed", "pane", (1.0, 7.9, 2.0), (0.8, 0.1, 1.0)),
    "supply": Feature("inlet, mechanical", "supply", (9.9, 3.0, 1.0), (0.1, 0.3, 0.3)),
    "regulator": Feature("gas regulator vent", "regulator", (2.0, 8.0, 0.6), (0.05, 0.05, 0.05), pressure_Pa=1700.0),
    "meter": Feature("gas meter", "meter", (7.0, -0.4, 0.3), (0.4, 0.4, 0.6)),
    "power": Feature("electric meter", "power", (9.0, -0.2, 1.2), (0.3, 0.2, 0.4)),
    "path": Feature("walkway, public", "path", (12.0, 0.0, -0.1), (1.5, 8.0, 0.1)),
    "drive": Feature("driveway", "drive", (-4.0, 0.0, -0.1), (3.0, 8.0, 0.1)),
    "deck": Feature("deck", "deck", (6.0, 8.0, 2.4), (3.0, 2.5, 0.2), open_sides=3),
    "porch": Feature("porch", "porch", (0.0, -2.5, 2.4), (3.0, 2.5, 0.2), open_sides=1),
    "soffit": Feature("soffit, vented", "soffit", (0.0, 8.0, 5.7), (10.0, 0.5, 0.1)),
    "next door": Feature("neighbour opening", "next door", (3.0, 11.0, 2.0), (1.0, 0.1, 1.0), faces=(0.0, -1.0, 0.0)),
    "line": Feature("lot line", "line", (-8.0, 14.0, 0.0), (24.0, 0.02, 0.02)),
}
SLOPE = Roof("slope", ((-0.5, -0.5, 6.0), (10.5, -0.5, 6.0), (10.5, 8.5, 10.5), (-0.5, 8.5, 10.5)), 0.15)
CHIMNEY = Obstacle("chimney", corner=(7.0, 5.0, 5.0), size=(0.6, 0.6, 6.0))
PLAY = KeepOut("play area", "terminal", (-3.0, 9.0, 0.0), (2.0, 2.0, 2.0))


def yard(features: dict[str, Feature] = THINGS, **changes: object) -> Site:
    """The house in its garden, with changes to the appliance."""
    heater = appliance(above_roof_m=0.6, above_grade_m=0.5, **changes)
    return house(
        tuple(features.values()), heater, place=Place(snow_m=SNOW), obstacles=(CHIMNEY,), keep_outs=(PLAY,), roofs=(SLOPE,),
        building=Envelope(((0.0, 0.0), (10.0, 0.0), (10.0, 8.0), (6.0, 8.0), (6.0, 7.0), (0.0, 7.0)), 0.0, None),
        rooms=(replace(house().rooms[0], floor=((0.2, 0.2), (9.8, 0.2), (9.8, 6.8), (0.2, 6.8))),),
    )  # fmt: skip
