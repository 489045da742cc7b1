"""Catalog appliances as a site file takes them."""

import pytest

from ventroute.catalog.lookup import kits, load_catalog
from ventroute.catalog.paths import catalogs_folder
from ventroute.io.site_file import read_site_text
from ventroute.model.parts import Kit

CATALOG = load_catalog()

HOUSE = """
format = 1
name = "one room"
[place]
winter = "5 degF"
grade = 0
[building]
footprint = [[0,0],[20,0],[20,20],[0,20]]
top = 10
[[room]]
name = "room"
corner = [0.5, 0.5, 0.5]
size = [19, 19, 8]
[appliance]
model = "{model}"
collar = [5, 5, 3]
faces = "up"
"""


def appliance(model):
    site = read_site_text(HOUSE.format(model=model), "house.toml", catalogs_folder(), CATALOG.appliances, ("us-2021",))
    return site.appliance


@pytest.mark.parametrize("model", list(CATALOG.appliances))
def test_a_site_may_name_any_of_them(model):
    found = appliance(model)
    assert "invented" in found.name
    assert found.exhaust_usual_degC <= found.exhaust_max_degC
    assert all(row.max_length_m > row.min_length_m >= 0 for row in found.sizes)


@pytest.mark.parametrize("model", list(CATALOG.appliances))
def test_each_has_a_kit_of_a_material_that_its_exhaust_does_not_melt(model):
    found = appliance(model)
    cool = [name for name in found.materials if _holds(CATALOG.materials[name], found.exhaust_max_degC)]
    assert cool
    made = [kits(CATALOG, name, row.size_in, found.collar_material, found.collar_size_in)
            for name in cool for row in found.sizes]  # fmt: skip
    assert any(isinstance(kit, Kit) for kit in made)


def _holds(material, degC):
    limit = material.class_max_degC if material.class_max_degC is not None else material.service_max_degC
    return degC <= limit + 1e-9


def test_condensing_ones_fall_to_the_appliance_and_the_hot_one_takes_metal_alone():
    # Category IV: condensate runs back. 300 degF lies above every plastic class (ULC 636: 135 degC at most).
    for model in CATALOG.appliances:
        found = appliance(model)
        if found.condensing:
            assert found.falls_to == "appliance"
        if found.exhaust_max_degC > 135:
            assert found.materials == ("stainless",)
