"""Scale: fret distances, the joint's distance, the sounding length in space, the strings' distance from the board's edges."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q


def _fret(b: Builder) -> Any:
    return b.scale * (1 - 2 ** (-b.fret / b.sympy.Integer(12)))


fret_distance = Relation(
    "fret_distance", "Distance from the nut to a fret, twelve equal semitones to the octave",
    q("scale fret"), q("fret_from_nut"), _fret, "scale",
    source="equal temperament: a semitone is the twelfth root of two",
)


def _sounding(b: Builder) -> Any:
    dx, dy, dz = b.xn_saddle - b.x_nut, b.yn_saddle - b.y_nut, b.zn_saddle - b.z_nut
    return b.sympy.sqrt(dx**2 + dy**2 + dz**2)


sounding_length = Relation(
    "sounding_length", "Sounding length: straight distance from nut to saddle in space",
    q("x_nut y_nut z_nut xn_saddle yn_saddle zn_saddle"), q("sounding_length"), _sounding, "scale",
)

_LAST = Quantity("x_last", "x'_l", "mm", "last fret along the board, neck frame", 20, 150)
_W0 = Quantity("width_nut", "b_0", "mm", "width of the board at the nut", 20, 110)
_W1 = Quantity("width_last", "b_l", "mm", "width of the board at the last fret", 20, 130)
_OUT = Quantity("y_out", "y'_e", "mm", "an outer string's place across the board, counted toward the edge on its side", 0, 60)
_MARGIN = Quantity("margin", "e", "mm", "distance from an outer string to the board's edge on its side", -60, 70)


def _margin(b: Builder) -> Any:
    part = b.step("part", (b.x_fret - b.x_nut) / (b.x_last - b.x_nut), "v", "how far along the board, which widens evenly")
    return (b.width_nut + (b.width_last - b.width_nut) * part) / 2 - b.y_out


edge_margin = Relation(
    "edge_margin", "String edge margin: from an outer string to the board's edge at a fret",
    (*q("x_fret x_nut"), _LAST, _W0, _W1, _OUT), (_MARGIN,), _margin, "scale",
)
