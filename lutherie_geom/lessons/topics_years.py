"""Exercises to notebooks 16 to 20: bench proof, set-up day, the own instrument, seasons, years."""

from __future__ import annotations

from math import degrees, radians
from typing import Any

from lutherie_geom.lessons.common import (
    ARM,
    COMPENSATION,
    NO_PITCH,
    PITCH,
    RATE,
    SCALE,
    action_of_a_turn,
    step_left,
)
from lutherie_geom.lessons.exercise import Also, Exercise, Slip, among, steps
from lutherie_geom.theory.action import saddle_rule
from lutherie_geom.theory.climate import block_tilt_rule, season_lag
from lutherie_geom.theory.joint_strength import creep_growth
from lutherie_geom.theory.neck_set import straightedge
from lutherie_geom.theory.optima import pitch_for_step, step_rule
from lutherie_geom.theory.scale import fret_distance

__all__ = ["EXERCISES"]

DAYS = 365.25


def _thread(g: Any) -> Any:
    # The same sixteenth of a turn and the same arm in both, so neither comes into the answer.
    rate = 100 * g.should / 16 / step_rule(rate=100.0, tilt=1 / 16, pitch_tilt=g.bought, arm=30.0)
    return (("read over what it should be", g.reads / g.should, ""),
            ("pitch", pitch_for_step(rate=rate, tilt=1 / 16, arm=30.0, action_step=g.reads / 16), "mm"))


def _edge(g: Any, angle: float) -> Any:
    return straightedge(x_bridge=g.bridge, alpha=angle, z_joint=11.5, curvature=0.0, x_apex=0.0, along=1.0, across=1.0)


PROOF = (
    Exercise(
        "which_thread_is_it", "16", "mm",
        "From -1/2 to +1/2 turn the straightedge at the bridge should fall by {should}. Yours falls by {reads}. The screw "
        "was bought with a pitch of {bought}. What pitch has it, in mm?",
        {"should": steps(3.8, 5.4, 0.05, "mm"), "reads": steps(3.0, 7.0, 0.05, "mm"),
         "bought": among("mm", 0.75, 0.8, 1.0, 1.25)},
        _thread,
        ("What the straightedge does goes with the pitch, at every turn.",
         "Pitch bought, times what is read over what should be read.",
         "Yours does {w1} times what it should. So does its pitch."),
        (Slip("turned over", "what is read and what should be read have changed places",
              lambda g: g.bought * g.should / g.reads),
         Slip("difference", "the error of the reading was added to the pitch; it goes in proportion",
              lambda g: g.bought + g.reads - g.should)),
        metric=True, fits=lambda g: 0.08 < abs(g.reads / g.should - 1) < 0.35 and g.bought + g.reads - g.should > 0.2),
    Exercise(
        "straightedge_at_the_bridge", "16", "mm",
        "The neck stands {angle} too flat. The bridge lies {bridge} behind the joint, the nut {nut} before it. How much does the "
        "straightedge read too little at the bridge, in mm? (Too low is negative.)",
        {"angle": steps(0.10, 0.40, 0.02, "deg"), "bridge": steps(276, 300, 1, "mm"), "nut": steps(340, 364, 1, "mm")},
        lambda g: (("the angle in radians", radians(g.angle), "rad"),
                   ("reading too high by", -(_edge(g, radians(g.angle)) - _edge(g, 0.0)), "mm")),
        ("The straightedge swings with the neck. From where, and how far away is the bridge?",
         "Distance from the joint times the angle in radians. Does a flatter neck read higher or lower?",
         "The angle is {w1}. Multiply it by {bridge}; it reads too little."),
        (Slip("wrong lever", "the nut's distance was used; the reading is taken at the bridge",
              lambda g: -g.nut * radians(g.angle)),)),
)


def _advised(g: Any, high: float) -> Any:
    return -high / action_of_a_turn(g)


def _off(g: Any) -> Any:
    mean = (g.bass + g.treble) / 2
    return ("both strings, the mean", mean, "mm"), ("turns, lowering negative", _advised(g, mean), "turn")


def _filed(g: Any) -> Any:
    worth = saddle_rule(saddle_lift=1.0, nut_to_fret=g.to_fret, nut_to_saddle=g.to_saddle)
    return ("part of the saddle's change that the fret gets", worth, ""), ("comes off the saddle", g.high / worth, "mm")


SET_UP_DAY = (
    Exercise(
        "turn_for_both_strings", "17", "turn",
        "At fret 12 the bass is {bass} too high and the treble {treble}. A radian of tilt is {rate} of action; pitch "
        "{pitch}, arm {arm}. How many turns of the tilt screw bring the mean of both right? (Lowering is negative.)",
        {"bass": steps(0.20, 0.60, 0.05, "mm"), "treble": steps(0.10, 0.50, 0.05, "mm"), "rate": RATE, "pitch": PITCH,
         "arm": ARM}, _off,
        ("One screw moves both strings alike. What is left for it to mend?",
         "The mean of the two, over what one turn does: action per radian, times pitch over arm.",
         "The mean is {w1} too high. Divide it by what one turn does, and mind the sign."),
        (Slip("sum", "the two were added; the screw moves both at once", lambda g: _advised(g, g.bass + g.treble), "double"),
         Slip("bass alone", "only the bass was looked at", lambda g: _advised(g, g.bass)),
         Slip("treble alone", "only the treble was looked at", lambda g: _advised(g, g.treble)),
         Slip("pitch", NO_PITCH, lambda g: _off(g)[1][1] * g.pitch)),
        fits=lambda g: g.bass > 1.15 * g.treble),
    Exercise(
        "off_the_saddle", "17", "mm",
        "The bass is {high} too high at fret {fret}, the treble is right. The fret lies {to_fret} from the nut, the saddle "
        "{to_saddle}. How much comes off the saddle under the bass string, in mm?",
        {"high": steps(0.10, 0.40, 0.02, "mm"), "fret": among("", 10, 14, 15), "scale": SCALE,
         "compensation": COMPENSATION}, _filed,
        ("The string is a straight line from the nut: the saddle moves more than the fret.",
         "What the fret shall lose, times the saddle's over the fret's distance from the nut.",
         "The fret gets {w1} of the saddle's change. How much makes {high}?"),
        (Slip("lever", "the saddle was lowered as far as the action: the fret gets only its part", lambda g: g.high),
         Slip("lever turned over", "fret and saddle have changed places: the saddle must lose more than the fret",
              lambda g: g.high * g.to_fret / g.to_saddle)),
        also={"to_fret": Also(lambda g: fret_distance(scale=g.scale, fret=g.fret), "mm"),
              "to_saddle": Also(lambda g: g.scale + g.compensation, "mm")}),
)


def _lag(g: Any) -> Any:
    return (("the play, in turns", g.play / g.pitch, "turn"),
            ("action", step_rule(rate=g.rate, tilt=g.play / g.pitch, pitch_tilt=g.pitch, arm=g.arm), "mm"))


OWN = (
    Exercise(
        "step_of_my_own", "18", "mm",
        "By the drawing 1/8 turn gives {step} and the arm is {arm}. On your instrument the arm is {shorter} shorter. What "
        "does 1/8 turn give, in mm?",
        {"step": steps(0.25, 0.35, 0.005, "mm"), "arm": ARM, "shorter": steps(4.0, 9.0, 0.5, "mm")},
        lambda g: step_left(g.step, g.arm, g.shorter),
        ("A shorter arm: more tilt or less for the same turn?",
         "Step times arm stays the same.",
         "The arm that is left is {w1}. The step grows as the arm shrinks."),
        (Slip("unchanged", "the step goes with the arm; it has changed", lambda g: g.step),
         Slip("lever turned over", "with a shorter arm the same turn does more, not less",
              lambda g: g.step * (g.arm - g.shorter) / g.arm))),
    Exercise(
        "same_mark_from_two_sides", "18", "mm",
        "Thread play and friction make {play} in all. Pitch {pitch}, arm {arm}; a radian of tilt is {rate} of action. The "
        "same mark is reached once raising and once lowering. By how much do the two actions differ, in mm?",
        {"play": steps(0.06, 0.20, 0.01, "mm"), "pitch": PITCH, "arm": ARM, "rate": RATE}, _lag,
        ("Half of the play is ahead of the neck when raising, half of it when lowering.",
         "The play is a length of the screw: over the arm it is a tilt, times action per radian it is action.",
         "The play is {w1} of the screw. What does that make of the action?"),
        (Slip("lever", "the play was taken for action; it is a length of the screw", lambda g: g.play),
         Slip("half the play", "half of the play lies to either side: the two settings differ by all of it",
              lambda g: _lag(g)[1][1] / 2, "half"),
         Slip("pitch", "the play is a length already: the pitch does not come in", lambda g: _lag(g)[1][1] * g.pitch))),
)


def _swing(g: Any) -> Any:
    left = season_lag(period=365.0, lag=g.lag).swing_left
    return ("part of a yearly swing that is left", left, ""), ("reaches the block", g.swing * left, "%")


def _swollen(g: Any) -> Any:
    angle = block_tilt_rule(swelling=g.swelling / 100, moisture_change=g.wetter, x_head=g.head, x_anchor=g.anchor, arm=g.arm)
    return ("tilt", angle, "rad"), ("in degrees", degrees(angle), "deg")


YEAR = (
    Exercise(
        "what_reaches_the_block", "19", "%",
        "The air of a year would swing the wood by {swing} of moisture either way. The block lags {lag} days. How much of "
        "it, in %, reaches the block?",
        {"swing": steps(2.0, 4.0, 0.1, "%"), "lag": steps(30, 90, 5, "")}, _swing,
        ("A block that follows slowly never gets as far as the air.",
         "Divide by the root of one plus the square of 2 pi times lag over period.",
         "Of a yearly swing {w1} is left. Multiply {swing} by it."),
        (Slip("two pi", "2 pi is forgotten: a year is one whole turn", lambda g: g.swing / (1 + (g.lag / 365) ** 2) ** 0.5),
         Slip("root", "the root is forgotten", lambda g: g.swing * _swing(g)[0][1] ** 2),
         Slip("part of one", "this is the part of one; the moisture that reaches the block was asked for",
                             lambda g: _swing(g)[0][1]))),
    Exercise(
        "block_turns_the_neck", "19", "deg",
        "The seats are held at {anchor}, the captive face lies at {head}, the arm is {arm}. The block swells by {swelling} "
        "for each percent of moisture and takes up {wetter}. By what angle does the neck tilt, in degrees with its sign?",
        {"anchor": steps(3, 8, 1, "mm"), "head": steps(24, 36, 1, "mm"), "arm": ARM, "swelling": steps(0.14, 0.26, 0.02, "%"),
         "wetter": steps(2.0, 4.0, 0.5, "%")}, _swollen,
        ("Only the wood between the seats and the captive face swells; which way does that draw the heel's foot?",
         "Length between them, times swelling, times moisture is the way; over the arm it is the tilt. Wetter is action down.",
         "The tilt is {w1}. Give it in degrees."),
        (Slip("whole depth", "the wood from the block's face was counted; the seats are held deeper in",
              lambda g: _swollen(g)[1][1] * g.head / (g.head - g.anchor)),
         Slip("percent", "the swelling was put in as a number of percent: a hundred times too much",
              lambda g: 100 * _swollen(g)[1][1]),
         Slip("one percent", "the swelling of a single percent was taken", lambda g: _swollen(g)[1][1] / g.wetter))),
)


def _lifted(g: Any) -> Any:
    rises = saddle_rule(saddle_lift=g.lift, nut_to_fret=g.scale / 2, nut_to_saddle=g.scale)
    return ("fret 12 sees of it", rises, "mm"), ("turns, down negative", _advised(g, rises), "turn")


def _later(g: Any) -> Any:
    factor = creep_growth(time=DAYS * g.later, long_time=DAYS * g.years, long_creep=2.0, exponent=g.exponent) - 1
    return ("times as much as then", factor, ""), ("bridge higher than when new by", g.lift * factor, "mm")


YEARS = (
    Exercise(
        "turns_for_a_lifted_top", "20", "turn",
        "A top has lifted by {lift} at the bridge; the scale is {scale}, fret 12 lies half way. A radian of tilt is {rate} "
        "of action; pitch {pitch}, arm {arm}. How many turns bring the action at fret 12 back? (Down is negative.)",
        {"lift": steps(0.8, 2.4, 0.1, "mm"), "scale": SCALE, "rate": RATE, "pitch": PITCH, "arm": ARM}, _lifted,
        ("How much of the bridge's lift does fret 12 see?",
         "Half of the lift, over what one turn does: action per radian, times pitch over arm. Up or down?",
         "Fret 12 sees {w1}. Divide it by what one turn does, and mind the sign."),
        (Slip("whole lift", "fret 12 sees only half of the bridge's lift", lambda g: 2 * _lifted(g)[1][1], "double"),
         Slip("lever", "the screw was moved as far as the action: the levers are forgotten",
                       lambda g: -_lifted(g)[0][1] / g.pitch),
         Slip("pitch", NO_PITCH, lambda g: _lifted(g)[1][1] * g.pitch))),
    Exercise(
        "lift_after_many_years", "20", "mm",
        "After {years} years the bridge stands {lift} higher. With an exponent of {exponent}, how much higher than when new "
        "will it stand after {later} years, in mm?",
        {"years": steps(2, 6, 1, ""), "lift": steps(0.6, 1.6, 0.1, "mm"), "exponent": steps(0.2, 0.4, 0.05, ""),
         "later": among("", 15, 20, 25, 30)}, _later,
        ("The first years bring most of it. In proportion to time it would be far too much.",
         "Time over time, to the power of the exponent, times what there is.",
         "It will be {w1} times as much."),
        (Slip("in proportion", "it was let grow in proportion to time; the exponent is forgotten",
              lambda g: g.lift * g.later / g.years),
         Slip("only the rest", "this is what is still to come; the whole was asked for", lambda g: _later(g)[1][1] - g.lift),
         Slip("exponent as factor", "the exponent was multiplied; it is a power",
              lambda g: g.lift * g.later / g.years * g.exponent))),
)

EXERCISES = PROOF + SET_UP_DAY + OWN + YEAR + YEARS
