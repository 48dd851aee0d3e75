"""Stiffness of what holds the neck: springs in a row, the ball in its seat, screws and dowels in wood.

Wood under a screw is the soft part, and the least certain: of the two forms here, one takes it as elastic and bonded (too
stiff), the other is a code's rule for fastenings with a working fit (soft). The truth lies between; both are shown.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.strength import contact_modulus

_K1 = Quantity("stiffness_1", "k_1", "N/mm", "stiffness of the first spring", 500, 1e5)
_K2 = Quantity("stiffness_2", "k_2", "N/mm", "stiffness of the second spring", 500, 1e5)
_K = Quantity("stiffness", "k", "N/mm", "stiffness of both together")


def _series(b: Builder) -> Any:
    return b.stiffness_1 * b.stiffness_2 / (b.stiffness_1 + b.stiffness_2)


in_series = Relation("in_series", "Two springs one behind the other", (_K1, _K2), (_K,), _series, "stiffness",
                     source="the same force in both, their gives added; derived here")

_F = Quantity("force", "F", "N", "force along the seat's axis", 100, 4000)
_R = Quantity("ball_radius", "R", "mm", "radius of the ball", 3, 10)
_A = Quantity("rim_radius", "a", "mm", "radius of the ring where ball and seat touch", 1.5, 2.8)
_ES = next(q for q in contact_modulus.outputs)
_GIVE = Quantity("approach", r"\delta_x", "mm", "how far the ball comes into the seat, along its axis")


def _ring(b: Builder) -> Any:
    sp = b.sympy
    rise = b.step("rise", sp.sqrt(1 - (b.rim_radius / b.ball_radius) ** 2), r"\cos\beta", "slant of the normals at the ring")
    line = b.step("line", b.force / (2 * sp.pi * b.rim_radius * rise), "F'", "normal force on each mm of the ring")
    half = b.step("half", 2 * sp.sqrt(line * b.ball_radius / (sp.pi * b.contact_modulus)), "b", "half width of the touch, Hertz")
    near = b.step("near", line / (sp.pi * b.contact_modulus) * (2 * sp.log(4 * b.ball_radius / half) - 1), r"\delta_n",
                  "approach square to the surfaces")
    return near / rise


ring_approach = Relation("ring_approach", "How far a ball sinks elastically into a ring-shaped seat", (_F, _R, _A, _ES), (_GIVE,),
                         _ring, "stiffness", source="Hertz line contact with its logarithm (textbook form, from memory)",
                         note="The ring taken as a straight line of touch, as deep as the ball's radius: a guide to the size. "
                              "Its slope by the force is the give; one-point contact (hertz_point) gives several times more.")

_E = Quantity("modulus", "E", "MPa", "Young's modulus of the wood in the direction of the load", 200, 15000)
_T = Quantity("bearing_length", "t", "mm", "length of the dowel that bears", 4, 80)
_D = Quantity("diameter", "d", "mm", "diameter of dowel, screw or face", 3, 25)
_H = Quantity("depth", "h", "mm", "wood in front of it, in the direction of the load", 20, 100)


def _strip(b: Builder) -> Any:
    sp = b.sympy
    return sp.pi * b.modulus * b.bearing_length / (2 * sp.log(4 * b.depth / b.diameter))


dowel_in_wood = Relation("dowel_in_wood", "Stiffness of a dowel that presses into wood of some depth, elastic, close fit",
                         (_E, _T, _D, _H), (_K,), _strip, "stiffness", source="strip on a half plane (Flamant), from memory",
                         note="Wood taken as the same in all directions with the modulus along the load: an upper bound.")

_G = Quantity("rigidity", "G", "MPa", "shear modulus of the wood round the insert", 100, 2000)
_REACH = Quantity("reach", "r_m", "mm", "distance at which the wood no longer moves", 20, 60)


def _sleeve(b: Builder) -> Any:
    sp = b.sympy
    return 2 * sp.pi * b.rigidity * b.bearing_length / sp.log(2 * b.reach / b.diameter)


insert_in_wood = Relation("insert_in_wood", "Stiffness of a threaded insert or screw along its axis, held by the wood round it",
                          (_G, _T, _D, _REACH), (_K,), _sleeve, "stiffness",
                          source="shear in rings round a shaft, textbook form of piles, from memory",
                          note="Bonded all round, wood taken as the same in all directions: an upper bound.")


def _face(b: Builder) -> Any:
    return b.modulus * b.diameter


face_on_wood = Relation("face_on_wood", "Stiffness of a round rigid face on deep wood", (_E, _D), (_K,), _face, "stiffness",
                        source="rigid stamp on a half space, Poisson's ratio left out; textbook form, from memory")

_RHO = Quantity("density", r"\rho", "kg/m^3", "density of the wood", 250, 1000)


def _slip(b: Builder) -> Any:
    return b.density ** b.sympy.Rational(3, 2) * b.diameter / 23


slip_modulus = Relation("slip_modulus", "Stiffness of a bolt or dowel in wood in use, by the rule of a code", (_RHO, _D), (_K,),
                        _slip, "stiffness", source="EN 1995-1-1 Table 7.1, rho^1.5 d / 23, from memory",
                        note="For each joint face of a long dowel; holes with a working fit: it stands for the soft side.")

_ZN = Quantity("rise_nut", r"\Delta z_0", "mm", "rise of the nut, square to the board", -2, 2)
_ZF = Quantity("rise_fret", r"\Delta z_n", "mm", "rise of the fret, square to the board", -2, 2)
_XF = Quantity("to_fret", "x_f", "mm", "from nut to fret", 100, 500)
_XS = Quantity("to_saddle", "x_s", "mm", "from nut to saddle", 550, 700)
_DA = Quantity("more_action", r"\Delta a", "mm", "change of the action at the fret")


def _action(b: Builder) -> Any:
    return b.rise_nut * (1 - b.to_fret / b.to_saddle) - b.rise_fret


action_give = Relation("action_give", "Change of action when nut and fret move and the saddle stays", (_ZN, _ZF, _XF, _XS),
                       (_DA,), _action, "stiffness", source="the string is a straight line; derived here",
                       note="First order: moves small against the string's length.")
