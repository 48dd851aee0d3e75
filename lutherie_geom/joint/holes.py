"""Holes: what room clamp screw and tilt screw need in block and heel, how their ends swing and slide, what the seats do.

The poses looked at: lowest, middle and highest turn of the tilt screw, each with the pivot screws at rest, turned against
each other both ways, and turned together both ways. The worst of these is what is told.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from lutherie_geom.design.catalogue import steel
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.joint.reading import Reading, Verdict, at_least, at_most
from lutherie_geom.theory.heel import heel_point
from lutherie_geom.theory.steer import ball_rise, seat_growth
from lutherie_geom.theory.swivel import clamp_stretch, clearance_hole, head_rock, swivel_dowel, swivel_rod

__all__ = ["clamp_height", "clamp_line", "clamp_need", "heel_drills", "heel_need", "hole_readings", "need", "poses", "swivel",
           "thread", "tilt_need"]

EXTRA_STRESS = 100.0
"""Stress that tilting may add to the clamp screw, in MPa (chosen here; proof strengths stand in data/tables/screws.toml)."""
RISE = 0.05
"""How far a ball may ride up its rim unnoticed, in mm (chosen here: a few hundredths of a millimetre of action)."""
PLAY, STEP = 0.1, 0.1
"""Holes in the heel: play about the screw, and the steps in which drills are sold, in mm (common practice, no source)."""


def poses(d: Dimensions, travel: Any, turn: float) -> Pose:
    """Fifteen poses (15, *batch): three tilts, pivot screws at 0, against each other, together by ``turn`` [turn]."""
    bass, treble = turn * np.array([0.0, 1, -1, 1, -1]), turn * np.array([0.0, -1, 1, 1, -1])
    tilt = np.concatenate([np.stack(np.broadcast_arrays(travel.low, 0.0, travel.high))] * 5)
    turns = (tilt, np.repeat(bass, 3), np.repeat(treble, 3))
    tilt, bass, treble = (t.reshape(t.shape + (1,) * (d.batch + 1 - t.ndim)) for t in turns)
    return pose(d, tilt=tilt, bass=bass, treble=treble)


def need(value: Array, required: float, room: float, cure: str, factor: float = 1.0, unit: str = "mm") -> Verdict:
    """Verdict on what must not fall short; the cure holds ``{}`` for how much, counted to where nothing need be said.

    A batch of values gets a batch of margins, and no cure.
    """
    if np.ndim(value):
        return Verdict(value, required, value - required, room)
    v = at_least(float(value), required, room)
    if v.state == "good":
        return v
    short = (room - v.margin) * factor
    amount = f"{math.ceil(short * 100 - 1e-9) / 100:.2f} {unit}" if math.isfinite(short) else "enough"
    return Verdict(v.provided, v.required, v.margin, v.room, cure.format(amount))


def clamp_height(design: Any) -> Array:
    """Height of the clamp screw's axis [mm] at the nominal pose, body frame."""
    return design.pivot.z - design.clamp.below_axis


def thread(d: Dimensions) -> tuple[float, float]:
    """Direction of the tilt screw's thread at the nominal pose: (x, z)."""
    dx, dz = d.x_head - d.x_receiver, d.z_head - d.z_receiver
    length = np.hypot(dx, dz)
    return dx / length, dz / length


def clamp_line(design: Any, p: Pose, x: Array) -> tuple[Array, Array]:
    """Where the clamp screw's axis runs: y, z [mm] at x [mm] (x and the batch of poses broadcast).

    A cross dowel lets the screw swing in height about its head, which stays where its washer sits on the block's inner face,
    but takes it along when the heel is steered. A rod along the heel takes it along in both.
    """
    c = heel_point(x_face=design.clamp.receiver_x, y_face=0.0, z_face=clamp_height(design), **p.turned)
    if p.of.receiver == "dowel across":
        aside, rise = p.sin_psi / p.cos_psi, (clamp_height(design) - c.z) / (design.block.depth - c.x)
    else:
        aside, rise = p.sin_psi / p.cos_psi, -p.sin_theta / (p.cos_psi * p.cos_theta)
    return c.y + (x - c.x) * aside, c.z + (x - c.x) * rise


def clamp_need(design: Any, p: Pose) -> Array:
    """Least clearance hole [mm] in the block that lets the clamp screw through at a pose, the worse of its two mouths."""
    x = np.array([[0.0], [design.block.depth]])
    y, z = clamp_line(design, p, x)
    slope = np.hypot(y[1] - y[0], z[1] - z[0]) / design.block.depth
    return clearance_hole(shank=design.clamp.diameter, depth=0.0, swing=np.arctan(slope),
                          side_shift=np.hypot(y, z - clamp_height(design))).max(axis=0)


def swivel(p: Pose) -> tuple[Any, Array, Array]:
    """What the tilt screw's ends do, and the slide of its head [mm] up and sideways (a cross dowel's head does not slide)."""
    d = p.of
    relation = swivel_dowel if d.receiver == "dowel across" else swivel_rod
    found = relation(psi=p.psi, theta=p.theta, advance=p.advance, x_p=d.x_p, z_p=d.z_p, x_head=d.x_head, z_head=d.z_head,
                     x_receiver=d.x_receiver, z_receiver=d.z_receiver)
    none = np.zeros(np.shape(found.swing_head))
    return found, getattr(found, "slide", none), getattr(found, "slide_side", none)


def tilt_need(design: Any, p: Pose) -> Array:
    """Least clearance hole [mm] in the block for the tilt screw at a pose: from the bearing face to the block's outer face."""
    d = p.of
    found, up, aside = swivel(p)
    ux, uz = thread(d)
    nominal, deep = math.atan2(uz, ux), max(float(d.x_head), 0.0)
    slope = nominal + found.swing_head
    z = up - deep * (np.tan(slope) - math.tan(nominal))
    y = aside - deep * np.tan(found.swing_side) / np.cos(slope)
    whole = np.arccos(np.clip(np.cos(found.swing_head) * np.cos(found.swing_side), -1.0, 1.0))
    shift = np.maximum(np.hypot(y, z), np.hypot(up, aside))  # at the mouth, at the head
    return clearance_hole(shank=design.tilt_screw.diameter, depth=0.0, swing=whole, side_shift=shift)


def heel_need(design: Any, p: Pose) -> tuple[Array, Array]:
    """Least holes [mm] in the heel that let tilt screw and clamp screw swing at a pose: (tilt, clamp), shape of the batch.

    A cross dowel turns about its own axis, and its screw swings with it, up and down only; in a rod along the heel it cannot.
    """
    d, t, c = p.of, design.tilt_screw, design.clamp
    swing = np.abs(getattr(swivel(p)[0], "swing_receiver", np.zeros(np.shape(p.theta))))
    tilt = clearance_hole(shank=t.diameter, swing=swing, side_shift=0.0,
                          depth=np.maximum(-d.floor_clearance - t.receiver_x, t.hole_past_receiver))
    swing = np.zeros(np.shape(p.theta))
    if p.of.receiver == "dowel across":
        ends = clamp_line(design, p, np.array([[0.0], [design.block.depth]]))[1]
        along = design.block.depth / p.cos_psi  # the screw lies in the heel's own upright plane
        swing = np.abs(np.arctan2(ends[1] - ends[0], along) + p.theta)
    mouth = np.maximum(-d.floor_clearance - c.receiver_x, c.receiver_diameter / 2)
    return tilt, clearance_hole(shank=c.diameter, swing=swing, side_shift=0.0, depth=mouth)


def heel_drills(design: Any, travel: Any) -> tuple[float, float]:
    """Drills [mm] for the heel's holes, (tilt, clamp): what the screws need with the pivot screws a quarter turn either way, some
    play, and up to the next tenth."""
    found = [float(np.nanmax(n)) for n in heel_need(design, poses(design.dimensions(), travel, 0.25))]
    tilt, clamp = (round(math.ceil((n + PLAY) / STEP - 1e-9) * STEP, 6) for n in found)
    return tilt, clamp


def _hole(key: str, words: str, field: str, given: float, eighth: float, quarter: float) -> Reading:
    """A hole fails when an eighth of a turn does not pass and is tight when a quarter does not."""
    v = at_most(eighth, given, max(quarter - eighth, 0.0) + 1e-9)
    cure = "" if v.state == "good" else f"{field}: {math.ceil((quarter - given) * 100) / 100:.2f} mm more"
    return Reading(key, words, eighth, "mm", "smallest hole that lets the screw pass over the whole travel with the pivot screws "
                   f"an eighth of a turn either way; a quarter turn would need {quarter:.2f} mm",
                   Verdict(v.provided, v.required, v.margin, v.room, cure))


def hole_readings(design: Any, travel: Any) -> list[Reading]:
    """Clearance holes [mm], swing of the tilt screw [deg], slide and rocking of its head [mm], clamp and seats [mm]."""
    d, t, v, clamp = design.dimensions(), design.tilt_screw, design.pivot, design.clamp
    eighth, quarter = poses(d, travel, 0.125), poses(d, travel, 0.25)
    ends = pose(d, tilt=np.array([travel.low, travel.high]))
    at_ends = swivel(ends)[0]
    turning = np.degrees(getattr(at_ends, "swing_receiver", np.zeros(2)))
    wide, up, aside = swivel(eighth)
    in_heel, most_in_heel = heel_need(design, eighth), heel_need(design, quarter)
    whole = np.arccos(np.clip(np.cos(wide.swing_head) * np.cos(wide.swing_side), -1.0, 1.0))
    slide = float(np.nanmax(np.hypot(up, aside)))
    cover = (t.head_diameter - t.hole_in_block) / 2 - slide
    rock = float(np.nanmax(head_rock(head_diameter=t.head_diameter, swing=whole))) if t.head == "flat" else 0.0
    stretch = clamp_stretch(eccentricity=clamp.below_axis, theta=ends.theta)
    allowed = EXTRA_STRESS / steel()[0] * (design.block.depth - clamp.receiver_x)
    most = float(np.nanmax(np.append(np.abs(stretch), 0.0)))  # an end of the travel may be out of reach
    turns = np.array([0.125, 0.25])
    growth = seat_growth(bass=turns, treble=-turns, pitch_pivot=v.pitch, spacing=v.spacing)
    rise = ball_rise(ball_radius=v.ball_radius, rim_radius=v.rim_radius, offset=growth / 2)  # each ball takes half
    span = float(np.nanmax(np.append(np.abs(ends.theta), 0.0)))
    shift = f"clamp.below_axis: within {0.5 * allowed / span:.2f} mm of the axis" if most > 0.5 * allowed else ""
    flat = "tilt_screw.head: domed or with spherical washers" if rock > 0.5 * t.spring_room else ""
    return [
        _hole("holes.tilt_block", "tilt screw's hole in the block must be", "tilt_screw.hole_in_block", t.hole_in_block,
              float(np.nanmax(tilt_need(design, eighth))), float(np.nanmax(tilt_need(design, quarter)))),
        _hole("holes.clamp_block", "clamp screw's hole in the block must be", "clamp.hole_in_block", clamp.hole_in_block,
              float(np.nanmax(clamp_need(design, eighth))), float(np.nanmax(clamp_need(design, quarter)))),
        *(Reading(f"holes.{key}_heel", f"{key} screw's hole in the heel must be", float(np.nanmax(n)), "mm",
                  "smallest hole in which the screw swings with its receiver over the whole travel, pivot screws an eighth of a "
                  f"turn either way; a quarter turn would need {float(np.nanmax(m)):.2f} mm. The heel is drilled {drill:.1f} mm")
          for key, n, m, drill in zip(("tilt", "clamp"), in_heel, most_in_heel, heel_drills(design, travel), strict=True)),
        Reading("holes.swing_head", "tilt screw swings at its captive head", np.degrees(at_ends.swing_head).tolist(), "deg",
                "in height, at the lowest and the highest turn of the travel"),
        Reading("holes.swing_receiver", "receiver turns in the heel", turning.tolist(), "deg",
                "about its own axis, at the lowest and the highest turn; a rod along the heel cannot turn so"),
        Reading("holes.swing_side", "tilt screw swings sideways", float(np.degrees(np.nanmax(np.abs(wide.swing_side)))), "deg",
                "largest over the travel, pivot screws an eighth of a turn against each other"),
        Reading("holes.slide", "captive head slides on its face", slide, "mm",
                "largest over the travel, pivot screws an eighth of a turn either way; only with a rod along the heel"),
        Reading("holes.head_cover", "head (or washer) still over the hole", cover, "mm",
                "bearing ring left on the thin side when the head has slid furthest; a wider washer counts as the head",
                need(cover, 0.0, 0.5, "tilt_screw.head_diameter: {} more (a washer)", 2.0)),
        Reading("holes.rock", "flat head rocks by", rock, "mm",
                "a flat head tips on its rim and shifts along the screw; domed heads and spherical washers do not",
                at_most(rock, t.spring_room, 0.5 * t.spring_room, flat)),
        Reading("holes.clamp_stretch", "clamp screw stretched by tilting", stretch.tolist(), "mm",
                f"at the lowest and the highest turn, if it lies off the pivot axis; {allowed:.3f} mm adds {EXTRA_STRESS:g} MPa",
                at_most(most, allowed, 0.5 * allowed, shift)),
        Reading("holes.seat_growth", "seats move apart when steered", growth.tolist(), "mm",
                "pivot screws an eighth and a quarter turn against each other"),
        Reading("holes.ball_rise", "each ball rides up its rim", rise.tolist(), "mm",
                "at an eighth and a quarter turn against each other, the growth shared by both balls",
                at_most(rise[1], RISE, 0.5 * RISE, "" if rise[1] <= 0.5 * RISE else
                        f"pivot.spacing: {v.spacing * (2 * rise[1] / RISE - 1):.2f} mm more")),
    ]
