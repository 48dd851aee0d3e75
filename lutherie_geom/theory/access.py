"""Access: what a cutter comes too near to, and how a hex key reaches a screw through the soundhole and swings there.

Across the joint face: y to the treble, z up (body frame). Diameters where a builder buys a diameter.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation


def _mm(name: str, latex: str, meaning: str, low: float, high: float) -> Quantity:
    return Quantity(name, latex, "mm", meaning, low, high)


# The cutter
_SY, _SZ = _mm("screw_y", "y_s", "screw's centre, to treble", -30, 30), _mm("screw_z", "z_s", "screw's centre, height", -110, -5)
_AY, _AZ = _mm("start_y", "y_1", "start of a stretch of path, to treble", -30, 30), _mm("start_z", "z_1", "its height", -110, 10)
_BY, _BZ = _mm("end_y", "y_2", "end of the stretch, to treble", -30, 30), _mm("end_z", "z_2", "its height", -110, 10)
_DIST = _mm("distance", "s", "cutter's path to the screw's centre, nearest", 0, 150)


def _segment(b: Builder) -> Any:
    sp = b.sympy
    dy, dz = b.end_y - b.start_y, b.end_z - b.start_z
    t = b.step("along", ((b.screw_y - b.start_y) * dy + (b.screw_z - b.start_z) * dz) / (dy**2 + dz**2), "t",
               "foot of the perpendicular, as a part of the stretch")
    # Held between 0 and 1, written with absolute values so that the slope is exact on either side of an end.
    u = b.step("held", (sp.Abs(t) - sp.Abs(t - 1) + 1) / 2, "u", "the same, kept on the stretch")
    return sp.sqrt((b.screw_y - b.start_y - u * dy) ** 2 + (b.screw_z - b.start_z - u * dz) ** 2)


segment_distance = Relation("segment_distance", "How near a straight stretch of the cutter's path comes to a screw's centre",
                            (_SY, _SZ, _AY, _AZ, _BY, _BZ), (_DIST,), _segment, "access")

_TOOL = _mm("tool_diameter", "D", "what turns or slides at the screw's height: bit, bush or base plate", 3, 120)
_SCREW = _mm("screw_diameter", "d", "screw that stands out of the block", 2, 12)
_ROOM = _mm("margin", "m", "room between cutter and screw; negative: they meet", -60, 150)


def _margin(b: Builder) -> Any:
    return b.distance - (b.tool_diameter + b.screw_diameter) / 2


cutter_margin = Relation("cutter_margin", "Room between a cutter and a screw: distance less the sum of the radii",
                         (_DIST, _TOOL, _SCREW), (_ROOM,), _margin, "access")

_TOP, _FOOT = (_mm("half_width_top", "b_t", "half width of the heel at the top", 20, 40),
               _mm("half_width_foot", "b_f", "half width of the heel at the foot", 5, 20))
_LOW = _mm("foot_z", "z_f", "heel's foot, height", -130, -60)
_GAP = _mm("side_gap", "c", "gap between heel and pocket at cheeks and foot", 0, 2)
_BIT = _mm("bit_diameter", "D", "router bit", 3, 20)
_AT = _mm("at_z", "z", "height on the cheek", -110, 0)
_HALF = _mm("path_half_width", "b_c", "half width of the path of the bit's centre", 0, 45)


def _path(b: Builder) -> Any:
    sp = b.sympy
    lean = b.step("lean", (b.half_width_top - b.half_width_foot) / -b.foot_z, r"\lambda", "how much the cheek leans")
    cheek = b.step("cheek", b.half_width_top + lean * b.at_z, "b", "half width of the heel at that height")
    return cheek + b.side_gap - b.bit_diameter / 2 * sp.sqrt(1 + lean**2)


path_half_width = Relation("path_half_width", "Path of the bit's centre that leaves the heel's outline and the side gap",
                           (_TOP, _FOOT, _LOW, _AT, _GAP, _BIT), (_HALF,), _path, "access",
                           note="At the foot the path runs at foot_z - side_gap + half the bit.")

# The key, straight in from the soundhole
_DX = _mm("ahead", r"\Delta x", "from socket to the place where the key crosses the soundhole, along the body", 20, 400)
_DY = _mm("aside", r"\Delta y", "the same, across the body", -60, 60)
_DZ = _mm("below", r"\Delta z", "the same, up", 5, 130)
_ANGLE = Quantity("key_angle", r"\beta", "rad", "angle between the key and the screw", 0, 1.5)


def _line(b: Builder) -> Any:
    return b.sympy.atan2(b.sympy.sqrt(b.aside**2 + b.below**2), b.ahead)


key_angle = Relation("key_angle", "Angle between a straight key through the soundhole and the screw it turns",
                     (_DX, _DY, _DZ), (_ANGLE,), _line, "access", note="A screw along the body is meant.")

_HOLE = _mm("hole_half_width", "h", "half the width of a hole on the key's way", 3, 40)
_IN = _mm("hole_ahead", r"\ell", "from the socket to the hole's far edge, along the screw", 0, 80)
_KEY = _mm("key_diameter", "k", "key, over its corners", 2, 10)
_KA = Quantity("leaning", r"\beta", "rad", "angle between key and screw", 0, 0.6)


def _ring(b: Builder) -> Any:
    sp = b.sympy
    return b.hole_half_width - b.hole_ahead * sp.tan(b.leaning) - b.key_diameter / (2 * sp.cos(b.leaning))


hole_room = Relation("hole_room", "Room that a leaning key has left in a hole through which the screw is reached",
                     (_HOLE, _IN, _KEY, _KA), (_ROOM,), _ring, "access")

_CHORD = _mm("to_rim", "q", "from the key's middle to the soundhole's edge, on the way it leans", 0, 120)


def _rim(b: Builder) -> Any:
    sp = b.sympy
    slope = b.step("slope", b.below / sp.sqrt(b.ahead**2 + b.aside**2 + b.below**2), r"\sin\eta", "how steeply it passes the top")
    return b.to_rim * slope - b.key_diameter / 2


rim_room = Relation("rim_room", "Room between a slanting key and the soundhole's edge", (_CHORD, _DX, _DY, _DZ, _KEY), (_ROOM,),
                    _rim, "access", note="A flat key is long where it cuts the plane of the top: it needs more of the soundhole.")

_ZS = _mm("socket_z", "z_k", "socket, height", -110, -10)
_XB = _mm("brace_ahead", "x_b", "from socket to brace, along the body", 0, 150)
_ZB = _mm("brace_z", "z_b", "underside of the brace, height", -40, -5)


def _brace(b: Builder) -> Any:
    sp = b.sympy
    height = b.step("height", b.socket_z + b.brace_ahead * b.below / b.ahead, "z", "the key's middle at the brace")
    return b.brace_z - height - b.key_diameter / 2 * sp.sqrt(1 + (b.below / b.ahead) ** 2)


brace_room = Relation("brace_room", "Room between a straight key and the brace over it", (_ZB, _ZS, _XB, _DX, _DZ, _KEY),
                      (_ROOM,), _brace, "access")

# The bent key
_WALL = _mm("wall", "a", "from the screw's axis to a wall, less half the key's thickness", 3, 20)
_ARM = _mm("arm", "r", "length of the arm that swings", 25, 120)
_BLOCKED = Quantity("blocked", r"\omega", "rad", "half of the angle that the wall blocks", 0, 1.6)


def _blocked(b: Builder) -> Any:
    return b.sympy.acos(b.wall / b.arm)


blocked_half_angle = Relation("blocked_half_angle", "Half of the angle that a straight wall takes from the arm's swing",
                              (_WALL, _ARM), (_BLOCKED,), _blocked, "access", note="For an arm longer than the wall is far off.")

_OPEN = _mm("opening", "o", "from below the axis to the edge of the soundhole, across, less half the key", -60, 60)
_FREE = Quantity("free_half_angle", r"\nu", "rad", "from straight up to the soundhole's edge", -1.6, 1.6)


def _window(b: Builder) -> Any:
    return b.sympy.atan2(b.opening, b.wall)


opening_half_angle = Relation("opening_half_angle", "How far the arm may lean aside while it stands up through the soundhole",
                              (_OPEN, _WALL), (_FREE,), _window, "access")

_STEP = _mm("hand_step", "e", "least move of the arm's end that fingers can make", 0.5, 5)
_LEAST = Quantity("least_turn", r"\tau", "turn", "smallest turn that the hand can make", 0, 0.1)


def _least(b: Builder) -> Any:
    return b.hand_step / (2 * b.sympy.pi * b.arm)


least_turn = Relation("least_turn", "Smallest turn that a hand can make with an arm of a length", (_STEP, _ARM), (_LEAST,),
                      _least, "access")

_OVER, _UNDER = _mm("room_over", "a", "from the axis up to the top, less half the key", 3, 100), _mm(
    "room_under", "b", "from the axis down to the back, less half the key", 3, 100)
_GRIP = Quantity("grip", r"\gamma", "rad", "swing needed for a new grip: a sixth of a turn for a hex socket", 0.3, 1.5)
_LONG = _mm("longest", r"r_\mathrm{max}", "longest arm that still swings so far", 5, 300)


def _longest(b: Builder) -> Any:
    sp = b.sympy
    return sp.sqrt(b.room_over**2 + b.room_under**2 + 2 * b.room_over * b.room_under * sp.cos(b.grip)) / sp.sin(b.grip)


longest_arm = Relation("longest_arm", "Longest arm that can be gripped anew between top and back", (_OVER, _UNDER, _GRIP),
                       (_LONG,), _longest, "access",
                       note="From asin(a/r) + asin(b/r) = grip: such an arm swings from wall to wall on one side of the screw.")
