"""A plan's parts against its site, by other means than the planner's: trimesh for distances, plain sums for lengths."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from ventroute.catalog.lookup import find_item, load_catalog
from ventroute.model.parts import Bend, Change, Coupling, PipeStock
from ventroute.model.plan import PlannedRoute
from ventroute.model.route import PartKind
from ventroute.model.site import Site

MEET_M = 1e-6
NO_SOCKET = (PartKind.PIPE, PartKind.TERMINAL)
TOLERANCE_M = 1e-4  # of trimesh's own distances on box and prism meshes


def parts_meet(planned: PlannedRoute, site: Site) -> None:
    """End to start, from the collar to the terminal's point."""
    parts = planned.route.parts
    assert np.allclose(parts[0].start_m, site.appliance.collar_m, atol=MEET_M)
    for a, b in zip(parts[:-1], parts[1:], strict=True):
        assert np.allclose(a.end_m, b.start_m, atol=MEET_M)
    assert np.allclose(parts[-1].end_m, planned.route.terminal_m, atol=MEET_M)
    assert [part.n for part in parts] == list(range(1, len(parts) + 1))


def cuts_are_corner_distance_less_laying_lengths(planned: PlannedRoute) -> None:
    """On every run: pipe, couplings' gaps and changes fill what the fittings leave."""
    catalog, parts = load_catalog(), planned.route.parts
    corners = [parts[0].start_m, *(p.corner_m for p in parts if p.kind is PartKind.ELBOW), parts[-1].end_m]
    elbows = [find_item(catalog, p.item) for p in parts if p.kind is PartKind.ELBOW]
    runs: list[list] = [[]]
    for part in parts:
        if part.kind is PartKind.ELBOW:
            runs.append([])
        else:
            runs[-1].append(part)
    for i, run in enumerate(runs):
        taken = 0.0
        if i > 0:
            assert isinstance(elbows[i - 1], Bend)
            taken += elbows[i - 1].laying_m
        if i < len(elbows):
            taken += elbows[i].laying_m + (elbows[i].spigot_m or 0.0)
        between = math.dist(corners[i], corners[i + 1])
        filled = sum(p.cut_m if p.kind is PartKind.PIPE else math.dist(p.start_m, p.end_m) for p in run)
        assert abs(between - taken - filled) < MEET_M


def pieces_fit_sockets_and_sticks(planned: PlannedRoute) -> None:
    """No pipe is longer than a stick; between two fittings it fills two sockets."""
    catalog, parts = load_catalog(), planned.route.parts
    for before, part, after in zip(parts[:-2], parts[1:-1], parts[2:], strict=True):
        if part.kind is PartKind.PIPE:
            assert part.cut_m is not None
            assert part.cut_m <= max(find_item(catalog, part.item).stick_m) + MEET_M
            if before.kind not in NO_SOCKET and after.kind not in NO_SOCKET:
                assert part.cut_m >= sum(find_item(catalog, p.item).socket_m for p in (before, after)) - MEET_M


def pitch_is_kept(planned: PlannedRoute, site: Site) -> None:
    """Every run rises at least the pitch away from the appliance."""
    for run in planned.route.runs:
        d = np.subtract(run.end_m, run.start_m)
        if site.appliance.falls_to == "appliance":
            assert d[2] >= site.appliance.pitch * math.hypot(d[0], d[1]) - MEET_M


def turns_are_within_the_give(planned: PlannedRoute) -> None:
    """An elbow's true turn is the catalog's, within the joint's give."""
    catalog = load_catalog()
    for part in planned.route.parts:
        if part.kind is PartKind.ELBOW:
            bend = find_item(catalog, part.item)
            u, v = np.subtract(part.corner_m, part.start_m), np.subtract(part.end_m, part.corner_m)
            true = math.degrees(math.atan2(np.linalg.norm(np.cross(u, v)), u @ v))
            assert true == pytest.approx(part.angle_deg, abs=1e-6)
            assert abs(true - bend.angle_deg) <= bend.give_deg + 1e-6


def equivalent_adds_up(planned: PlannedRoute, site: Site) -> None:
    """Runs corner to corner and the appliance's figure for each fitting; of two sizes, by share."""
    if planned.route.smaller is not None:
        assert planned.route.equivalent_m / planned.limit_m == pytest.approx(sum(shares(planned, site).values()))
        return
    row = next(r for r in site.appliance.sizes if r.size_in == planned.route.kit.size_in)
    figure = {90.0: row.elbow_90_m, 45.0: row.elbow_45_m, 22.5: row.elbow_22_m}
    fittings = row.terminal_m
    for part in planned.route.parts:
        if part.kind is PartKind.ELBOW:
            fittings += figure[part.nominal_deg]
        elif part.kind is PartKind.INCREASER:
            fittings += row.increaser_m
        elif part.kind is PartKind.REDUCER:
            fittings += row.reducer_m
    corners = [site.appliance.collar_m]
    corners += [p.corner_m for p in planned.route.parts if p.kind is PartKind.ELBOW]
    corners += [planned.route.terminal_m]
    runs = sum(math.dist(a, b) for a, b in zip(corners[:-1], corners[1:], strict=True))
    assert abs(planned.route.equivalent_m - runs - fittings) < MEET_M


def shares(planned: PlannedRoute, site: Site) -> dict[float, float]:
    """By size, what its parts use of its own greatest length: along the axis, and the figures of its own row.

    A change counts by the row that makes it more.
    """
    catalog, rows = load_catalog(), {row.size_in: row for row in site.appliance.sizes}
    last = planned.route.kit.size_in
    found = {last: rows[last].terminal_m / rows[last].max_length_m}
    for part in planned.route.parts[:-1]:
        item, corner = find_item(catalog, part.item), part.corner_m or part.end_m
        along = math.dist(part.start_m, corner) + math.dist(corner, part.end_m)
        if isinstance(item, Change):
            each = {
                row.size_in: (along + (row.increaser_m if item.kind == "increaser" else row.reducer_m))
                / row.max_length_m
                for row in rows.values()
            }
            size = max(each, key=lambda s: each[s])
            found[size] = found.get(size, 0.0) + each[size]
            continue
        row = rows[item.size_in]
        figure = {90.0: row.elbow_90_m, 45.0: row.elbow_45_m, 22.5: row.elbow_22_m}
        along += figure[item.angle_deg] if isinstance(item, Bend) else 0.0
        found[item.size_in] = found.get(item.size_in, 0.0) + along / row.max_length_m
    return found


def sizes_never_shrink(planned: PlannedRoute) -> None:
    """Along the flow, pipe by pipe; every change of size leads from the one to the other."""
    catalog = load_catalog()
    size = None
    for part in planned.route.parts[:-1]:
        item = find_item(catalog, part.item)
        if isinstance(item, Change):
            assert size in (None, item.from_size_in)
            assert size is None or item.to_size_in > size
            size = item.to_size_in
        else:
            assert size in (None, item.size_in)
            size = item.size_in


def bill_is_the_parts(planned: PlannedRoute) -> None:
    """Every metre of pipe is in a stick, every fitting on the list."""
    pieces = sorted(p.cut_m for p in planned.route.parts if p.kind is PartKind.PIPE)
    sawn = sorted(piece for stick in planned.cuts for piece in stick.pieces_m)
    assert np.allclose(pieces, sawn, atol=MEET_M)
    assert all(sum(s.pieces_m) + s.waste_m <= s.stick_m + MEET_M for s in planned.cuts)
    for item in {p.item for p in planned.route.parts if p.kind is not PartKind.PIPE}:
        count = sum(p.item == item for p in planned.route.parts)
        assert sum(line.quantity for line in planned.shopping if line.item == item) == count


def _tube(a, b, radius: float, extra: float = 0.0) -> np.ndarray:
    """Points on a cylinder's side and rims, (n, 3)."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    u = (b - a) / np.linalg.norm(b - a)
    v = np.cross(u, [1.0, 0.0, 0.0] if abs(u[0]) < 0.9 else [0.0, 1.0, 0.0])
    v /= np.linalg.norm(v)
    w = np.cross(u, v)
    angle = np.linspace(0.0, 2 * math.pi, 24, endpoint=False)
    ring = radius * (np.cos(angle)[:, None] * v + np.sin(angle)[:, None] * w)
    length = float(np.linalg.norm(b - a)) + extra
    steps = np.linspace(0.0, length, max(2, int(length / 0.04) + 1))
    return (a + steps[:, None, None] * u + ring[None]).reshape(-1, 3)


def envelope(planned: PlannedRoute) -> tuple[np.ndarray, np.ndarray]:
    """Surface points of all pipe, and of all hubs."""
    catalog = load_catalog()
    pipe, hubs = [], []
    for part in planned.route.parts:
        item = None if part.kind is PartKind.TERMINAL else find_item(catalog, part.item)
        if isinstance(item, PipeStock):
            pipe.append(_tube(part.start_m, part.end_m, item.od_m / 2))
        elif isinstance(item, Bend):
            for end in (part.start_m, part.end_m):
                u = np.subtract(end, part.corner_m)
                tip = np.asarray(part.corner_m) + u / np.linalg.norm(u) * (item.laying_m + item.socket_m)
                hubs.append(_tube(part.corner_m, tip, item.hub_od_m / 2))
        elif isinstance(item, Coupling | Change):
            u = np.subtract(part.end_m, part.start_m)
            u /= np.linalg.norm(u)
            back = item.socket_m if isinstance(item, Coupling) else 0.0
            hubs.append(_tube(part.start_m - back * u, part.end_m + item.socket_m * u, item.hub_od_m / 2))
    empty = np.zeros((0, 3))
    return np.concatenate([empty, *pipe]), np.concatenate([empty, *hubs])


def prism(floor, bottom: float, top: float) -> trimesh.Trimesh:
    """A room as trimesh makes it."""
    from shapely.geometry import Polygon

    mesh = trimesh.creation.extrude_polygon(Polygon(floor), top - bottom)
    mesh.apply_translation([0.0, 0.0, bottom])
    return mesh


def under_roof(floor, bottom: float, site: Site, inner: bool) -> trimesh.Trimesh:
    """A prism cut off at the roof's underside (inner) or outer surface, plane by plane."""
    mesh = prism(floor, bottom, max(c[2] for roof in site.roofs for c in roof.corners) + 1.0)
    for roof in site.roofs:
        a, b, c = (np.array(v) for v in roof.corners[:3])
        n = np.cross(b - a, c - a)
        n = n / np.linalg.norm(n) * np.sign(n[2])
        mesh = trimesh.intersections.slice_mesh_plane(mesh, -n, a - n * (roof.thickness_m if inner else 0.0), cap=True)
    return mesh


def house_of(site: Site) -> trimesh.Trimesh:
    """The building as one block, roof included, eaves left out."""
    if site.roofs:
        return under_roof(site.building.footprint, site.building.bottom_m, site, inner=False)
    return prism(site.building.footprint, site.building.bottom_m, site.building.top_m)


def keeps_clear(
    planned: PlannedRoute, site: Site, rooms: dict[str, trimesh.Trimesh], things: list[trimesh.Trimesh]
) -> None:
    """Points of pipe and hub inside a room keep the gap to its surfaces and to every obstacle.

    A hub's point must be in a room or outdoors; a pipe's point may be in construction, or nearer than its gap, only
    within a hole's bore, seen from any place no farther from its axis than the pipe and near its mouths.
    """
    gap = site.want.gap_m
    pipe, hubs = envelope(planned)
    house = house_of(site)
    for points, hub in ((hubs, True), (pipe, False)):
        if not len(points):
            continue
        depth = np.max([trimesh.proximity.signed_distance(room, points) for room in rooms.values()], axis=0)
        out = np.minimum(-trimesh.proximity.signed_distance(house, points), points[:, 2] - site.place.grade_m)
        clear = np.maximum(depth, out)
        low = clear < gap - TOLERANCE_M
        if hub:
            assert not low.any(), f"hub {clear.min():.4f} m from a surface"
        else:
            assert not (low & ~_in_bore(points, planned, gap)).any()
        for thing in things:
            near = -trimesh.proximity.signed_distance(thing, points)
            assert near.min() >= gap - TOLERANCE_M, f"{near.min():.4f} m from an obstacle"


def _in_bore(points: np.ndarray, planned: PlannedRoute, gap: float) -> np.ndarray:
    """Points of the pipe near the middle of a crossing's barrier, along the pipe."""
    inside = np.zeros(len(points), dtype=bool)
    radius = planned.route.kit.pipe.od_m / 2
    for crossing in planned.route.crossings:
        d = points - np.asarray(crossing.point_m)
        along = d @ np.asarray(crossing.direction)
        across = np.linalg.norm(d - along[:, None] * np.asarray(crossing.direction), axis=1)
        inside |= (across < radius + 1e-6) & (np.abs(along) < 0.5 + gap)
    return inside


def box(corner, size) -> trimesh.Trimesh:
    """An obstacle as trimesh makes it."""
    mesh = trimesh.creation.box(extents=size)
    mesh.apply_translation(np.asarray(corner) + np.asarray(size) / 2)
    return mesh
