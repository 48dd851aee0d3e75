"""The vocabulary: every quantity that a relation takes or gives, with its symbol, unit, meaning and plausible range.

Ranges are for a plausibility word at the edge (common practice, no source); no relation refuses a number for them.
"""

from __future__ import annotations

import math

from lutherie_geom.theory.relation import Quantity

_INF = math.inf
_TURNS = (-6.0, 6.0)

_TABLE: tuple[tuple[str, str, str, str, float, float], ...] = (
    # scale and strings
    ("scale", "L", "mm", "scale length", 400, 800),
    ("fret", "n", "1", "fret number", 0, 36),
    ("fret_from_nut", "d_n", "mm", "distance from nut to fret n", 0, 700),
    ("x_nut", "x'_0", "mm", "nut along the board, neck frame", -700, 0),
    ("y_nut", "y'_0", "mm", "string at the nut, to treble, neck frame", -40, 40),
    ("z_nut", "z'_0", "mm", "underside of the string at the nut, neck frame", -5, 10),
    ("h_nut", "h_0", "mm", "string over the crown arc of the fret plane at the nut", 0, 3),
    ("x_saddle", "x_s", "mm", "saddle along the body, body frame", 100, 500),
    ("y_saddle", "y_s", "mm", "string at the saddle, to treble, body frame", -50, 50),
    ("h_saddle", "h_s", "mm", "top of the saddle over the soundboard there", 4, 30),
    ("z_saddle", "z_s", "mm", "top of the saddle, body frame", 0, 40),
    ("xn_saddle", "x'_s", "mm", "top of the saddle along the board, neck frame", 100, 500),
    ("yn_saddle", "y'_s", "mm", "top of the saddle to treble, neck frame", -60, 60),
    ("zn_saddle", "z'_s", "mm", "top of the saddle over the fret plane, neck frame", -10, 30),
    ("x_fret", "x'_n", "mm", "fret along the board, neck frame", -700, 150),
    ("radius_nut", "R_0", "mm", "crowning radius of the board at the nut", 150, _INF),
    ("radius_fret", "R_n", "mm", "crowning radius of the board at the fret", 150, _INF),
    ("dip", r"\delta_n", "mm", "how far the crown lies below the fret plane (relief, fall-away)", -0.5, 2),
    ("action", "a_n", "mm", "action: crown to underside of the string, along z'", -5, 15),
    ("y_string", "y'_n", "mm", "the string's place across the board at the fret", -40, 40),
    ("sounding_length", r"\ell", "mm", "sounding length, nut to saddle in space", 400, 800),
    # soundboard
    ("curvature", "k", "1/mm", "curvature of the dome, 1/R (0 is flat)", 0, 1 / 3000),
    ("x_apex", "x_c", "mm", "highest point of the dome along the body", -200, 800),
    ("along", "w_x", "1", "1 when the top is curved along the body, else 0", 0, 1),
    ("across", "w_y", "1", "1 when the top is curved across the body, else 0", 0, 1),
    ("x", "x", "mm", "place along the body, body frame", -700, 600),
    ("y", "y", "mm", "place across the body, to treble, body frame", -250, 250),
    ("z", "z", "mm", "height above the joint's soundboard level, body frame", -150, 100),
    ("z_top", r"z_\mathrm{top}", "mm", "height of the soundboard, body frame", -20, 20),
    # neck and its pose
    ("alpha", r"\alpha", "rad", "neck angle: the fret plane's rise toward the bridge", -0.05, 0.12),
    ("cos_alpha", r"\cos\alpha", "1", "cosine of the neck angle", -1, 1),
    ("sin_alpha", r"\sin\alpha", "1", "sine of the neck angle", -1, 1),
    ("z_joint", "z_j", "mm", "fret plane above the soundboard at the joint", 4, 25),
    ("x_p", "x_p", "mm", "pivot axis along the body", -15, 20),
    ("z_p", "z_p", "mm", "pivot axis, height (negative: below the soundboard)", -60, 0),
    ("spacing", "w", "mm", "distance between the two pivot screws", 15, 60),
    ("pitch_pivot", "p_v", "mm/turn", "thread pitch of the pivot screws, along x per turn", 0.3, 3),
    ("pitch_tilt", "p_t", "mm/turn", "thread pitch of the tilt screw", 0.3, 3),
    ("tilt", "t", "turn", "turns of the tilt screw (positive: action up)", *_TURNS),
    ("bass", "b", "turn", "turns of the bass pivot screw (positive: seat out, toward the neck)", *_TURNS),
    ("treble", "r", "turn", "turns of the treble pivot screw (positive: seat out, toward the neck)", *_TURNS),
    ("x_head", "x_A", "mm", "captive head of the tilt screw: bearing face along the body", -5, 60),
    ("z_head", "z_A", "mm", "captive head of the tilt screw: height", -130, -20),
    ("x_receiver", "x_B", "mm", "receiver of the tilt screw along the body, nominal", -60, 0),
    ("z_receiver", "z_B", "mm", "receiver of the tilt screw: height, nominal", -130, -20),
    ("psi", r"\psi", "rad", "yaw (positive: nut to the bass side)", -0.1, 0.1),
    ("theta", r"\theta", "rad", "tilt (positive: nut up, action up)", -0.15, 0.15),
    ("advance", "m", "mm", "advance of the neck away from the body, along -x", -5, 5),
    ("cos_psi", r"\cos\psi", "1", "cosine of the yaw", -1, 1),
    ("sin_psi", r"\sin\psi", "1", "sine of the yaw", -1, 1),
    ("cos_theta", r"\cos\theta", "1", "cosine of the tilt", -1, 1),
    ("sin_theta", r"\sin\theta", "1", "sine of the tilt", -1, 1),
    ("xn", "x'", "mm", "place along the board, neck frame", -700, 600),
    ("yn", "y'", "mm", "place across the board, neck frame", -250, 250),
    ("zn", "z'", "mm", "height over the fret plane, neck frame", -150, 50),
    ("arm", "h_t", "mm", "arm of the tilt screw: its line's distance from the pivot axis", 20, 120),
    # tongue and heel
    ("gap", "g", "mm", "gap between soundboard and the tongue's underside, along z", -5, 15),
    ("gap_joint", "g_0", "mm", "planned gap at the joint", 0, 5),
    ("hollowed", "w_h", "1", "1 when the underside is hollowed to the dome, 0 when planed flat", 0, 1),
    ("taper", r"\tau", "1", "slope of a planed underside along x at the nominal pose", -0.1, 0.15),
    ("x_face", "x_h", "mm", "a point of the heel's end face along the body, nominal", -20, 0),
    ("y_face", "y_h", "mm", "a point of the heel's end face across the body", -40, 40),
    ("z_face", "z_h", "mm", "a point of the heel's end face, height", -130, 5),
    ("clearance", "f", "mm", "floor clearance: heel's end face to the pocket's floor", -5, 20),
)

WORDS = {row[0]: Quantity(*row) for row in _TABLE}


def q(names: str) -> tuple[Quantity, ...]:
    """The quantities named in ``names``, separated by blanks."""
    return tuple(WORDS[n] for n in names.split())
