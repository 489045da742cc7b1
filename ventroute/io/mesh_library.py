"""trimesh, which reads and writes meshes, without the libraries that it needs for other work only.

All of trimesh loads at once, and with scipy, networkx and shapely that takes a second; each of them is optional to it,
and files are read without any. So they are kept from it while it loads, and what was loaded so is kept from others.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from importlib.abc import MetaPathFinder
from threading import get_ident
from types import ModuleType
from typing import Any

LEFT_OUT = frozenset({"networkx", "rtree", "scipy", "shapely"})

_loaded: dict[str, ModuleType] = {}  # trimesh and its modules, by name


class _LeavingOut(MetaPathFinder):
    """Finds nothing; says of what is left out that it is not there, to the thread that asked for this alone."""

    def __init__(self) -> None:
        self.thread = get_ident()

    def find_spec(self, fullname: str, *_: object) -> None:
        if fullname in LEFT_OUT and get_ident() == self.thread:
            raise ModuleNotFoundError(f"{fullname} is left out", name=fullname)


@contextmanager
def mesh_library() -> Iterator[Any]:
    """trimesh while the block lasts: whole where somebody has it loaded, else without what is left out.

    Raises
    ------
    ModuleNotFoundError
        trimesh is not installed.
    """
    if "trimesh" in sys.modules:
        yield import_module("trimesh")
        return
    leaving_out = _LeavingOut()
    sys.meta_path.insert(0, leaving_out)
    sys.modules.update(_loaded)
    try:
        yield import_module("trimesh")
    finally:
        sys.meta_path.remove(leaving_out)
        _loaded.update({name: sys.modules.pop(name) for name in list(sys.modules) if name.split(".")[0] == "trimesh"})
