"""Exercises to notebooks 04, 06, 07 and 25: a turn of the tilt screw, steering, what moves the action, coupling."""

from __future__ import annotations

from math import degrees, radians, tau
from typing import Any

from lutherie_geom.lessons.common import (
    ARM,
    COMPENSATION,
    EIGHTH,
    LOWER,
    NO_PITCH,
    ONE_SCREW,
    PITCH,
    SCALE,
    SPACING,
    TURNS_IN_RADIANS,
    rate_of,
    step_left,
    tilt,
    tilt_line,
)
from lutherie_geom.lessons.exercise import Also, Exercise, Slip, among, steps
from lutherie_geom.theory.action import action_rate
from lutherie_geom.theory.optima import arm_for_step
from lutherie_geom.theory.scale import fret_distance
from lutherie_geom.theory.steer import steer

__all__ = ["EXERCISES"]



def _turns(g: Any) -> Any:
    angle = -radians(g.lower / g.rate)
    per_turn = tilt(g, 1.0)
    return (("tilt wanted", angle, "rad"), ("tilt of one turn = pitch / arm", per_turn, "rad"),
            ("turns", angle / per_turn, "turn"))


def _finer(g: Any) -> Any:
    return (("step now over step wanted", g.step / g.wanted, ""),
            ("arm", arm_for_step(rate=rate_of(g.step, g.arm), tilt=EIGHTH, pitch_tilt=1.0, action_step=g.wanted), "mm"))


TILT = (
    Exercise(
        "tilt_of_a_turn", "04", "deg",
        "The tilt screw has a pitch of {pitch} and an arm of {arm}. By how many degrees does {turns} tilt the neck?",
        {"turns": steps(1 / 16, 1 / 2, 1 / 16, "turn"), "pitch": PITCH, "arm": ARM},
        lambda g: (tilt_line(g), ("in degrees", degrees(tilt(g)), "deg")),
        ("The screw gets longer by a small length. What turns that length into an angle?",
         "Length over arm is the tilt in radians. One radian is 57.3 degrees.",
         "The tilt is {w1}. Make degrees of it."),
        (Slip("turn of the screw", "this is how far the screw turns, not how far the neck tilts", lambda g: 360 * g.turns),
         Slip("pitch", NO_PITCH, lambda g: degrees(g.turns / g.arm)),
         Slip("turns in radians", TURNS_IN_RADIANS, lambda g: degrees(tilt(g)) * tau))),
    Exercise(
        "turns_to_lower", "04", "turn",
        "One degree of tilt changes the action at fret 12 by {rate}. Pitch {pitch}, arm {arm}. How many turns of the tilt "
        "screw lower the action by {lower}? (Lowering is negative.)",
        {"rate": steps(2.2, 2.9, 0.05, "mm"), "pitch": PITCH, "arm": ARM, "lower": LOWER}, _turns,
        ("Go backward: from the action to the angle, from the angle to the screw.",
         "Action over action per degree gives degrees; make radians of them. Turns are the angle times the arm over the pitch.",
         "The tilt wanted is {w1}, one turn tilts by {w2}. How many turns? Mind the sign."),
        (Slip("lever", "the screw was moved as far as the action: all levers are forgotten", lambda g: -g.lower / g.pitch),
         Slip("pitch", NO_PITCH,
              lambda g: -radians(g.lower / g.rate) * g.arm))),
    Exercise(
        "arm_for_a_finer_step", "04", "mm",
        "1/8 turn moves the action by {step} with an arm of {arm}. Which arm, in mm, makes it {wanted}?",
        {"step": steps(0.26, 0.36, 0.005, "mm"), "arm": ARM, "wanted": steps(0.18, 0.25, 0.01, "mm")}, _finer,
        ("A longer arm: does the neck then tilt more or less for the same turn?",
         "Step and arm go against each other: step times arm stays the same.",
         "The step is {w1} times as large as wanted. The arm must be as many times as long."),
        (Slip("lever turned over", "this arm is shorter and makes the step larger still", lambda g: g.arm * g.wanted / g.step),
         Slip("difference only", "this is what must be added to the arm, not the arm", lambda g: g.arm * (g.step / g.wanted - 1)),
         Slip("square", "the arm was changed twice: step and arm go as one to one", lambda g: g.arm * (g.step / g.wanted) ** 2)),
        fits=lambda g: g.arm * g.step / g.wanted <= 100),
)


def _yaw(g: Any) -> Any:
    return steer(bass=-g.turns, treble=g.turns, pitch_pivot=g.pitch, spacing=g.spacing).psi


STEERING = (
    Exercise(
        "yaw_of_a_pair", "06", "rad",
        "The treble pivot screw is turned out by {turns}, the bass one in by as much. Pitch {pitch}, seats {spacing} apart. "
        "The yaw, in radians? (To the bass side is positive.)",
        {"turns": steps(1 / 32, 1 / 8, 1 / 32, "turn"), "pitch": PITCH, "spacing": SPACING},
        lambda g: (("one seat moves out, the other in; together", 2 * g.pitch * g.turns, "mm"),
                   ("yaw = that / distance of the seats", _yaw(g), "rad")),
        ("How far apart do the two seats move, one out and one in?",
         "The yaw in radians is how far they part, over their distance.",
         "They part by {w1}. Divide it by {spacing}."),
        (Slip("one screw", ONE_SCREW, lambda g: _yaw(g) / 2, "half"),
         Slip("half the distance", "both screws were counted, and half the distance of the seats: one or the other",
              lambda g: _yaw(g) * 2, "double"),
         Slip("turns in radians", TURNS_IN_RADIANS, lambda g: _yaw(g) * tau))),
    Exercise(
        "nut_goes_aside", "06", "mm",
        "The treble pivot screw is turned out by {turns}, the bass one in by as much. Pitch {pitch}, seats {spacing} apart. "
        "The nut lies {nut} in front of the pivot. How far does it go aside, in mm? (To the treble side is positive.)",
        {"turns": steps(1 / 32, 1 / 8, 1 / 32, "turn"), "pitch": PITCH, "spacing": SPACING, "nut": steps(340, 364, 1, "mm")},
        lambda g: (("yaw", _yaw(g), "rad"), ("way of the nut = - distance x yaw", -g.nut * _yaw(g), "mm")),
        ("The treble seat pushes its side of the heel out. To which side does the nut swing?",
         "The yaw in radians is how far the seats part, over their distance. The nut moves by its distance times the yaw.",
         "The yaw is {w1}. Multiply it by {nut}; the nut goes to the bass side."),
        (Slip("lever", "the nut was moved as far as the screws: its own lever is forgotten",
              lambda g: -2 * g.pitch * g.turns, "a tenth"),
         Slip("one screw", ONE_SCREW, lambda g: -g.nut * _yaw(g) / 2, "half"))),
)

MOVES = (
    Exercise(
        "action_for_a_radian", "07", "mm/rad",
        "From the nut: fret 12 {to_fret}, the pivot {to_pivot}, the saddle {to_saddle}. The string is level at the saddle. "
        "Change of the action at fret 12, in mm for one radian of tilt?",
        {"scale": SCALE, "compensation": COMPENSATION,
         "joint": among("", 13, 14), "before": steps(1.5, 4.0, 0.1, "mm")},
        lambda g: (("one less pivot over saddle", 1 - g.to_pivot / g.to_saddle, ""),
                   ("rate = fret x that", action_rate(nut_to_fret=g.to_fret, nut_to_pivot=g.to_pivot, nut_to_saddle=g.to_saddle),
                    "mm/rad")),
        ("The pivot's height does not come in. Which three lengths along the string do?",
         "Fret's distance from the nut, times one less the pivot's over the saddle's distance.",
         "One less pivot over saddle is {w1}. Multiply it by {to_fret}."),
        (Slip("lever", "the fret was moved as if the string stayed behind: the part one less pivot over saddle is forgotten",
              lambda g: g.to_fret),
         Slip("wrong lever", "pivot over saddle was used; it is one less that part",
              lambda g: g.to_fret * g.to_pivot / g.to_saddle)),
        also={"to_fret": Also(lambda g: fret_distance(scale=g.scale, fret=12), "mm"),
              "to_pivot": Also(lambda g: fret_distance(scale=g.scale, fret=g.joint) - g.before, "mm"),
              "to_saddle": Also(lambda g: g.scale + g.compensation, "mm")}),
    Exercise(
        "pivot_set_deeper", "07", "mm",
        "The arm is {arm}, and 1/8 turn gives {step} of action. The pivot is set {deeper} deeper; the tilt screw stays where "
        "it is. What does 1/8 turn give now, in mm?",
        {"arm": ARM, "step": steps(0.25, 0.35, 0.005, "mm"), "deeper": steps(8, 18, 1, "mm")},
        lambda g: step_left(g.step, g.arm, g.deeper),
        ("The pivot's height itself does nothing. What else changes when the pivot comes nearer to the screw?",
         "The arm is the distance from pivot to screw. Step times arm stays the same.",
         "The arm that is left is {w1}. The step grows as the arm shrinks."),
        (Slip("unchanged", "the height does nothing, but the arm has changed", lambda g: g.step),
         Slip("longer arm", "the arm was made longer; a deeper pivot comes nearer to the screw",
              lambda g: g.step * g.arm / (g.arm + g.deeper)),
         Slip("lever turned over", "with a shorter arm the same turn does more, not less",
              lambda g: g.step * (g.arm - g.deeper) / g.arm))),
)


def _decoupled(g: Any) -> Any:
    part = steer(bass=1.0, treble=0.0, pitch_pivot=1.0, spacing=36.0).advance
    return (("part of its pitch by which a pivot screw takes the pivot's middle out", part, ""),
            ("pitch of the pivot screws", g.wanted * g.pitch / part, "mm"))


COUPLED = (
    Exercise(
        "pitch_that_decouples", "25", "mm",
        "The tilt screw has a pitch of {pitch}. A turn of one pivot screw shall move the mean action {wanted} times as much as a "
        "turn of the tilt screw. Which pitch must the pivot screws have, in mm?",
        {"pitch": PITCH, "wanted": steps(0.2, 0.6, 0.02, "")}, _decoupled,
        ("One of two pivot screws turns: how far does the middle between them go out?",
         "The middle goes out by half the pitch; the tilt screw's end goes by all of its own. The ratio is what is wanted.",
         "The middle goes by {w1} of the pitch. Divide {wanted} times {pitch} by that."),
        (Slip("one of two", "the pivot's middle goes out by half the pitch only, for the other screw stays",
              lambda g: g.wanted * g.pitch, "half"),
         Slip("half the wrong way", "the half was multiplied; divide by it", lambda g: g.wanted * g.pitch / 2),
         Slip("tilt screw's pitch", NO_PITCH, lambda g: 2 * g.wanted),
         Slip("ratio turned over", "the two screws have changed places", lambda g: 2 * g.pitch / g.wanted)),
        metric=True),
)

EXERCISES = TILT + STEERING + MOVES + COUPLED
