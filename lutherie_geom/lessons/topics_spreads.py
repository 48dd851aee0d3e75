"""Exercises to notebooks 08 to 11: which hundredth matters, at worst and in practice, before and after set-up, how loose."""

from __future__ import annotations

from functools import cache
from math import sqrt
from typing import Any

import numpy as np

from lutherie_geom.lessons.common import ARM, COMPENSATION, NO_PITCH, PITCH, RATE, SCALE
from lutherie_geom.lessons.exercise import Also, Exercise, Slip, among, steps
from lutherie_geom.theory.action import saddle_rule
from lutherie_geom.theory.optima import step_rule
from lutherie_geom.theory.scale import fret_distance

__all__ = ["EXERCISES"]


def _sd(half: float, kind: str = "normal") -> float:
    from lutherie_geom.design.spread import Spread

    return Spread.plus_minus(half, kind).standard_deviation


def _total(*parts: float) -> float:
    """Standard deviation of a sum of independent errors."""
    from lutherie_geom.studies.first_order import propagate

    return propagate(np.ones(len(parts)), np.array(parts)).standard


def _part(g: Any) -> Any:
    return (("standard deviation of the cut", _sd(g.tolerance), "mm"), ("times the slope", g.slope * _sd(g.tolerance), "mm"))


def _narrower(g: Any) -> Any:
    first, second = g.first / 100, g.second / 100
    left = _total(sqrt(first) / 2, sqrt(second) / 2, sqrt(1 - first - second))
    return ("variance left over", left**2, ""), ("± now", g.width * left, "mm")


HUNDREDTHS = (
    Exercise(
        "what_one_cut_brings", "08", "mm",
        "A depth is cut to ± {tolerance}, and ± means two standard deviations. 1 mm of it moves the action by {slope}. What "
        "does this error bring to the action, as one standard deviation in mm?",
        {"tolerance": steps(0.2, 0.5, 0.05, "mm"), "slope": steps(2.2, 2.7, 0.05, "mm")}, _part,
        ("How far is the cut off as a rule, and how far does that move the action?",
         "Slope times standard deviation. Which part of ± is one standard deviation?",
         "One standard deviation of the cut is {w1}. Multiply it by the slope."),
        (Slip("± for one deviation", "± was taken for one standard deviation; here it means two",
              lambda g: g.slope * g.tolerance, "double"),
         Slip("slope", "the slope is forgotten: the action moves more than the cut", lambda g: _sd(g.tolerance)),
         Slip("variance", "this is the variance; its root was asked for", lambda g: (g.slope * _sd(g.tolerance)) ** 2),
         Slip("rectangular", "± was taken for hard limits; here it means two standard deviations",
              lambda g: g.slope * _sd(g.tolerance, "rectangular"))),
        metric=True),
    Exercise(
        "two_cut_twice_as_well", "08", "mm",
        "95 in 100 lie within ± {width} of the action wanted. Of the variance one depth has {first}, another {second}. Both "
        "are cut twice as well. Within ± how many mm do 95 in 100 lie now?",
        {"width": steps(1.0, 1.6, 0.02, "mm"), "first": steps(22, 32, 1, "%"), "second": steps(15, 27, 1, "%")}, _narrower,
        ("Shares are of the variance, and variance goes by squares.",
         "Half the spread leaves a quarter of the share. Add what is left, then take the root.",
         "Of the variance {w1} is left. Take its root, times {width}."),
        (Slip("half the share", "half the spread was taken for half the share; it is a quarter",
              lambda g: g.width * sqrt(1 - (g.first + g.second) / 200)),
         Slip("root", "the root is forgotten: shares are of the variance, ± goes by its root",
              lambda g: g.width * _narrower(g)[0][1]),
         Slip("gone", "both errors were taken away altogether; cut twice as well, a quarter of each stays",
              lambda g: g.width * sqrt(1 - (g.first + g.second) / 100)))),
)

WORST = (
    Exercise(
        "stack_in_practice", "09", "mm",
        "{parts} shims alike, each ± {tolerance} (two standard deviations), lie on each other. Within ± how many mm do 95 in "
        "100 stacks lie?",
        {"parts": steps(5, 12, 1, ""), "tolerance": steps(0.04, 0.20, 0.01, "mm")},
        lambda g: (("root of the number of parts", _total(*[1.0] * int(g.parts)), ""),
                   ("± of the stack", 2 * _total(*[_sd(g.tolerance)] * int(g.parts)), "mm")),
        ("How often do all of them err to the same side at once?",
         "Independent errors add by their squares: the sum grows as the root of the number of parts.",
         "The root is {w1}. Multiply it by {tolerance}."),
        (Slip("worst case", "this is the worst case, all errors to the same side", lambda g: g.parts * g.tolerance),
         Slip("mean", "this is the error of the mean; the parts are stacked, not averaged",
                      lambda g: g.tolerance / sqrt(g.parts)),
         Slip("one part", "this is the error of a single part", lambda g: g.tolerance),
         Slip("one deviation", "this is one standard deviation; 95 in 100 lie within two",
              lambda g: _total(*[_sd(g.tolerance)] * int(g.parts)), "half"))),
    Exercise(
        "what_a_gauge_lets_pass", "09", "mm",
        "A gauge lets pass whatever lies within ± {limit}, and all of it is as likely. What is the standard deviation, in mm?",
        {"limit": steps(0.10, 0.60, 0.02, "mm")},
        lambda g: (("half of the way from limit to limit", g.limit, "mm"),
                   ("half / root 3", _sd(g.limit, "rectangular"), "mm")),
        ("No hump in the middle: is the standard deviation then larger or smaller than half the limit?",
         "For an even spread it is the half over the root of three.",
         "Divide {limit} by 1.732."),
        (Slip("normal", "the spread was taken for a bell; between hard limits all is as likely", lambda g: _sd(g.limit)),
         Slip("triangular", "the spread was taken for a triangle; all is as likely", lambda g: _sd(g.limit, "triangular")),
         Slip("whole width", "the whole way from limit to limit was taken for its half",
              lambda g: 2 * _sd(g.limit, "rectangular"), "double"),
         Slip("width over root 12", "the root of twelve belongs to the whole way from limit to limit, not to its half",
              lambda g: _sd(g.limit, "rectangular") / 2, "half"),
         Slip("limit", "this is the limit itself", lambda g: g.limit))),
)


def _click(g: Any) -> Any:
    step = step_rule(rate=g.rate, tilt=1 / g.clicks, pitch_tilt=g.pitch, arm=g.arm)
    return ("one click moves the action by", step, "mm"), ("half of a click", step / 2, "mm")


def _error(g: Any) -> Any:
    return saddle_rule(saddle_lift=g.high, nut_to_fret=g.to_fret, nut_to_saddle=g.to_saddle)


SET_UP = (
    Exercise(
        "clicks_of_the_key", "10", "mm",
        "A radian of tilt is {rate} of action. Pitch {pitch}, arm {arm}; the key clicks {clicks} times in a turn. How far "
        "off can the action be at worst with this screw alone, in mm?",
        {"rate": RATE, "pitch": PITCH, "arm": ARM, "clicks": among("", 12, 16, 24, 32)}, _click,
        ("You take the nearer of two clicks: how far can it be?",
         "One click tilts by pitch over arm over the clicks of a turn; half of a click is the worst that can be left.",
         "One click is worth {w1} of action. The worst is half of it."),
        (Slip("whole click", "this is a whole click; the nearer of two is never further than half of one",
              lambda g: 2 * _click(g)[1][1], "double"),
         Slip("lever", "this is how far the screw moves; the action has another lever", lambda g: g.pitch / g.clicks / 2),
         Slip("pitch", NO_PITCH, lambda g: _click(g)[1][1] / g.pitch))),
    Exercise(
        "one_string_too_high", "10", "mm",
        "One string's saddle is {high} too high; all else is right. Its fret {fret} lies {to_fret} from the nut, the saddle "
        "{to_saddle}. What error of its action is left at that fret, in mm? (Too high is positive.)",
        {"high": steps(0.10, 0.40, 0.02, "mm"), "fret": among("", 5, 7, 9, 10), "scale": SCALE, "compensation": COMPENSATION},
        lambda g: (("fret over saddle, both from the nut", g.to_fret / g.to_saddle, ""), ("error at the fret", _error(g), "mm")),
        ("No screw lifts one string. What does the straight line from nut to saddle do?",
         "The fret gets its distance from the nut over the saddle's distance from the nut.",
         "Fret over saddle is {w1}. Multiply {high} by it."),
        (Slip("lever", "the fret gets only its part of the string's length", lambda g: g.high),
         Slip("fret 12", "half is right at fret 12 only", lambda g: g.high / 2),
         Slip("wrong end", "the part was measured from the saddle; the string stays at the nut", lambda g: g.high - _error(g))),
        also={"to_fret": Also(lambda g: fret_distance(scale=g.scale, fret=g.fret), "mm"),
              "to_saddle": Also(lambda g: g.scale + g.compensation, "mm")}),
)


@cache
def _held(times: float) -> float:
    """What the search of the library holds a size to that counts so many times, for 1 where it counts plainly [1]."""
    from lutherie_geom.studies.allocation import Curve, Problem, Windows, allocate

    hand = Curve("by hand", fixed=0.0, work=2.0, power=1.0, tightest=0.001, loosest=5.0)
    window = Windows(("action",), *np.array([[2.4], [2.2], [2.6]]))
    sizes = Problem(("plain", "counts more"), np.array([[1.0, times]]), window, (hand, hand))
    plain, more = allocate(sizes, 0.9).spreads
    return more.half / plain.half


@cache
def _prototypes(share: float, confidence: float = 0.95) -> int:
    from lutherie_geom.studies.counting import prototypes

    return prototypes(share / 100, confidence)


LOOSE = (
    Exercise(
        "counts_more", "11", "mm",
        "A size that counts plainly is held to ± {plain}. Another, made by the same hand with the same work (half the error, "
        "twice the time), counts {times} times as much. To what ± is it held for the least work in all, in mm?",
        {"plain": steps(0.20, 0.40, 0.01, "mm"), "times": steps(2, 5, 1, "")},
        lambda g: (("one over the cube root of the square", _held(g.times), ""), ("held to ±", g.plain * _held(g.times), "mm")),
        ("Tighter, surely; but in proportion? Its last hundredth costs more and more.",
         "The work goes as 1/t, the variance as (times x t) squared; where both slopes balance, t goes as times to the power "
         "-2/3.",
         "The factor is {w1}. Multiply {plain} by it."),
        (Slip("in proportion", "it was held tighter in proportion; the work that costs is forgotten",
                               lambda g: g.plain / g.times),
         Slip("root", "the square root was taken; it is the cube root, of the square", lambda g: g.plain / sqrt(g.times)),
         Slip("cube root", "the square is forgotten: the cube root, of the square", lambda g: g.plain / g.times ** (1 / 3)))),
    Exercise(
        "how_many_without_a_miss", "11", "",
        "How many joints, all in the window, must be built before \"{share} of all joints to come are in it\" may be said, 95 "
        "times in 100 rightly?",
        {"share": steps(75, 96, 1, "%")},
        lambda g: (("n so large that share to the power n is at most 1/20", _prototypes(g.share), ""),),
        ("If the share were just a little less, how likely would so many without a miss still be?",
         "The share to the power n must be at most 1 in 20. Logarithms give n; take the next whole number.",
         "n is the logarithm of 0.05 over the logarithm of {share}, taken as a part of one, and rounded up."),
        (Slip("expected", "so many hold one miss on average; that is no proof",
              lambda g: 1 / (1 - g.share / 100)),
         Slip("9 in 10", "1 in 10 was allowed; the claim must be right 95 times in 100", lambda g: _prototypes(g.share, 0.90)),
         Slip("rounded down", "it was rounded down: so many are just not enough", lambda g: _prototypes(g.share) - 1)),
        within=0.004),
)

EXERCISES = HUNDREDTHS + WORST + SET_UP + LOOSE
