"""`ventroute shop` on a planned demonstration house."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from ventroute.catalog.paths import catalogs_folder
from ventroute.cli.main import run


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A planned house: plan.json with its site.toml beside it."""
    from ventroute.cli.desk import open_site
    from ventroute.io.plan_file import plan_json
    from ventroute.planner import plan

    made = tmp_path_factory.mktemp("plan")
    site = catalogs_folder() / "sites" / "harbour-house.toml"
    desk = open_site(site)
    (made / "plan.json").write_text(plan_json(plan(desk.site, desk.building, desk.shop)), encoding="utf-8")
    shutil.copy(site, made / "site.toml")
    return made


def document(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    assert run(["shop", *arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)  # type: ignore[no-any-return]


def test_the_list_of_a_plan_is_the_plans_list(folder, capsys):
    plan = json.loads((folder / "plan.json").read_text())
    found = document(capsys, str(folder / "plan.json"))
    assert found["shopping"] == plan["routes"][0]["shopping"]
    assert found["cuts"] == plan["routes"][0]["cuts"]


def test_what_is_at_home_is_free(folder, capsys, tmp_path):
    before = document(capsys, str(folder / "plan.json"))
    elbow = next(line for line in before["shopping"] if line["item"].startswith("elbow"))
    (tmp_path / "have.csv").write_text(f"item,qty\n{elbow['item']},99\n")
    after = document(capsys, str(folder / "plan.json"), "--have", str(tmp_path / "have.csv"))
    line = next(line for line in after["shopping"] if line["item"] == elbow["item"])
    assert line["have"] == line["quantity"] == elbow["quantity"]
    assert after["cost"] == pytest.approx(before["cost"] - elbow["quantity"] * elbow["price"], abs=0.01)


def test_own_prices_take_the_place_of_the_demonstrations(folder, capsys, tmp_path):
    (tmp_path / "prices.csv").write_text("item,price\nalarm-co,31.5\n")
    found = document(capsys, str(folder / "plan.json"), "--prices", str(tmp_path / "prices.csv"))
    prices = {line["item"]: line["price"] for line in found["shopping"]}
    assert prices.pop("alarm-co") == 31.5
    assert set(prices.values()) == {None}
    assert set(found["without_price"]) == set(prices)


def test_a_folder_and_single_files_are_written(folder, tmp_path, capsys):
    plan = str(folder / "plan.json")
    assert run(["shop", plan, "--out", str(tmp_path / "out"), "--quiet"]) == 0
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert names == {"shopping.csv", "shopping.xlsx", "cuts.csv", "phone.html"}
    for name in ("list.csv", "list.xlsx", "list.html"):
        assert run(["shop", plan, "--out", str(tmp_path / name), "--quiet"]) == 0
    assert openpyxl.load_workbook(tmp_path / "list.xlsx").sheetnames == ["shopping", "cuts"]
    assert capsys.readouterr().out == ""


def test_nothing_is_written_without_out(folder, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert run(["shop", str(folder / "plan.json")]) == 0
    assert "Shopping" in capsys.readouterr().out
    assert list(tmp_path.iterdir()) == []


def test_a_bad_stock_file_is_exit_2_with_its_rows_and_writes_nothing(folder, tmp_path, capsys):
    (tmp_path / "have.csv").write_text("item,qty\nnonsense,1\nelbow-90-pvc-3,x\n")
    arguments = [
        "shop",
        str(folder / "plan.json"),
        "--have",
        str(tmp_path / "have.csv"),
        "--out",
        str(tmp_path / "out"),
    ]
    assert run(arguments) == 2
    said = capsys.readouterr()
    assert [line.split(": ")[0].rsplit(":", 1)[1] for line in said.err.splitlines()] == ["2", "3"]
    assert said.out == ""
    assert not (tmp_path / "out").exists()


def test_an_unknown_route_is_exit_2_and_names_those_there_are(folder, capsys):
    assert run(["shop", str(folder / "plan.json"), "--route", "99"]) == 2
    assert 'no route "99"; the plan has 1' in capsys.readouterr().err


def test_a_plan_without_routes_is_exit_1(folder, tmp_path, capsys):
    plan = json.loads((folder / "plan.json").read_text())
    (tmp_path / "plan.json").write_text(json.dumps({**plan, "routes": [], "status": "none"}))
    assert run(["shop", str(tmp_path / "plan.json")]) == 1
    assert "no route" in capsys.readouterr().err


def test_a_plan_that_is_not_there_is_exit_2(tmp_path, capsys):
    assert run(["shop", str(tmp_path / "plan.json")]) == 2
    assert "cannot be read" in capsys.readouterr().err
