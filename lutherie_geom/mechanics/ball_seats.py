"""Balls in their seats: contact pressure by Hertz against first yield, and the dent by hardness."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from lutherie_geom.mechanics.check import Check
from lutherie_geom.mechanics.givens import Numbers
from lutherie_geom.mechanics.seats import seats_of
from lutherie_geom.theory.joint_strength import ball_on_points, first_yield, rim_dent, ring_dent
from lutherie_geom.theory.strength import ball_dent, ball_on_ring, contact_modulus

__all__ = ["seat_checks"]

Array = Any
DENT = 0.05
"""How far a ball may sink for good, in mm (chosen here: an eighth of a turn of the tilt screw mends what it does)."""


def seat_checks(n: Numbers) -> Iterator[Check]:
    """First yield and lasting dent of each kind of seat that the design has, seat screw and ball of screw steel."""
    v = n.design.pivot
    e = contact_modulus(modulus_1=n["steel_modulus"], poisson_1=n["steel_poisson"], modulus_2=n["steel_modulus"],
                        poisson_2=n["steel_poisson"])
    limit = first_yield(yield_stress=n["pivot_yield"])
    force, ball, hard = n["seat_force"], v.ball_radius, n["pivot_hardness"]
    uses = ("pivot_yield", "seat_force", "steel_modulus")
    for kind, ring in dict.fromkeys((s.kind, s.ring) for s in seats_of(n.design)):
        edge = 1 / n["edge_radius"]
        if kind in ("cup rim", "cone"):
            edge_here = edge if kind == "cup rim" else 0.0
            peak = ball_on_ring(force=force, ball_radius=ball, rim_radius=ring, edge_curvature=edge_here, contact_modulus=e).peak
            most, how = limit.line_limit, ball_on_ring
        else:
            # A hex socket touches at six places of its rim, a vee on two flat flanks.
            points, edge_here = (6.0, edge) if kind == "hex socket" else (2.0, 0.0)
            peak = ball_on_points(force=force, ball_radius=ball, rim_radius=ring, points=points, edge_curvature=edge_here,
                                  contact_modulus=e).peak
            most, how = limit.point_limit, ball_on_points
        more = ("edge_radius",) if kind in ("cup rim", "hex socket") else ()
        key = kind.replace(" ", "_")
        yield Check(f"seat.first_yield.{key}", f"ball in its seat ({kind}): pressure against first yield", most, peak, "MPa",
                    1.0 + 1e-9, (how, first_yield), uses + more,
                    "Ball taken no softer than the seat, and smooth.", "pivot.seat: cone", settles=True, verbs=("limit", "found"))
        if kind == "cone":
            sink, dent = ring_dent(force=force, ball_radius=ball, rim_radius=ring, hardness=hard).sink, ring_dent
        elif kind == "vee groove":
            slant = math.sqrt(1 - (ring / ball) ** 2)
            sink, dent = ball_dent(force=force / (2 * slant), ball_radius=ball, hardness=hard) / slant, ball_dent
        else:
            # Six short bands instead of a whole ring: each as long as a third of its share of the round (chosen here).
            part = 1.0 if kind == "cup rim" else 1 / 3
            sink, dent = rim_dent(force=force / part, ball_radius=ball, rim_radius=ring, hardness=hard), rim_dent
        yield Check(f"seat.dent.{key}", f"ball in its seat ({kind}): sinks for good at the most",
                    np.asarray(DENT), sink, "mm", 1.5, (dent,), ("pivot_hardness", "seat_force"),
                    "Wear by many turns of a dry ball.", "pivot.strength_class: higher (or pivot.seat: cone)",
                    verbs=("allowed", "found"))
