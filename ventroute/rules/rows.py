"""Rows of a pack file, checked one by one; every fault is kept, with its line."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from ventroute.errors import Fault, UnitError
from ventroute.model.source import Evidence, Grade, Source
from ventroute.rules.figures import DIMENSIONS, read
from ventroute.rules.kinds import KINDS
from ventroute.rules.pack import Figure, Line, Rule, When, Withdrawn

TOP_KEYS = ("format", "name", "title", "extends", "add", "change", "withdraw")
LISTS = ("vent_style", "category", "fuel", "terminal", "material")
BANDS = {"input": "power", "diameter": "length", "pressure": "pressure"}
_BOUNDS = tuple(f"{name}_{end}" for name in BANDS for end in ("over", "to"))
FLAGS = ("ask", "strict", "centre")
ROW_KEYS = ("id", "title", "kind", "figures", "table", "features", "source", "section", "grade", "note")
ALL_KEYS = (*ROW_KEYS, *LISTS, *_BOUNDS, *FLAGS)
FEATURES = (
    "window, openable", "window, fixed", "door", "inlet, gravity", "inlet, mechanical", "gas regulator vent",
    "gas meter", "electric meter", "walkway, public", "driveway", "porch", "deck", "balcony", "soffit, vented",
    "soffit, unvented", "neighbour opening", "lot line",
)  # fmt: skip
WORDS: Mapping[str, tuple[str, ...]] = {
    "vent_style": ("direct", "non-direct"),
    "category": ("I", "II", "III", "IV"),
    "fuel": ("natural gas", "propane"),
    "terminal": ("roof", "wall"),
    "features": FEATURES,
}


class _WrongRowError(Exception):
    """A row that cannot be used: key and what is wrong."""

    def __init__(self, key: str, what: str) -> None:
        super().__init__(what)
        self.key, self.what = key, what


@dataclass(slots=True)
class Reader:
    """Lays pack documents over one another, the innermost first."""

    sources: Mapping[str, Source]
    rules: dict[str, Rule] = field(default_factory=dict)
    withdrawn: list[Withdrawn] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    raw: dict[str, dict[str, Any]] = field(default_factory=dict)
    touched: set[str] = field(default_factory=set)  # by the document that is being laid

    def lay(self, document: Mapping[str, Any], text: str, file: str) -> None:
        """Lay one document over what was read so far."""
        lines = text.splitlines()
        self.touched = set()
        for key in document:
            if key not in TOP_KEYS:
                self._fault(file, _line(lines, None, 0, key), key, f"unknown key{_near(key, TOP_KEYS)}")
        if document.get("format") != 1:
            self._fault(file, 1, "format", "format = 1 is wanted")
        for table in ("add", "change", "withdraw"):
            rows = document.get(table, [])
            if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
                self._fault(file, _line(lines, None, 0, table), table, f"write rows as [[{table}]]")
                continue
            for n, row in enumerate(rows, 1):
                try:
                    self._lay_row(table, row)
                except _WrongRowError as wrong:
                    line = _line(lines, table, n, wrong.key)
                    self._fault(file, line, f"{table}[{n}].{wrong.key}", wrong.what)

    def _fault(self, file: str, line: int, key: str, what: str) -> None:
        self.faults.append(Fault(file, line, key, what))

    def _lay_row(self, table: str, row: dict[str, Any]) -> None:
        name = row.get("id")
        if not isinstance(name, str) or not re.fullmatch(r"[a-z0-9]+([.-][a-z0-9]+)*", name):
            raise _WrongRowError("id", "a rule's id is lower-case words joined by . and -")
        if name in self.touched:
            raise _WrongRowError("id", f"{name!r} has a row in this file already: one row for each rule")
        self.touched.add(name)
        if table == "withdraw":
            self._withdraw(name, row)
            return
        if (table == "add") == (name in self.raw):
            there = "is there already: use [[change]]" if table == "add" else "is not in the pack that is extended"
            raise _WrongRowError("id", f"{name!r} {there}{_near(name, self.raw) if table == 'change' else ''}")
        for key in ("source", "grade"):
            if key not in row:
                raise _WrongRowError(key, "a row cites its own source and grade, also where it only changes another")
        whole = _merged(self.raw.get(name, {}), row)
        self.rules[name] = read_rule(whole, self.sources)
        self.raw[name] = whole
        self.withdrawn = [gone for gone in self.withdrawn if gone.id != name]

    def _withdraw(self, name: str, row: dict[str, Any]) -> None:
        allowed = ("id", "because", "source", "section", "grade")
        for key in row:
            if key not in allowed:
                raise _WrongRowError(key, f"unknown key{_near(key, allowed)}")
        if name not in self.raw:
            raise _WrongRowError("id", f"{name!r} is not in the pack that is extended{_near(name, self.raw)}")
        if not isinstance(row.get("because"), str) or not row["because"].strip():
            raise _WrongRowError("because", "say why the rule is taken away: no rule is dropped without a word")
        self.withdrawn.append(Withdrawn(name, row["because"], _evidence(row, self.sources)))
        del self.rules[name], self.raw[name]


def read_rule(row: Mapping[str, Any], sources: Mapping[str, Source]) -> Rule:
    """The rule of one whole row; raises `_WrongRowError` with the key at fault."""
    for key in row:
        if key not in ALL_KEYS:
            raise _WrongRowError(key, f"unknown key{_near(key, ALL_KEYS)}")
    kind = _text(row, "kind")
    if kind not in KINDS:
        raise _WrongRowError("kind", f"no kind {kind!r}{_near(kind, KINDS)}")
    evidence = _evidence(row, sources)
    rule = Rule(
        id=row["id"],
        title=_text(row, "title"),
        kind=kind,
        evidence=evidence,
        figures=dict(_figures(row.get("figures", {}), kind, evidence, sources)),
        table=tuple(_table(row.get("table", []), kind, evidence, sources)),
        features=_words(row, "features"),
        when=_when(row),
        note=_text(row, "note", wanted=False),
        **{flag: _flag(row, flag) for flag in FLAGS},
    )
    _check_scope(row, rule)
    return rule


def _check_scope(row: Mapping[str, Any], rule: Rule) -> None:
    """Refuse what a rule of its kind would not heed."""
    shape = rule.shape
    if shape.features and not rule.features:
        raise _WrongRowError("features", "say which outdoor features the rule is about")
    idle: tuple[str, ...] = () if shape.features else ("features", "pressure_over", "pressure_to")
    if shape.zone:
        idle += ("material",)
    elif rule.kind != "lone wall":
        idle += ("terminal", "diameter_over", "diameter_to", "strict", "centre")
    for key in idle:
        if key in row:
            raise _WrongRowError(key, f"rules of kind {rule.kind!r} do not depend on it")


def _evidence(row: Mapping[str, Any], sources: Mapping[str, Source]) -> Evidence:
    source, grade = row.get("source"), row.get("grade")
    if not isinstance(source, str) or source not in sources:
        raise _WrongRowError("source", f"a key of sources.toml is wanted{_near(str(source), sources)}")
    if grade not in tuple(Grade):
        raise _WrongRowError("grade", f"one of {', '.join(Grade)} is wanted{_near(str(grade), tuple(Grade))}")
    if (grade == Grade.SITE) != (source == "site"):
        raise _WrongRowError("grade", f"what the site file sets is graded {str(Grade.SITE)!r}, and nothing else is")
    return Evidence(source, Grade(grade), _text(row, "section", wanted=False))


def _text(row: Mapping[str, Any], key: str, *, wanted: bool = True) -> str:
    value = row.get(key, "")
    if not isinstance(value, str) or (wanted and not value.strip()):
        raise _WrongRowError(key, "text is wanted")
    return value


def _flag(row: Mapping[str, Any], key: str) -> bool:
    value = row.get(key, False)
    if not isinstance(value, bool):
        raise _WrongRowError(key, "true or false is wanted")
    return value


def _words(row: Mapping[str, Any], key: str) -> tuple[str, ...]:
    value = row.get(key, [])
    words = [value] if isinstance(value, str) else value
    if not isinstance(words, list) or not all(isinstance(word, str) for word in words):
        raise _WrongRowError(key, "text or a list of texts is wanted")
    known = WORDS.get(key)
    for word in words:
        if known and word not in known:
            raise _WrongRowError(key, f"no {word!r}{_near(word, known)}")
    return tuple(words)


def _when(row: Mapping[str, Any]) -> When:
    lists = {key: _words(row, key) for key in LISTS}
    ends = {key: _bound(row, key, BANDS[key.rpartition("_")[0]]) for key in _BOUNDS}
    return When(
        **lists,
        input_W=(ends["input_over"], ends["input_to"]),
        diameter_m=(ends["diameter_over"], ends["diameter_to"]),
        pressure_Pa=(ends["pressure_over"], ends["pressure_to"]),
    )


def _bound(row: Mapping[str, Any], key: str, dimension: str) -> float | None:
    return None if key not in row else _figure(row[key], dimension, key)


def _figure(value: object, dimension: str, key: str) -> float:
    try:
        return read(value, dimension)
    except UnitError as error:
        raise _WrongRowError(key, str(error)) from None


def _figures(
    written: object, kind: str, evidence: Evidence, sources: Mapping[str, Source]
) -> Iterator[tuple[str, Figure]]:
    shape = KINDS[kind]
    known = {**shape.figures, **shape.maybe}
    if not isinstance(written, dict):
        raise _WrongRowError("figures", 'write figures = { name = "12 in" }')
    for name in shape.figures:
        if name not in written:
            raise _WrongRowError("figures", f"{kind!r} needs the figure {name}")
    for name, value in written.items():
        if name not in known:
            raise _WrongRowError(f"figures.{name}", f"unknown figure of {kind!r}{_near(name, known)}")
        text, own = _own_evidence(value, evidence, sources, f"figures.{name}")
        yield name, _made(text, known[name], own, f"figures.{name}")


def _made(text: object, dimension: str, evidence: Evidence, key: str) -> Figure:
    return Figure(_figure(text, dimension, key), DIMENSIONS[dimension][1], str(text), evidence)


def _own_evidence(
    value: object, evidence: Evidence, sources: Mapping[str, Source], key: str
) -> tuple[object, Evidence]:
    """A figure is text, or a table with a source of its own where it differs from its row's."""
    if not isinstance(value, dict):
        return value, evidence
    if set(value) - {"is", "source", "grade", "section"} or not {"is", "source", "grade"} <= set(value):
        raise _WrongRowError(key, "a figure with its own source has is, source, grade and perhaps section")
    return value["is"], _evidence(value, sources)


def _table(rows: object, kind: str, evidence: Evidence, sources: Mapping[str, Source]) -> Iterator[Line]:
    wanted = KINDS[kind].table
    columns = {**wanted, **KINDS[kind].table_maybe}
    if not isinstance(rows, list) or bool(rows) != bool(columns) or not all(isinstance(row, dict) for row in rows):
        raise _WrongRowError("table", f"{kind!r} {'needs rows' if columns else 'has no table'}")
    for n, row in enumerate(rows, 1):
        own = _evidence(row, sources) if {"source", "grade", "section"} & set(row) else evidence
        cells = {key: value for key, value in row.items() if key not in ("source", "grade", "section")}
        for key in set(cells) - set(columns):
            raise _WrongRowError("table", f"row {n}: unknown column {key!r}{_near(key, columns)}")
        for key in [name for name in wanted if name not in cells]:
            raise _WrongRowError("table", f"row {n}: {kind!r} needs the column {key}")
        text = {key: value for key, value in cells.items() if columns[key] == "text"}
        if not all(isinstance(value, str) and value.strip() for key, value in text.items() if key != "primer"):
            raise _WrongRowError("table", f"row {n}: text is wanted")
        yield Line(text, dict(_cells(cells, columns, own, sources, n)), own)


def _cells(
    cells: Mapping[str, object], columns: Mapping[str, str], own: Evidence, sources: Mapping[str, Source], n: int
) -> Iterator[tuple[str, Figure]]:
    """The figures of a table's row, each with its row's evidence or its own."""
    for key, value in cells.items():
        if columns[key] != "text":
            where = f"table[{n}].{key}"
            text, evidence = _own_evidence(value, own, sources, where)
            yield key, _made(text, columns[key], evidence, where)


def _merged(under: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    """A changed row: keys replaced one by one, figures likewise."""
    whole = {**under, **over}
    if isinstance(under.get("figures"), dict) and isinstance(over.get("figures"), dict):
        whole["figures"] = {**under["figures"], **over["figures"]}
    return whole


def _near(word: str, known: Any) -> str:
    close = get_close_matches(word, list(known), 1)
    return f'; did you mean "{close[0]}"?' if close else ""


def _line(lines: list[str], table: str | None, n: int, key: str) -> int:
    """Line of a key in the n-th ``[[table]]`` of the file, else of that table's header, else 1."""
    heads = [i for i, line in enumerate(lines) if line.strip().startswith("[[")]
    starts = [i for i in heads if table and lines[i].strip().startswith(f"[[{table}]]")]
    first = starts[n - 1] if n and len(starts) >= n else 0
    last = next((i for i in heads if i > first), len(lines))
    word = key.split(".")[0].split("[")[0]
    found = (i for i in range(first, last) if re.match(rf"\s*{re.escape(word)}\s*=", lines[i]))
    return next(found, first) + 1
