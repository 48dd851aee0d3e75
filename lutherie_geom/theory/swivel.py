"""Swivel: how far each end of the tilt screw swings, what slides, and what a flat head does when it rocks."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.steer import steer
from lutherie_geom.theory.words import q

_PLACES = "x_p z_p x_head z_head x_receiver z_receiver"
_SWING = Quantity("swing_head", r"\varphi_A", "rad", "swing of the screw at the captive head, in the plane of symmetry",
                  -0.2, 0.2)
_SIDE = Quantity("swing_side", r"\varphi_y", "rad", "sideways swing of the screw at the captive head", -0.2, 0.2)
_RECV = Quantity("swing_receiver", r"\varphi_B", "rad", "turn of the receiver in the heel, about its own axis", -0.2, 0.2)
_SLIDE = Quantity("slide", r"\Delta z_A", "mm", "slide of the captive head along its bearing face", -5, 5)


def _receiver(b: Builder) -> tuple[Any, Any, Any, Any]:
    """The receiver's centre in the body frame, and its place along the steered neck."""
    sp = b.sympy
    vx, vz = b.x_receiver - b.x_p, b.z_receiver - b.z_p
    along = b.step("along", vx * sp.cos(b.theta) + vz * sp.sin(b.theta), "u", "receiver from the pivot, tilted")
    return (b.step("B_x", b.x_p - b.advance + along * sp.cos(b.psi), "B_x"), b.step("B_y", along * sp.sin(b.psi), "B_y"),
            b.step("B_z", b.z_p + vz * sp.cos(b.theta) - vx * sp.sin(b.theta), "B_z"), along)


def _dowel(b: Builder) -> Any:
    sp = b.sympy
    bx, by, bz, along = _receiver(b)
    nominal = b.step("phi_0", sp.atan2(b.z_head - b.z_receiver, b.x_head - b.x_receiver), r"\varphi_0",
                     "slope of the screw at the nominal pose")
    now = b.step("phi_1", sp.atan2(b.z_head - bz, b.x_head - bx), r"\varphi_1", "slope of the screw at the pose")
    side = b.step("phi_y", sp.atan2(-by, sp.sqrt((b.x_head - bx) ** 2 + (b.z_head - bz) ** 2)), r"\varphi_y")
    reach = b.step("reach", (b.x_head - b.x_p + b.advance) * sp.cos(b.psi) - along, "d_u", "the screw along the steered heel")
    seen = b.step("phi_2", sp.atan2(b.z_head - bz, reach), r"\varphi_2", "slope of the screw seen along the dowel's own axis")
    # A rotation by theta about +y lowers the slope of a line that is fixed in the heel by theta.
    return now - nominal, side, seen - nominal + b.theta


swivel_dowel = Relation(
    "swivel_dowel", "Swing at both ends of the tilt screw, receiver a cross dowel",
    q(f"psi theta advance {_PLACES}"), (_SWING, _SIDE, _RECV), _dowel, "swivel",
    note="The dowel turns about its own axis by swing_receiver; the head swings on its seat by swing_head and swing_side.",
)


def _rod(b: Builder) -> Any:
    sp = b.sympy
    bx, by, bz, _ = _receiver(b)
    s0 = b.step("s_0", sp.sqrt((b.x_head - b.x_receiver) ** 2 + (b.z_head - b.z_receiver) ** 2), "s_0")
    ux, uz = (b.x_head - b.x_receiver) / s0, (b.z_head - b.z_receiver) / s0
    flat = b.step("U", ux * sp.cos(b.theta) + uz * sp.sin(b.theta), "U", "thread's direction, turned with the heel")
    up = b.step("U_z", uz * sp.cos(b.theta) - ux * sp.sin(b.theta), "U_z")
    length = b.step("s", (b.x_head - bx) / (flat * sp.cos(b.psi)), "s", "length to the bearing face")
    swing = b.step("swing", sp.atan2(up, flat * sp.cos(b.psi)) - sp.atan2(uz, ux), r"\varphi",
                   "slope of the screw at the pose, less its nominal slope")
    side = b.step("side", sp.asin(flat * sp.sin(b.psi)), r"\varphi_y", "out of the plane of symmetry")
    return swing, side, bz + length * up - b.z_head, by + length * flat * sp.sin(b.psi)


_SLIDEY = Quantity("slide_side", r"\Delta y_A", "mm", "sideways slide of the captive head along its bearing face", -5, 5)
swivel_rod = Relation(
    "swivel_rod", "Swing and slide of the captive head, receiver a rod along the heel",
    q(f"psi theta advance {_PLACES}"), (_SWING, _SIDE, _SLIDE, _SLIDEY), _rod, "swivel",
    note="The thread is fixed in the heel: with no steering the screw swings by minus the tilt. The whole angle that the head "
         "has swung has the cosine cos(swing_head) cos(swing_side), as for the other receiver.",
)

_D = Quantity("head_diameter", "D", "mm", "diameter of the flat head", 4, 25)
_PHI = Quantity("swing", r"\varphi", "rad", "swing of the screw", 0, 0.2)
_SHIFT = Quantity("shift", r"\Delta", "mm", "shift of the bearing point", 0, 3)


def _rock(b: Builder) -> Any:
    return b.head_diameter / 2 * b.sympy.tan(b.swing)


head_rock = Relation("head_rock", "A flat head rocks on its rim: how far the bearing point moves along the screw",
                     (_D, _PHI), (_SHIFT,), _rock, "swivel",
                     note="It also bends the screw; a domed head or a spherical washer pair does neither.")

_ECC = Quantity("eccentricity", "e", "mm", "clamp screw off the pivot axis", -10, 10)
_STRETCH = Quantity("stretch", r"\Delta \ell_c", "mm", "stretch that the clamp screw would suffer", -1, 1)


def _stretch(b: Builder) -> Any:
    return b.eccentricity * b.theta


clamp_stretch = Relation("clamp_stretch", "Stretch of the clamp screw while the neck tilts, when it lies off the pivot axis",
                         (_ECC, *q("theta")), (_STRETCH,), _stretch, "swivel",
                         note="First order in the tilt; zero when the clamp screw is level with the axis.")

_SHANK = Quantity("shank", "d", "mm", "diameter of the screw's shank", 2, 12)
_THICK = Quantity("depth", "l_h", "mm", "length of the hole that the shank passes", 0, 60)
_OFF = Quantity("side_shift", "y_h", "mm", "sideways shift of the screw at the pivot of its swing", -3, 3)
_HOLE = Quantity("hole", "d_h", "mm", "smallest diameter of the hole that lets the shank swing", 2, 25)


def _hole(b: Builder) -> Any:
    sp = b.sympy
    return b.shank / sp.cos(b.swing) + 2 * (b.depth * sp.tan(b.swing) + sp.Abs(b.side_shift))


clearance_hole = Relation("clearance_hole", "Clearance hole for a shank that swings about one end of the hole and shifts",
                          (_SHANK, _THICK, _PHI, _OFF), (_HOLE,), _hole, "swivel")

_CP = Quantity("clamp_offset", "y_c", "mm", "sideways move of the clamp screw's heel end", -5, 5)
_REACH = Quantity("reach", "l_r", "mm", "from the pivot axis forward into the heel", 0, 60)


def _clamp(b: Builder) -> Any:
    psi, _ = b.use(steer)
    return -b.reach * b.sympy.sin(psi)


clamp_offset = Relation("clamp_offset", "How far steering moves a point of the heel on the clamp screw's line sideways",
                        (_REACH, *q("bass treble pitch_pivot spacing")), (_CP,), _clamp, "swivel")
