"""``sources.toml``: every text that a figure names, and how it was had."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from ventroute.errors import Fault
from ventroute.model.source import Source


def read_toml(path: Path, file: str, faults: list[Fault]) -> dict[str, object]:
    """A TOML file, empty where it cannot be read."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as problem:
        line = re.search(r"line (\d+)", str(problem))
        faults.append(Fault(file, int(line[1]) if line else 1, "", f"cannot be read: {problem}"))
        return {}


def line_of(path: Path, key: str) -> int:
    """Line of a TOML file where a key or a table header first stands, 1 where it does not."""
    pattern = re.compile(rf"\s*\[?\[?{re.escape(key)}\b")
    lines = path.read_text(encoding="utf-8").splitlines()
    return next((number for number, line in enumerate(lines, start=1) if pattern.match(line)), 1)


def read_sources(folder: Path, faults: list[Fault]) -> Mapping[str, Source]:
    """Sources by key; what is wrong is added to `faults`."""
    file = f"{folder.name}/sources.toml"
    wanted = ("title", "edition", "date", "licence", "reader")
    found: dict[str, Source] = {}
    for key, table in read_toml(folder / "sources.toml", file, faults).items():
        texts = table if isinstance(table, dict) else {}
        if set(texts) != set(wanted) or not all(isinstance(text, str) for text in texts.values()) or not texts["title"]:
            line = line_of(folder / "sources.toml", key)
            faults.append(Fault(file, line, key, f"wants the texts {', '.join(wanted)}, and a title that is not blank"))
        else:
            found[key] = Source(key, *(str(texts[name]) for name in wanted))
    return MappingProxyType(found)
