"""Tilt: what the tilt screw does, exactly, with steering included; its inverse; the small-angle rule.

The receiver turns with the neck about the pivot; the captive head stays in the block. The screw sets the distance
between them. Both receivers lead to ``a cos(theta) + b sin(theta) = e``; with t = tan(theta/2) the root nearest zero is

    t = (e - a) / (b + sign(b) sqrt(a^2 + b^2 - e^2)),

in which ``e - a`` is written as a product that vanishes exactly at no turn.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q

_PLACES = "x_p z_p x_head z_head x_receiver z_receiver"
_INPUTS = q(f"tilt psi advance pitch_tilt {_PLACES}")
_BACK = q(f"theta psi advance pitch_tilt {_PLACES}")


def _places(b: Builder) -> tuple[Any, ...]:
    """v: receiver from pivot (nominal); q: captive head from the moved pivot, in the axes of the steered neck."""
    sp = b.sympy
    vx = b.step("v_x", b.x_receiver - b.x_p, "v_x", "receiver, seen from the pivot")
    vz = b.step("v_z", b.z_receiver - b.z_p, "v_z")
    qx = b.step("q_x", sp.cos(b.psi) * (b.x_head - b.x_p + b.advance), "q_x",
                "captive head, seen from the moved pivot in the steered neck's axes")
    qy = b.step("q_y", -sp.sin(b.psi) * (b.x_head - b.x_p + b.advance), "q_y")
    qz = b.step("q_z", b.z_head - b.z_p, "q_z")
    return vx, vz, qx, qy, qz


def _nominal_length(b: Builder) -> Any:
    return b.step("s_0", b.sympy.sqrt((b.x_head - b.x_receiver) ** 2 + (b.z_head - b.z_receiver) ** 2), "s_0",
                  "distance from captive head to receiver at the nominal pose")


def _length(b: Builder) -> Any:
    return _nominal_length(b) + b.pitch_tilt * b.tilt


_S = Quantity("screw_length", "s", "mm", "distance from captive head to receiver along the screw", 5, 120)
screw_length = Relation("screw_length", "Length of the tilt screw between captive head and receiver",
                        q("tilt pitch_tilt x_head z_head x_receiver z_receiver"), (_S,), _length, "tilt")


def _fall_short(b: Builder) -> Any:
    """1 - cos psi in the form without cancellation."""
    return b.sympy.sin(b.psi) ** 2 / (1 + b.sympy.cos(b.psi))


def _root(b: Builder, a: Any, beta: Any, e: Any, e_minus_a: Any, at_rest: Any) -> Any:
    """``at_rest``: b at the nominal pose; its sign says which of the two roots the neck starts from."""
    sp = b.sympy
    sigma = b.step("sigma", sp.sign(at_rest), r"\sigma", "the branch that holds the nominal pose", frozen=True)
    half = b.step("half", e_minus_a / (beta + sigma * sp.sqrt(a**2 + beta**2 - e**2)), r"\tan\frac{\theta}{2}")
    return 2 * sp.atan(half)


def _dowel(b: Builder) -> Any:
    vx, vz, qx, qy, qz = _places(b)
    s0 = _nominal_length(b)
    s = b.step("s", s0 + b.pitch_tilt * b.tilt, "s", "positive turns lengthen it")
    a = b.step("a", qx * vx + qz * vz, "a")
    beta = b.step("b_", qx * vz - qz * vx, "b", "a cos + b sin = e is the fixed distance, multiplied out")
    # q - v, written so that it is exactly head minus receiver when nothing is steered: no turn then is no tilt at all.
    sp = b.sympy
    moved = b.step("moved", b.advance * sp.cos(b.psi) - _fall_short(b) * (b.x_head - b.x_p), r"\mu",
                   "what steering adds to it along x")
    d0 = b.step("d_0", sp.sqrt((b.x_head - b.x_receiver + moved) ** 2 + qy**2 + (b.z_head - b.z_receiver) ** 2), "d_0",
                "the distance at no tilt")
    e_minus_a = b.step("ea", (d0 - s) * (d0 + s) / 2, "e - a")
    return _root(b, a, beta, b.step("e", a + e_minus_a, "e"), e_minus_a, (b.x_head - b.x_p) * vz - qz * vx)


tilt_dowel = Relation(
    "tilt_dowel", "Tilt from the turns of the tilt screw, receiver a cross dowel that is free to turn",
    _INPUTS, q("theta"), _dowel, "tilt",
)


def _direction(b: Builder) -> tuple[Any, Any, Any]:
    s0 = _nominal_length(b)
    ux = b.step("u_x", (b.x_head - b.x_receiver) / s0, "u_x", "direction of the thread, fixed in the heel")
    uz = b.step("u_z", (b.z_head - b.z_receiver) / s0, "u_z")
    return s0, ux, uz


def _rod(b: Builder) -> Any:
    vx, vz, qx, _, qz = _places(b)
    s0, ux, uz = _direction(b)
    s = b.step("s", s0 + b.pitch_tilt * b.tilt, "s", "positive turns lengthen it")
    a = b.step("a", vx + s * ux, "a", "end of the screw, seen from the pivot")
    beta = b.step("b_", vz + s * uz, "b")
    e = b.step("e", qx / b.sympy.cos(b.psi) ** 2, "e", "it must lie in the plane of the bearing face")
    # At no steering e - a is minus pitch * turns * u_x exactly; steering adds what the plane moves.
    moved = b.advance + (b.x_head - b.x_p + b.advance) * _fall_short(b) / b.sympy.cos(b.psi)
    e_minus_a = b.step("ea", moved - b.pitch_tilt * b.tilt * ux, "e - a")
    return _root(b, a, beta, e, e_minus_a, qz)


tilt_rod = Relation(
    "tilt_rod", "Tilt from the turns of the tilt screw, receiver a rod along the heel (thread fixed in the heel)",
    _INPUTS, q("theta"), _rod, "tilt",
    note="The captive head slides and swings on its bearing face, the plane x = x_A.",
)


def _turns_dowel(b: Builder) -> Any:
    sp = b.sympy
    vx, vz, qx, qy, qz = _places(b)
    s0 = _nominal_length(b)
    bx = b.step("B_x", vx * sp.cos(b.theta) + vz * sp.sin(b.theta), "B_x", "receiver, turned by the tilt")
    bz = b.step("B_z", vz * sp.cos(b.theta) - vx * sp.sin(b.theta), "B_z")
    s = b.step("s", sp.sqrt((qx - bx) ** 2 + qy**2 + (qz - bz) ** 2), "s", "the distance that the screw must set")
    return (s - s0) / b.pitch_tilt


turns_dowel = Relation("turns_dowel", "Turns of the tilt screw that give a tilt, receiver a cross dowel",
                       _BACK, q("tilt"), _turns_dowel, "tilt", note="The exact inverse of tilt_dowel.")


def _turns_rod(b: Builder) -> Any:
    sp = b.sympy
    vx, vz, qx, _, _ = _places(b)
    s0, ux, uz = _direction(b)
    bx = b.step("B_x", vx * sp.cos(b.theta) + vz * sp.sin(b.theta), "B_x", "receiver, turned by the tilt")
    u = b.step("U_x", ux * sp.cos(b.theta) + uz * sp.sin(b.theta), "U_x", "thread's direction, turned by the tilt")
    s = b.step("s", (qx / sp.cos(b.psi) ** 2 - bx) / u, "s", "length from receiver to the bearing face")
    return (s - s0) / b.pitch_tilt


turns_rod = Relation("turns_rod", "Turns of the tilt screw that give a tilt, receiver a rod along the heel",
                     _BACK, q("tilt"), _turns_rod, "tilt", note="The exact inverse of tilt_rod.")


def _arm(b: Builder) -> Any:
    dx, dz = b.x_head - b.x_receiver, b.z_head - b.z_receiver
    return b.sympy.Abs((b.x_receiver - b.x_p) * dz - (b.z_receiver - b.z_p) * dx) / b.sympy.sqrt(dx**2 + dz**2)


tilt_arm = Relation("tilt_arm", "Arm of the tilt screw: distance of its line from the pivot axis",
                    q(_PLACES), q("arm"), _arm, "tilt")


def _arm_rod(b: Builder) -> Any:
    _, ux, _ = _direction(b)
    return b.sympy.Abs(b.z_p - b.z_head) / b.sympy.Abs(ux)


tilt_arm_rod = Relation("tilt_arm_rod", "Arm of the tilt screw when its thread is fixed in the heel and its head slides",
                        q("z_p x_head z_head x_receiver z_receiver"), q("arm"), _arm_rod, "tilt",
                        note="The bearing face pushes along x at the head's height; equal to tilt_arm when the screw lies level.")


def _rule(b: Builder) -> Any:
    return b.pitch_tilt * b.tilt / b.arm


tilt_rule = Relation("tilt_rule", "Small-angle rule: tilt is pitch times turns over the arm",
                     q("tilt pitch_tilt arm"), q("theta"), _rule, "tilt",
                     note="A rule of thumb for the bench; its error against the exact tilt is shown beside it.")

TILT = {"dowel across": tilt_dowel, "rod along": tilt_rod}
TURNS = {"dowel across": turns_dowel, "rod along": turns_rod}
RECEIVERS = tuple(TILT)
