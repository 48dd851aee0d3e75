"""The numbers of one joint, or of many at once: what the kinematics needs, in mm and rad.

Every field may be a number or an array; arrays broadcast. Part axes come first, the batch last: a per-string field has
shape ``(strings,)`` or ``(strings, *batch)``, a field per string and fret ``(strings, frets, *batch)``. A study replaces
fields by arrays of samples (:meth:`Dimensions.replaced`) and every reading follows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from lutherie_geom.theory.action import cone_radius, crown_dip
from lutherie_geom.theory.scale import fret_distance

__all__ = ["Array", "Dimensions", "from_design"]

Array = Any  # a float or a numpy array of floats
UNITS = {"alpha": "rad", "curvature": "1/mm", "fall_away_curvature": "1/mm", "fall_away_line": "", "draught": "", "along": "",
         "across": "", "hollowed": "", "pitch_pivot": "mm/turn", "pitch_tilt": "mm/turn"}
PER_STRING = ("y_nut", "h_nut", "x_saddle", "y_saddle", "h_saddle")


@dataclass(frozen=True)
class Dimensions:
    """Dimensions of the joint [mm, rad, mm/turn]; see the table of words in ``theory.words`` for each name."""

    receiver: str
    joint_fret: int
    last_fret: int
    # strings: shape (strings, *batch)
    scale: Array
    y_nut: Array
    h_nut: Array
    x_saddle: Array
    y_saddle: Array
    h_saddle: Array
    nut_compensation: Array
    # board
    joint_fret_x: Array
    width_nut: Array
    width_last: Array
    radius_nut: Array
    radius_last: Array
    relief: Array
    fall_away_line: Array
    fall_away_curvature: Array
    # neck, soundboard
    alpha: Array
    z_joint: Array
    curvature: Array
    x_apex: Array
    along: Array
    across: Array
    # pivot and tilt screw
    x_p: Array
    z_p: Array
    spacing: Array
    pitch_pivot: Array
    x_head: Array
    z_head: Array
    x_receiver: Array
    z_receiver: Array
    pitch_tilt: Array
    # tongue
    tongue_length: Array
    tongue_width: Array
    gap_joint: Array
    hollowed: Array
    # heel and pocket
    floor_clearance: Array
    foot_z: Array
    half_width_top: Array
    half_width_foot: Array
    pocket: Array
    side_gap: Array
    draught: Array

    def __str__(self) -> str:
        return _sheet(self)

    __repr__ = __str__

    def replaced(self, **values: Array) -> Dimensions:
        """A copy with some fields replaced, by arrays of samples for instance."""
        known = {f.name for f in fields(self)}
        wrong = sorted(set(values) - known)
        if wrong:
            raise TypeError(f"no dimension named {wrong}; known: {sorted(known)}")
        return replace(self, **values)

    @property
    def batch(self) -> int:
        """Number of batch axes: 0 for one joint, 1 for a list of samples."""
        return max(np.ndim(getattr(self, f.name)) - (f.name in PER_STRING) for f in fields(self))

    @property
    def strings(self) -> int:
        """Number of strings."""
        return int(np.shape(self.y_nut)[0])

    @property
    def x_nut(self) -> Array:
        """Nut along the board [mm], neck frame."""
        return self.joint_fret_x - self.to_fret(self.joint_fret) + self.nut_compensation

    def to_fret(self, fret: Array) -> Array:
        """Distance from the theoretical nut line to a fret [mm]."""
        return fret_distance(scale=self.scale, fret=fret)

    def x_fret(self, fret: Array) -> Array:
        """A fret along the board [mm], neck frame."""
        return self.joint_fret_x + self.to_fret(fret) - self.to_fret(self.joint_fret)

    def board_radius(self, x: Array) -> Array:
        """Crowning radius of the board [mm] at x' [mm]: it runs evenly from nut to last fret; a flat end is flat all over."""
        x0, x1 = self.x_nut, self.x_fret(self.last_fret)
        part = np.clip((x - x0) / (x1 - x0), 0.0, 1.0)
        r0, r1 = np.asarray(self.radius_nut), np.asarray(self.radius_last)
        flat = np.isinf(r0) | np.isinf(r1)
        cone = cone_radius(radius_nut=np.where(flat, 1.0, r0), radius_last=np.where(flat, 1.0, r1), part=part)
        return np.where(flat, np.inf, cone)

    def dip(self, fret: Array) -> Array:
        """How far a fret's crown lies below the fret plane on the centreline [mm]: relief before the joint, fall-away past it."""
        x, first, joint = self.x_fret(fret), self.x_fret(1), self.x_fret(self.joint_fret)
        v = np.clip((x - first) / (joint - first), 0.0, 1.0)
        past = np.maximum(x - joint, 0.0)
        return crown_dip(relief=self.relief, part=v, fall_slope=self.fall_away_line, fall_curvature=self.fall_away_curvature,
                         past_joint=past)


def _sheet(d: Dimensions) -> str:
    """Data sheet: every dimension with its unit."""
    lines = []
    for f in fields(d):
        value, unit = getattr(d, f.name), UNITS.get(f.name, "mm")
        if isinstance(value, str | int):
            lines.append(f"{f.name:<20} {value}")
            continue
        if np.ndim(value) - (f.name in PER_STRING) > 0:
            shown = f"{np.min(value):.6g} to {np.max(value):.6g}, shape {np.shape(value)}"
        else:
            shown = ", ".join(f"{v:.6g}" for v in np.ravel(value))
        lines.append(f"{f.name:<20} {shown} {unit}".rstrip())
    return "\n".join(lines)


def from_design(design: Any) -> Dimensions:
    """Dimensions of a design; a neck angle or saddle heights left out are solved for from its target."""
    s, b, body, p, t = design.strings, design.board, design.body, design.pivot, design.tilt_screw
    n = design.count
    even = np.linspace(-0.5, 0.5, n)
    saddle = s.scale - float(fret_distance(scale=s.scale, fret=float(b.joint_fret))) + b.joint_fret_x
    flat = body.dome == "flat"
    past = float(fret_distance(scale=s.scale, fret=float(b.last_fret)) - fret_distance(scale=s.scale, fret=float(b.joint_fret)))
    line = b.fall_away.drop / past if b.fall_away.shape == "line" and past > 0 else 0.0
    bend = 2 * b.fall_away.drop / (past**2 + b.fall_away.drop**2) if b.fall_away.shape == "radius" and past > 0 else 0.0
    found = Dimensions(
        receiver=t.receiver, joint_fret=b.joint_fret, last_fret=b.last_fret,
        scale=s.scale, y_nut=s.nut_spread * even, h_nut=np.linspace(s.nut_height_bass, s.nut_height_treble, n),
        x_saddle=saddle + np.asarray(s.compensation), y_saddle=s.saddle_spread * even,
        h_saddle=np.asarray(s.saddle_heights if s.saddle_heights is not None else [12.0] * n),
        nut_compensation=s.nut_compensation, joint_fret_x=b.joint_fret_x,
        width_nut=b.width_nut, width_last=b.width_last,
        radius_nut=b.radius_nut, radius_last=b.radius_last, relief=b.relief,
        fall_away_line=line, fall_away_curvature=bend,
        alpha=design.neck.angle if design.neck.angle is not None else 0.0, z_joint=design.z_joint,
        curvature=0.0 if flat else 1 / body.dome_radius, x_apex=body.apex_x,
        along=0.0 if body.dome == "across" else 1.0, across=0.0 if body.dome == "along" else 1.0,
        x_p=p.x, z_p=p.z, spacing=p.spacing, pitch_pivot=p.pitch,
        x_head=t.head_x, z_head=t.head_z, x_receiver=t.receiver_x, z_receiver=t.receiver_z, pitch_tilt=t.pitch,
        tongue_length=design.tongue.length, tongue_width=design.tongue.width, gap_joint=design.tongue.gap,
        hollowed=1.0 if design.tongue.underside == "hollowed" else 0.0,
        floor_clearance=design.heel.floor_clearance, foot_z=design.heel.foot_z,
        half_width_top=design.heel.half_width_top, half_width_foot=design.heel.half_width_foot,
        pocket=design.pocket.depth, side_gap=design.pocket.side_gap, draught=math.tan(design.heel.draught),
    )
    if design.neck.angle is None or s.saddle_heights is None:
        from lutherie_geom.joint.neck_set import solved

        return solved(design, found)
    return found
