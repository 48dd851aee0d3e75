"""Dome: height of the soundboard, written so that a flat top is an exact case, and the sagitta.

A sphere of radius R with its highest point at x_c, passing through the origin, is usually written as the difference of
two numbers of the size of R. Multiplying by the conjugate leaves the curvature k = 1/R as a factor: nothing is lost on
the way to a flat top, and k = 0 needs no case of its own.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q


def _height(b: Builder) -> Any:
    sp = b.sympy
    a2 = b.step("a_2", b.along * b.x_apex**2, "a^2", "squared distance of the origin from the highest point")
    r2 = b.step("r_2", b.along * (b.x - b.x_apex) ** 2 + b.across * b.y**2, "r^2",
                "squared distance of the place from the highest point")
    k = b.curvature
    return k * (a2 - r2) / (sp.sqrt(1 - k**2 * r2) + sp.sqrt(1 - k**2 * a2))


dome_height = Relation(
    "dome_height", "Height of the soundboard above its level at the joint",
    q("x y curvature x_apex along across"), q("z_top"), _height, "dome",
    source="sphere through the joint, conjugate form derived here",
    note="along = across = 1 is a sphere; one of them 0 is an arch; curvature 0 is flat. Its slopes are `slopes()`.",
)

_RADIUS = Quantity("radius", "R", "mm", "radius of the arc", 100, float("inf"))
_CHORD = Quantity("chord", "c", "mm", "length of the chord", 0, 1000)
_RISE = Quantity("rise", "s", "mm", "sagitta: height of the arc over its chord", 0, 100)


def _sagitta(b: Builder) -> Any:
    half = b.chord / 2
    return half**2 / (b.radius + b.sympy.sqrt(b.radius**2 - half**2))


sagitta = Relation("sagitta", "Height of an arc over its chord", (_RADIUS, _CHORD), (_RISE,), _sagitta, "dome",
                   source="circle: s = R - sqrt(R^2 - (c/2)^2), conjugate form")


def _radius(b: Builder) -> Any:
    return b.rise / 2 + b.chord**2 / (8 * b.rise)


radius_from_sagitta = Relation("radius_from_sagitta", "Radius of an arc from its height over a chord",
                               (_RISE, _CHORD), (_RADIUS,), _radius, "dome", source="circle, solved for R")
