"""`ventroute catalog` and `ventroute schema`."""

import json

import pytest

from ventroute.catalog.listing import KINDS
from ventroute.catalog.paths import catalogs_folder
from ventroute.cli.main import run


def shown(capsys, *arguments):
    status = run(arguments)
    captured = capsys.readouterr()
    return status, captured.out, captured.err


def test_every_row_is_listed_with_source_and_grade(capsys):
    status, out, _ = shown(capsys, "catalog", "--json")
    document = json.loads(out)
    assert (status, document["format"]) == (0, 1)
    for kind, rows in document["catalog"].items():
        assert rows, kind
        if kind != "sources":
            assert all(row["source"] and row["grade"] for row in rows)
    assert "elbow-90-pp-6" in document["incomplete"]


def test_no_table_of_fittings_is_left_out():
    names = {path.stem for path in (catalogs_folder() / "fittings").glob("*.csv")}
    assert "adjustables" in names
    assert {"gives" if name == "give" else name for name in names} <= set(KINDS)


def test_json_figures_are_si_with_the_unit_in_the_key(capsys):
    _, out, _ = shown(capsys, "catalog", "pipes", "--json")
    rows = {row["item"]: row for row in json.loads(out)["catalog"]["pipes"]}
    # 3 in schedule 40: outside diameter 3.500 in = 88.9 mm, D1785.
    assert rows["pipe-pvc-40-3"]["od_m"] == pytest.approx(0.0889)


def test_people_read_inches_or_millimetres(capsys):
    _, us, _ = shown(capsys, "catalog", "bends")
    _, metric, _ = shown(capsys, "catalog", "bends", "--units", "metric")
    row = next(line for line in us.splitlines() if "elbow-90-pvc-3 " in line)
    assert "3.062 in" in row  # 3 1/16 in
    assert "memory" in row
    row = next(line for line in metric.splitlines() if "elbow-90-pvc-3 " in line)
    assert "77.79 mm" in row  # 3 1/16 x 25.4


def test_a_materials_limit_is_shown_in_the_readers_degrees(capsys):
    _, us, _ = shown(capsys, "catalog", "materials")
    _, metric, _ = shown(capsys, "catalog", "materials", "--units", "metric")
    assert any("class limit" in line and "149" in line and "PVC" in line for line in us.splitlines())
    assert any("class limit" in line and "65" in line and "PVC" in line for line in metric.splitlines())


def test_rules_are_listed_with_their_limits(capsys):
    _, out, _ = shown(capsys, "catalog", "rules", "--json")
    rows = json.loads(out)["catalog"]["rules"]
    assert {row["pack"] for row in rows} >= {"us-2018", "us-2021", "ca-b149-2025"}
    assert any(row["limits"] for row in rows)


def test_a_table_that_is_not_there_is_answered_with_what_is_near(capsys):
    status, out, err = shown(capsys, "catalog", "bendz")
    assert (status, out) == (2, "")
    assert 'did you mean "bends"?' in err


def test_the_schema_is_json_that_describes_a_site(capsys):
    status, out, _ = shown(capsys, "schema")
    schema = json.loads(out)
    assert status == 0
    assert {"building", "room", "appliance"} <= set(schema["properties"])
