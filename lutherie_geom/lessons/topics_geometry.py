"""Exercises to notebooks 01, 02, 03 and 05: travel, dome, neck set, heel."""

from __future__ import annotations

from math import cos, degrees, radians, sin
from typing import Any

from lutherie_geom.lessons.common import ARM, COMPENSATION, FOOT, LOWER, NO_PITCH, PITCH, SCALE, tilt, tilt_line
from lutherie_geom.lessons.exercise import Also, Exercise, Slip, among, steps
from lutherie_geom.theory.action import action_rate, saddle_rule
from lutherie_geom.theory.dome import radius_from_sagitta, sagitta
from lutherie_geom.theory.heel import foot_in, foot_out, foot_rule
from lutherie_geom.theory.scale import fret_distance
from lutherie_geom.theory.tongue import gap_below

__all__ = ["EXERCISES"]

MM_PER_FOOT = 304.8
BEHIND = steps(86, 112, 1, "mm")


def _gap_change(behind: float, angle: Any) -> Any:
    """Change of the gap [mm] a way behind the pivot [mm], neck raised by an angle [rad]; the dome's slope left out."""
    place = dict(x=behind, y=0.0, z_under=0.0, curvature=0.0, x_apex=0.0, along=1.0, across=1.0, cos_psi=1.0, sin_psi=0.0,
                 advance=0.0, x_p=0.0, z_p=0.0)
    return gap_below(**place, cos_theta=cos(angle), sin_theta=sin(angle)) - gap_below(**place, cos_theta=1.0, sin_theta=0.0)


def _floor(g: Any) -> Any:
    return (tilt_line(g),
            ("floor clearance = foot below the pivot x tilt", foot_in(below_pivot=g.foot, behind_pivot=0.0, angle=tilt(g)), "mm"))


def _turns_down(g: Any) -> Any:
    per_turn = foot_rule(below_pivot=g.foot, angle=tilt(g, 1.0))
    return ("one turn moves the foot by", per_turn, "mm"), ("turns, down negative", -g.clearance / per_turn, "turn")


def _gap_used(g: Any) -> Any:
    return tilt_line(g), ("gap used = tongue's end behind the pivot x tilt", -_gap_change(g.behind, tilt(g)), "mm")


TRAVEL = (
    Exercise(
        "floor_for_travel", "01", "mm",
        "The tilt screw shall go down by {turns}. Its pitch is {pitch}, its arm {arm}; the foot of the heel lies {foot} "
        "below the pivot. How much floor clearance does the foot need, in mm?",
        {"turns": steps(0.5, 1.5, 1 / 8, "turn"), "pitch": PITCH, "arm": ARM, "foot": FOOT}, _floor,
        ("First the angle, then the foot: how far does the neck tilt for those turns?",
         "Tilt in radians is pitch times turns over the arm. The foot moves by its depth below the pivot times the tilt.",
         "The tilt is {w1}. Multiply it by {foot}."),
        (Slip("lever", "the foot was moved as far as the screw: the foot's own lever about the pivot is forgotten",
              lambda g: g.pitch * g.turns),
         Slip("lever turned over", "arm and depth of the foot have changed places", lambda g: g.pitch * g.turns * g.arm / g.foot),
         Slip("turns for degrees", "the turns were taken for degrees of tilt", lambda g: g.foot * radians(g.turns)),
         Slip("pitch", NO_PITCH, lambda g: g.foot * g.turns / g.arm))),
    Exercise(
        "turns_to_the_floor", "01", "turn",
        "The heel stands {clearance} off the pocket's floor. Pitch {pitch}, arm {arm}, foot {foot} below the pivot. At how many "
        "turns of the tilt screw does the foot meet the floor? (Down is negative.)",
        {"clearance": steps(0.8, 2.2, 0.1, "mm"), "pitch": PITCH, "arm": ARM, "foot": FOOT}, _turns_down,
        ("How far does the foot move for one whole turn?",
         "One turn tilts the neck by pitch over arm, in radians; the foot moves by its depth below the pivot times that.",
         "One turn moves the foot by {w1}. How many turns make {clearance}? Mind the sign."),
        (Slip("lever", "the foot was moved as far as the screw: the foot's own lever about the pivot is forgotten",
              lambda g: -g.clearance / g.pitch),
         Slip("lever turned over", "arm and depth of the foot have changed places",
              lambda g: -g.clearance * g.foot / g.arm / g.pitch),
         Slip("pitch", NO_PITCH, lambda g: -g.clearance * g.arm / g.foot))),
    Exercise(
        "gap_used", "01", "mm",
        "{turns} up lower the end of the tongue. Pitch {pitch}, arm {arm}; the end lies {behind} behind the pivot. How much "
        "of the gap is used there, in mm? (Leave the dome's slope out.)",
        {"turns": steps(1 / 8, 3 / 4, 1 / 16, "turn"), "pitch": PITCH, "arm": ARM, "behind": BEHIND}, _gap_used,
        ("Nut up, tongue down: the whole neck turns about one axis. Which?",
         "Tilt in radians is pitch times turns over the arm. The end moves by its distance from the pivot times the tilt.",
         "The tilt is {w1}. Multiply it by {behind}."),
        (Slip("lever", "the tongue's end was moved as far as the screw: its own lever about the pivot is forgotten",
              lambda g: g.pitch * g.turns),
         Slip("turns for degrees", "the turns were taken for degrees of tilt", lambda g: g.behind * radians(g.turns)),
         Slip("pitch", NO_PITCH, lambda g: g.behind * g.turns / g.arm))),
)

DOME = (
    Exercise(
        "arc_over_the_tongue", "02", "mm",
        "The dome has a radius of {radius}, the tongue is {length} long. How high is the arc over the tongue's length, in mm?",
        {"radius": among("ft", 20, 22, 25, 28, 30, 32), "length": steps(80, 116, 1, "mm")},
        lambda g: (("the radius in mm", g.radius * MM_PER_FOOT, "mm"),
                   ("arc = length squared / (8 x radius)", sagitta(radius=g.radius * MM_PER_FOOT, chord=g.length), "mm")),
        ("Put all in one unit first: one foot is 304.8 mm.",
         "The height of a flat arc is its chord squared, over eight times the radius.",
         "The radius is {w1}. Square {length}, divide by eight of that."),
        (Slip("whole chord", "the whole chord was used where half of it belongs: it is squared, so the error is fourfold",
              lambda g: 4 * sagitta(radius=g.radius * MM_PER_FOOT, chord=g.length)),
         Slip("radius in inches", "the radius was put in as inches, the length as millimetres",
              lambda g: sagitta(radius=g.radius * 12, chord=g.length), "25.4 twice"),
         Slip("eighth", "the eighth is forgotten", lambda g: 8 * sagitta(radius=g.radius * MM_PER_FOOT, chord=g.length))),
        metric=True),
    Exercise(
        "radius_from_a_bar", "02", "mm",
        "A caliper bar with feet {chord} apart stands on a dome; in its middle the top rises {rise} over the line of the "
        "feet. The dome's radius, in mm?",
        {"chord": steps(200, 320, 10, "mm"), "rise": steps(0.8, 2.2, 0.05, "mm")},
        lambda g: (("the chord squared", g.chord**2, "mm²"),
                   ("radius = chord squared / (8 x rise)", radius_from_sagitta(rise=g.rise, chord=g.chord), "mm")),
        ("A long radius gives a small rise: which of the two stands below the line?",
         "The radius is the chord squared, over eight times the rise.",
         "The chord squared is {w1}. Divide it by eight times {rise}."),
        (Slip("whole chord", "the whole chord was used where half of it belongs: it is squared, so the error is fourfold",
              lambda g: 4 * radius_from_sagitta(rise=g.rise, chord=g.chord)),
         Slip("eighth", "the eighth is forgotten", lambda g: 8 * radius_from_sagitta(rise=g.rise, chord=g.chord)),
         Slip("feet", "it looks like feet; millimetres are wanted",
              lambda g: radius_from_sagitta(rise=g.rise, chord=g.chord) / MM_PER_FOOT)),
        metric=True, fits=lambda g: 5000 < g.chord**2 / 8 / g.rise < 12000),
    Exercise(
        "gap_at_the_end", "02", "mm",
        "The neck is raised by {angle}. The tongue's end lies {behind} behind the pivot, and the pivot {below} under the "
        "top. Change of the gap at the end, in mm? (Smaller is negative; leave the dome's slope out.)",
        {"angle": steps(0.2, 0.8, 0.05, "deg"), "behind": BEHIND, "below": steps(16, 24, 1, "mm")},
        lambda g: (("the angle in radians", radians(g.angle), "rad"),
                   ("change = - distance behind the pivot x angle", _gap_change(g.behind, radians(g.angle)), "mm")),
        ("The end swings about the pivot axis: which of the two distances lies across the motion?",
         "The way is the distance behind the pivot times the angle in radians. Does the gap open or close?",
         "The angle is {w1}. Multiply it by {behind}; the gap gets smaller."),
        (Slip("wrong lever", "the pivot's depth was used: it moves the end lengthwise, not down",
              lambda g: -g.below * radians(g.angle)),)),
)


def _to_fret(g: Any) -> Any:
    return fret_distance(scale=g.scale, fret=g.fret)


def _to_saddle(g: Any) -> float:
    return float(g.scale + g.compensation)


def _saddle(g: Any) -> Any:
    moved = saddle_rule(saddle_lift=1.0, nut_to_fret=g.to_fret, nut_to_saddle=g.to_saddle)
    return ("part of the saddle's change that the fret gets", moved, ""), ("change of the saddle", -g.lower / moved, "mm")


def _angle(g: Any) -> Any:
    rate = action_rate(nut_to_fret=g.to_fret, nut_to_pivot=g.to_joint, nut_to_saddle=g.to_saddle)
    return (("action for one radian about the joint", rate, "mm/rad"), ("angle in radians", g.lower / rate, "rad"),
            ("in degrees", degrees(g.lower / rate), "deg"))


NECK_SET = (
    Exercise(
        "saddle_alone", "03", "mm",
        "The action at fret {fret} shall come down by {lower}, by the saddle alone. The fret lies {to_fret} from the nut, "
        "the saddle {to_saddle}. Change of the saddle's height, in mm? (Up is positive.)",
        {"scale": SCALE, "compensation": COMPENSATION, "fret": among("", 9, 10, 14, 15), "lower": LOWER}, _saddle,
        ("The string is a straight line that stays where it is at the nut.",
         "Of the saddle's change the fret gets its distance from the nut over the saddle's distance from the nut.",
         "The fret gets {w1} of the saddle's change. How much saddle makes {lower}? Mind the sign."),
        (Slip("lever", "the saddle was moved as far as the action: the fret gets only its part of the string's length",
              lambda g: -g.lower),
         Slip("lever turned over", "fret and saddle have changed places: the saddle must move more than the action",
              lambda g: -g.lower * g.to_fret / g.to_saddle),
         Slip("wrong end", "the part was measured from the saddle; the string stays at the nut",
              lambda g: -g.lower * g.to_saddle / (g.to_saddle - g.to_fret))),
        also={"to_fret": Also(_to_fret, "mm"), "to_saddle": Also(_to_saddle, "mm")}),
    Exercise(
        "angle_alone", "03", "deg",
        "The action at fret 12 shall come down by {lower}, by the neck angle alone. From the nut: fret 12 {to_fret}, the joint "
        "{to_joint}, the saddle {to_saddle}. Change of the neck angle, in degrees? (Steeper is positive.)",
        {"scale": SCALE, "compensation": COMPENSATION, "joint": among("", 13, 14), "lower": LOWER}, _angle,
        ("The saddle stays; the neck turns about the joint. What happens to the string over fret 12?",
         "A radian of angle is worth the fret's distance from the nut, times one less the joint's over the saddle's distance.",
         "A radian is worth {w1}, so the angle is {w2}. Give it in degrees."),
        (Slip("lever", "the joint is forgotten: the neck does not turn about the nut, and the string follows it only in part",
              lambda g: degrees(g.lower / g.to_fret)),
         Slip("wrong lever", "the part from nut to joint was used; it is one less that part",
              lambda g: degrees(g.lower / (g.to_fret * g.to_joint / g.to_saddle)))),
        also={"to_fret": Also(lambda g: fret_distance(scale=g.scale, fret=12), "mm"),
              "to_joint": Also(lambda g: fret_distance(scale=g.scale, fret=g.joint), "mm"),
              "to_saddle": Also(_to_saddle, "mm")}),
)


def _pocket(g: Any) -> Any:
    out = foot_out(below_pivot=g.foot, behind_pivot=0.0, angle=radians(g.up))
    return (("the foot comes out by", out, "mm"), ("depth = clearance + way out + what stays hidden",
                                                   g.clearance + out + g.reserve,
                                                   "mm"))


def _per_radian(g: Any) -> Any:
    return 10 * foot_rule(below_pivot=g.foot, angle=0.1)


HEEL = (
    Exercise(
        "floor_for_an_angle", "05", "mm",
        "The neck shall go down by {down}. The tilt screw's arm is {arm}, the foot of the heel lies {foot} below the pivot. "
        "How much floor clearance does the foot need, in mm?",
        {"down": steps(0.5, 1.6, 0.1, "deg"), "arm": ARM, "foot": FOOT},
        lambda g: (("the angle in radians", radians(g.down), "rad"),
                   ("clearance = foot below the pivot x angle",
                    foot_in(below_pivot=g.foot, behind_pivot=0.0, angle=radians(g.down)),
                    "mm")),
        ("Which of the two lengths swings: the screw's arm, or the foot?",
         "A point moves by its distance from the pivot times the angle in radians.",
         "The angle is {w1}. Multiply it by {foot}."),
        (Slip("wrong lever", "the screw's arm was used; the foot has a lever of its own", lambda g: g.arm * radians(g.down)),)),
    Exercise(
        "depth_of_the_pocket", "05", "mm",
        "Floor clearance {clearance}, {up} of raising wanted, {reserve} of the heel always hidden, foot {foot} below the "
        "pivot. How deep must the pocket be, in mm?",
        {"clearance": steps(0.8, 1.8, 0.1, "mm"), "up": steps(0.5, 1.6, 0.1, "deg"), "reserve": steps(0.3, 0.8, 0.1, "mm"),
         "foot": FOOT}, _pocket,
        ("Three lengths, one behind the other: draw the heel in its pocket from the side.",
         "Clearance, and the way the foot comes out, and what shall stay hidden. The way out is the foot's depth times the angle "
         "in radians.",
         "The foot comes out by {w1}. Add {clearance} and {reserve}."),
        (Slip("degrees", "an angle was put in as degrees; radians belong there",
              lambda g: g.clearance + g.foot * g.up + g.reserve),
         Slip("reserve", "what shall stay hidden is forgotten", lambda g: _pocket(g)[1][1] - g.reserve),
         Slip("clearance", "the floor clearance is forgotten: the heel starts that far from the floor",
              lambda g: _pocket(g)[1][1] - g.clearance),
         Slip("clearance taken off", "the floor clearance was taken off; it adds to the depth",
              lambda g: _pocket(g)[1][1] - 2 * g.clearance))),
    Exercise(
        "angle_from_clearance", "05", "rad",
        "The heel stands {clearance} off the pocket's floor, its foot {foot} below the pivot; the tilt screw's arm is {arm}. "
        "By what angle can the neck be lowered, in radians?",
        {"clearance": steps(0.8, 2.2, 0.1, "mm"), "foot": FOOT, "arm": ARM},
        lambda g: (("one radian would move the foot by", _per_radian(g), "mm"),
                   ("angle = clearance / foot below the pivot", g.clearance / _per_radian(g), "rad")),
        ("The foot meets the floor first. How far is it from the pivot?",
         "For small angles the angle in radians is the way over the distance from the pivot.",
         "Divide {clearance} by {foot}; that is in radians already."),
        (Slip("wrong lever", "the screw's arm was used; the foot has a lever of its own", lambda g: g.clearance / g.arm),)),
)

EXERCISES = TRAVEL + DOME + NECK_SET + HEEL
