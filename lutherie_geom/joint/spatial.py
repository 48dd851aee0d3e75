"""The neck after any rigid motion: what the readings ask of a pose, for joints that can do more than tilt, steer and advance.

Action, gap, floor clearance, reveal, strings and intonation come from the same functions as for the built-in joint: they ask a
pose to carry points (:meth:`SpatialPose.carried`, ``to_body``, ``to_neck``) and do not care how it came about.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from lutherie_geom.joint.contact_posed import RigidPose
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.theory.contact import carried, rigid_to_body, rigid_to_neck

__all__ = ["SpatialPose"]


@dataclass(frozen=True)
class SpatialPose:
    """Where the neck stands after a rigid motion; nan where the joint can't stand. ``turns`` [turn] by adjuster."""

    of: Dimensions
    rigid: RigidPose
    turns: Mapping[str, Array] = field(default_factory=dict)
    reason: Array = ""
    """"" or why there is no pose, for each sample: see :class:`lutherie_geom.joint.contacts.Solution`."""
    missed: Array = 0.0
    """By how much contacts that fight miss each other at most [mm]; the parts must give so much."""

    @property
    def batch(self) -> int:
        """Number of batch axes: of the motion, or of any dimension."""
        return max(np.ndim(self.rigid.rotation) - 2, self.of.batch)

    @cached_property
    def motion(self) -> dict[str, Array]:
        """Arguments of the relations that carry points."""
        r, c, m = self.rigid.rotation, self.rigid.reference, self.rigid.position
        names = [(f"r_{i}{j}", r[..., a, b]) for a, i in enumerate("xyz") for b, j in enumerate("xyz")]
        return dict(names) | {f"{k}_{i}": v[..., a] for k, v in (("ref", c), ("pos", m)) for a, i in enumerate("xyz")}

    @property
    def set_(self) -> dict[str, Array]:
        """Arguments of the relations that need the neck angle."""
        return dict(cos_alpha=np.cos(self.of.alpha), sin_alpha=np.sin(self.of.alpha), z_joint=self.of.z_joint)

    @property
    def turned(self) -> dict[str, Array]:
        """Arguments of the relations that know only yaw, tilt and advance. Raises ValueError where the neck does more."""
        more = {"roll [rad]": self.roll, "move across [mm]": self.moved[..., 1], "move up [mm]": self.moved[..., 2]}
        for words, v in more.items():
            if np.any(np.abs(v) > 1e-9):
                raise ValueError(f"{words} is {float(np.max(np.abs(v))):.3g}: this reading is for joints that only tilt, steer "
                                 "and advance (allowed is 0)")
        return dict(cos_psi=self.cos_psi, sin_psi=self.sin_psi, cos_theta=np.cos(self.theta), sin_theta=np.sin(self.theta),
                    advance=self.advance, x_p=self.of.x_p, z_p=self.of.z_p)

    def carried(self, x: Array, y: Array, z: Array) -> Any:
        """Points of the neck [mm], given in the body frame at the nominal pose, where they have come to lie: x, y, z."""
        return carried(nominal_x=x, nominal_y=y, nominal_z=z, **self.motion)

    def to_body(self, x: Array, y: Array, z: Array) -> Any:
        """Points of the neck frame [mm] in the body frame."""
        return rigid_to_body(xn=x, yn=y, zn=z, **self.set_, **self.motion)

    def to_neck(self, x: Array, y: Array, z: Array) -> Any:
        """Points of the body frame [mm] in the neck frame."""
        return rigid_to_neck(x=x, y=y, z=z, **self.set_, **self.motion)

    @cached_property
    def angles(self) -> Any:
        """``psi``, ``theta``, ``roll`` [rad]: yaw about z, tilt about y, roll about x; the rotation is Rz Ry Rx."""
        return self.rigid.angles

    @property
    def psi(self) -> Array:
        """Yaw [rad], positive: nut to the bass side."""
        return self.angles.psi

    @property
    def theta(self) -> Array:
        """Tilt [rad], positive: nut up."""
        return self.angles.theta

    @property
    def roll(self) -> Array:
        """Roll about the body's x [rad], positive: treble side up."""
        return self.angles.roll

    @cached_property
    def moved(self) -> Array:
        """How far the neck's point on the design's pivot axis has moved (..., 3) [mm]: along, across, up."""
        d = self.of
        now = np.broadcast_arrays(*self.carried(d.x_p, 0.0, d.z_p))
        return np.stack(np.broadcast_arrays(now[0] - d.x_p, now[1], now[2] - d.z_p), axis=-1)

    @property
    def advance(self) -> Array:
        """How far the neck has moved away from the body, along -x [mm], at the design's pivot axis."""
        return -self.moved[..., 0]

    @property
    def cos_psi(self) -> Array:
        """Cosine of the yaw [1]."""
        return np.cos(self.psi)

    @property
    def sin_psi(self) -> Array:
        """Sine of the yaw [1]."""
        return np.sin(self.psi)

    def __str__(self) -> str:
        if self.batch:
            names, counts = np.unique(np.asarray(self.reason), return_counts=True)
            return "\n".join(f"{n} poses: {w or 'solved'}" for w, n in zip(names, counts, strict=True))
        said = ", ".join(f"{k} {float(v):+.4g}" for k, v in self.turns.items()) or "none"
        if np.ndim(self.reason) == 0 and str(self.reason):
            return f"turns: {said}\nno pose: {self.reason}"
        x, y, z = (round(float(v), 3) + 0.0 for v in np.ravel(self.moved))
        tilt, yaw, roll = (round(float(np.degrees(v)), 4) + 0.0 for v in (self.theta, self.psi, self.roll))
        return (f"turns: {said}\ntilt {tilt:+.4f} deg, yaw {yaw:+.4f} deg, roll {roll:+.4f} deg; "
                f"moved {x:+.3f} along, {y:+.3f} across, {z:+.3f} up [mm]"
                + (f"\ncontacts that fight miss by up to {float(self.missed):.4f} mm" if self.missed > 1e-6 else ""))

    __repr__ = __str__
