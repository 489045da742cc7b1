"""Directions: unit vectors and right-angled frames."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ventroute.errors import GeometryError

FloatArray = NDArray[np.float64]

_NEXT, _LAST = np.array([1, 2, 0]), np.array([2, 0, 1])  # the component after each, and the one after that


def unit(direction: ArrayLike) -> FloatArray:
    """The direction (3,) with length one.

    Raises
    ------
    GeometryError
        It has no length, or is not finite.
    """
    vector = np.asarray(direction, float)
    length = float(np.linalg.norm(vector))
    if not 1e-12 < length < np.inf:
        raise GeometryError("a direction needs a length")
    return np.asarray(vector / length, dtype=np.float64)


def square_to(direction: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Two unit vectors square to a direction (3,) and to each other; the three are right-handed in that order.

    The first is level unless the direction is nearly upright.
    """
    along = unit(direction)
    least = np.array([0.0, 0.0, 1.0]) if abs(along[2]) < 0.9 else np.array([0.0, 1.0, 0.0])
    first = unit(np.cross(least, along))
    return first, np.asarray(np.cross(along, first), dtype=np.float64)


def cross(a: FloatArray, b: FloatArray, axis: int = -1) -> FloatArray:
    """Cross products along an axis; NumPy's own takes several times as long for few."""
    out: FloatArray = a.take(_NEXT, axis) * b.take(_LAST, axis)
    out -= a.take(_LAST, axis) * b.take(_NEXT, axis)
    return out
