"""The options that commands share."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from ventroute.errors import VentrouteError

Have = Annotated[Path | None, Parameter(help="Parts and pipe already there: CSV or XLSX.")]
Prices = Annotated[Path | None, Parameter(help="What shops ask, and what they have: CSV or XLSX.")]


@Parameter(name="*")
@dataclass(frozen=True)
class Options:
    """The same for every command."""

    json: Annotated[bool, Parameter(help="Print the document alone, as JSON.", negative=())] = False
    units: Annotated[Literal["us", "metric"], Parameter(help="What people read.")] = "us"
    quiet: Annotated[bool, Parameter(help="No progress, no summary.", negative=())] = False
    out: Annotated[Path | None, Parameter(help="Write what is found into this folder, which is made.")] = None


def refuse_file(out: Path | None) -> None:
    """Before any work: a folder is wanted, and a file stands there.

    Raises
    ------
    VentrouteError
        It is one.
    """
    if out and out.exists() and not out.is_dir():
        raise VentrouteError(f"{out} is a file; --out wants a folder, which is made where there is none")
