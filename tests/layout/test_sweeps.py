"""Parts as closed surfaces of the right size."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.layout.plain_parts import HUB_OD, LAYING, OD, SOCKET, route_along
from ventroute.layout.sweep import SIDES, tubes

# An inscribed 24-gon has this share of its circle's area.
SHARE = SIDES / (2 * math.pi) * math.sin(2 * math.pi / SIDES)


def test_a_pipe_is_a_closed_tube_of_24_sides() -> None:
    ((n, kind, vertices, faces),) = tubes(route_along([(0, 0, 0), (1, 2, 2)], ["a"]))
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    assert (n, kind) == (1, "pipe")
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(3 * math.pi * OD**2 / 4 * SHARE)


def test_an_elbow_is_an_arc_between_two_hubs() -> None:
    made = {
        n: trimesh.Trimesh(v, f, process=False)
        for n, _, v, f in tubes(route_along([(0, 0, 0), (1, 0, 0), (1, 0, 1)], ["a"] * 2))
    }
    elbow = made[2]
    assert elbow.is_watertight
    # Pappus: area times the length of the arc of radius LAYING; and two hubs, each a socket long.
    expected = math.pi * OD**2 / 4 * math.pi / 2 * LAYING + 2 * SOCKET * math.pi * HUB_OD**2 / 4
    assert elbow.volume == pytest.approx(expected * SHARE, rel=0.01)
    assert elbow.bounds[0][0] == pytest.approx(1 - LAYING - SOCKET)
    assert elbow.bounds[1][2] == pytest.approx(LAYING + SOCKET)


@settings(deadline=None, max_examples=40)
@given(st.tuples(*[st.floats(-1, 1)] * 3), st.floats(0.35, 1.7), st.floats(0, 6.28))
def test_every_bend_is_closed_and_faces_outward(way: tuple[float, float, float], turn: float, roll: float) -> None:
    if np.linalg.norm(way) < 0.1:
        return
    along = np.array(way) / np.linalg.norm(way)
    across = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    across /= np.linalg.norm(across)
    across = math.cos(roll) * across + math.sin(roll) * np.cross(along, across)
    on = math.cos(turn) * along + math.sin(turn) * across
    route = route_along([(0, 0, 0), along, along + on], ["a"] * 2)
    for _, _, vertices, faces in tubes(route):
        mesh = trimesh.Trimesh(vertices, faces, process=False)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.volume > 0


def test_a_terminal_is_no_surface() -> None:
    route = route_along([(0, 0, 0), (1, 0, 0)], ["a"])
    assert [kind for _, kind, _, _ in tubes(route)] == ["pipe"]
