"""What commands open before they work: a site with its house, the catalogs, the rule pack, the stock."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ventroute.catalog.lookup import load_catalog
from ventroute.catalog.paths import catalogs_folder
from ventroute.errors import InputError
from ventroute.flue.fuel import read_fuels
from ventroute.flue.state import gas_faults
from ventroute.io.site_file import building_faults, read_site_text
from ventroute.io.site_text import read_text
from ventroute.layout.building import Building, build
from ventroute.model.shelf import Stock
from ventroute.model.site import Site
from ventroute.planner import Workshop
from ventroute.rules.pack import load_pack, pack_names


@dataclass(frozen=True, eq=False)
class Desk:
    """A site that can be planned, and the text it was read from."""

    text: str
    site: Site
    building: Building
    shop: Workshop


def open_site(path: Path, stock: Stock | None = None) -> Desk:
    """Read a site file and everything that planning it needs.

    Raises
    ------
    InputError
        Every fault of the file.
    """
    return open_text(read_text(path), str(path), path.parent, stock)


def open_text(text: str, file: str, folder: Path, stock: Stock | None = None) -> Desk:
    """The same for a text; meshes are found from `folder`, faults name `file`."""
    catalog = load_catalog()
    rules = catalogs_folder() / "rules"
    site = read_site_text(text, file, folder, catalog.appliances, pack_names(rules))
    fuels = read_fuels(catalogs_folder() / "flue")
    faults = tuple(gas_faults(site.appliance, fuels))
    try:
        building = build(site)
    except InputError as error:
        raise building_faults(text, file, (*faults, *error.faults)) from None
    if faults:
        raise building_faults(text, file, faults)
    pack = load_pack(site.place.rules, rules)
    shop = Workshop(catalog, pack, stock or Stock(offers=catalog.offers), fuels)
    return Desk(text, site, building, shop)
