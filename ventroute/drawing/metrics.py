"""How wide a text is, so that every text has a box before anything is drawn."""

from __future__ import annotations

import re

from ventroute.drawing.widths import BOLD, BOLD_SIGNS, FIRST, REGULAR, REGULAR_SIGNS, UNITS_PER_EM

ASCENT = 0.78  # of the size: covers capitals, ascenders and brackets of the drawing font
DESCENT = 0.24
_WORD = re.compile(r"\S+(?:(?<=\d) (?=\d)\S+)*")  # "120 000" and "3 1/2" are one word


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of one line of text in the unit of `size`.

    A sign outside the table counts as a full em, which no Latin, Greek or Cyrillic letter of the font exceeds by much.
    """
    table, signs = (BOLD, BOLD_SIGNS) if bold else (REGULAR, REGULAR_SIGNS)
    return sum(_advance(char, table, signs) for char in text) * size / UNITS_PER_EM


def _advance(char: str, table: tuple[int, ...], signs: dict[str, int]) -> int:
    place = ord(char) - FIRST
    known = table[place] if 0 <= place < len(table) else signs.get(char, 0)
    return known or UNITS_PER_EM


def wrap(text: str, width: float, size: float, bold: bool = False) -> tuple[str, ...]:
    """Lines of at most `width`, broken at spaces outside numbers; a longer word stands alone on its line."""
    lines: list[str] = []
    for word in _WORD.findall(text):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, bold) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)
