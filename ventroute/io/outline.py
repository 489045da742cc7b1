"""Whether the corners somebody wrote bound an area."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

from ventroute.units import format_length

Vec2 = tuple[float, float]
Vec3 = tuple[float, float, float]

NEAREST_M = 1e-3  # corners closer than this are one corner
PLANAR_M = 5e-3  # how far a roof corner may stand off the plane of the others: a tape is read to 1/8 in


def _turn(a: Vec2, b: Vec2, c: Vec2) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def signed_area_m2(outline: Sequence[Vec2]) -> float:
    """Area, positive counter-clockwise, negative clockwise."""
    x0, y0 = outline[0]
    pairs = zip(outline, [*outline[1:], outline[0]], strict=True)
    return sum((ax - x0) * (by - y0) - (bx - x0) * (ay - y0) for (ax, ay), (bx, by) in pairs) / 2


def counter_clockwise(outline: Sequence[Vec2]) -> tuple[Vec2, ...]:
    """The same outline with the inside on its left, the first corner kept."""
    return tuple(outline) if signed_area_m2(outline) >= 0 else (outline[0], *reversed(outline[1:]))


def _on(a: Vec2, b: Vec2, p: Vec2) -> bool:
    """Whether p, in line with a and b, lies between them."""
    return min(a[0], b[0]) <= p[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= p[1] <= max(a[1], b[1])


def _meet(a: Vec2, b: Vec2, c: Vec2, d: Vec2) -> bool:
    """Whether segments ab and cd cross or touch."""
    t1, t2, t3, t4 = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if t1 * t2 < 0 and t3 * t4 < 0:
        return True
    ends = ((t1, a, b, c), (t2, a, b, d), (t3, c, d, a), (t4, c, d, b))
    return any(turn == 0 and _on(p, q, r) for turn, p, q, r in ends)


def outline_faults(outline: Sequence[Vec2]) -> Iterator[str]:
    """What keeps an outline from bounding one area: corners that coincide, sides that cross, no area."""
    count = len(outline)
    sides = [(outline[i], outline[(i + 1) % count]) for i in range(count)]
    for i, (start, end) in enumerate(sides):
        if math.dist(start, end) < NEAREST_M:
            last = "; leave the last one out, the outline closes itself" if i == count - 1 else ""
            yield f"corners {i + 1} and {(i + 1) % count + 1} are the same point{last}"
            return
    for (i, first), (j, second) in combinations(enumerate(sides), 2):
        if j == i + 1 or (i == 0 and j == count - 1):
            apart, corner, other = (first[0], first[1], second[1]) if j == i + 1 else (second[0], second[1], first[1])
            back = (apart[0] - corner[0]) * (other[0] - corner[0]) + (apart[1] - corner[1]) * (other[1] - corner[1])
            touching = _turn(apart, corner, other) == 0 and back > 0
        else:
            touching = _meet(*first, *second)
        if touching:
            yield f"the outline crosses or touches itself: sides {i + 1} and {j + 1}; wanted corners in order round it"
            return
    if abs(signed_area_m2(outline)) < NEAREST_M:
        yield "the corners lie in one line and bound no area"


def _normal(corners: Sequence[Vec3]) -> Vec3:
    """Twice the vector area, by Newell's sum, which no single bad corner upsets."""
    sums = [0.0, 0.0, 0.0]
    for p, q in zip(corners, [*corners[1:], corners[0]], strict=True):
        sums[0] += (p[1] - q[1]) * (p[2] + q[2])
        sums[1] += (p[2] - q[2]) * (p[0] + q[0])
        sums[2] += (p[0] - q[0]) * (p[1] + q[1])
    return (sums[0], sums[1], sums[2])


def slope_faults(corners: Sequence[Vec3]) -> Iterator[str]:
    """What keeps corners from being a roof's outer surface: an outline that crosses, upright, not planar."""
    in_plan = list(outline_faults([(x, y) for x, y, _ in corners]))
    if in_plan:
        yield f"seen from above, {in_plan[0]}"
        return
    normal = _normal(corners)
    size = math.hypot(*normal)
    if abs(normal[2]) < 0.02 * size:
        yield "the surface stands upright; wanted a roof, which rain falls on"
        return
    centre = [sum(part) / len(corners) for part in zip(*corners, strict=True)]
    off = [abs(sum((p - c) * n for p, c, n in zip(corner, centre, normal, strict=True))) / size for corner in corners]
    if max(off) > PLANAR_M:
        worst = off.index(max(off)) + 1
        far = format_length(max(off), short=True)
        yield f"not planar: corner {worst} stands {far} off the plane of all; wanted corners of one plane"
