"""Rooms measured by going round their walls: do the readings close, and what room are they nearest to?

Whoever goes round a room with a tape comes back to the corner of the start, but the readings seldom do: each is a
little wrong. The misfit is shared out by least squares, more of it to long walls than to short ones, as in a closed
traverse of a land survey. Walls keep the directions they were given unless diagonals were measured too: then the
corners may leave the square as far as the tape says.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.constants import INCH_M
from ventroute.errors import GeometryError

FloatArray = NDArray[np.float64]
Vec2 = tuple[float, float]

# How far a careful reading of a steel tape may be off: a sixteenth of an inch for each end, and sag and slope with the
# length. Common practice; only the ratio of the two shapes the answer.
READ_M = INCH_M / 16
READ_SHARE = 1e-3
# How far a wall that was said to run square may be off, once diagonals are there to tell. Common practice.
SQUARE_RAD = math.radians(1.0)
# A misfit beyond three standard deviations, or an inch if that is more, is a slip and not a tape's error: it is not
# shared out. Common practice.
SLIP_M = INCH_M
SLIP_SIGMAS = 3.0
SLIP_RAD = math.radians(2.5)  # no framer is this far off square; one diagonal alone would bend the room to fit itself
_STEPS = 30


@dataclass(frozen=True, slots=True)
class Wall:
    """One wall, from corner to corner, in the way one goes along it."""

    toward: Vec2  # unit
    length_m: float


@dataclass(frozen=True, slots=True)
class Diagonal:
    """A reading from corner to corner across the room; corners are counted from 0, the start."""

    first: int
    second: int
    length_m: float


@dataclass(frozen=True, slots=True)
class Closure:
    """The room that the readings are nearest to.

    ``corners_m`` begins at (0, 0) and goes the way the walls were measured; ``misfit_m`` is from the start to where
    the raw readings end; ``corrections_m`` is what was added to each wall.
    """

    corners_m: tuple[Vec2, ...]
    misfit_m: Vec2
    perimeter_m: float
    corrections_m: tuple[float, ...]
    diagonals_off_m: tuple[float, ...]  # of each diagonal: what was added
    sd_m: float  # standard deviation of the misfit that careful readings have
    leans_rad: tuple[float, ...]  # of each wall: how far it turned from the way it was said to run, left positive

    @property
    def off_m(self) -> float:
        """How far the raw readings miss the start."""
        return math.hypot(*self.misfit_m)

    @property
    def slip(self) -> bool:
        """Whether some reading is wrong by more than a tape is."""
        off_m = max([self.off_m, *map(abs, self.diagonals_off_m)])
        return off_m > max(SLIP_M, SLIP_SIGMAS * self.sd_m) or self.lean_rad > SLIP_RAD

    @property
    def lean_rad(self) -> float:
        """The most that a corner is off the angle it was said to have."""
        before = (self.leans_rad[-1], *self.leans_rad[:-1])
        return max(abs(lean - last) for lean, last in zip(self.leans_rad, before, strict=True))

    def suspects(self, walls: Sequence[Wall]) -> tuple[int, ...]:
        """Walls, counted from 0, any one of which alone could have made the misfit: those that run along it."""
        if self.off_m < INCH_M / 16:
            return ()
        x, y = self.misfit_m
        return tuple(
            n
            for n, wall in enumerate(walls)
            if abs(x * wall.toward[1] - y * wall.toward[0]) < 0.2 * self.off_m  # within some 11 degrees of it
        )


def reading_sd_m(length_m: float | FloatArray) -> FloatArray:
    """Standard deviation (...) [m] of tape readings of lengths (...) [m]."""
    return np.asarray(READ_M + READ_SHARE * length_m)


def close_walls(walls: Sequence[Wall], diagonals: Sequence[Diagonal] = ()) -> Closure:
    """Corners of the closed room nearest to the readings, by least squares.

    Parameters
    ----------
    walls : in the order one goes round, back to the corner of the start
    diagonals : readings from corner to corner; with any, walls need not stay square

    Raises
    ------
    GeometryError
        Fewer than three walls, none across the others, or a diagonal that joins no two corners across the room.
    """
    ways = np.array([wall.toward for wall in walls], dtype=float).reshape(-1, 2)
    lengths = np.array([wall.length_m for wall in walls], dtype=float)
    if len(walls) < 3:
        raise GeometryError(f"{len(walls)} walls do not go round a room; wanted three or more")
    _check_diagonals(len(walls), diagonals)
    misfit = lengths @ ways
    closed = _share_out(ways, lengths, misfit)
    if closed.min() <= 0:
        raise GeometryError(
            "the walls do not come back to the start: their readings or directions contradict each other"
        )
    corners = np.vstack([np.zeros(2), np.cumsum(closed[:, None] * ways, axis=0)[:-1]])
    if diagonals:
        corners = _fit(corners, ways, lengths, diagonals)
    legs = np.roll(corners, -1, axis=0) - corners
    sides = np.linalg.norm(legs, axis=1)
    leans = np.arctan2(ways[:, 0] * legs[:, 1] - ways[:, 1] * legs[:, 0], np.sum(ways * legs, axis=1))
    return Closure(
        tuple((float(x), float(y)) for x, y in corners),
        (float(misfit[0]), float(misfit[1])),
        float(lengths.sum()),
        tuple(float(part) for part in sides - lengths),
        tuple(float(math.dist(corners[d.first], corners[d.second]) - d.length_m) for d in diagonals),
        float(np.sqrt(reading_variances(lengths).sum())),
        tuple(float(lean) for lean in leans),
    )


def _check_diagonals(count: int, diagonals: Sequence[Diagonal]) -> None:
    for diagonal in diagonals:
        first, second = sorted((diagonal.first, diagonal.second))
        if not 0 <= first < second < count or second - first in (1, count - 1):
            named = f"{diagonal.first + 1}-{diagonal.second + 1}"
            raise GeometryError(f"diagonal {named} does not join two corners across the room; corners are 1 to {count}")


def _share_out(ways: FloatArray, lengths: FloatArray, misfit: FloatArray) -> FloatArray:
    """Lengths that close, each changed in the share of its variance (a condition adjustment).

    Minimises the sum of (change / standard deviation)^2 subject to sum of length * way = 0.
    """
    variance = reading_variances(lengths)
    normal = (ways.T * variance) @ ways
    if np.linalg.det(normal) <= 1e-9 * np.trace(normal) ** 2:
        raise GeometryError("all walls run one way; wanted walls that go round a room")
    changed: FloatArray = lengths - variance * (ways @ np.linalg.solve(normal, misfit))
    return changed


def reading_variances(lengths: FloatArray) -> FloatArray:
    """Variance [m2] of each of (n,) readings [m]."""
    sd = reading_sd_m(lengths)
    return sd**2


def _fit(corners: FloatArray, ways: FloatArray, lengths: FloatArray, diagonals: Sequence[Diagonal]) -> FloatArray:
    """Corners (n, 2) that fit walls, diagonals and, more loosely, squareness; Gauss-Newton from closed corners.

    The first corner stays at the origin; the bearings, loosely held, keep the room from turning.
    """
    count = len(corners)
    pairs = [(n, (n + 1) % count) for n in range(count)] + [(d.first, d.second) for d in diagonals]
    read = np.concatenate([lengths, [d.length_m for d in diagonals]])
    weight = 1 / np.sqrt(reading_variances(read))
    start, end = np.array(pairs).T
    for _ in range(_STEPS):
        leg = corners[end] - corners[start]
        size = np.linalg.norm(leg, axis=1)
        rows = _rows(start, end, leg / size[:, None], count) * weight[:, None]
        wanted = (read - size) * weight
        across = np.stack([-ways[:, 1], ways[:, 0]], axis=1)
        square = 1 / (SQUARE_RAD * lengths)
        turned = _rows(start[:count], end[:count], across, count) * square[:, None]
        off = -np.sum(leg[:count] * across, axis=1) * square
        step = np.linalg.lstsq(np.vstack([rows, turned])[:, 2:], np.concatenate([wanted, off]), rcond=None)[0]
        corners = corners + np.vstack([np.zeros(2), step.reshape(-1, 2)])
        if np.abs(step).max() < 1e-9:
            break
    return corners


def _rows(start: NDArray[np.intp], end: NDArray[np.intp], unit: FloatArray, count: int) -> FloatArray:
    """How each reading (k) changes with each corner's x and y (2 count)."""
    rows = np.zeros((len(start), count, 2))
    index = np.arange(len(start))
    rows[index, end] += unit
    rows[index, start] -= unit
    return rows.reshape(len(start), 2 * count)
