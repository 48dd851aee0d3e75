"""Optima: the dimension of the joint at which something wanted comes out exactly, solved for from the library's own relations.

Each is another relation of the theory set to what is wanted and solved by sympy: the pivot height at which tilt leaves the length
of the strings alone, the arm or the pitch for a wanted step of the action, the pivot depth at which steering leaves the action
alone. The fourth of the family, the captive face that nulls the swelling of the block, is ``climate.null_head``.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.action import action_rate
from lutherie_geom.theory.lever import string_lever
from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.tilt import tilt_rule
from lutherie_geom.theory.words import q


def _own(relation: Relation) -> dict[str, Quantity]:
    return {x.name: x for x in (*relation.inputs, *relation.outputs)}


def _solved(b: Builder, difference: Any, unknown: Any) -> Any:
    """Where ``difference`` vanishes, by sympy: the one root, or all of them in sympy's order."""
    roots = [b.sympy.factor(r) for r in b.sympy.solve(difference, unknown)]
    return roots[0] if len(roots) == 1 else tuple(roots)


def _of(b: Builder, relation: Relation, **put: Any) -> Any:
    """A relation's only output, all steps put in, in this derivation's symbols."""
    names = relation.derivation[0].symbols
    return relation.expressions[0].subs({names[x.name]: put[x.name] if x.name in put else getattr(b, x.name)
                                         for x in relation.inputs}, simultaneous=True)


_STRING = tuple(_own(string_lever)[k] for k in ("x_nut_body", "z_nut_body", "x_saddle", "z_saddle"))


def _still_length(b: Builder) -> Any:
    height = b.sympy.Symbol("height", real=True)
    lever = _of(b, string_lever, z_p=height)
    return _solved(b, b.sympy.numer(b.sympy.together(lever)), height)


still_length = Relation(
    "still_length", "Pivot height at which tilt does not change a string's length", (*_STRING, *q("x_p")), q("z_p"),
    _still_length, "optima", source="derived here: string_lever set to zero",
    note="The pivot then lies on the string's line. The strings do not load the tilt screw either: nothing draws the joint home.")

_RATE = Quantity("rate", r"a_\theta", "mm/rad", "change of action per radian of tilt", 50, 250)
_STEP = Quantity("action_step", r"\Delta a_n", "mm", "wanted change of the action for those turns", 0.02, 0.5)
_TURNS = Quantity("tilt", "t", "turn", "turns of the tilt screw that a hand can set, say 1/16", 0.02, 0.5)
_PLACES = tuple(_own(action_rate)[k] for k in ("nut_to_fret", "nut_to_pivot", "nut_to_saddle"))


def _step(b: Builder) -> Any:
    return b.rate * b.step("theta", b.use(tilt_rule), r"\theta", "the small-angle rule")


step_rule = Relation("step_rule", "Step of the action for a small turn of the tilt screw", (_RATE, _TURNS, *q("pitch_tilt arm")),
                     (_STEP,), _step, "optima", source="derived here: tilt_rule times the rate of the action",
                     note="rate: action_rate for a level string, or the exact slope of the action by tilt.")


def _arm(b: Builder) -> Any:
    arm = b.sympy.Symbol("wanted", positive=True)
    return _solved(b, _of(b, step_rule, arm=arm) - b.action_step, arm)


arm_for_step = Relation("arm_for_step", "Arm of the tilt screw that gives a wanted step of the action",
                        (_RATE, _TURNS, *q("pitch_tilt"), _STEP), q("arm"), _arm, "optima",
                        source="derived here: step_rule solved for the arm")


def _pitch(b: Builder) -> Any:
    pitch = b.sympy.Symbol("wanted", positive=True)
    return _solved(b, _of(b, step_rule, pitch_tilt=pitch) - b.action_step, pitch)


pitch_for_step = Relation("pitch_for_step", "Pitch of the tilt screw that gives a wanted step of the action",
                          (_RATE, _TURNS, *q("arm"), _STEP), q("pitch_tilt"), _pitch, "optima",
                          source="derived here: step_rule solved for the pitch",
                          note="Take the nearest finer thread that exists.")

_YAW = Quantity("psi", r"\psi", "rad", "yaw, the two pivot screws turned against each other", -0.03, 0.03)
_SCREW = Quantity("screw_length", "s_0", "mm", "nominal distance from captive head to receiver", 15, 80)
_PART = Quantity("string_part", r"\lambda", "1", "how far the fret lies along the string from the nut", 0.2, 0.75)
_RISE = Quantity("lift", r"\Delta a", "mm", "change of the action of a string on the centreline", -1, 1)
_DEPTHS = (Quantity("outer", r"x_{p,1}", "mm", "pivot depth outside the receiver"),
           Quantity("inner", r"x_{p,2}", "mm", "pivot depth behind the captive head"))
_GAINED = Quantity("theta", r"\theta", "rad", "tilt that comes with the yaw, the tilt screw left alone", -0.15, 0.15)


def _bend(b: Builder, of: Any) -> Any:
    """Second derivative by the yaw at none, of a function of the yaw."""
    sp = b.sympy
    psi = sp.Symbol("psi_", real=True)
    return sp.factor(sp.diff(of(psi), psi, 2).subs(psi, 0))


def _dowel_bend(b: Builder, depth: Any) -> Any:
    """d²theta/dpsi² of a joint whose screw keeps its length, pivot at ``depth``: by how much it is too long, over the arm."""
    sp = b.sympy
    head, receiver = b.x_head - depth, b.x_receiver - depth

    def squared(psi: Any) -> Any:
        return (head - receiver * sp.cos(psi)) ** 2 + (receiver * sp.sin(psi)) ** 2

    return -_bend(b, squared) / (2 * b.screw_length * b.arm)


def _rod_bend(b: Builder, depth: Any) -> Any:
    """The same where the head slides on its face: the turned plane is cut further off."""
    return -_bend(b, lambda psi: (b.x_head - depth) / b.sympy.cos(psi)) / b.arm


steered_tilt = Relation(
    "steered_tilt", "Tilt that steering brings, the tilt screw left alone, receiver a cross dowel (small yaw)",
    (_YAW, *q("x_p x_head x_receiver arm"), _SCREW), (_GAINED,), lambda b: _dowel_bend(b, b.x_p) * b.psi**2 / 2, "optima",
    source="derived here: the screw keeps its length while the neck turns about the pivot's middle",
    note="It vanishes, and exactly at any yaw, where the pivot lies as deep as the captive head or as the receiver.")
steered_tilt_rod = Relation(
    "steered_tilt_rod", "Tilt that steering brings, the tilt screw left alone, receiver a rod along the heel (small yaw)",
    (_YAW, *q("x_p x_head arm")), (_GAINED,), lambda b: _rod_bend(b, b.x_p) * b.psi**2 / 2, "optima",
    source="derived here: the head slides on its bearing face while the neck turns about the pivot's middle",
    note="It vanishes, and exactly at any yaw, where the pivot lies as deep as the captive head.")


def _board_bend(b: Builder, depth: Any) -> Any:
    """What crown and neck angle do to the action: d²a/dpsi² over part and reach of the saddle from the pivot [1]."""
    return b.string_part * (b.x_saddle - depth) / b.radius_fret + b.sympy.sin(b.alpha)


def _steered(b: Builder) -> Any:
    own = b.step("board", _board_bend(b, b.x_p), r"\beta",
                 "the string runs off the crown's top, and the saddle comes nearer along a sloping board")
    return b.string_part * (b.x_saddle - b.x_p) * (b.psi**2 / 2 * own + b.use(steered_tilt))


_BOARD = (*q("x_p x_saddle alpha radius_fret"), _PART)
steered_action = Relation(
    "steered_action", "What steering does to the action on the centreline, receiver a cross dowel (small yaw)",
    (_YAW, *_BOARD, *q("x_head x_receiver arm"), _SCREW), (_RISE,), _steered, "optima",
    source="derived here: the crown of the board, the neck angle, and steered_tilt")


def _still_depth(b: Builder) -> Any:
    sp = b.sympy
    depth = sp.Symbol("depth", real=True)
    both = sp.expand((_board_bend(b, depth) + _dowel_bend(b, depth)) * b.screw_length * b.arm * b.radius_fret)
    two, one, none = (both.coeff(depth, k) for k in (2, 1, 0))
    half = b.step("half", sp.factor(-one / (2 * two)), "m", "halfway between the two depths")
    off = b.step("off", sp.sqrt(half**2 - sp.expand(none / two)), "d", "each lies so far from it")
    return half - off, half + off


still_depth = Relation(
    "still_depth", "Pivot depth at which steering leaves the action on the centreline alone, receiver a cross dowel",
    (*q("x_saddle alpha radius_fret"), _PART, *q("x_head x_receiver arm"), _SCREW), _DEPTHS, _still_depth, "optima",
    source="derived here: steered_action set to zero",
    note="The tilt then makes up for the crown. For steering that does not tilt the neck: as deep as the captive head.")


def _still_depth_rod(b: Builder) -> Any:
    depth = b.sympy.Symbol("depth", real=True)
    return _solved(b, _board_bend(b, depth) + _rod_bend(b, depth), depth)


still_depth_rod = Relation(
    "still_depth_rod", "Pivot depth at which steering leaves the action on the centreline alone, receiver a rod along the heel",
    (*q("x_saddle alpha radius_fret"), _PART, *q("x_head arm")), q("x_p"), _still_depth_rod, "optima",
    source="derived here: what crown and neck angle do, and steered_tilt_rod, together zero",
    note="It lies out in the heel, far from the block: as deep as the captive head is the depth that can be built.")
