"""Contact solver: the neck as a rigid body, its pose found from what it touches.

Any layout of contacts can be solved, not only the built-in joint (:func:`joint_contacts`): balls in cones and vees, on flats
and rims, faces on faces, hinges, links, screws whose thread is fixed in neck or body. Whole joints are described in files
(``data/joints``) and laid out by :mod:`lutherie_geom.joint.layout`. What each contact forbids is derived in
``theory/contact.py``; its slopes are the rows of the contact wrench matrix and so give Newton's steps, the freedoms and the
sensitivities alike.

Arrays: the batch comes first, then rows, then x y z. A place is ``(x, y, z)`` in mm in the body frame; each of the three may
be a number or an array over samples. Points of the neck are given where they lie at the nominal pose. Six unknowns, in this
order: the move of the reference point [mm], then the small rotation about it [rad], both along the body's axes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from lutherie_geom.joint.contact_body import Contacts, Freedom, RigidPose, Solution
from lutherie_geom.joint.contact_kinds import (
    Contact,
    Place,
    ball_in_cone,
    ball_in_vee,
    ball_on_flat,
    ball_on_rim,
    face_on_face,
    hinge,
    link,
    screw_on_face,
    screw_to_plane,
)
from lutherie_geom.theory.tilt import RECEIVERS

__all__ = ["Contact", "Contacts", "Freedom", "Place", "RigidPose", "SEATS", "Solution", "ball_in_cone", "ball_in_vee",
           "ball_on_flat", "ball_on_rim", "face_on_face", "hinge", "joint_contacts", "link", "screw_on_face", "screw_to_plane"]

SEATS = ("centred", "two cones", "cone and vee")


def joint_contacts(
    *, receiver: str, tilt: ArrayLike = 0.0, bass: ArrayLike = 0.0, treble: ArrayLike = 0.0,
    pitch_tilt: ArrayLike, pitch_pivot: ArrayLike, spacing: ArrayLike, x_p: ArrayLike, z_p: ArrayLike,
    x_head: ArrayLike, z_head: ArrayLike, x_receiver: ArrayLike, z_receiver: ArrayLike,
    seats: str = "centred", clamp: tuple[ArrayLike, ArrayLike] | None = None,
) -> Contacts:
    """The built-in joint as a layout of contacts; arguments as in the closed form (turns, mm/turn, mm), numbers or arrays.

    ``receiver`` is "dowel across" (the tilt screw is a link) or "rod along" (its thread is fixed in the neck, its head slides
    on the bearing face). ``clamp``, x [mm] of its head in the block and of its receiver in the heel, adds the clamp screw
    as a link of its nominal length, level with the pivot axis; left out, the neck tilts freely. ``seats`` is one of

    - "centred": unequal turns bring the seats further apart than the balls are. Each ball then lies on the line through both
      seats, and their middle on the middle of the seats, as two equal cones would centre them. 5 rows, the closed form.
    - "two cones": both balls held fast, 6 rows of rank 5; out of reach as soon as one seat stands further out.
    - "cone and vee": a cone on the bass side, a vee along y on the treble side, 5 rows: exact at any turns.
    """
    if receiver not in RECEIVERS:
        raise ValueError(f"receiver is {receiver!r}; it is one of {', '.join(RECEIVERS)}")
    if seats not in SEATS:
        raise ValueError(f"seats is {seats!r}; it is one of {', '.join(SEATS)}")
    w, pv, xp, xa, xb, za, zb, b, t = (np.asarray(v, dtype=float) for v in (
        spacing, pitch_pivot, x_p, x_head, x_receiver, z_head, z_receiver, bass, treble))
    ball_b, ball_t = (xp, -w / 2, z_p), (xp, w / 2, z_p)
    seat_b, seat_t = (xp - pv * b, -w / 2, z_p), (xp - pv * t, w / 2, z_p)
    if seats == "centred":
        along, up = (-pv * (t - b), w, 0.0), (0.0, 0.0, 1.0)
        middle = (xp - pv * (b + t) / 2, 0.0, z_p)
        held = [ball_in_vee("bass ball", ball=ball_b, seat=seat_b, along=along, across=up),
                ball_in_vee("treble ball", ball=ball_t, seat=seat_t, along=along, across=up),
                ball_on_flat("middle", ball=(xp, 0.0, z_p), point=middle, normal=along)]
    elif seats == "two cones":
        held = [ball_in_cone("bass ball", ball=ball_b, seat=seat_b), ball_in_cone("treble ball", ball=ball_t, seat=seat_t)]
    else:
        held = [ball_in_cone("bass ball", ball=ball_b, seat=seat_b),
                ball_in_vee("treble ball", ball=ball_t, seat=seat_t, along=(0.0, 1.0, 0.0), across=(0.0, 0.0, 1.0))]
    nominal = np.hypot(xa - xb, za - zb)
    length = nominal + np.asarray(pitch_tilt, dtype=float) * np.asarray(tilt, dtype=float)
    if receiver == "dowel across":
        screw = link("tilt screw", receiver=(xb, 0.0, zb), head=(xa, 0.0, za), length=length)
    else:
        screw = screw_to_plane("tilt screw", receiver=(xb, 0.0, zb), thread=(xa - xb, 0.0, za - zb), length=length,
                               point=(xa, 0.0, za), normal=(1.0, 0.0, 0.0))
    found = Contacts.of([*held, screw], reference=(xp, 0.0, z_p))
    if clamp is None:
        return found
    head, nut = (np.asarray(v, dtype=float) for v in clamp)
    return found.with_contact(link("clamp screw", receiver=(nut, 0.0, z_p), head=(head, 0.0, z_p), length=np.abs(head - nut)))
