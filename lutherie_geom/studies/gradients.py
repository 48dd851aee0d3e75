"""Exact slopes of the readings by every dimension, at any pose, by the chain rule through the theory's own slopes.

No finite differences. The turns are held; what is asked is what a wrong dimension does. ``least`` readings (gap, floor,
reveal) are taken at the point where they are least: to first order the point's own move along the part does not matter.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.body import heel_fit, least_gap
from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.dimensions import PER_STRING, Array, Dimensions
from lutherie_geom.joint.pose import Pose
from lutherie_geom.joint.strings import action
from lutherie_geom.theory.action import cone_radius, crown_dip
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.heel import heel_point
from lutherie_geom.theory.pose import POSE
from lutherie_geom.theory.scale import fret_distance
from lutherie_geom.theory.tongue import gap_under_tongue

__all__ = ["Exact", "action_at", "floor_least", "gap_least", "reveal_least"]

Slopes = dict[str, Any]  # by field: a number, or for a field per string one number a string
_TURN_INPUTS = ("pitch_tilt", "pitch_pivot", "spacing", "x_p", "z_p", "x_head", "z_head", "x_receiver", "z_receiver")


@dataclass(frozen=True)
class Exact:
    """A reading [unit] with its exact value at a pose (batches welcome) and its exact slopes there [unit per unit of field]."""

    key: str
    words: str
    unit: str
    value: Callable[[Pose], Array]
    slopes: Callable[[Pose], Slopes]


def _through_pose(p: Pose, direct: Slopes) -> Slopes:
    """Slopes by the pose (sines, cosines, advance) handed on to the dimensions that make the pose; others stay."""
    d = p.of
    made = POSE[d.receiver].slopes(tilt=p.tilt, bass=p.bass, treble=p.treble, **{n: getattr(d, n) for n in _TURN_INPUTS})
    steps = ("cos_psi", "sin_psi", "cos_theta", "sin_theta", "advance")
    out = {k: float(v) for k, v in direct.items() if k not in steps}
    for name in _TURN_INPUTS:
        out[name] = out.get(name, 0.0) + sum(float(direct[s] * made[s][name]) for s in steps)
    return out


def _fret_slope(d: Dimensions, fret: float) -> float:
    return float(fret_distance.slopes(scale=d.scale, fret=fret)["fret_from_nut"]["scale"])


def _action_slopes(p: Pose, string: int, fret: float) -> Slopes:
    d = p.of
    # On a flat board (infinite radius) the slope by the radius is none, and its formula is 0 times infinity.
    with np.errstate(invalid="ignore"):
        s = {k: float(v[string, 0]) for k, v in action_slopes(p, fret).items()}
    out: Slopes = {n: s[n] for n in (*_TURN_INPUTS, "alpha", "z_joint", "curvature", "x_apex")}
    x, x0, x1 = float(d.x_fret(fret)), float(d.x_nut), float(d.x_fret(d.last_fret))
    # How the places along the board move with the scale: fret, nut, last fret; the joint fret stays where it is.
    joint = _fret_slope(d, float(d.joint_fret))
    by_scale = (_fret_slope(d, fret) - joint, -joint, _fret_slope(d, float(d.last_fret)) - joint)
    scale = s["x_fret"] * by_scale[0] + s["x_nut"] * by_scale[1]
    nut = s["x_nut"]
    radius_nut = radius_last = 0.0
    if np.isfinite(d.radius_nut) and np.isfinite(d.radius_last):
        part = (x - x0) / (x1 - x0)
        inside = 0.0 <= part <= 1.0
        c = cone_radius.slopes(radius_nut=d.radius_nut, radius_last=d.radius_last, part=min(max(part, 0.0), 1.0))["radius_fret"]
        radius_nut = s["radius_nut"] + s["radius_fret"] * float(c["radius_nut"])
        radius_last = s["radius_fret"] * float(c["radius_last"])
        if inside:
            by_part = s["radius_fret"] * float(c["part"]) / (x1 - x0)
            scale += by_part * (by_scale[0] - by_scale[1] - part * (by_scale[2] - by_scale[1]))
            nut += by_part * (part - 1.0)
    elif np.isfinite(d.radius_nut):
        radius_nut = s["radius_nut"]
    first, at_joint = float(d.x_fret(1)), float(d.x_fret(d.joint_fret))
    v, past = float(np.clip((x - first) / (at_joint - first), 0.0, 1.0)), max(x - at_joint, 0.0)
    c = crown_dip.slopes(relief=d.relief, part=v, fall_slope=d.fall_away_line, fall_curvature=d.fall_away_curvature,
                         past_joint=past)["dip"]
    if x > at_joint:
        scale += s["dip"] * float(c["past_joint"]) * by_scale[0]
    out |= dict(scale=scale, nut_compensation=nut, joint_fret_x=s["x_fret"] + s["x_nut"], radius_nut=radius_nut,
                radius_last=radius_last, relief=s["dip"] * float(c["relief"]), fall_away_line=s["dip"] * float(c["fall_slope"]),
                fall_away_curvature=s["dip"] * float(c["fall_curvature"]))
    for name in PER_STRING:
        out[name] = np.zeros(d.strings)
        out[name][string] = s[name]
    return out


def action_at(string: int, fret: int = 12) -> Exact:
    """Action [mm] of one string at a fret; strings count from 0 at the bass, -1 is the treble."""
    side = {0: "bass", -1: "treble"}.get(string, f"string {string + 1 if string >= 0 else string}")
    return Exact(f"action.{side.replace(' ', '_')}_{fret}", f"action at fret {fret}, {side}", "mm",
                 lambda p: action(p, fret)[string, 0], lambda p: _action_slopes(p, string, float(fret)))


def _taper(d: Dimensions) -> tuple[float, Slopes]:
    """Taper of a planed underside [1], the plane that fits the dome best, and its slopes: the same integral, differentiated."""
    u, w = np.polynomial.legendre.leggauss(8)
    u, w = (u + 1) / 2, w / 2
    a, b = u[:, None], u[None, :] - 0.5
    top = dict(curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across)
    x, y = a * d.tongue_length, b * d.tongue_width
    weight = 12 * w[:, None] * w[None, :] * (a - 0.5) / d.tongue_length
    z = dome_height.slopes(x=x, y=y, **top)["z_top"]
    taper = float((weight * dome_height(x=x, y=y, **top)).sum())
    out = {n: float((weight * z[n]).sum()) for n in ("curvature", "x_apex")}
    out["tongue_length"] = float((weight * z["x"] * a).sum()) - taper / d.tongue_length
    out["tongue_width"] = float((weight * z["y"] * b).sum())
    return taper, out


def _gap_slopes(p: Pose) -> Slopes:
    d, at = p.of, least_gap(p)
    taper, by = _taper(d)
    s = {k: float(v) for k, v in gap_under_tongue.slopes(
        x=at.x, y=at.y, gap_joint=d.gap_joint, hollowed=d.hollowed, taper=taper, curvature=d.curvature, x_apex=d.x_apex,
        along=d.along, across=d.across, **p.turned)["gap"].items()}
    # The least point keeps its place in parts of the footprint: on the rim it goes with the rim, inside its slope is nil.
    s["tongue_length"], s["tongue_width"] = s.pop("x") * float(at.x / d.tongue_length), s.pop("y") * float(at.y / d.tongue_width)
    by_taper = s.pop("taper")
    for name, slope in by.items():
        s[name] += by_taper * slope
    for name in ("hollowed", "along", "across"):
        s.pop(name)
    return _through_pose(p, s)


gap_least = Exact("gap.least", "least gap under the tongue", "mm", lambda p: least_gap(p).gap, _gap_slopes)


def _heel_slopes(p: Pose, sign: float) -> Slopes:
    """Slopes of ``sign`` times x at the heel's corner where that is least; between corners x runs evenly, so it is a corner."""
    d = p.of
    corners = [(side, foot) for side in (-1.0, 1.0) for foot in (0.0, 1.0)]

    def place(side: float, foot: float) -> dict[str, Array]:
        half = d.half_width_top + (d.half_width_foot - d.half_width_top) * foot
        return dict(x_face=-d.floor_clearance, y_face=side * half, z_face=foot * d.foot_z)

    side, foot = min(corners, key=lambda c: sign * float(heel_point(**place(*c), **p.turned).x))
    s = {k: sign * float(v) for k, v in heel_point.slopes(**place(side, foot), **p.turned)["x"].items()}
    by_y = s.pop("y_face") * side
    s |= dict(floor_clearance=-s.pop("x_face"), foot_z=s.pop("z_face") * foot, half_width_top=by_y * (1 - foot),
              half_width_foot=by_y * foot)
    return _through_pose(p, s)


floor_least = Exact("heel.floor_least", "least floor clearance of the heel", "mm",
                    lambda p: heel_fit(p, 2).floor.min(axis=(0, 1)), lambda p: _heel_slopes(p, -1.0))
reveal_least = Exact("heel.reveal_least", "least reveal of the heel", "mm",
                     lambda p: heel_fit(p, 2).reveal.min(axis=(0, 1)), lambda p: _heel_slopes(p, 1.0) | {"pocket": 1.0})
