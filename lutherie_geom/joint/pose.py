"""Pose of the neck: the closed form for any turns of the three screws, and points carried between the frames."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.theory.heel import heel_point
from lutherie_geom.theory.pose import POSE, to_body, to_neck
from lutherie_geom.theory.tilt import TURNS, screw_length, tilt_arm, tilt_arm_rod, tilt_rule

__all__ = ["AnyPose", "Pose", "arm", "pose", "small_angle", "turns_for_tilt"]


class AnyPose(Protocol):
    """What the readings of strings, gap, floor and pocket ask of a pose, however it came about."""

    @property
    def of(self) -> Dimensions:
        """The joint's numbers."""

    @property
    def batch(self) -> int:
        """Number of batch axes."""

    @property
    def advance(self) -> Array:
        """How far the pivot's middle has moved away from the body, along -x [mm]."""

    def carried(self, x: Array, y: Array, z: Array) -> Any:
        """Points of the neck [mm], given in the body frame at the nominal pose, where they have come to lie: x, y, z."""

    def to_body(self, x: Array, y: Array, z: Array) -> Any:
        """Points of the neck frame [mm] in the body frame."""

    def to_neck(self, x: Array, y: Array, z: Array) -> Any:
        """Points of the body frame [mm] in the neck frame."""


@dataclass(frozen=True)
class Pose:
    """Where the neck stands: turns [turn], yaw and tilt [rad], advance [mm]. Fields broadcast together."""

    of: Dimensions
    tilt: Array
    bass: Array
    treble: Array
    psi: Array
    theta: Array
    advance: Array
    cos_psi: Array
    sin_psi: Array
    cos_theta: Array
    sin_theta: Array

    @property
    def batch(self) -> int:
        """Number of batch axes: of the turns, or of any dimension."""
        return max(np.ndim(self.theta), np.ndim(self.psi), self.of.batch)

    @property
    def turned(self) -> dict[str, Array]:
        """Arguments of the relations that carry points with the neck."""
        return dict(cos_psi=self.cos_psi, sin_psi=self.sin_psi, cos_theta=self.cos_theta, sin_theta=self.sin_theta,
                    advance=self.advance, x_p=self.of.x_p, z_p=self.of.z_p)

    @property
    def set_(self) -> dict[str, Array]:
        """Arguments of the relations that need the neck angle."""
        return dict(cos_alpha=np.cos(self.of.alpha), sin_alpha=np.sin(self.of.alpha), z_joint=self.of.z_joint)

    def carried(self, x: Array, y: Array, z: Array) -> Any:
        """Points of the neck [mm], given in the body frame at the nominal pose, where they have come to lie: x, y, z."""
        return heel_point(x_face=x, y_face=y, z_face=z, **self.turned)

    def to_body(self, x: Array, y: Array, z: Array) -> Any:
        """Points of the neck frame [mm] in the body frame."""
        return to_body(xn=x, yn=y, zn=z, **self.set_, **self.turned)

    def to_neck(self, x: Array, y: Array, z: Array) -> Any:
        """Points of the body frame [mm] in the neck frame."""
        return to_neck(x=x, y=y, z=z, **self.set_, **self.turned)

    def __str__(self) -> str:
        def show(v: Array, digits: int) -> str:
            return f"{float(v):+.{digits}f}" if np.ndim(v) == 0 else f"{np.shape(v)} values"

        return (f"turns: tilt {show(self.tilt, 4)}, bass {show(self.bass, 4)}, treble {show(self.treble, 4)}\n"
                f"tilt {show(np.degrees(self.theta), 4)} deg, yaw {show(np.degrees(self.psi), 4)} deg, "
                f"advance {show(self.advance, 3)} mm")

    __repr__ = __str__


def pose(dims: Dimensions, *, tilt: Array = 0.0, bass: Array = 0.0, treble: Array = 0.0) -> Pose:
    """The neck after turns [turn] of tilt, bass and treble screw; arrays broadcast. Out of reach gives ``nan``."""
    length = screw_length(tilt=tilt, pitch_tilt=dims.pitch_tilt, x_head=dims.x_head, z_head=dims.z_head,
                          x_receiver=dims.x_receiver, z_receiver=dims.z_receiver)
    if not np.all(length > 0):  # the closed form squares the length and would answer for a negative one
        tilt = np.where(length > 0, tilt, np.nan)[()]
    with np.errstate(invalid="ignore"):
        found = POSE[dims.receiver](
            tilt=tilt, bass=bass, treble=treble, pitch_tilt=dims.pitch_tilt, pitch_pivot=dims.pitch_pivot,
            spacing=dims.spacing, x_p=dims.x_p, z_p=dims.z_p, x_head=dims.x_head, z_head=dims.z_head,
            x_receiver=dims.x_receiver, z_receiver=dims.z_receiver)
    return Pose(dims, tilt, bass, treble, *found)


def turns_for_tilt(dims: Dimensions, *, theta: Array, psi: Array = 0.0, advance: Array = 0.0) -> Array:
    """Turns of the tilt screw [turn] that give a tilt [rad], exact; nan where no length of the screw does."""
    with np.errstate(invalid="ignore"):
        return TURNS[dims.receiver](
            theta=theta, psi=psi, advance=advance, pitch_tilt=dims.pitch_tilt, x_p=dims.x_p, z_p=dims.z_p,
            x_head=dims.x_head, z_head=dims.z_head, x_receiver=dims.x_receiver, z_receiver=dims.z_receiver)


def arm(dims: Dimensions) -> Array:
    """Arm of the tilt screw about the pivot axis [mm] at the nominal pose."""
    if dims.receiver == "rod along":
        return tilt_arm_rod(z_p=dims.z_p, x_head=dims.x_head, z_head=dims.z_head, x_receiver=dims.x_receiver,
                            z_receiver=dims.z_receiver)
    return tilt_arm(x_p=dims.x_p, z_p=dims.z_p, x_head=dims.x_head, z_head=dims.z_head,
                    x_receiver=dims.x_receiver, z_receiver=dims.z_receiver)


def small_angle(dims: Dimensions, *, tilt: Array) -> Array:
    """Tilt [rad] by the rule of thumb: pitch times turns over the arm."""
    return tilt_rule(tilt=tilt, pitch_tilt=dims.pitch_tilt, arm=arm(dims))
