"""Lever arm: one number, the string line's distance from the pivot, gives pitch drift and tilt-screw force alike."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q

_XN = Quantity("x_nut_body", "x_0", "mm", "string at the nut along the body, body frame", -700, 0)
_ZN = Quantity("z_nut_body", "z_0", "mm", "string at the nut, height, body frame", -20, 60)
_H = Quantity("string_lever", "h", "mm", "lever arm of the string line about the pivot axis", 5, 80)
_T = Quantity("pull", "T", "N", "pull of the string or strings", 0, 2000)
_F = Quantity("screw_force", "F_t", "N", "force in the tilt screw, tension positive, friction left out", 0, 5000)


def _lever(b: Builder) -> Any:
    sp = b.sympy
    dx, dz = b.x_saddle - b.x_nut_body, b.z_saddle - b.z_nut_body
    length = b.step("l", sp.sqrt(dx**2 + dz**2), r"\ell", "the string, seen from the side")
    return ((b.z_nut_body - b.z_p) * dx - (b.x_nut_body - b.x_p) * dz) / length


string_lever = Relation(
    "string_lever", "Lever arm of the string line about the pivot axis, seen from the side",
    (_XN, _ZN, *q("x_saddle z_saddle x_p z_p")), (_H,), _lever, "lever",
    note="The sounding length changes by -h per radian of tilt. A test holds this to the exact derivative.",
)


def _force(b: Builder) -> Any:
    return b.pull * b.string_lever / b.arm


screw_force = Relation("screw_force", "Force in the tilt screw that balances the strings, by virtual work",
                       (_T, _H, *q("arm")), (_F,), _force, "lever",
                       note="Leaves out friction at balls, threads and receiver, the neck's weight and every handling load.")
