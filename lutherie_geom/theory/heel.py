"""Heel: each point of its end face swings on a circle about the pivot, against the floor and inside the rim of the pocket."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.pose import TURNED, turned
from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q


def _face(b: Builder) -> Any:
    return turned(b, b.x_face, b.y_face, b.z_face)


heel_point = Relation("heel_point", "Where a point of the heel comes to lie in the body frame",
                      q(f"x_face y_face z_face {TURNED}"), q("x y z"), _face, "heel",
                      note="Floor clearance there is -x; what is left inside a pocket of depth D is D + x.")


def _face_x(b: Builder) -> Any:
    return turned(b, b.x_face, b.y_face, b.z_face)[0]


heel_x = Relation("heel_x", "Where a point of the heel comes to lie along the body: all that floor and rim ask for",
                  q(f"x_face y_face z_face {TURNED}"), q("x"), _face_x, "heel", note="The x of heel_point alone.")

_DROP = Quantity("below_pivot", "r_z", "mm", "height of the pivot above the heel's foot, z_p - z_foot", 10, 130)
_OUT = Quantity("behind_pivot", "r_x", "mm", "heel's end face from the pivot along x, nominal", -15, 15)
_ANGLE = Quantity("angle", r"\theta", "rad", "tilt, taken as positive downward or upward as said", 0, 0.15)
_NEED = Quantity("needed", "f", "mm", "room needed at the foot", 0, 20)


def _room(b: Builder) -> Any:
    """Travel of the foot along x: r_z sin + r_x (cos - 1) in the form without cancellation."""
    sp = b.sympy
    half = b.angle / 2
    return b.below_pivot * sp.sin(b.angle) - 2 * b.behind_pivot * sp.sin(half) ** 2


def _deep(b: Builder) -> Any:
    sp = b.sympy
    half = b.angle / 2
    return b.below_pivot * sp.sin(b.angle) + 2 * b.behind_pivot * sp.sin(half) ** 2


foot_in = Relation("foot_in", "Floor clearance that the foot needs while the neck is lowered by an angle, exact",
                   (_DROP, _OUT, _ANGLE), (_NEED,), _room, "heel")
foot_out = Relation("foot_out", "How far the foot comes out of the pocket while the neck is raised by an angle, exact",
                    (_DROP, _OUT, _ANGLE), (_NEED,), _deep, "heel")


def _rule(b: Builder) -> Any:
    return b.below_pivot * b.angle


foot_rule = Relation("foot_rule", "Small-angle rule for the travel of the heel's foot", (_DROP, _ANGLE), (_NEED,), _rule, "heel")
