"""Options that cannot be meant are refused before any work is done: status 2, one line."""

from __future__ import annotations

import json

from ventroute.catalog.paths import catalogs_folder
from ventroute.cli.main import run

SITE = str(catalogs_folder() / "sites" / "mill-row.toml")


def test_a_port_that_does_not_exist(capsys):
    assert run(["view", SITE, "--port", "99999", "--no-browser"]) == 2
    assert "port 99999 does not exist" in capsys.readouterr().err


def test_a_file_in_place_of_the_out_folder_is_told_before_planning(tmp_path, capsys):
    (tmp_path / "taken").write_text("mine")
    assert run(["plan", SITE, "--out", str(tmp_path / "taken")]) == 2
    said = capsys.readouterr()
    assert "is a file; --out wants a folder" in said.err
    assert said.out == ""
    assert (tmp_path / "taken").read_text() == "mine"


def test_what_is_viewed_can_be_kept(tmp_path, monkeypatch):
    monkeypatch.setattr("ventroute.cli.view._serve", lambda *_: 0)
    assert run(["view", SITE, "--out", str(tmp_path / "kept")]) == 0
    plan = json.loads((tmp_path / "kept" / "plan.json").read_text(encoding="utf-8"))
    assert plan["status"] == "ok"


def test_a_shopping_list_of_a_kind_that_is_not_made_is_refused(tmp_path, capsys):
    assert run(["shop", str(tmp_path / "plan.json"), "--out", str(tmp_path / "list.pdf")]) == 2
    assert ".csv, .xlsx, .html" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_what_the_catalog_holds_can_be_kept(tmp_path, capsys):
    assert run(["catalog", "bends", "--out", str(tmp_path / "kept"), "--json"]) == 0
    assert (tmp_path / "kept" / "catalog.json").read_text(encoding="utf-8") == capsys.readouterr().out
