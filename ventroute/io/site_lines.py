"""Where each key of a TOML text stands.

The standard parser gives values without positions. This scanner walks the same text, known to be valid, and gives the
line of every key, list item and table header. A first pass, which needs no valid text, refuses what would exhaust the
parser: deep nesting, endless dotted keys, too many tables.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

KeyPath = tuple[str | int, ...]

DEEPEST = 12  # brackets inside brackets, or dots in a key; a site file needs four
MOST_TABLES = 5000
MOST_MARKS = 200_000  # brackets, commas, dots: a great house has a tenth of that

_TOKEN = re.compile(
    r"[ \t\r]*+(?:(?P<comment>\#[^\n]*+)|(?P<newline>\n)"
    r'|(?P<multi>"""(?:[^"\\]|\\.|"{1,2}(?!"))*+"{3,5}|\'\'\'(?:[^\']|\'{1,2}(?!\'))*+\'{3,5})'
    r'|(?P<string>"(?:[^"\\\n]|\\.)*+"|\'[^\'\n]*+\')'
    r"|(?P<mark>[\[\]{},=.])|(?P<word>[^\s\[\]{},=.\#\"']++)|(?P<other>.))",
    re.DOTALL,
)


class Token(NamedTuple):
    """A piece of TOML text and the line it begins on."""

    kind: str
    text: str
    line: int


def _tokens(text: str) -> Iterator[Token]:
    """The pieces of a text but for the blanks between them."""
    line = 1
    for match in _TOKEN.finditer(text.rstrip(" \t\r")):
        kind = match.lastgroup or "other"
        piece = match[kind]
        yield Token(kind, piece, line)
        if kind == "newline":
            line += 1
        elif kind == "multi":
            line += piece.count("\n")


def first_excess(text: str) -> tuple[int, str] | None:
    """The line and the trouble where a text is nested too deeply or holds too many tables, None where it is sane."""
    depth = dots = tables = marks = 0
    fresh = True
    for match in _TOKEN.finditer(text.rstrip(" \t\r")):  # every file is walked so, hence no tokens are made of it
        kind = match.lastgroup
        if kind == "newline":
            fresh, dots = True, 0
            continue
        if kind == "mark":
            mark = match["mark"]
            marks += 1
            tables += fresh and depth == 0 and mark == "["
            depth = max(0, depth + (mark in "[{") - (mark in "]}"))
            dots = 0 if mark in "=,{" else dots + (mark == ".")
            if depth > DEEPEST or dots > DEEPEST or tables > MOST_TABLES or marks > MOST_MARKS:
                return text.count("\n", 0, match.start(kind)) + 1, _excess(depth, dots, tables)
        fresh = False
    return None


def _excess(depth: int, dots: int, tables: int) -> str:
    if depth > DEEPEST or dots > DEEPEST:
        return f"nested more than {DEEPEST} deep; a site file needs no more than 4"
    if tables > MOST_TABLES:
        return f"more than {MOST_TABLES} tables; leave out what is far from any route"
    return f"more than {MOST_MARKS} values; leave out what is far from any route"


@dataclass(slots=True)
class _Scanner:
    """Walks valid TOML and notes lines."""

    tokens: list[Token]
    lines: dict[KeyPath, int] = field(default_factory=dict)
    counts: dict[KeyPath, int] = field(default_factory=dict)  # elements so far of each array of tables
    n: int = 0

    def peek(self, *, across: bool = False) -> Token | None:
        """The next token; `across` steps over ends of lines and comments."""
        while across and self.n < len(self.tokens) and self.tokens[self.n].kind in ("newline", "comment"):
            self.n += 1
        return self.tokens[self.n] if self.n < len(self.tokens) else None

    def keys(self) -> list[str]:
        """A dotted key."""
        found: list[str] = []
        while (token := self.peek()) and (token.kind in ("word", "string") or token.text == "."):
            self.n += 1
            if token.kind == "string":
                found.append(str(tomllib.loads(f"k = {token.text}")["k"]))
            elif token.kind == "word":
                found.append(token.text)
        return found

    def header(self, line: int) -> KeyPath:
        """``[a.b]`` or ``[[a.b]]``: the path of the table that begins."""
        several = False
        while (token := self.peek()) and token.text == "[":
            several = self.n > 0 and self.tokens[self.n - 1].text == "["
            self.n += 1
        path: KeyPath = ()
        names = self.keys()
        for name in names[:-1]:
            path = (*path, name)
            self.lines.setdefault(path, line)
            path = (*path, self.counts[path] - 1) if path in self.counts else path
        path = (*path, names[-1])
        self.lines.setdefault(path, line)
        if several:
            self.counts[path] = self.counts.get(path, 0) + 1
            path = (*path, self.counts[path] - 1)
        elif path in self.counts:
            path = (*path, self.counts[path] - 1)
        self.lines[path] = line
        while (token := self.peek()) and token.text == "]":
            self.n += 1
        return path

    def pair(self, table: KeyPath, line: int) -> None:
        """``a.b = value``."""
        path = table
        for name in self.keys():
            path = (*path, name)
            self.lines.setdefault(path, line)
        self.n += 1  # the equals sign
        self.value(path)

    def value(self, path: KeyPath) -> None:
        """A value, with what is inside it."""
        token = self.peek()
        if token and token.text == "[":
            self.n += 1
            self.items(path)
        elif token and token.text == "{":
            self.n += 1
            self.inline(path)
        else:
            while (token := self.peek()) and token.kind not in ("newline", "comment") and token.text not in ",]}":
                self.n += 1

    def items(self, path: KeyPath) -> None:
        """The rest of a list."""
        index = 0
        while (token := self.peek(across=True)) and token.text != "]":
            if token.text == ",":
                self.n += 1
                continue
            self.lines[(*path, index)] = token.line
            self.value((*path, index))
            index += 1
        self.n += 1

    def inline(self, path: KeyPath) -> None:
        """The rest of an inline table."""
        while (token := self.peek(across=True)) and token.text != "}":
            if token.text == ",":
                self.n += 1
                continue
            self.pair(path, token.line)
        self.n += 1

    def document(self) -> dict[KeyPath, int]:
        """The whole text."""
        table: KeyPath = ()
        while token := self.peek(across=True):
            if token.text == "[":
                table = self.header(token.line)
            else:
                self.pair(table, token.line)
        return self.lines


def key_lines(text: str) -> dict[KeyPath, int]:
    """Line, from 1, of every key, list item and table header of a valid TOML text; indices count from 0."""
    return _Scanner(list(_tokens(text))).document()


def line_of(lines: dict[KeyPath, int], path: KeyPath) -> int:
    """Line of a key, or of the nearest thing around it that stands in the text; 1 where nothing does."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


def spelt(path: KeyPath) -> str:
    """A key as messages show it, tables and items counted from 1: ``hole[1].clear``."""
    text = ""
    for part in path:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def path_of(key: str) -> KeyPath:
    """The path of a key as `spelt` shows it."""
    found: list[str | int] = []
    for name, number in re.findall(r"([^.\[\]]+)|\[([0-9]+)\]", key):
        found.append(name or int(number) - 1)
    return tuple(found)
