"""A file's bytes to TOML tables with lines, refusing what no honest file holds."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from ventroute.errors import Fault, InputError
from ventroute.io.site_lines import KeyPath, first_excess, key_lines, line_of, spelt
from ventroute.sentences import told_in

LARGEST_BYTES = 2_000_000  # a long day's survey is 50 kB
_FILE = "a TOML file that is there and may be read"


@dataclass(frozen=True, eq=False)
class Document:
    """Parsed tables, and the text they stand in."""

    file: str
    tables: Mapping[str, object]
    text: str

    @cached_property
    def lines(self) -> dict[KeyPath, int]:
        """Where each key stands; only a fault asks."""
        return key_lines(self.text)

    def fault(self, path: KeyPath, what: str) -> Fault:
        """A fault at a key, or at the nearest thing around it that stands in the text, in the units of the file."""
        units = "metric" if self.tables.get("units") in ("m", "cm", "mm") else "us"
        return Fault(self.file, line_of(self.lines, path), _printable(spelt(path)), told_in(what, units))


def read_text(path: Path) -> str:
    """The text of a file as the user named it.

    Raises
    ------
    InputError
        No such file, too large, or not UTF-8; with the line of the first byte that is not.
    """
    file = str(path)
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise InputError([Fault(file, 1, "", f"cannot be read: {error.strerror or error}; wanted {_FILE}")]) from None
    if len(raw) > LARGEST_BYTES:
        what = f"larger than {LARGEST_BYTES // 1_000_000} MB, which no file of this kind is; wanted a smaller one"
        raise InputError([Fault(file, 1, "", what)])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        what = f"byte {raw[error.start]:#04x} is not UTF-8; save the file as UTF-8 text"
        raise InputError([Fault(file, line, "", what)]) from None


def _syntax(text: str, file: str, error: ValueError) -> Fault:
    """A fault for what the parser refused, with the line it names and the key that stands there."""
    message = str(error)
    found = re.search(r"\(at line ([0-9]+), column ([0-9]+)\)", message)
    said = re.sub(r"\s*\(at [^)]*\)$", "", message)
    if found:
        line, where = int(found[1]), f" at column {found[2]}"
    elif long := re.search(r"[0-9_]{4000,}", text):
        line, where, said = text.count("\n", 0, long.start()) + 1, "", "a number of thousands of digits"
    else:
        line, where = len(text.rstrip().splitlines()) or 1, " at the end"
    if "overwrite" in said.lower() or "twice" in said.lower():
        said = "the same key or table stands twice"
    said = "".join(c if c.isprintable() else "?" for c in said)[:200]
    return Fault(file, line, nearest_key(text, line), f"not TOML{where}: {said}; wanted {_WANTED}")


_WANTED = "key = value, under headers [table] or [[table]]"
_HEADER = re.compile(r"\s*(\[{1,2})\s*([^\[\]#=\n]{1,60})")
_PAIR = re.compile(r"\s*([A-Za-z0-9_.\-]{1,60}|\"[^\"\n]{1,60}\")[A-Za-z0-9_.\-]*\s*=")


def nearest_key(text: str, line: int) -> str:
    """The key or table on a line of a text that need not be valid, or the nearest above it; "" where there is none."""
    table, key = "", ""
    counts: dict[str, int] = {}
    for row in text.split("\n")[:line]:
        if header := _HEADER.match(row):
            name = header[2].strip()
            several = header[1] == "[["
            counts[name] = counts.get(name, 0) + several
            table, key = f"{name}[{counts[name]}]" if several else name, ""
        elif pair := _PAIR.match(row):
            key = pair[1]
    return _printable(".".join(part for part in (table, key) if part))


def _printable(key: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in key)[:200]


def parse(text: str, file: str) -> Document:
    """The tables of a TOML text.

    Raises
    ------
    InputError
        Not TOML, nested too deeply, or too many tables.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    if excess := first_excess(text):
        raise InputError([Fault(file, excess[0], nearest_key(text, excess[0]), excess[1])])
    try:
        tables = tomllib.loads(text)
    except ValueError as error:
        raise InputError([_syntax(text, file, error)]) from None
    return Document(file, tables, text)
