"""Putting a finished file in its place in one move: it is there whole, or as it was."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

__all__ = ["put"]


def put(place: str | Path, data: bytes, *, fresh_only: bool = False) -> Path:
    """Write ``data`` to ``place``, its folder made if need be. ``fresh_only``: FileExistsError if something is there already."""
    place = Path(place)
    if fresh_only and place.exists():
        raise FileExistsError(17, "is there already; give another name, or take it away first", str(place))
    place.parent.mkdir(parents=True, exist_ok=True)
    handle, fresh = tempfile.mkstemp(dir=place.parent, prefix=f".{place.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as f:
            f.write(data)
        os.chmod(fresh, 0o644)
        os.replace(fresh, place)
    finally:
        Path(fresh).unlink(missing_ok=True)
    return place
