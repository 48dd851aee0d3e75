"""lutherie_geom: the engineering of guitar neck joints that can be re-set with a hex key.

    >>> import lutherie_geom as lg
    >>> design = lg.load("slack_water")
    >>> neck = design.pose(tilt=1 / 8)
    >>> print(lg.read(neck))
"""

from __future__ import annotations

import importlib
from typing import Any

__version__ = "0.1.0"

# Loaded when first asked for: importing the package must cost nothing.
_HOMES = {
    "load": "lutherie_geom.design",
    "Design": "lutherie_geom.design",
    "DesignError": "lutherie_geom.design",
    "read": "lutherie_geom.readings",
}
__all__ = ["Design", "DesignError", "load", "read"]


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(importlib.import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'lutherie_geom' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])
