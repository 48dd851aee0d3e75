"""Strength of the joint's own parts: bent screws, stripped threads, seats, wood that bears, glue, and preload over the years.

What was known before stands in :mod:`lutherie_geom.theory.strength`; here is what the margins need besides. A formula gives a
number for smooth metal or clear wood; what it leaves out stands in its note.
"""

from __future__ import annotations

import math
from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.strength import hertz_point

_F = Quantity("force", "F", "N", "force", 1, 5000)
_D = Quantity("diameter", "d", "mm", "nominal diameter of the thread", 2, 12)
_P = Quantity("pitch", "P", "mm", "pitch of the thread", 0.3, 2)
_D2 = Quantity("pitch_diameter", "d_2", "mm", "pitch diameter of the screw", 1.7, 11)
_D1 = Quantity("bore_diameter", "D_1", "mm", "bore of the nut thread", 1.5, 10.5)
_N2 = Quantity("nut_pitch_diameter", "D_2", "mm", "pitch diameter of the nut thread", 1.7, 11)
_LE = Quantity("engagement", "L_e", "mm", "length of thread in thread", 2, 30)
_ASS = Quantity("screw_shear_area", "A_{ss}", "mm^2", "area of the screw's thread in shear")
_ASN = Quantity("nut_shear_area", "A_{sn}", "mm^2", "area of the nut thread in shear")
_STRIP = ("the thread's thickness where the other thread's crest cuts it, 60 degree profile: derived here; the screw's area as "
          "in a web page that paraphrases Machinery's Handbook, 24th edition")


def _areas(b: Builder) -> Any:
    sp = b.sympy
    turns = b.step("turns", b.engagement / b.pitch, "n", "turns of thread engaged")
    screw = sp.pi * b.bore_diameter * turns * (b.pitch / 2 + (b.pitch_diameter - b.bore_diameter) / sp.sqrt(3))
    nut = sp.pi * b.diameter * turns * (b.pitch / 2 + (b.diameter - b.nut_pitch_diameter) / sp.sqrt(3))
    return screw, nut


strip_areas = Relation("strip_areas", "Areas on which a thread strips: screw's at the nut's bore, nut's at the screw's crest",
                       (_LE, _P, _D, _D2, _D1, _N2), (_ASS, _ASN), _areas, "joint_strength", source=_STRIP,
                       note="The first turns carry more than their share, so length beyond about 1.5 d helps little. Worn or "
                            "badly cut thread is not counted.")

_E = Quantity("modulus", "E", "MPa", "Young's modulus of the screw", 90000, 215000)
_DB = Quantity("root_diameter", "d_3", "mm", "diameter at the thread's root, where the screw bends", 1.5, 12)
_PHI = Quantity("swing", r"\varphi", "rad", "angle by which head and screw would part if they could", 0, 0.1)
_L = Quantity("length", "L", "mm", "free length of the screw between its two ends", 8, 120)
_K = Quantity("fixity", "k", "1", "1: the head slides; 3: far end swivels; 4: far end is held; head kept in place in both", 1, 4)
_M = Quantity("moment", "M", "N mm", "bending moment in the screw", 0, 20000)


def _held(b: Builder) -> Any:
    rigidity = b.step("EI", b.modulus * b.sympy.pi * b.root_diameter**4 / 64, "EI", "bending stiffness at the root")
    return b.fixity * rigidity * b.swing / b.length


held_moment = Relation("held_moment", "Moment that bends a screw whose head may not tip by its swing", (_E, _DB, _PHI, _L, _K),
                       (_M,), _held, "joint_strength",
                       source="slope at the end of a beam under an end moment, M L/(k EI): derived here, held to integration",
                       note="Uniform at the root diameter, without the stiffening by the pull (below one percent here).")

_OFF = Quantity("offset", r"\Delta", "mm", "how far the wall of its hole pushes the screw aside", 0, 3)


def _pushed(b: Builder) -> Any:
    rigidity = b.step("EI", b.modulus * b.sympy.pi * b.root_diameter**4 / 64, "EI", "bending stiffness at the root")
    return 3 * rigidity * b.offset / b.length**2


pushed_moment = Relation("pushed_moment", "Moment in a screw held at one end and pushed aside at the other", (_E, _DB, _OFF, _L),
                         (_M,), _pushed, "joint_strength",
                         source="cantilever pushed at its tip, M = 3 EI offset / L^2: derived here, held to integration")

_FACE = Quantity("face_diameter", "D_f", "mm", "diameter of the face that would have to tip", 4, 25)


def _rim(b: Builder) -> Any:
    return b.force * b.face_diameter / 2


rim_moment = Relation("rim_moment", "Largest moment that a flat face can pass on: all the force at its rim", (_F, _FACE), (_M,),
                      _rim, "joint_strength", source="equilibrium; derived here",
                      note="Beyond it the head rocks on its rim, and the screw bends no further.")

def _bent(b: Builder) -> Any:
    return 32 * b.moment / (b.sympy.pi * b.root_diameter**3)


_SB = Quantity("bending_stress", r"\sigma_b", "MPa", "stress at the outermost fibre, by bending", 0, 1000)
bent_stress = Relation("bent_stress", "Bending stress in a round screw", (_M, _DB), (_SB,), _bent, "joint_strength",
                       source="M/W of a circle; textbook form, from memory; checked against integration",
                       note="Without the notch of the thread, which counts when the load comes and goes.")

_TT = Quantity("torque", "T", "N mm", "torque in the screw", 0, 20000)
_TAU = Quantity("twist_stress", r"\tau_t", "MPa", "shear stress at the surface, by twisting", 0, 600)


def _twist(b: Builder) -> Any:
    return 16 * b.torque / (b.sympy.pi * b.root_diameter**3)


twist_stress = Relation("twist_stress", "Shear stress in a twisted round screw", (_TT, _DB), (_TAU,), _twist, "joint_strength",
                        source="textbook form, from memory; checked against integration")

_SA = Quantity("axial_stress", r"\sigma_a", "MPa", "stress along the screw, by its force", 0, 1000)
_SV = Quantity("whole_stress", r"\sigma_v", "MPa", "equivalent stress")


def _whole(b: Builder) -> Any:
    return b.sympy.sqrt((b.axial_stress + b.bending_stress) ** 2 + 3 * b.twist_stress**2)


whole_stress = Relation("whole_stress", "Pull, bending and twist together in one stress", (_SA, _SB, _TAU), (_SV,), _whole,
                        "joint_strength", source="von Mises, textbook form, from memory")

_MU = Quantity("friction", r"\mu", "1", "friction between the faces", 0.02, 0.6)
_BETA = Quantity("flank", r"\beta", "rad", "flank angle: 30 degrees for a metric or unified thread", 0, math.pi / 5)
_GRIP = Quantity("grip", r"\mu'", "1", "friction of the thread as the wedge feels it")


def _grip(b: Builder) -> Any:
    return b.friction / b.sympy.cos(b.flank)


thread_grip = Relation("thread_grip", "Friction of a thread with slanted flanks; self-locking when above the lead's tangent",
                       (_MU, _BETA), (_GRIP,), _grip, "joint_strength", source="wedge with friction; derived here",
                       note="At rest. Shaking lets faces slip a little at every stroke: no friction alone holds for ever.")

_WASHER = Quantity("washer_diameter", "D_w", "mm", "diameter of the washer", 9, 40)
_BORE = Quantity("bore", "d_b", "mm", "diameter of the hole under it", 2, 8.5)
_PRESS = Quantity("pressure", "p", "MPa", "mean pressure")


def _washer(b: Builder) -> Any:
    return 4 * b.force / (b.sympy.pi * (b.washer_diameter**2 - b.bore**2))


washer_pressure = Relation("washer_pressure", "Pressure of a washer on what it lies on", (_F, _WASHER, _BORE), (_PRESS,),
                           _washer, "joint_strength", source="definition",
                           note="Taken as even: a thin washer bends and presses more inside.")

_Y = Quantity("yield_stress", "Y", "MPa", "yield stress of the softer body", 50, 1500)
_YP = Quantity("point_limit", "p_{Y1}", "MPa", "peak pressure at first yield, point contact")
_YL = Quantity("line_limit", "p_{Y2}", "MPa", "peak pressure at first yield, line contact")


def _first(b: Builder) -> Any:
    r = b.sympy.Rational
    return r("1.6") * b.yield_stress, r("1.79") * b.yield_stress


first_yield = Relation("first_yield", "Peak pressure at which a contact first yields, under its surface", (_Y,), (_YP, _YL),
                       _first, "joint_strength",
                       source="von Mises under a Hertz contact, Poisson's ratio 0.3, textbook numbers, from memory; checked "
                              "here by the stress under the contact",
                       note="First yield is no failure: the touch widens and settles down. Many turns of the screw add up.")

_BALL = Quantity("ball_radius", "R_1", "mm", "radius of the ball", 3, 10)
_RING = Quantity("rim_radius", "c", "mm", "radius of the ring on which the ball touches", 1.5, 2.8)
_COUNT = Quantity("points", "n", "1", "places of touch round the ring", 2, 6)
_EDGE = Quantity("edge_curvature", r"\kappa_e", "1/mm", "curvature of the edge: 0 for a flat flank, 1/radius for an edge", 0, 5)
_ES = Quantity("contact_modulus", "E^{*}", "MPa", "modulus of the two bodies together", 1000, 130000)
_A = Quantity("contact_radius", "a", "mm", "radius of the touching patch")
_PEAK = Quantity("peak", "p_0", "MPa", "greatest pressure")
_NEAR = Quantity("approach", r"\delta", "mm", "how far the bodies come together at one place")


def _points(b: Builder) -> Any:
    sp = b.sympy
    rise = b.step("rise", sp.sqrt(1 - (b.rim_radius / b.ball_radius) ** 2), r"\sin\beta", "part of a push that bears the force")
    each = b.step("each", b.force / (b.points * rise), "F_1", "push at one place")
    both = b.step("both", 1 / (1 / b.ball_radius + b.edge_curvature), "R_e", "ball and edge, across the edge")
    return b.use(hertz_point, force=each, relative_radius=sp.sqrt(b.ball_radius * both))


ball_on_points = Relation("ball_on_points", "Ball that touches a few places of a ring: socket's corners, the flanks of a vee",
                          (_F, _BALL, _RING, _COUNT, _EDGE, _ES), (_A, _PEAK, _NEAR), _points, "joint_strength",
                          source="Hertz with the mean of the two radii: derived here; within a few percent for mild ellipses "
                                 "(from memory)")

_H = Quantity("hardness", "H", "MPa", "Brinell hardness of the softer body (1 HB is 9.807 MPa)", 10, 6000)
_WIDTH = Quantity("width", "w", "mm", "width of the lasting band")
_SINK = Quantity("sink", "s", "mm", "how far the ball sinks along its seat's axis")


def _ring_dent(b: Builder) -> Any:
    sp = b.sympy
    rise = b.step("rise", sp.sqrt(1 - (b.rim_radius / b.ball_radius) ** 2), r"\sin\beta", "slant of the ball at the ring")
    w = b.step("w_d", b.force / (2 * sp.pi * b.rim_radius * rise * b.hardness), "w_d", "band that bears it at the hardness")
    return w, w**2 / (8 * b.ball_radius * rise)


ring_dent = Relation("ring_dent", "Band that a ball presses into a cone or a rim until the hardness bears it",
                     (_F, _BALL, _RING, _H), (_WIDTH, _SINK), _ring_dent, "joint_strength",
                     source="force over the band's area is the hardness; band on the ball's round: derived here",
                     note="An upper bound for a cone. A sharp rim sinks further, until it is as round as this band is wide.")


def _ring_edge(b: Builder) -> Any:
    w, _ = b.use(ring_dent)
    slant = b.step("cosb", b.rim_radius / b.ball_radius, r"\cos\beta", "how far the ball's surface leans at the ring")
    return w * slant


_EDGE_SINK = Quantity("edge_sink", "s_e", "mm", "how far the ball sinks along its seat's axis while the edge gives way")
rim_dent = Relation("rim_dent", "Sinking of a ball on a truly sharp rim until a band is wide enough to bear it",
                    (_F, _BALL, _RING, _H), (_EDGE_SINK,), _ring_edge, "joint_strength",
                    source="a square edge is flattened to the ball's slope over the band of ring_dent: derived here",
                    note="An upper bound: an edge broken before (rounded, burnished by a ball) has done most of it.")

_G = Quantity("gravity", "G", "1", "specific gravity of the wood, ovendry mass", 0.25, 1)
_DOWEL = Quantity("dowel_diameter", "D", "mm", "diameter of the dowel", 6, 26)
_FA = Quantity("along_grain", "F_{e0}", "MPa", "bearing strength along the grain")
_FX = Quantity("across_grain", "F_{e90}", "MPa", "bearing strength across the grain")


def _bolt(b: Builder) -> Any:
    sp = b.sympy
    r = sp.Rational
    return r("77.2") * b.gravity, 212 * b.gravity ** r("1.45") / sp.sqrt(b.dowel_diameter)


bolt_bearing = Relation("bolt_bearing", "Bearing strength of wood under a thick dowel or bolt", (_G, _DOWEL), (_FA, _FX), _bolt,
                        "joint_strength",
                        source="US timber rule for dowels of 6.35 mm and more (11,200 G and 6,100 G^1.45/sqrt(D), psi and "
                               "inches), from memory",
                        note="At 5 % of the diameter as lasting dent; oven-dry gravity. No safety in it, none for long loads.")

_ACH = Quantity("across_hardwood", "C_{90}", "MPa", "compression strength across the grain, hardwoods")
_ACS = Quantity("across_softwood", "C_{90s}", "MPa", "the same, softwoods")


def _across(b: Builder) -> Any:
    r = b.sympy.Rational
    return r("21.6") * b.gravity ** r("2.09"), r("16.5") * b.gravity ** r("1.57")


across_from_gravity = Relation("across_from_gravity", "Estimate of the strength across the grain from the gravity alone",
                               (_G,), (_ACH, _ACS), _across, "joint_strength",
                               source="Wood Handbook, property against gravity at 12 % moisture, from memory; within a third of "
                                      "the table values read",
                               note="A stand-in where no value was found: never as good as a test of your own wood.")

_GW = Quantity("cover_width", "b_c", "mm", "width of the cover", 10, 80)
_GH = Quantity("cover_height", "h_c", "mm", "height of the cover", 10, 80)
_CAVE = Quantity("cavity", "d_v", "mm", "diameter of the cavity that it covers, which takes no glue", 0, 9)
_GS = Quantity("glue_strength", r"\sigma_g", "MPa", "what the glue line bears, pulled open", 0.2, 15)
_GF = Quantity("cover_load", "F_c", "N", "push that the glued cover bears")


def _glue(b: Builder) -> Any:
    hole = b.step("lost", b.sympy.pi / 4 * b.cavity**2, "A_v", "no glue over the cavity")
    return (b.cover_width * b.cover_height - hole) * b.glue_strength


glue_load = Relation("glue_load", "Push that a cover glued over a cavity bears", (_GW, _GH, _CAVE, _GS), (_GF,), _glue,
                     "joint_strength", source="area times strength; definition",
                     note="Glue lines peel from an edge: the mean stress is kept low by the low strength, not by this formula.")

_TIME = Quantity("time", "t", "day", "time since the screw was tightened", 0.05, 20000)
_SPAN = Quantity("long_time", "t_L", "day", "time that the long-load factor stands for, ten years", 300, 20000)
_PHIL = Quantity("long_creep", r"\varphi_L", "1", "give of the wood after that time, over its give at once", 1, 4)
_M_EXP = Quantity("exponent", "m", "1", "exponent of the creep curve", 0.1, 0.5)
_PHIT = Quantity("creep", r"\varphi", "1", "give of the wood by now, over its give at once")


def _creep(b: Builder) -> Any:
    return 1 + (b.long_creep - 1) * (b.time / b.long_time) ** b.exponent


creep_growth = Relation("creep_growth", "How the give of wood grows under a lasting load", (_TIME, _SPAN, _PHIL, _M_EXP),
                        (_PHIT,), _creep, "joint_strength", source="power law of time, common form for wood, from memory",
                        note="Air that changes between damp and dry makes wood creep more than any steady air.")

_FI = Quantity("preload", "F_i", "N", "preload when the key was put down", 0, 20000)
_KB = Quantity("screw_stiffness", "k_b", "N/mm", "stiffness of the screw, washers or springs in series counted in", 1e3, 1e6)
_KM = Quantity("member_stiffness", "k_m", "N/mm", "stiffness of the clamped parts, fresh", 1e3, 1e6)
_PHIN = Quantity("creep", r"\varphi", "1", "give of the wood by now, over its give at once", 1, 4)
_Z = Quantity("bedding", "z", "mm", "settling of faces and threads", 0, 0.2)
_DRY = Quantity("shrinkage", "s", "mm", "by how much the clamped wood has shrunk along the screw; below zero: swollen", -0.5, 0.5)
_LEFT = Quantity("preload_left", "F", "N", "preload that is left; below zero: none, and so much too loose")


def _later(b: Builder) -> Any:
    wound = b.step("wound", b.preload * (1 / b.screw_stiffness + 1 / b.member_stiffness), r"\delta_0",
                   "what the key wound in: screw stretched and parts pressed")
    return (wound - b.bedding - b.shrinkage) / (1 / b.screw_stiffness + b.creep / b.member_stiffness)


preload_later = Relation("preload_later", "Preload after bedding-in, creep and a change of moisture",
                         (_FI, _KB, _KM, _PHIN, _Z, _DRY), (_LEFT,), _later, "joint_strength",
                         source="screw and parts share what was wound in, the parts with their give grown: derived here",
                         note="Straight springs, all clamped give creeping alike. Wood pressed beyond its yield keeps less.")
