"""Strength: the clamped joint, contact pressures, and what wood bears under a pin, a screw or at an angle to its grain.

The load that a screw itself bears is :data:`lutherie_geom.theory.fasteners.screw_load`. Every formula here gives a number for
clear wood and smooth metal; what it leaves out stands in its note.
"""

from __future__ import annotations

import math
from typing import Any

from lutherie_geom.theory.fasteners import torque_against
from lutherie_geom.theory.relation import Builder, Quantity, Relation

_T = Quantity("torque", "T", "N mm", "torque at the key", 100, 20000)
_F = Quantity("force", "F", "N", "force", 1, 5000)
_FI = Quantity("preload", "F_i", "N", "preload of the screw", 0, 50000)
_K = Quantity("nut_factor", "K", "1", "nut factor: 0.15 oiled to 0.20 dry, with a scatter of a quarter either way", 0.1, 0.35)
_D = Quantity("diameter", "d", "mm", "nominal diameter", 2, 12)


def _rule(b: Builder) -> Any:
    return b.torque / (b.nut_factor * b.diameter)


preload_rule = Relation("preload_rule", "Short rule for the preload that a torque gives", (_T, _K, _D), (_FI,), _rule, "strength",
                        source="T = K d F, read in a torque table of a web engineering page",
                        note="The scatter of friction is a quarter either way (common practice, no source).")

_LONG = tuple(s for s in torque_against.inputs if s.name != "force")


def _preload(b: Builder) -> Any:
    return b.torque / b.use(torque_against, force=1)


preload_long = Relation("preload_long", "Preload that a torque gives, friction in thread and under the head apart",
                        (_T, *_LONG), (_FI,), _preload, "strength", source="inverse of torque_against; derived here")

_AD = Quantity("shank_area", "A_d", "mm^2", "area of the plain shank", 5, 120)
_AT = Quantity("stress_area", "A_s", "mm^2", "tensile stress area of the thread", 5, 100)
_LD = Quantity("shank_length", "l_d", "mm", "plain shank within the grip", 0, 60)
_LT = Quantity("thread_length", "l_t", "mm", "thread within the grip, half the engaged length added", 2, 60)
_E = Quantity("modulus", "E", "MPa", "Young's modulus", 500, 220000)
_KB = Quantity("screw_stiffness", "k_b", "N/mm", "stiffness of the screw", 1e4, 1e6)
_KM = Quantity("member_stiffness", "k_m", "N/mm", "stiffness of the clamped parts", 1e3, 1e7)


def _screw(b: Builder) -> Any:
    return b.modulus / (b.shank_length / b.shank_area + b.thread_length / b.stress_area)


screw_stiffness = Relation("screw_stiffness", "Stiffness of a screw: shank and thread in series", (_AD, _AT, _LD, _LT, _E),
                           (_KB,), _screw, "strength", source="springs in series; derived here",
                           note="The head, and the wood under it, give besides.")

_BORE = Quantity("bore", "d_b", "mm", "diameter of the bore", 3, 8)
_FACE = Quantity("face", "D_f", "mm", "diameter on which head or washer presses", 9, 25)
_THICK = Quantity("thickness", "t", "mm", "thickness of the part", 2, 60)
_GRIP = Quantity("grip", "L", "mm", "thickness clamped between the two faces", 4, 100)
_CONE = Quantity("cone_angle", r"\alpha_c", "rad", "half angle of the cone of pressure: 30 degrees for metal", 0.3, 0.8)


def _frustum(b: Builder) -> Any:
    sp = b.sympy
    tan = b.step("slant", sp.tan(b.cone_angle), r"\tan\alpha_c")
    wide = b.step("wide", b.face + 2 * b.thickness * tan, "w", "the cone's width at its far side")
    fall = sp.log((wide - b.bore) * (b.face + b.bore) / ((wide + b.bore) * (b.face - b.bore)))
    return sp.pi * b.modulus * b.bore * tan / fall


frustum_stiffness = Relation("frustum_stiffness", "Stiffness of one clamped part, taken as a cone of pressure round the screw",
                             (_BORE, _FACE, _THICK, _E, _CONE), (_KM,), _frustum, "strength",
                             source="cone frustum with a bore, integrated: derived here; textbook form (Shigley, from memory)",
                             note="The same in all directions: for wood across the grain a guide to size only.")


def _pair(b: Builder) -> Any:
    return b.use(frustum_stiffness, thickness=b.grip / 2) / 2


pair_stiffness = Relation("pair_stiffness", "Stiffness of two like cones of pressure, face to face, through the whole grip",
                          (_BORE, _FACE, _GRIP, _E, _CONE), (_KM,), _pair, "strength",
                          source="two frusta in series; form read in a public document on preloaded joints")

_C = Quantity("joint_constant", "C", "1", "share of an outer load that the screw takes", 0.01, 0.9)
_P = Quantity("load", "P", "N", "outer load that pulls the joint apart", 0, 5000)
_FB = Quantity("screw_force", "F_b", "N", "force in the screw under load")
_FM = Quantity("clamp_force", "F_m", "N", "force that still presses the parts together; below zero they part")
_P0 = Quantity("parting_load", "P_0", "N", "outer load at which the parts lose touch")


def _constant(b: Builder) -> Any:
    return b.screw_stiffness / (b.screw_stiffness + b.member_stiffness)


joint_constant = Relation("joint_constant", "Joint constant: how screw and parts share an outer load", (_KB, _KM), (_C,),
                          _constant, "strength", source="formula read on a web page on bolts")


def _shared(b: Builder) -> Any:
    return (b.preload + b.joint_constant * b.load, b.preload - (1 - b.joint_constant) * b.load,
            b.preload / (1 - b.joint_constant))


joint_forces = Relation("joint_forces", "Forces in a preloaded joint under an outer load", (_FI, _C, _P), (_FB, _FM, _P0),
                        _shared, "strength", source="two springs side by side; textbook form (Shigley, from memory)",
                        note="Screw and clamp force hold only until the parts lose touch.")

_Z = Quantity("bedding", "z", "mm", "settling under head, washer and in the wood, by dents, creep or drying", 0, 1)
_LOST = Quantity("lost", r"\Delta F", "N", "preload lost")


def _lost(b: Builder) -> Any:
    return b.bedding * b.screw_stiffness * b.member_stiffness / (b.screw_stiffness + b.member_stiffness)


preload_lost = Relation("preload_lost", "Preload lost when the parts settle", (_Z, _KB, _KM), (_LOST,), _lost, "strength",
                        source="two springs in series; derived here",
                        note="Holds while preload is left. A spring washer in series lowers the loss.")

_E1 = Quantity("modulus_1", "E_1", "MPa", "Young's modulus of the first body", 1000, 220000)
_E2 = Quantity("modulus_2", "E_2", "MPa", "Young's modulus of the second body", 1000, 220000)
_NU1 = Quantity("poisson_1", r"\nu_1", "1", "Poisson's ratio of the first body", 0, 0.5)
_NU2 = Quantity("poisson_2", r"\nu_2", "1", "Poisson's ratio of the second body", 0, 0.5)
_ES = Quantity("contact_modulus", "E^{*}", "MPa", "modulus of the two bodies together", 1000, 130000)


def _together(b: Builder) -> Any:
    return 1 / ((1 - b.poisson_1**2) / b.modulus_1 + (1 - b.poisson_2**2) / b.modulus_2)


contact_modulus = Relation("contact_modulus", "Modulus of two bodies in contact", (_E1, _NU1, _E2, _NU2), (_ES,), _together,
                           "strength", source="Hertz, textbook form, from memory")

_R = Quantity("relative_radius", "R", "mm", "radius of a ball; of two curved bodies 1/(1/R1 + 1/R2), hollow negative", 1, 100)
_A = Quantity("contact_radius", "a", "mm", "radius of the touching circle")
_P_MAX = Quantity("peak", "p_0", "MPa", "greatest pressure")
_NEAR = Quantity("approach", r"\delta", "mm", "how far the bodies come together")
_HERTZ = "Hertz, textbook form, from memory; radius checked against a read value"


def _point(b: Builder) -> Any:
    sp = b.sympy
    a = b.step("a", (3 * b.force * b.relative_radius / (4 * b.contact_modulus)) ** sp.Rational(1, 3), "a", "the touching circle")
    return a, 3 * b.force / (2 * sp.pi * a**2), a**2 / b.relative_radius


hertz_point = Relation("hertz_point", "Ball against a flat (one-point contact)", (_F, _R, _ES), (_A, _P_MAX, _NEAR), _point,
                       "strength", source=_HERTZ,
                       note="Elastic, smooth, small against the ball; first yield inside the softer body near p0 = 1.6 times "
                            "its yield stress (from memory).")

_BALL = Quantity("ball_radius", "R_1", "mm", "radius of the ball", 3, 10)
_CUP = Quantity("cup_radius", "R_2", "mm", "radius of the cup, larger than the ball's", 11, 30)


def _cup(b: Builder) -> Any:
    r = b.step("R", 1 / (1 / b.ball_radius - 1 / b.cup_radius), "R", "the cup is hollow: its curvature counts against the ball's")
    return b.use(hertz_point, relative_radius=r)


ball_in_cup = Relation("ball_in_cup", "Ball in a spherical cup", (_F, _BALL, _CUP, _ES), (_A, _P_MAX, _NEAR), _cup, "strength",
                       source=_HERTZ,
                       note="The nearer the radii, the wider the touch: no longer Hertz when a is more than a tenth of the ball.")

_LINE = Quantity("line_load", "F'", "N/mm", "force on each mm of the line of touch", 1, 500)
_HALF = Quantity("half_width", "b", "mm", "half the width of the touching strip")


def _line(b: Builder) -> Any:
    sp = b.sympy
    half = b.step("half", 2 * sp.sqrt(b.line_load * b.relative_radius / (sp.pi * b.contact_modulus)), "b")
    return half, 2 * b.line_load / (sp.pi * half)


hertz_line = Relation("hertz_line", "Line contact: cylinder on a flat, pin in a hole", (_LINE, _R, _ES), (_HALF, _P_MAX), _line,
                      "strength", source="Hertz line contact, textbook form, from memory",
                      note="Small against the radii: not for a pin that fits its hole closely.")

_AXIAL = Quantity("force", "F", "N", "force along the seat's axis", 1, 5000)
_RING = Quantity("rim_radius", "c", "mm", "radius of the ring where the ball touches", 1.5, 2.8)
_EDGE = Quantity("edge_curvature", r"\kappa_e", "1/mm", "curvature of the edge: 0 for a cone, 1/radius for a rounded rim", 0, 5)


def _ring(b: Builder) -> Any:
    sp = b.sympy
    rise = b.step("rise", sp.sqrt(1 - (b.rim_radius / b.ball_radius) ** 2), r"\sin\beta",
                  "slant of the ball's surface at the ring: the part of its push that bears the axial force")
    line = b.step("line", b.force / (2 * sp.pi * b.rim_radius * rise), "F'", "spread over the ring")
    return b.use(hertz_line, line_load=line, relative_radius=1 / (1 / b.ball_radius + b.edge_curvature))


ball_on_ring = Relation("ball_on_ring", "Ball seated on a cone or on the rim of a hole", (_AXIAL, _BALL, _RING, _EDGE, _ES),
                        (_HALF, _P_MAX), _ring, "strength", source="ring taken as a straight Hertz line; derived here",
                        note="A guide while the half width is small against ring, ball and edge; a truly sharp rim yields until "
                             "it is round. Without friction, ball pressed straight.")

_H = Quantity("hardness", "H", "MPa", "Brinell hardness of the softer body (1 HB is 9.807 MPa)", 10, 3000)
_DENT = Quantity("dent", "h", "mm", "depth of the lasting dent")


def _dent(b: Builder) -> Any:
    return b.force / (2 * b.sympy.pi * b.ball_radius * b.hardness)


ball_dent = Relation("ball_dent", "Dent of a ball that sinks until the hardness bears it", (_F, _BALL, _H), (_DENT,), _dent,
                     "strength", source="definition of Brinell hardness: force over the cap's area; from memory",
                     note="An upper bound: below first yield there is no dent at all.")

_ALONG = Quantity("along_grain", "N_0", "MPa", "strength along the grain", 20, 90)
_ACROSS = Quantity("across_grain", r"N_{90}", "MPa", "strength across the grain", 1, 20)
_ANGLE = Quantity("grain_angle", r"\theta", "rad", "angle between load and grain", 0, math.pi / 2)
_N = Quantity("at_angle", r"N_\theta", "MPa", "strength at that angle")


def _hankinson(b: Builder) -> Any:
    sp = b.sympy
    return b.along_grain * b.across_grain / (b.along_grain * sp.sin(b.grain_angle) ** 2
                                             + b.across_grain * sp.cos(b.grain_angle) ** 2)


hankinson = Relation("hankinson", "Strength of wood at an angle to the grain (Hankinson)", (_ALONG, _ACROSS, _ANGLE), (_N,),
                     _hankinson, "strength", source="Wood Handbook GTR-282 Eq. 8-16, read in reproduction; exponent 2")

_LENGTH = Quantity("bearing_length", "t", "mm", "length over which dowel or thread bears on the wood", 2, 80)
_PRESSURE = Quantity("bearing_pressure", "p", "MPa", "mean pressure on the dowel's shadow")


def _bearing(b: Builder) -> Any:
    return b.force / (b.diameter * b.bearing_length)


dowel_pressure = Relation("dowel_pressure", "Pressure of a dowel on the wood that holds it", (_F, _D, _LENGTH), (_PRESSURE,),
                          _bearing, "strength", source="definition",
                          note="Mean over the dowel's length: a thin dowel bends and presses more at the loaded end.")

_GRAVITY = Quantity("gravity", "G", "1", "specific gravity of the wood, ovendry mass", 0.2, 1)
_FE = Quantity("bearing_strength", "F_e", "MPa", "bearing strength of the wood under a thin dowel")


def _embed(b: Builder) -> Any:
    return b.sympy.Rational("114.5") * b.gravity ** b.sympy.Rational("1.84")


dowel_strength = Relation("dowel_strength", "Bearing strength of wood under a nail or thin screw", (_GRAVITY,), (_FE,), _embed,
                          "strength", source="Wood Handbook GTR-282 Eq. 8-3, read in reproduction",
                          note="For dowels thinner than 6.35 mm, any grain angle (limit from memory). Ultimate, no safety in it.")

_END = Quantity("end_distance", "e", "mm", "wood left beyond the dowel, along the pull", 2, 60)
_SHEAR = Quantity("shear_stress", r"\tau", "MPa", "mean shear stress on the two planes")


def _shear_out(b: Builder) -> Any:
    return b.force / (2 * b.end_distance * b.bearing_length)


shear_out = Relation("shear_out", "Shear stress where a dowel would push a plug out of the wood's end", (_F, _END, _LENGTH),
                     (_SHEAR,), _shear_out, "strength", source="two planes of equal stress; derived here",
                     note="The stress peaks beside the dowel, and the wood may split first: keep a wide margin.")

_DEPTH = Quantity("thread_depth", "L", "mm", "length of thread in the wood", 3, 60)
_PULL = Quantity("withdrawal", "F_w", "N", "force that pulls it out, ultimate, in side grain")


def _wood_screw(b: Builder) -> Any:
    return b.sympy.Rational("108.25") * b.gravity**2 * b.diameter * b.thread_depth


def _lag_screw(b: Builder) -> Any:
    r = b.sympy.Rational
    return r("125.4") * b.gravity ** r(3, 2) * b.diameter ** r(3, 4) * b.thread_depth


wood_screw_pull = Relation("wood_screw_pull", "Withdrawal of a wood screw from side grain", (_GRAVITY, _D, _DEPTH), (_PULL,),
                           _wood_screw, "strength", source="Wood Handbook GTR-282 Eq. 8-10, read in reproduction",
                           note="Ultimate and of short duration; gravity at 12 % moisture. A third to a fifth of it is usual in "
                                "use (from memory).")
lag_screw_pull = Relation("lag_screw_pull", "Withdrawal of a lag screw or coarse insert from side grain",
                          (_GRAVITY, _D, _DEPTH), (_PULL,), _lag_screw, "strength",
                          source="Wood Handbook GTR-282 Eq. 8-14, read in reproduction",
                          note="Given for lag screws; for inserts it is a stand-in. End grain holds about three quarters (read).")

_P12 = Quantity("dry_value", r"P_{12}", "MPa", "property at 12 % moisture content", 20, 200)
_PG = Quantity("green_value", "P_g", "MPa", "property of green wood", 10, 120)
_MC = Quantity("moisture", "M", "%", "moisture content", 4, 20)
_MP = Quantity("meeting_point", "M_p", "%", "moisture at which green and dry meet, 25 for most woods", 21, 28)
_PM = Quantity("at_moisture", "P", "MPa", "property at that moisture content")


def _adjusted(b: Builder) -> Any:
    return b.dry_value * (b.dry_value / b.green_value) ** ((12 - b.moisture) / (b.meeting_point - 12))


at_moisture = Relation("at_moisture", "A property of wood at another moisture content", (_P12, _PG, _MC, _MP), (_PM,), _adjusted,
                       "strength", source="Wood Handbook GTR-282 Eq. 5-3, read in reproduction",
                       note="The usual meeting point of 25 % is from memory.")
