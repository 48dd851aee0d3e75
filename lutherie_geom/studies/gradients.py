"""Exact slopes of the readings by every dimension and turn, at any pose, by the chain rule through the theory's own slopes.

No finite differences. Batches of poses are welcome: every slope then has the batch's shape, for a field per string
(strings, *batch). ``least`` readings (gap, floor, reveal) are taken at the point where they are least: to first order the
point's own move along the part does not matter.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.joint.body import gap, heel_fit, least_gap
from lutherie_geom.joint.coupling import action_slopes
from lutherie_geom.joint.dimensions import PER_STRING, Array, Dimensions
from lutherie_geom.joint.pose import Pose
from lutherie_geom.joint.strings import action, edge_margin, string_lines
from lutherie_geom.theory.action import action_over_fret, cone_radius, crown_dip, saddle_in_neck
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.heel import heel_point
from lutherie_geom.theory.pose import POSE
from lutherie_geom.theory.scale import edge_margin as margin_at_edge
from lutherie_geom.theory.scale import fret_distance
from lutherie_geom.theory.tongue import gap_under_tongue

__all__ = ["Exact", "action_at", "action_least", "floor_least", "gap_least", "gap_slopes", "margin_at", "reveal_least",
           "through_pose"]

Slopes = dict[str, Any]  # by field or turn: a number (*batch), or for a field per string (strings, *batch)
_TURN_INPUTS = ("tilt", "bass", "treble", "pitch_tilt", "pitch_pivot", "spacing", "x_p", "z_p", "x_head", "z_head", "x_receiver",
                "z_receiver")
_STEPS = ("cos_psi", "sin_psi", "cos_theta", "sin_theta", "advance")


@dataclass(frozen=True)
class Exact:
    """A reading [unit] with its exact value at a pose (batches welcome) and its exact slopes there [unit per unit of the
    dimension, or per turn], by the names of the dimensions and of the turns ``tilt``, ``bass``, ``treble``.

    A least reading has several ``spots`` where it may be least; ``at_spots`` gives, of a batch of one joint a spot, the value
    [unit] and the slopes at each joint's own spot. It bends where the least changes its spot; at one it runs nearly straight.
    """

    key: str
    words: str
    unit: str
    value: Callable[[Pose], Array]
    slopes: Callable[[Pose], Slopes]
    spots: int = 1
    at_spots: Callable[[Pose], tuple[Array, Slopes]] | None = None


def through_pose(p: Pose, direct: Slopes) -> Slopes:
    """Slopes by the pose (sines, cosines, advance) handed on to the turns and dimensions that make it; others stay."""
    d = p.of
    turns = dict(tilt=p.tilt, bass=p.bass, treble=p.treble)
    made = POSE[d.receiver].slopes(**turns, **{n: getattr(d, n) for n in _TURN_INPUTS if n not in turns})
    out = {k: v for k, v in direct.items() if k not in _STEPS}
    for name in _TURN_INPUTS:
        out[name] = out.get(name, 0.0) + sum(direct[s] * made[s][name] for s in _STEPS)
    return out


def _at_string(p: Pose, string: int, value: Array) -> Array:
    """A slope by one string's number, as a slope by the field of all strings: (strings, *batch)."""
    out = np.zeros((p.of.strings, *np.shape(value)))
    out[string] = value
    return out


@dataclass(frozen=True)
class _Along:
    """Places along the board [mm] for a fret, and how they move with the scale; the joint fret stays where it is."""

    fret: Array
    last: Array
    by_scale: tuple[Array, Array, Array]  # fret, nut, last fret


def _along(d: Dimensions, fret: float) -> _Along:
    def slope(f: float) -> Array:
        return fret_distance.slopes(scale=d.scale, fret=f)["fret_from_nut"]["scale"]

    joint = slope(float(d.joint_fret))
    return _Along(d.x_fret(fret), d.x_fret(d.last_fret), (slope(fret) - joint, -joint, slope(float(d.last_fret)) - joint))


def _action_slopes(p: Pose, string: int, fret: float) -> Slopes:
    d = p.of
    # On a flat board (infinite radius) the slope by the radius is none, and its formula is 0 times infinity.
    with np.errstate(invalid="ignore"):
        s = {k: v[string, 0] for k, v in action_slopes(p, fret).items()}
    out: Slopes = {n: s[n] for n in (*_TURN_INPUTS, "alpha", "z_joint", "curvature", "x_apex")}
    at, x0 = _along(d, fret), d.x_nut
    part = (at.fret - x0) / (at.last - x0)
    r0, r1 = np.asarray(d.radius_nut), np.asarray(d.radius_last)
    flat = np.isinf(r0) | np.isinf(r1)
    by_radius = np.where(flat, 0.0, s["radius_fret"])
    c = cone_radius.slopes(radius_nut=np.where(flat, 1.0, r0), radius_last=np.where(flat, 1.0, r1),
                           part=np.clip(part, 0.0, 1.0))["radius_fret"]
    by_part = np.where((part >= 0) & (part <= 1), by_radius * c["part"], 0.0) / (at.last - x0)
    first, joint = d.x_fret(1), d.x_fret(d.joint_fret)
    dip = crown_dip.slopes(relief=d.relief, part=np.clip((at.fret - first) / (joint - first), 0.0, 1.0),
                           fall_slope=d.fall_away_line, fall_curvature=d.fall_away_curvature,
                           past_joint=np.maximum(at.fret - joint, 0.0))["dip"]
    past = np.where(at.fret > joint, s["dip"] * dip["past_joint"], 0.0)
    fret_by, nut_by, last_by = at.by_scale
    out |= dict(scale=(s["x_fret"] + past) * fret_by + s["x_nut"] * nut_by
                + by_part * (fret_by - nut_by - part * (last_by - nut_by)),
                nut_compensation=s["x_nut"] + by_part * (part - 1.0), joint_fret_x=s["x_fret"] + s["x_nut"],
                radius_nut=np.where(np.isinf(r0), 0.0, s["radius_nut"]) + by_radius * c["radius_nut"],
                radius_last=by_radius * c["radius_last"], relief=s["dip"] * dip["relief"],
                fall_away_line=s["dip"] * dip["fall_slope"], fall_away_curvature=s["dip"] * dip["fall_curvature"])
    return out | {name: _at_string(p, string, s[name]) for name in PER_STRING}


def _at_fret(key: str, words: str, string: int, fret: int | None, value: Callable[[Pose, float], Array],
             slopes: Callable[[Pose, float], Slopes]) -> Exact:
    """A reading of one string at a fret (None: the last)."""
    side = {0: "bass", -1: "treble"}.get(string, f"string {string + 1 if string >= 0 else string}")
    name, where = ("last", "the last fret") if fret is None else (str(fret), f"fret {fret}")

    def at(p: Pose) -> float:
        return float(p.of.last_fret if fret is None else fret)

    return Exact(f"{key}.{side.replace(' ', '_')}_{name}", f"{words} at {where}, {side}", "mm", lambda p: value(p, at(p)),
                 lambda p: slopes(p, at(p)))


def action_at(string: int, fret: int | None = 12) -> Exact:
    """Action [mm] of one string at a fret (None: the last); strings count from 0 at the bass, -1 is the treble."""
    return _at_fret("action", "action", string, fret, lambda p, f: action(p, f)[string, 0],
                    lambda p, f: _action_slopes(p, string, f))


def action_least(fret: int, strings: int) -> Exact:
    """Least action [mm] of all the ``strings`` at a fret."""

    def of_string(p: Pose, k: Array) -> Slopes:
        each = [_action_slopes(p, i, fret) for i in range(strings)]
        return {n: sum(np.where(k == i, s[n], 0.0) for i, s in enumerate(each)) for n in each[0]}

    def at_spots(p: Pose) -> tuple[Array, Slopes]:
        return np.broadcast_to(action(p, fret)[:, 0].T, (strings, strings)).diagonal(), of_string(p, np.arange(strings))

    return Exact(f"action.least_{fret}", f"least action at fret {fret}", "mm", lambda p: action(p, fret)[:, 0].min(axis=0),
                 lambda p: of_string(p, action(p, fret)[:, 0].argmin(axis=0)), strings, at_spots)


def _margin_slopes(p: Pose, string: int, fret: float) -> Slopes:
    d, out = p.of, {0: -1.0, -1: 1.0}[string]
    at, lines = _along(d, fret), string_lines(p)
    saddle = {n: np.asarray(getattr(d, n), dtype=float)[string] for n in ("x_saddle", "y_saddle", "h_saddle")}
    ends = {k: v if k == "x_nut" else v[string] for k, v in lines.ends.items()}
    y = action_over_fret(x_fret=at.fret, radius_fret=np.inf, dip=0.0, **ends).y_string
    with np.errstate(invalid="ignore"):
        by = action_over_fret.slopes(x_fret=at.fret, radius_fret=np.inf, dip=0.0, **ends)["y_string"]
    there = saddle_in_neck.slopes(**saddle, curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across, **p.set_,
                                  **p.turned)
    e = margin_at_edge.slopes(x_fret=at.fret, x_nut=d.x_nut, x_last=at.last, width_nut=d.width_nut, width_last=d.width_last,
                              y_out=out * y)["margin"]
    away = out * e["y_out"]  # slope by the string's place
    s = {n: away * sum(by[f"{axis}n_saddle"] * there[f"{axis}n_saddle"][n] for axis in "xyz") for n in there["xn_saddle"]}
    for name in ("along", "across"):
        s.pop(name)
    cos_alpha, sin_alpha = s.pop("cos_alpha"), s.pop("sin_alpha")
    s["alpha"] = sin_alpha * np.cos(d.alpha) - cos_alpha * np.sin(d.alpha)
    x_fret, x_nut = e["x_fret"] + away * by["x_fret"], e["x_nut"] + away * by["x_nut"]
    s |= dict(width_nut=e["width_nut"], width_last=e["width_last"], nut_compensation=x_nut,
              joint_fret_x=x_fret + x_nut + e["x_last"],
              scale=x_fret * at.by_scale[0] + x_nut * at.by_scale[1] + e["x_last"] * at.by_scale[2])
    s |= {name: _at_string(p, string, s[name]) for name in saddle} | {"y_nut": _at_string(p, string, away * by["y_nut"])}
    return through_pose(p, s)


def margin_at(string: int, fret: int | None = None) -> Exact:
    """String edge margin [mm] of the bass (0) or treble (-1) string at a fret (None: the last)."""
    if string not in (0, -1):
        raise ValueError(f"string {string} has no edge beside it; it must be 0 (bass) or -1 (treble)")
    return _at_fret("margin", "edge margin", string, fret, lambda p, f: edge_margin(p, f)[string][0],
                    lambda p, f: _margin_slopes(p, string, f))


def planed_taper(d: Dimensions) -> tuple[Array, Slopes]:
    """Taper of a planed underside [1], the plane that fits the dome best, and its slopes: the same integral, differentiated."""
    u, w = np.polynomial.legendre.leggauss(8)
    room = (1,) * d.batch
    u, w = (u + 1) / 2, w / 2
    a, b = u.reshape((8, 1, *room)), u.reshape((1, 8, *room)) - 0.5
    top = dict(curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across)
    x, y = a * d.tongue_length, b * d.tongue_width
    weight = 12 * w.reshape((8, 1, *room)) * w.reshape((1, 8, *room)) * (a - 0.5) / d.tongue_length
    z = dome_height.slopes(x=x, y=y, **top)["z_top"]
    taper = (weight * dome_height(x=x, y=y, **top)).sum(axis=(0, 1))
    out = {n: (weight * z[n]).sum(axis=(0, 1)) for n in ("curvature", "x_apex")}
    out["tongue_length"] = (weight * z["x"] * a).sum(axis=(0, 1)) - taper / d.tongue_length
    out["tongue_width"] = (weight * z["y"] * b).sum(axis=(0, 1))
    return taper, out


def gap_slopes(p: Pose, x: Array, y: Array) -> Slopes:
    """Slopes of the gap at a place x, y of the tongue's underside [mm], which keeps its part of the tongue's length and width."""
    d = p.of
    taper, by = planed_taper(d)
    s = dict(gap_under_tongue.slopes(x=x, y=y, gap_joint=d.gap_joint, hollowed=d.hollowed, taper=taper,
                                     curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across, **p.turned)["gap"])
    s["tongue_length"], s["tongue_width"] = s.pop("x") * x / d.tongue_length, s.pop("y") * y / d.tongue_width
    by_taper = s.pop("taper")
    for name, slope in by.items():
        s[name] = s[name] + by_taper * slope
    for name in ("hollowed", "along", "across"):
        s.pop(name)
    return through_pose(p, s)


def _least_gap_slopes(p: Pose) -> Slopes:
    # The least point keeps its place in parts of the footprint: on the rim it goes with the rim, inside its slope is nil.
    at = least_gap(p)
    return gap_slopes(p, at.x, at.y)


_GAP_SPOTS = np.array([(u, v) for u in (0.0, 0.25, 0.5, 0.75, 1.0) for v in (-0.5, 0.0, 0.5)]).T
"""Parts of the tongue's length and width: its rim and its middle. Between them the gap curves as gently as the dome does."""


def _gap_at_spots(p: Pose) -> tuple[Array, Slopes]:
    x, y = _GAP_SPOTS[0] * p.of.tongue_length, _GAP_SPOTS[1] * p.of.tongue_width
    return gap(p, x, y), gap_slopes(p, x, y)


gap_least = Exact("gap.least", "least gap under the tongue", "mm", lambda p: least_gap(p).gap, _least_gap_slopes,
                  _GAP_SPOTS.shape[1], _gap_at_spots)


_CORNERS = np.array([(-1.0, 0.0), (-1.0, 1.0), (1.0, 0.0), (1.0, 1.0)]).T
"""Side (bass -1) and height (top 0, foot 1) of the heel's corners: between them x runs evenly, so the least is at one."""


def _corner(d: Dimensions, side: Array, foot: Array) -> dict[str, Array]:
    half = d.half_width_top + (d.half_width_foot - d.half_width_top) * foot
    return dict(x_face=-np.asarray(d.floor_clearance), y_face=side * half, z_face=foot * d.foot_z)


def _corner_slopes(p: Pose, sign: float, side: Array, foot: Array) -> Slopes:
    """Slopes of ``sign`` times x at a corner of the heel."""
    s = {k: sign * v for k, v in heel_point.slopes(**_corner(p.of, side, foot), **p.turned)["x"].items()}
    by_y = s.pop("y_face") * side
    s |= dict(floor_clearance=-s.pop("x_face"), foot_z=s.pop("z_face") * foot, half_width_top=by_y * (1 - foot),
              half_width_foot=by_y * foot)
    return through_pose(p, s) | ({"pocket": 1.0} if sign > 0 else {})


def _heel(key: str, words: str, sign: float, value: Callable[[Pose], Array]) -> Exact:
    """Floor clearance (-x) or reveal (pocket + x) of the heel where it is least."""

    def slopes(p: Pose) -> Slopes:
        sides, feet = (v.reshape((4,) + (1,) * p.batch) for v in _CORNERS)
        least = (sign * heel_point(**_corner(p.of, sides, feet), **p.turned).x).argmin(axis=0)
        return _corner_slopes(p, sign, _CORNERS[0][least], _CORNERS[1][least])

    def at_spots(p: Pose) -> tuple[Array, Slopes]:
        x = sign * heel_point(**_corner(p.of, *_CORNERS), **p.turned).x
        return x + (np.asarray(p.of.pocket) if sign > 0 else 0.0), _corner_slopes(p, sign, *_CORNERS)

    return Exact(key, words, "mm", value, slopes, 4, at_spots)


floor_least = _heel("heel.floor_least", "least floor clearance of the heel", -1.0,
                    lambda p: heel_fit(p, 2).floor.min(axis=(0, 1)))
reveal_least = _heel("heel.reveal_least", "least reveal of the heel", 1.0,
                     lambda p: heel_fit(p, 2).reveal.min(axis=(0, 1)))
