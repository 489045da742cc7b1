"""Every sort of bad row is refused, with its file and line."""

import shutil

import pytest

from ventroute.catalog.lookup import load_catalog
from ventroute.catalog.paths import catalogs_folder
from ventroute.errors import CatalogError

BENDS, PIPES, CHANGES = "fittings/bends.csv", "fittings/pipes.csv", "fittings/changes.csv"
LENGTHS, LENGTH = "fittings/adjustables.csv", "adjustable-stainless-4-short,"
HEATER = "appliances/generic-condensing-water-heater-120.toml"
ELBOW = "elbow-90-pvc-3,"
PIPE = "pipe-pvc-40-3,"


@pytest.fixture
def folder(tmp_path):
    copy = tmp_path / "catalogs"
    skip = shutil.ignore_patterns("rules", "sites", "flue", "README*")
    shutil.copytree(catalogs_folder(), copy, ignore=skip)
    return copy


def edit(folder, name, start, old, new):
    """Change the first line that begins with `start`; its number."""
    path = folder / name
    lines = path.read_text(encoding="utf-8").splitlines()
    number = next(n for n, line in enumerate(lines) if line.startswith(start))
    assert old in lines[number]
    lines[number] = lines[number].replace(old, new, 1)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return number + 1


def refused(folder):
    with pytest.raises(CatalogError) as caught:
        load_catalog(folder)
    return str(caught.value).splitlines()


def test_the_copy_loads_before_it_is_spoilt(folder):
    assert load_catalog(folder).pipes == load_catalog().pipes


# table, row, what stands there, what is put there, column that is named, words of the message
SPOILT = {
    "a blank that may not be": (PIPES, PIPE, ",3.500,", ",,", "od", "blank"),
    "no figure": (PIPES, PIPE, ",3.500,", ",wide,", "od", "wide"),
    "not a number": (PIPES, PIPE, ",1.409,", ",nan,", "weight", "not a figure"),
    "an endless number": (PIPES, PIPE, ",1.409,", ",1e400,", "weight", "not a figure"),
    "zero in place of a blank": (PIPES, PIPE, ",1.409,", ",0,", "weight", "more than 0"),
    "a negative length": (BENDS, ELBOW, ",3 1/16,", ",-3,", "laying", "more than 0"),
    "a unit of another kind": (BENDS, ELBOW, ",3 1/16,", ",3 kg,", "laying", "kg"),
    "a fraction over nothing": (BENDS, ELBOW, ",3 1/16,", ",3 1/0,", "laying", "1/0"),
    "an unknown material": (BENDS, ELBOW, ",PVC,", ",PCV,", "material", "PCV"),
    "an unknown pattern": (BENDS, ELBOW, ",drainage,", ",sanitary,", "pattern", "sanitary"),
    "an unknown grade": (BENDS, ELBOW, ",memory", ",certain", "grade", "certain"),
    "no grade": (BENDS, ELBOW, ",memory", ",", "grade", "blank"),
    "no source": (BENDS, ELBOW, ",d3311,", ",,", "source", "blank"),
    "a source that does not exist": (BENDS, ELBOW, ",d3311,", ",d9999,", "source", "d9999"),
    "an item with capitals": (BENDS, ELBOW, ELBOW, "Elbow-90,", "item", "Elbow-90"),
    "an item of a spreadsheet's formula": (BENDS, ELBOW, ELBOW, "=1+1,", "item", "=1+1"),
    "an item twice": (BENDS, "elbow-90-pvc-4,", "elbow-90-pvc-4,", ELBOW, "item", "stands already at"),
    "an item of another table": (BENDS, ELBOW, ELBOW, "pipe-pvc-40-3,", "item", "pipes.csv"),
    "a hub x hub bend with a spigot": (
        BENDS,
        "elbow-90-pvc-3-street,",
        "street,3 1/16",
        "hub x hub,3 1/16",
        "spigot",
        "none",
    ),
    "a bend twice by another name": (BENDS, "elbow-90-pvc-4,", ",4,", ",3,", "pattern", "stands already at"),
    "a street bend without a spigot": (BENDS, ELBOW, "hub x hub", "street", "spigot", "street bend"),
    "a cell too few": (BENDS, ELBOW, ",drainage,", ",", "", "12 cells; wanted 13"),
    "a cell too many": (BENDS, ELBOW, ",drainage,", ",drainage,,", "", "14 cells; wanted 13"),
    "a hub inside its pipe": (BENDS, ELBOW, ",1 1/2,4,", ",1 1/2,3 1/2,", "hub_od", "outside diameter"),
    "a bore beyond the wall": (PIPES, PIPE, ",3.042,", ",3.6,", "bore", "less than od"),
    "an increaser that narrows": (CHANGES, "increaser-pvc-2-3,", ",2,PVC,3,", ",3,PVC,2,", "kind", "increaser"),
    "a reducer that changes material": (CHANGES, "reducer-pvc-3-2,", "PVC,2,", "ABS,2,", "kind", "reducer"),
    "an adapter that changes nothing": (CHANGES, "adapter-abs-pvc-3,", ",ABS,3", ",PVC,3", "kind", "adapter"),
    "a pipe that may or may not be cut": (PIPES, PIPE, ",yes,", ",perhaps,", "cut", "perhaps"),
    "an adjustable length that does not adjust": (LENGTHS, LENGTH, ",4,7,", ",7,7,", "most", "exceed the least"),
    "an adjustable length of pipe that is sawn": (LENGTHS, LENGTH, "stainless,4", "PVC,4", "size", "not cut"),
    "joints of one size twice": ("fittings/joints.csv", "cement,4,", ",4,", ",3,", "kind", "stands already at"),
    "a price of nothing known": ("prices.csv", ELBOW, ELBOW, "elbow-91-pvc-3,", "item", "elbow-91-pvc-3"),
    "a price of a stick not sold": ("prices.csv", PIPE, ",120,", ",121,", "length", "not sold"),
    "a price below nothing": ("prices.csv", ELBOW, ELBOW + ",", ELBOW + ",-", "price", "not a figure"),
    "a price twice": ("prices.csv", "elbow-90-pvc-4,", "elbow-90-pvc-4,", ELBOW, "item", "stands already at"),
    "a class limit without a unit": ("materials.csv", "PVC,class limit", ",degC,", ",-,", "value", "unit"),
    "a limit below absolute zero": ("materials.csv", "PVC,class limit", ",65,", ",-400,", "value", "absolute zero"),
    "a joint of another kind": ("materials.csv", "PVC,joint", "cemented", "glued", "value", "glued"),
    "a figure twice": ("materials.csv", "PVC,service limit", "service", "class", "figure", "twice"),
    "an appliance that passes for real": (HEATER, "name", "(invented)", "", "name", "invented"),
    "an appliance burning coal": (HEATER, "fuel", "natural gas", "coal", "fuel", "coal"),
    "an appliance of a vent not known": (HEATER, "materials", "ABS", "clay", "materials", "PVC, CPVC"),
    "an appliance without a source": (HEATER, "source", "invented-appliances", "a friend", "source", "a friend"),
    "a key of no appliance": (HEATER, "category", "category", "catagory", "catagory", "is no key"),
}


@pytest.mark.parametrize("sort", SPOILT)
def test_a_bad_row_is_named_by_file_and_line(folder, sort):
    name, start, old, new, column, words = SPOILT[sort]
    line = edit(folder, name, start, old, new)
    where = f"catalogs/{name}:{line}: " + (f"{column}: " if column else "")
    own = [fault for fault in refused(folder) if fault.startswith(where)]
    assert own, refused(folder)
    assert words in own[0]


def test_two_faults_are_told_at_once(folder):
    first = edit(folder, BENDS, ELBOW, ",memory", ",certain")
    second = edit(folder, PIPES, PIPE, ",3.500,", ",wide,")
    faults = refused(folder)
    assert any(f"bends.csv:{first}:" in fault for fault in faults)
    assert any(f"pipes.csv:{second}:" in fault for fault in faults)


def test_columns_in_another_order_are_refused(folder):
    line = edit(folder, BENDS, "item,", "laying,socket", "socket,laying")
    path = f"catalogs/{BENDS}"
    assert line == 4  # three notes stand before it
    assert any(fault.startswith(f"{path}:{line}: ") and "columns are" in fault for fault in refused(folder))


def test_a_column_in_an_unknown_unit_is_refused(folder):
    line = edit(folder, BENDS, "-,-,in", ",in,in,in,in,", ",cubit,in,in,in,")
    assert f"catalogs/{BENDS}:{line}: laying: unit 'cubit'; wanted in or ft or mm or m" in refused(folder)


def test_an_empty_table_is_refused(folder):
    (folder / BENDS).write_text("# nothing\n", encoding="utf-8")
    assert any(f"{BENDS}:1: file: wants a line of column names" in fault for fault in refused(folder))


def test_a_missing_table_is_refused(folder):
    (folder / PIPES).unlink()
    assert any(fault.startswith(f"catalogs/{PIPES}:1: file: cannot be read") for fault in refused(folder))


def test_a_table_that_is_no_text_is_refused(folder):
    (folder / PIPES).write_bytes(b"item\xff\xfe")
    assert any(fault.startswith(f"catalogs/{PIPES}:1: file: cannot be read") for fault in refused(folder))


def test_a_material_without_conductivity_is_refused(folder):
    path = folder / "materials.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(line for line in lines if not line.startswith("PVC,conductivity")), encoding="utf-8")
    assert any("PVC has no conductivity" in fault for fault in refused(folder))


def test_a_material_without_any_limit_is_refused(folder):
    # ABS has no class: without its service limit nothing would say how hot it may be.
    path = folder / "materials.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(line for line in lines if not line.startswith("ABS,service")), encoding="utf-8")
    assert any("ABS has no class limit or service limit" in fault for fault in refused(folder))


def test_a_source_without_a_title_is_refused(folder):
    path = folder / "sources.toml"
    text = path.read_text(encoding="utf-8")
    line = text[: text.index("[d3311]")].count("\n") + 1
    start = text.index("title", text.index("[d3311]"))
    path.write_text(text[:start] + text[text.index("\n", start) + 1 :], encoding="utf-8")
    assert any(fault.startswith(f"catalogs/sources.toml:{line}: d3311: ") for fault in refused(folder))


def test_an_appliance_that_is_no_toml_is_refused_at_its_line(folder):
    line = edit(folder, HEATER, "fuel", "=", "")
    assert any(fault.startswith(f"catalogs/{HEATER}:{line}: file: cannot be read") for fault in refused(folder))


def test_a_wrong_key_in_an_appliances_size_is_refused(folder):
    path = folder / HEATER
    path.write_text(path.read_text(encoding="utf-8").replace("max_length", "longest"), encoding="utf-8")
    faults = [fault for fault in refused(folder) if HEATER in fault]
    assert any("longest" in fault for fault in faults)
    assert any("max_length missing" in fault for fault in faults)


def test_a_joint_without_a_give_is_refused(folder):
    path = folder / "fittings/give.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(line for line in lines if not line.startswith("PVC,")), encoding="utf-8")
    assert any("PVC has no row in give.csv" in fault for fault in refused(folder))
