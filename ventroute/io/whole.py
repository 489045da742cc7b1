"""Files are written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Put `content` at `path` in one step: a reader, or a crash, sees the old file or the new one.

    Raises
    ------
    OSError
        The folder cannot be written; nothing is left behind.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write several files into one folder, each whole, in order of name."""
    for name in sorted(files):
        write_whole(folder / name, files[name])
