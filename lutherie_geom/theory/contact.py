"""Contact: what each kind of touch between neck and body forbids, as a miss in mm that is zero when the parts touch.

In every relation ``p`` is a point of the neck (a ball's centre, the receiver) and ``u`` a direction of the neck, both where
the pose has brought them; all other quantities belong to the body. The slope of a miss by ``p`` is then the direction of
the contact's force, and arm x slope its moment: the rows of the contact wrench matrix come out of the same derivation.
"""

from __future__ import annotations

from typing import Any

from lutherie_geom.theory.relation import Builder, Quantity, Relation


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


screw_to_plane = Relation("screw_to_plane", "Screw whose direction is fixed in the neck, its head sliding on a plane, one row",
                          (*_P, *_U, *_A, *_N, _S), (_MISS,), _screw, "contact")

_C = tuple(Quantity(f"c_{i}", f"c_{i}", "1", f"half of the small rotation vector, {i}", -1, 1) for i in "xyz")
_R = {f"r_{i}{j}": Quantity(f"r_{i}{j}", rf"R_{{{i}{j}}}", "1", f"rotation matrix, row {i}, column {j}", -1, 1)
      for i in "xyz" for j in "xyz"}


def _turn(b: Builder) -> Any:
    c = _vector(b, "c")
    k = b.step("k", 2 / (1 + c.dot(c)), "k")
    skew = b.sympy.Matrix([[0, -c[2], c[1]], [c[2], 0, -c[0]], [-c[1], c[0], 0]])
    return tuple(b.sympy.eye(3) + k * (skew + skew * skew))


small_turn = Relation("small_turn", "Rotation matrix of a turn given by half its rotation vector",
                      _C, tuple(_R.values()), _turn, "contact", source="Cayley's form of a rotation, from memory",
                      note="An exact rotation for any c, smooth at zero; it turns by 2 atan|c|.")

_ANGLES = (Quantity("psi", r"\psi", "rad", "yaw, about z, last", -3.2, 3.2),
           Quantity("theta", r"\theta", "rad", "tilt, about y", -1.6, 1.6),
           Quantity("roll", r"\varphi", "rad", "roll, about x, first (zero for a level pivot axis)", -3.2, 3.2))


def _angles(b: Builder) -> Any:
    sp = b.sympy
    return (sp.atan2(b.r_yx, b.r_xx), sp.atan2(-b.r_zx, sp.sqrt(b.r_xx**2 + b.r_yx**2)), sp.atan2(b.r_zy, b.r_zz))


turn_angles = Relation("turn_angles", "Yaw, tilt and roll of a rotation R = Rz(yaw) Ry(tilt) Rx(roll)",
                       tuple(_R[k] for k in ("r_xx", "r_yx", "r_zx", "r_zy", "r_zz")), _ANGLES, _angles, "contact")
