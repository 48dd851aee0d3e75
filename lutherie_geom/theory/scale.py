"""Scale: fret distances, the joint's distance, the sounding length in space."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Relation
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
