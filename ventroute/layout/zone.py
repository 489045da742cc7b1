"""A forbidden region for the terminal, as the solver, the checks and the viewer all see it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polytope import Polytope

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Zone:
    """Where the centre of the terminal's end may not be.

    ``margin`` maps (n, 3) points [m] to (n,) signed margins [m], negative inside, 0 on the limit (allowed). ``cover``
    is a set of convex bodies that together enclose every point of negative margin; it may enclose a little more.
    """

    rule: str
    subject: str
    cover: tuple[Polytope, ...]
    margin: Callable[[FloatArray], FloatArray]
