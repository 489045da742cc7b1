"""Triangle meshes from files: read with care, checked for being a solid of sane size."""

from __future__ import annotations

import io
import struct
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ventroute.errors import GeometryError
from ventroute.io.mesh_library import mesh_library
from ventroute.model.appliance import Vec3

if TYPE_CHECKING:
    import trimesh

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

FORMATS = ("glb", "obj", "ply", "stl")
MOST_BYTES = 64 * 2**20
MOST_TRIANGLES = 500_000
LEAST_M, MOST_M = 1e-3, 100.0  # the longest side of a thing in or at a house
FARTHEST_M = 10_000.0
SAME = 1e-7  # corners nearer than this share of the longest side are one
BITS = 24  # hold a place on a side in steps of that
# what readers of mesh formats raise on files that are not what they say
UNREADABLE = (ValueError, LookupError, TypeError, AttributeError, ArithmeticError, AssertionError, EOFError)
BROKEN = (*UNREADABLE, NotImplementedError, RecursionError, ImportError, struct.error)


def read_mesh(path: Path, scale_m: float, move_m: Vec3, up: str = "z") -> FloatArray:
    """Triangles (t, 3, 3) [m] of a GLB, OBJ, PLY or STL file.

    Parameters
    ----------
    scale_m : metres to one unit of the file
    move_m : where the file's origin goes [m], after scaling
    up : the file's axis that points up, ``z`` or ``y``; coordinates are otherwise taken as they stand

    Raises
    ------
    GeometryError
        The file is no mesh, is too large, refers to other files, is not closed, or is smaller than 1 mm, larger than
        100 m, or not finite at that scale. The message says what is wrong and what is wanted.
    OSError
        The file cannot be read.
    """
    kind = path.suffix.lower().removeprefix(".")
    if kind not in FORMATS:
        raise GeometryError(f"a {kind or 'nameless'} file is not read; {', '.join(FORMATS[:-1])} or stl is wanted")
    size = path.stat().st_size
    if size > MOST_BYTES:
        raise GeometryError(f"{size / 2**20:.0f} MB is too large; at most {MOST_BYTES // 2**20} MB is read")
    points, faces = _loaded(path.read_bytes(), kind)
    points = _upright(points, up) * scale_m + np.asarray(move_m, float)
    _check_size(points)
    _check_closed(points, faces)
    corners: FloatArray = points[faces]
    return corners


def _upright(points: FloatArray, up: str) -> FloatArray:
    if up not in ("y", "z"):
        raise GeometryError(f'up = "{up}" is not known; "y" or "z" is wanted')
    return points if up == "z" else np.stack([points[:, 0], -points[:, 2], points[:, 1]], axis=-1)


def _refusing(trimesh: Any) -> Any:
    """A resolver that opens nothing: a mesh stands in one file."""

    class Refusing(trimesh.resolvers.Resolver):  # type: ignore[misc]
        def __init__(self) -> None:
            self.asked: list[str] = []

        def get(self, key: str) -> bytes:
            self.asked.append(str(key))
            raise ValueError(f'it refers to another file, "{key}"')

        def write(self, name: str, data: object) -> None:
            raise ValueError("nothing is written")

        def namespaced(self, namespace: str) -> Refusing:
            return self

        def keys(self) -> list[str]:
            return []

    return Refusing()


def _loaded(content: bytes, kind: str) -> tuple[FloatArray, IntArray]:
    """Points (p, 3) and triangles (t, 3) of everything in the file, in its own unit, instances set in place."""
    try:
        with mesh_library() as trimesh:
            return _read(trimesh, content, kind)
    except ModuleNotFoundError as error:
        raise GeometryError("meshes are read by trimesh, which is not installed; pip install trimesh") from error


def _read(trimesh: Any, content: bytes, kind: str) -> tuple[FloatArray, IntArray]:
    resolver = _refusing(trimesh)
    try:
        scene = trimesh.load_scene(io.BytesIO(content), file_type=kind, resolver=resolver, process=False)
        return _placed(scene)
    except BROKEN as error:
        asked = next(iter(resolver.asked), None)
        if asked is not None:
            what = f'it refers to another file, "{asked}"; a mesh in one file is wanted'
            raise GeometryError(what) from error
        raise GeometryError(f"it is no {kind.upper()} mesh that can be read ({type(error).__name__})") from error


def _placed(scene: trimesh.Scene) -> tuple[FloatArray, IntArray]:
    placed = []
    for node in scene.graph.nodes_geometry:
        turn, name = scene.graph[node]
        faces = getattr(scene.geometry[name], "faces", None)
        if faces is not None and len(faces):
            placed.append((turn, np.asarray(scene.geometry[name].vertices), np.asarray(faces)))
    count = sum(len(faces) for _, _, faces in placed)
    if count > MOST_TRIANGLES:
        raise GeometryError(f"{count} triangles are too many; at most {MOST_TRIANGLES} are read: simplify the mesh")
    if not count:
        raise GeometryError("there are no triangles in it")
    points = np.concatenate([corners @ turn[:3, :3].T + turn[:3, 3] for turn, corners, _ in placed])
    firsts = np.cumsum([0, *(len(corners) for _, corners, _ in placed)])
    faces = np.concatenate([faces + first for (_, _, faces), first in zip(placed, firsts[:-1], strict=True)])
    used = np.zeros(len(points), dtype=np.bool_)
    used[faces] = True  # a corner that is not there is an IndexError
    if not used.all():
        points, faces = points[used], (np.cumsum(used) - 1)[faces]
    return points.astype(np.float64, copy=False), faces.astype(np.int64, copy=False)


def _span(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Least and greatest coordinates (3,)."""
    across = np.ascontiguousarray(points.T)  # rows of three are slow to go through
    return across.min(axis=1), across.max(axis=1)


def _longest(points: FloatArray) -> float:
    low, high = _span(points)
    return float((high - low).max())


def _check_size(points: FloatArray) -> None:
    if not np.isfinite(points).all():
        raise GeometryError("a corner is not finite")
    low, high = _span(points)
    longest = float((high - low).max())
    if not LEAST_M <= longest <= MOST_M:
        wanted = "1 mm to 100 m is wanted; is the scale right?"
        raise GeometryError(f"at this scale its longest side is {longest:.3g} m; {wanted}")
    if max(float(np.abs(low).max()), float(np.abs(high).max())) > FARTHEST_M:
        raise GeometryError("it lies more than 10 km from the origin; is the move right?")


def _check_closed(points: FloatArray, faces: IntArray) -> None:
    """Every edge belongs to two triangles, or to four or more in pairs."""
    open_edges = _open_edges(points, faces)
    if open_edges:
        edges = "edge is" if open_edges == 1 else "edges are"
        raise GeometryError(
            f"{open_edges} {edges} open: the surface does not enclose a volume; a closed mesh is wanted"
        )
    if abs(_volume_m3(points, faces)) <= 1e-9 * _longest(points) ** 3:
        raise GeometryError("it encloses no volume; a closed mesh of a solid is wanted, all faces turned outward")


def _volume_m3(points: FloatArray, faces: IntArray) -> float:
    """What the faces enclose, outward ones counting up: pyramids from the middle, written out as rows are fast."""
    x, y, z = np.ascontiguousarray((points - points.mean(axis=0)).T)
    a, b, c = np.ascontiguousarray(faces.T)
    by_x, by_y, by_z = y[b] * z[c] - z[b] * y[c], z[b] * x[c] - x[b] * z[c], x[b] * y[c] - y[b] * x[c]
    return float((x[a] * by_x + y[a] * by_y + z[a] * by_z).sum() / 6)


def _open_edges(points: FloatArray, faces: IntArray) -> int:
    """Edges that belong to an odd number of triangles, once corners in one place are one."""
    if not _odd_edges(faces, len(points)):
        return 0  # and where corners become one, pairs of triangles stay pairs
    return _odd_edges(_welded(points)[faces], len(points))


def _odd_edges(faces: IntArray, corners: int) -> int:
    """Edges that belong to an odd number of triangles (t, 3)."""
    start = np.ascontiguousarray(faces.T)
    end = start[[1, 2, 0]]
    first, last = np.minimum(start, end), np.maximum(start, end)
    _, counts = np.unique((first * corners + last)[first != last], return_counts=True)
    return int((counts % 2).sum())


def _welded(points: FloatArray) -> IntArray:
    """A number (p,) for each point, the same for points in one place: sorted one coordinate after the other."""
    x, y, z = np.round((points - points.min(axis=0)) / (_longest(points) * SAME)).astype(np.int64).T
    _, name = np.unique(x << BITS | y, return_inverse=True)
    _, name = np.unique(name << BITS | z, return_inverse=True)
    return np.asarray(name, dtype=np.int64)
