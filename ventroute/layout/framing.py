"""Members inside construction as boxes."""

from __future__ import annotations

import numpy as np

from ventroute.geometry.polytope import Polytope
from ventroute.model.site import Framing

MOST_MEMBERS = 500


def members(framing: Framing) -> tuple[Polytope, ...]:
    """The joists, studs or rafters of one `[[framing]]`, side by side along the longer way across their run.

    They fill the box along and in depth; beside each other they stand `spacing_m` apart, the first
    with its centre `offset_m` from the box's corner.
    """
    low = np.minimum(framing.corner, np.add(framing.corner, framing.size))
    high = np.maximum(framing.corner, np.add(framing.corner, framing.size))
    runs = np.abs(np.asarray(framing.runs))
    across = [k for k in range(3) if runs[k] < 0.5]
    step = max(across, key=lambda k: high[k] - low[k])
    out: list[Polytope] = []
    centre = low[step] + framing.offset_m
    while centre - framing.width_m / 2 < high[step] and len(out) < MOST_MEMBERS:
        a, b = low.copy(), high.copy()
        a[step], b[step] = centre - framing.width_m / 2, centre + framing.width_m / 2
        out.append(Polytope.box(a, b))
        centre += framing.spacing_m
    return tuple(out)
