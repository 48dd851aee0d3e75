"""Neck set: the neck angle, or the saddle heights, that give a wanted action; Newton on the exact model and slopes."""

from __future__ import annotations

from typing import Any

import numpy as np

from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.pose import pose
from lutherie_geom.joint.strings import action
from lutherie_geom.theory.neck_set import straightedge

__all__ = ["angle_for", "saddles_for", "solved", "straightedge_at_bridge", "targets"]


def targets(design: Any) -> np.ndarray:
    """Wanted action [mm] of every string: as given, or evenly from bass to treble."""
    t = design.target
    return np.asarray(t.each) if t.each is not None else np.linspace(t.bass, t.treble, design.count)


def saddles_for(d: Dimensions, wanted: Array, fret: int) -> Array:
    """Saddle heights [mm], (strings,), that give each string its wanted action [mm] at a fret."""
    h = np.asarray(d.h_saddle, dtype=float)
    for _ in range(12):
        p = pose(d.replaced(h_saddle=h))
        h = h + (wanted - action(p, fret)[:, 0]) / action_slopes(p, fret)["h_saddle"][:, 0]
    return h


def angle_for(d: Dimensions, wanted: Array, fret: int) -> Array:
    """Neck angle [rad] that gives the strings their wanted action [mm] at a fret on average (one angle serves all)."""
    alpha = np.asarray(d.alpha, dtype=float)
    for _ in range(12):
        p = pose(d.replaced(alpha=alpha))
        miss = (wanted - action(p, fret)[:, 0]).mean(axis=0)
        alpha = alpha + miss / action_slopes(p, fret)["alpha"][:, 0].mean(axis=0)
    return alpha


def solved(design: Any, d: Dimensions) -> Dimensions:
    """Dimensions with what the design leaves out computed from its target."""
    wanted, fret = targets(design), design.target.fret
    if design.neck.angle is None:
        return d.replaced(alpha=float(angle_for(d, wanted, fret)))
    return d.replaced(h_saddle=saddles_for(d, wanted, fret))


def straightedge_at_bridge(d: Dimensions) -> Array:
    """Height [mm] above the soundboard, on the centreline, of a straightedge laid on the frets, at the mean saddle place."""
    x = np.asarray(d.x_saddle).mean(axis=0)
    return straightedge(x_bridge=x, alpha=d.alpha, z_joint=d.z_joint, curvature=d.curvature, x_apex=d.x_apex,
                        along=d.along, across=d.across)
