"""Loads of handling as forces and moments on the neck.

A push acts at its place on the neck's centreline in the fret plane, along the body's axes: to the bass is -y, to the treble +y,
back -z, forward +z, along -x. A load that goes sideways is two loads, one to each side: :func:`each_way`. ``weights`` times the
instrument's weight act at the same place and in the same direction: the hand that lifts the instrument. The neck's own weight is
part of the balance: with ``weights`` it acts against the lifting hand and as many times (a jerk is a jerk for every part), else
once, as the instrument lies (on its back: back; face down, the body on the bench and the neck free: forward).

Left out: how the headstock leans back, and whatever a strap, a stand or a capo adds.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from lutherie_geom.design.carried import Load
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import Pose
from lutherie_geom.mechanics.pull import axis_middle, stacked, wrench_at

__all__ = ["DIRECTIONS", "GRAVITY", "each_way", "load_force", "load_wrench", "place"]

GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s^2], by definition."""
DIRECTIONS = {"to the bass": (0.0, -1.0, 0.0), "to the treble": (0.0, 1.0, 0.0), "back": (0.0, 0.0, -1.0),
              "forward": (0.0, 0.0, 1.0), "along": (-1.0, 0.0, 0.0)}
"""Body axes (x y z) of the words in a design file."""
LIES = {"on its back": DIRECTIONS["back"], "face down": DIRECTIONS["forward"]}
"""Which way weight pulls (x y z), by how the instrument lies."""


def each_way(loads: Iterable[Load]) -> list[Load]:
    """The loads with every sideways one asked to the bass and to the treble: which is worse depends on the joint."""
    return [way for load in loads for way in load.ways]


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
    """Force and moment of a load, and of the neck's weight, about the middle of the pivot axis (*batch, 6) [N, N mm].

    Raises ValueError for a sideways load: it is two (:func:`each_way`).
    """
    if load.direction not in DIRECTIONS:
        raise ValueError(f"load.direction is {load.direction!r}; one load goes one way: {', '.join(DIRECTIONS)} (each_way() "
                         "splits a sideways load in two)")
    middle, direction = axis_middle(p), np.array(DIRECTIONS[load.direction])
    weight = design.headstock.neck_mass * GRAVITY * (-load.weights * direction if load.weights else np.array(LIES[load.lies]))
    return (wrench_at(middle, place(design, p, load.at), load_force(design, load) * direction)
            + wrench_at(middle, place(design, p, "middle of the neck"), weight))
