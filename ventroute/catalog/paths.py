"""Where the catalogs lie: beside the package in a checkout, inside it in a wheel."""

from __future__ import annotations

from pathlib import Path

import ventroute
from ventroute.errors import CatalogError


def catalogs_folder() -> Path:
    """Folder that holds ``sources.toml``.

    ``ventroute.__path__`` names the checkout besides the package, so one search serves a checkout, an editable
    install and a wheel.

    Raises
    ------
    CatalogError
        There is none: the installation is not whole.
    """
    for top in ventroute.__path__:
        folder = Path(top) / "catalogs"
        if (folder / "sources.toml").is_file():
            return folder
    raise CatalogError("catalogs/sources.toml is missing: the installation is not whole, install ventroute again")
