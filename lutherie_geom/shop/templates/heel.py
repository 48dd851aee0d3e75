"""Templates for the heel: its end face, its side with the receivers, and check blocks for the neck angle."""

from __future__ import annotations

import math
from typing import Any

from lutherie_geom.joint.bores import RodBore, one_rod, rod_bores
from lutherie_geom.joint.holes import clamp_height, thread
from lutherie_geom.joint.neck_set import straightedge_at_bridge
from lutherie_geom.shop.hardware import ball_head, clamp_hole
from lutherie_geom.shop.paper.entities import Arc, Circle, Datum, Entity, Line, Path, Text, measure
from lutherie_geom.shop.paper.title_block import View
from lutherie_geom.shop.templates.ground import Ground
from lutherie_geom.theory.templates import check_rise, heel_corner

__all__ = ["angle_check", "heel_end", "heel_side"]

RUN, LEG, DOWN = 120.0, 22.0, 90.0
"""The angle card [mm]: run along the glue face, width of its legs, length down the end face."""
_HOLD = "Ball heads and receivers carry the strings' pull: wood that has split there is replaced, not glued back."


def _tilt_z(g: Ground, x: float) -> float:
    """Height of the tilt screw's axis [mm] at x [mm]."""
    ux, uz = thread(g.d)
    return float(g.design.tilt_screw.receiver_z + (x - g.design.tilt_screw.receiver_x) * uz / ux)


def heel_end(g: Ground) -> View:
    """The heel's end face: outline, ball heads and screws, from the board's glue face (A) and the centre line (B)."""
    design, h, v = g.design, g.design.heel, g.design.pivot
    face = -h.floor_clearance
    top, zc, zt = float(g.glue_face(face)), clamp_height(design), _tilt_z(g, face)
    bit = g.job.cutter.bit
    r = float(heel_corner(half_width_top=h.half_width_top, half_width_foot=h.half_width_foot, foot_z=h.foot_z,
                          side_gap=design.pocket.side_gap, bit_diameter=bit))
    turn_z = h.foot_z + r
    turn_y, slope = g.half(turn_z, beyond=-r), math.degrees(math.atan(g.lean))
    edge = (turn_y + r * math.cos(math.radians(slope)), turn_z - r * math.sin(math.radians(slope)))
    wide = h.half_width_top
    found: list[Entity] = [Path("cut", ((edge[0], edge[1]), (wide, 0.0), (wide, top), (-wide, top), (-wide, 0.0), (-edge[0],
                                                                                                                   edge[1]))),
                           Line("cut", -turn_y, h.foot_z, turn_y, h.foot_z)]
    if r > 0:
        found += [Arc("cut", turn_y, turn_z, r, 270.0, 360.0 - slope), Arc("cut", -turn_y, turn_z, r, 180.0 + slope, 270.0)]
    found += [Line("centre", 0, top + 8, 0, h.foot_z - 6), Datum(-(wide + v.spacing / 2) / 2, top, "A", 90), Datum(0,
                                                                                                                   h.foot_z - 6,
                                                                                                                   "B", 270),
              Line("part", -wide - 17, 0, wide + 6, 0), Text("text", -wide - 18, -0.8, "soundboard", 2.0, "end"),
              Text("text", wide + 3, h.foot_z + 4, "treble", 2.5), Text("text", -wide - 3, h.foot_z + 4, "bass", 2.5, "end")]
    for side in (-1, 1):
        found += g.hole(side * v.spacing / 2, v.z, 2 * v.ball_radius, "ball", aside=-4.0 * side)
    tilt, clamp = g.heel_drills
    found += g.hole(0.0, zc, clamp, "clamp", under=True) + g.hole(0.0, zt, tilt, "tilt")
    right = wide + 14
    found += [g.dim((-v.spacing / 2, v.z), (v.spacing / 2, v.z), "x", top + 17, "pivot.spacing"),
              g.dim((v.spacing / 2, v.z), (wide, top), "y", right, "heel.ball_height"),
              g.dim((0.0, zt), (wide, top), "y", right + 9, "tilt_screw.receiver_z"),
              g.dim((0.0, h.foot_z), (wide, top), "y", right + 18, "heel.foot_z"),
              g.dim((wide, 0.0), (wide, top), "y", -right),
              g.dim((-wide, 0.0), (wide, 0.0), "x", top + 25, "heel.half_width_top", times=2),
              g.dim((-turn_y, h.foot_z), (turn_y, h.foot_z), "x", h.foot_z - 20, "heel.half_width_foot", times=2)]
    if abs(zc - v.z) > 1e-9:
        found.append(g.dim((0.0, zc), (-wide, top), "y", -right - 9))
    at_foot = "sharp" if r == 0 else f"round by {g.say(r)}"
    draught = math.degrees(h.draught)
    way = "in" if draught > 0 else "out"
    lean = f" Away from the end face the cheeks draw {way} by {abs(draught):.2f}°." if abs(draught) > 0.005 else ""
    line = g.tolerance("heel.yaw", run=v.spacing)
    even = f" From one seat to the other the depth may differ by{line} {g.unit}." if line else ""
    notes = ("A: the glue line between board and neck, at the end face. The face is square to the body's length, all turns zero.",
             f"Ball heads: centres {g.say(abs(v.x - face))} {'behind' if v.x < face else 'in front of'} the end face, Ø of the "
             f"balls {g.say(2 * v.ball_radius)}; {_seat(g)}.{even}",
             f"Screw holes {g.say(tilt)} (tilt) and {g.say(clamp)} (clamp): in them {_swing(g)}",
             f"Foot corners {at_foot}, to go into corners left by a {g.say(bit)} bit; lowest dimension between the ends of the "
             "straight foot.",
             f"The outline is bare wood: the pocket is routed wider for the film on both.{lean}")
    return View("heel-end", "Heel: end face with ball heads", "seen from the body, soundboard up", g.hand(found), notes, (_HOLD,))


def _seat(g: Ground) -> str:
    """How the ball heads are let into the end face."""
    ball = ball_head(g.design)
    if ball.deep <= 0:
        return "they stand on the end face: drill for their own thread"
    return f"their seats Ø {g.say(ball.wide)}, {g.say(ball.deep)} deep from the end face, then drilled for their own thread"


def _swing(g: Ground) -> str:
    """Why the heel's holes are as wide as they are."""
    return ("the screws swing as the neck is tilted: no tighter." if g.design.tilt_screw.receiver == "dowel across" else
            "the screws go with the heel, and need only slip through.")


def _receiver(g: Ground, x: float, z: float, diameter: float, length: float) -> list[Entity]:
    """A receiver seen from the side: a dowel's end, or a rod across the thread."""
    if g.design.tilt_screw.receiver == "dowel across":
        return g.hole(x, z, diameter)
    ux, uz = thread(g.d)
    along, side = (-uz * length / 2, ux * length / 2), (ux * diameter / 2, uz * diameter / 2)
    box = [(x + i * along[0] + k * side[0], z + i * along[1] + k * side[1]) for i, k in ((-1, -1), (-1, 1), (1, 1), (1, -1))]
    return [Path("hole", tuple(box), closed=True), Line("centre", x - 1.2 * along[0], z - 1.2 * along[1], x + 1.2 * along[0],
                                                        z + 1.2 * along[1])]


def _rod_bore(b: RodBore) -> list[Entity]:
    """A bore for rods from the heel's foot up, seen through the wood."""
    (x0, z0), (x1, z1) = b.foot, b.top
    ax, az = (x1 - x0) / b.deep * b.wide / 2, (z1 - z0) / b.deep * b.wide / 2
    return [Line("hidden", x0 - az, z0 + ax, x1 - az, z1 + ax), Line("hidden", x0 + az, z0 - ax, x1 + az, z1 - ax),
            Line("hidden", x1 - az, z1 + ax, x1 + az, z1 - ax)]


def _bore(g: Ground, face: float, z0: float, x1: float, z1: float, diameter: float) -> list[Entity]:
    """A screw's hole from the end face to (x1, z1), seen through the wood."""
    long = math.hypot(x1 - face, z1 - z0)
    nx, nz = -(z1 - z0) / long * diameter / 2, (x1 - face) / long * diameter / 2
    return [Line("hidden", face + nx, z0 + nz, x1 + nx, z1 + nz), Line("hidden", face - nx, z0 - nz, x1 - nx, z1 - nz),
            Line("hidden", x1 + nx, z1 + nz, x1 - nx, z1 - nz), Line("centre", face + 5, z0 - 5 * (z1 - z0) / (face - x1),
                                                                     x1 - 4, z1)]


def _receivers(g: Ground) -> str:
    """The receivers and how they are bored."""
    t, c, bores = g.design.tilt_screw, g.design.clamp, rod_bores(g.design)

    def size(part: Any) -> str:
        return f"Ø {g.say(part.receiver_diameter)}, {g.say(part.receiver_length)} long"

    if not bores:
        one = size(t) if size(t) == size(c) else f"{size(t)} (tilt) and {size(c)} (clamp)"
        return f"Cross dowels {one}, of {t.receiver_metal}, tapped across their middle."
    deep = " and ".join(f"Ø {g.say(b.wide)}, {g.say(b.deep)} deep" for b in bores)
    if one_rod(g.design):
        return f"One rod {size(t)}, of {t.receiver_metal}, tapped across twice, in one bore from the heel's foot: {deep}."
    rods = size(t) if size(t) == size(c) else f"{size(t)} (tilt) and {size(c)} (clamp)"
    if bores[0].foot == bores[-1].foot:
        how = f"One bore from the heel's foot, {deep}, holds both; the clamp screw's rod goes in first"
    else:
        how = f"Each has its own bore from the heel's foot: {deep}"
    return f"Rods {rods}, of {t.receiver_metal}, tapped across their middle. {how}."


def heel_side(g: Ground) -> View:
    """The heel from its bass side: receivers and holes from the end face (C) and the board's glue face (A)."""
    design, h, v, t, c = g.design, g.design.heel, g.design.pivot, g.design.tilt_screw, g.design.clamp
    face, far = -h.floor_clearance, -h.length
    top, back, zc = float(g.glue_face(face)), float(g.glue_face(far)), clamp_height(design)
    ux, _ = thread(g.d)
    end_x = t.receiver_x - t.hole_past_receiver * ux
    tilt, clamp = g.heel_drills
    bores, ball, deep = rod_bores(design), ball_head(design), clamp_hole(design)
    found: list[Entity] = [Path("cut", ((far, back), (face, top), (face, h.foot_z), (far, h.foot_z)), closed=True),
                           Line("part", 0, top + 4, 0, h.foot_z - 4), Text("text", 1.5, h.foot_z + 2, "pocket's floor", 2.0),
                           Line("part", far - 4, 0, 12, 0), Text("text", 14, -0.8, "soundboard", 2.0),
                           Datum(far + 8, float(g.glue_face(far + 8)), "A", 90), Datum(face, h.foot_z + 14, "C", 0)]
    found += _bore(g, face, _tilt_z(g, face), end_x, _tilt_z(g, end_x), tilt)
    found += _bore(g, face, zc, face - deep, zc, clamp)
    found += _receiver(g, t.receiver_x, t.receiver_z, t.receiver_diameter, t.receiver_length)
    for b in bores:
        found += _rod_bore(b)
    if ball.deep > 0:
        found += [Line("hidden", face, v.z + k * ball.wide / 2, face - ball.deep, v.z + k * ball.wide / 2) for k in (-1, 1)]
        found.append(Line("hidden", face - ball.deep, v.z - ball.wide / 2, face - ball.deep, v.z + ball.wide / 2))
    if not one_rod(design):
        found += _receiver(g, c.receiver_x, zc, c.receiver_diameter, c.receiver_length)
    found += [Circle("part", v.x, v.z, v.ball_radius), Line("centre", v.x - 6, v.z, v.x + 6, v.z), Line("centre", v.x, v.z - 6,
                                                                                                        v.x, v.z + 6)]
    low, left = h.foot_z - 8, far - 9
    found += [g.dim((t.receiver_x, t.receiver_z), (face, h.foot_z), "x", low, "tilt_screw.receiver_x"),
              g.dim((end_x, t.receiver_z), (face, h.foot_z), "x", low - 8),
              g.dim((far, h.foot_z), (face, h.foot_z), "x", low - 16),
              g.dim((t.receiver_x, t.receiver_z), (far, back), "y", left, "tilt_screw.receiver_z"),
              g.dim((far, h.foot_z), (far, back), "y", left - 9, "heel.foot_z"),
              g.dim((c.receiver_x, zc), (far, back), "y", left - 18),
              g.dim((c.receiver_x, zc), (face, zc), "x", top + 14), g.dim((face - deep, zc), (face, zc), "x", top + 22),
              g.dim((v.x, v.z), (face, v.z), "x", top + 6, "heel.ball_depth")]
    notes = (f"A: the glue line between board and neck; C: the end face, "
             f"{g.say(h.floor_clearance, 'heel.floor_clearance')} before the pocket's floor. {_receivers(g)}",
             "Drill the receivers' holes before the screws' holes; turn each receiver with a rod through its thread until the "
             "screw enters freely.",
             f"Tilt screw's hole Ø {g.say(tilt)}: to {g.say(t.hole_past_receiver)} past its receiver, so that the screw never "
             f"meets the bottom. Clamp screw's hole Ø {g.say(clamp)}: {g.say(deep)} deep from C. In both {_swing(g)}",
             f"Ball heads: {_seat(g)}.",
             "Heights at the far side are measured there, down from A: the glue face leans by the neck angle "
             f"({math.degrees(float(g.d.alpha)):.2f}°).")
    return View("heel-side", "Heel: receivers from the side", "seen from the bass side", g.hand(found), notes, (_HOLD,))


def angle_check(g: Ground) -> View:
    """A card for the angle between glue face and end face, and a block for the straightedge at the bridge."""
    d, alpha = g.d, float(g.d.alpha)
    rise = float(check_rise(run=RUN, alpha=alpha))
    inner = float(check_rise(run=-LEG, alpha=alpha)) - LEG / math.cos(alpha)
    far = float(check_rise(run=-RUN, alpha=alpha)) - LEG / math.cos(alpha)
    high, x = float(straightedge_at_bridge(d)), float(d.x_saddle.mean())
    found: list[Entity] = [Path("cut", ((0, 0), (-RUN, -rise), (-RUN, far), (-LEG, inner), (-LEG, -DOWN), (0, -DOWN)),
                                closed=True),
                           Datum(-RUN + 10, -float(check_rise(run=RUN - 10, alpha=alpha)), "A", 90), Datum(0, -DOWN + 14, "C", 0),
                           Line("hidden", -RUN, 0, 0, 0),
                           g.dim((-RUN, 0), (0, 0), "x", 12), g.dim((-RUN, -rise), (-RUN, 0), "y", -RUN - 6, "neck.angle",
                                                                    "rise ", run=RUN, angle=alpha),
                           Text("text", -RUN + 4, -LEG + 6,
                                f"neck angle {math.degrees(alpha):.2f}°: hold to the cheek, A along the glue line,", 2.0),
                           Text("text", -RUN + 4, -LEG + 2.4, "C along the heel's end face", 2.0)]
    left, low = -RUN, -DOWN
    found += [Path("cut", ((left, low), (left + 60, low), (left + 60, low + high), (left, low + high)), closed=True),
              g.dim((left + 60, low), (left + 60, low + high), "y", left + 68), Datum(left + 10, low, "D", 270),
              Text("text", left + 30, low + high / 2 - 1, f"stands on the top, {measure(x, g.units)} from the joint", 2.0,
                   "middle")]
    notes = ("Card: glue line and end face must run along its edges. The dashed line is square to the end face; the rise is "
             "what the neck angle makes of the run.",
             "Block: stood on the soundboard on the centre line where the saddle will be, a straightedge laid on the frets "
             f"(fret 1 and joint fret) must just touch it: {g.say(high)} over the top. All turns zero; no strings on.",
             "Check with the card before the heel is drilled: every height is measured from A.")
    return View("neck-angle", "Neck angle: check card and check block", "seen from the bass side", g.hand(found), notes, ())
