"""What is at home and what shops ask, from the files of `--have` and `--prices`."""

from __future__ import annotations

from pathlib import Path

from ventroute.model.shelf import Stock


def read_stock(have: Path | None, prices: Path | None) -> Stock | None:
    """The stock of both files; None where neither is given, so that the catalog's demonstration prices stand.

    Raises
    ------
    InputError
        Every bad row of either file.
    """
    if have is None and prices is None:
        return None
    from ventroute.catalog.lookup import load_catalog, shelf
    from ventroute.io.tables import read_tables

    catalog = load_catalog()
    return read_tables(have, prices, shelf(catalog), catalog.offers)
