"""The lists as CSV, workbook and phone page."""

from __future__ import annotations

import csv
import io
import re
import shutil
import subprocess
import zipfile
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.shop.small_routes import house, kit, laid, the_shelf
from ventroute.io.shopping_file import COLUMNS, cuts_csv, phone_html, safe, shopping_csv, shopping_xlsx
from ventroute.model.plan import PlannedRoute, ShoppingLine
from ventroute.model.shelf import Offer, Stock
from ventroute.shop.count import shopping
from ventroute.units import parse_length

approx = pytest.approx
UP = [(0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (4.0, 0.0, 1.0), (4.0, 0.0, 2.0)]
NASTY = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "＝1+1", '=HYPERLINK("http://x","y")']


def planned(stock: Stock | None = None) -> PlannedRoute:
    route = laid(UP)
    bill = shopping(route, house(), the_shelf(), stock or prices())
    return PlannedRoute("1", route, 30.0, 5.0, True, bill.cost, (), bill.lines, bill.cuts, None)


def prices() -> Stock:
    pipe = kit().pipe.item
    offers = [Offer(item, 3.25, 2 if "elbow" in item else 1) for item in sorted(the_shelf().goods) if item != pipe]
    return Stock({kit().bends[0].item: 1}, {}, (*offers, Offer(pipe, 22.99, length_m=3.048)))


def with_line(**changes: object) -> PlannedRoute:
    line = replace(ShoppingLine("item", "words", 1, "each", "why"), **changes)  # type: ignore[arg-type]
    return replace(planned(), shopping=(line,))


def rows(raw: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(raw.decode(), newline="")))


def test_the_csv_has_every_line_with_its_cost():
    plan = planned()
    read = rows(shopping_csv(plan))
    assert [row["item"] for row in read] == [line.item for line in plan.shopping]
    for row, line in zip(read, plan.shopping, strict=True):
        assert float(row["quantity"]) == line.quantity
        assert row["cost"] == "" if line.cost is None else float(row["cost"]) == approx(line.cost, abs=5e-4)
        assert row["why"] == line.why


def test_large_prices_keep_their_cents():
    assert rows(shopping_csv(with_line(price=12345.67)))[0]["price each"] == "12345.67"


def test_a_price_that_nobody_knows_is_blank_and_not_0():
    row = rows(shopping_csv(with_line(price=None)))[0]
    assert (row["price each"], row["cost"]) == ("", "")


def test_the_cut_list_has_every_piece_and_its_tape_reading():
    plan = planned()
    read = rows(cuts_csv(plan))
    pieces = [(label, m) for cut in plan.cuts for label, m in zip(cut.labels, cut.pieces_m, strict=True)]
    assert [row["part"] for row in read] == [label for label, _ in pieces]
    for row, (_, metres) in zip(read, pieces, strict=True):
        assert parse_length(row["cut length"], None) == approx(metres, abs=0.0254 / 32 + 1e-9)
    marks = [mark for cut in plan.cuts for mark in cut.marks_m]
    read_marks = [row["tape reads"] for row in read if row["tape reads"] != "the stick's end"]
    assert [parse_length(mark, None) for mark in read_marks] == approx(marks, abs=1e-6)


def test_a_piece_that_fills_its_stick_needs_no_mark():
    route = laid([(0.0, 0.0, 0.0), (0.0, 0.0, 3.048)])
    bill = shopping(route, house(), the_shelf(), Stock())
    plan = replace(planned(), route=route, cuts=bill.cuts)
    assert [row["tape reads"] for row in rows(cuts_csv(plan))] == ["the stick's end"]


def test_metric_lists_read_in_metres():
    assert rows(cuts_csv(planned(), "metric"))[0]["cut length"].endswith(" m")


def test_the_workbook_reads_back_as_the_list():
    plan = planned()
    sheet = openpyxl.load_workbook(io.BytesIO(shopping_xlsx(plan)))["shopping"]
    assert tuple(cell.value for cell in sheet[1]) == COLUMNS
    assert [sheet.cell(n + 2, 1).value for n in range(len(plan.shopping))] == [line.item for line in plan.shopping]
    assert [sheet.cell(n + 2, 3).value for n in range(len(plan.shopping))] == [x.quantity for x in plan.shopping]


def test_the_workbooks_kept_values_are_the_plans_costs():
    plan = planned()
    sheet = openpyxl.load_workbook(io.BytesIO(shopping_xlsx(plan)), data_only=True)["shopping"]
    for n, line in enumerate(plan.shopping, start=2):
        assert sheet.cell(n, 7).value == line.packs * line.pack
        kept = sheet.cell(n, 9).value
        assert (kept in (None, "")) if line.cost is None else kept == approx(line.cost)
    last = len(plan.shopping) + 2
    assert sheet.cell(last, 9).value == approx(plan.cost)
    assert sheet.cell(last + 1, 9).value == sum(line.cost is None for line in plan.shopping)


def worth(sheet: object, cell: str) -> float | str:
    """A cell's value by our own reading of the few formulas used (oracle for the sums)."""
    text = sheet[cell].value  # type: ignore[index]
    if not isinstance(text, str) or not text.startswith("="):
        return "" if text is None else text
    if match := re.fullmatch(r"=SUM\(I2:I(\d+)\)", text):
        values = (worth(sheet, f"I{n}") for n in range(2, int(match[1]) + 1))
        return sum(value for value in values if not isinstance(value, str))
    if match := re.fullmatch(r"=CEILING\(MAX\(0,C(\d+)-F\1\)/(\d+),1\)\*\2", text):
        missing = max(0, float(worth(sheet, f"C{match[1]}")) - float(worth(sheet, f"F{match[1]}")))
        return -int(-missing // int(match[2])) * int(match[2])
    match = re.fullmatch(r'=IF\(G(\d+)=0,0,IF\(H\1="","",G\1\*H\1\)\)', text)
    assert match, text
    count, price = worth(sheet, f"G{match[1]}"), worth(sheet, f"H{match[1]}")
    return 0 if count == 0 else "" if price == "" else float(count) * float(price)


def test_the_formulas_add_up():
    plan = planned()
    sheet = openpyxl.load_workbook(io.BytesIO(shopping_xlsx(plan)))["shopping"]
    assert worth(sheet, f"I{len(plan.shopping) + 2}") == approx(plan.cost)
    for n, line in enumerate(plan.shopping, start=2):
        assert worth(sheet, f"I{n}") == ("" if line.cost is None else approx(line.cost))


@pytest.mark.skipif(shutil.which("soffice") is None, reason="no spreadsheet program here")
def test_a_spreadsheet_program_finds_the_same_total(tmp_path):
    plan = planned()
    (tmp_path / "list.xlsx").write_bytes(shopping_xlsx(plan))
    subprocess.run(["soffice", "--headless", "--convert-to", "csv", "list.xlsx"], cwd=tmp_path, check=True, timeout=120)
    last = list(csv.reader((tmp_path / "list.csv").open()))[len(plan.shopping) + 1]
    assert float(last[8]) == approx(plan.cost, abs=0.01)


@pytest.mark.parametrize("text", NASTY)
def test_no_cell_begins_as_a_formula(text):
    plan = with_line(item=text, description=text, why=text, shop=text)
    plan = replace(plan, cuts=tuple(replace(cut, item=text, labels=(text,) * len(cut.labels)) for cut in plan.cuts))
    for raw in (shopping_csv(plan), cuts_csv(plan)):
        for row in csv.reader(io.StringIO(raw.decode(), newline="")):
            assert not any(re.match(r"\s*[=+\-@＝＋－＠]", cell) for cell in row)
    book = openpyxl.load_workbook(io.BytesIO(shopping_xlsx(plan)))
    for sheet in book:
        for cell in (cell for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)):
            ours = re.match(r"=(CEILING|IF|SUM|COUNTIF)\(", cell.value)
            assert ours or not re.match(r"\s*[=+\-@＝＋－＠]", cell.value)


@given(st.text(max_size=20))
def test_safe_text_is_the_text_or_has_an_apostrophe_before_it(text):
    assert safe(text) in (text, "'" + text)
    assert not re.match(r"[=+\-@\t\r\n]", safe(text))


def test_the_same_list_gives_the_same_bytes():
    for make in (shopping_csv, shopping_xlsx, cuts_csv, phone_html):
        assert make(planned()) == make(planned())


def test_the_workbook_holds_no_macro_no_link_and_no_clock():
    names = zipfile.ZipFile(io.BytesIO(shopping_xlsx(planned())))
    assert not [name for name in names.namelist() if "vba" in name or "external" in name]
    assert b"2026-01-01" in names.read("docProps/core.xml")


def test_the_phone_page_asks_nothing_of_the_network():
    page = phone_html(planned()).decode()
    assert "default-src 'none'" in page
    assert not re.search(r"(src|href)=|https?:|@import|url\(|fetch\(|XMLHttp", page)
    assert page.count('type="checkbox"') == len(planned().shopping) + len(planned().cuts)


def test_the_phone_page_has_a_tick_for_every_thing_to_do():
    page = phone_html(planned(), "us", [("Cut", ["Saw it.", "File it."]), ("Join & dry", ["<Join> it."])]).decode()
    assert [f'id="step{n}"' in page for n in ("1-1", "1-2", "2-1", "2-2")] == [True, True, True, False]
    assert "<h3>2. Join &amp; dry</h3>" in page
    assert "&lt;Join&gt; it." in page


def test_the_phone_page_says_what_governs_before_what_to_do():
    page = phone_html(planned(), "us", [("Cut", ["Saw it."])]).decode()
    for words in ("manual and the local code govern", "Licensed work", "permit", "inspection", "CO alarms"):
        assert 0 < page.index(words) < page.index("Saw it.")


def test_the_phone_page_escapes_what_it_shows():
    page = phone_html(with_line(description="<script>alert(1)</script>", why="\"&'")).decode()
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page


def test_another_list_has_ticks_of_its_own():
    keys = {re.search(r'place = "([^"]+)"', phone_html(plan).decode())[1] for plan in (planned(), with_line())}
    assert len(keys) == 2


@pytest.mark.skipif(shutil.which("chromium") is None, reason="no browser here")
def test_ticks_survive_closing_the_page(tmp_path: Path):
    playwright = pytest.importorskip("playwright.sync_api")
    (tmp_path / "phone.html").write_bytes(phone_html(planned()))
    address = (tmp_path / "phone.html").as_uri()
    with playwright.sync_playwright() as play:
        flags = ["--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking"]
        chromium = shutil.which("chromium")
        context = play.chromium.launch_persistent_context(
            str(tmp_path / "profile"), executable_path=chromium, args=flags
        )
        asked: list[str] = []
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.goto(address)
        page.check("#line1")
        page.close()
        again = context.new_page()
        again.goto(address)
        assert again.is_checked("#line1")
        assert not again.is_checked("#line0")
        assert asked == [address]
        context.close()


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 50), st.integers(0, 60), st.integers(1, 12), st.floats(0.01, 500).map(lambda p: round(p, 2)))
def test_whole_packs_cover_what_is_missing(quantity, at_home, pack, price):
    line = ShoppingLine("i", "d", quantity, "each", "w", None, price, min(quantity, at_home), pack)
    missing = quantity - min(quantity, at_home)
    assert line.packs * pack >= missing
    assert (line.packs - 1) * pack < missing or line.packs == 0
    assert line.cost == approx(line.packs * pack * price)
