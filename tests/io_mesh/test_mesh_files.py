"""Meshes are written by trimesh, read by us, and compared with what was written."""

from __future__ import annotations

import json
import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ventroute.errors import GeometryError
from ventroute.io import mesh_file
from ventroute.io.mesh_file import read_mesh

ORIGIN = (0.0, 0.0, 0.0)


def box(extents: tuple[float, float, float] = (1.0, 2.0, 3.0)) -> trimesh.Trimesh:
    return trimesh.creation.box(extents=extents)


def written(folder: Path, mesh: trimesh.Trimesh | trimesh.Scene, kind: str) -> Path:
    path = folder / f"thing.{kind}"
    mesh.export(path)
    return path


def volume_m3(triangles: tuple[object, ...]) -> float:
    t = np.array(triangles)
    return float(np.einsum("ti,ti->t", t[:, 0], np.cross(t[:, 1], t[:, 2])).sum() / 6)


@pytest.mark.parametrize("kind", ["glb", "obj", "ply", "stl"])
def test_a_box_comes_back_from_every_format(tmp_path: Path, kind: str) -> None:
    triangles = read_mesh(written(tmp_path, box(), kind), 1.0, ORIGIN)
    assert len(triangles) == 12
    assert volume_m3(triangles) == pytest.approx(6.0, rel=1e-6)


def test_a_capital_ending_is_the_same_format(tmp_path: Path) -> None:
    path = tmp_path / "THING.STL"
    path.write_bytes(box().export(file_type="stl"))
    assert len(read_mesh(path, 1.0, ORIGIN)) == 12


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(scale=st.floats(0.01, 5.0), move=st.tuples(*[st.floats(-50, 50)] * 3))
def test_scale_comes_first_then_the_move(tmp_path: Path, scale: float, move: tuple[float, float, float]) -> None:
    corners = np.array(read_mesh(written(tmp_path, box(), "stl"), scale, move)).reshape(-1, 3)
    half = np.array([0.5, 1.0, 1.5]) * scale
    assert corners.min(axis=0) == pytest.approx(move - half, abs=1e-5)
    assert corners.max(axis=0) == pytest.approx(move + half, abs=1e-5)


def test_a_file_whose_y_points_up_is_stood_upright(tmp_path: Path) -> None:
    # glTF 2.0 specification, 3.4: right-handed, +Y up. y becomes z, and -z becomes y, by a quarter turn about x.
    path = written(tmp_path, trimesh.creation.box(bounds=[[0, 0, 0], [1, 2, 3]]), "glb")
    corners = np.array(read_mesh(path, 1.0, ORIGIN, up="y")).reshape(-1, 3)
    assert corners.min(axis=0).tolist() == [0, -3, 0]
    assert corners.max(axis=0).tolist() == [1, 0, 2]
    assert volume_m3(read_mesh(path, 1.0, ORIGIN, up="y")) == pytest.approx(6.0)


def test_another_axis_up_is_refused(tmp_path: Path) -> None:
    with pytest.raises(GeometryError, match='"y" or "z"'):
        read_mesh(written(tmp_path, box(), "stl"), 1.0, ORIGIN, up="x")


def test_instances_in_a_scene_are_set_in_place(tmp_path: Path) -> None:
    scene = trimesh.Scene()
    mesh = box((1, 1, 1))
    scene.add_geometry(mesh, geom_name="one", node_name="here")
    scene.graph.update(frame_to="there", matrix=trimesh.transformations.translation_matrix([5, 0, 0]), geometry="one")
    corners = np.array(read_mesh(written(tmp_path, scene, "glb"), 1.0, ORIGIN))
    assert len(corners) == 24
    assert corners[..., 0].max() == pytest.approx(5.5)


def test_an_open_surface_is_refused_with_its_open_edges(tmp_path: Path) -> None:
    # A box of 12 triangles without one of them has the three edges of that triangle open.
    mesh = box()
    mesh.update_faces(np.arange(11))
    with pytest.raises(GeometryError, match="3 edges are open"):
        read_mesh(written(tmp_path, mesh, "ply"), 1.0, ORIGIN)


def test_two_boxes_that_share_an_edge_are_closed(tmp_path: Path) -> None:
    pair = trimesh.util.concatenate(
        [trimesh.creation.box(bounds=[[0, 0, 0], [1, 1, 1]]), trimesh.creation.box(bounds=[[1, 1, 0], [2, 2, 1]])]
    )
    assert volume_m3(read_mesh(written(tmp_path, pair, "stl"), 1.0, ORIGIN)) == pytest.approx(2.0)


def test_a_sheet_folded_on_itself_encloses_nothing(tmp_path: Path) -> None:
    sheet = trimesh.Trimesh([[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0, 1, 2], [2, 1, 0]], process=False)
    with pytest.raises(GeometryError, match="no volume"):
        read_mesh(written(tmp_path, sheet, "stl"), 1.0, ORIGIN)


@pytest.mark.parametrize("scale", [1e-5, 1e3])
def test_a_wrong_scale_is_noticed(tmp_path: Path, scale: float) -> None:
    with pytest.raises(GeometryError, match="is the scale right"):
        read_mesh(written(tmp_path, box(), "stl"), scale, ORIGIN)


@pytest.mark.parametrize("scale", [float("nan"), float("inf")])
def test_a_scale_that_is_not_finite_is_refused(tmp_path: Path, scale: float) -> None:
    with pytest.raises(GeometryError, match="not finite"):
        read_mesh(written(tmp_path, box(), "stl"), scale, ORIGIN)


def test_a_move_to_the_horizon_is_refused(tmp_path: Path) -> None:
    with pytest.raises(GeometryError, match="10 km"):
        read_mesh(written(tmp_path, box(), "stl"), 1.0, (2e4, 0.0, 0.0))


def test_too_many_bytes_are_refused_before_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, box(), "stl")
    monkeypatch.setattr(mesh_file, "MOST_BYTES", 100)
    monkeypatch.setattr(Path, "read_bytes", lambda self: pytest.fail("the file was read"))
    with pytest.raises(GeometryError, match="too large"):
        read_mesh(path, 1.0, ORIGIN)


def test_too_many_triangles_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mesh_file, "MOST_TRIANGLES", 11)
    with pytest.raises(GeometryError, match="12 triangles are too many"):
        read_mesh(written(tmp_path, box(), "stl"), 1.0, ORIGIN)


@pytest.mark.parametrize("name", ["thing.gltf", "thing.dae", "thing.zip", "thing", "thing.usdz"])
def test_other_formats_are_refused_by_name(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(b"")
    with pytest.raises(GeometryError, match="is not read"):
        read_mesh(tmp_path / name, 1.0, ORIGIN)


@pytest.mark.parametrize("kind", ["glb", "obj", "ply", "stl"])
@pytest.mark.parametrize(
    "content", [b"", b"\x00" * 200, b"not a mesh at all\n" * 9, b"solid x\nfacet normal", b"ply\n"]
)
def test_rubbish_is_refused_in_words(tmp_path: Path, kind: str, content: bytes) -> None:
    path = tmp_path / f"thing.{kind}"
    path.write_bytes(content)
    with pytest.raises(GeometryError):
        read_mesh(path, 1.0, ORIGIN)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(kind=st.sampled_from(["glb", "obj", "ply", "stl"]), data=st.data())
def test_a_damaged_file_is_read_or_refused_never_more(tmp_path: Path, kind: str, data: st.DataObject) -> None:
    content = bytearray(written(tmp_path, box(), kind).read_bytes())
    for _ in range(data.draw(st.integers(1, 6))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    path = tmp_path / f"damaged.{kind}"
    path.write_bytes(bytes(content[: data.draw(st.integers(0, len(content)))]))
    try:
        triangles = read_mesh(path, 1.0, ORIGIN)
    except GeometryError:
        return
    assert np.isfinite(np.array(triangles)).all()


def test_a_file_that_is_not_there_is_an_os_error(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="No such file"):
        read_mesh(tmp_path / "nothing.stl", 1.0, ORIGIN)


def glb(document: dict[str, object]) -> bytes:
    """The binary glTF container of a document without a binary chunk. glTF 2.0 specification, 4.4."""
    text = json.dumps(document).encode()
    text += b" " * (-len(text) % 4)
    return struct.pack("<4sII", b"glTF", 2, 20 + len(text)) + struct.pack("<I4s", len(text), b"JSON") + text


def test_a_buffer_in_another_file_is_never_opened(tmp_path: Path) -> None:
    (tmp_path / "secret.bin").write_bytes(b"\0" * 64)
    path = tmp_path / "thing.glb"
    document: dict[str, object] = {
        "asset": {"version": "2.0"},
        "buffers": [{"byteLength": 64, "uri": "secret.bin"}],
        "bufferViews": [{"buffer": 0, "byteLength": 36}],
        "accessors": [{"bufferView": 0, "componentType": 5126, "count": 3, "type": "VEC3"}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}],
        "nodes": [{"mesh": 0}],
        "scenes": [{"nodes": [0]}],
    }
    path.write_bytes(glb(document))
    with pytest.raises(GeometryError, match=r"refers to another file, .secret\.bin"):
        read_mesh(path, 1.0, ORIGIN)


def test_a_material_file_beside_an_obj_is_left_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "thing.obj"
    path.write_text("mtllib ../secret.mtl\nusemtl x\n" + box().export(file_type="obj"))
    opened: list[str] = []
    real = Path.open
    monkeypatch.setattr(Path, "open", lambda self, *a, **k: (opened.append(self.name), real(self, *a, **k))[1])
    assert len(read_mesh(path, 1.0, ORIGIN)) == 12
    assert "secret.mtl" not in opened
