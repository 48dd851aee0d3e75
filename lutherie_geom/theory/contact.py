"""Contact: what each kind of touch between neck and body forbids, as a miss in mm that is zero when the parts touch.

In every relation ``p`` is a point of the neck (a ball's centre, the receiver) and ``u`` a direction of the neck, both where
the pose has brought them; all other quantities belong to the body. The slope of a miss by ``p`` is then the direction of
the contact's force, and arm x slope its moment: the rows of the contact wrench matrix come out of the same derivation.

At the end stands the rigid motion itself: small turns, points carried by any rotation (the built-in joint's yaw, tilt and
advance are the special case in which it is Rz Ry about the pivot's middle, moved along x), the screw axis of a small motion.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.pose import SET
from lutherie_geom.theory.relation import Builder, Quantity, Relation
from lutherie_geom.theory.words import q


def _three(letter: str, latex: str, unit: str, meaning: str, span: float) -> tuple[Quantity, ...]:
    return tuple(Quantity(f"{letter}_{i}", f"{latex}_{i}", unit, f"{meaning}, {i}", -span, span) for i in "xyz")


_P = _three("p", "p", "mm", "point of the neck, posed, body frame", 800)
_U = _three("u", "u", "1", "direction of the thread, fixed in the neck, posed, body frame", 1)
_A = _three("a", "a", "mm", "point of the body (seat, captive head, place on a plane), body frame", 800)
_D = _three("d", "d", "1", "direction along the vee, body frame (any length)", 1)
_O = _three("o", "o", "1", "a direction across the vee, say the one it opens to, body frame (any length)", 1)
_N = _three("n", "n", "1", "direction square to the plane, body frame (any length)", 1)
_S = Quantity("length", "s", "mm", "length of the link or of the screw between its two ends", 0, 200)
_MISS = Quantity("miss", "r", "mm", "by how much the contact is missed")
_MISSES = _three("miss", "r", "mm", "by how much the contact is missed, along the body's axis", 1600)
_MISS_1 = Quantity("miss_1", "r_1", "mm", "by how much the ball's centre is off the vee's line, one way across")
_MISS_2 = Quantity("miss_2", "r_2", "mm", "by how much it is off the other way across")


def _vector(b: Builder, letter: str) -> Any:
    return b.sympy.Matrix([getattr(b, f"{letter}_{i}") for i in "xyz"])


def _length(b: Builder, v: Any) -> Any:
    return b.sympy.sqrt(v.dot(v))


def _steps(b: Builder, name: str, v: Any, latex: str, note: str) -> Any:
    return b.sympy.Matrix([b.step(f"{name}_{i}", v[k], f"{latex}_{i}", note if k == 0 else "") for k, i in enumerate("xyz")])


def _cone(b: Builder) -> Any:
    return tuple(_vector(b, "p") - _vector(b, "a"))


ball_in_cone = Relation("ball_in_cone", "Ball in a cone: its centre stays at the seat's point, three rows",
                        (*_P, *_A), _MISSES, _cone, "contact")


def _vee(b: Builder) -> Any:
    r = _steps(b, "r", _vector(b, "p") - _vector(b, "a"), "r", "the ball's centre, seen from the seat")
    d = _vector(b, "d")
    c = _steps(b, "c", d.cross(_vector(b, "o")), "c", "square to the vee's direction: one way across")
    size = b.step("size", _length(b, c), "|c|")
    f = _steps(b, "f", d.cross(c), "f", "and the other way across")
    return c.dot(r) / size, f.dot(r) / (size * _length(b, d))


ball_in_vee = Relation("ball_in_vee", "Ball in a vee: its centre stays on a line, two rows",
                       (*_P, *_A, *_D, *_O), (_MISS_1, _MISS_2), _vee, "contact",
                       note="Which direction across is given turns the two rows about the line and changes nothing else.")


def _flat(b: Builder) -> Any:
    n = _vector(b, "n")
    return n.dot(_vector(b, "p") - _vector(b, "a")) / _length(b, n)


ball_on_flat = Relation("ball_on_flat", "Ball on a flat: its centre stays in a plane, one row",
                        (*_P, *_A, *_N), (_MISS,), _flat, "contact")


def _link(b: Builder) -> Any:
    return _length(b, _vector(b, "p") - _vector(b, "a")) - b.length


link = Relation("link", "Link: two points keep their distance, one row (a screw between two swivels)",
                (*_P, *_A, _S), (_MISS,), _link, "contact")


def _screw(b: Builder) -> Any:
    u, n = _vector(b, "u"), _vector(b, "n")
    reach = b.step("reach", b.length / _length(b, u), "k", "the thread's direction may have any length")
    return n.dot(_vector(b, "p") + reach * u - _vector(b, "a")) / _length(b, n)


_PRELOAD = Quantity("preload", "F_0", "N", "force of the clamp or spring as built, in tension", -5000, 20000)
_RATE = Quantity("rate", "c", "N/mm", "rate of the spring", 0, 5000)
_LONGER = Quantity("longer", r"\Delta s", "mm", "by how much its two ends stand further apart than as built", -5, 5)
_TENSION = Quantity("tension", "F", "N", "force that it gives at the pose, in tension")
spring_tension = Relation("spring_tension", "Force of a clamp or spring once the neck has moved", (_PRELOAD, _RATE, _LONGER),
                          (_TENSION,), lambda b: b.preload + b.rate * b.longer, "contact",
                          note="How much longer it is, is the miss of a link between its two ends.")

screw_to_plane = Relation("screw_to_plane", "Screw whose direction is fixed in the neck, its head sliding on a plane, one row",
                          (*_P, *_U, *_A, *_N, _S), (_MISS,), _screw, "contact")

_BALL = Quantity("ball_radius", "R", "mm", "radius of the ball", 3, 10)
_RIM = Quantity("rim_radius", "r", "mm", "radius of the rim on which it lies", 1.5, 2.8)


def _rim(b: Builder) -> Any:
    n = _vector(b, "n")
    rise = b.step("rise", b.sympy.sqrt(b.ball_radius**2 - b.rim_radius**2), "e", "the ball's centre stands so far off the rim")
    return tuple(_vector(b, "p") - _vector(b, "a") - rise / _length(b, n) * n)


ball_on_rim = Relation("ball_on_rim", "Ball on a rim: its centre stays where the two radii put it, three rows",
                       (*_P, *_A, *_N, _BALL, _RIM), _MISSES, _rim, "contact",
                       note="a is the rim's middle, n the direction in which it faces.")


def _pressed(b: Builder) -> Any:
    u, d = _vector(b, "u"), _vector(b, "d")
    tip = b.step("tip", b.length / _length(b, d), "k", "the screw's direction may have any length")
    return u.dot(_vector(b, "a") + tip * d - _vector(b, "p")) / _length(b, u)


_FACE = _three("u", "u", "1", "direction square to the neck's face, posed, body frame (any length)", 1)
screw_on_face = Relation("screw_on_face", "Screw whose direction is fixed in the body, its tip on a face of the neck, one row",
                         (*_P, *_FACE, *_A, *_D, _S), (_MISS,), _pressed, "contact",
                         note="p is a point of the neck's face; the face points toward the screw.")

_HALF = (Quantity("half_along", "w_1", "mm", "half of the face's size along", 5, 60),
         Quantity("half_across", "w_2", "mm", "half of the face's size across", 5, 60))
_THICK = Quantity("thickness", "t", "mm", "what lies between the faces at their middle", -2, 5)
_SLOPES = (Quantity("slope_along", r"\sigma_1", "1", "taper of it along: thicker that way", -0.1, 0.1),
           Quantity("slope_across", r"\sigma_2", "1", "taper of it across", -0.1, 0.1))
_FACE_MISSES = (Quantity("miss", "r_0", "mm", "by how much the faces stand apart at the middle"),
                Quantity("miss_along", "r_1", "mm", "by how much they gape at the edge, along"),
                Quantity("miss_across", "r_2", "mm", "by how much they gape at the edge, across"))


def _face(b: Builder) -> Any:
    u, n = _vector(b, "u"), _vector(b, "n")
    o = _steps(b, "o", n.cross(_vector(b, "d")), "o", "across")
    size, up = b.step("size", _length(b, o), "|o|"), b.step("up", _length(b, n), "|n|")
    f = _steps(b, "f", o.cross(n) / (size * up), "f", "along, in the face")
    e = _steps(b, "e", n / up, "n", "")
    gone = _vector(b, "p") - _vector(b, "a") - b.thickness * e
    s1, s2 = b.slope_along, b.slope_across
    tilted = _steps(b, "m", e - s1 * f - s2 * o / size, "m", "square to the shim's upper face")
    face = b.step("face", _length(b, u), "|u|")
    return (tilted.dot(gone) / _length(b, tilted),
            b.half_along * u.dot(f + s1 * e) / (face * b.sympy.sqrt(1 + s1**2)),
            b.half_across * u.dot(o / size + s2 * e) / (face * b.sympy.sqrt(1 + s2**2)))


face_on_face = Relation("face_on_face", "Flat face on a flat face, with or without a shim or wedge between: three rows",
                        (*_P, *_FACE, *_A, *_N, *_D, *_HALF, _THICK, *_SLOPES), _FACE_MISSES, _face, "contact",
                        note="p is the middle of the neck's face. A row of tilt, scaled by half the face, presses at its edge.")

ROTATION = {f"r_{i}{j}": Quantity(f"r_{i}{j}", rf"R_{{{i}{j}}}", "1", f"rotation matrix, row {i}, column {j}", -1, 1)
            for i in "xyz" for j in "xyz"}
_C = tuple(Quantity(f"c_{i}", f"c_{i}", "1", f"half of the small rotation vector, {i}", -1, 1) for i in "xyz")


def _turn(b: Builder) -> Any:
    c = _vector(b, "c")
    k = b.step("k", 2 / (1 + c.dot(c)), "k")
    skew = b.sympy.Matrix([[0, -c[2], c[1]], [c[2], 0, -c[0]], [-c[1], c[0], 0]])
    return tuple(b.sympy.eye(3) + k * (skew + skew * skew))


small_turn = Relation("small_turn", "Rotation matrix of a turn given by half its rotation vector",
                      _C, tuple(ROTATION.values()), _turn, "contact", source="Cayley's form of a rotation, from memory",
                      note="An exact rotation for any c, smooth at zero; it turns by 2 atan|c|.")

_ANGLES = (Quantity("psi", r"\psi", "rad", "yaw, about z, last", -3.2, 3.2),
           Quantity("theta", r"\theta", "rad", "tilt, about y", -1.6, 1.6),
           Quantity("roll", r"\varphi", "rad", "roll, about x, first (zero for a level pivot axis)", -3.2, 3.2))


def _angles(b: Builder) -> Any:
    sp = b.sympy
    return (sp.atan2(b.r_yx, b.r_xx), sp.atan2(-b.r_zx, sp.sqrt(b.r_xx**2 + b.r_yx**2)), sp.atan2(b.r_zy, b.r_zz))


turn_angles = Relation("turn_angles", "Yaw, tilt and roll of a rotation R = Rz(yaw) Ry(tilt) Rx(roll)",
                       tuple(ROTATION[k] for k in ("r_xx", "r_yx", "r_zx", "r_zy", "r_zz")), _ANGLES, _angles, "contact")

REFERENCE = _three("ref", "c", "mm", "the neck's reference point at the nominal pose, body frame", 100)
POSITION = _three("pos", "m", "mm", "where the reference point has come to lie, body frame", 100)
_MOTION = (*ROTATION.values(), *REFERENCE, *POSITION)


def _dot(b: Builder, row: str, v: Any, *, back: bool = False) -> Any:
    return sum(getattr(b, f"r_{i}{row}" if back else f"r_{row}{i}") * v[k] for k, i in enumerate("xyz"))


def _carry(b: Builder, x: Any, y: Any, z: Any) -> Any:
    arm = [b.step(f"arm_{i}", v - getattr(b, f"ref_{i}"), f"d_{i}", "seen from the reference point" if i == "x" else "")
           for i, v in zip("xyz", (x, y, z), strict=True)]
    return tuple(b.step(f"{i}_carried", getattr(b, f"pos_{i}") + _dot(b, i, arm), i, "turned, then moved" if i == "x" else "")
                 for i in "xyz")


carried = Relation("carried", "A point of the neck, given at the nominal pose, after any rigid motion",
                   (*_three("nominal", "n", "mm", "point of the neck at the nominal pose", 700), *_MOTION), q("x y z"),
                   lambda b: _carry(b, b.nominal_x, b.nominal_y, b.nominal_z), "contact")


def _to_body(b: Builder) -> Any:
    x0 = b.step("x_0", b.xn * b.cos_alpha - b.zn * b.sin_alpha, "x_0", "neck angle at the nominal pose")
    z0 = b.step("z_0", b.z_joint + b.xn * b.sin_alpha + b.zn * b.cos_alpha, "z_0")
    return _carry(b, x0, b.yn, z0)


rigid_to_body = Relation("rigid_to_body", "A point of the neck frame in the body frame, after any rigid motion",
                         (*q(f"xn yn zn {SET}"), *_MOTION), q("x y z"), _to_body, "contact")


def _to_neck(b: Builder) -> Any:
    d = [b.step(f"d_{i}", getattr(b, i) - getattr(b, f"pos_{i}"), f"d_{i}", "seen from the moved reference" if i == "x" else "")
         for i in "xyz"]
    x0, y0, z0 = (b.step(f"{i}_0", getattr(b, f"ref_{i}") + _dot(b, i, d, back=True), f"{i}_0", "turned back" if i == "x" else "")
                  for i in "xyz")
    up = b.step("up", z0 - b.z_joint, "z_0 - z_j")
    return (b.step("x_neck", x0 * b.cos_alpha + up * b.sin_alpha, "x'", "neck angle undone"), y0,
            b.step("z_neck", up * b.cos_alpha - x0 * b.sin_alpha, "z'"))


rigid_to_neck = Relation("rigid_to_neck", "A point of the body in the neck frame, after any rigid motion",
                         (*q(f"x y z {SET}"), *_MOTION), q("xn yn zn"), _to_neck, "contact",
                         note="The exact inverse of rigid_to_body.")

_V = _three("move", "v", "mm", "move of the reference point, for one unit of what is turned", 2)
_W = _three("turn", "w", "rad", "small rotation, for the same", 0.1)
_AXIS = tuple(Quantity(f"axis_{i}", f"q_{i}", "mm", f"the axis' point nearest to the reference, {i}, body frame") for i in "xyz")
_PITCH = Quantity("lead", "h", "mm/rad", "move along the axis for each radian about it")


def _axis(b: Builder) -> Any:
    sp = b.sympy
    v, w, c = (sp.Matrix([getattr(b, f"{k}_{i}") for i in "xyz"]) for k in ("move", "turn", "ref"))
    size = b.step("size", w.dot(w), "w^2")
    return (*(c + w.cross(v) / size), w.dot(v) / size)


screw_axis = Relation("screw_axis", "Screw axis of a small motion: a turn about a line and a move along it",
                      (*_V, *_W, *REFERENCE), (*_AXIS, _PITCH), _axis, "contact", source="Chasles' theorem; derived here",
                      note="Its direction is that of the rotation. A motion without any rotation has no axis: it gives nan.")
