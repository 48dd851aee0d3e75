"""What meets what inside heel and block, over the whole travel and with the pivot screws turned.

The poses looked at: lowest, middle and highest turn of the tilt screw, each with the pivot screws at rest, turned against
each other both ways, and turned together both ways. The least clearance over these is what is told.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from lutherie_geom.joint.body import half_width, taper_of
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.holes import clamp_height, clamp_line, hole_readings, need, poses, swivel, thread
from lutherie_geom.joint.pose import Pose
from lutherie_geom.joint.reading import Reading, at_most
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.heel import heel_point
from lutherie_geom.theory.tongue import tongue_thickness

__all__ = ["hole_readings", "inside_readings", "least_wood", "segments_apart", "tongue_wood"]

WOOD = 3.0
"""Least wood left between two bores, or between a bore and an outside, in mm (common practice, no source)."""
END_WOOD = 5.0
"""Least wood between the receiver and the heel's end face, toward which it pulls, in mm (common practice, no source)."""
TOP_WOOD = 2.0
"""Least block wood between a seat screw and the soundboard, in mm (common practice, no source)."""


def segments_apart(a0: Array, a1: Array, b0: Array, b1: Array) -> Array:
    """Least distance [mm] between two straight segments; ends [mm] as (3, *batch)."""
    u, v, w = a1 - a0, b1 - b0, a0 - b0
    uu, vv, uv, uw, vw = ((p * q).sum(axis=0) for p, q in ((u, u), (v, v), (u, v), (u, w), (v, w)))
    det = uu * vv - uv**2
    s = np.clip(np.where(det > 1e-12 * uu * vv, (uv * vw - uw * vv) / np.where(det > 0, det, 1.0), 0.0), 0.0, 1.0)
    t = np.clip((uv * s + vw) / np.where(vv > 0, vv, 1.0), 0.0, 1.0)  # a point is a segment of no length
    s = np.clip((uv * t - uw) / uu, 0.0, 1.0)
    return np.sqrt(((w + s * u - t * v) ** 2).sum(axis=0))


def _board_underside(design: Any, d: Dimensions, x: Array) -> Array:
    """Height of the board's glue face [mm] at x [mm], nominal pose; thicknesses are those of the stack-up at the joint."""
    return d.z_joint + np.asarray(x) * np.tan(d.alpha) - design.board.crown - design.board.thickness


def tongue_wood(design: Any, x: Array, d: Dimensions | None = None) -> Array:
    """Neck wood under the board [mm] at x [mm] past the joint, on the centreline, where it is thinnest; along z."""
    d = d or design.dimensions()
    if design.tongue.underside == "hollowed":
        under = dome_height(x=x, y=0.0, curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across)
    else:
        under = taper_of(d).slope * np.asarray(x)
    return tongue_thickness(x=x, alpha=d.alpha, z_joint=d.z_joint, cover=design.board.crown + design.board.thickness,
                            underside=under, gap_joint=d.gap_joint)


def least_wood(design: Any, d: Dimensions | None = None) -> tuple[float, float]:
    """Least tongue wood [mm] and where it is [mm past the joint]: an end, or where the dome runs level with the board."""
    d = d or design.dimensions()
    length = float(d.tongue_length)
    bow = float(d.curvature) * float(d.along) if design.tongue.underside == "hollowed" else 0.0
    level = float(d.x_apex) - math.sin(float(d.alpha)) / bow if bow > 0 else 0.0
    x = np.array([0.0, min(max(level, 0.0), length), length])
    wood = tongue_wood(design, x, d)
    k = int(np.argmin(wood))
    return float(wood[k]), float(x[k])


def _receiver_readings(design: Any, d: Dimensions) -> list[Reading]:
    t, h, clamp = design.tilt_screw, design.heel, design.clamp
    r, half, ux, uz = t.receiver_diameter / 2, t.receiver_length / 2, *thread(d)
    across = t.receiver == "dowel across"
    # A rod stands square to the thread that crosses it; a dowel lies along y.
    top, foot = (t.receiver_z + r, t.receiver_z - r) if across else (t.receiver_z + half * ux, t.receiver_z - half * ux)
    reach_x = r if across else r * ux + half * abs(uz)
    deepest = -t.receiver_x + reach_x - h.floor_clearance if h.draught > 0 else -t.receiver_x - reach_x - h.floor_clearance
    narrow = float(half_width(d, foot)) - math.tan(h.draught) * max(deepest, 0.0)
    side = narrow - (half if across else r)
    word = "cross dowel" if across else "rod"
    size = "tilt_screw.receiver_length" if across else "tilt_screw.receiver_diameter"
    # The truss-rod slot is cut from the board's glue face down; with no slot this is the wood up to the board.
    slot = float(_board_underside(design, d, t.receiver_x)) - h.truss_slot_depth
    clamp_slot = float(_board_underside(design, d, clamp.receiver_x)) - h.truss_slot_depth
    over = "truss-rod slot" if h.truss_slot_depth > 0 else "board"
    end = -h.floor_clearance - t.receiver_x - reach_x
    back = h.length + t.receiver_x - max(reach_x, t.hole_past_receiver)
    found = [
        Reading("inside.receiver_side", f"wood beside the {word}, each side", side, "mm",
                f"from the {word}'s end or side to the heel's cheek at its lowest and narrowest height; the heel tapers evenly "
                "from top to foot, the carving further out is not known here",
                need(side, WOOD, 1.0, size + ": {} less", 2.0)),
        Reading("inside.receiver_foot", f"wood under the {word}", foot - h.foot_z, "mm",
                f"from the {word}'s lowest point to the heel's foot",
                need(foot - h.foot_z, WOOD, 1.0, "heel.foot_z: {} lower")),
        Reading("inside.receiver_end", "wood between receiver and the heel's end face", end, "mm",
                "the strings pull the receiver toward the end face; this wood holds it",
                need(end, END_WOOD, 2.0, "tilt_screw.receiver_x: {} further from the body")),
        Reading("inside.receiver_back", "wood behind receiver and screw hole", back, "mm",
                "from the end of the tilt screw's hole, or the receiver, to the heel's far side at heel.length",
                need(back, WOOD, 2.0, "heel.length: {} more (or tilt_screw.hole_past_receiver less)")),
        Reading("inside.receiver_slot", f"wood between receiver and {over}", slot - top, "mm",
                f"from the receiver's top up to the {over} there",
                need(slot - top, WOOD, 1.0, "tilt_screw.receiver_z: {} lower (or heel.truss_slot_depth less)")),
        Reading("inside.clamp_slot", f"wood between clamp receiver and {over}", clamp_slot - clamp_height(design) - r, "mm",
                f"from the clamp screw's receiver, taken as thick as the tilt screw's, up to the {over} there",
                need(clamp_slot - clamp_height(design) - r, WOOD, 1.0, "pivot.z: {} lower (or heel.truss_slot_depth less)")),
    ]
    if across:
        between = math.hypot(clamp.receiver_x - t.receiver_x, clamp_height(design) - t.receiver_z) - 2 * r
        found.append(Reading("inside.receiver_clamp", "wood between the two cross dowels", between, "mm",
                             "between the clamp screw's dowel, taken as thick as the tilt screw's, and the tilt screw's",
                             need(between, WOOD, 1.0, "tilt_screw.receiver_z: {} lower")))
        return found
    below = clamp_height(design) - clamp.diameter / 2 - top
    if below >= 0:
        found.append(Reading("inside.receiver_clamp", "wood between rod and clamp screw", below, "mm",
                             "from the rod's upper end to the underside of the clamp screw",
                             need(below, WOOD, 1.0, "tilt_screw.receiver_length: {} less (or long enough to serve both)", 2.0)))
    else:  # one rod tapped across twice: the clamp screw must meet its middle, with thread all round
        there = t.receiver_x - (clamp_height(design) - t.receiver_z) * uz / ux
        past, off = top - clamp_height(design) - clamp.diameter / 2, abs(clamp.receiver_x - there)
        found.append(Reading("inside.receiver_clamp", "rod past the clamp screw", past, "mm",
                             "the rod serves both screws: what stands over the clamp screw's thread",
                             need(past, WOOD, 1.0, "tilt_screw.receiver_length: {} more", 2.0)))
        found.append(Reading("inside.receiver_line", "clamp receiver off the rod's axis", off, "mm",
                             "one rod serves both screws, so clamp.receiver_x must lie on its axis",
                             at_most(off, 0.5, 0.3, "" if off <= 0.2 else f"clamp.receiver_x: set to {there:.2f} mm")))
    return found


def _screw_readings(design: Any, d: Dimensions, travel: Any, p: Pose) -> list[Reading]:
    t, v, clamp, block = design.tilt_screw, design.pivot, design.clamp, design.block
    zc = clamp_height(design)
    between = math.hypot(v.spacing / 2, clamp.below_axis) - v.screw_diameter / 2 - clamp.hole_in_block / 2
    # Clamp screw and tilt screw as lines in space, from receiver to head; clamp screw and ball heads likewise.
    x = np.stack([heel_point(x_face=clamp.receiver_x, y_face=0.0, z_face=zc, **p.turned).x,
                  np.full(np.shape(p.theta), float(block.depth))])
    line = np.stack([x, *clamp_line(design, p, x)])
    recv = np.stack(heel_point(x_face=d.x_receiver, y_face=0.0, z_face=d.z_receiver, **p.turned))
    _, up, aside = swivel(p)
    head = np.stack([np.full(np.shape(up), float(d.x_head)), aside, d.z_head + up])
    screws = np.nanmin(segments_apart(line[:, 0], line[:, 1], recv, head))
    screws -= clamp.hole_in_block / 2 + max(t.hole_in_block, t.head_diameter) / 2
    both = np.array([[-1.0], [1.0]]) * v.spacing / 2
    balls = np.stack(heel_point(x_face=d.x_p, y_face=both, z_face=d.z_p, **p.turned))
    ball = np.nanmin(segments_apart(line[:, :1], line[:, 1:], balls, balls)) - v.ball_radius - clamp.diameter / 2
    rim = v.x + math.sqrt(v.ball_radius**2 - v.rim_radius**2)
    step, far = v.pitch / 4, rim + v.screw_length
    around = d.z_p + np.array([-1.0, 1.0]).reshape(2, 1, 1) * v.screw_diameter / 2
    face = heel_point(x_face=-d.floor_clearance, y_face=both, z_face=around, **p.turned)
    near = float(np.nanmin(rim - v.pitch * np.stack([p.bass, p.treble]) - face.x))
    ends = np.array([0.0, far])
    top = dome_height(x=ends, y=v.spacing / 2, curvature=d.curvature, x_apex=d.x_apex, along=d.along, across=d.across)
    roof = float((top - design.body.top_thickness).min()) - v.z - v.screw_diameter / 2
    hold = min(min(far + s, block.depth) - max(rim + s, 0.0) for s in (-step, step))
    inside = block.depth - far - step
    over = block.depth - d.x_head - t.diameter - t.spring_room
    foot = t.head_z - t.head_diameter / 2 - block.foot_z
    bottom = t.hole_past_receiver - t.past_receiver + t.pitch * travel.low
    return [
        Reading("inside.clamp_pivot", "wood between clamp hole and pivot screws", between, "mm",
                "in the block, between the clamp screw's hole and each pivot screw, seen along the body",
                need(between, WOOD, 1.0, "pivot.spacing: {} more", 2.0)),
        Reading("inside.clamp_ball", "clamp screw clear of the ball heads", float(ball), "mm",
                "least distance between the clamp screw and a ball head, all travel, pivot screws a quarter turn either way",
                need(ball, 1.0, 1.0, "pivot.spacing: {} more", 2.0)),
        Reading("inside.clamp_tilt", "wood between clamp screw and tilt screw", float(screws), "mm",
                "between the two holes in the block (or the captive head, if it is larger), at the screws' nearest pose",
                need(screws, WOOD, 2.0, "tilt_screw.head_z: {} lower")),
        Reading("inside.pivot_top", "wood between pivot screws and soundboard", roof, "mm",
                "from the screw's upper side to the soundboard's inner surface over the screw's whole length",
                need(roof, TOP_WOOD, 2.0, "pivot.z: {} lower")),
        Reading("inside.pivot_hold", "pivot screw's hold in the block", hold, "mm",
                "length of the screw inside the block, its seat a quarter turn further out or in, whichever leaves less",
                need(hold, v.least_hold, 2.0, "pivot.screw_length: {} more")),
        Reading("inside.pivot_depth", "block behind the pivot screw", inside, "mm",
                "from the screw's inner end, a quarter turn in, to the block's inner face",
                need(inside, 0.0, 1.0, "pivot.screw_length: {} less (or block.depth more)")),
        Reading("inside.seat_heel", "seat screw clear of the heel's end face", near, "mm",
                "from the seat's rim to the heel's end face around it, all travel, pivot screws a quarter turn either way",
                # more clearance also gives more travel, and so a little more tilt of the face
                need(near, 0.0, 0.3, "heel.floor_clearance: {} more (or pivot.x nearer the body)", 1.15)),
        Reading("inside.head_depth", "block behind the captive head", over, "mm",
                "behind head (taken as high as the screw is thick) and washer spring, room for the glued cover",
                need(over, WOOD, 2.0, "block.depth: {} more")),
        Reading("inside.head_foot", "block under the captive head", foot, "mm", "from the head's rim to the block's foot",
                need(foot, WOOD, 1.0, "block.foot_z: {} lower")),
        Reading("inside.screw_end", "tilt screw's end to the bottom of its hole", bottom, "mm",
                "in the heel, at the lowest turn of the travel; the screw comes nearer as the action is lowered",
                need(bottom, 0.0, 1.0, "tilt_screw.hole_past_receiver: {} more")),
    ]


def _rod_readings(design: Any, d: Dimensions, p: Pose) -> list[Reading]:
    """Tongue wood, and the room for rods; their middle lies ``tongue.rod_above_glue_line`` over the glue line (0: half in board).

    The sections of :mod:`lutherie_geom.mechanics.tongue_sections` ask the same of every station, and take the board's crowning
    off besides: they count what is left at its edges, this what is left on the centreline.
    """
    g, v = design.tongue, design.pivot
    wood, where = least_wood(design, d)
    found = [Reading("inside.tongue_wood", "least wood under the board", wood, "mm",
                     f"neck wood left on the tongue's centreline, {where:.0f} mm past the joint; fall-away not counted",
                     need(wood, 0.0, 0.3, "tongue.wood: {} more"))]
    if g.rod_diameter == 0 or g.rods == 0:
        return found
    high = g.rod_above_glue_line
    fit = wood - g.rod_cover + high - g.rod_diameter / 2
    board = design.board.thickness - g.slot_depth - g.rod_cover - high - g.rod_diameter / 2
    x = np.array([0.0, min(design.block.depth, g.length)]).reshape(2, 1)
    under = p.to_body(x, v.spacing / 2, -design.board.crown - design.board.thickness + high - g.rod_diameter / 2).z
    apart = float(np.nanmin(under)) - v.z - v.screw_diameter / 2
    return [*found,
            Reading("inside.rod_cover", "tongue rods: wood to spare under them", fit, "mm",
                    f"least tongue wood ({where:.0f} mm past the joint) less cover and the part of a rod under the glue line",
                    need(fit, 0.0, 0.2, "tongue.rod_diameter: {} less (or half as much more tongue.wood)", 2.0)),
            Reading("inside.rod_board", "tongue rods: board to spare over them",
                    board, "mm",
                    "board from the bottom of its fret slots down, less cover and the part of a rod over the glue line",
                    need(board, 0.0, 0.5, "tongue.rod_diameter: {} less", 2.0)),
            Reading("inside.rod_pivot", "tongue rods clear of the pivot screws", apart, "mm",
                    "from the rods' underside down to the screws, at the lowest the tongue goes",
                    need(apart, TOP_WOOD, 1.0, "pivot.z: {} lower"))]


def inside_readings(design: Any, travel: Any) -> list[Reading]:
    """Clearances and wood inside heel, block and tongue [mm], the least over travel and a quarter turn of the pivot screws."""
    d = design.dimensions()
    p = poses(d, travel, 0.25)
    return [*_screw_readings(design, d, travel, p), *_receiver_readings(design, d), *_rod_readings(design, d, p)]
