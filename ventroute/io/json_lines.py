"""Where each key of a JSON text stands, and what its reader lets pass.

The standard parser gives values without positions. This scanner walks the same text, known to be valid.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field

from ventroute.io.site_lines import KeyPath

_TOKEN = re.compile(
    r'(?P<newline>\n)|(?P<string>"(?:[^"\\]|\\.)*+")|(?P<mark>[\[\]{},:])|(?P<word>[^\s\[\]{},:"]++)', re.DOTALL
)
_NO_NUMBERS = ("NaN", "Infinity", "-Infinity")


@dataclass(slots=True)
class JsonLines:
    """Line, from 1, of every key and list item; indices count from 0. Of a key that stands twice, the last."""

    lines: dict[KeyPath, int] = field(default_factory=dict)
    odd: list[tuple[KeyPath, int, str]] = field(default_factory=list)  # path, line and trouble of what is no JSON


@dataclass(slots=True)
class _Level:
    """An object or list that is open."""

    path: KeyPath
    listed: bool
    at: str | int | None  # key or index of what comes next; None where a key is awaited


def json_lines(text: str) -> JsonLines:
    """Lines of a text that the parser takes, with keys that stand twice and numbers that are none."""
    found = JsonLines()
    levels: list[_Level] = []
    line = 1
    for match in _TOKEN.finditer(text):
        kind, piece = match.lastgroup, match[0]
        top = levels[-1] if levels else None
        if kind == "newline":
            line += 1
        elif piece in ("]", "}"):
            levels.pop()
        elif piece == "," and top is not None:
            top.at = top.at + 1 if isinstance(top.at, int) else None
        elif kind == "string" and top is not None and top.at is None:
            top.at = str(json.loads(piece, strict=False))
            path = (*top.path, top.at)
            if path in found.lines:
                found.odd.append((path, line, "stands twice in one object; wanted it once"))
            found.lines[path] = line
        elif piece not in (":", ","):
            path = () if top is None or top.at is None else (*top.path, top.at)
            if top is not None and top.listed:
                found.lines[path] = line
            if piece in ("{", "["):
                levels.append(_Level(path, piece == "[", 0 if piece == "[" else None))
            elif piece in _NO_NUMBERS:
                found.odd.append((path, line, f"{piece} is not a number that a file can hold; wanted one that is"))
    return found
