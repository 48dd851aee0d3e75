"""Coupling of the three screws: what each turn does, exactly, and what to turn for a wanted change."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.joint.strings import action, column
from lutherie_geom.theory.action import ACTION
from lutherie_geom.theory.pose import NUT_END, POSE

__all__ = ["SCREWS", "Advice", "Coupling", "action_slopes", "coupling", "turns_for"]

SCREWS = ("tilt", "bass", "treble")


def _turn_arguments(p: Pose) -> dict[str, Array]:
    d = p.of
    return dict(tilt=p.tilt, bass=p.bass, treble=p.treble, pitch_tilt=d.pitch_tilt, pitch_pivot=d.pitch_pivot,
                spacing=d.spacing, x_p=d.x_p, z_p=d.z_p, x_head=d.x_head, z_head=d.z_head, x_receiver=d.x_receiver,
                z_receiver=d.z_receiver)


def action_slopes(p: Pose, frets: Array) -> dict[str, Array]:
    """Exact slopes of the action by every turn and every dimension [mm per unit], each (strings, frets, *batch)."""
    d, n = p.of, p.batch

    def string(values: Array) -> Array:
        v = column(values, n)
        return np.expand_dims(v, 1)

    f = column(np.atleast_1d(np.asarray(frets, dtype=float)), n)
    x = d.x_fret(f)
    return dict(ACTION[d.receiver].slopes(
        **_turn_arguments(p), alpha=d.alpha, z_joint=d.z_joint, x_saddle=string(d.x_saddle), y_saddle=string(d.y_saddle),
        h_saddle=string(d.h_saddle), curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across, x_nut=d.x_nut,
        y_nut=string(d.y_nut), h_nut=string(d.h_nut), radius_nut=d.radius_nut, x_fret=x, radius_fret=d.board_radius(x),
        dip=d.dip(f))["action"])


@dataclass(frozen=True)
class Coupling:
    """Slopes by the turns of (tilt, bass, treble), columns in that order, (3, 3, *batch).

    motion: rows tilt [rad/turn], yaw [rad/turn], advance [mm/turn].
    seen: rows action of the first and of the last string at the fret, string position at the nut end to treble [mm/turn].
    """

    motion: Array
    seen: Array

    def __str__(self) -> str:
        if self.motion.ndim > 2:
            return f"coupling of the screws, {self.motion.shape[2:]} samples"
        rows = [("tilt [deg/turn]", np.degrees(self.motion[0])), ("yaw [deg/turn]", np.degrees(self.motion[1])),
                ("advance [mm/turn]", self.motion[2]), ("action bass [mm/turn]", self.seen[0]),
                ("action treble [mm/turn]", self.seen[1]), ("nut end to treble [mm/turn]", self.seen[2])]
        head = f"{'for a turn of':<28}" + "".join(f"{s:>10}" for s in SCREWS)
        return "\n".join([head, *(f"{words:<28}" + "".join(f"{v:10.4f}" for v in row) for words, row in rows)])

    __repr__ = __str__

    @property
    def inverse(self) -> Array:
        """Turns per unit of (tilt, yaw, advance), (3, 3, *batch)."""
        return np.moveaxis(np.linalg.inv(np.moveaxis(self.motion, (0, 1), (-2, -1))), (-2, -1), (0, 1))


def coupling(p: Pose, fret: int = 12) -> Coupling:
    """The coupling matrices at a pose."""
    arguments = _turn_arguments(p)
    s = POSE[p.of.receiver].slopes(**arguments)
    motion = [[s[row][screw] for screw in SCREWS] for row in ("theta", "psi", "advance")]
    a = action_slopes(p, fret)
    nut = NUT_END[p.of.receiver].slopes(xn=p.of.x_nut, alpha=p.of.alpha, z_joint=p.of.z_joint, **arguments)["y"]
    seen = [[a[screw][i, 0] for screw in SCREWS] for i in (0, -1)] + [[nut[screw] for screw in SCREWS]]
    return Coupling(_stack(motion), _stack(seen))


def _stack(rows: list[list[Array]]) -> Array:
    flat = np.broadcast_arrays(*(v for row in rows for v in row))
    return np.stack(flat).reshape((len(rows), len(rows[0]), *flat[0].shape))


@dataclass(frozen=True)
class Advice:
    """Turns [turn] of tilt, bass and treble for a wanted change, and what is left over [mm]."""

    tilt: Array
    bass: Array
    treble: Array
    left_action: Array
    left_sideways: Array

    def __str__(self) -> str:
        if np.ndim(self.tilt):
            return f"advice for {np.shape(self.tilt)} samples"
        return (f"turns: tilt {self.tilt:+.4f}, bass {self.bass:+.4f}, treble {self.treble:+.4f}; left over: "
                f"action {self.left_action:+.1e} mm, sideways {self.left_sideways:+.1e} mm")

    __repr__ = __str__


def turns_for(d: Dimensions, *, action_change: Array, sideways: Array, fret: int = 12, start: Pose | None = None) -> Advice:
    """What to turn so that the mean action at a fret changes by ``action_change`` [mm] and the strings at the nut end move
    by ``sideways`` [mm, to treble]. The neck is not moved in or out: bass and treble are turned against each other.

    Newton on the full model, from the exact coupling; what is left is given with the answer.
    """
    p = start or pose(d)
    goal_a = action(p, fret).mean(axis=(0, 1)) + action_change
    goal_y = p.to_body(d.x_nut, 0.0, 0.0).y + sideways
    t, b, r = (np.asarray(v, dtype=float) for v in (p.tilt, p.bass, p.treble))
    left_a, left_y = np.asarray(action_change, dtype=float), np.asarray(sideways, dtype=float)
    for _ in range(8):
        now = pose(d, tilt=t, bass=b, treble=r)
        s, c = action_slopes(now, fret), coupling(now, fret)
        a_tilt = s["tilt"].mean(axis=(0, 1))
        a_steer = (s["bass"] - s["treble"]).mean(axis=(0, 1))
        y_tilt, y_steer = c.seen[2, 0], c.seen[2, 1] - c.seen[2, 2]
        det = a_tilt * y_steer - a_steer * y_tilt
        dt, ds = (left_a * y_steer - a_steer * left_y) / det, (a_tilt * left_y - y_tilt * left_a) / det
        t, b, r = t + dt, b + ds, r - ds
        now = pose(d, tilt=t, bass=b, treble=r)
        left_a = goal_a - action(now, fret).mean(axis=(0, 1))
        left_y = goal_y - now.to_body(d.x_nut, 0.0, 0.0).y
    return Advice(t, b, r, left_a, left_y)
