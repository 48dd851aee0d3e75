"""Statics of the joint: the strings' line of action, seats that push one way only, friction, and what the strings store.

The balance of forces itself is solved through the contact wrench matrix (:mod:`lutherie_geom.mechanics.statics`); what stands
here are the closed forms of its parts, and short rules that check it.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation

_FX = Quantity("force_x", "F_x", "N", "resultant of the strings along the body, body frame", 300, 1500)
_FZ = Quantity("force_z", "F_z", "N", "resultant of the strings out of the soundboard, body frame", -60, 60)
_MY = Quantity("moment_y", "M_y", "N mm", "moment of the strings about the pivot axis, positive lifts the nut", 5e3, 6e4)
_OVER = Quantity("height_over_pivot", "h_z", "mm", "height of the resultant's line over the pivot axis, at the axis", 5, 80)
_LEVER = Quantity("lever", "h", "mm", "lever arm of the resultant about the pivot axis", 5, 80)


def _line(b: Builder) -> Any:
    return b.moment_y / b.force_x, b.moment_y / b.sympy.sqrt(b.force_x**2 + b.force_z**2)


pull_line = Relation("pull_line", "Where the strings' resultant passes the pivot axis, seen from the side", (_FX, _FZ, _MY),
                     (_OVER, _LEVER), _line, "statics", source="moment of a force; derived here")

_R = Quantity("ball_radius", "R", "mm", "radius of the ball", 3, 10)
_A = Quantity("rim_radius", "a", "mm", "radius of the ring where ball and seat touch", 1.5, 2.8)
_S = Quantity("slope", r"\tan\beta", "1", "sideways force that the seat holds, for each newton along its axis", 0.2, 1.2)
_MU = Quantity("friction", r"\mu", "1", "coefficient of friction", 0.02, 0.5)
_GRIP = Quantity("gripped", r"\tan(\beta+\rho)", "1", "the same with friction at the place of touch")


def _slope(b: Builder) -> Any:
    return b.rim_radius / b.sympy.sqrt(b.ball_radius**2 - b.rim_radius**2)


seat_slope = Relation("seat_slope", "How much sideways force a ring-shaped seat holds before the ball rides up", (_R, _A), (_S,),
                      _slope, "statics", source="the ball's normals at the ring make a cone; derived here",
                      note="Loaded beyond it the ball touches on one side only and climbs, unless friction holds it.")


def _gripped(b: Builder) -> Any:
    return (b.slope + b.friction) / (1 - b.slope * b.friction)


gripped_slope = Relation("gripped_slope", "The same seat with friction", (_S, _MU), (_GRIP,), _gripped, "statics",
                         source="tangent of a sum: slant of the normal and angle of friction; derived here")

_HALF = Quantity("half_angle", r"\gamma", "rad", "half angle of the hollow cone: 45 degrees for a 90-degree cone", 0.4, 1.2)


def _ring(b: Builder) -> Any:
    return b.ball_radius * b.sympy.cos(b.half_angle)


cone_ring = Relation("cone_ring", "Radius of the ring where a ball touches a cone", (_R, _HALF), (_A,), _ring, "statics",
                     source="tangent cone of a sphere; derived here")

_N = Quantity("seat_total", "N", "N", "force on both seats together, along the body", 300, 6000)
_W = Quantity("spacing", "w", "mm", "distance between the two seats", 15, 60)
_L = Quantity("distance", "l", "mm", "from the pivot axis to where the side load acts", 100, 700)
_SIDE = Quantity("side_load", "F", "N", "side load at which the far seat has nothing left to carry")


def _lift(b: Builder) -> Any:
    return b.seat_total * b.spacing / (2 * b.distance)


lift_side_load = Relation("lift_side_load", "Side load that lifts one seat", (_N, _W, _L), (_SIDE,), _lift, "statics",
                          source="moments about the seat that stays; derived here",
                          note="Counts the force along the seats only: a ball rides up its rim a little earlier.")

_NS = Quantity("seat_force", "N", "N", "force on a seat along its axis (or on both, of one kind)", 50, 6000)
_M = Quantity("torque", "M", "N mm", "friction torque about the pivot axis")


def _ball(b: Builder) -> Any:
    sp = b.sympy
    rise = b.step("rise", sp.sqrt(b.ball_radius**2 - b.rim_radius**2), "r_x", "the ring lies so far from the ball's centre")
    normal = b.step("normal", b.seat_force * b.ball_radius / rise, r"\Sigma n", "the slanting normal forces, summed")
    return b.friction * normal * sp.sqrt(b.ball_radius**2 - b.rim_radius**2 / 2)


ball_friction = Relation("ball_friction", "Friction torque of a ball that turns in a ring-shaped seat",
                         (_NS, _MU, _R, _A), (_M,), _ball, "statics",
                         source="sum over the ring, with the root mean square distance from the axis; derived here",
                         note="About an axis square to the seat's own. The root mean square lies above the true mean, by less "
                              "than 1 % up to a 90-degree cone.")

_F = Quantity("force", "F", "N", "force in the screw", 50, 5000)
_D = Quantity("diameter", "d", "mm", "diameter of the dowel or head that turns", 4, 25)


def _dowel(b: Builder) -> Any:
    return b.friction * b.force * b.diameter / 2


dowel_friction = Relation("dowel_friction", "Friction torque of a loaded dowel that turns in its hole", (_F, _MU, _D), (_M,),
                          _dowel, "statics", source="plain bearing, loose fit; textbook form, from memory")

_RATE = Quantity("slide_rate", "s'", "mm/rad", "slide of the head on its face for each radian of tilt", 0, 60)


def _slide(b: Builder) -> Any:
    return b.friction * b.force * b.slide_rate


slide_friction = Relation("slide_friction", "Friction torque of a head that slides on its face while the neck tilts",
                          (_F, _MU, _RATE), (_M,), _slide, "statics", source="virtual work; derived here")

_ARM = Quantity("arm", "h_t", "mm", "arm of the tilt screw about the pivot axis", 20, 120)
_MF = Quantity("friction_torque", "M_f", "N mm", "all friction torques about the pivot axis together", 0, 2e4)
_BAND = Quantity("band", r"\pm\Delta F", "N", "how far the tilt screw's force may lie off, either way")


def _band(b: Builder) -> Any:
    return b.friction_torque / b.arm


dead_band = Relation("dead_band", "Band of force in which friction alone holds the neck", (_MF, _ARM), (_BAND,), _band, "statics",
                     source="moments about the pivot axis; derived here",
                     note="Friction taken at the forces without it: good to the first order.")

_FT = Quantity("screw_force", "F_t", "N", "force in the tilt screw before the load, tension positive", 0, 3000)
_REACH = Quantity("reach", "l", "mm", "lever arm of the load about the pivot axis", 50, 700)
_REV = Quantity("reversing_load", "P", "N", "load that takes the last tension out of the tilt screw")


def _reverse(b: Builder) -> Any:
    return b.screw_force * b.arm / b.reach


reversing_load = Relation("reversing_load", "Load at which the tilt screw's force reverses", (_FT, _ARM, _REACH), (_REV,),
                          _reverse, "statics", source="moments about the pivot axis; derived here", note="Friction left out.")

_T = Quantity("tension", "T", "N", "tension of the string", 20, 250)
_LEN = Quantity("length", r"\ell", "mm", "length that stretches: sounding length and what lies beyond nut and saddle", 500, 1000)
_EA = Quantity("stiffness", "EA", "N", "axial stiffness of the string's core", 1e4, 1e5)
_U = Quantity("energy", "U", "N mm", "energy stored (1 N mm is a thousandth of a joule)")
_SLACK = Quantity("slack", r"\Delta\ell", "mm", "how far its ends must come together until it is slack")


def _energy(b: Builder) -> Any:
    slack = b.step("slack", b.tension * b.length / b.stiffness, r"\Delta\ell", "Hooke")
    return b.tension * slack / 2, slack


string_energy = Relation("string_energy", "Energy that a string stores, and how far it must shorten to let go of it",
                         (_T, _LEN, _EA), (_U, _SLACK), _energy, "statics", source="Hooke's law: T^2 l / (2 EA); derived here")

_UF = Quantity("energy_full", "U_0", "N mm", "energy stored at pitch (1 N mm is a thousandth of a joule)", 10, 1000)
_SL = Quantity("slack", r"\Delta\ell", "mm", "how far the string must shorten until it is slack", 1, 6)
_CUT = Quantity("shortened", "x", "mm", "how far its ends have come together, less than until slack", 0, 1)


def _kept(b: Builder) -> Any:
    return b.energy_full * (1 - b.shortened / b.slack) ** 2


energy_kept = Relation("energy_kept", "Energy that a string still stores when its ends have come together a little",
                       (_UF, _SL, _CUT), (_U,), _kept, "statics", source="Hooke's law; derived here",
                       note="Valid up to the slack: past it nothing is stored.")

_COEFF = Quantity("wire_constant", "A", "MPa", "strength of wire 1 mm thick", 1800, 2400)
_EXP = Quantity("wire_exponent", "m", "1", "how the strength falls with thickness", 0.1, 0.2)
_DW = Quantity("wire_diameter", "d", "mm", "diameter of the wire or core", 0.2, 1.2)
_SUT = Quantity("wire_strength", r"S_\mathrm{ut}", "MPa", "least tensile strength of the wire")


def _wire(b: Builder) -> Any:
    return b.wire_constant / b.wire_diameter**b.wire_exponent


wire_strength = Relation("wire_strength", "Tensile strength of music wire by its thickness", (_COEFF, _EXP, _DW), (_SUT,), _wire,
                         "statics", source="form A / d^m; constants differ by source: see the tests",
                         note="For A in MPa and d in mm. Handbooks differ by 5 % and more at the sizes of strings.")
