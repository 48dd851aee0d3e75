"""Readings between neck and body at a pose: gap under the tongue, floor clearance, reveal, side gaps.

Points run along the first axis or axes; the batch of poses comes last.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.pose import AnyPose
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.tongue import tongue_underside

__all__ = ["Fit", "gap", "heel_fit", "least_gap", "taper_of"]


@lru_cache(maxsize=4)
def _gauss(n: int) -> tuple[np.ndarray, np.ndarray]:
    x, w = np.polynomial.legendre.leggauss(n)
    return (x + 1) / 2, w / 2


def soundboard(d: Dimensions, x: Array, y: Array) -> Array:
    """Height of the soundboard [mm] at x, y [mm], body frame."""
    return dome_height(x=x, y=y, curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across)


@dataclass(frozen=True)
class Taper:
    """Best plane through the dome under the tongue: slope along x [1], and hollow: largest departure from it [mm]."""

    slope: Array
    hollow: Array


def taper_of(d: Dimensions) -> Taper:
    """Least-squares plane of the dome over the tongue's footprint (exact quadrature), and what is left over."""
    u, wu = _gauss(8)
    batch = d.batch
    shape_x, shape_y = (8, 1) + (1,) * batch, (1, 8) + (1,) * batch
    x = u.reshape(shape_x) * d.tongue_length
    y = (u.reshape(shape_y) - 0.5) * d.tongue_width
    w = wu.reshape(shape_x) * wu.reshape(shape_y)
    z = soundboard(d, x, y)
    mean = (w * z).sum(axis=(0, 1))
    slope = (w * z * (x - d.tongue_length / 2)).sum(axis=(0, 1)) * 12 / d.tongue_length**2
    ends = np.linspace(0, 1, 9)
    xe, ye = ends.reshape((9, 1) + (1,) * batch) * d.tongue_length, (ends.reshape((1, 9) + (1,) * batch) - 0.5) * d.tongue_width
    rest = soundboard(d, xe, ye) - mean - slope * (xe - d.tongue_length / 2)
    return Taper(slope, np.abs(rest).max(axis=(0, 1)))


def gap(p: AnyPose, x: Array, y: Array) -> Array:
    """Gap [mm] under points of the tongue's underside that lie at x, y [mm] at the nominal pose."""
    d = p.of
    taper = taper_of(d).slope if np.any(np.asarray(d.hollowed) < 1) else 0.0
    under = tongue_underside(x=x, y=y, gap_joint=d.gap_joint, hollowed=d.hollowed, taper=taper, curvature=d.curvature,
                             x_apex=d.x_apex, along=d.along, across=d.across)
    at = p.carried(x, y, under)
    return at.z - soundboard(d, at.x, at.y)


def gap_grid(p: AnyPose, along: int = 9, across: int = 3) -> Array:
    """Gap [mm] on an even grid over the footprint, (along, across, *batch)."""
    d = p.of
    batch = p.batch
    u = np.linspace(0, 1, along).reshape((along, 1) + (1,) * batch)
    v = (np.linspace(-0.5, 0.5, across) if across > 1 else np.zeros(1)).reshape((1, across) + (1,) * batch)
    return gap(p, u * d.tongue_length, v * d.tongue_width)


@dataclass(frozen=True)
class LeastGap:
    """Least gap [mm] over the footprint and where it is: x, y [mm] at the nominal pose."""

    gap: Array
    x: Array
    y: Array


def least_gap(p: AnyPose, rounds: int = 5) -> LeastGap:
    """Least gap over the whole footprint, refined by ever smaller grids of 9 x 9 points to well under 1e-4 mm."""
    d = p.of
    batch = p.batch
    lattice = np.linspace(-1, 1, 9)
    u = np.repeat(lattice, 9).reshape((81,) + (1,) * batch)
    v = np.tile(lattice, 9).reshape((81,) + (1,) * batch)
    cx, cy, half = np.asarray(0.5), np.asarray(0.0), 0.5
    for _ in range(rounds):
        px = np.clip(cx + half * u, 0.0, 1.0)
        py = np.clip(cy + half * v, -0.5, 0.5)
        g = gap(p, px * d.tongue_length, py * d.tongue_width)
        px, py = np.broadcast_to(px, g.shape), np.broadcast_to(py, g.shape)
        k = g.argmin(axis=0)[None]
        cx, cy = np.take_along_axis(px, k, 0)[0], np.take_along_axis(py, k, 0)[0]
        half /= 4
    return LeastGap(g.min(axis=0), cx * d.tongue_length, cy * d.tongue_width)


@dataclass(frozen=True)
class Fit:
    """How the heel stands in its pocket. Heights (z, nominal) run along the first axis, bass and treble along the second.

    floor: end face to the pocket's floor [mm]; reveal: how much of the heel is still inside the pocket [mm]; side: gap at
    the cheek [mm]; shape (heights, 2, *batch).
    """

    z: Array
    floor: Array
    reveal: Array
    side: Array


def half_width(d: Dimensions, z: Array) -> Array:
    """Half-width of the heel's end face [mm] at height z [mm]: even from top to foot."""
    return d.half_width_top + (d.half_width_foot - d.half_width_top) * np.clip(z / d.foot_z, 0.0, 1.0)


def heel_fit(p: AnyPose, heights: int = 9) -> Fit:
    """Floor clearance, reveal and side gap of the heel at even heights from the top to the foot, both sides.

    A cheek with draught narrows away from the end face; the pocket's cheek stands `side_gap` off the nominal outline at
    the end face and is square to the floor. The side gap is read at the end face.
    """
    d = p.of
    batch = p.batch
    z = np.linspace(0, 1, heights).reshape((heights, 1) + (1,) * batch) * d.foot_z
    side = np.array([-1.0, 1.0]).reshape((1, 2) + (1,) * batch)
    y = side * half_width(d, z)
    at = p.carried(-np.asarray(d.floor_clearance), y, z)
    outline = side * (half_width(d, at.z) + d.side_gap)
    rim = p.carried(-np.asarray(d.pocket), y - side * d.draught * (d.pocket - d.floor_clearance), z)
    rim_outline = side * (half_width(d, rim.z) + d.side_gap)
    gap_side = np.minimum(side * (outline - at.y), side * (rim_outline - rim.y))
    return Fit(z, -at.x, d.pocket + at.x, gap_side)
