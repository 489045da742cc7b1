"""Couplings of a long straight run stand where they may."""

from dataclasses import replace

import pytest

from tests.plan.houses import planned, random_house
from ventroute.model.route import PartKind


@pytest.mark.parametrize("loft_m", [1.4, 2.2, 2.6])
def test_a_straight_rise_longer_than_a_stick_is_coupled_in_a_room_and_not_in_construction(loft_m):
    # A stick is 10 ft (3.048 m, stock lengths: common practice); the collar stands under both holes.
    site = random_house(1)
    x, y, _ = site.appliance.collar_m
    room, loft = site.rooms
    top = loft.bottom_m + loft_m
    roof = (loft.bottom_m - room.top_m) + top
    holes = tuple(replace(h, at=(x, y, z)) for h, z in zip(site.holes, (room.top_m + 0.05, top + 0.05), strict=True))
    straight = replace(
        site,
        obstacles=(),
        holes=holes,
        rooms=(room, replace(loft, top_m=top)),
        building=replace(site.building, top_m=roof),
        want=replace(site.want, terminals=("roof",), sizes_in=(3.0,)),
    )
    route = next(r for r in planned(straight).routes if not r.route.elbows).route
    couplings = [p for p in route.parts if p.kind is PartKind.COUPLING]
    assert couplings
    for part in couplings:
        low, high = part.start_m[2] - 0.0381 - 0.0254, part.end_m[2] + 0.0381 + 0.0254
        assert high <= room.top_m + 1e-6 or (low >= loft.bottom_m - 1e-6 and high <= top + 1e-6) or low >= roof - 1e-6
