"""Statics of the joint by exact constraint: the neck as a free body, through the contact wrench matrix of the general solver.

Contacts: two balls in their seats, the tilt screw, the clamp screw; no other touch. Each contact's rows say which forces it
can give; the same rows say which motions it forbids. With cup rims or cones there are 3 + 3 + 1 rows of rank 6: everything is
decided but how two seats share a sideways force between them (they can fight along the line that joins them). The clamp
screw adds a row and a second state of self-stress, wanted: its preload, which is given. With a cone and a vee the seats can't
fight, and all is decided.

Arrays: poses are (*batch); wrenches (*batch, 6) are forces [N] and moments [N mm] about the middle of the pivot axis, along the
body's axes; a leading axis of loads broadcasts. Forces of a seat are those it gives to its ball.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from lutherie_geom.design.carried import Load
from lutherie_geom.joint.contact_kinds import Contact, ball_in_cone, ball_in_vee, link, screw_to_plane
from lutherie_geom.joint.contacts import Contacts, Freedom, RigidPose
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import Pose
from lutherie_geom.mechanics.loads import each_way, load_wrench
from lutherie_geom.mechanics.pull import axis_middle, stacked, string_pull
from lutherie_geom.mechanics.seats import Seat, seats_of
from lutherie_geom.theory.heel import heel_point
from lutherie_geom.theory.tilt import screw_length

__all__ = ["Joint", "Reactions", "balance", "joint_of", "load_wrenches"]


@dataclass(frozen=True)
class Joint:
    """The joint's contacts at a pose, and what one newton in each gives to the neck."""

    design: Any
    pose: Pose
    seats: tuple[Seat, Seat]
    contacts: Contacts
    """Bass seat, treble seat, tilt screw, clamp screw."""
    stands: RigidPose

    @cached_property
    def rows(self) -> Array:
        """Contact wrench matrix (*batch, rows, 6) of all four contacts."""
        return self.contacts.wrenches(self.stands)

    @cached_property
    def freedom(self) -> Freedom:
        """Rank and states of self-stress at the pose, clamp screw counted as a link."""
        return self.contacts.freedom(self.stands)

    @property
    def seat_rows(self) -> tuple[Array, Array]:
        """Rows of the bass and of the treble seat (*batch, 3 or 2, 6)."""
        b = self.contacts.contacts[0].rows
        return self.rows[..., :b, :], self.rows[..., b:-2, :]

    def _screw(self, k: int) -> Array:
        """What one newton of tension in a screw gives to the neck (*batch, 6).

        A link pulls the receiver toward the head. A screw whose thread is fixed in the heel pushes with its head on the
        bearing face, square to it: one newton along the thread is 1 / cos newtons there.
        """
        row, c = self.rows[..., k, :], self.contacts.contacts[k]
        if "u_x" not in c.values:
            return -row
        u = self.stands.direction(stacked(*(c.values[f"u_{i}"] for i in "xyz")))
        return row / (u[..., :1] / np.linalg.norm(u, axis=-1, keepdims=True))

    @property
    def tilt_pull(self) -> Array:
        """What one newton of tension in the tilt screw gives to the neck (*batch, 6)."""
        return self._screw(-2)

    @property
    def clamp_pull(self) -> Array:
        """What one newton of tension in the clamp screw gives to the neck (*batch, 6).

        Level with the axis it turns nothing at the nominal pose. With its thread fixed in the heel (rod along) its head sweeps up
        and down the block while the neck tilts, and off the nominal pose its preload then works against the tilt screw's arm.
        """
        return self._screw(-1)

    @cached_property
    def unit(self) -> Array:
        """Wrenches of one unit of every unknown but the clamp (*batch, 6, rows - 1): seats' rows, tension of the tilt screw."""
        return np.swapaxes(np.concatenate([*self.seat_rows, self.tilt_pull[..., None, :]], axis=-2), -1, -2)

    @property
    def fight(self) -> Array:
        """One newton that the bass seat gives and the treble seat takes, along the line from ball to ball (*batch, 3).

        Balance does not decide it. Nought where a vee groove lets the treble ball slide along that line.
        """
        p, can = self.pose, float(self.seats[1].kind != "vee groove")
        return can * stacked(-p.sin_psi, p.cos_psi, 0.0)

    @property
    def arm(self) -> Array:
        """Arm of the tilt screw about the steered pivot axis at this pose [mm]."""
        return self.about_axis(self.tilt_pull) * -1

    def about_axis(self, wrench: Array) -> Array:
        """Moment of a wrench about the steered pivot axis [N mm], positive lifts the nut."""
        return wrench[..., 4] * self.pose.cos_psi - wrench[..., 3] * self.pose.sin_psi

    def __str__(self) -> str:
        return (f"{self.seats[0].kind} and {self.seats[1].kind}, tilt screw, clamp screw: {self.freedom}.\n"
                "Decided by balance: the tilt screw's force, what each seat carries along and up.\n"
                + ("Everything is decided once the clamp's preload is given." if self.seats[1].kind == "vee groove" else
                   "Not decided: how the seats share a sideways force (they can fight); the clamp's preload is given."))

    __repr__ = __str__


def joint_of(design: Any, p: Pose | None = None) -> Joint:
    """The joint's contacts at a pose (by default the nominal one), for one pose or a batch."""
    p = design.pose() if p is None else p
    d, seats = p.of, seats_of(design)
    zc = np.asarray(d.z_p, dtype=float) - design.clamp.below_axis
    half = np.asarray(d.spacing) / 2
    held: list[Contact] = []
    for seat, side, turns in zip(seats, (-1, 1), (p.bass, p.treble), strict=True):
        ball, at = (d.x_p, side * half, d.z_p), (d.x_p - d.pitch_pivot * np.asarray(turns), side * half, d.z_p)
        held.append(ball_in_vee(seat.name, ball=ball, seat=at, along=(0.0, 1.0, 0.0), across=(0.0, 0.0, 1.0))
                    if seat.kind == "vee groove" else ball_in_cone(seat.name, ball=ball, seat=at))
    length = screw_length(tilt=p.tilt, pitch_tilt=d.pitch_tilt, x_head=d.x_head, z_head=d.z_head, x_receiver=d.x_receiver,
                          z_receiver=d.z_receiver)
    nut = (design.clamp.receiver_x, 0.0, zc)
    head, tilt_head = (design.block.depth, 0.0, zc), (d.x_head, 0.0, d.z_head)
    receiver = (d.x_receiver, 0.0, d.z_receiver)
    if d.receiver == "dowel across":
        screws = [link("tilt screw", receiver=receiver, head=tilt_head, length=length),
                  link("clamp screw", receiver=nut, head=head, length=head[0] - nut[0])]
    else:
        thread = (np.asarray(d.x_head) - d.x_receiver, 0.0, np.asarray(d.z_head) - d.z_receiver)
        face = (1.0, 0.0, 0.0)
        screws = [screw_to_plane("tilt screw", receiver=receiver, thread=thread, length=length, point=tilt_head, normal=face),
                  screw_to_plane("clamp screw", receiver=nut, thread=face, length=head[0] - nut[0], point=head, normal=face)]
    middle = axis_middle(p)
    contacts = Contacts.of([*held, *screws], (np.broadcast_to(d.x_p, middle.shape[:-1]), 0.0, d.z_p))
    # The turned axes of the neck, as the relation that carries every point of the heel turns them.
    here = stacked(*heel_point(x_face=d.x_p, y_face=0.0, z_face=d.z_p, **p.turned))
    axes = [stacked(*heel_point(x_face=d.x_p + e[0], y_face=e[1], z_face=d.z_p + e[2], **p.turned)) - here for e in np.eye(3)]
    return Joint(design, p, seats, contacts, RigidPose(np.stack(axes, axis=-1), middle, contacts.reference))


@dataclass(frozen=True)
class Reactions:
    """Forces in the joint [N]: seats (*batch, 3) on their balls, tilt and clamp screw in tension (*batch).

    Where the seats can fight, a sideways force is shown shared evenly; :func:`lutherie_geom.mechanics.no_lift.bounds` tells how
    far each may lie off.
    """

    joint: Joint
    bass: Array
    treble: Array
    tilt: Array
    clamp: Array

    @property
    def seat_push(self) -> tuple[Array, Array]:
        """Force of each seat along its axis [N]; below zero the seat would have to pull: it lifts."""
        return -self.bass[..., 0], -self.treble[..., 0]

    @property
    def seat_aside(self) -> tuple[Array, Array]:
        """Force of each seat square to its axis [N]."""
        return np.hypot(self.bass[..., 1], self.bass[..., 2]), np.hypot(self.treble[..., 1], self.treble[..., 2])

    @property
    def seat_total(self) -> tuple[Array, Array]:
        """Whole force of each seat [N]."""
        return np.linalg.norm(self.bass, axis=-1), np.linalg.norm(self.treble, axis=-1)

    def __str__(self) -> str:
        if np.ndim(self.tilt):
            return f"forces at {np.shape(self.tilt)} poses or loads"
        (b, t), (sb, st) = self.seat_push, self.seat_aside
        return (f"tilt screw {self.tilt:.0f} N {'tension' if self.tilt >= 0 else '(push)'}, clamp screw {self.clamp:.0f} N\n"
                f"bass seat {b:.0f} N along, {sb:.0f} N aside; treble seat {t:.0f} N along, {st:.0f} N aside")

    __repr__ = __str__


def balance(joint: Joint, wrench: Array, clamp: ArrayLike | None = None) -> Reactions:
    """Forces that balance a wrench (..., 6) on the neck, with the clamp screw at its preload [N] (by default the design's).

    Where one state of self-stress is left, the smallest forces are given: two seats share a sideways force evenly.
    """
    c = np.asarray(joint.design.clamp.preload if clamp is None else clamp, dtype=float)
    outer = wrench + c[..., None] * joint.clamp_pull
    found = -(np.linalg.pinv(joint.unit) @ outer[..., None])[..., 0]
    b, t = joint.seat_rows
    k = b.shape[-2]
    force = [(f[..., None, :] @ rows[..., :3])[..., 0, :] for f, rows in ((found[..., :k], b), (found[..., k:-1], t))]
    return Reactions(joint, force[0], force[1], found[..., -1], np.broadcast_to(c, found.shape[:-1]))


def load_wrenches(design: Any, p: Pose, loads: list[Load] | None = None) -> Array:
    """Wrenches on the neck of every load, strings at pitch added where the load says so: (loads, *batch, 6) [N, N mm].

    A sideways load counts as two, to the bass and to the treble, in the order of :func:`lutherie_geom.mechanics.loads.each_way`.
    """
    strings = string_pull(design, p).wrench
    found = [load_wrench(design, p, load) + (strings if load.strings == "at pitch" else 0.0)
             for load in each_way(design.loads if loads is None else loads)]
    return np.stack(found) if found else np.zeros((0, *strings.shape))
