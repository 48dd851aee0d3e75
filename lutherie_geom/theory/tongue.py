"""Tongue: the gap between the soundboard and the underside of the fingerboard's extension."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.pose import _TURNED, turned
from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q

_DOME = "curvature x_apex along across"


def _gap(b: Builder) -> Any:
    shape = b.step("shape", b.hollowed * b.use(dome_height) + (1 - b.hollowed) * b.taper * b.x, r"\zeta",
                   "the underside follows the dome, or is planed to one slope")
    x, y, z = turned(b, b.x, b.y, shape + b.gap_joint)
    return b.step("gap", z - b.use(dome_height, "under_", x=x, y=y), "g", "measured along z, where the point has come to lie")


gap_under_tongue = Relation(
    "gap_under_tongue", "Gap under a point of the tongue, the neck posed",
    q(f"x y gap_joint hollowed taper {_DOME} {_TURNED}"), q("gap"), _gap, "tongue",
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
