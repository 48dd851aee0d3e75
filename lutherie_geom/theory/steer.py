"""Steer: what the two pivot screws do to the neck as seen from above."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q


def _steer(b: Builder) -> Any:
    psi = b.step("psi", b.sympy.atan2(b.pitch_pivot * (b.treble - b.bass), b.spacing), r"\psi",
                 "the line of the ball centres turns as one seat goes further out than the other")
    advance = b.step("advance", b.pitch_pivot * (b.bass + b.treble) / 2, "m", "its middle moves by the mean")
    return psi, advance


steer = Relation(
    "steer", "Yaw and advance from the turns of the two pivot screws",
    q("bass treble pitch_pivot spacing"), q("psi advance"), _steer, "steer",
)

_GROWTH = Quantity("growth", "e", "mm", "growth of the distance between the two seats", 0, 1)


def _growth(b: Builder) -> Any:
    d = b.step("difference", b.pitch_pivot * (b.treble - b.bass), "D", "how much further out one seat stands")
    return d**2 / (b.sympy.sqrt(b.spacing**2 + d**2) + b.spacing)


seat_growth = Relation(
    "seat_growth", "How much further apart the seats come when they are steered",
    q("bass treble pitch_pivot spacing"), (_GROWTH,), _growth, "steer",
    note="The balls keep their distance in the heel, so they ride up their rims: see ball_rise.",
)

_R = Quantity("ball_radius", "R_b", "mm", "radius of the ball, or of a button head's cap", 2, 12)
_A = Quantity("rim_radius", "a", "mm", "radius of the seat's rim", 0.5, 10)
_E = Quantity("offset", "e", "mm", "sideways offset of the ball from its seat", -1, 1)
_RISE = Quantity("rise", r"\rho", "mm", "how far the ball rides up its rim", 0, 2)


def _rise(b: Builder) -> Any:
    sp = b.sympy
    near, far = sp.sqrt(b.ball_radius**2 - (b.rim_radius - b.offset) ** 2), sp.sqrt(b.ball_radius**2 - b.rim_radius**2)
    return near - far


ball_rise = Relation(
    "ball_rise", "Rise of a ball that is pushed sideways against the rim of its seat",
    (_R, _A, _E), (_RISE,), _rise, "steer",
    note="A ball that touches the rim on one side only, moved sideways by the offset.",
)

_DK = Quantity("head_diameter", "d_k", "mm", "diameter of the button head", 3, 20)
_K = Quantity("head_height", "k", "mm", "height of the button head", 1, 10)


def _cap(b: Builder) -> Any:
    return (b.head_diameter**2 / 4 + b.head_height**2) / (2 * b.head_height)


cap_radius = Relation("cap_radius", "Radius of the spherical cap that is a button head", (_DK, _K), (_R,), _cap, "steer",
                      source="sagitta of the cap, solved for its radius")

_XR = Quantity("x_rim", "x_r", "mm", "rim of the seat along the body", -15, 20)


def _centre(b: Builder) -> Any:
    return b.x_rim - b.sympy.sqrt(b.ball_radius**2 - b.rim_radius**2)


pivot_from_rim = Relation("pivot_from_rim", "Where the pivot axis lies behind the rims of the seats",
                          (_XR, _R, _A), q("x_p"), _centre, "steer",
                          note="The centre of a ball stands off the plane of the rim that it rests on.")
