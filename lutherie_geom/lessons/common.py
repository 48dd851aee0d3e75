"""What several topics draw from and say: usual sizes of a joint, the tilt of a turn, slips that come up again and again."""

from __future__ import annotations

from typing import Any

from lutherie_geom.lessons.exercise import among, steps
from lutherie_geom.theory.optima import step_rule
from lutherie_geom.theory.tilt import tilt_rule

__all__ = ["ARM", "COMPENSATION", "EIGHTH", "FOOT", "LEVER_OVER", "LOWER", "NO_PITCH", "ONE_SCREW", "PITCH", "RATE", "SCALE",
           "SPACING", "TURNS_IN_RADIANS", "action_of_a_turn", "rate_of", "step_left", "tilt", "tilt_line"]

# Sizes as joints of this kind have them (common practice, no source). No pitch of 1 mm: to forget it would then not show.
PITCH = among("mm", 0.75, 0.8, 1.25, metric=True)
ARM = steps(52, 70, 1, "mm")
FOOT = steps(66, 86, 1, "mm")
SPACING = steps(30, 40, 1, "mm")
SCALE = among("mm", 609.6, 628.65, 632.5, 645.16, 650.0)
COMPENSATION = steps(1.8, 4.0, 0.2, "mm")
LOWER = steps(0.10, 0.50, 0.05, "mm")
RATE = steps(130, 160, 1, "mm")
EIGHTH = 1 / 8

NO_PITCH = "the pitch is forgotten: a turn is not always a millimetre"
TURNS_IN_RADIANS = "the turns were made into radians before the pitch was put on them: the pitch is the way of one whole turn"
LEVER_OVER = "a lever is turned over: what stands below the line belongs above it"
ONE_SCREW = "only one of the two screws was counted"


def tilt(g: Any, turns: float | None = None) -> float:
    """Tilt [rad] of the drawn turns (or of others) with the drawn pitch and arm."""
    return float(tilt_rule(tilt=g.turns if turns is None else turns, pitch_tilt=g.pitch, arm=g.arm))


def rate_of(step: float, arm: float) -> float:
    """Action per radian [mm/rad] where an eighth of a turn makes a step [mm] with an arm [mm]; in units of the pitch, which drops
    out wherever the same screw stays in."""
    return float(100 * step / step_rule(rate=100.0, tilt=EIGHTH, pitch_tilt=1.0, arm=arm))


def step_left(step: float, arm: float, shorter: float) -> tuple[tuple[str, float, str], ...]:
    """Working of the step [mm] that an eighth of a turn makes when its arm [mm] is so much shorter [mm]."""
    now = step_rule(rate=rate_of(step, arm), tilt=EIGHTH, pitch_tilt=1.0, arm=arm - shorter)
    return ("the arm that is left", arm - shorter, "mm"), ("step = as much more as the arm is less", float(now), "mm")


def action_of_a_turn(g: Any) -> float:
    """Action of a whole turn [mm] from the rate, pitch and arm drawn."""
    return float(8 * step_rule(rate=g.rate, tilt=EIGHTH, pitch_tilt=g.pitch, arm=g.arm))


def tilt_line(g: Any) -> tuple[str, float, str]:
    """The line of the working that gives the tilt."""
    return "tilt = pitch x turns / arm", tilt(g), "rad"

