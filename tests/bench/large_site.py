"""A large invented site, the same for the same figures: ten rooms on three floors, things in the way, a scanned machine.

Nobody lives here. `written` makes the site file and the mesh beside it in a folder.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Box = tuple[FloatArray, FloatArray]

OBSTACLES, TRIANGLES = 500, 200_000
FLOORS = ((0.1, 2.7), (3.0, 5.6), (5.9, 8.5))  # m, z of floor and ceiling
WIDE, DEEP, TOP = 18.0, 12.0, 8.8  # m, outside faces
CLEAR_M = 0.45  # kept free round the axis of a hole, for fittings
COLLAR = (3.0, 2.5, 1.4)

FIRST = (("plant", 0.3, 0.3, 8.9, 5.9), ("store", 9.1, 0.3, 17.7, 5.9), ("shop", 0.3, 6.1, 8.9, 11.7), ("garage", 9.1, 6.1, 17.7, 11.7))  # fmt: skip
UPPER = (("west", 0.3, 0.3, 5.9, 11.7), ("middle", 6.1, 0.3, 11.9, 11.7), ("east", 12.1, 0.3, 17.7, 11.7))
ROOMS: dict[str, Box] = {
    (name if k == 0 else f"{name} {k + 1}"): (np.array([x0, y0, FLOORS[k][0]]), np.array([x1, y1, FLOORS[k][1]]))
    for k in range(3)
    for name, x0, y0, x1, y1 in (FIRST if k == 0 else UPPER)
}
UP, EAST, NORTH = "up", "east", "north"
HOLES = (  # at, axis, clear m, through
    ((9.0, 2.0, 2.2), EAST, 0.15, "plant", "store"), ((9.0, 9.0, 2.2), EAST, 0.15, "shop", "garage"),
    ((4.0, 6.0, 2.1), NORTH, 0.15, "plant", "shop"), ((14.0, 6.0, 2.2), NORTH, 0.13, "store", "garage"),
    ((1.5, 4.5, 2.85), UP, 0.13, "plant", "west 2"), ((7.5, 3.0, 2.85), UP, 0.15, "plant", "middle 2"),
    ((10.5, 1.5, 2.85), UP, 0.15, "store", "middle 2"), ((15.0, 3.0, 2.85), UP, 0.15, "store", "east 2"),
    ((3.0, 9.0, 2.85), UP, 0.15, "shop", "west 2"), ((14.5, 9.5, 2.85), UP, 0.13, "garage", "east 2"),
    ((6.0, 5.0, 5.0), EAST, 0.15, "west 2", "middle 2"), ((12.0, 7.0, 5.0), EAST, 0.15, "middle 2", "east 2"),
    ((2.5, 4.5, 5.75), UP, 0.15, "west 2", "west 3"), ((4.5, 10.0, 5.75), UP, 0.13, "west 2", "west 3"),
    ((8.0, 2.0, 5.75), UP, 0.15, "middle 2", "middle 3"), ((10.0, 9.0, 5.75), UP, 0.15, "middle 2", "middle 3"),
    ((16.0, 5.0, 5.75), UP, 0.15, "east 2", "east 3"), ((6.0, 3.0, 7.9), EAST, 0.15, "west 3", "middle 3"),
    ((12.0, 8.0, 7.9), EAST, 0.15, "middle 3", "east 3"), ((3.5, 7.0, 8.65), UP, 0.15, "west 3", "outdoors"),
)  # fmt: skip
CUTS = (  # corner, size, axis, room
    ((2.0, 0.0, 1.9), (4.0, 0.3, 0.6), "south", "plant"), ((0.0, 8.0, 1.8), (0.3, 2.5, 0.7), "west", "shop"),
    ((17.7, 2.0, 1.9), (0.3, 2.5, 0.6), EAST, "store"), ((11.0, 11.7, 1.9), (4.0, 0.3, 0.6), NORTH, "garage"),
    ((0.0, 3.0, 4.6), (0.3, 3.0, 0.8), "west", "west 2"), ((7.0, 0.0, 4.6), (3.0, 0.3, 0.8), "south", "middle 2"),
    ((17.7, 6.0, 4.6), (0.3, 3.0, 0.8), EAST, "east 2"), ((1.0, 2.0, 8.5), (2.0, 3.0, 0.3), UP, "west 3"),
    ((8.0, 5.0, 8.5), (2.5, 3.0, 0.3), UP, "middle 3"), ((14.0, 2.0, 8.5), (2.0, 3.0, 0.3), UP, "east 3"),
)  # fmt: skip
WINDOWS = (("south", 11.0, 0.9), ("south", 14.0, 0.9), ("north", 3.0, 0.9), ("south", 3.0, 3.9), ("north", 9.0, 3.9), ("south", 14.0, 6.8), ("north", 6.0, 6.8))  # fmt: skip


def written(folder: Path, obstacles: int = OBSTACLES, triangles: int = TRIANGLES, seed: int = 7) -> Path:
    """The site file, with the mesh beside it; the path of the file."""
    path = folder / "large.toml"
    machine(triangles).export(folder / "scan.glb")
    path.write_text(text(obstacles, seed), encoding="utf-8")
    return path


def machine(triangles: int) -> object:
    """A closed, bumpy thing about 1.2 m across of an even number of triangles that is a multiple of 32, as a trimesh."""
    import trimesh

    around = next(n for n in range(int(np.sqrt(triangles / 2)), 2, -1) if (triangles // 2) % n == 0)
    bands = triangles // 2 // around
    turn = np.linspace(0, 2 * np.pi, around, endpoint=False)
    tilt = np.linspace(0, np.pi, bands + 2)[1:-1]
    u, v = np.meshgrid(turn, tilt)
    bump = (
        0.45 + 0.06 * np.sin(7 * u) * np.sin(5 * v) + 0.015 * np.sin(41 * u + 3 * v) * np.sin(v) + 0.01 * np.cos(29 * v)
    )
    ring = np.stack([np.cos(u) * np.sin(v), np.sin(u) * np.sin(v), np.cos(v)], axis=-1) * bump[..., None]
    points = np.concatenate([ring.reshape(-1, 3), [[0, 0, 0.46], [0, 0, -0.46]]])
    i, j = np.arange(around), (np.arange(around) + 1) % around
    faces = [np.stack([np.full(around, len(points) - 2), i, j], axis=1)]
    for k in range(bands - 1):
        a, b = k * around, (k + 1) * around
        faces += [np.stack([a + i, b + i, b + j], axis=1), np.stack([a + i, b + j, a + j], axis=1)]
    last = (bands - 1) * around
    faces.append(np.stack([np.full(around, len(points) - 1), last + j, last + i], axis=1))
    return trimesh.Trimesh(points, np.concatenate(faces), process=False)


def text(obstacles: int = OBSTACLES, seed: int = 7) -> str:
    """The site file."""
    return "\n".join(_lines(obstacles, seed)) + "\n"


def _lines(obstacles: int, seed: int) -> Iterator[str]:
    yield '# Invented, for measuring.\nformat = 1\nname = "large invented house"\nunits = "m"'
    yield '[place]\naltitude = "200 m"\nwinter = "-12 degC"\ngrade = 0\nrules = "us-2021"'
    yield f"[building]\nfootprint = [[0, 0], [{WIDE}, 0], [{WIDE}, {DEEP}], [0, {DEEP}]]\nbottom = -0.2\ntop = {TOP}"
    for name, (low, high) in ROOMS.items():
        yield f'[[room]]\nname = "{name}"\ncorner = {_v(low)}\nsize = {_v(high - low)}\nair = "heated"'
    for n, (at, axis, clear, a, b) in enumerate(HOLES, 1):
        yield f'[[hole]]\nname = "hole {n}"\nat = {list(at)}\naxis = "{axis}"\nclear = {clear}\nthrough = ["{a}", "{b}"]'
    for n, (corner, size, axis, room) in enumerate(CUTS, 1):
        yield (
            f'[[cut]]\nname = "cut {n}"\nthrough = ["{room}", "outdoors"]\ncorner = {list(corner)}\nsize = {list(size)}\n'
            f'axis = "{axis}"\ncost = {30 + 5 * n}'
        )
    for n, (side, x, z) in enumerate(WINDOWS, 1):
        y = -0.1 if side == "south" else DEEP - 0.1
        yield f'[[feature]]\nkind = "window, openable"\nname = "window {n}"\ncorner = [{x}, {y}, {z}]\nsize = [1.2, 0.2, 1.3]'
    yield '[[obstacle]]\nname = "scanned machine"\nmesh = "scan.glb"\nmove = [4.6, 2.6, 0.75]'
    for n, thing in enumerate(_things(obstacles - 1, seed), 2):
        yield f'[[obstacle]]\nname = "thing {n}"\n{thing}'
    yield f'[appliance]\nmodel = "generic-condensing-water-heater-120"\ncollar = {list(COLLAR)}\nfaces = "up"'
    yield '[want]\nmaterials = ["PVC", "PP"]\nsizes = ["2 in", "3 in"]\nterminals = ["roof", "wall"]'


def _things(count: int, seed: int) -> list[str]:
    """Furniture on floors, ducts and pipes below ceilings, the rooms in turn; none at a hole or before the collar."""
    chance = np.random.default_rng(seed)
    rooms = list(ROOMS.values())
    out: list[str] = []
    while len(out) < count:
        low, high = rooms[len(out) % len(rooms)]
        made = (_furniture, _duct, _pipe)[int(chance.integers(3))](low, high, chance)
        if made is not None:
            out.append(made)
    return out


def _furniture(low: FloatArray, high: FloatArray, chance: np.random.Generator) -> str | None:
    size = chance.uniform((0.3, 0.3, 0.4), (1.2, 0.8, 1.5))
    return _boxed(low, high, size, 0.0, chance)


def _duct(low: FloatArray, high: FloatArray, chance: np.random.Generator) -> str | None:
    size = chance.uniform((0.15, 0.8, 0.15), (0.4, 3.0, 0.3))[[0, 1, 2] if chance.random() < 0.5 else [1, 0, 2]]
    return _boxed(low, high, size, float(high[2] - low[2] - size[2] - chance.uniform(0.1, 0.6)), chance)


def _boxed(low: FloatArray, high: FloatArray, size: FloatArray, rise: float, chance: np.random.Generator) -> str | None:
    at = np.array([*chance.uniform(low[:2] + 0.01, (high - size)[:2] - 0.01), low[2] + rise])
    if _blocks(at, at + size):
        return None
    return f"corner = {_v(at)}\nsize = {_v(size)}"


def _pipe(low: FloatArray, high: FloatArray, chance: np.random.Generator) -> str | None:
    radius, along = float(chance.uniform(0.01, 0.06)), int(chance.integers(3))
    inner = low + radius + 0.02, high - radius - 0.02
    start = chance.uniform(*inner)
    if along < 2:
        start[2] = high[2] - radius - chance.uniform(0.05, 0.7)
    end = start.copy()
    end[along] = chance.uniform(inner[0][along], inner[1][along])
    if abs(end[along] - start[along]) < 0.3 or _blocks(
        np.minimum(start, end) - radius, np.maximum(start, end) + radius
    ):
        return None
    return f"ends = [{_v(start)}, {_v(end)}]\ndiameter = {2 * radius:.4f}"


def _blocks(low: FloatArray, high: FloatArray) -> bool:
    """Whether a box comes near a hole's axis, or stands before the collar."""
    kept = [(np.array(at), {UP: 2, EAST: 0, NORTH: 1}[axis]) for at, axis, *_ in HOLES]
    for at, along in kept:
        reach = np.full(3, 0.15)
        reach[along] = CLEAR_M
        if (low < at + reach).all() and (high > at - reach).all():
            return True
    before = np.array(COLLAR) + (0, 0, 0.3)
    return bool((low < before + 0.4).all() and (high > before - 0.4).all())


def _v(values: FloatArray) -> str:
    return "[" + ", ".join(f"{x:.4f}" for x in values) + "]"
