"""The small graph along the run, as plain numbers; drawing it is another's work."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from ventroute.model.plan import FlueState


@dataclass(frozen=True, slots=True)
class Graph:
    """Curves over the distance from the collar; every tuple is as long as ``distance_m``.

    Where the run enters another space two entries share one distance: the wall jumps there. ``breaks_m`` are those.
    """

    distance_m: tuple[float, ...]
    gas_degC: tuple[float, ...]
    gas_dry_degC: tuple[float, ...]
    wall_degC: tuple[float, ...]
    pressure_Pa: tuple[float, ...]
    dew_point_degC: float
    limit_degC: float | None  # of the material; None where unknown
    breaks_m: tuple[float, ...]
    spaces: tuple[str, ...]  # one more than breaks


def graph(state: FlueState, limit_degC: float | None) -> Graph:
    """The curves of a state.

    Parameters
    ----------
    state : with its stations
    limit_degC : what the material may see
    """
    stations = state.stations
    breaks = [b for a, b in pairwise(stations) if a.space != b.space]
    return Graph(
        distance_m=tuple(s.distance_m for s in stations),
        gas_degC=tuple(s.gas_degC for s in stations),
        gas_dry_degC=tuple(s.gas_dry_degC for s in stations),
        wall_degC=tuple(s.wall_degC for s in stations),
        pressure_Pa=tuple(s.pressure_Pa for s in stations),
        dew_point_degC=state.dew_point_degC,
        limit_degC=limit_degC,
        breaks_m=tuple(s.distance_m for s in breaks),
        spaces=(*(s.space for s in stations[:1]), *(s.space for s in breaks)),
    )
