"""Shopping and cut lists as files: CSV, XLSX with formulas that add up, and one page for a phone.

A spreadsheet would run text that begins with = + - @ (or a tab) as a formula; such text gets an apostrophe before it.
"""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Sequence
from html import escape
from typing import Any

from ventroute.model.plan import CutStick, PlannedRoute, ShoppingLine
from ventroute.units import decimal, format_length, format_size

COLUMNS = ("item", "description", "quantity", "unit", "length", "have", "to buy", "price each", "cost", "shop", "why")
CUT_COLUMNS = ("stick", "item", "stick length", "offcut", "part", "cut length", "tape reads", "left over")
_RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_MADE = datetime.datetime(2026, 1, 1)  # a fixed date, so that the same list gives the same bytes


def safe(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    return f"'{text}" if text.lstrip(" ").startswith(_RISKY) else text


def _row(line: ShoppingLine, units: str) -> list[Any]:
    return [
        safe(line.item), safe(line.description), line.quantity, line.unit,
        "" if line.length_m is None else format_length(line.length_m, units), line.have, line.packs * line.pack,
        line.price, line.cost, safe(line.shop), safe(line.why),
    ]  # fmt: skip


def shopping_csv(planned: PlannedRoute, units: str = "us") -> bytes:
    """The shopping list as CSV, UTF-8."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for line in planned.shopping:
        writer.writerow(["" if cell is None else _plain(cell) for cell in _row(line, units)])
    return out.getvalue().encode()


def _plain(cell: object) -> object:
    return decimal(round(cell, 3)) if isinstance(cell, float) else cell


def _cut_rows(cuts: tuple[CutStick, ...], units: str) -> list[list[Any]]:
    rows: list[list[Any]] = []
    for cut in cuts:
        for n, (label, piece) in enumerate(zip(cut.labels, cut.pieces_m, strict=True)):
            mark = format_length(cut.marks_m[n], units) if n < len(cut.marks_m) else "the stick's end"
            left = format_length(cut.waste_m, units) if n == len(cut.pieces_m) - 1 else ""
            rows.append([
                cut.stick, safe(cut.item), format_length(cut.stick_m, units), "yes" if cut.offcut else "", safe(label),
                format_length(piece, units), mark, left,
            ])  # fmt: skip
    return rows


def cuts_csv(planned: PlannedRoute, units: str = "us") -> bytes:
    """The cut list as CSV, UTF-8: one row a piece, with what the tape reads at its mark."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(CUT_COLUMNS)
    writer.writerows(_cut_rows(planned.cuts, units))
    return out.getvalue().encode()


def shopping_xlsx(planned: PlannedRoute, units: str = "us") -> bytes:
    """Both lists as XLSX; quantities, prices and the total are formulas with their values beside them."""
    import xlsxwriter

    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    book = xlsxwriter.Workbook(out, options)
    book.set_properties({"title": "Shopping list", "created": _MADE})
    _shopping_sheet(book, planned, units)
    _cut_sheet(book, planned, units)
    book.close()
    return out.getvalue()


def _shopping_sheet(book: Any, planned: PlannedRoute, units: str) -> None:
    sheet = book.add_worksheet("shopping")
    bold, money = book.add_format({"bold": True}), book.add_format({"num_format": "0.00"})
    sheet.write_row(0, 0, COLUMNS, bold)
    sheet.freeze_panes(1, 0)
    for n, line in enumerate(planned.shopping, 1):
        for k, cell in enumerate(_row(line, units)):
            if cell is not None and k not in (6, 8):
                sheet.write(n, k, cell, money if k == 7 else None)
        row = n + 1
        to_buy = f"=CEILING(MAX(0,C{row}-F{row})/{line.pack},1)*{line.pack}"
        sheet.write_formula(n, 6, to_buy, None, line.packs * line.pack)
        sheet.write_formula(n, 8, f'=IF(G{row}=0,0,IF(H{row}="","",G{row}*H{row}))', money, _cached(line))
    last = len(planned.shopping) + 1
    total = sum(line.cost or 0.0 for line in planned.shopping)
    sheet.write(last, 7, "total", bold)
    sheet.write_formula(last, 8, f"=SUM(I2:I{last})", money, total)
    sheet.write(last + 1, 7, "without price", bold)
    sheet.write_formula(last + 1, 8, f'=COUNTIF(I2:I{last},"")', None, sum(_cached(x) == "" for x in planned.shopping))
    for k, width in enumerate((24, 44, 9, 8, 12, 6, 8, 10, 10, 14, 60)):
        sheet.set_column(k, k, width)


def _cached(line: ShoppingLine) -> float | str:
    return "" if line.cost is None else line.cost


def _cut_sheet(book: Any, planned: PlannedRoute, units: str) -> None:
    sheet = book.add_worksheet("cuts")
    sheet.write_row(0, 0, CUT_COLUMNS, book.add_format({"bold": True}))
    for n, row in enumerate(_cut_rows(planned.cuts, units), 1):
        sheet.write_row(n, 0, row)
    for k, width in enumerate((7, 18, 14, 8, 7, 14, 14, 14)):
        sheet.set_column(k, k, width)


_CAUTION = (
    "The appliance's manual and the local code govern. Licensed work where the law asks for it; a permit, and an "
    "inspection before anything is covered. Flue gas holds carbon monoxide, which kills: keep working CO alarms."
)
_CUTS = "Cuts", "A mark is what the tape reads from the stick's end; saw on its far side."
_UNCUT = (
    "Lengths",
    "This vent is not sawn: whole lengths as they are sold, adjustable ones set as the order of work says.",
)
_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy"
 content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'">
<title>{title}</title><style>
body{{font:1.1rem/1.35 system-ui,sans-serif;margin:0 auto;max-width:40rem;padding:.8rem;color:#111;background:#fff}}
ul{{list-style:none;padding:0}} li{{border-bottom:1px solid #bbb}}
label{{display:flex;gap:.7rem;padding:.6rem 0}}
input{{width:1.6rem;height:1.6rem;flex:none}} small{{display:block;color:#444}}
input:checked+span{{text-decoration:line-through;color:#555}}
</style></head><body><h1>{title}</h1><p>{lead} Prices may be out of date.</p>
<p>{caution}</p><ul>{rows}</ul>
<h2>{head}</h2><p>{saw}</p><ul>{cuts}</ul>
{order}<script>
const place = "ventroute:{key}:";
for (const box of document.querySelectorAll("input")) {{
  try {{ box.checked = localStorage.getItem(place + box.id) === "1"; }} catch (_) {{}}
  box.addEventListener("change", () => {{
    try {{ localStorage.setItem(place + box.id, box.checked ? "1" : "0"); }} catch (_) {{}}
  }});
}}
</script></body></html>
"""


Steps = Sequence[tuple[str, Sequence[str]]]  # headlines, and what to do under each


def phone_html(planned: PlannedRoute, units: str = "us", order: Steps = ()) -> bytes:
    """The lists and the order of work as one page for a phone; it asks nothing of the network.

    Its ticks survive closing it.
    """
    import hashlib

    rows = "".join(_phone_row(n, line, units) for n, line in enumerate(planned.shopping))
    cuts = "".join(_phone_cut(cut, units) for cut in planned.cuts)
    kits = planned.route.kits
    pipes = ", then ".join(f"{format_size(k.size_in, k.material.name, units)} {k.material.name}" for k in kits)
    title = f"Shopping: {pipes} to the {planned.route.terminal_kind}"
    total = sum(line.cost or 0.0 for line in planned.shopping)
    work = "".join(_phone_step(n, title, lines) for n, (title, lines) in enumerate(order, 1))
    work = f"<h2>Order of work</h2>{work}" if work else ""
    key = hashlib.sha256((rows + cuts + work).encode()).hexdigest()[:12]
    head, saw = _CUTS if all(kit.pipe.can_be_cut for kit in kits) else _UNCUT
    unknown = sum(line.cost is None for line in planned.shopping)
    made_up = any(line.shop == "invented" for line in planned.shopping)
    lead = f"About {total:.2f}" + (f", and {unknown} without a price." if unknown else ".")
    lead += " Prices invented for demonstration: no shop asked them." if made_up else ""
    return _PAGE.format(
        title=escape(title), lead=lead, caution=_CAUTION, rows=rows, head=head, saw=saw, cuts=cuts, order=work, key=key
    ).encode()


def _phone_row(n: int, line: ShoppingLine, units: str) -> str:
    length = "" if line.length_m is None else f", {format_length(line.length_m, units)}"
    buy = f"{line.packs * line.pack:g} {line.unit}{length}"
    return (
        f'<li><label><input type="checkbox" id="line{n}"><span><b>{escape(buy)}</b> {escape(line.description)}'
        f"<small>{escape(line.why)}</small></span></label></li>"
    )


def _phone_step(n: int, title: str, lines: Sequence[str]) -> str:
    ticks = "".join(
        f'<li><label><input type="checkbox" id="step{n}-{m}"><span>{escape(line)}</span></label></li>'
        for m, line in enumerate(lines, 1)
    )
    return f"<h3>{n}. {escape(title)}</h3><ul>{ticks}</ul>"


def _phone_cut(cut: CutStick, units: str) -> str:
    pieces = ", ".join(f"{label}: {format_length(m, units)}" for label, m in zip(cut.labels, cut.pieces_m, strict=True))
    marks = ", ".join(format_length(mark, units, short=True) for mark in cut.marks_m)
    whole = f"{'Piece from home' if cut.offcut else 'Stick'} {cut.stick}, {format_length(cut.stick_m, units)}"
    return (
        f'<li><label><input type="checkbox" id="cut{cut.stick}"><span><b>{escape(whole)}</b> {escape(pieces)}'
        f"<small>{escape(cut.item)}{escape(f'; marks at {marks}' if marks else '')}</small></span></label></li>"
    )
