"""The options that every command shares."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter


@Parameter(name="*")
@dataclass(frozen=True)
class Options:
    """Options that every command shares."""

    out: Annotated[Path | None, Parameter(help="Write plan, lists, drawings and report into this folder.")] = None
    json: Annotated[bool, Parameter(help="Print the document alone, as JSON.", negative=())] = False
    units: Annotated[Literal["us", "metric"], Parameter(help="What people read.")] = "us"
    quiet: Annotated[bool, Parameter(help="No progress, no summary.", negative=())] = False
