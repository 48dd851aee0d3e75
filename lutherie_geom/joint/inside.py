"""What meets what inside heel and block, over the whole travel and with the pivot screws turned.

The poses looked at: lowest, middle and highest turn of the tilt screw, each with the pivot screws at rest, turned against
each other both ways, and turned together both ways. The least clearance over these is what is told.
"""

from __future__ import annotations

import math
from functools import reduce
from types import SimpleNamespace
from typing import Any

import numpy as np

from lutherie_geom.joint.body import half_width, taper_of
from lutherie_geom.joint.bores import IN_LINE, TOP_WOOD, WOOD, bore_readings, cap_bed, has_insert, one_rod, rods_off
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.holes import clamp_height, clamp_line, hole_readings, need, poses, swivel, thread
from lutherie_geom.joint.pose import Pose
from lutherie_geom.joint.reading import Reading, Verdict, at_least, at_most
from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.heel import heel_point
from lutherie_geom.theory.tongue import tongue_thickness

__all__ = ["hole_readings", "inside_margins", "inside_readings", "least_wood", "segments_apart", "tongue_wood"]

END_WOOD = 5.0
"""Least wood between the receiver and the heel's end face, toward which it pulls, in mm (common practice, no source)."""


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


def _receiver(design: Any, d: Dimensions, part: Any, z: Array, ux: Array, uz: Array, past: float) -> dict[str, Array]:
    """Wood [mm] round one receiver of the heel, its middle at height z [mm], its thread along (ux, uz): beside it (``side``),
    under it (``foot``), before it (``end``), behind it or its screw's hole ``past`` it [mm] (``back``), up to slot or board
    (``slot``); and the height of its ``top`` [mm]."""
    h, across = design.heel, design.tilt_screw.receiver == "dowel across"
    x, r, half = part.receiver_x, part.receiver_diameter / 2, part.receiver_length / 2
    # A rod stands square to the thread that crosses it; a dowel lies along y.
    up, reach = (r, r) if across else (half * ux, r * ux + half * abs(uz))
    deepest = -x + reach - h.floor_clearance if h.draught > 0 else -x - reach - h.floor_clearance
    narrow = half_width(d, z - up) - math.tan(h.draught) * np.maximum(deepest, 0.0)
    # The truss-rod slot is cut from the board's glue face down; with no slot this is the wood up to the board.
    slot = _board_underside(design, d, x) - h.truss_slot_depth
    return {"side": narrow - (half if across else r), "foot": z - up - h.foot_z, "end": -h.floor_clearance - x - reach,
            "back": h.length + x - np.maximum(reach, past), "slot": slot - z - up, "top": z + up}


def _receiver_readings(design: Any, d: Dimensions) -> list[Reading]:
    t, h, clamp, zc = design.tilt_screw, design.heel, design.clamp, clamp_height(design)
    ux, uz = thread(d)
    across, shared = t.receiver == "dowel across", bool(np.all(one_rod(design, d)))
    word, size = ("cross dowel", "receiver_length") if across else ("rod", "receiver_diameter")
    over = "truss-rod slot" if h.truss_slot_depth > 0 else "board"
    beside = ("to the heel's cheek at its lowest and narrowest height; the heel tapers evenly from top to foot, the carving "
              "further out is not known here")
    wood = _receiver(design, d, t, t.receiver_z, ux, uz, t.hole_past_receiver)
    found = [
        Reading("inside.receiver_side", f"wood beside the {word}, each side", wood["side"], "mm",
                f"from the {word}'s end or side {beside}", need(wood["side"], WOOD, 1.0, f"tilt_screw.{size}: {{}} less", 2.0)),
        Reading("inside.receiver_foot", f"wood under the {word}", wood["foot"], "mm",
                f"from the {word}'s lowest point to the heel's foot",
                need(wood["foot"], WOOD, 1.0, "heel.foot_z: {} lower")),
        Reading("inside.receiver_end", "wood between receiver and the heel's end face", wood["end"], "mm",
                "the strings pull the receiver toward the end face; this wood holds it",
                need(wood["end"], END_WOOD, 2.0, "tilt_screw.receiver_x: {} further from the body")),
        Reading("inside.receiver_back", "wood behind receiver and screw hole", wood["back"], "mm",
                "from the end of the tilt screw's hole, or the receiver, to the heel's far side at heel.length",
                need(wood["back"], WOOD, 2.0, "heel.length: {} more (or tilt_screw.hole_past_receiver less)")),
        Reading("inside.receiver_slot", f"wood between receiver and {over}", wood["slot"], "mm",
                f"from the receiver's top up to the {over} there",
                need(wood["slot"], WOOD, 1.0, "tilt_screw.receiver_z: {} lower (or heel.truss_slot_depth less)")),
    ]
    if not shared:
        w = _receiver(design, d, clamp, zc, 1.0, 0.0, 0.0)
        found += [
            Reading("inside.clamp_side", f"wood beside the clamp screw's {word}, each side", w["side"], "mm",
                    f"from the {word}'s end or side {beside}", need(w["side"], WOOD, 1.0, f"clamp.{size}: {{}} less", 2.0)),
            Reading("inside.clamp_end", "wood between clamp receiver and the heel's end face", w["end"], "mm",
                    "the clamp screw pulls its receiver toward the end face; this wood holds it",
                    need(w["end"], END_WOOD, 2.0, "clamp.receiver_x: {} further from the body")),
            Reading("inside.clamp_back", "wood behind the clamp receiver", w["back"], "mm",
                    "from the receiver to the heel's far side at heel.length; the cut list minds the screw's hole",
                    need(w["back"], WOOD, 2.0, "heel.length: {} more (or clamp.receiver_x nearer the body)")),
            Reading("inside.clamp_slot", f"wood between clamp receiver and {over}", w["slot"], "mm",
                    f"from the clamp receiver's top up to the {over} there",
                    need(w["slot"], WOOD, 1.0, "pivot.z: {} lower (or heel.truss_slot_depth less)")),
        ]
    apart = (t.receiver_diameter + clamp.receiver_diameter) / 2
    if across:
        between = np.hypot(clamp.receiver_x - t.receiver_x, zc - t.receiver_z) - apart
        return [*found, Reading("inside.receiver_clamp", "wood between the two cross dowels", between, "mm",
                                "between the clamp screw's dowel and the tilt screw's",
                                need(between, WOOD, 1.0, "tilt_screw.receiver_z: {} lower"))]
    off, there = rods_off(design, d)
    if shared:  # one rod tapped across twice: the clamp screw must meet its middle, with thread all round
        past = wood["top"] - zc - clamp.diameter / 2
        found.append(Reading("inside.receiver_clamp", "rod past the clamp screw", past, "mm",
                             "the rod serves both screws: what stands over the clamp screw's thread",
                             need(past, WOOD, 1.0, "tilt_screw.receiver_length: {} more", 2.0)))
    else:
        below = zc - clamp.receiver_length / 2 - wood["top"]
        found.append(Reading("inside.receiver_clamp", "room between the two rods", below, "mm",
                             "from the upper end of the tilt screw's rod to the lower end of the clamp screw's",
                             need(below, WOOD, 1.0, "tilt_screw.receiver_length: {} less (or long enough to serve both)", 2.0)))
    # Both rods are bored up from the foot, so their bores meet: they are one, or have wood between them.
    separate = (off >= apart + WOOD) & (not shared)
    if np.ndim(off):
        line = Verdict(off, IN_LINE, np.where(separate, off - apart - WOOD, IN_LINE - off), 0.3)
    elif separate:
        line = at_least(off, apart + WOOD, 0.0)
    else:
        line = at_most(off, IN_LINE, 0.3, "" if off <= 0.2 else f"clamp.receiver_x: set to {there:.2f} mm")
    return [*found, Reading("inside.receiver_line", "clamp receiver off the rod's axis", off, "mm",
                            "both rods stand in one bore from the heel's foot, so clamp.receiver_x must lie on the axis of the "
                            f"tilt screw's rod; or each has its own, {apart + WOOD:.1f} mm or more apart",
                            line)]


def _screw_readings(design: Any, d: Dimensions, travel: Any, p: Pose) -> list[Reading]:
    t, v, clamp, block = design.tilt_screw, design.pivot, design.clamp, design.block
    zc = clamp_height(design)
    # Clamp screw and tilt screw as lines in space, from receiver to head; clamp screw and ball heads likewise.
    x = np.stack([heel_point(x_face=clamp.receiver_x, y_face=0.0, z_face=zc, **p.turned).x,
                  np.full(np.shape(p.theta), float(block.depth))])
    line = np.stack([x, *clamp_line(design, p, x)])
    recv = np.stack(heel_point(x_face=d.x_receiver, y_face=0.0, z_face=d.z_receiver, **p.turned))
    _, up, aside = swivel(p)
    head = np.stack([np.full(np.shape(up), float(d.x_head)), aside, d.z_head + up])
    screws = np.nanmin(segments_apart(line[:, 0], line[:, 1], recv, head), axis=0)
    screws -= clamp.hole_in_block / 2 + max(t.hole_in_block, t.head_diameter) / 2
    sides = np.array([-1.0, 1.0]).reshape((2,) + (1,) * p.batch)
    both = sides * v.spacing / 2
    balls = np.stack(heel_point(x_face=d.x_p, y_face=both, z_face=d.z_p, **p.turned))
    ball = np.nanmin(segments_apart(line[:, :1], line[:, 1:], balls, balls), axis=(0, 1)) - v.ball_radius - clamp.diameter / 2
    rim = v.x + math.sqrt(v.ball_radius**2 - v.rim_radius**2)
    step, far = v.pitch / 4, rim + v.screw_length
    around = d.z_p + sides[:, None] * v.screw_diameter / 2
    face = heel_point(x_face=-d.floor_clearance, y_face=both, z_face=around, **p.turned)
    near = np.nanmin(rim - v.pitch * np.stack([p.bass, p.treble]) - face.x, axis=(0, 1, 2))
    thread_end = min(v.insert_length, block.depth) if has_insert(design) else block.depth  # behind an insert the bore is wider
    hold = reduce(np.minimum, [np.minimum(far + s, thread_end) - np.maximum(rim + s, 0.0) for s in (-step, step)])
    longer = "pivot.insert_length" if np.all(far - step >= thread_end) else "pivot.screw_length"
    inside = block.depth - far - step
    over = block.depth - cap_bed(design)
    bottom = t.hole_past_receiver - t.past_receiver + t.pitch * travel.low
    return [
        Reading("inside.clamp_ball", "clamp screw clear of the ball heads", ball, "mm",
                "least distance between the clamp screw and a ball head, all travel, pivot screws a quarter turn either way",
                need(ball, 1.0, 1.0, "pivot.spacing: {} more", 2.0)),
        Reading("inside.clamp_tilt", "wood between clamp screw and tilt screw", screws, "mm",
                "between the two holes in the block (or the captive head, if it is larger), at the screws' nearest pose",
                need(screws, WOOD, 2.0, "tilt_screw.head_z: {} lower")),
        Reading("inside.pivot_hold", "pivot screw's hold in the block", hold, "mm",
                "length of the screw in its thread (the insert's, or the block's where there is none), its seat a quarter turn "
                "further out or in, whichever leaves less",
                need(hold, v.least_hold, 2.0, longer + ": {} more")),
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
        Reading("inside.screw_end", "tilt screw's end to the bottom of its hole", bottom, "mm",
                "in the heel, at the lowest turn of the travel; the screw comes nearer as the action is lowered",
                need(bottom, 0.0, 1.0, "tilt_screw.hole_past_receiver: {} more")),
    ]


def _rod_readings(design: Any, d: Dimensions, p: Pose) -> list[Reading]:
    """Tongue wood, and the room for rods; their middle lies ``tongue.rod_above_glue_line`` over the glue line (0: half in board).

    The sections of :mod:`lutherie_geom.mechanics.tongue_sections` ask the same of every station, and take the board's crowning
    off besides: they count what is left at its edges, this what is left on the centreline.
    """
    g = design.tongue
    wood, where = least_wood(design, d)
    found = [Reading("inside.tongue_wood", "least wood under the board", wood, "mm",
                     f"neck wood left on the tongue's centreline, {where:.0f} mm past the joint; fall-away not counted",
                     need(wood, 0.0, 0.3, "tongue.wood: {} more"))]
    if g.rod_diameter == 0 or g.rods == 0:
        return found
    high = g.rod_above_glue_line
    fit = wood - g.rod_cover + high - g.rod_diameter / 2
    board = design.board.thickness - g.slot_depth - g.rod_cover - high - g.rod_diameter / 2
    return [*found,
            Reading("inside.rod_cover", "tongue rods: wood to spare under them", fit, "mm",
                    f"least tongue wood ({where:.0f} mm past the joint) less cover and the part of a rod under the glue line",
                    need(fit, 0.0, 0.2, "tongue.rod_diameter: {} less (or half as much more tongue.wood)", 2.0)),
            Reading("inside.rod_board", "tongue rods: board to spare over them",
                    board, "mm",
                    "board from the bottom of its fret slots down, less cover and the part of a rod over the glue line",
                    need(board, 0.0, 0.5, "tongue.rod_diameter: {} less", 2.0)),
            *_rod_pivot(design, p)]


def _rod_pivot(design: Any, p: Pose) -> list[Reading]:
    g, v = design.tongue, design.pivot
    if g.rod_diameter == 0 or g.rods == 0:
        return []
    x = np.array([0.0, min(design.block.depth, g.length)]).reshape((2,) + (1,) * p.batch)
    depth = g.rod_above_glue_line - design.board.crown - design.board.thickness - g.rod_diameter / 2
    apart = np.nanmin(p.to_body(x, v.spacing / 2, depth).z, axis=(0, 1)) - v.z - v.screw_diameter / 2
    return [Reading("inside.rod_pivot", "tongue rods clear of the pivot screws", apart, "mm",
                    "from the rods' underside down to the screws, at the lowest the tongue goes",
                    need(apart, TOP_WOOD, 1.0, "pivot.z: {} lower"))]


def inside_readings(design: Any, travel: Any) -> list[Reading]:
    """Clearances and wood inside heel, block and tongue [mm], the least over travel and a quarter turn of the pivot screws."""
    d = design.dimensions()
    p = poses(d, travel, 0.25)
    return [*_screw_readings(design, d, travel, p), *bore_readings(design, d), *_receiver_readings(design, d),
            *_rod_readings(design, d, p)]


def inside_margins(design: Any, d: Dimensions, travel: Any = None) -> dict[str, Array]:
    """Margins [mm] by the keys of :func:`inside_readings` for many designs at once, each (n,); below 0 a reading fails.

    ``design`` carries arrays (n,) in the fields that differ, ``d`` the same as numbers, ``travel`` its ends ``low`` and ``high``
    [turn], numbers or (n,); none: at rest. Wood of the tongue itself isn't asked. With rods along the heel all must have one
    that serves both screws, or none (:func:`lutherie_geom.joint.bores.one_rod`).
    """
    ends = travel or SimpleNamespace(low=0.0, high=0.0)
    p = poses(d, ends, 0.25)
    found = [*_screw_readings(design, d, ends, p), *bore_readings(design, d), *_receiver_readings(design, d),
             *_rod_pivot(design, p)]
    return {r.key: r.verdict.margin for r in found if r.verdict}
