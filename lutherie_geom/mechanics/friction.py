"""Friction round the pivot, the force in the tilt screw when it reverses, and what washer spring and glued cover do then.

While no key turns, friction at the balls, at the receivers and at sliding heads can hold a part of the moment: the tilt screw's
force lies anywhere in a band round the value without friction, depending on which way the neck moved last. Friction in the tilt
screw's own thread is not in this band: it holds the screw against turning, and shows in the key's torque.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.carried import MOST_PUSH, Load
from lutherie_geom.design.lines import folded
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.mechanics.loads import load_force
from lutherie_geom.mechanics.no_lift import screw_torque
from lutherie_geom.mechanics.seats import friction_range
from lutherie_geom.mechanics.statics import Reactions
from lutherie_geom.theory.statics import ball_friction, dead_band, dowel_friction, slide_friction
from lutherie_geom.theory.swivel import swivel_dowel, swivel_rod

__all__ = ["Band", "Reversal", "friction_band", "reversal", "spring_and_cover"]


@dataclass(frozen=True)
class Band:
    """Friction torques about the pivot axis [N mm] at low and high friction, each (2, *batch), and the band of force [N]."""

    parts: dict[str, Array]
    band: Array
    """Half the width of the band round the tilt screw's force [N], (2, *batch): low and high friction."""
    raising: Array
    """Torque at the tilt screw's key that raises the action [N mm], (2, *batch); below zero the strings turn the screw."""
    lowering: Array
    """Torque that lowers it [N mm], (2, *batch)."""

    def __str__(self) -> str:
        if self.band.ndim > 1:
            return f"friction at {self.band.shape[1:]} poses or loads"
        lines = [f"  {k}: {v[0] / 1000:.2f} to {v[1] / 1000:.2f} N m" for k, v in self.parts.items()]
        return folded(
            f"friction holds the tilt screw's force within {self.band[0]:.0f} to {self.band[1]:.0f} N either way", *lines,
            f"  key: {self.lowering[0] / 1000:.2f} to {self.lowering[1] / 1000:.2f} N m to lower the action, "
            f"{self.raising[0] / 1000:.2f} to {self.raising[1] / 1000:.2f} N m to raise it",
            *(f"  friction: {friction_range(k)}" for k in ("head", "thread", "dowel")))

    __repr__ = __str__


def friction_band(r: Reactions) -> Band:
    """Dead band round the tilt screw's force for given forces in the joint; low and high friction along the first axis."""
    joint, p, design = r.joint, r.joint.pose, r.joint.design
    d = p.of
    metal, thread, wood = (friction_range(k).both.reshape((2,) + (1,) * np.ndim(r.tilt)) for k in ("head", "thread", "dowel"))
    parts = {"balls in their seats": sum(ball_friction(seat_force=np.maximum(push, 0.0), friction=metal,
                                                       ball_radius=design.pivot.ball_radius, rim_radius=seat.ring)
                                         for seat, push in zip(joint.seats, r.seat_push, strict=True))}
    force, clamp = np.abs(r.tilt), np.asarray(r.clamp, dtype=float)
    places = {k: getattr(d, k) for k in "x_p z_p x_head z_head x_receiver z_receiver".split()}
    moved = {"psi": p.psi, "theta": p.theta, "advance": p.advance} | places
    if d.receiver == "dowel across":
        slopes = swivel_dowel.slopes(**moved)
        swing, turn = (np.abs(slopes[k]["theta"]) for k in ("swing_head", "swing_receiver"))
        parts["tilt screw's dowel"] = turn * dowel_friction(force=force, friction=wood,
                                                            diameter=design.tilt_screw.receiver_diameter)
        parts["tilt screw's head"] = swing * dowel_friction(force=force, friction=metal, diameter=design.tilt_screw.head_diameter)
        # Level with the axis, the clamp screw stands still while the heel turns round its dowel.
        parts["clamp screw's dowel"] = dowel_friction(force=clamp, friction=wood, diameter=design.clamp.receiver_diameter)
    else:
        slide = np.abs(swivel_rod.slopes(**moved)["slide"]["theta"])
        parts["tilt screw's head, sliding"] = slide_friction(force=force, friction=metal, slide_rate=slide)
        # Its thread is fixed in the heel: the clamp screw's head sweeps up and down the block's inner face.
        sweep = np.abs(design.block.depth - d.x_p + np.asarray(p.advance))
        parts["clamp screw's head, sliding"] = slide_friction(force=clamp, friction=metal, slide_rate=sweep)
    total = sum(parts.values())
    tension = np.maximum(r.tilt, 0.0)
    band = dead_band(friction_torque=total, arm=joint.arm)
    raising, lowering = (screw_torque(design, "tilt_screw", np.maximum(tension + s * band, 0.0), thread, head_friction=metal,
                                      loosening=loose)
                         for s, loose in ((-1, True), (1, False)))
    return Band(parts, band, raising, lowering)


@dataclass(frozen=True)
class Reversal:
    """At which size of a load the tilt screw's force reverses [N], inf when that load only adds tension; ``given``: its size."""

    load: str
    at: Array
    """Size of the load that takes the last tension out of the tilt screw (*batch) [N]."""
    head_leaves: Array
    """Size at which the captive head leaves its face, against the washer spring (*batch) [N]."""
    given: float

    def __str__(self) -> str:
        if np.ndim(self.at):
            return f"{self.load}: reversal at {np.shape(self.at)} poses"
        if np.isinf(self.at):
            return f"{self.load}: the tilt screw stays in tension, however large the load"
        return (f"{self.load}: the tilt screw's force reverses at {self.at:.0f} N, the captive head leaves its face at "
                f"{self.head_leaves:.0f} N ({self.given:.0f} N asked of it)")


def reversal(design: Any, load: Load, before: Array, under: Array) -> Reversal:
    """Size of a load [N] at which the tilt screw's force reverses: ``before`` the load and ``under`` all of it (*batch) [N].

    The neck's own weight is counted with the load when it comes with a jerk, else it is there before. A change too small to tell
    from rounding is none, and a load past what a design file takes is not told.
    """
    size, before = load_force(design, load), np.asarray(before, dtype=float)
    change = np.asarray(under, dtype=float) - before
    # Below a billionth of the load's size the change is rounding: a push square to the moment that the screw answers.
    turns = (change < -1e-9 * size) & (before > 0)
    each = np.where(turns, -change, np.nan) / (size or np.nan)

    def told(at: Array) -> Array:
        return np.where(at <= MOST_PUSH, at, np.inf)[()]  # false for what is not a number

    return Reversal(load.name, told(before / each), told((before + design.tilt_screw.spring_push) / each), size)


def spring_and_cover(design: Any, tilt: Array) -> tuple[Array, Array]:
    """How far the captive head leaves its face [mm], and what the glued cover carries [N], at a force in the tilt screw [N].

    The washer spring stands between head and cover, so the cover always carries the spring's push. The head stays on its face
    until the screw pushes harder than the spring; then it moves by the spring's rate until the spring is flat (at
    ``spring_room``), and the cover carries all that the screw pushes. The spring takes the play out of the head's chamber, not
    out of the thread.
    """
    t = design.tilt_screw
    push = np.maximum(-np.asarray(tilt, dtype=float), 0.0)
    over = np.maximum(push - t.spring_push, 0.0)
    room = np.where(over > 0, t.spring_room, 0.0)
    moved = np.minimum(over / t.spring_rate, room) if t.spring_rate > 0 else room
    return moved, np.maximum(push, t.spring_push)
