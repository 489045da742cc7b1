"""With `--units metric` nothing that a person reads is in inches, feet, degrees Fahrenheit or psi.

Left as they are: nominal sizes of inch pipe, which are names, and what a cited source calls its own table.
"""

from __future__ import annotations

import csv
import html
import io
import json
import re
from pathlib import Path

import pypdfium2
import pytest
from openpyxl import load_workbook

from ventroute.cli.main import run
from ventroute.cli.plan import DEMOS

NOMINAL = r"[0-9]+(?: [0-9]/[0-9]+)? in(?: to [0-9/ ]+ in)?(?= (?:PVC|CPVC|ABS|stainless|pipe|reducer|increaser)\b)"
# A size that stands for itself: a cell of its own, a subject, or behind these words.
ALONE = r"(?:(?<=; )|(?<=, )|(?<=of )|(?<=collar )|(?<=COLLAR )|(?<=TERMINAL )|(?<=\())[1-6](?: 1/2)? in(?=[;,:.)]| ;| and [0-9])"
US = re.compile(r"[0-9] ?(?:in2|in w\.c\.|in|ft|degF|°F|psi|Btu/h|US gal/h)(?![\w.])(?! the )")


def cited(plan: Path) -> list[str]:
    """What the plan's sources are called, longest first."""
    routes = json.loads(plan.read_text())["routes"]
    return sorted({f["source"] for route in routes for f in route["findings"]}, key=len, reverse=True)


def imperial(text: str, sources: list[str], *, page: bool = False) -> list[str]:
    """The pieces of a text with a US unit that is no nominal size and no citation's own words."""
    flat = re.sub(r"000(?:; ;)? (?:000 )?Btu/h \(invented\)", "", " ".join(text.split()))  # the appliances' own names
    for source in sources:
        flat = flat.replace(source, "")
    flat = re.sub(NOMINAL, "SIZE", flat)
    flat = re.sub(r"(?<![0-9./] )(?<![0-9./])[1-6] in\b" if page else ALONE, "SIZE", flat)
    return [flat[max(0, m.start() - 50) : m.end() + 20] for m in US.finditer(flat)]


def texts(folder: Path) -> dict[str, str]:
    """What stands in each file, but for the plan and the site, which keep their own units."""
    found = {}
    for path in sorted(folder.iterdir()):
        if path.suffix in (".csv", ".svg"):
            found[path.name] = path.read_text(encoding="utf-8-sig")
        elif path.suffix == ".xlsx":
            rows = (row for sheet in load_workbook(path) for row in sheet.iter_rows(values_only=True))
            found[path.name] = "\n".join(f"{cell}; " for row in rows for cell in row if cell is not None)
        elif path.suffix == ".html":
            page = re.sub(r"<(script|style)\b.*?</\1>|src=\"data:[^\"]*\"", " ", path.read_text(), flags=re.DOTALL)
            found[path.name] = html.unescape(re.sub(r"<[^>]+>", " ; ", page))
        elif path.suffix == ".pdf":
            pages = pypdfium2.PdfDocument(path)
            found[path.name] = "\n".join(page.get_textpage().get_text_bounded() for page in pages)
    for name in [name for name in found if name.endswith(".csv")]:
        rows = csv.reader(io.StringIO(found[name]))
        found[name] = "\n".join(f"{cell}; " for row in rows for cell in row)
    for name in [name for name in found if name.endswith(".svg")]:
        found[name] = "\n".join(f"{word}; " for word in re.findall(r">([^<>]+)<", found[name]))
    return found


@pytest.mark.parametrize("demo", DEMOS)
def test_the_terminal_and_every_list_are_metric(demo, tmp_path, capsys):
    assert run(["demo", demo, "--units", "metric", "--out", str(tmp_path)]) == 0
    sources = cited(tmp_path / "plan.json")
    said = texts(tmp_path) | {"terminal": capsys.readouterr().out}
    # On a printed page the columns run together: there, any whole size may stand for itself.
    left = {name: imperial(text, sources, page=name.endswith(".pdf")) for name, text in said.items()}
    assert {name: found for name, found in left.items() if found} == {}


def test_the_test_sees_what_is_not_metric(tmp_path, capsys):
    assert run(["demo", DEMOS[0], "--out", str(tmp_path)]) == 0
    said = imperial(capsys.readouterr().out, cited(tmp_path / "plan.json"))
    assert len(said) > 20


def test_metric_pipe_goes_by_its_own_size(tmp_path, capsys):
    # The first house has polypropylene routes, which the trade sells as DN 80.
    assert run(["demo", "alder-cottage", "--units", "metric", "--out", str(tmp_path)]) == 0
    said = texts(tmp_path) | {"terminal": capsys.readouterr().out}
    assert "DN 80 PP to the roof" in said["terminal"]
    assert not [name for name, text in said.items() if re.search(r"\b3 in PP\b|\bPP 3 in\b", text)]
