# mypy: disable-error-code="valid-type"
"""What a joint is made of, for joints of any kind: contacts between neck and body, and adjusters that move them.

Places are three lengths with their units, at the nominal pose; directions are three plain numbers, of any size. Both are in the
body frame unless ``frame = "neck"`` says that they are in the neck's (see DEVELOPERS.md). ``faces`` is the way in which a contact
pushes the neck; where it is left out, the contact holds both ways.
The files lie in ``data/joints``; :mod:`lutherie_geom.design.joint_files` reads them.
"""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import BeforeValidator, Field

from lutherie_geom.design.fields import Part, a_force, a_length, a_number, an_angle
from lutherie_geom.design.units import parse_length

__all__ = ["KINDS", "Adjuster", "AnyContact", "AnyFace", "BallInCone", "BallInVee", "BallOnFlat", "BallOnRim", "Bodies",
           "FaceOnFace", "HingePin", "JointFile", "Link", "ScrewInBody", "ScrewInNeck", "Shim", "Spring", "Wedge"]

REACH = 600.0  # mm from the joint: further off lies no part of it


def _place(value: Any) -> tuple[float, ...]:
    if not isinstance(value, list | tuple) or len(value) != 3:
        raise ValueError(f'{value!r} is not a place: write three lengths [x, y, z], such as ["-4 mm", "18 mm", "-20 mm"]')
    found = tuple(parse_length(v) for v in value)
    for axis, text, mm in zip("xyz", value, found, strict=True):
        if abs(mm) > REACH:
            raise ValueError(f"{axis} = {text} is {mm:g} mm; allowed is {-REACH:g} to {REACH:g} mm")
    return found


def _direction(value: Any) -> tuple[float, ...]:
    fit = isinstance(value, list | tuple) and len(value) == 3
    if not fit or any(isinstance(v, bool) or not isinstance(v, int | float) for v in value):
        raise ValueError(f"{value!r} is not a direction: write three plain numbers [x, y, z], such as [0, 1, 0]")
    size = math.hypot(*value)
    if not 1e-6 < size < 1e6:
        raise ValueError(f"{value!r} has a length of {size:g}; allowed is 1e-6 to 1e6, only its direction counts")
    # One of length 1 keeps its last digit, so that a joint written out is the joint read back.
    return tuple(float(v) / (size if abs(size - 1) > 1e-12 else 1.0) for v in value)


Place = Annotated[tuple[float, float, float], BeforeValidator(_place)]
Direction = Annotated[tuple[float, float, float], BeforeValidator(_direction)]


class AnyContact(Part):
    """What every contact has: a name of its own, and where it is. ``tolerance``: how far its place may lie off.

    ``frame``: the frame of all its places and directions, at the nominal pose. A face is out of square by the tolerance at its
    edge, a screw out of true by the tolerance at its end.
    """

    name: str = Field(min_length=1, max_length=60)
    at: Place
    frame: Literal["body", "neck"] = "body"
    tolerance: a_length(0, 5) | None = None


class BallInCone(AnyContact):
    """Ball of the neck, centre ``at``, in a cone (or socket) of the body: 3 rows. ``half_angle`` is the cone's."""

    kind: Literal["ball in cone"]
    faces: Direction | None = None
    half_angle: an_angle(10, 85) = np.pi / 4


class BallInVee(AnyContact):
    """Ball of the neck in a vee groove of the body that runs ``along``: 2 rows. Also a pin in a hole."""

    kind: Literal["ball in vee"]
    along: Direction
    faces: Direction | None = None
    half_angle: an_angle(10, 85) = np.pi / 4


class BallOnFlat(AnyContact):
    """Ball of the neck on a flat of the body, square to ``faces``: 1 row. ``captive``: it can't lift off either."""

    kind: Literal["ball on flat"]
    faces: Direction
    captive: bool = False


class BallOnRim(AnyContact):
    """Ball of the neck on the rim of a hole in the body: 3 rows. Its centre stands off the rim as the two radii say.

    ``touches``: at how many places round the rim, 6 for a hex socket; 0 is all round.
    """

    kind: Literal["ball on rim"]
    faces: Direction
    ball_radius: a_length(1, 12)
    rim_radius: a_length(0.5, 10)
    touches: int = Field(default=0, ge=0, le=12)


class HingePin(AnyContact):
    """Pin of a hinge ``along`` a line, one end at ``at``, held in both ends' holes: 5 rows."""

    kind: Literal["hinge pin"]
    along: Direction
    length: a_length(2, 200)


class AnyFace(AnyContact):
    """Flat face of the neck, middle ``at``, on a flat face of the body: 3 rows. Sizes: whole face ``along`` and across."""

    faces: Direction
    along: Direction
    size_along: a_length(2, 300)
    size_across: a_length(2, 300)
    captive: bool = False


class FaceOnFace(AnyFace):
    """The two faces touch."""

    kind: Literal["face on face"]


class Shim(AnyFace):
    """A shim between two flat faces. ``at`` lies on the body's face; tapers make the shim thicker along and across."""

    kind: Literal["shim under face"]
    thickness: a_length(0, 20)
    taper_along: an_angle(-10, 10) = 0.0
    taper_across: an_angle(-10, 10) = 0.0


class Wedge(AnyFace):
    """A wedge between two flat faces that stay parallel to it: pushed in, it lifts the neck by tan(``angle``) of its way."""

    kind: Literal["wedge under face"]
    angle: an_angle(0.5, 40)


class Link(AnyContact):
    """Point ``at`` of the neck tied to ``head`` in the body by a link between two swivels: 1 row.

    ``length``: where it is left out, the distance between the two. ``preload``: a clamp screw that only presses and leaves the
    neck where the other contacts hold it.
    """

    kind: Literal["link"]
    head: Place
    length: a_length(1, 400) | None = None
    carries: Literal["both", "tension", "push"] = "both"
    preload: a_force(0, 20000) | None = None


class ScrewInNeck(AnyContact):
    """Screw that stands fixed in the neck at ``at`` and ends in ``head``, sliding on the body's plane there: 1 row.

    ``preload``: a clamp screw that only presses, as for a link.
    """

    kind: Literal["screw fixed in neck"]
    head: Place
    faces: Direction
    carries: Literal["both", "tension", "push"] = "both"
    preload: a_force(0, 20000) | None = None


class ScrewInBody(AnyContact):
    """Screw that stands fixed in the body and drives ``along`` until its tip meets a face of the neck at ``at``: 1 row.

    ``face``: square to the neck's face, toward the screw; where it is left out, against the screw.
    """

    kind: Literal["screw fixed in body"]
    along: Direction
    face: Direction | None = None
    length: a_length(1, 200) = 20.0


class Spring(AnyContact):
    """Spring from ``at`` on the neck to ``head`` in the body: it only presses, no row. ``preload`` is positive in tension.

    Its force grows by ``rate`` as its two ends come further apart than they were drawn, and ends at zero.
    """

    kind: Literal["spring"]
    head: Place
    preload: a_force(-5000, 5000)
    rate: a_number("N/mm", 0, 5000) = 0.0


KINDS: dict[str, type[AnyContact]] = {
    c.model_fields["kind"].annotation.__args__[0]: c  # type: ignore[union-attr]
    for c in (BallInCone, BallInVee, BallOnFlat, BallOnRim, HingePin, FaceOnFace, Shim, Wedge, Link, ScrewInNeck, ScrewInBody,
              Spring)}


class Adjuster(Part):
    """A screw that changes a contact: its ``length``, its ``seat`` or ``ball`` (``along`` a direction), a ``thickness``, or the
    ``slide`` of a wedge. ``pitch`` a turn; positive turns make it longer, thicker or further along. Turns are limited by
    ``least`` and ``most``, counted from the nominal pose. ``frame``: that of ``along``."""

    name: str = Field(min_length=1, max_length=60)
    contact: str
    changes: Literal["length", "seat", "ball", "thickness", "slide"]
    pitch: a_length(0.1, 5)
    along: Direction | None = None
    frame: Literal["body", "neck"] = "body"
    hand: Literal["right", "left"] = "right"
    key_from: Literal["soundhole", "heel"] = "soundhole"
    least: a_number("turn", -200, 0) = -12.0
    most: a_number("turn", 0, 200) = 12.0


CHANGES = {
    "length": (Link, ScrewInNeck, ScrewInBody),
    "seat": (BallInCone, BallInVee, BallOnFlat, BallOnRim, HingePin),
    "ball": (BallInCone, BallInVee, BallOnFlat, BallOnRim, HingePin),
    "thickness": (AnyFace,),
    "slide": (Wedge,),
}


class Bodies(Part):
    """What the two bodies are called in reports. There are always two: what moves as one with the fingerboard, and what holds."""

    neck: str = Field(default="neck", min_length=1, max_length=40)
    body: str = Field(default="body", min_length=1, max_length=40)


class JointFile(Part):
    """One joint: contacts and adjusters between two bodies, on a guitar (a demo design, or any given when it is laid out)."""

    name: str = Field(min_length=1, max_length=100)
    about: str = ""
    guitar: str = "slack_water"
    tolerance: a_length(0, 5) = 0.1
    bodies: Bodies = Bodies()
    contacts: tuple[AnyContact, ...] = ()
    adjusters: tuple[Adjuster, ...] = ()

    def __str__(self) -> str:
        rows = [f"  {c.name}: {getattr(c, 'kind', '')}" for c in self.contacts]
        turns = [f"  {a.name}: turns change the {a.changes} of {a.contact}, {a.pitch:g} mm a turn" for a in self.adjusters]
        return "\n".join([self.name, *([self.about] if self.about else []), "contacts", *rows, "adjusters", *turns])

    __repr__ = __str__
