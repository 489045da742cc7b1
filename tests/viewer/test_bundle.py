"""The script that is shipped is what its sources make."""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from ventroute.viewer.markup import script, static

HERE = Path(__file__).parents[2] / "viewer"


@pytest.mark.skipif(shutil.which("npm") is None and not os.environ.get("CI"), reason="no npm here to build with")
def test_the_shipped_bundle_is_the_one_its_sources_make(tmp_path):
    made = tmp_path / "app.js"
    subprocess.run(["sh", str(HERE / "src" / "build.sh"), str(made)], check=True, timeout=300, capture_output=True)
    assert made.read_bytes() == (HERE / "static" / "app.js").read_bytes()


def test_the_bundle_can_stand_inside_a_page():
    inline = script()
    assert "</script" not in inline.lower()
    assert "<!--" not in inline


def test_the_bundle_names_its_libraries_licences():
    # the MIT licence asks that its notice goes with copies
    assert "SPDX-License-Identifier: MIT" in static("app.js")


def test_the_bundle_fetches_nothing_of_its_own_accord():
    addresses = set(re.findall(r"https?://[\w./-]+", static("app.js")))
    # names of XML kinds, and links in warnings: text, never asked for
    assert all(re.match(r"https?://(www\.w3\.org|threejs\.org|github\.com|discourse\.|fb\.me)", a) for a in addresses)


def test_the_lock_file_names_no_place_to_fetch_from():
    assert '"resolved"' not in (HERE / "src" / "package-lock.json").read_text()
