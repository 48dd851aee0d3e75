"""Loads of handling as forces and moments on the neck.

A push acts at its place on the neck's centreline in the fret plane, along the body's axes: sideways is +y (to the treble), back
-z, forward +z, along -x. ``weights`` times the instrument's weight act at the same place and in the same direction: the hand that
lifts the instrument. The neck's own weight is part of the balance: with ``weights`` it acts against the lifting hand and as many
times (a jerk is a jerk for every part), else once, with the instrument on its back.

Left out: how the headstock leans back, and whatever a strap, a stand or a capo adds.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from lutherie_geom.design.carried import Load
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import Pose
from lutherie_geom.mechanics.pull import axis_middle, stacked, wrench_at

__all__ = ["DIRECTIONS", "GRAVITY", "load_force", "load_wrench", "place"]

GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s^2], by definition."""
DIRECTIONS = {"sideways": (0.0, 1.0, 0.0), "back": (0.0, 0.0, -1.0), "forward": (0.0, 0.0, 1.0), "along": (-1.0, 0.0, 0.0)}
"""Body axes (x y z) of the words in a design file."""


def place(design: Any, p: Pose, at: str) -> Array:
    """Where a load takes hold (*batch, 3) [mm], body frame: "headstock end", "nut" or "middle of the neck"."""
    d = p.of
    x = {"headstock end": d.x_nut - design.headstock.length, "nut": d.x_nut,
         "middle of the neck": (np.asarray(d.x_nut) + d.joint_fret_x) / 2}
    if at not in x:
        raise ValueError(f"load.at is {at!r}; it is one of {', '.join(x)}")
    return stacked(*p.to_body(x[at], 0.0, 0.0))


def load_force(design: Any, load: Load) -> float:
    """Size of the load [N]: its push, and how many times the instrument's weight."""
    return float(load.push + load.weights * design.headstock.instrument_mass * GRAVITY)


def load_wrench(design: Any, p: Pose, load: Load) -> Array:
    """Force and moment of a load, and of the neck's weight, about the middle of the pivot axis (*batch, 6) [N, N mm]."""
    middle, direction = axis_middle(p), np.array(DIRECTIONS[load.direction])
    weight = design.headstock.neck_mass * GRAVITY * (-load.weights * direction if load.weights else np.array(DIRECTIONS["back"]))
    return (wrench_at(middle, place(design, p, load.at), load_force(design, load) * direction)
            + wrench_at(middle, place(design, p, "middle of the neck"), weight))
