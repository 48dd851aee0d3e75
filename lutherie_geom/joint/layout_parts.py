"""What each part of a joint's description stands for: its contacts, and what a turn of an adjuster changes in them."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from lutherie_geom.design import joints as parts
from lutherie_geom.design.joints import Adjuster, AnyContact
from lutherie_geom.joint import contact_kinds as kinds
from lutherie_geom.joint.contact_kinds import Contact, Place
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.theory import contact as theory

__all__ = ["apart", "changes_of", "contacts_of", "in_plane"]


def _named(**places: Place) -> dict[str, ArrayLike]:
    """Places and directions as the relations name their numbers: p_x, p_y ..."""
    return {f"{letter}_{i}": v for letter, place in places.items() for i, v in zip("xyz", place, strict=True)}


def apart(c: Any) -> Array:
    """From ``at`` to ``head`` [mm]; numbers or arrays. What a link without any length misses by."""
    return np.asarray(theory.link(**_named(p=c.at, a=c.head), length=0.0))


def _along(start: Place, way: Place, by: ArrayLike) -> Place:
    x, y, z = (np.asarray(s) + np.asarray(by) * np.asarray(w) for s, w in zip(start, way, strict=True))
    return x, y, z


def in_plane(c: parts.ScrewInNeck) -> Contact:
    """A screw fixed in the neck, its end in the body's plane, as a contact."""
    x, y, z = (np.asarray(b) - np.asarray(a) for a, b in zip(c.at, c.head, strict=True))
    return kinds.screw_to_plane(c.name, receiver=c.at, thread=(x, y, z), length=apart(c), point=c.head, normal=c.faces)


def contacts_of(c: AnyContact) -> tuple[Contact, ...]:
    """The contacts (rows) that one part of the description stands for; none for what only presses."""
    match c:
        case parts.BallInCone():
            return (kinds.ball_in_cone(c.name, ball=c.at, seat=c.at),)
        case parts.BallInVee():
            return (kinds.ball_in_vee(c.name, ball=c.at, seat=c.at, along=c.along, across=c.faces),)
        case parts.BallOnFlat():
            return (kinds.ball_on_flat(c.name, ball=c.at, point=c.at, normal=c.faces),)
        case parts.BallOnRim():
            # With the rim at the ball's centre it would miss by the rise: there the rim belongs.
            off = theory.ball_on_rim(**_named(p=c.at, a=c.at, n=c.faces), ball_radius=c.ball_radius, rim_radius=c.rim_radius)
            return (kinds.ball_on_rim(c.name, ball=c.at, rim=_along(c.at, tuple(off), 1.0), faces=c.faces,
                                      ball_radius=c.ball_radius, rim_radius=c.rim_radius),)
        case parts.HingePin():
            return kinds.hinge(c.name, ball=c.at, seat=c.at, axis=c.along, reach=c.length)
        case parts.Shim():
            return (kinds.face_on_face(c.name, middle=_along(c.at, c.faces, c.thickness), on=c.at, normal=c.faces, along=c.along,
                                       half_along=c.size_along / 2, half_across=c.size_across / 2, thickness=c.thickness,
                                       slope_along=float(np.tan(c.taper_along)), slope_across=float(np.tan(c.taper_across))),)
        case parts.AnyFace():
            return (kinds.face_on_face(c.name, middle=c.at, on=c.at, normal=c.faces, along=c.along,
                                       half_along=c.size_along / 2, half_across=c.size_across / 2),)
        case parts.Link() if c.preload is None:
            return (kinds.link(c.name, receiver=c.at, head=c.head, length=apart(c) if c.length is None else c.length),)
        case parts.ScrewInNeck() if c.preload is None:
            return (in_plane(c),)
        case parts.ScrewInBody():
            face = _along((0.0, 0.0, 0.0), c.along, -1.0) if c.face is None else c.face
            return (kinds.screw_on_face(c.name, face_at=c.at, face=face, screw=_along(c.at, c.along, -c.length), along=c.along,
                                        length=c.length),)
    return ()


def changes_of(a: Adjuster, c: AnyContact) -> dict[str, Array]:
    """Which numbers of a contact's relation a turn of the adjuster changes, and by how much [mm/turn]."""
    if a.changes in ("seat", "ball"):
        letter, way = "a" if a.changes == "seat" else "p", a.along or (0.0, 0.0, 0.0)
        return {f"{letter}_{i}": a.pitch * v for i, v in zip("xyz", way, strict=True) if v}
    if a.changes == "slide":
        return {"thickness": a.pitch * np.tan(getattr(c, "angle", 0.0))}
    return {a.changes: a.pitch}
