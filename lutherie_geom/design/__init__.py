"""What the builder decides: design files in, typed designs in millimetres and radians out."""

from __future__ import annotations

import importlib
from typing import Any

from lutherie_geom.design.load import DesignError, Problem, from_text, load, names, save_values

__all__ = ["Design", "DesignError", "Problem", "from_text", "load", "names", "save_values"]


def __getattr__(name: str) -> Any:
    if name == "Design":
        return importlib.import_module("lutherie_geom.design.model").Design
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
