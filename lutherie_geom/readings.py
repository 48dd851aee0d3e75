"""The whole joint book as readings: geometry from ``joint``, forces and strength from ``mechanics``, which stands above it."""

from __future__ import annotations

from typing import Any

from lutherie_geom.joint.pose import Pose
from lutherie_geom.joint.reading import Readings

__all__ = ["read"]


def read(thing: Any) -> Readings:
    """Readings of a design (the whole joint book) or of a pose (what shows at that setting)."""
    from lutherie_geom.joint.readings import read_design, read_pose

    if isinstance(thing, Pose):
        return read_pose(thing)
    from lutherie_geom.mechanics.readings import mechanics_readings

    return Readings(thing.name, (*read_design(thing), *mechanics_readings(thing)))
