"""The neck as a rigid body on its contacts: misses, wrenches, freedoms, sensitivities.

See :mod:`lutherie_geom.joint.contacts`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lutherie_geom.joint.contact_kinds import Array, Contact, Place
from lutherie_geom.joint.contact_posed import Parts, Posed, RigidPose, carried_contact, parts

__all__ = ["Contacts", "Freedom", "RigidPose", "Solution"]

# Singular value, against the largest, below which a motion counts as free. Rounding puts free motions near 1e-16; a joint
# worse than 1e-6 would lose so many digits that its pose is not worth printing.
RANK_TOLERANCE = 1e-6
_SAID = {
    "": "Solved.",
    "singular": "The contacts leave a motion free here (or nearly so): they do not say where the neck stands.",
    "out of reach": "No pose near the nominal one satisfies all contacts: a link too long or too short, or parts that fight.",
    "other branch": "The contacts also close in a pose beyond a dead centre, and that one was found; the joint can't get there.",
    "not a number": "A dimension is missing (nan) or infinite.",
    "past its end": "An adjuster is turned past its least or most turns.",
}
REASONS = np.array(list(_SAID))


@dataclass(frozen=True)
class Freedom:
    """What the contacts leave free, from the singular values of the wrench matrix, rotations scaled by ``length`` [mm]."""

    rows: int
    rank: NDArray[np.int_]
    condition: Array
    """Largest against smallest non-zero singular value [1]; small is good."""
    singular_values: Array
    """(..., 6) [1], a unit force and a unit moment / length count alike; zero for a free motion."""
    motions: Array
    """(..., 6, 6): motions [mm, rad], each scaled to length 1 mm in the metric, from stiffest to freest; the last are free."""
    stresses: Array
    """(..., rows, rows) [1]: contact forces, one set a column; the last ``self_stress`` ones balance among themselves."""
    length: Array

    @property
    def free(self) -> NDArray[np.int_]:
        """Motions left free [1]."""
        return np.asarray(6 - self.rank)

    @property
    def self_stress(self) -> NDArray[np.int_]:
        """Independent ways in which the contacts can press against each other with no load on the neck [1]."""
        return np.asarray(self.rows - self.rank)

    def __str__(self) -> str:
        ranks = ", ".join(str(r) for r in np.unique(self.rank))
        free, stress = (", ".join(str(v) for v in np.unique(w)) for w in (self.free, self.self_stress))
        return (f"{self.rows} rows, rank {ranks}: {free} motions left free, {stress} states of self-stress, "
                f"condition up to {np.max(self.condition):.3g}")


@dataclass(frozen=True)
class Solution:
    """Result of :meth:`Contacts.solve`. Where ``converged`` is False the pose is nan and ``reason`` says why."""

    layout: Contacts
    pose: RigidPose
    converged: NDArray[np.bool_]
    reason: NDArray[np.str_]
    """"" when converged, else "singular", "out of reach", "past its end", "other branch" or "not a number"."""
    iterations: NDArray[np.int_]
    residual: Array
    """Largest miss of any contact at the last step [mm]."""

    @cached_property
    def condition(self) -> Array:
        """Condition of the scaled wrench matrix at the pose [1]; nan where there is none."""
        safe = np.where(self.converged[..., None, None], self.pose.rotation, np.eye(3))
        there = np.where(self.converged[..., None], self.pose.position, 0.0)
        found = self.layout.freedom(RigidPose(safe, there, self.pose.reference)).condition
        return np.asarray(np.where(self.converged, found, np.nan))

    def without(self, where: NDArray[np.bool_], reason: str) -> Solution:
        """The same with no pose where ``where`` (*batch) is true, for a ``reason`` that the contacts themselves can't know."""
        out = np.broadcast_to(where, self.converged.shape)
        pose = replace(self.pose, rotation=np.where(out[..., None, None], np.nan, self.pose.rotation),
                       position=np.where(out[..., None], np.nan, self.pose.position))
        return replace(self, pose=pose, converged=self.converged & ~out, reason=np.where(out, reason, self.reason))

    def __str__(self) -> str:
        names, counts = np.unique(self.reason, return_counts=True)
        return "\n".join(f"{n} of {self.reason.size}: {_SAID[str(r)]}" for r, n in zip(names, counts, strict=True))


@dataclass(frozen=True)
class Contacts:
    """A layout of contacts between neck and body; ``reference`` (..., 3) [mm] is the neck's point that the unknowns move."""

    contacts: tuple[Contact, ...]
    reference: Array

    @classmethod
    def of(cls, contacts: Iterable[Contact], reference: Place = (0.0, 0.0, 0.0)) -> Contacts:
        """Layout from contacts and a reference point [mm] (near the contacts is best)."""
        return cls(tuple(contacts), np.stack(np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in reference)), -1))

    @cached_property
    def shape(self) -> tuple[int, ...]:
        """Shape of the batch [1]."""
        return np.broadcast_shapes(self.reference.shape[:-1], *(v.shape for c in self.contacts for v in c.values.values()))

    @property
    def rows(self) -> int:
        """Rows of the wrench matrix [1]."""
        return sum(c.rows for c in self.contacts)

    def with_contact(self, *more: Contact) -> Contacts:
        """The same layout with contacts added."""
        return replace(self, contacts=self.contacts + more)

    def index(self, contact: str) -> int:
        """Place of the contact of that name [1]."""
        names = [c.name for c in self.contacts]
        if contact not in names:
            raise KeyError(f"no contact named {contact!r}; there are {names}")
        return names.index(contact)

    def nominal(self) -> RigidPose:
        """The nominal pose."""
        ref = np.broadcast_to(self.reference, (*self.shape, 3))
        return RigidPose(np.broadcast_to(np.eye(3), (*self.shape, 3, 3)), ref, ref)

    @cached_property
    def length(self) -> Array:
        """Characteristic length [mm]: root mean square distance of the contacts' points on the neck from the reference."""
        ref = [self.reference[..., k] for k in range(3)]
        squares = [sum((c.values[f"p_{i}"] - v) ** 2 for i, v in zip("xyz", ref, strict=True)) for c in self.contacts]
        size = np.sqrt(sum(squares[1:], squares[0]) / len(squares))
        return np.asarray(np.where(size > 0, size, 1.0))

    def _with(self, pose: RigidPose) -> tuple[int, ...]:
        """Shape of the batch of layout and pose together."""
        return np.broadcast_shapes(self.shape, pose.position.shape[:-1])

    def posed(self, c: Contact, at: Parts) -> Posed:
        """A contact carried to a pose."""
        return carried_contact(c, at, [self.reference[..., k] for k in range(3)])

    def miss(self, pose: RigidPose) -> Array:
        """By how much each row is missed at a pose (..., rows) [mm]."""
        at = parts(pose)
        found = [r for c in self.contacts for r in self.posed(c, at).misses()]
        return np.stack([np.broadcast_to(r, self._with(pose)) for r in found], axis=-1)

    def wrenches(self, pose: RigidPose | None = None) -> Array:
        """Contact wrench matrix (..., rows, 6): force [1], then moment about the reference point [mm], of each row.

        The same numbers are the slopes of the misses by the six unknowns.
        """
        pose = self.nominal() if pose is None else pose
        found, shape = [row for c in self.contacts for row in self.posed(c, parts(pose)).slopes()[0]], self._with(pose)
        return np.stack([np.stack([np.broadcast_to(v, shape) for v in row], axis=-1) for row in found], axis=-2)

    def freedom(self, pose: RigidPose | None = None) -> Freedom:
        """Rank, conditioning, free motions and self-stress at a pose (the nominal one when none is given)."""
        scale = _scale(self.length)
        u, s, vt = np.linalg.svd(self.wrenches(pose) / scale[..., None, :])
        s = np.concatenate([s, np.zeros((*s.shape[:-1], 6 - s.shape[-1]))], axis=-1)
        alive = s > RANK_TOLERANCE * s[..., :1]
        least = np.min(np.where(alive, s, np.inf), axis=-1)
        return Freedom(self.rows, np.sum(alive, axis=-1), s[..., 0] / least, s, vt / scale[..., None, :], u, self.length)

    def sensitivity(self, pose: RigidPose, contact: str, parameter: str) -> Array:
        """How the pose answers to one dimension of one contact (..., 6): [mm and rad, per unit of the dimension].

        The implicit function theorem on the contact equations. ``parameter`` is the relation's own name for it: ``length``,
        ``a_x`` (seat), ``p_x`` (ball, along the neck's own nominal axes) ... Where there are more rows than unknowns, it is
        the answer of the least-squares pose, exact but for a share as small as the misses that are left against the joint's size.
        """
        k = self.index(contact)
        names = [q.name for q in self.contacts[k].relation.inputs]
        if parameter not in names:
            raise KeyError(f"contact {contact!r} has no dimension {parameter!r}; it has {sorted(names)}")
        return self.answers(pose, self.push(k, parameter, pose))

    def push(self, k: int, parameter: str, pose: RigidPose) -> Array:
        """How every row's miss grows with one dimension of contact ``k``, the neck held (..., rows) [mm per unit]."""
        c = self.contacts[k]
        names, by = [q.name for q in c.relation.inputs], self.posed(c, parts(pose)).slopes()[1]
        if parameter[:2] in ("p_", "u_"):  # given in the neck: a step along its axis turns with the neck
            along = pose.rotation[..., :, "xyz".index(parameter[2])]
            here = [sum(row[names.index(parameter[:2] + i)] * along[..., j] for j, i in enumerate("xyz")) for row in by]
        else:
            here = [row[names.index(parameter)] for row in by]
        first = sum(o.rows for o in self.contacts[:k])
        found = np.zeros((*self._with(pose), self.rows))
        for j, value in enumerate(here):
            found[..., first + j] = value
        return found

    def pushed(self, k: int, changes: Mapping[str, Array], pose: RigidPose) -> Array:
        """The same for several dimensions of contact ``k`` at once, each changed by so much (..., rows) [mm]."""
        none = np.zeros((*self._with(pose), self.rows))
        return sum((np.asarray(by)[..., None] * self.push(k, name, pose) for name, by in changes.items()), none)

    def answers(self, pose: RigidPose, push: Array) -> Array:
        """Motion of the neck (..., 6) [mm, rad] that answers to misses ``push`` (..., rows) [mm]; least squares of the rows."""
        scale = _scale(self.length)
        inverse = np.linalg.pinv(self.wrenches(pose) / scale[..., None, :])
        return np.asarray(-(inverse @ push[..., None])[..., 0] / scale)

    def _take(self, which: NDArray[Any]) -> Contacts:
        """The chosen samples of the flattened batch; numbers that all samples share stay single."""
        def pick(v: Array) -> Array:
            if v.ndim == 0:
                return v
            chosen: Array = (v.reshape(-1) if v.shape == self.shape else np.broadcast_to(v, self.shape).reshape(-1))[which]
            return chosen

        shared = self.reference.ndim == 1 and len(self.shape) > 0
        ref = self.reference if shared else np.broadcast_to(self.reference, (*self.shape, 3)).reshape(-1, 3)[which]
        return Contacts(tuple(replace(c, values={k: pick(v) for k, v in c.values.items()}) for c in self.contacts), ref)

    def solve(self, *, start: RigidPose | None = None, tolerance: float = 1e-9, iterations: int = 60) -> Solution:
        """Pose that satisfies all contacts, by Newton's method from the nominal pose (or ``start``), each sample on its own.

        ``tolerance`` [mm] is the largest miss of a contact that counts as touching; a length of zero or less is out of reach.
        Contacts that fight miss each other: a larger tolerance gives the pose of least squares, ``residual`` the worst miss.
        A pose beyond a dead centre is refused by the sign of the determinant. That can't tell apart two poses on the same side:
        from nominal the short steps keep to the near one (tested up to 40 turns); a far ``start`` may give another.
        """
        from lutherie_geom.joint.contact_newton import newton

        return newton(self, start, tolerance, iterations)


def _scale(length: Array) -> Array:
    """Factors (..., 6) that bring the unknowns to mm: rotations count by the way of a point at the characteristic length."""
    return np.concatenate([np.ones((*length.shape, 3)), np.repeat(length[..., None], 3, axis=-1)], axis=-1)
