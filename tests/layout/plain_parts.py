"""Parts and routes for the tests. Dimensions invented, near those of 3 in pipe."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ventroute.model.parts import Bend, Coupling, Kit, Material, PipeStock
from ventroute.model.route import Part, PartKind, Route
from ventroute.model.source import Evidence, Grade

E = Evidence("test", Grade.INVENTED)
OD, LAYING, SOCKET, HUB_OD = 0.0889, 0.078, 0.048, 0.102


def bend(angle: float, laying: float = LAYING, spigot: float | None = None) -> Bend:
    """A bend of the test kit; its item is its angle."""
    item = f"elbow-{angle:g}" + ("-street" if spigot else "")
    return Bend(item, "PVC", 3.0, "pressure", angle, laying, SOCKET, HUB_OD, 2.0, spigot, E)


KIT = Kit(
    material=Material("PVC", "", None, None, 5e-5, 0.19, 0.9, 1.5e-6, "cemented", E),
    schedule="40",
    size_in=3.0,
    pipe=PipeStock("pipe", "PVC", "40", 3.0, OD, 0.0779, (3.048,), None, True, E),
    bends=(bend(90.0), bend(45.0, 0.04), bend(90.0, LAYING, 0.05)),
    coupling=Coupling("coupling", "PVC", 3.0, 0.005, SOCKET, HUB_OD, E),
    start=(),
    terminals=(),
)


def route_along(
    corners: Sequence[Sequence[float]], spaces: Sequence[str], passes: dict[int, tuple[str, ...]] | None = None
) -> Route:
    """Pipe and elbows along a polyline; ``spaces`` and ``passes`` by leg."""
    at = np.asarray(corners, float)
    parts: list[Part] = []
    start = at[0]
    for leg in range(len(at) - 1):
        way = (at[leg + 1] - at[leg]) / np.linalg.norm(at[leg + 1] - at[leg])
        last = leg == len(at) - 2
        laying, end = 0.0, at[leg + 1]
        if not last:
            on = (at[leg + 2] - at[leg + 1]) / np.linalg.norm(at[leg + 2] - at[leg + 1])
            turn = math.degrees(math.acos(float(np.clip(way @ on, -1, 1))))
            fitting = min(KIT.bends, key=lambda b: (abs(b.angle_deg - turn), b.street))
            laying, end = fitting.laying_m, at[leg + 1] - way * fitting.laying_m
        cut = float(np.linalg.norm(end - start))
        through = (passes or {}).get(leg, ())
        parts.append(
            Part(
                len(parts) + 1, PartKind.PIPE, "pipe", tuple(start), tuple(end), spaces[leg], cut_m=cut, passes=through
            )
        )
        if not last:
            out = at[leg + 1] + on * laying
            corner = tuple(at[leg + 1])
            room = spaces[leg + 1]
            parts.append(
                Part(len(parts) + 1, PartKind.ELBOW, fitting.item, tuple(end), tuple(out), room, corner, turn, turn)
            )
            start = out
    end_at, way = at[-1], (at[-1] - at[-2]) / np.linalg.norm(at[-1] - at[-2])
    parts.append(Part(len(parts) + 1, PartKind.TERMINAL, "", tuple(end_at), tuple(end_at), spaces[-1]))
    return Route(KIT, "roof", tuple(end_at), tuple(way), (), tuple(parts), (), 0.0, 0.0)
