"""Templates: what guide bush and bit make of a template's edge, of a corner, and what a check block stands up to."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q


def _mm(name: str, latex: str, meaning: str, low: float, high: float) -> Quantity:
    return Quantity(name, latex, "mm", meaning, low, high)


_BUSH = _mm("bush_diameter", "D_b", "guide bush, outside", 4, 60)
_BIT = _mm("bit_diameter", "D", "router bit", 2, 30)
_OFFSET = _mm("offset", "o", "template's edge outside the edge of the cut; negative: inside", -30, 30)


def _offset(b: Builder) -> Any:
    return (b.bush_diameter - b.bit_diameter) / 2


template_offset = Relation("template_offset", "How far a template's edge stands off the edge that the bit cuts",
                           (_BUSH, _BIT), (_OFFSET,), _offset, "templates",
                           note="A bearing on the bit is a bush as wide as the bearing.")

_TOP = _mm("half_width_top", "b_t", "half width of the heel at the top", 20, 40)
_FOOT = _mm("half_width_foot", "b_f", "half width of the heel at the foot", 5, 20)
_LOW = _mm("foot_z", "z_f", "heel's foot, height", -130, -60)
_GAP = _mm("side_gap", "c", "gap between heel and pocket at cheeks and foot", 0, 2)
_ROUND = _mm("corner", "r_h", "least radius of the heel's foot corners", 0, 15)


def _corner(b: Builder) -> Any:
    sp = b.sympy
    lean = b.step("lean", (b.half_width_top - b.half_width_foot) / -b.foot_z, r"\lambda", "how much the cheek leans")
    half = b.step("sin_half", sp.sqrt((1 + lean / sp.sqrt(1 + lean**2)) / 2), r"\sin\beta", "half the angle of the foot corner")
    # Both arcs have their middle on the corner's bisector; the gap measured there shrinks by (1 - sin) of the radii's difference.
    need = b.step("need", b.bit_diameter / 2 - b.side_gap / (1 - half), "n", "radius at which heel and pocket just touch there")
    return (need + sp.Abs(need)) / 2


heel_corner = Relation("heel_corner", "Least radius of the heel's foot corners that go into corners left round by the bit",
                       (_TOP, _FOOT, _LOW, _GAP, _BIT), (_ROUND,), _corner, "templates",
                       note="0: a sharp corner goes in. Or square the pocket's corners with a chisel.")

_RUN = _mm("run", "u", "length along the block", 0, 400)
_RISE = _mm("rise", "r", "rise over that length", -40, 40)


def _rise(b: Builder) -> Any:
    return b.run * b.sympy.tan(b.alpha)


check_rise = Relation("check_rise", "Rise of a check block for an angle over a length", (_RUN, *q("alpha")), (_RISE,), _rise,
                      "templates")
