"""Neck set: the straightedge on the frets at the bridge, and the closed forms for one string on a flat board."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q

_DOME = "curvature x_apex along across"
_EDGE = Quantity("straightedge", "h_b", "mm", "straightedge on the frets above the soundboard at the bridge", -5, 30)
_XB = Quantity("x_bridge", "x_b", "mm", "where the straightedge is read, along the body", 100, 500)
_H = Quantity("line_height", r"h_\ell", "mm", "height above the soundboard of the line that gives the target action", 0, 30)


def _edge(b: Builder) -> Any:
    zero = b.sympy.Integer(0)
    return b.z_joint + b.x_bridge * b.sympy.tan(b.alpha) - b.use(dome_height, x=b.x_bridge, y=zero)


straightedge = Relation(
    "straightedge", "Where a straightedge on the frets meets the bridge, above the soundboard",
    (_XB, *q(f"alpha z_joint {_DOME}")), (_EDGE,), _edge, "neck_set",
)


def _line(b: Builder) -> Any:
    """String through the nut and the wanted point over the fret, carried on to the saddle (flat board, side view)."""
    sp = b.sympy
    slope = b.step("slope", (b.action - b.dip - b.z_nut) / (b.x_fret - b.x_nut), r"\sigma",
                   "slope of the wanted string against the fret plane")
    tan = b.step("tan_total", sp.tan(b.alpha + sp.atan(slope)), r"\tan(\alpha + \arctan\sigma)")
    xn = b.step("x_nut_b", b.x_nut * sp.cos(b.alpha) - b.z_nut * sp.sin(b.alpha), "x_0", "nut in the body frame")
    zn = b.step("z_nut_b", b.z_joint + b.x_nut * sp.sin(b.alpha) + b.z_nut * sp.cos(b.alpha), "z_0")
    return zn + tan * (b.x_saddle - xn) - b.use(dome_height, x=b.x_saddle, y=b.y_saddle)


saddle_for_action = Relation(
    "saddle_for_action", "Saddle height that gives a target action, neck angle given; one string seen from the side",
    q(f"action x_fret x_nut z_nut dip alpha z_joint x_saddle y_saddle {_DOME}"), (_H,), _line, "neck_set",
    note="`dip` takes in the crowning under the string. The neck angle that does the same is its inverse.",
)


def _angle(b: Builder) -> Any:
    """Angle of the line nut-saddle against the fret plane, from two circles: no iteration is needed."""
    sp = b.sympy
    slope = b.step("slope", (b.action - b.dip - b.z_nut) / (b.x_fret - b.x_nut), r"\sigma",
                   "slope of the wanted string against the fret plane")
    height = b.step("height", b.h_saddle + b.use(dome_height, x=b.x_saddle, y=b.y_saddle) - b.z_joint, "H",
                    "saddle above the fret plane's point at the joint, body frame")
    # In the neck frame the wanted line is z' = z0 + slope (x' - x0); its distance from the origin does not depend on alpha.
    far = b.step("far", sp.sqrt(height**2 + b.x_saddle**2), "D", "saddle from the origin of the neck frame")
    off = b.step("off", (b.z_nut - slope * b.x_nut) / sp.sqrt(1 + slope**2), "o", "the line's distance from that origin")
    return sp.atan2(height, b.x_saddle) - sp.asin(off / far) - sp.atan(slope)


angle_for_action = Relation(
    "angle_for_action", "Neck angle that gives a target action, saddle height given; one string seen from the side",
    q(f"action x_fret x_nut z_nut dip z_joint x_saddle y_saddle h_saddle {_DOME}"), q("alpha"), _angle, "neck_set",
)

_XN = Quantity("x_nut_body", "x_0", "mm", "string at the nut along the body, body frame", -700, -100)
_ZN = Quantity("z_nut_body", "z_0", "mm", "string at the nut, height, body frame", -20, 60)
_XPIN = Quantity("pin_distance", "x_b", "mm", "pin hole behind the saddle", 2, 40)
_ZPIN = Quantity("z_pin", "z_b", "mm", "where the string goes down, height, body frame", -5, 25)
_BREAK = Quantity("break_angle", r"\beta", "rad", "angle by which the string bends over the saddle", 0, 1.5)


def _break(b: Builder) -> Any:
    sp = b.sympy
    before = b.step("before", sp.atan2(b.z_saddle - b.z_nut_body, b.x_saddle - b.x_nut_body), r"\beta_1", "rise to the saddle")
    behind = b.step("behind_saddle", sp.atan2(b.z_saddle - b.z_pin, b.pin_distance), r"\beta_2", "fall behind it")
    return before + behind


break_angle = Relation("break_angle", "Break angle of a string over the saddle, seen from the side",
                       (_XN, _ZN, *q("x_saddle z_saddle"), _XPIN, _ZPIN), (_BREAK,), _break, "neck_set")
