"""An appliance that does not condense, on stainless vent of lengths that are sold, out of a wall."""

from __future__ import annotations

import json
import math
from collections import Counter

import pypdfium2
import pytest

from ventroute.catalog.lookup import find_item, load_catalog
from ventroute.catalog.paths import catalogs_folder
from ventroute.cli.main import run

HARBOUR = (catalogs_folder() / "sites" / "harbour-house.toml").read_text(encoding="utf-8")
WITHIN_M = 1e-3


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("tankless")
    asked = 'materials = ["PVC", "CPVC"]'
    assert asked in HARBOUR
    text = HARBOUR.replace("generic-condensing-boiler-100", "generic-tankless-180").replace(asked, "")
    kept = [line for line in text.splitlines() if not line.startswith("sizes")]
    (place / "house.toml").write_text("\n".join(kept), encoding="utf-8")
    assert run(["plan", str(place / "house.toml"), "--quiet", "--out", str(place / "out")]) == 0
    return place


@pytest.fixture(scope="module")
def route(folder):
    return json.loads((folder / "out" / "plan.json").read_text(encoding="utf-8"))["routes"][0]


def test_every_piece_is_a_length_that_is_sold_or_one_that_is_set(route):
    # Against the catalog's own rows, read apart from the kit.
    catalog = load_catalog()
    pieces = [part for part in route["parts"] if part["kind"] == "pipe"]
    assert pieces
    for part in pieces:
        row = find_item(catalog, part["item"])
        if part["item"].startswith("adjustable-"):
            assert row.least_m - 1e-9 <= part["cut_m"] <= row.most_m + 1e-9
        else:
            assert min(abs(part["cut_m"] - length) for length in row.stick_m) <= WITHIN_M


def test_ranges_that_are_made_up_are_shown_as_made_up(route):
    (finding,) = [found for found in route["findings"] if found["rule"] == "parts.whole"]
    assert finding["verdict"] == "pass"
    assert finding["note"].endswith("(invented)")  # the grade of the rows of adjustables.csv


def test_what_is_bought_is_what_is_built_in(route):
    built = Counter(part["item"] for part in route["parts"] if part["item"])
    bought = Counter()
    for line in route["shopping"]:
        bought[line["item"]] += line["quantity"]
    assert {item: bought[item] for item in built} == dict(built)


def test_level_runs_fall_to_the_terminal_and_the_job_sheet_says_so(folder, route):
    slopes = []
    for leg in route["runs"]:
        start, end = leg["start_m"], leg["end_m"]
        flat = math.hypot(end[0] - start[0], end[1] - start[1])
        if flat > 0.05 and abs(end[2] - start[2]) < 0.1 * flat:
            slopes.append((end[2] - start[2]) / flat)
    assert slopes
    assert max(slopes) <= -1 / 48 + 1e-6  # 1/4 in per ft, an appliance's pitch where its file names none
    pages = pypdfium2.PdfDocument((folder / "out" / "sheet.pdf").read_bytes())
    words = " ".join(" ".join(page.get_textpage().get_text_range() for page in pages).split())
    assert "in per ft down, away from the appliance" in words
    assert "This vent is not sawn" in words
    assert "Saw the pieces" not in words


def test_the_route_passes_its_own_check(folder):
    assert run(["check", str(folder / "house.toml"), str(folder / "out" / "plan.json"), "--quiet"]) == 0
