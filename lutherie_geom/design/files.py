"""Where the tables and designs that come with the library lie."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

__all__ = ["data_folder"]


def data_folder() -> Path:
    """The folder with ``tables`` and ``designs``: inside the installed package, or beside it in a checkout."""
    package = Path(str(files("lutherie_geom")))
    for folder in (package / "data", package.parent / "data"):
        if (folder / "tables").is_dir():
            return folder
    raise FileNotFoundError(f"no data folder in {package} or beside it: install lutherie_geom again")
