"""Tongue: the gap between the soundboard and the underside of the fingerboard's extension."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.pose import TURNED, turned
from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q

_DOME = "curvature x_apex along across"


_UNDER = Quantity("z_under", "z_u", "mm", "a point of the tongue's underside, height at the nominal pose", -10, 20)


def _hollow(b: Builder) -> Any:
    return b.use(dome_height) + b.gap_joint


hollow_underside = Relation("hollow_underside", "Underside of a tongue hollowed to the dome, nominal pose",
                            q(f"x y gap_joint {_DOME}"), (_UNDER,), _hollow, "tongue")


def _flat(b: Builder) -> Any:
    return b.taper * b.x + b.gap_joint


planed_underside = Relation("planed_underside", "Underside of a tongue planed to one slope, nominal pose",
                            q("x gap_joint taper"), (_UNDER,), _flat, "tongue")


def _gap_below(b: Builder) -> Any:
    x, y, z = turned(b, b.x, b.y, b.z_under)
    return b.step("gap", z - b.use(dome_height, "under_", x=x, y=y), "g", "measured along z, where the point has come to lie")


gap_below = Relation(
    "gap_below", "Gap below a given point of the tongue's underside, the neck posed",
    (*q("x y"), _UNDER, *q(f"{_DOME} {TURNED}")), q("gap"), _gap_below, "tongue",
    note="x, y and z_under are the point's place at the nominal pose.",
)


def _underside(b: Builder) -> Any:
    return b.step("z_under", b.hollowed * b.use(hollow_underside) + (1 - b.hollowed) * b.use(planed_underside), "z_u",
                  "the underside follows the dome, or is planed to one slope")


tongue_underside = Relation("tongue_underside", "A point of the tongue's underside, nominal pose",
                            q(f"x y gap_joint hollowed taper {_DOME}"), (_UNDER,), _underside, "tongue")


def _gap(b: Builder) -> Any:
    return b.use(gap_below, "posed_", z_under=b.use(tongue_underside))


gap_under_tongue = Relation(
    "gap_under_tongue", "Gap under a point of the tongue, the neck posed",
    q(f"x y gap_joint hollowed taper {_DOME} {TURNED}"), q("gap"), _gap, "tongue",
    note="x and y are the place of the underside's point at the nominal pose.",
)

_MOMENT = Quantity("dome_moment", "m_z", "mm", "mean of the dome's height times (x/l - 1/2) over the footprint", -1, 1)
_LENGTH = Quantity("tongue_length", "l", "mm", "length of the tongue from the joint", 40, 200)


def _planed(b: Builder) -> Any:
    """Least squares: the mean square of x/l - 1/2 over an even length is 1/12."""
    return 12 * b.dome_moment / b.tongue_length


planed_slope = Relation(
    "planed_slope", "Slope of the plane that fits the dome best under the tongue: the taper of a planed underside",
    (_MOMENT, _LENGTH), q("taper"), _planed, "tongue",
)

_COVER = Quantity("cover", "c_b", "mm", "crown and board over the neck wood", 3, 14)
_UNDER = Quantity("underside", r"\zeta", "mm", "underside of the tongue above its place at the joint, nominal pose", -5, 10)
_WOOD = Quantity("wood", "t_w", "mm", "neck wood under the board, along z", -2, 20)


def _wood(b: Builder) -> Any:
    return b.z_joint + b.x * b.sympy.tan(b.alpha) - b.cover - b.underside - b.gap_joint


tongue_thickness = Relation("tongue_thickness", "Neck wood left under the board of the tongue, on the centreline",
                            (*q("x alpha z_joint"), _COVER, _UNDER, *q("gap_joint")), (_WOOD,), _wood, "tongue",
                            note="Board and crown are taken along z, as in the stack-up at the joint.")
