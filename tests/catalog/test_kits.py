"""What a run may be made from, and the reason where there is nothing."""

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ventroute.catalog.lookup import description, find_item, kits, load_catalog, price_key, shelf
from ventroute.catalog.paths import catalogs_folder
from ventroute.constants import INCH_M
from ventroute.errors import CatalogError
from ventroute.model.parts import Kit

approx = pytest.approx
CATALOG = load_catalog()
MADE = sorted({(pipe.material, pipe.size_in) for pipe in CATALOG.pipes})


def kit(material, size_in, collar_material=None, collar_size_in=None):
    found = kits(CATALOG, material, size_in, collar_material, size_in if collar_size_in is None else collar_size_in)
    assert isinstance(found, Kit), found
    return found


def reason(*asked):
    found = kits(CATALOG, *asked)
    assert isinstance(found, str)
    return found


def test_drainage_bends_hub_by_hub_come_first_then_street_then_other_patterns():
    items = [bend.item for bend in kit("PVC", 3.0).bends]
    assert items[:5] == [
        "elbow-90-pvc-3",
        "elbow-45-pvc-3",
        "elbow-22-pvc-3",
        "elbow-90-pvc-3-street",
        "elbow-45-pvc-3-street",
    ]
    assert set(items[5:]) == {
        "elbow-90-pvc-3-pressure",
        "elbow-45-pvc-3-pressure",
        "elbow-22-pvc-3-pressure",
        "elbow-90-pvc-3-short",
        "elbow-90-pvc-3-long",
    }


def test_sizes_without_drainage_fittings_take_the_pressure_pattern():
    # D2665 lists no 2 1/2 or 5 in.
    for size_in in (2.5, 5.0):
        assert {bend.pattern for bend in kit("PVC", size_in).bends} == {"pressure"}
    assert {bend.pattern for bend in kit("CPVC", 3.0).bends} == {"pressure"}


def test_a_run_of_the_collars_own_size_starts_with_nothing():
    assert kit("PVC", 3.0).start == ()
    assert kit("PVC", 3.0, "PVC", 3.0).start == ()


def test_a_wider_run_starts_with_increasers_in_flow_order():
    start = kit("PVC", 4.0, None, 2.0).start
    assert [change.item for change in start] == ["increaser-pvc-2-3", "increaser-pvc-3-4"]


def test_a_narrower_run_starts_with_the_fewest_reducers():
    assert [change.item for change in kit("PVC", 2.0, None, 4.0).start] == ["reducer-pvc-4-2"]
    assert [change.item for change in kit("PVC", 3.0, None, 6.0).start] == ["reducer-pvc-6-4", "reducer-pvc-4-3"]


def test_abs_and_pvc_meet_in_one_transition_joint():
    # D3138 covers this joint alone.
    start = kit("PVC", 2.0, "ABS", 3.0).start
    assert [change.item for change in start] == ["adapter-abs-pvc-3", "reducer-pvc-3-2"]
    assert start[0].evidence.source == "d3138"


@pytest.mark.parametrize(
    ("run", "collar"), [("PVC", "stainless"), ("PVC", "PP"), ("PP", "PVC"), ("PVC", "CPVC"), ("stainless", "PVC")]
)
def test_materials_without_a_standard_joint_are_refused_in_words(run, collar):
    words = reason(run, 3.0, collar, 3.0)
    assert f"{collar} collar to {run}" in words
    assert "manual" in words


def test_reasons_say_what_there_is():
    assert "1 1/2 in, 2 in, 2 1/2 in, 3 in" in reason("PVC", 3.5, None, 3.5)
    assert "every measure known" in reason("PP", 6.0, None, 6.0)
    assert "no PVC increaser from 4 in to 6 in" in reason("PVC", 6.0, None, 4.0)
    assert "PVC, CPVC, ABS, PP, stainless" in reason("copper", 3.0, None, 3.0)


@given(st.sampled_from(MADE), st.sampled_from(MADE), st.booleans())
def test_a_kit_is_whole_or_a_reason(run, collar, own):
    found = kits(CATALOG, *run, None if own else collar[0], collar[1])
    if isinstance(found, str):
        assert len(found) > 10
        return
    assert {bend.size_in for bend in found.bends} == {found.coupling.size_in} == {run[1]}
    assert {terminal.kind for terminal in found.terminals} == {"roof", "wall"}
    ends = [(run[0] if own else collar[0], collar[1])]
    for change in found.start:
        assert (change.from_material, change.from_size_in) == ends[-1]
        ends.append((change.to_material, change.to_size_in))
    assert ends[-1] == run
    widths = [size for _, size in ends]
    assert widths in (sorted(widths), sorted(widths, reverse=True))


@given(st.sampled_from([pair for pair in MADE if pair[0] in ("PVC", "ABS", "CPVC")]))
def test_hubs_stand_out_from_the_pipe_and_sockets_are_shallower_than_a_stick(pair):
    found = kit(*pair)
    assert found.hub_od_m > found.pipe.od_m > found.pipe.bore_m
    for bend in found.bends:
        assert 0 < bend.laying_m < 12 * INCH_M
        assert 2 * bend.socket_m < min(found.pipe.stick_m)


def test_gives_are_by_joint():
    # Common practice: cemented 2.5, polypropylene gaskets 3.5 (87 degree bends), stainless 3.
    gives = {material: {bend.give_deg for bend in CATALOG.bends if bend.material == material} for material, _ in MADE}
    assert gives == {"PVC": {2.5}, "CPVC": {2.5}, "ABS": {2.5}, "PP": {3.5}, "stainless": {3.0}}


def test_items_are_described_in_words():
    assert description(CATALOG, "pipe-pvc-40-3") == "3 in PVC pipe, schedule 40"
    assert description(CATALOG, "elbow-22-pvc-3-pressure") == "3 in PVC 22 1/2 degree elbow, pressure pattern"
    assert description(CATALOG, "elbow-90-abs-1.5-street") == "1 1/2 in ABS 90 degree elbow, drainage pattern, street"
    assert description(CATALOG, "pipe-pp-single-4") == "4 in (DN 110) PP pipe, single wall"
    assert description(CATALOG, "increaser-pvc-2-3") == "2 in PVC to 3 in increaser"
    assert description(CATALOG, "adapter-abs-pvc-3") == "3 in ABS to 3 in PVC adapter"


def test_a_misspelt_item_is_answered_with_what_is_near():
    with pytest.raises(CatalogError, match=r"did you mean elbow-90-pvc-3"):
        find_item(CATALOG, "elbow-90-pcv-3")
    with pytest.raises(CatalogError, match=r"no item 'zzz' in the catalog$"):
        find_item(CATALOG, "zzz")


def test_the_shelf_holds_every_item_once_with_its_demonstration_price():
    goods = shelf(CATALOG)
    for offer in CATALOG.offers:
        if offer.item in {can.item for can in goods.cans}:
            continue
        assert goods.goods[offer.item].description
    assert goods.goods["elbow-90-pvc-3"].price == CATALOG.prices["elbow-90-pvc-3"]
    pipe = goods.goods["pipe-pvc-40-3"]
    assert pipe.sticks_m == (approx(3.048), approx(1.524))
    assert pipe.price == CATALOG.prices[price_key("pipe-pvc-40-3", 3.048)]
    assert all(can.price for can in goods.cans)


def test_a_catalog_is_read_once():
    assert load_catalog() is load_catalog(catalogs_folder())


def test_a_catalog_is_loaded_without_heavy_libraries():
    heavy = "{'pandas', 'numpy', 'scipy', 'trimesh', 'pint'}"
    code = f"import sys, ventroute.catalog.lookup as c; c.load_catalog(); print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
