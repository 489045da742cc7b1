"""Stock and price files: read however they are laid out, refused wherever they are not clear."""

from __future__ import annotations

import contextlib
import datetime
import io
import tempfile
import time
import zipfile
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ventroute.catalog.lookup import load_catalog, shelf
from ventroute.errors import InputError
from ventroute.io.tables import read_tables
from ventroute.model.shelf import Offer, Stock

approx = pytest.approx
FT, IN = 0.3048, 0.0254
SHELF = shelf(load_catalog())
ELBOW, PIPE, CAN = "elbow-90-pvc-3", "pipe-pvc-40-3", "cement-pvc-pint"


def have(tmp_path: Path, text: str | bytes, name: str = "have.csv") -> Stock:
    path = tmp_path / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_tables(path, None, SHELF)


def prices(tmp_path: Path, text: str | bytes, name: str = "prices.csv") -> Stock:
    path = tmp_path / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_tables(None, path, SHELF)


def sheet(*rows: tuple[object, ...]) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_columns_may_come_in_any_order_and_under_common_names(tmp_path):
    stock = prices(tmp_path, f"Shop,Qty on shelf,Cost,SKU\nMill St,,4.50,{ELBOW}\n".replace("Qty on shelf", "in stock"))
    assert stock.offers == (Offer(ELBOW, 4.5, 1, None, "Mill St"),)


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_commas_semicolons_and_tabs_divide_columns(tmp_path, mark):
    assert have(tmp_path, f"item{mark}qty\n{ELBOW}{mark}3\n").have == {ELBOW: 3}


def test_pipe_at_home_is_kept_piece_by_piece(tmp_path):
    stock = have(tmp_path, f'item,qty,length\n{PIPE},2,4 ft 2 1/2 in\n{PIPE},,"7\' 6-1/2"""\n')
    assert stock.pieces == {PIPE: approx((90.5 * IN, 50.5 * IN, 50.5 * IN))}


@pytest.mark.parametrize(
    ("header", "cell", "metres"),
    [("length (in)", "62.5", 62.5 * IN), ("Length_m", "1.25", 1.25), ("length in feet", "3", 3 * FT),
     ("length [cm]", "98", 0.98), ("length (in)", "4 ft", 4 * FT)],
)  # fmt: skip
def test_a_columns_name_may_carry_the_unit(tmp_path, header, cell, metres):
    assert have(tmp_path, f"item,{header}\n{PIPE},{cell}\n").pieces[PIPE] == approx((metres,))


def test_two_heaps_of_one_part_add_up(tmp_path):
    assert have(tmp_path, f"item,qty\n{ELBOW},3\n{ELBOW},2 pcs\n").have == {ELBOW: 5}


def test_a_whole_description_is_as_good_as_an_id(tmp_path):
    words = SHELF.goods[ELBOW].description.upper().replace(",", "")
    assert have(tmp_path, f"description,qty\n{words},1\n").have == {ELBOW: 1}


def test_an_id_goes_before_a_description(tmp_path):
    assert have(tmp_path, f"item,description,qty\n{ELBOW},whatever,1\n").have == {ELBOW: 1}


def test_a_near_description_is_asked_back_not_guessed(tmp_path):
    with pytest.raises(InputError) as caught:
        have(tmp_path, "description,qty\n3 in PVC copling,1\n")
    (fault,) = caught.value.faults
    assert (fault.line, fault.key) == (2, "item")
    assert "did you mean coupling-pvc-3 (3 in PVC coupling)" in fault.what


def test_prices_in_packs_and_of_one(tmp_path):
    assert prices(tmp_path, f"item,price,pack size\n{ELBOW},30,10\n").price(ELBOW) == approx(3.0)
    each = prices(tmp_path, f"item,price each,pack size\n{ELBOW},3,10\n")
    assert each.offers == (Offer(ELBOW, 30.0, 10),)


@pytest.mark.parametrize(("cell", "count"), [("none", 0), ("Sold out", 0), ("0", 0), ("", None), ("7", 7)])
def test_stock_counts(tmp_path, cell, count):
    assert prices(tmp_path, f"item,price,stock\n{ELBOW},3,{cell}\n").available(ELBOW) == count


@pytest.mark.parametrize("cell", ["4.5", "$4.50", "$ 4.50", "4.50 USD", "usd 4.5"])
def test_prices_may_carry_their_sign(tmp_path, cell):
    assert prices(tmp_path, f"item,price\n{ELBOW},{cell}\n").price(ELBOW) == 4.5


def test_a_blank_price_is_not_known_and_not_nothing(tmp_path):
    stock = prices(tmp_path, f"item,price,stock\n{ELBOW},,4\n")
    assert stock.price(ELBOW) is None
    assert stock.available(ELBOW) == 4


def test_each_stick_has_its_price(tmp_path):
    stock = prices(tmp_path, f"item,length,price\n{PIPE},10 ft,22\n{PIPE},60 in,13\n")
    assert stock.price(PIPE, 10 * FT) == 22
    assert stock.price(PIPE, 5 * FT) == 13


def test_cement_has_prices_too(tmp_path):
    assert prices(tmp_path, f"item,price\n{CAN},9\n").price(CAN) == 9


def test_columns_of_no_interest_are_passed_over(tmp_path):
    assert have(tmp_path, f"aisle,item,qty,colour\n4,{ELBOW},1,white\n").have == {ELBOW: 1}


def test_with_a_price_file_the_demonstration_prices_are_gone(tmp_path):
    defaults = (Offer(ELBOW, 1.0), Offer(CAN, 1.0))
    path = tmp_path / "prices.csv"
    path.write_text(f"item,price\n{ELBOW},3\n")
    assert read_tables(None, path, SHELF, defaults).price(CAN) is None
    assert read_tables(None, None, SHELF, defaults).price(CAN) == 1.0


def test_a_workbook_reads_as_its_csv_does(tmp_path):
    rows = [("Item", "Qty", "Length (in)"), (ELBOW, 3, None), (PIPE, 1, 62.5), (None, None, None), (CAN, "2", None)]
    text = "\n".join(",".join("" if cell is None else str(cell) for cell in row) for row in rows)
    assert have(tmp_path, sheet(*rows), "have.xlsx") == have(tmp_path, text)


def test_a_number_in_a_workbook_keeps_its_decimals(tmp_path):
    assert prices(tmp_path, sheet(("item", "price"), (ELBOW, 12.99)), "p.xlsx").price(ELBOW) == 12.99


def test_faults_of_both_files_come_at_once(tmp_path):
    (tmp_path / "h.csv").write_text("item,qty\nnope,1\n")
    (tmp_path / "p.csv").write_text(f"item,price\n{ELBOW},cheap\n{ELBOW},-2\n")
    with pytest.raises(InputError) as caught:
        read_tables(tmp_path / "h.csv", tmp_path / "p.csv", SHELF)
    assert [(Path(f.file).name, f.line) for f in caught.value.faults] == [("h.csv", 2), ("p.csv", 2), ("p.csv", 3)]


def test_many_unknown_rows_are_refused_quickly(tmp_path):
    text = "item,qty\n" + "".join(f"some thing nobody sells {n},1\n" for n in range(5000))
    start = time.process_time()
    with pytest.raises(InputError):
        have(tmp_path, text)
    assert time.process_time() - start < 30  # against every name in the catalog it would be minutes


def bomb() -> bytes:
    """A workbook whose sheet unpacks to 30 MB."""
    source, out = zipfile.ZipFile(io.BytesIO(sheet(("item",)))), io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name in source.namelist():
            made.writestr(name, b" " * 30_000_000 if "sheet1" in name else source.read(name))
    return out.getvalue()


def changed(old: bytes, new: bytes, member: str = "xl/worksheets/sheet1.xml") -> bytes:
    """A good workbook with one thing in it replaced."""
    source, out = zipfile.ZipFile(io.BytesIO(sheet(("item", "qty"), (ELBOW, 1)))), io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for name in source.namelist():
            text = source.read(name)
            made.writestr(name, text.replace(old, new) if name == member else text)
    return out.getvalue()


def without(member: str) -> bytes:
    source, out = zipfile.ZipFile(io.BytesIO(sheet(("item", "qty"), (ELBOW, 1)))), io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for name in source.namelist():
            if name != member:
                made.writestr(name, source.read(name))
    return out.getvalue()


ENTITY = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><worksheet'
GOOD = sheet(("item", "qty"), (ELBOW, 1))
BROKEN_HAVE: dict[str, tuple[bytes, int]] = {
    "empty": (b"", 1),
    "blank lines": (b"\n\n,,\n", 1),
    "not utf-8": (b"item,qty\n\xff\xfe,1\n", 2),
    "utf-16": ("item,qty\n".encode("utf-16"), 1),
    "nul": (b"item,qty\nelbow\x00,1\n", 2),
    "escape": (b"item,qty\nelbow\x1b[31m,1\n", 2),
    "open quote": (b'item,qty\n"elbow-90-pvc-3,1\n', 2),
    "no item column": (b"qty\n3\n", 1),
    "misspelt column": (f"item,quantty\n{ELBOW},3\n".encode(), 1),
    "column twice": (f"item,qty,count\n{ELBOW},3,4\n".encode(), 1),
    "unknown item": (b"item,qty\nelbow-91-pvc-3,1\n", 2),
    "no item": (b"item,qty\n,1\n", 2),
    "no quantity": (f"item,qty\n{ELBOW},\n".encode(), 2),
    "no quantity column": (f"item\n{ELBOW}\n".encode(), 2),
    "negative": (f"item,qty\n{ELBOW},-1\n".encode(), 2),
    "half an elbow": (f"item,qty\n{ELBOW},1.5\n".encode(), 2),
    "not a number": (f"item,qty\n{ELBOW},nan\n".encode(), 2),
    "infinite": (f"item,qty\n{ELBOW},inf\n".encode(), 2),
    "exponent": (f"item,qty\n{ELBOW},1e3\n".encode(), 2),
    "underscore": (f"item,qty\n{ELBOW},1_0\n".encode(), 2),
    "other digits": (f"item,qty\n{ELBOW},\uff13\n".encode(), 2),
    "words": (f"item,qty\n{ELBOW},three\n".encode(), 2),
    "pipe without a length": (f"item,qty\n{PIPE},1\n".encode(), 2),
    "length without a unit": (f"item,qty,length\n{PIPE},1,50\n".encode(), 2),
    "length of nothing": (f"item,length\n{PIPE},0 in\n".encode(), 2),
    "length of a street": (f"item,length\n{PIPE},300 ft\n".encode(), 2),
    "decimal comma": (f'item,length\n{PIPE},"2,3 m"\n'.encode(), 2),
    "elbow with a length": (f"item,qty,length\n{ELBOW},1,2 ft\n".encode(), 2),
    "too many cells": (f"item,qty\n{ELBOW},1,2\n".encode(), 2),
    "too many columns": (b"item," + b"x," * 80 + b"qty\n", 1),
    "a long cell": (b"item,qty\n" + b"e" * 500 + b",1\n", 2),
    "too many pieces": (f"item,qty,length\n{PIPE},5000,1 ft\n".encode(), 2),
    "too large": (b"item,qty\n" + b"x" * 4_100_000, 1),
    "an old workbook": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, 1),
    "a cut-off workbook": (GOOD[:900], 1),
    "a zip of something else": (without("xl/workbook.xml"), 1),
    "a workbook without its sheet": (without("xl/worksheets/sheet1.xml"), 1),
    "a workbook without links": (without("xl/_rels/workbook.xml.rels"), 1),
    "entities": (changed(b"<worksheet", ENTITY), 1),
    "broken xml": (changed(b"</worksheet>", b""), 1),
    "a formula": (sheet(("item", "qty"), (ELBOW, "=1+1")), 2),
    "a date for a fraction": (sheet(("item", "qty"), (ELBOW, datetime.date(2026, 2, 1))), 2),
    "true": (sheet(("item", "qty"), (ELBOW, True)), 2),
    "an error": (changed(b'<c r="B2" t="n"><v>1</v></c>', b'<c r="B2" t="e"><v>#N/A</v></c>'), 2),
    "a text that is not there": (changed(b'<c r="B2" t="n"><v>1</v>', b'<c r="B2" t="s"><v>99</v>'), 2),
    "a number that is none": (changed(b'<c r="B2" t="n"><v>1</v>', b'<c r="B2" t="n"><v>x</v>'), 2),
    "infinity in a cell": (changed(b'<c r="B2" t="n"><v>1</v>', b'<c r="B2" t="n"><v>inf</v>'), 2),
    "a bomb": (bomb(), 1),
}


@pytest.mark.parametrize("name", BROKEN_HAVE)
def test_a_broken_file_is_refused_with_its_row(tmp_path, name):
    raw, line = BROKEN_HAVE[name]
    with pytest.raises(InputError) as caught:
        have(tmp_path, raw)
    fault = caught.value.faults[0]
    assert fault.file.endswith("have.csv")
    assert fault.line == line
    assert fault.what
    assert all(sign.isprintable() for sign in str(fault))


BROKEN_PRICES: dict[str, tuple[str, int]] = {
    "no price column": (f"item\n{ELBOW}\n", 1),
    "two price columns": (f"item,price,price each\n{ELBOW},3,3\n", 1),
    "another currency": (f"item,price (eur)\n{ELBOW},3\n", 1),
    "another sign": (f"item,price\n{ELBOW},€3\n", 2),
    "decimal comma": (f'item,price\n{ELBOW},"12,50"\n', 2),
    "thousands": (f'item,price\n{ELBOW},"1,250.00"\n', 2),
    "nothing": (f"item,price\n{ELBOW},0\n", 2),
    "less than nothing": (f"item,price\n{ELBOW},-3\n", 2),
    "not a number": (f"item,price\n{ELBOW},nan\n", 2),
    "exponent": (f"item,price\n{ELBOW},1e2\n", 2),
    "words": (f"item,price\n{ELBOW},ask\n", 2),
    "an empty pack": (f"item,price,pack\n{ELBOW},3,0\n", 2),
    "half a pack": (f"item,price,pack\n{ELBOW},3,2.5\n", 2),
    "stock in words": (f"item,price,stock\n{ELBOW},3,plenty\n", 2),
    "twice in one shop": (f"item,price\n{ELBOW},3\n{ELBOW},4\n", 3),
    "a stick without a length": (f"item,price\n{PIPE},22\n", 2),
    "a stick nobody knows": (f"item,price,length\n{PIPE},22,7 ft\n", 2),
    "an elbow by the foot": (f"item,price,length\n{ELBOW},3,1 ft\n", 2),
    "unknown item": ("item,price\nelbow,3\n", 2),
}


@pytest.mark.parametrize("name", BROKEN_PRICES)
def test_a_price_that_is_not_clear_is_refused(tmp_path, name):
    text, line = BROKEN_PRICES[name]
    with pytest.raises(InputError) as caught:
        prices(tmp_path, text)
    assert caught.value.faults[0].line == line


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    for path in (tmp_path / "none.csv", tmp_path, Path("a\0b")):
        with pytest.raises(InputError):
            read_tables(path, None, SHELF)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(raw):
    with tempfile.TemporaryDirectory() as folder:
        for head in (b"", b"item,qty\n", GOOD[:400]):
            with contextlib.suppress(InputError):
                have(Path(folder), head + raw)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, len(GOOD) - 1), st.integers(0, 255))
def test_a_workbook_with_one_byte_wrong_is_read_right_or_refused(at, byte):
    raw = GOOD[:at] + bytes([byte]) + GOOD[at + 1 :]
    with tempfile.TemporaryDirectory() as folder, contextlib.suppress(InputError):
        assert have(Path(folder), raw).have == {ELBOW: 1}


@given(st.floats(0.01, 99999).map(lambda price: round(price, 2)))
def test_no_price_is_changed_by_reading(price):
    with tempfile.TemporaryDirectory() as folder:
        assert prices(Path(folder), f"item,price\n{ELBOW},{price:.2f}\n").price(ELBOW) == price
