"""Exercises to notebooks 21 to 24 and 26: templates, order of work, what a joint holds, which joint, a joint of your own."""

from __future__ import annotations

from math import radians
from typing import Any

from lutherie_geom.lessons.common import ARM, LEVER_OVER, SPACING
from lutherie_geom.lessons.exercise import Exercise, Slip, among, steps
from lutherie_geom.show.exercise import MM_PER_INCH
from lutherie_geom.theory.access import cutter_margin, least_turn
from lutherie_geom.theory.contact import ball_in_cone, ball_in_vee, ball_on_flat, link
from lutherie_geom.theory.lever import screw_force
from lutherie_geom.theory.statics import reversing_load
from lutherie_geom.theory.steer import steer
from lutherie_geom.theory.templates import check_rise, template_offset

__all__ = ["EXERCISES"]


def _edge(g: Any, bush: float | None = None) -> Any:
    return template_offset(bush_diameter=MM_PER_INCH * g.bush if bush is None else bush, bit_diameter=g.bit)


TEMPLATES = (
    Exercise(
        "edge_of_the_template", "21", "mm",
        "A guide bush of {bush} runs along a template, with a bit of {bit}. How far does the template's edge stand off the "
        "edge that is cut, in mm?",
        {"bush": among("in", 0.625, 0.75, 0.875, 1.0), "bit": among("mm", 6, 8, 10, 12)},
        lambda g: (("the bush in mm", MM_PER_INCH * g.bush, "mm"), ("difference of the radii", _edge(g), "mm")),
        ("Put both in one unit. Where is the middle of the bit, seen from the template's edge?",
         "The bush keeps its radius from the edge, the bit cuts its own radius away: take the difference of the radii.",
         "The bush is {w1}. Take the bit off, and halve."),
        (Slip("diameters", "diameters were taken; the edge stands off by radii", lambda g: 2 * _edge(g), "double"),
         Slip("sum", "the radii were added; the bit cuts back toward the template",
              lambda g: _edge(g) + g.bit),
         Slip("bush alone", "the bit is forgotten: it has a radius too", lambda g: MM_PER_INCH * g.bush / 2)),
        metric=True),
    Exercise(
        "rise_of_a_check_block", "21", "mm",
        "A check block for a neck angle of {angle} is {run} long. How much higher is its one end, in mm?",
        {"angle": steps(0.3, 2.5, 0.1, "deg"), "run": steps(80, 200, 5, "mm")},
        lambda g: (("the angle in radians", radians(g.angle), "rad"),
                   ("rise", check_rise(run=g.run, alpha=radians(g.angle)), "mm")),
        ("A long thin wedge: length and angle give the height.",
         "For small angles the rise is the length times the angle in radians.",
         "The angle is {w1}. Multiply it by {run}."),
        (Slip("per hundred", "the degrees were taken for percent",
              lambda g: g.run * g.angle / 100),)),
)

ORDER = (
    Exercise(
        "cutter_beside_a_screw", "22", "mm",
        "The path of a cutter {cutter} in diameter passes the axis of a screw of {screw} at {distance}. How much room is "
        "left, in mm?",
        {"cutter": among("mm", 6, 8, 10, 12), "screw": among("mm", 4, 5, 6, 8, metric=True),
         "distance": steps(8.0, 14.0, 0.5, "mm")},
        lambda g: (("half of both together", (g.cutter + g.screw) / 2, "mm"),
                   ("room", cutter_margin(distance=g.distance, tool_diameter=g.cutter, screw_diameter=g.screw), "mm")),
        ("From edge to edge, not from middle to middle.",
         "Distance less both radii.",
         "Both radii are {w1}. Take them off {distance}."),
        (Slip("diameters", "whole diameters were taken off; radii belong there", lambda g: g.distance - g.cutter - g.screw),
         Slip("cutter alone", "only the cutter was taken off; the screw is thick too", lambda g: g.distance - g.cutter / 2),
         Slip("screw alone", "only the screw was taken off; the cutter is thick too", lambda g: g.distance - g.screw / 2),
         Slip("axes", "this is from middle to middle", lambda g: g.distance)),
        fits=lambda g: g.distance - (g.cutter + g.screw) / 2 >= 1.0 and abs(g.distance - g.cutter - g.screw) >= 0.5),
    Exercise(
        "smallest_turn_of_a_hand", "22", "turn",
        "A hand can just feel a step of {step} at the end of a key whose arm is {arm}. What is the smallest turn it can make?",
        {"step": steps(1.0, 3.0, 0.5, "mm"), "arm": steps(40, 100, 5, "mm")},
        lambda g: (("way of one whole turn", g.step / least_turn(hand_step=g.step, arm=g.arm), "mm"),
                   ("smallest turn", least_turn(hand_step=g.step, arm=g.arm), "turn")),
        ("How far does the end of the key go in one whole turn?",
         "The way of a whole turn is 2 pi times the arm. What part of it is the hand's step?",
         "A whole turn is {w1}. Divide {step} by it."),
        (Slip("diameter", "pi times the arm is half a turn's way",
                          lambda g: 2 * least_turn(hand_step=g.step, arm=g.arm), "double"),
         Slip("lever turned over", LEVER_OVER, lambda g: g.arm / g.step))),
)


def _rows(g: Any) -> tuple[float, float, float]:
    """Rows of the balls in cones, of those in vees, of the flats and the links."""
    ones = g.flats * len(ball_on_flat.outputs) + g.links * len(link.outputs)
    return g.cones * len(ball_in_cone.outputs), g.vees * len(ball_in_vee.outputs), ones


def _places(g: Any, number: int) -> float:
    import numpy as np

    from lutherie_geom.studies.first_order import propagate

    return float(propagate(np.ones(number), np.full(number, g.off)).standard)


HELD = (
    Exercise(
        "rows_of_a_joint", "23", "",
        "Of a joint {cones} balls stand in cones, {vees} in vee grooves, {flats} on flats, and {links} links hold it. How "
        "many rows does it have?",
        {"cones": among("", 2, 3), "vees": steps(2, 4, 1, ""), "flats": steps(2, 4, 1, ""), "links": steps(2, 3, 1, "")},
        lambda g: (("rows of cones and vees", sum(_rows(g)[:2]), ""), ("with flats and links", sum(_rows(g)), "")),
        ("A row is one motion forbidden. How many does a cone forbid to its ball, how many a groove?",
         "Three for a cone, two for a vee, one for a flat, one for a link. Add.",
         "Cones and vees have {w1}. One more for every flat and link."),
        (Slip("contacts", "the contacts were counted; a cone has three rows, a vee two",
              lambda g: g.cones + g.vees + g.flats + g.links),
         Slip("fights", "six were taken off; that may be the fights, the rows were asked for", lambda g: sum(_rows(g)) - 6),
         Slip("links", "the links are forgotten: each holds one length", lambda g: sum(_rows(g)) - g.links),
         Slip("vee for cone", "cone and vee have changed places", lambda g: 2 * g.cones + 3 * g.vees + g.flats + g.links)),
        within=0.008),
    Exercise(
        "forced_across", "23", "mm",
        "Two balls in two cones. Each of the four places across is off by up to {off}, none knows of the other. Add them as "
        "squares: what is forced across, in mm?",
        {"off": steps(0.06, 0.30, 0.01, "mm")},
        lambda g: (("squares added", _places(g, 4) ** 2, "mm²"), ("their root", _places(g, 4), "mm")),
        ("Two seats and two balls: four places, each counts in full.",
         "The root of four times the square.",
         "The squares add to {w1}. Take the root."),
        (Slip("straight", "they were added straight; all four seldom err to the same side", lambda g: 4 * g.off, "double"),
         Slip("one place", "only one place was counted", lambda g: g.off, "half"),
         Slip("two places", "only two places were counted: seats and balls both err", lambda g: _places(g, 2)),
         Slip("three places", "one of the four places is missing", lambda g: _places(g, 3)),
         Slip("root", "the root is forgotten", lambda g: _places(g, 4) ** 2)),
        metric=True),
)


def _other(g: Any) -> Any:
    pull = g.force / screw_force(pull=1.0, string_lever=g.lever, arm=g.arm)
    return (("pull of the strings", pull, "N"),
            ("force in the other screw", screw_force(pull=pull, string_lever=g.deeper, arm=g.other), "N"))


COMPARED = (
    Exercise(
        "push_that_slackens_the_screw", "24", "N",
        "The strings draw the tilt screw with {force}, {arm} under the pivot. A hand pushes the headstock's end back, "
        "{reach} from the pivot. At what push does the screw go slack, in N? (The neck's own weight left out; on paper only, "
        "strings up to pitch are never pushed against.)",
        {"force": steps(340, 460, 5, "N"), "arm": ARM, "reach": steps(500, 560, 2, "mm")},
        lambda g: (("turning moment of the screw", g.force * g.arm, "N mm"),
                   ("over the hand's reach", reversing_load(screw_force=g.force, arm=g.arm, reach=g.reach), "N")),
        ("The hand turns the neck against the strings, about the pivot. With what lever?",
         "Push times reach equals the screw's force times its arm.",
         "The screw turns with {w1}. Divide by {reach}."),
        (Slip("lever", "the levers are forgotten: hand and screw do not work at the same distance", lambda g: g.force),
         Slip("lever turned over", LEVER_OVER, lambda g: g.force * g.reach / g.arm),
         Slip("reach from the screw", "the reach was taken from the screw; the neck turns about the pivot",
              lambda g: g.force * g.arm / (g.reach + g.arm)))),
    Exercise(
        "force_with_a_deeper_pivot", "24", "N",
        "One joint has the strings' line {lever} over its pivot, an arm of {arm}, and {force} in its screw. Another has the "
        "line {deeper} over its pivot and an arm of {other}. What does its screw carry with the same strings, in N?",
        {"lever": steps(28, 40, 1, "mm"), "arm": ARM, "force": steps(340, 460, 5, "N"), "deeper": steps(50, 80, 1, "mm"),
         "other": steps(30, 50, 1, "mm")}, _other,
        ("The pull is the same. What changes are lever and arm.",
         "Force is pull times lever over arm: find the pull from the first joint, put it into the second.",
         "The pull is {w1}. Times the new lever, over the new arm."),
        (Slip("arm", "only the lever was changed; the arm is another too", lambda g: g.force * g.deeper / g.lever),
         Slip("lever", "only the arm was changed; the lever is another too", lambda g: g.force * g.arm / g.other),
         Slip("lever turned over", LEVER_OVER, lambda g: g.force * g.lever / g.deeper * g.arm / g.other))),
)


def _sixteenth(pitch: float, spacing: float) -> Any:
    """Yaw [rad] of 1/16 turn of one pivot screw, pitch [mm/turn], balls so far apart [mm]."""
    return steer(bass=0.0, treble=1 / 16, pitch_pivot=pitch, spacing=spacing).psi


def _calmer(g: Any) -> Any:
    part = _sixteenth(g.finer, g.wider) / _sixteenth(g.pitch, g.spacing)
    return ("yaw now over yaw before", part, ""), ("the nut end goes aside by", g.step * part, "mm")


OWN = (
    Exercise(
        "a_calmer_pivot_screw", "26", "mm",
        "1/16 turn of a pivot screw of {pitch} pitch moves the nut end {step} aside, the balls {spacing} apart. What does the "
        "same turn do with {finer} of pitch and the balls {wider} apart, in mm?",
        {"pitch": among("mm", 1.0, 1.25, metric=True), "finer": among("mm", 0.5, 0.7, 0.75, 0.8, metric=True),
         "spacing": SPACING, "wider": steps(44, 52, 1, "mm"), "step": steps(0.5, 0.9, 0.02, "mm")}, _calmer,
        ("Two things change. Does each make the turn do more, or less?",
         "The yaw is the way of the screw over the distance of the balls; the nut end goes with the yaw.",
         "The yaw is {w1} of what it was. Multiply {step} by it."),
        (Slip("pitch", "the finer thread is forgotten", lambda g: g.step * g.spacing / g.wider),
         Slip("spacing", "the balls' distance is forgotten", lambda g: g.step * g.finer / g.pitch),
         Slip("lever turned over", "balls further apart make the turn do less, not more",
              lambda g: g.step * g.finer / g.pitch * g.wider / g.spacing))),
)

EXERCISES = TEMPLATES + ORDER + HELD + COMPARED + OWN
