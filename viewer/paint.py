"""Pictures of a scene with PyVista: PNG files, or a window on the desk. The only module that knows PyVista."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from .palette import LOOKS
from .probe import why_not
from .shape import Scene, Shape

PAPER = "#F4F6F8"
FAINT = 0.07  # of what lies over a whole roof or all the ground: fine lines cannot be painted here
EDGED = frozenset({"room", "cold_room", "building", "roof", "obstacle", "feature", "cut", "keep_out", "zone"})
NAMED = frozenset({"terminal", "appliance", "hole", "cut", "feature", "keep_out"})
WIDE = frozenset({"ground", "zone", "wide_zone"})  # reach far round the house: it is the house that fills a picture
ROUND = frozenset({"pipe", "fitting", "terminal", "hole", "appliance"})


def picture(
    scene: Scene, size: tuple[int, int] = (1200, 900), view: str = "corner", route: str | None = None
) -> bytes | None:
    """A PNG of the scene with one route (the first where none is named), None where this machine cannot draw.

    `probe.why_not()` says why, in one line.
    """
    if why_not():
        return None
    plotter = _plotter(scene, _route(scene, route), size, off_screen=True)
    _look(plotter, scene, view)
    pixels = plotter.screenshot(return_img=True)
    plotter.close()
    return _png(pixels)


def window(scene: Scene, route: str | None = None) -> None:
    """Show the scene in a window until it is closed; `probe.no_screen()` says beforehand whether there can be one."""
    plotter = _plotter(scene, _route(scene, route), (1200, 900), off_screen=False)
    _look(plotter, scene, "corner")
    plotter.show(title=f"ventroute: {scene.name}")


def _route(scene: Scene, route: str | None) -> str:
    return route if route is not None else next(iter(scene.routes), "")


def _plotter(scene: Scene, route: str, size: tuple[int, int], *, off_screen: bool) -> Any:
    import pyvista

    plotter: Any = pyvista.Plotter(off_screen=off_screen, window_size=list(size))
    plotter.set_background(PAPER)
    for shape in _far_to_near(scene.of(route)):
        _add(plotter, shape)
    _name(plotter, [shape for shape in scene.of(route) if shape.label and shape.look in NAMED])
    plotter.enable_depth_peeling(8)
    plotter.enable_anti_aliasing("ssaa")
    return plotter


def _name(plotter: Any, shapes: Sequence[Shape]) -> None:
    """Words beside the things: a colour is never the only sign."""
    if not shapes:
        return
    points = np.array([shape.label for shape in shapes])
    words = ["terminal" if shape.look == "terminal" else shape.name for shape in shapes]
    plotter.add_point_labels(
        points, words, font_size=15, text_color="black", shape_color="white", shape_opacity=0.75, show_points=False,
        always_visible=True, name="names", bold=False,
    )  # fmt: skip


def _far_to_near(shapes: Sequence[Shape]) -> list[Shape]:
    """What is solid first, so that what is see-through lies over it."""
    return sorted((s for s in shapes if len(s.triangles)), key=lambda s: -LOOKS[s.look].opacity)


def _add(plotter: Any, shape: Shape) -> None:
    import pyvista

    look = LOOKS[shape.look]
    points, index = np.unique(np.round(shape.triangles.reshape(-1, 3), 6), axis=0, return_inverse=True)
    faces = np.insert(index.reshape(-1, 3), 0, 3, axis=1).ravel()
    mesh = pyvista.PolyData(points, faces)
    smooth = shape.look in ROUND
    plotter.add_mesh(
        mesh,
        color=look.colour,
        opacity=look.opacity if look.pattern != "lines" else FAINT,
        ambient=0.25,
        smooth_shading=smooth,
        split_sharp_edges=smooth,
        name=shape.id,
    )
    if shape.look in EDGED:
        edges = mesh.extract_feature_edges(20.0)
        # a pattern cannot be painted here, so what must not be entered has thick edges
        thick = 3.0 if look.pattern in ("hatch", "dots") else 1.2
        plotter.add_mesh(edges, color=look.colour, line_width=thick, name=f"{shape.id}_edges")


def _look(plotter: Any, scene: Scene, view: str) -> None:
    low, high = replace(scene, shapes=tuple(shape for shape in scene.shapes if shape.look not in WIDE)).bounds_m()
    middle = (low + high) / 2.0
    away = np.array(scene.views[view]) / np.linalg.norm(scene.views[view])
    plotter.camera_position = [middle + away * float(np.linalg.norm(high - low)) * 1.3, middle, (0.0, 0.0, 1.0)]
    plotter.reset_camera(bounds=np.stack([low, high], axis=1).ravel().tolist())
    plotter.camera.zoom(1.1)


def _png(pixels: Any) -> bytes:
    from PIL import Image  # comes with PyVista

    held = io.BytesIO()
    Image.fromarray(pixels).save(held, "PNG", optimize=True)
    return held.getvalue()
