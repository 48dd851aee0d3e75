"""Hands that are not perfect: how near a screw is turned to what was asked, and how far a key goes before the neck follows.

A screw that is turned back first crosses the play of its thread and what friction holds: the neck does not follow there. Turned
the same way twice running it follows at once. So a hand that always ends in the same sense always ends on the same side of that
dead band, and the band drops out of all that it reads. Which sense: the tilt screw ends by lowering the action, where it draws
the heel in against the strings and the thread bears; a pivot screw ends by driving its seat out, against the ball.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from lutherie_geom.joint.dimensions import Array

__all__ = ["Hands", "LAST", "clamp_rule", "follow"]

LAST = np.array([-1.0, 1.0, 1.0])
"""Sense of the last turn of tilt, bass and treble screw: the tilt screw lowers the action, the pivot screws go out."""
OVER = Fraction(1, 8)  # an over-turn is told in eighths


LEVEL = 0.5
"""How far the clamp may lie off the pivot axis and still stay tight while the tilt screw is turned [mm]: no source."""


def clamp_rule(design: Any) -> tuple[bool, str]:
    """Whether the clamp screw stays tight while the tilt screw is turned, and what is said of it: off the pivot axis it would be
    stretched or let go by the tilt."""
    if abs(float(design.clamp.below_axis)) < LEVEL:
        return True, "the clamp screw lies level with the pivots and stays tight while the tilt screw is turned"
    return False, ("the clamp screw does not lie level with the pivots: before the tilt screw is turned, slacken the strings, "
                   "then ease the clamp screw; tighten it before you tune up")


@dataclass(frozen=True)
class Hands:
    """turn: standard deviation of a turn that a hand sets [turn]; play: of the thread, end to end [mm]; friction: what it holds,
    as if it were play [mm]; filing: standard deviation of a saddle's height as it is filed [mm].

    5 degrees and 0.03 mm are what the class takes for granted; friction and filing are invented alike. Measure your own:
    :func:`lutherie_geom.shop.learning.learn.learn` finds the dead band from readings of both senses.
    """

    turn: float = 5 / 360
    play: float = 0.03
    friction: float = 0.02
    filing: float = 0.05

    def __post_init__(self) -> None:
        for name, unit, most in (("turn", "turn", 0.1), ("play", "mm", 1.0), ("friction", "mm", 1.0), ("filing", "mm", 0.5)):
            value = getattr(self, name)
            if isinstance(value, bool) or not (math.isfinite(value) and 0 <= value <= most):
                raise ValueError(f"hands.{name}: {value!r} {unit}; allowed is 0 to {most:g} {unit}")

    def dead_band(self, pitch: Array) -> Array:
        """How far a key turns back before the neck follows [turn], for a thread's pitch [mm/turn]."""
        return (self.play + self.friction) / pitch

    def over(self, pitch: float) -> Fraction:
        """How far to turn past the mark and come back [turn]: the dead band and three times what the hand may err twice, in
        eighths."""
        needed = float(self.dead_band(pitch)) + 3 * math.sqrt(2) * self.turn
        return max(1, math.ceil(needed / OVER - 1e-9)) * OVER


def follow(key: Array, screw: Array, to: Array, band: Array) -> tuple[Array, Array]:
    """A key that goes from ``key`` to ``to`` [turn], and the screw that follows within half a dead ``band`` [turn] of it.

    Returns key and screw where they end; arrays broadcast.
    """
    return to, np.clip(screw, to - band / 2, to + band / 2) + 0 * key
