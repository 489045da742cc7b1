"""Random small houses for planning. All invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ventroute.catalog.lookup import load_catalog
from ventroute.catalog.paths import catalogs_folder
from ventroute.flue.fuel import FUELS
from ventroute.layout.building import build
from ventroute.model.appliance import Appliance, SizeLimit, Want
from ventroute.model.plan import Plan
from ventroute.model.shelf import Stock
from ventroute.model.site import Cut, Envelope, Hole, Obstacle, Place, Room, Site
from ventroute.planner import Workshop, plan
from ventroute.rules.pack import load_pack

FT, IN, UP = 0.3048, 0.0254, (0.0, 0.0, 1.0)


def rows() -> tuple[SizeLimit, ...]:
    """A made-up vent table."""
    return (
        SizeLimit(2.0, 60 * FT, elbow_90_m=5 * FT, elbow_45_m=2.5 * FT, elbow_22_m=1.25 * FT, reducer_m=FT),
        SizeLimit(3.0, 100 * FT, elbow_90_m=5 * FT, elbow_45_m=2.5 * FT, elbow_22_m=1.25 * FT),
    )


def random_house(seed: int) -> Site:
    """A room, a loft over it, old flue holes straight up or apart, boxes in the way; for some seeds a wall to cut."""
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(2.4, 5.0, 2)
    z, loft = float(rng.uniform(2.1, 2.7)), float(rng.uniform(1.2, 2.2))
    thick = float(rng.uniform(0.12, 0.35))
    top = z + thick + loft + thick
    spot, roof = rng.uniform(0.35, (x - 0.35, y - 0.35)), rng.uniform(0.35, (x - 0.35, y - 0.35))
    collar = (*rng.uniform(0.4, (x - 0.4, y - 0.4)), float(rng.uniform(0.6, 1.3)))
    floor = ((0.0, 0.0), (float(x), 0.0), (float(x), float(y)), (0.0, float(y)))
    wall = 0.2
    outside = ((-wall, -wall), (float(x) + wall, -wall), (float(x) + wall, float(y) + wall), (-wall, float(y) + wall))
    site = Site(
        f"house {seed}",
        Place(altitude_m=200.0, winter_degC=-12.0, grade_m=-0.4, snow_m=float(rng.choice([0.0, 0.3]))),
        Envelope(outside, -0.4, top),
        _appliance(tuple(float(v) for v in collar)),
        (Room("room", floor, 0.0, z), Room("loft", floor, z + thick, z + thick + loft, heated=False)),
        holes=(
            Hole("ceiling", (float(spot[0]), float(spot[1]), z + thick / 2), UP, 5.5 * IN, ("room", "loft")),
            Hole("roof", (float(roof[0]), float(roof[1]), top - thick / 2), UP, 5.0 * IN, ("loft", "outdoors")),
        ),
        obstacles=tuple(_boxes(rng, (float(x), float(y), z), [spot, np.array(collar[:2])])),
        want=Want(terminals=("roof",)),
    )
    if seed % 3 == 0:
        cut = Cut(
            "north wall",
            ("room", "outdoors"),
            (0.3, float(y), 0.5),
            (float(x) - 0.6, wall, z - 0.8),
            (0.0, 1.0, 0.0),
            40.0,
        )
        site = replace(site, cuts=(cut,), want=Want(terminals=("roof", "wall")))
    return site


def _appliance(collar: tuple[float, ...]) -> Appliance:
    return Appliance(
        "made up", "natural gas", 30e3, "IV", "direct", 60.0, 50.0, ("PVC",), 3.0, None,
        (collar[0], collar[1], collar[2]), UP, rows(), source="invented-appliances",
    )  # fmt: skip


def _boxes(rng: np.random.Generator, size: tuple[float, float, float], keep: list[np.ndarray]) -> list[Obstacle]:
    out = []
    for n in range(int(rng.integers(0, 4))):
        extent = rng.uniform(0.2, 0.8, 3)
        low = rng.uniform(0.0, np.maximum(0.01, np.array(size) - extent))
        high = np.minimum(low + extent, size)
        if all(np.any(spot < low[:2] - 0.15) or np.any(spot > high[:2] + 0.15) for spot in keep):
            out.append(Obstacle(f"box {n}", corner=tuple(low.tolist()), size=tuple((high - low).tolist())))
    return out


def workshop(site: Site) -> Workshop:
    """Catalogs, pack and demonstration prices."""
    catalog = load_catalog()
    pack = load_pack(site.place.rules, catalogs_folder() / "rules")
    return Workshop(catalog, pack, Stock(offers=catalog.offers), FUELS)


def planned(site: Site) -> Plan:
    """The plan of a site."""
    return plan(site, build(site), workshop(site))
