"""Pose: where the neck stands after any turns of the three screws, and how points pass between the two frames."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Relation
from lutherie_geom.theory.steer import steer
from lutherie_geom.theory.tilt import TILT
from lutherie_geom.theory.words import q

TURN_INPUTS = "tilt bass treble pitch_tilt pitch_pivot spacing x_p z_p x_head z_head x_receiver z_receiver"
_POSE = "psi theta advance cos_psi sin_psi cos_theta sin_theta"
TURNED = "cos_psi sin_psi cos_theta sin_theta advance x_p z_p"
SET = "cos_alpha sin_alpha z_joint"


def _pose(receiver: str) -> Any:
    def derive(b: Builder) -> Any:
        sp = b.sympy
        psi, advance = b.use(steer)
        # Sines and cosines of arctangents are written out in the tangents, which is exact and quicker; the spacing is positive.
        yaw = next(s.expression for s in b.steps if s.symbol == psi)
        yaw = sp.atan(b.step("tan_psi", sp.tan(yaw), r"\tan\psi"))
        tilt = b.use(TILT[receiver], psi=yaw, advance=advance)
        theta = b.step("theta", tilt, r"\theta")
        return (psi, theta, advance,
                b.step("cos_psi", sp.cos(yaw), r"\cos\psi"), b.step("sin_psi", sp.sin(yaw), r"\sin\psi"),
                b.step("cos_theta", sp.expand_trig(sp.cos(tilt)), r"\cos\theta"),
                b.step("sin_theta", sp.expand_trig(sp.sin(tilt)), r"\sin\theta"))

    return derive


pose_dowel = Relation("pose_dowel", "Pose of the neck from the turns of all three screws, receiver a cross dowel",
                      q(TURN_INPUTS), q(_POSE), _pose("dowel across"), "pose")
pose_rod = Relation("pose_rod", "Pose of the neck from the turns of all three screws, receiver a rod along the heel",
                    q(TURN_INPUTS), q(_POSE), _pose("rod along"), "pose")
POSE = {"dowel across": pose_dowel, "rod along": pose_rod}


def turned(b: Builder, x: Any, y: Any, z: Any) -> tuple[Any, Any, Any]:
    """Steps for a point of the neck, nominal body coordinates in, posed body coordinates out."""
    cp, sp_, ct, st = b.cos_psi, b.sin_psi, b.cos_theta, b.sin_theta
    u = b.step("along_neck", (x - b.x_p) * ct + (z - b.z_p) * st, "u", "tilt about the pivot axis")
    return (b.step("x_turned", b.x_p - b.advance + u * cp - y * sp_, "x", "then yaw, then advance"),
            b.step("y_turned", u * sp_ + y * cp, "y"),
            b.step("z_turned", b.z_p + (z - b.z_p) * ct - (x - b.x_p) * st, "z"))


def _to_body(b: Builder) -> Any:
    x0 = b.step("x_0", b.xn * b.cos_alpha - b.zn * b.sin_alpha, "x_0", "neck angle at the nominal pose")
    z0 = b.step("z_0", b.z_joint + b.xn * b.sin_alpha + b.zn * b.cos_alpha, "z_0")
    return turned(b, x0, b.yn, z0)


to_body = Relation("to_body", "A point of the neck in the body frame", q(f"xn yn zn {SET} {TURNED}"), q("x y z"),
                   _to_body, "pose")


def _to_neck(b: Builder) -> Any:
    dx = b.step("d_x", b.x - b.x_p + b.advance, "d_x", "seen from the moved pivot")
    dz = b.step("d_z", b.z - b.z_p, "d_z")
    u = b.step("u", dx * b.cos_psi + b.y * b.sin_psi, "u", "yaw undone")
    x0 = b.step("x_0", b.x_p + u * b.cos_theta - dz * b.sin_theta, "x_0", "tilt undone")
    z0 = b.step("z_0", b.z_p - b.z_joint + dz * b.cos_theta + u * b.sin_theta, "z_0 - z_j")
    return (b.step("x_neck", x0 * b.cos_alpha + z0 * b.sin_alpha, "x'", "neck angle undone"),
            b.step("y_neck", b.y * b.cos_psi - dx * b.sin_psi, "y'"),
            b.step("z_neck", z0 * b.cos_alpha - x0 * b.sin_alpha, "z'"))


to_neck = Relation("to_neck", "A point of the body in the neck frame", q(f"x y z {SET} {TURNED}"), q("xn yn zn"),
                   _to_neck, "pose", note="The exact inverse of to_body.")


def _nut_end(receiver: str) -> Any:
    def derive(b: Builder) -> Any:
        sp = b.sympy
        _, _, advance, cp, sn, ct, st = b.use(POSE[receiver])
        ca, sa = b.step("cos_alpha", sp.cos(b.alpha), r"\cos\alpha"), b.step("sin_alpha", sp.sin(b.alpha), r"\sin\alpha")
        return b.use(to_body, "nut_", yn=sp.Integer(0), zn=sp.Integer(0), cos_alpha=ca, sin_alpha=sa, cos_psi=cp, sin_psi=sn,
                     cos_theta=ct, sin_theta=st, advance=advance)

    return derive


nut_end_dowel = Relation("nut_end_dowel", "Where the neck's centreline at a place along the board comes to lie, cross dowel",
                         q(f"xn alpha z_joint {TURN_INPUTS}"), q("x y z"), _nut_end("dowel across"), "pose")
nut_end_rod = Relation("nut_end_rod", "Where the neck's centreline at a place along the board comes to lie, rod along the heel",
                       q(f"xn alpha z_joint {TURN_INPUTS}"), q("x y z"), _nut_end("rod along"), "pose")
NUT_END = {"dowel across": nut_end_dowel, "rod along": nut_end_rod}
