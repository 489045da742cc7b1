"""The site file: TOML to `Site` and back, with every fault at once.

Text becomes tables with lines (`site_text`), each table its shape (`site_shape`, `appliance_shape`), what a shape
alone cannot see is checked (`site_checks`), and the nouns of the model are made (`site_make`); `site_reading` leads
through all of it, `site_write` goes back.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from pathlib import Path

from ventroute.errors import Fault, InputError
from ventroute.io.site_lines import KeyPath, path_of
from ventroute.io.site_reading import Reading, Rows
from ventroute.io.site_text import Document, parse, read_text
from ventroute.io.site_write import write_site
from ventroute.model.site import Site

__all__ = ["building_faults", "read_site", "read_site_text", "write_site"]

NO_ROWS: Rows = {}


def read_site(path: Path, appliances: Rows = NO_ROWS, packs: Collection[str] = ()) -> Site:
    """The site that a file describes.

    Parameters
    ----------
    path : the file, named in messages as it is given here
    appliances : rows of the appliance catalog by model, as tables of a site file; inline keys win over a row's
    packs : names of the rule packs there are; empty: not checked

    Raises
    ------
    InputError
        Every fault of the file, each with its line and key.
    """
    return read_site_text(read_text(path), str(path), path.parent, appliances, packs)


def read_site_text(text: str, file: str, folder: Path, appliances: Rows = NO_ROWS, packs: Collection[str] = ()) -> Site:
    """The site that a text describes; `file` is its name in messages, `folder` holds its meshes. See `read_site`."""
    return Reading(parse(text, file), folder, appliances, packs).read()


def _written(document: Document, path: KeyPath) -> KeyPath:
    """The path in the file of a path in the site: a gable is one table there, and two slopes here."""
    if len(path) < 2 or path[0] != "roof" or not isinstance(path[1], int):
        return path
    tables = document.tables.get("roof", [])
    slopes: list[tuple[int, bool]] = []
    for n, table in enumerate(tables if isinstance(tables, list) else []):
        gable = isinstance(table, Mapping) and "gable" in table
        slopes += [(n, gable)] * (2 if gable else 1)
    if not 0 <= path[1] < len(slopes):
        return path
    number, gable = slopes[path[1]]
    below = ("gable", *path[3:]) if gable and path[2:3] == ("corners",) else path[2:]
    return ("roof", number, *below)


def building_faults(text: str, file: str, faults: Iterable[Fault]) -> InputError:
    """Faults found in the house, whose keys name no file or line, with those of the text they came from.

    Returns
    -------
    The error to raise. Faults that name a file already are kept as they are.
    """
    document = parse(text, file)
    placed = []
    for fault in faults:
        if fault.file:
            placed.append(fault)
        else:
            path = _written(document, path_of(fault.key))
            placed.append(document.fault(path, fault.what))
    return InputError(placed)
