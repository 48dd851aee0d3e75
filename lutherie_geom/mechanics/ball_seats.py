"""Balls in their seats: contact pressure by Hertz against first yield, and the dent by hardness."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from lutherie_geom.mechanics.check import Check
from lutherie_geom.mechanics.givens import CLAMP_MOST, Numbers
from lutherie_geom.mechanics.seats import ring_of, seats_of
from lutherie_geom.theory.joint_strength import ball_on_points, first_yield, rim_dent, ring_dent
from lutherie_geom.theory.relation import Relation
from lutherie_geom.theory.strength import ball_dent, ball_on_ring, contact_modulus

__all__ = ["seat_checks", "seat_dent", "seat_pressure", "steel_on_steel"]

Array = Any
DENT = 0.05
"""How far a ball may sink for good, in mm (chosen here: an eighth of a turn of the tilt screw mends what it does)."""
EDGED = ("cup rim", "hex socket")
"""Seats that touch the ball with an edge; the others with a flank."""


def steel_on_steel(n: Numbers) -> Array:
    """Modulus of contact [MPa] of a ball and a seat of screw steel."""
    return contact_modulus(modulus_1=n["steel_modulus"], poisson_1=n["steel_poisson"], modulus_2=n["steel_modulus"],
                           poisson_2=n["steel_poisson"])


def seat_pressure(n: Numbers, kind: str, force: Array) -> tuple[Array, Relation]:
    """Greatest pressure [MPa] of the design's ball under ``force`` [N] along a seat of a kind, and the relation used."""
    ring = {"force": force, "ball_radius": n.design.pivot.ball_radius, "rim_radius": ring_of(n.design, kind),
            "edge_curvature": 1 / n["edge_radius"] if kind in EDGED else 0.0, "contact_modulus": steel_on_steel(n)}
    if kind in ("cup rim", "cone"):
        return ball_on_ring(**ring).peak, ball_on_ring
    # A hex socket touches at six places of its rim, a vee on two flat flanks.
    return ball_on_points(**ring, points=6.0 if kind == "hex socket" else 2.0).peak, ball_on_points


def seat_dent(n: Numbers, kind: str, force: Array, hardness: Array) -> tuple[Array, Relation]:
    """How far the design's ball sinks for good [mm] in a seat of a kind and a hardness [MPa], and the relation used."""
    ball, ring = n.design.pivot.ball_radius, ring_of(n.design, kind)
    if kind == "cone":
        return ring_dent(force=force, ball_radius=ball, rim_radius=ring, hardness=hardness).sink, ring_dent
    if kind == "vee groove":
        slant = math.sqrt(1 - (ring / ball) ** 2)
        return ball_dent(force=force / (2 * slant), ball_radius=ball, hardness=hardness) / slant, ball_dent
    # Six short bands instead of a whole ring: each as long as a third of its share of the round (chosen here).
    part = 1.0 if kind == "cup rim" else 1 / 3
    return rim_dent(force=force / part, ball_radius=ball, rim_radius=ring, hardness=hardness), rim_dent


def seat_checks(n: Numbers) -> Iterator[Check]:
    """First yield and lasting dent of each kind of seat that the design has, seat screw and ball of screw steel."""
    limit = first_yield(yield_stress=n["pivot_yield"])
    for kind in dict.fromkeys(s.kind for s in seats_of(n.design)):
        peak, how = seat_pressure(n, kind, n["seat_force"])
        uses = ("pivot_yield", "seat_force", *CLAMP_MOST, "steel_modulus", *(("edge_radius",) if kind in EDGED else ()))
        key = kind.replace(" ", "_")
        yield Check(f"seat.first_yield.{key}", f"ball in its seat ({kind}): pressure against first yield",
                    limit.line_limit if how is ball_on_ring else limit.point_limit, peak, "MPa",
                    1.0 + 1e-9, (how, first_yield), uses,
                    "Ball taken no softer than the seat, and smooth.", "pivot.seat: cone", settles=True, verbs=("limit", "found"))
        sink, dent = seat_dent(n, kind, n["seat_force"], n["pivot_hardness"])
        yield Check(f"seat.dent.{key}", f"ball in its seat ({kind}): sinks for good at the most",
                    np.asarray(DENT), sink, "mm", 1.5, (dent,), ("pivot_hardness", "seat_force", *CLAMP_MOST),
                    "Wear by many turns of a dry ball.", "pivot.strength_class: higher (or pivot.seat: cone)",
                    verbs=("allowed", "found"))
