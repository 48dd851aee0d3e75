"""How stiff the joint itself is: every contact a spring along its own rows of the wrench matrix, the neck between them rigid.

Springs in a row behind each contact: the ball in its seat (Hertz), the seat's screw and the ball's screw in wood, the tilt and
the clamp screw as bars, their dowels and faces in wood. Wood is by far the softest and the least certain. So everything is told
as three numbers, soft, likely and stiff: soft by the slip rule of a timber code, stiff by elastic wood bonded all round, likely
their geometric middle. Left out: the bending of neck, headstock, block and sides, which in use is larger than the joint's
own give.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import steel
from lutherie_geom.design.lines import folded
from lutherie_geom.design.woods import Wood, wood
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.joint.strings import action, string_lines
from lutherie_geom.joint.turning import STEPS
from lutherie_geom.mechanics.loads import DIRECTIONS, place
from lutherie_geom.mechanics.pull import stacked, string_pull, wrench_at
from lutherie_geom.mechanics.statics import Joint, Reactions, balance, joint_of
from lutherie_geom.mechanics.wood_bearing import off_grain
from lutherie_geom.theory import stiffness as theory
from lutherie_geom.theory.fasteners import metric_thread
from lutherie_geom.theory.strength import contact_modulus, hertz_point, screw_stiffness

__all__ = ["Give", "SIDES", "Springs", "give", "springs_of"]

SIDES = ("soft", "likely", "stiff")
SIDEWAYS = ("sideways", "to the bass", "to the treble")
ACROSS, SHEAR = 0.1, 0.07
"""Modulus across the grain and shear modulus, as shares of the modulus along it, for a wood whose own ratios are not known (usual
middle of the handbook's species, from memory)."""
MOST_LOAD = 3000.0
"""Largest load that is looked at [N], as for the loads of a design."""
SPRING_REACH = 30.0
"""How far from a screw the wood no longer moves [mm] (chosen here; it stands in a logarithm)."""


def _elastic(w: Wood) -> tuple[float, float, float]:
    """Modulus along the grain, across it, and shear modulus [MPa]; short-term, at the table's moisture."""
    across = w.value("radial_ratio") if "radial_ratio" in w else ACROSS
    shear = w.value("shear_ratio_lr") if "shear_ratio_lr" in w else SHEAR
    return w.modulus, w.modulus * across, w.modulus * shear


def _three(soft: Array, stiff: Array) -> Array:
    """Soft, likely and stiff [N/mm] along the first axis; the rule that comes out softer counts as soft."""
    pair = np.stack(np.broadcast_arrays(soft, stiff))
    pair.sort(axis=0)
    return np.stack([pair[0], np.sqrt(pair[0] * pair[1]), pair[1]])


def _row(*springs: Array) -> Array:
    return reduce(lambda a, b: theory.in_series(stiffness_1=a, stiffness_2=b), springs)


@dataclass(frozen=True)
class Springs:
    """Stiffness [N/mm] of each contact, soft, likely and stiff along the first axis: (3, *batch)."""

    seat_along: tuple[Array, Array]
    """Bass and treble seat along their axes."""
    seat_aside: tuple[Array, Array]
    tilt: Array
    clamp: Array
    ball_alone: tuple[Array, Array]
    """The ball in its seat alone, metal on metal, along the axis (*batch): the ring where there is one."""
    ball_one_point: tuple[Array, Array]
    """The same if the ball touched at one point only: the lower end for a poor seat."""


def _ball(joint: Joint, force: Array, ring: float) -> tuple[Array, Array]:
    """Tangent stiffness [N/mm] at a force: ball on its ring, and at one point."""
    modulus, poisson = steel()
    e = contact_modulus(modulus_1=modulus, poisson_1=poisson, modulus_2=modulus, poisson_2=poisson)
    r = joint.design.pivot.ball_radius
    force = np.maximum(force, 1.0)
    on_ring = theory.ring_approach.slopes(force=force, ball_radius=r, rim_radius=ring, contact_modulus=e)["approach"]["force"]
    on_point = hertz_point.slopes(force=force, relative_radius=r, contact_modulus=e)["approach"]["force"]
    return 1 / on_ring, 1 / on_point


def springs_of(r: Reactions) -> Springs:
    """Stiffness of every contact at the given forces in the joint; woods, screws and receivers from the design."""
    joint, design = r.joint, r.joint.design
    t, c, v, woods = design.tilt_screw, design.clamp, design.pivot, design.woods
    block, neck = wood(woods.block), wood(woods.neck)
    along_b, across_b, shear_b = _elastic(block)
    along_n = _elastic(neck)[0]
    into_block = off_grain(along_b, across_b, woods.block_angle(1.0, 0.0, 0.0))
    slip_b, slip_n = (lambda d, w=w: theory.slip_modulus(density=w.density(woods.moisture), diameter=d) for w in (block, neck))
    hold, size = (v.insert_length, v.insert_diameter) if v.insert_diameter > 0 else (v.screw_length, v.screw_diameter)
    size, hold = max(size, v.screw_diameter), max(hold, v.least_hold)
    seat_wood = _three(slip_b(size), theory.insert_in_wood(rigidity=shear_b, bearing_length=hold, diameter=size,
                                                           reach=SPRING_REACH))
    head = 2 * v.ball_radius
    ball_wood = _three(slip_n(head), theory.face_on_wood(modulus=along_n, diameter=head))
    along, aside, alone, point = [], [], [], []
    for seat, push in zip(joint.seats, r.seat_push, strict=True):
        ring, one = _ball(joint, push, seat.ring)
        alone.append(ring)
        point.append(one)
        spare = (slice(None),) + (None,) * np.ndim(ring)
        along.append(_row(seat_wood[spare], ball_wood[spare], np.broadcast_to(ring, (3, *np.shape(ring)))))
        # Sideways screw and ball press like dowels, on wood across the screw; the ball's own give is as along, or less.
        held = _three(slip_b(size), theory.dowel_in_wood(modulus=across_b, bearing_length=hold, diameter=size,
                                                         depth=SPRING_REACH))
        ball = _three(slip_n(head), theory.dowel_in_wood(modulus=along_n * ACROSS, bearing_length=head, diameter=head,
                                                         depth=SPRING_REACH))
        aside.append(_row(held[spare], ball[spare], np.broadcast_to(ring, (3, *np.shape(ring)))))

    def screw(part: Any, length: float, depth: float) -> Array:
        bar = screw_stiffness(shank_area=1.0, shank_length=0.0, modulus=steel()[0], thread_length=length,
                              stress_area=metric_thread(diameter=part.diameter, pitch=part.pitch).stress_area)
        dowel = _three(slip_n(part.receiver_diameter), theory.dowel_in_wood(
            modulus=along_n, bearing_length=part.receiver_length, diameter=part.receiver_diameter, depth=depth))
        face = _three(slip_b(part.washer_diameter), theory.face_on_wood(modulus=into_block, diameter=part.washer_diameter))
        own = [np.full(3, part.spring_rate)] if part is c and c.spring_rate > 0 else []
        return _row(np.full(3, bar), dowel, face, *own)

    depth_t, depth_c = (max(-x, part.receiver_diameter) for x, part in ((t.receiver_x, t), (c.receiver_x, c)))
    return Springs((along[0], along[1]), (aside[0], aside[1]),
                   screw(t, float(np.hypot(t.head_x - t.receiver_x, t.head_z - t.receiver_z)), depth_t),
                   screw(c, design.block.depth - c.receiver_x, depth_c), (alone[0], alone[1]), (point[0], point[1]))


@dataclass(frozen=True)
class Give:
    """How the neck moves on its contacts under a load at the headstock's end; soft, likely, stiff along the first axis."""

    load: float
    direction: str
    tilt: Array
    """Tilt (3, *batch) [rad], nut up positive."""
    yaw: Array
    """Yaw (3, *batch) [rad], nut to bass positive."""
    end: Array
    """Way of the headstock's end in the load's direction (3, *batch) [mm]."""
    action: Array
    """Change of the mean action at fret 12 (3, *batch) [mm]."""
    step: Array
    """Change of the mean action at fret 12 by the finest step of the tilt screw that a hand can set (*batch) [mm]."""
    springs: Springs

    @property
    def aside(self) -> bool:
        """Whether the load pushes to a side."""
        return self.direction in SIDEWAYS

    @property
    def step_over_give(self) -> Array:
        """Finest step over the change of action under 10 N (3, *batch) [1]; well over 1, the give does not blur the step."""
        return self.step / np.abs(self.action * 10 / self.load)

    def __str__(self) -> str:
        if self.tilt.ndim > 1:
            return f"give of the joint at {self.tilt.shape[1:]} poses"
        name, turn = ("yaw", self.yaw) if self.aside else ("tilt", self.tilt)
        low, mid, high = np.sort(np.abs(np.degrees(turn)))
        end = np.sort(np.abs(self.end))
        lines = [f"{self.load:g} N {self.direction} at the headstock's end: {name} {mid:.3f} deg ({low:.3f} to {high:.3f}), the "
                 f"end moves {end[1]:.2f} mm ({end[0]:.2f} to {end[2]:.2f})"]
        if not self.aside:
            a = np.sort(np.abs(self.action))
            s = np.sort(self.step_over_give)
            lines.append(f"  mean action at fret 12 changes by {a[1]:.3f} mm ({a[0]:.3f} to {a[2]:.3f}); the finest step "
                         f"({STEPS[-1]} turn, {self.step:.4f} mm) is {s[1]:.2g} times the give under 10 N "
                         f"({s[0]:.2g} to {s[2]:.2g})")
        return folded(*lines, "  the joint alone, between a code's slip rule and elastic wood; neck and body bend besides")

    __repr__ = __str__


def give(design: Any, p: Pose | None = None, *, load: float = 100.0, direction: str = "back") -> Give:
    """Tilt, yaw, way of the headstock's end and change of action under a load [N] there: "back", "forward", "to the bass",
    "to the treble" or "sideways" (springs give alike both ways: told to the treble).

    Strings at pitch, clamp at its preload, no ball lifting; pose or batch of poses. The load itself comes on top of the strings,
    whose own change of tension is left out. Raises ValueError for another direction or a load that is not above 0.
    """
    if not 0 < load <= MOST_LOAD:
        raise ValueError(f"load: {load:g} N is not in the range; allowed is above 0 to {MOST_LOAD:g} N")
    ways = {**DIRECTIONS, "sideways": DIRECTIONS["to the treble"]}
    if direction not in ways:
        raise ValueError(f"direction is {direction!r}; it is one of {', '.join(ways)}")
    toward = np.array(ways[direction])
    p = design.pose() if p is None else p
    joint = joint_of(design, p)
    springs = springs_of(balance(joint, string_pull(design, p).wrench))
    b, t = joint.seat_rows
    shape = joint.rows.shape[:-2]

    def seat(rows: Array, k: int) -> list[Array]:
        # A row that points along the seat takes the stiffness along it, one across it the stiffness aside.
        part = np.abs(rows[..., 0]) > 0.5
        return [np.where(part[..., i], springs.seat_along[k], springs.seat_aside[k]) for i in range(rows.shape[-2])]

    def wide(s: Array) -> Array:
        return np.broadcast_to(s.reshape((3,) + (1,) * len(shape)), (3, *shape))

    k = np.stack([*seat(b, 0), *seat(t, 1), wide(springs.tilt), wide(springs.clamp)], axis=-1)
    units = np.concatenate([b, t, joint.tilt_pull[..., None, :], joint.clamp_pull[..., None, :]], axis=-2)
    whole = np.swapaxes(units, -1, -2) @ (k[..., None] * units)
    at, middle = place(design, p, "headstock end"), joint.stands.position
    push = wrench_at(middle, at, load * toward)
    move = np.linalg.solve(whole, np.broadcast_to(push, (3, *push.shape))[..., None])[..., 0]

    def way(point: Array) -> Array:
        return move[..., :3] + np.cross(move[..., 3:], point - middle)

    d = p.of
    x12 = d.x_fret(12)
    nut, fret = (stacked(*p.to_body(x, 0.0, 0.0)) for x in (d.x_nut, x12))
    saddle = string_lines(p).xn_saddle.mean(axis=0)
    more = theory.action_give(rise_nut=way(nut)[..., 2], rise_fret=way(fret)[..., 2], to_fret=x12 - d.x_nut,
                              to_saddle=saddle - d.x_nut)
    finer = pose(d, tilt=p.tilt + float(STEPS[-1]), bass=p.bass, treble=p.treble)
    step = np.mean(action(finer, [12]) - action(p, [12]), axis=(0, 1))
    return Give(load, direction, move[..., 4], move[..., 5], way(at) @ toward, more, step, springs)
