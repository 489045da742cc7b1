"""What is written reads back as the same site, to the last bit."""

from __future__ import annotations

import struct
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.badsites.cases import DRAIN, GOOD
from tests.io.any_sites import lengths, sites
from ventroute.catalog.lookup import load_catalog
from ventroute.catalog.paths import catalogs_folder
from ventroute.io.site_file import read_site, read_site_text, write_site
from ventroute.io.site_write import Lengths
from ventroute.units import METRES, parse_length

DEMOS = sorted((catalogs_folder() / "sites").glob("*.toml"))
SLOW = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


@SLOW
@given(sites(), st.sampled_from(list(METRES)))
def test_any_site_comes_back_as_itself_in_any_unit(site, unit):
    text = write_site(site, unit)
    assert read_site_text(text, "house.toml", Path()) == site


@SLOW
@given(sites())
def test_a_written_file_is_written_again_the_same(site):
    text = write_site(site, "ft")
    assert write_site(read_site_text(text, "house.toml", Path()), "ft") == text


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
@pytest.mark.parametrize("unit", METRES)
def test_a_demonstration_comes_back_as_itself(path, unit):
    rows = load_catalog().appliances
    site = read_site(path, rows)
    assert read_site_text(write_site(site, unit), "house.toml", path.parent, rows) == site


def tetrahedron() -> bytes:
    """A closed binary STL: four triangles between four corners."""
    corners = ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    out = b" " * 80 + struct.pack("<I", 4)
    for face in ((0, 2, 1), (0, 1, 3), (1, 2, 3), (0, 3, 2)):
        out += struct.pack("<12fH", 0, 0, 0, *(x for n in face for x in corners[n]), 0)
    return out


def test_a_mesh_comes_back_with_its_triangles_scaled_and_moved(tmp_path):
    (tmp_path / "drain.stl").write_bytes(tetrahedron())
    text = GOOD.replace(DRAIN, 'mesh = "drain.stl"\nscale = "2 ft"\nmove = [1, 2, -1]')
    site = read_site_text(text, "house.toml", tmp_path)
    drain = site.obstacles[1]
    corners = drain.triangles.reshape(-1, 3).tolist()
    wanted = {(1, 2, -1), (3, 2, -1), (1, 4, -1), (1, 2, 1)}  # in feet: each side of the file is 2 ft long
    assert {tuple(round(part / 0.3048, 9) for part in corner) for corner in corners} == wanted
    again = read_site_text(write_site(site), "house.toml", tmp_path)
    assert again == site
    assert (again.obstacles[1].triangles == drain.triangles).all()


@given(lengths(-900, 900), st.sampled_from(list(METRES)))
def test_a_written_length_reads_back_to_the_last_bit(length_m, unit):
    written = Lengths(unit)
    for text in (written.bare(length_m), written.said(length_m)):
        value = text.strip('"') if text.startswith('"') else float(text)
        assert parse_length(value, unit) == length_m


def test_whole_inches_are_written_as_people_say_them():
    # The house's own words: the room is 7 ft 2 in high, the hole 6 in, the coordinates plain feet.
    site = read_site_text(GOOD, "house.toml", Path())
    text = write_site(site, "ft")
    for line in ('size = ["12 ft", "9 ft", "7 ft 2 in"]', 'clear = "6 in"', "at = [6, 4, 2]", 'input = "120000 Btu/h"',
                 'exhaust_max = "149 degF"', 'pitch = "1/4 in per ft"', 'axis = "up"', 'winter = "5 degF"'):  # fmt: skip
        assert line in text.splitlines()


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=60))
def test_any_source_text_is_quoted_safely(source):
    text = GOOD.replace('source = "invented for these tests"\n', "")
    site = read_site_text(text, "house.toml", Path())
    noted = replace(site, appliance=replace(site.appliance, source=source))
    assert read_site_text(write_site(noted), "house.toml", Path()) == noted
