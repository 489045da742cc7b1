"""Pages of the job sheet: paragraphs, tables, drawings set between them, numbered pages."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from html import escape
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    KeepTogether,
    ListFlowable,
    ListItem,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
)

from ventroute.drawing.pdf import BOLD, POINT_PER_MM, REGULAR, paint, register_fonts
from ventroute.drawing.primitives import Drawing

PAPERS = {"letter": LETTER, "a4": A4}
MARGIN = 14.0 * POINT_PER_MM
FOOT = 9.0 * POINT_PER_MM
INK, PALE, RULE = HexColor("#111111"), HexColor("#eceff2"), HexColor("#9aa3ab")

BODY = ParagraphStyle("body", fontName=REGULAR, fontSize=8.6, leading=11.4, textColor=INK)
SMALL = ParagraphStyle("small", parent=BODY, fontSize=7.4, leading=9.6, spaceBefore=3, spaceAfter=3)
CELL = ParagraphStyle("cell", parent=BODY, fontSize=7.6, leading=9.6)
HEAD_CELL = ParagraphStyle("head", parent=CELL, fontName=BOLD)
TITLE = ParagraphStyle("title", parent=BODY, fontName=BOLD, fontSize=17, leading=21, spaceAfter=2)
HEADING = ParagraphStyle("heading", parent=BODY, fontName=BOLD, fontSize=11.5, leading=14, spaceBefore=9, spaceAfter=3)
SUB = ParagraphStyle("sub", parent=BODY, fontName=BOLD, fontSize=9, leading=12, spaceBefore=4, spaceAfter=1)


class DrawingBox(Flowable):  # type: ignore[misc]
    """A drawing in the flow of a page, never enlarged, shrunk to the room there is."""

    def __init__(self, drawing: Drawing, most_width: float, most_height: float, align: str = "CENTER") -> None:
        super().__init__()
        self.drawing = drawing
        self.factor = min(1.0, *(most / size for most, size in self._sizes(drawing, most_width, most_height)))
        self.width, self.height = (s * POINT_PER_MM * self.factor for s in (drawing.width, drawing.height))
        self.hAlign = align

    @staticmethod
    def _sizes(drawing: Drawing, width: float, height: float) -> tuple[tuple[float, float], ...]:
        return (width, drawing.width * POINT_PER_MM), (height, drawing.height * POINT_PER_MM)

    def wrap(self, *_: float) -> tuple[float, float]:
        """Size on the page [pt]."""
        return self.width, self.height

    def draw(self) -> None:
        """Paint on the page's canvas."""
        self.canv.saveState()
        self.canv.scale(self.factor * POINT_PER_MM, self.factor * POINT_PER_MM)
        paint(self.drawing, self.canv)
        self.canv.restoreState()


class NumberedCanvas(Canvas):  # type: ignore[misc]
    """Writes "page 2 of 7" once it knows how many there are."""

    foot_text = ""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self._kept: list[dict[str, Any]] = []

    def showPage(self) -> None:
        """Keep the page until the last one is known."""
        self._kept.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Number the pages and write the file."""
        for number, page in enumerate(self._kept, 1):
            self.__dict__.update(page)
            self._foot(number, len(self._kept))
            super().showPage()
        super().save()

    def _foot(self, number: int, count: int) -> None:
        self.setFont(REGULAR, 7)
        self.setFillColor(INK)
        self.drawString(MARGIN, FOOT, self.foot_text)
        self.drawRightString(self._pagesize[0] - MARGIN, FOOT, f"page {number} of {count}")


def text_block(text: str, style: ParagraphStyle = BODY) -> Flowable:
    """A paragraph of plain words; nothing in them is markup."""
    return Paragraph(escape(text), style)


def bullets(lines: Iterable[str], style: ParagraphStyle = BODY, numbered: bool = False) -> Flowable:
    """A list."""
    kind: dict[str, Any] = {"bulletType": "1"} if numbered else {"bulletType": "bullet", "start": "•"}
    items = [ListItem(text_block(line, style), spaceAfter=1.5) for line in lines]
    return ListFlowable(items, leftIndent=13, bulletFontName=REGULAR, bulletFontSize=style.fontSize, **kind)


def grid(head: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float], width: float,
         least_height: float | None = None) -> Flowable:  # fmt: skip
    """A table whose columns share the width; its head, if there is one, is repeated on every page."""
    cells = [[text_block(word, HEAD_CELL) for word in head]] if head else []
    cells += [[text_block(word, CELL) for word in row] for row in rows]
    total = sum(shares)
    table = Table(cells, [width * share / total for share in shares], repeatRows=int(bool(head)))
    table.setStyle(
        [("VALIGN", (0, 0), (-1, -1), "TOP"), ("BACKGROUND", (0, 0), (-1, 0) if head else (0, -1), PALE),
         ("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE), ("LEFTPADDING", (0, 0), (-1, -1), 3),
         ("RIGHTPADDING", (0, 0), (-1, -1), 3), ("TOPPADDING", (0, 0), (-1, -1), 1.8),
         ("BOTTOMPADDING", (0, 0), (-1, -1), least_height or 2.2)]
    )  # fmt: skip
    return table


_FEW_ROWS = 12  # a table of more is set over two pages where it meets the end of one
_SOME_ROWS_PT = 130.0  # a heading and two rows of the tallest


def section(title: str, *content: Flowable) -> list[Flowable]:
    """A heading that stays with the first thing under it; with the first rows of it where that is a long table."""
    first, *rest = content
    heading = text_block(title, HEADING)
    if isinstance(first, Table) and len(first._cellvalues) > _FEW_ROWS:
        return [CondPageBreak(_SOME_ROWS_PT), heading, first, *rest]
    return [KeepTogether([heading, first]), *rest]


def gap(height: float = 4.0) -> Flowable:
    """Blank space [pt]."""
    return Spacer(1, height)


def frame_size(paper: str) -> tuple[float, float]:
    """Width and height between the margins [pt]."""
    width, height = PAPERS[paper]
    return width - 2 * MARGIN, height - 2 * MARGIN - FOOT


def bound(story: list[Flowable], paper: str, title: str, foot: str) -> bytes:
    """The pages as a PDF; the same story gives the same bytes."""
    register_fonts()
    out = io.BytesIO()
    maker = type("SheetCanvas", (NumberedCanvas,), {"foot_text": foot})
    document = SimpleDocTemplate(
        out, pagesize=PAPERS[paper], leftMargin=MARGIN - 6, rightMargin=MARGIN - 6, topMargin=MARGIN,
        bottomMargin=MARGIN + FOOT - 6, title=title, author="", subject="Vent job sheet", invariant=1, lang="en",
    )  # fmt: skip
    document.build(story, canvasmaker=maker)
    return out.getvalue()
