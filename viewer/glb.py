"""A scene as a GLB file, which every 3D program reads. Same scene, same bytes."""

from __future__ import annotations

import base64
from typing import Any

import numpy as np

from ventroute.io.mesh_library import mesh_library

from .palette import LOOKS
from .shape import Scene, Shape

# glTF looks along -z with y up; ours is z up (Khronos glTF 2.0, section 3.4: from memory)
Y_UP = np.array([[1.0, 0, 0, 0], [0, 0, 1.0, 0], [0, -1.0, 0, 0], [0, 0, 0, 1.0]])


def glb(scene: Scene) -> bytes:
    """GLB of every shape, as nodes called by their ids; name, kind, route and description are in the nodes' extras."""
    with mesh_library() as trimesh:
        world = trimesh.Scene(base_frame="site")
        for shape in scene.shapes:
            if len(shape.triangles):
                world.add_geometry(
                    _mesh(trimesh, shape), node_name=shape.id, geom_name=shape.id, transform=Y_UP, metadata=_said(shape)
                )
        return bytes(world.export(file_type="glb"))


def glb_text(scene: Scene) -> str:
    """The same as base64 text, for a page that carries it."""
    return base64.b64encode(glb(scene)).decode("ascii")


def _said(shape: Shape) -> dict[str, str]:
    return {"name": shape.name, "kind": shape.look, "route": shape.route, "description": shape.description}


def _mesh(trimesh: Any, shape: Shape) -> Any:
    look = LOOKS[shape.look]
    corners, index = np.unique(np.round(shape.triangles.reshape(-1, 3), 6), axis=0, return_inverse=True)
    mesh = trimesh.Trimesh(corners, index.reshape(-1, 3), process=False)
    material = trimesh.visual.material.PBRMaterial(
        name=shape.look,
        baseColorFactor=[*look.rgb, round(255 * look.opacity)],
        metallicFactor=0.0,
        roughnessFactor=0.8,
        alphaMode="OPAQUE" if look.opacity >= 1.0 else "BLEND",
        doubleSided=True,
    )
    mesh.visual = trimesh.visual.TextureVisuals(material=material)
    return mesh
