"""Action: the string as a straight line in the neck frame, the crown under it, and what moves the one over the other."""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.dome import dome_height
from lutherie_geom.theory.pose import POSE, SET, TURN_INPUTS, TURNED, to_neck
from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q

_DOME = "curvature x_apex along across"


def _saddle(b: Builder) -> Any:
    z = b.step("z_saddle", b.use(dome_height, x=b.x_saddle, y=b.y_saddle) + b.h_saddle, "z_s",
               "the saddle stands on the dome")
    return b.use(to_neck, x=b.x_saddle, y=b.y_saddle, z=z)


saddle_in_neck = Relation(
    "saddle_in_neck", "Top of the saddle seen from the neck",
    q(f"x_saddle y_saddle h_saddle {_DOME} {SET} {TURNED}"), q("xn_saddle yn_saddle zn_saddle"), _saddle, "action",
)


def _arc(sp: Any, y: Any, radius: Any) -> Any:
    """Drop of a circle's crown at y, in the form that is exact for a flat board: needs 1/radius."""
    k = 1 / radius
    return k * y**2 / (1 + sp.sqrt(1 - (k * y) ** 2))


def _nut_height(b: Builder) -> Any:
    return b.h_nut - _arc(b.sympy, b.y_nut, b.radius_nut)


nut_height = Relation("nut_height", "Underside of the string at the nut, over the fret plane",
                      q("h_nut y_nut radius_nut"), q("z_nut"), _nut_height, "action")


def _action(b: Builder) -> Any:
    lam = b.step("lam", (b.x_fret - b.x_nut) / (b.xn_saddle - b.x_nut), r"\lambda", "how far along the string")
    y = b.step("y_string", b.y_nut + lam * (b.yn_saddle - b.y_nut), "y'_n", "the string's place across the board")
    z = b.step("z_string", b.z_nut + lam * (b.zn_saddle - b.z_nut), "z'_n", "its height over the fret plane")
    crown = b.step("drop", _arc(b.sympy, y, b.radius_fret) + b.dip, r"\kappa", "how far the crown lies under the fret plane")
    return z + crown, y


action_over_fret = Relation(
    "action_over_fret", "Action: from the fret's crown to the underside of the string, along z' of the neck",
    q("x_fret x_nut y_nut z_nut xn_saddle yn_saddle zn_saddle radius_fret dip"), q("action y_string"), _action, "action",
)


def _chain(receiver: str) -> Any:
    def derive(b: Builder) -> Any:
        sp = b.sympy
        _, _, advance, cp, sn, ct, st = b.use(POSE[receiver])
        ca = b.step("cos_alpha", sp.cos(b.alpha), r"\cos\alpha")
        sa = b.step("sin_alpha", sp.sin(b.alpha), r"\sin\alpha")
        xs, ys, zs = b.use(saddle_in_neck, "saddle_", cos_psi=cp, sin_psi=sn, cos_theta=ct, sin_theta=st, advance=advance,
                           cos_alpha=ca, sin_alpha=sa)
        zn = b.step("z_nut", b.use(nut_height), "z'_0")
        return b.use(action_over_fret, z_nut=zn, xn_saddle=xs, yn_saddle=ys, zn_saddle=zs)

    return derive


_ALL = (f"{TURN_INPUTS} alpha z_joint x_saddle y_saddle h_saddle {_DOME} "
        "x_nut y_nut h_nut radius_nut x_fret radius_fret dip")
action_dowel = Relation(
    "action_dowel", "Action from everything that it depends on, receiver a cross dowel",
    q(_ALL), q("action y_string"), _chain("dowel across"), "action",
    note="Its slopes are the sensitivities of action to every dimension and every turn.",
)
action_rod = Relation(
    "action_rod", "Action from everything that it depends on, receiver a rod along the heel",
    q(_ALL), q("action y_string"), _chain("rod along"), "action",
    note="Its slopes are the sensitivities of action to every dimension and every turn.",
)
ACTION = {"dowel across": action_dowel, "rod along": action_rod}

_F = Quantity("nut_to_fret", "x_f", "mm", "fret, measured from the nut", 0, 700)
_P = Quantity("nut_to_pivot", "x_p", "mm", "pivot axis, measured from the nut", 200, 600)
_S = Quantity("nut_to_saddle", "x_s", "mm", "saddle, measured from the nut", 400, 800)
_RATE = Quantity("rate", r"\mathrm{d}a/\mathrm{d}\theta", "mm/rad", "change of action per radian of tilt", 0, 400)
_DH = Quantity("saddle_lift", r"\Delta h_s", "mm", "change of the saddle's height", -5, 5)
_DA = Quantity("action_lift", r"\Delta a_n", "mm", "change of the action", -5, 5)


def _rate(b: Builder) -> Any:
    return b.nut_to_fret * (1 - b.nut_to_pivot / b.nut_to_saddle)


action_rate = Relation(
    "action_rate", "Action per radian of tilt, string level at the saddle: the pivot's height drops out",
    (_F, _P, _S), (_RATE,), _rate, "action",
    note="A teaching form: the exact rate is the slope of action_dowel or action_rod. A test holds the two together.",
)


def _saddle_rule(b: Builder) -> Any:
    return b.saddle_lift * b.nut_to_fret / b.nut_to_saddle


saddle_rule = Relation("saddle_rule", "What a change of the saddle does to the action: the string is a straight line",
                       (_DH, _F, _S), (_DA,), _saddle_rule, "action",
                       note="At fret 12 it is about half: the old rule of the trade (common practice, no source).")

_R0 = Quantity("radius_nut", "R_0", "mm", "crowning radius of the board at the nut", 150, 2000)
_R1 = Quantity("radius_last", "R_1", "mm", "crowning radius of the board at the last fret", 150, 2000)
_PART = Quantity("part", "v", "1", "how far along, 0 at the first place and 1 at the second", 0, 1)


def _cone(b: Builder) -> Any:
    return b.radius_nut + (b.radius_last - b.radius_nut) * b.part


cone_radius = Relation("cone_radius", "Crowning radius of a conical board: it runs evenly from nut to last fret",
                       (_R0, _R1, _PART), q("radius_fret"), _cone, "action")

_DEPTH = Quantity("relief", "r", "mm", "relief: depth of the board's hollow at the middle", 0, 1.5)
_LINE = Quantity("fall_slope", r"\sigma_f", "1", "slope of frets that fall away from the joint in a straight line", 0, 0.05)
_BEND = Quantity("fall_curvature", "k_f", "1/mm", "curvature of frets that fall away from the joint on an arc", 0, 0.001)
_PAST = Quantity("past_joint", "x_f", "mm", "how far past the joint fret, 0 before it", 0, 150)


def _dip(b: Builder) -> Any:
    relief = b.step("relief_dip", 4 * b.relief * b.part * (1 - b.part), r"\delta_r", "hollow between fret 1 and the joint fret")
    arc = b.fall_curvature * b.past_joint**2 / (1 + b.sympy.sqrt(1 - (b.fall_curvature * b.past_joint) ** 2))
    return relief + b.fall_slope * b.past_joint + b.step("fall_arc", arc, r"\delta_f", "an arc from the joint on")


crown_dip = Relation("crown_dip", "How far a fret's crown lies below the fret plane on the centreline: relief and fall-away",
                     (_DEPTH, _PART, _LINE, _BEND, _PAST), q("dip"), _dip, "action")

_MORE = Quantity("relief_change", r"\Delta r", "mm", "change of the relief: plus is a deeper hollow", -1.5, 1.5)
_REACH = Quantity("span", "L_r", "mm", "from fret 1 to the joint fret", 200, 450)
_BEYOND = Quantity("nut_to_first", "x_1", "mm", "from the nut to fret 1", 15, 45)
_AT = Quantity("joint_fret_x", "x_j", "mm", "joint fret along the board, neck frame", -40, 20)
_BENT = (Quantity("alpha_bent", r"\alpha_r", "rad", "neck angle of the bent neck", -0.05, 0.12),
         Quantity("z_bent", "z_{j,r}", "mm", "fret plane above the soundboard at the joint, neck bent", 4, 25),
         Quantity("nut_lift", r"\Delta h_0", "mm", "how far the nut rises over the fret plane", -1, 1),
         Quantity("fall_change", r"\Delta\sigma_f", "1", "change of the slope of the frets past the joint", -0.02, 0.02))


def _bend(b: Builder) -> Any:
    sp = b.sympy
    v = sp.Symbol("v", real=True)
    hollow = 4 * b.relief_change * v * (1 - v)
    end = b.step("end_slope", -sp.diff(hollow, v).subs(v, 1) / b.span, r"\sigma_r",
                 "slope of the hollow where the neck is held, against the chord; a small slope is its angle")
    alpha = b.step("alpha_turned", b.alpha - end, r"\alpha_r", "the held end keeps its direction, so the chord turns")
    z = b.z_joint + b.joint_fret_x * (sp.sin(b.alpha) - sp.sin(alpha))  # the joint fret stays where it is
    return alpha, z, -hollow.subs(v, -b.nut_to_first / b.span), -end


bent_neck = Relation(
    "bent_neck", "A neck held at the joint fret whose relief changes: the chord turns, the nut rises, the tongue stays",
    (_MORE, _REACH, _BEYOND, *q("alpha z_joint"), _AT), _BENT, _bend, "action",
    source="end slope 4 r/L of the parabola that the relief is; derived here",
    note="The parabola goes on to the nut: the bow has the same curvature all along.",
)
