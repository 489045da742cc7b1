"""The README says what is so."""

import re
import subprocess
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
README = (TOP / "README.md").read_text()


def test_the_first_two_commands_set_up_everything():
    blocks = re.findall(r"```sh\n(.*?)```", README, re.S)
    assert len(blocks[0].strip().splitlines()) == 1
    assert len(blocks[1].strip().splitlines()) == 1
    assert "ventroute demo" in blocks[0]
    assert "python -m pytest" in blocks[1]


def test_every_file_that_it_links_to_exists():
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (TOP / target).exists(), target


def test_ci_runs_the_readmes_commands():
    script = (TOP / ".ci" / "run").read_text()
    assert "ventroute demo" in script
    assert "python -m pytest" in script


def test_the_top_level_holds_only_what_it_should():
    listed = subprocess.run(["git", "ls-files"], cwd=TOP, capture_output=True, text=True)
    if listed.returncode:  # not a checkout: an unpacked source distribution
        return
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert top <= {
        "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "ventroute", "catalogs", "viewer", "tests", ".ci", ".gitignore",
    }  # fmt: skip
