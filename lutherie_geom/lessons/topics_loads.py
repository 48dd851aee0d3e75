"""Exercises to notebooks 12 to 15: forces, strength, tongue and rods, the freed top."""

from __future__ import annotations

from math import log
from typing import Any

from lutherie_geom.lessons.common import ARM, LEVER_OVER, SPACING
from lutherie_geom.lessons.exercise import Exercise, Slip, steps
from lutherie_geom.theory.beam import layer, round_rod
from lutherie_geom.theory.lever import screw_force
from lutherie_geom.theory.plate import frequency_change
from lutherie_geom.theory.statics import lift_side_load
from lutherie_geom.theory.stiffness import in_series
from lutherie_geom.theory.strength import preload_lost

__all__ = ["EXERCISES"]

STIFF = 1e9  # N/mm: screw and wood, left out beside disc springs
PART = "this is a part of one; percent are wanted"


def _push(g: Any) -> Any:
    return lift_side_load(seat_total=g.total, spacing=g.spacing, distance=g.distance)


FORCES = (
    Exercise(
        "force_in_the_tilt_screw", "12", "N",
        "The strings pull {pull}; their line passes {lever} over the pivot axis, and the tilt screw works {arm} under it. "
        "What does the tilt screw carry, in N?",
        {"pull": steps(600, 800, 10, "N"), "lever": steps(28, 42, 1, "mm"), "arm": ARM},
        lambda g: (("turning moment of the strings", g.pull * g.lever, "N mm"),
                   ("over the screw's arm", screw_force(pull=g.pull, string_lever=g.lever, arm=g.arm), "N")),
        ("A see-saw about the pivot axis: strings over it, screw under it.",
         "Pull times its lever equals the screw's force times the arm.",
         "The strings turn with {w1}. Divide by {arm}."),
        (Slip("lever", "the levers are forgotten: pull and screw do not work at the same distance", lambda g: g.pull),
         Slip("lever turned over", LEVER_OVER, lambda g: g.pull * g.arm / g.lever))),
    Exercise(
        "push_that_lifts_a_seat", "12", "N",
        "The clamp screw is slack. The seats, {spacing} apart, carry {total} together. A hand pushes sideways {distance} "
        "from the pivot axis. At which push does one seat carry nothing any more, in N? (On paper only: strings up to pitch "
        "and a slack clamp screw are never tried by hand.)",
        {"total": steps(900, 1600, 50, "N"), "spacing": SPACING, "distance": steps(480, 560, 5, "mm")},
        lambda g: (("moment about the seat that stays", g.total * g.spacing / 2, "N mm"),
                   ("over the hand's distance", _push(g), "N")),
        ("The neck swings about one seat while the other comes up. Take moments about the seat that stays.",
         "The load of both works in the middle, half the distance of the seats away; the hand at its own distance.",
         "About the seat that stays the load turns with {w1}. Divide by {distance}."),
        (Slip("whole distance", "the whole distance of the seats was taken; the load works in the middle",
              lambda g: 2 * _push(g), "double"),
         Slip("one seat's load", "half the load was taken, and half the distance: one of them twice",
              lambda g: _push(g) / 2, "half"))),
)


def _wound(g: Any) -> Any:
    both = in_series(stiffness_1=g.screw, stiffness_2=g.wood)
    return ("both, one behind the other", both, "N/mm"), ("way = force / stiffness", g.force / both, "mm")


def _lost(g: Any) -> Any:
    lost = preload_lost(bedding=g.shrinks, screw_stiffness=g.springs, member_stiffness=STIFF)
    return ("preload lost", lost, "N"), ("of what there was", 100 * lost / g.preload, "%")


STRENGTH = (
    Exercise(
        "how_far_the_key_winds_in", "13", "mm",
        "A screw of {screw} and wood of {wood} are drawn together with {force}. How far does the key wind in, in mm?",
        {"screw": steps(40000, 60000, 1000, "N/mm"), "wood": steps(14000, 24000, 500, "N/mm"),
         "force": steps(900, 1800, 50, "N")},
        _wound,
        ("The same force goes through both. Which of them gives more?",
         "Each gives by force over stiffness; the ways add.",
         "Together they are as stiff as {w1}. Divide {force} by it."),
        (Slip("side by side", "the stiffnesses were added, as if they lay side by side", lambda g: g.force / (g.screw + g.wood)),
         Slip("screw alone", "only the screw was counted; the wood gives more", lambda g: g.force / g.screw),
         Slip("wood alone", "only the wood was counted", lambda g: g.force / g.wood))),
    Exercise(
        "preload_when_wood_shrinks", "13", "%",
        "Disc springs of {springs} carry {preload}, and the wood shrinks by {shrinks}. How many percent of the preload are "
        "lost? (Screw and wood are so stiff beside the springs that they may be left out.)",
        {"springs": steps(200, 500, 20, "N/mm"), "preload": steps(700, 1200, 50, "N"), "shrinks": steps(0.06, 0.24, 0.02, "mm")},
        _lost,
        ("How far were the springs pressed? How much of that way is gone?",
         "The loss is stiffness times way, over the preload.",
         "{w1} are lost. How many percent of {preload} is that?"),
        (Slip("part of one", PART, lambda g: _lost(g)[1][1] / 100),
         Slip("newtons", "these are the newtons lost; percent of the preload are wanted", lambda g: _lost(g)[0][1]),
         Slip("what stays", "this is what stays; the loss was asked for", lambda g: 100 - _lost(g)[1][1])),
        metric=True),
)


def _rods(g: Any, diameter: float | None = None) -> Any:
    """Bending stiffness of two rods on the neutral axis [N mm²], moduli given in GPa."""
    return 2 * g.modulus * 1000 * round_rod(rod_diameter=diameter or g.diameter).second_moment


def _thicker(g: Any) -> Any:
    before, after = (layer(breadth=57.0, thickness=t, modulus=12000.0, bottom=0.0).rigidity for t in (g.thick, g.thick + g.more))
    return ("stiffness after over before", after / before, ""), ("gain", 100 * (after / before - 1), "%")


TONGUE = (
    Exercise(
        "what_two_rods_bring", "14", "%",
        "Two rods {diameter} thick, of {modulus}, lie exactly on the neutral axis of a tongue of {rigidity}. How many "
        "percent do they bring?",
        {"diameter": steps(2.0, 4.0, 0.5, "mm"), "modulus": steps(110, 150, 5, "GPa"), "rigidity": steps(15, 30, 0.5, "N m²")},
        lambda g: (("both rods", _rods(g) / 1e6, "N m²"), ("of the tongue, in percent",
                                                           100 * _rods(g) / (g.rigidity * 1e6), "%")),
        ("On the neutral axis a rod has nothing but its own stiffness. All in N and mm first.",
         "A round rod has a second moment of pi/64 times the diameter to the fourth; times modulus, times two. 1 N m² is a "
         "million N mm².",
         "Both rods have {w1}. How many percent of {rigidity} is that?"),
        (Slip("radius", "the radius was put in for the diameter: to the fourth power that is a sixteenth",
              lambda g: 100 * _rods(g, g.diameter / 2) / (g.rigidity * 1e6)),
         Slip("diameter", "the diameter was put in for a radius: to the fourth power that is sixteen times",
              lambda g: 100 * _rods(g, g.diameter * 2) / (g.rigidity * 1e6)),
         Slip("one rod", "only one of the two rods was counted", lambda g: 50 * _rods(g) / (g.rigidity * 1e6), "half"),
         Slip("part of one", PART, lambda g: _rods(g) / (g.rigidity * 1e6))),
        metric=True),
    Exercise(
        "a_thicker_tongue", "14", "%",
        "A tongue of one wood, {thick} thick, is left {more} thicker. How many percent does its bending stiffness gain?",
        {"thick": steps(7.0, 10.0, 0.1, "mm"), "more": steps(0.3, 0.9, 0.1, "mm")}, _thicker,
        ("Stiffness does not go with the thickness alone: with which power of it?",
         "Bending stiffness goes as the thickness to the third power.",
         "After over before is {w1}. The gain is what is more than one."),
        (Slip("straight", "stiffness was taken to go as the thickness; it goes as its third power",
                          lambda g: 100 * g.more / g.thick),
         Slip("square", "the square was taken; stiffness goes as the third power",
              lambda g: 100 * ((1 + g.more / g.thick) ** 2 - 1)),
         Slip("part of one", PART, lambda g: _thicker(g)[0][1] - 1),
         Slip("whole", "this is the new stiffness in percent of the old; the gain was asked for",
                       lambda g: 100 * _thicker(g)[0][1]))),
)


def _grams(g: Any) -> Any:
    area = g.length * g.width / 100
    wood, board = area * g.wood / 10 * g.light, area * g.board / 10 * g.heavy
    return ("neck wood", wood, "g"), ("board", board, "g"), ("together", wood + board, "g")


TOP = (
    Exercise(
        "weight_off_the_top", "15", "g",
        "A tongue of {length} by {width}: {wood} of neck wood of {light} (its taper left out) and a board of {board} of "
        "{heavy}. How many grams does a floating one leave off the top?",
        {"length": steps(80, 116, 1, "mm"), "width": steps(55, 60, 1, "mm"), "wood": steps(2.4, 4.0, 0.1, "mm"),
         "light": steps(0.45, 0.60, 0.01, "g/cm³"), "board": steps(5.4, 7.0, 0.1, "mm"),
         "heavy": steps(0.80, 1.05, 0.01, "g/cm³")},
        _grams,
        ("Two slabs of the same outline. Densities are for cubic centimetres.",
         "Area in cm² times thickness in cm times density, for each of the two.",
         "The neck wood weighs {w1}, the board {w2}."),
        (Slip("cubic millimetres", "cubic millimetres were put in for cubic centimetres: a thousand times too much",
              lambda g: 1000 * _grams(g)[2][1]),
         Slip("board alone", "only the board was weighed", lambda g: _grams(g)[1][1]),
         Slip("wood alone", "only the neck wood was weighed", lambda g: _grams(g)[0][1])),
        metric=True),
    Exercise(
        "cents_of_the_top", "15", "cent",
        "An area rings at {before} with the tongue held down and at {after} without. What is the change in cents? (Lower is "
        "negative.)",
        {"before": steps(180, 240, 2, "Hz"), "after": steps(140, 220, 2, "Hz")},
        lambda g: (("after over before", g.after / g.before, ""),
                   ("1200 x logarithm to the base of two", frequency_change(before=g.before, after=g.after).cents, "cent")),
        ("An octave down is minus 1200 cents and half the frequency.",
         "1200 times the logarithm, to the base of two, of after over before.",
         "After over before is {w1}. Its logarithm to the base of two, times 1200."),
        (Slip("percent", "these are percent, not cents", lambda g: frequency_change(before=g.before, after=g.after).percent),
         Slip("natural logarithm", "the natural logarithm was taken; an octave goes by the base of two",
              lambda g: 1200 * log(g.after / g.before)),
         Slip("semitones", "these are semitones; a semitone has a hundred cents",
              lambda g: frequency_change(before=g.before, after=g.after).cents / 100)),
        fits=lambda g: 0.7 < g.after / g.before < 0.95),
)

EXERCISES = FORCES + STRENGTH + TONGUE + TOP
