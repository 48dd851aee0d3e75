"""The joint: pose of the neck, readings at a pose, travel, coupling of the screws, general contact solver."""

from __future__ import annotations

from typing import Any

__all__ = ["read"]


def __getattr__(name: str) -> Any:
    if name == "read":  # loaded when first asked for, so that one room does not pull in all others
        from lutherie_geom.joint.readings import read

        return read
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
