"""Kinds of contact between neck and body, each with its dimensions. See :mod:`lutherie_geom.joint.contacts`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lutherie_geom.theory import contact as theory
from lutherie_geom.theory.relation import Relation

__all__ = ["Array", "Contact", "Place", "ball_in_cone", "ball_in_vee", "ball_on_flat", "ball_on_rim", "face_on_face", "hinge",
           "link", "screw_on_face", "screw_to_plane"]

Array = NDArray[np.float64]
Place = tuple[ArrayLike, ArrayLike, ArrayLike]


@dataclass(frozen=True)
class Contact:
    """One contact: its relation, and a value [unit of the relation] for each of the relation's inputs."""

    name: str
    relation: Relation
    values: Mapping[str, Array]

    @property
    def steady(self) -> bool:
        """True when its misses are straight in the neck's move: their slopes by the point are the same at every pose."""
        return self.relation.name in ("ball_in_cone", "ball_in_vee", "ball_on_flat", "ball_on_rim")

    @property
    def rows(self) -> int:
        """How many motions it forbids [1]."""
        return len(self.relation.outputs)


def _contact(name: str, relation: Relation, vectors: Mapping[str, Place], **scalars: ArrayLike) -> Contact:
    values = {f"{letter}_{i}": v for letter, place in vectors.items() for i, v in zip("xyz", place, strict=True)} | scalars
    return Contact(name, relation, MappingProxyType({k: np.asarray(v, dtype=float) for k, v in values.items()}))


def ball_in_cone(name: str, *, ball: Place, seat: Place) -> Contact:
    """Ball of the neck, centre [mm], in a cone that holds the centre at ``seat`` [mm]: 3 rows."""
    return _contact(name, theory.ball_in_cone, {"p": ball, "a": seat})


def ball_in_vee(name: str, *, ball: Place, seat: Place, along: Place, across: Place | None = None) -> Contact:
    """Ball, centre [mm], whose centre stays on the line through ``seat`` [mm] in direction ``along`` [1]: 2 rows.

    ``across`` [1], any direction not along the vee, only sets how the two rows are turned about the line.
    """
    if across is None:
        mean = [float(np.abs(np.mean(np.asarray(v, dtype=float)))) for v in along]
        x, y, z = (1.0 if i == int(np.argmin(mean)) else 0.0 for i in range(3))
        across = (x, y, z)
    return _contact(name, theory.ball_in_vee, {"p": ball, "a": seat, "d": along, "o": across})


def ball_on_flat(name: str, *, ball: Place, point: Place, normal: Place) -> Contact:
    """Ball, centre [mm], whose centre stays in the plane through ``point`` [mm] square to ``normal`` [1]: 1 row."""
    return _contact(name, theory.ball_on_flat, {"p": ball, "a": point, "n": normal})


def link(name: str, *, receiver: Place, head: Place, length: ArrayLike) -> Contact:
    """Point of the neck ``receiver`` [mm] at ``length`` [mm] from the body's point ``head`` [mm]: 1 row."""
    return _contact(name, theory.link, {"p": receiver, "a": head}, length=length)


def screw_to_plane(name: str, *, receiver: Place, thread: Place, length: ArrayLike, point: Place, normal: Place) -> Contact:
    """Screw that stands out of the neck at ``receiver`` [mm] along ``thread`` [1], its end ``length`` [mm] away in a plane.

    The plane goes through ``point`` [mm] square to ``normal`` [1]; on it the end slides: 1 row.
    """
    return _contact(name, theory.screw_to_plane, {"p": receiver, "u": thread, "a": point, "n": normal}, length=length)


def ball_on_rim(name: str, *, ball: Place, rim: Place, faces: Place, ball_radius: ArrayLike, rim_radius: ArrayLike) -> Contact:
    """Ball, centre and radius [mm], on the rim of a hole, its middle ``rim`` and radius [mm], facing ``faces`` [1]: 3 rows."""
    return _contact(name, theory.ball_on_rim, {"p": ball, "a": rim, "n": faces}, ball_radius=ball_radius, rim_radius=rim_radius)


def screw_on_face(name: str, *, face_at: Place, face: Place, screw: Place, along: Place, length: ArrayLike) -> Contact:
    """Screw that stands out of the body at ``screw`` [mm] along ``along`` [1] by ``length`` [mm], its tip on the neck's face.

    The face goes through the neck's point ``face_at`` [mm] square to ``face`` [1], which points toward the screw: 1 row.
    """
    return _contact(name, theory.screw_on_face, {"p": face_at, "u": face, "a": screw, "d": along}, length=length)


def face_on_face(name: str, *, middle: Place, on: Place, normal: Place, along: Place,
                 half_along: ArrayLike, half_across: ArrayLike,
                 thickness: ArrayLike = 0.0, slope_along: ArrayLike = 0.0, slope_across: ArrayLike = 0.0) -> Contact:
    """Flat face of the neck, its ``middle`` [mm], over the body's face at ``on`` [mm] with ``normal`` [1]: 3 rows.

    Half sizes of the face [mm], along ``along`` [1] and across; between them a shim, its thickness [mm] at the middle and its
    slopes [1]. The neck's face is cut to lie flat on the shim as it is at the nominal pose.
    """
    n, d = (np.stack(np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in w)), -1) for w in (normal, along))
    n = n / np.linalg.norm(n, axis=-1, keepdims=True)
    o = np.cross(n, d)
    o = o / np.linalg.norm(o, axis=-1, keepdims=True)
    square = n - np.asarray(slope_along)[..., None] * np.cross(o, n) - np.asarray(slope_across)[..., None] * o
    return _contact(name, theory.face_on_face,
                    {"p": middle, "u": (square[..., 0], square[..., 1], square[..., 2]), "a": on, "n": normal, "d": along},
                    half_along=half_along, half_across=half_across, thickness=thickness, slope_along=slope_along,
                    slope_across=slope_across)


def hinge(name: str, *, ball: Place, seat: Place, axis: Place, reach: float = 10.0) -> tuple[Contact, Contact]:
    """Hinge about ``axis`` [1] through ``seat`` [mm], as a cone there and a vee along the axis ``reach`` [mm] away: 5 rows."""
    a, p, s = (np.stack(np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in w)), -1) for w in (axis, ball, seat))
    far = reach * a / np.linalg.norm(a, axis=-1, keepdims=True)
    out, on = (p + far), (s + far)
    return (ball_in_cone(f"{name} pin", ball=ball, seat=seat),
            ball_in_vee(f"{name} axis", ball=(out[..., 0], out[..., 1], out[..., 2]),
                        seat=(on[..., 0], on[..., 1], on[..., 2]), along=axis))
