"""Seats that push one way only: which forces a seat can give to its ball.

A seat faces the neck, along -x. On the ring where it touches, its normals lean inward by the angle beta, so without friction
its force lies in a cone: for each newton along its axis it holds tan(beta) newtons sideways, in any direction. A hex socket
touches at six places, so its cone has six sides. A vee groove holds across its length only. With friction the cone opens by
the angle of friction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lutherie_geom.design.catalogue import find, read_table
from lutherie_geom.theory.statics import cone_ring, gripped_slope, seat_slope

__all__ = ["FACETS", "HOLDS", "FrictionRange", "Seat", "friction_range", "ring_of", "seats_of"]

FACETS = 48
"""Sides of the pyramid that stands for a round cone in linear programming; it lies inside the cone, within 0.3 in 100."""
HOLDS = {
    "axial": "the seat still pushes along its axis",
    "smooth": "the ball stays down in its seat with no help from friction",
    "rubbing": "the ball stays down with the least friction of metal on metal",
}


@dataclass(frozen=True)
class FrictionRange:
    """Low (greased) and high (dry) coefficient of friction [1], with its source and how far it can be trusted."""

    low: float
    high: float
    source: str
    mark: str

    @property
    def both(self) -> NDArray[np.float64]:
        """Low and high, (2,)."""
        return np.array([self.low, self.high])

    def __str__(self) -> str:
        return f"{self.low:.2f} to {self.high:.2f} ({self.source}; {self.mark})"


@cache
def friction_range(what: str) -> FrictionRange:
    """Friction of "head" (a head on its face, a ball in its seat), "thread" or "dowel" (metal in wood), from the table of metals.

    Raises CatalogueError for another word.
    """
    table = read_table("metals")["friction"]
    row = table[find(what, ("head", "thread", "dowel"), "friction")]
    return FrictionRange(row["low"], row["high"], row["source"], row["mark"])


@dataclass(frozen=True)
class Seat:
    """One seat: how it touches, radius of the ring [mm], slope tan(beta) [1], places of touch round it."""

    name: str
    kind: str
    ring: float
    slope: float
    sides: int

    def held(self, hold: str) -> float:
        """Sideways force for each newton along the axis [1] that counts as held: one of :data:`HOLDS`."""
        if hold not in HOLDS:
            raise ValueError(f"hold is {hold!r}; it is one of {', '.join(HOLDS)}")
        if hold == "axial":
            return math.inf
        return self.slope if hold == "smooth" else float(gripped_slope(slope=self.slope, friction=friction_range("head").low))

    def facets(self, hold: str = "smooth") -> NDArray[np.float64]:
        """Rows (sides + 1, 3): a force on the ball that gives no positive product with any row is one the seat can give."""
        push = np.array([[1.0, 0.0, 0.0]])
        slope = self.held(hold)
        if math.isinf(slope):
            return push
        if self.kind == "vee groove":
            return np.array([[slope, 0.0, 1.0], [slope, 0.0, -1.0], *push])
        turn = 2 * np.pi * (np.arange(self.sides) + 0.5) / self.sides
        limit = np.full(self.sides, slope * math.cos(math.pi / self.sides))
        return np.concatenate([np.stack([limit, np.cos(turn), np.sin(turn)], axis=-1), push])


def ring_of(design: Any, kind: str) -> float:
    """Radius [mm] of the ring on which the design's ball touches a seat of a kind: the rim's own, or where a 45 degree flank
    meets the ball."""
    v = design.pivot
    if kind in ("cone", "vee groove"):
        return float(cone_ring(ball_radius=v.ball_radius, half_angle=math.pi / 4))
    return float(v.rim_radius)


def seats_of(design: Any) -> tuple[Seat, Seat]:
    """Bass and treble seat of a design. With ``vee groove`` the bass ball sits in a cone and the treble ball in a vee along y:
    two vees along y would leave the neck free to slide sideways."""
    v = design.pivot

    def seat(name: str, kind: str) -> Seat:
        ring = ring_of(design, kind)
        return Seat(name, kind, ring, float(seat_slope(ball_radius=v.ball_radius, rim_radius=ring)),
                    6 if kind == "hex socket" else FACETS)

    kinds = ("cone", "vee groove") if v.seat == "vee groove" else (v.seat, v.seat)
    return seat("bass seat", kinds[0]), seat("treble seat", kinds[1])
