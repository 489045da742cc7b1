"""What the page's script is told about a scene, beside its GLB."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from .palette import LOOKS
from .shape import Scene


def scene_data(scene: Scene) -> dict[str, Any]:
    """Names, kinds, descriptions and label places of every shape, and what the looks mean: plain JSON, metres."""
    used = {shape.look for shape in scene.shapes}
    return {
        "name": scene.name,
        "routes": list(scene.routes),
        "views": {name: list(way) for name, way in scene.views.items()},
        "looks": {key: asdict(look) for key, look in LOOKS.items() if key in used},
        "shapes": [
            {
                "id": shape.id,
                "name": shape.name,
                "look": shape.look,
                "description": shape.description,
                "route": shape.route,
                "label": list(shape.label) if shape.label else None,
            }
            for shape in scene.shapes
        ],
    }
