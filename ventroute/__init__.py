"""ventroute: plan the exhaust of a gas appliance from its collar to the open air."""

from pathlib import Path as _Path

_top = _Path(__file__).resolve().parent.parent
if (_top / "catalogs").is_dir() and not (_Path(__file__).parent / "catalogs").is_dir():
    __path__.append(str(_top))  # a checkout: catalogs/ and viewer/ stand beside the package

__version__ = "0.1.0"
