"""A rigid pose of the neck, and the contacts carried to it: misses and rows of the wrench matrix.

See :mod:`lutherie_geom.joint.contacts`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from lutherie_geom.joint.contact_kinds import Array, Contact
from lutherie_geom.theory import contact as theory

__all__ = ["Parts", "Posed", "RigidPose", "carried_contact", "parts"]


@dataclass(frozen=True)
class RigidPose:
    """Where the neck stands: ``rotation`` (..., 3, 3) [1] about ``reference`` (..., 3) [mm], carried to ``position`` [mm]."""

    rotation: Array
    position: Array
    reference: Array

    def point(self, place: ArrayLike) -> Array:
        """Body coordinates (..., 3) [mm] of a point of the neck, given (..., 3) [mm] at the nominal pose."""
        arm = np.asarray(place, dtype=float) - self.reference
        return np.asarray(self.position + (self.rotation @ arm[..., None])[..., 0])

    def direction(self, nominal: ArrayLike) -> Array:
        """A direction (..., 3) [1] fixed in the neck, turned with it."""
        return np.asarray((self.rotation @ np.asarray(nominal, dtype=float)[..., None])[..., 0])

    @property
    def angles(self) -> Any:
        """``psi``, ``theta``, ``roll`` [rad]: yaw about z, tilt about y, roll about x, rotation = Rz Ry Rx."""
        r = self.rotation
        return theory.turn_angles(r_xx=r[..., 0, 0], r_yx=r[..., 1, 0], r_zx=r[..., 2, 0], r_zy=r[..., 2, 1], r_zz=r[..., 2, 2])


@dataclass(frozen=True)
class Parts:
    """A pose number by number, samples innermost: what the relations take and what is quick."""

    rotation: list[list[Array]]
    position: list[Array]


def parts(pose: RigidPose, *, apart: bool = False) -> Parts:
    """The pose, number by number; ``apart`` in arrays of their own, where each will be read many times."""
    r, m = pose.rotation, pose.position
    own = np.ascontiguousarray if apart else np.asarray
    return Parts([[own(r[..., i, j]) for j in range(3)] for i in range(3)], [own(m[..., i]) for i in range(3)])


def carried_contact(c: Contact, at: Parts, reference: list[Array]) -> Posed:
    """A contact carried to a pose; ``reference`` x y z [mm] is the neck's point that the pose moves."""
    arm = _turn(at.rotation, [c.values[f"p_{i}"] - reference[k] for k, i in enumerate("xyz")])
    moved = dict(c.values) | {f"p_{i}": at.position[k] + arm[k] for k, i in enumerate("xyz")}
    u = None
    if "u_x" in c.values:
        u = _turn(at.rotation, [c.values[f"u_{i}"] for i in "xyz"])
        moved |= {f"u_{i}": u[k] for k, i in enumerate("xyz")}
    return Posed(c, [moved[q.name] for q in c.relation.inputs], arm, u)


def _turn(rotation: list[list[Array]], v: list[Array]) -> list[Array]:
    return [row[0] * v[0] + row[1] * v[1] + row[2] * v[2] for row in rotation]


def _cross(a: list[Array], b: list[Array]) -> list[Array]:
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


@dataclass(frozen=True)
class Posed:
    """A contact at a pose: the inputs of its relation, the arm of its point and its turned direction, x y z apart [mm, 1]."""

    contact: Contact
    arguments: list[Array]
    arm: list[Array]
    turned: list[Array] | None

    def misses(self) -> Iterable[Array]:
        """By how much each row is missed [mm]."""
        return self.contact.relation.raw(*self.arguments)

    def slopes(self, kept: list[list[Array]] | None = None) -> tuple[list[list[Array]], list[list[Array]]]:
        """The rows of the wrench matrix (six numbers each), and slopes of the misses by every input as posed.

        ``kept`` gives those slopes back in where they do not depend on the pose (:attr:`Contact.steady`).
        """
        names = [q.name for q in self.contact.relation.inputs]
        if kept is None:
            flat = self.contact.relation.raw_slopes(*self.arguments)
            kept = [list(flat[i:i + len(names)]) for i in range(0, len(flat), len(names))]
        p = names.index("p_x")
        found = []
        for by in kept:
            force = by[p:p + 3]
            moment = _cross(self.arm, force)
            if self.turned is not None:
                k = names.index("u_x")
                moment = [a + b for a, b in zip(moment, _cross(self.turned, by[k:k + 3]), strict=True)]
            found.append([*force, *moment])
        return found, kept
