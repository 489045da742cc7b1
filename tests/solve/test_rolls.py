"""Rolled offsets beside other bends and to areas: against trigonometry, and against scipy over the roll."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog, minimize_scalar

from tests.solve.scenes import EAST, FT, IN, LAYING_IN, TABLE_FT, UP, by_length, problem, two_rooms, wall_cut
from ventroute.model.site import Hole
from ventroute.solve import conditions
from ventroute.solve.conditions import Conditions
from ventroute.solve.links import chains, direction_set, links
from ventroute.solve.offsets import Offsets
from ventroute.solve.rolls import worthwhile
from ventroute.solve.search import Search

ANGLES = (90.0, 45.0)
HUB_IN = {a: lay + 1.5 for a, lay in LAYING_IN.items()}  # corner to hub face: laying length and socket
PITCH = 1 / 48


def wall_site(collar, hole, *, faces=UP, obstacles=(), size=(6.0, 4.0, 2.6)):
    """A room with a hole through its east wall, 0.2 m thick."""
    site = two_rooms(collar, (1.0, 1.0), size=size, faces=faces, obstacles=obstacles)
    return replace(site, holes=(Hole("wall", (size[0] + 0.1, *hole), EAST, 0.15, ("room", "outdoors")),))


def first_link(p):
    return links(p, chains(p)[0][0])[0]


def searched(p, rolls=True):
    """The best price through the first link, with the rolls or without."""
    found = Conditions(p)
    link = first_link(p)
    if not rolls:
        found._directions[link.key] = direction_set(p, link)
    result = Search(p, link, by_length(p), found).run()
    return result, found.directions(link)


def pitched(azimuth=0.0):
    """A level direction that rises a quarter inch in a foot."""
    return np.array([math.cos(azimuth), math.sin(azimuth), PITCH]) / math.hypot(1.0, PITCH)


def leaned(axis, angle_deg, roll):
    """A direction at an angle to an axis, rolled about it."""
    side = np.cross(axis, [0.0, 1.0, 0.0])
    side = side / np.linalg.norm(side)
    a = math.radians(angle_deg)
    return math.cos(a) * axis + math.sin(a) * (math.cos(roll) * side + math.sin(roll) * np.cross(axis, side))


def least_over_rolls(axis, angle_deg, others, least, way, floor=-1.0):
    """Least length of legs along an offset at any roll and along other directions, by HiGHS and a fine scan of rolls."""

    def at(roll):
        d = leaned(axis, angle_deg, roll)
        if d[2] < floor:
            return 1e3
        found = linprog(np.ones(len(least)), A_eq=np.array([d, *others]).T, b_eq=way, bounds=[(m, None) for m in least])
        return found.fun if found.status == 0 else 1e3

    rolls = np.linspace(0.0, 2 * math.pi, 181)
    values = [at(r) for r in rolls]
    best = min(values)
    for i in np.flatnonzero(np.array(values) < best + 0.05).tolist():
        near = minimize_scalar(at, bounds=(rolls[i] - 0.04, rolls[i] + 0.04), method="bounded", options={"xatol": 1e-9})
        best = min(best, near.fun)
    return best
