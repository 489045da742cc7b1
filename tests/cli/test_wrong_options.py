"""Options that cannot be meant are refused before any work is done: status 2, one line."""

from __future__ import annotations

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
