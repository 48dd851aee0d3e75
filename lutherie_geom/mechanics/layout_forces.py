"""Forces in a joint of any kind: what the contacts carry under a load, and when one of them lifts.

A wrench is six numbers, force [N] and moment [N mm] on the neck, along the body's axes. Moments are about ``about`` [mm], a place
in the body frame: that of ``mechanics.pull.string_pull`` is ``mechanics.pull.axis_middle``. Friction, the neck's weight and the
give of wood and metal are left out. Where contacts fight, balance does not decide their forces: :func:`carried_forces` shows the
smallest set and names them (``undecided``), :func:`force_bounds` tells what else balance and contacts allow.

Strings at pitch hold some 700 N and more, and a joint that lets go throws the neck: wear eye protection, slacken all strings
evenly before a screw of the joint is loosened. These numbers are no proof of strength.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design import joints as parts
from lutherie_geom.design.joints import AnyContact
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.fights import draws, preload_contacts
from lutherie_geom.joint.layout import Layout
from lutherie_geom.joint.layout_parts import contacts_of
from lutherie_geom.joint.spatial import SpatialPose
from lutherie_geom.mechanics.no_lift import Bound
from lutherie_geom.mechanics.seats import FACETS, Seat

__all__ = ["Carried", "carried_forces", "force_bounds", "least_preload", "least_preloads", "lifts", "load_factor",
           "rows_allowed", "screw_forces"]

AXES = ("to the tail", "to the treble", "up")


@dataclass(frozen=True)
class Carried:
    """Forces of the contacts under a load: row by row (*batch, rows) [N], and by contact the size of its force (*batch) [N]."""

    rows: Array
    forces: dict[str, Array]
    left: Array
    """What the contacts can't hold (*batch, 6) [N, N mm]: not zero when a motion is free."""
    undecided: tuple[str, ...] = ()
    """Contacts whose forces balance does not decide: the smallest set is shown, see :func:`force_bounds`."""

    def __str__(self) -> str:
        if np.ndim(self.rows) > 1:
            return f"forces at {np.shape(self.rows)[:-1]} poses or loads"
        return ", ".join(f"{k} {float(v):.0f} N" + (" (not decided)" if k in self.undecided else "")
                         for k, v in self.forces.items())

    __repr__ = __str__


def _moved(wrench: Array, about: Array, to: Array) -> Array:
    """The same load, its moment about another place [mm]."""
    w = np.asarray(wrench, dtype=float)
    force, moment, arm = np.broadcast_arrays(w[..., :3], w[..., 3:], np.asarray(about, dtype=float) - to)
    return np.concatenate([force, moment + np.cross(arm, force)], axis=-1)


def _matrices(layout: Layout, p: SpatialPose, preload: dict[str, float] | None) -> tuple[Array, Array, Array, Array]:
    """Rows (*batch, rows, 6) of the holding contacts, what the preloads give [N, N mm], the reference's place, scale (6,)."""
    rows = layout.turned(p.turns).wrenches(p.rigid)
    pushes = np.zeros(6)
    pressing = {c.name: c for c in preload_contacts(layout)}
    for name in preload or {}:
        if name not in pressing:
            raise KeyError(f"no clamp or spring named {name!r}; there are {', '.join(map(repr, sorted(pressing))) or 'none'}")
    for name, c in pressing.items():
        force = np.asarray(c.tension(p.rigid) if preload is None or name not in preload else preload[name])
        pushes = pushes + force[..., None] * c.pull(p.rigid)
    return rows, pushes, p.rigid.position, np.repeat([1.0, 1 / float(np.mean(layout.contacts.length))], 3)


def carried_forces(layout: Layout, p: SpatialPose, wrench: Array, about: Array,
                   preload: dict[str, float] | None = None) -> Carried:
    """Forces that balance a load (..., 6) and the preloads; the smallest ones where the joint does not decide.

    ``preload``: force [N] of clamps and springs by name, in tension at this pose; by default those of the file, a spring's
    changed by its rate as the neck has moved.
    """
    rows, pushes, place, scale = _matrices(layout, p, preload)
    load = (_moved(wrench, about, place) + pushes) * scale
    transposed = np.swapaxes(rows * scale, -1, -2)
    found = -(np.linalg.pinv(transposed) @ load[..., None])[..., 0]
    left = ((transposed @ found[..., None])[..., 0] + load) / scale
    # What a row may be given without moving the balance: the part of it that lies in the states of self-stress.
    loose = np.eye(rows.shape[-2]) - np.linalg.pinv(transposed) @ transposed
    forces, undecided, first = {}, [], 0
    for c in layout.contacts.contacts:
        part = slice(first, first + c.rows)
        forces[c.name] = np.linalg.norm((found[..., part, None] * rows[..., part, :3]).sum(axis=-2), axis=-1)
        if np.any(np.abs(loose[..., part, :]) > 1e-9):
            undecided.append(c.name)
        first += c.rows
    return Carried(found, forces, left, tuple(undecided))


def screw_forces(layout: Layout, p: SpatialPose, carried: Carried) -> dict[str, Array]:
    """Force [N] along each adjuster's own axis (*batch), by virtual work: what its contacts' forces do for a turn of it, over
    its pitch. On a link that is the link's force; on a wedge, a seat or a ball it is a part of the contact's.

    Friction is left out: it holds much of a wedge, and adds to the force while a screw is turned.
    """
    pitch = {a.name: np.asarray(a.pitch) for a in layout.file.adjusters}
    return {a: np.abs((carried.rows * push).sum(axis=-1)) / pitch[a] for a, push in layout.pushes(p).items()}


def rows_allowed(c: AnyContact, vectors: Array) -> Array:
    """Rows (k, rows of the contact) that must give no positive product with its forces; ``vectors`` are its rows' directions.

    Cones, vees and rims hold sideways only while the ball stays down, without friction; a face presses inside its own outline;
    what holds both ways allows everything (k = 0).
    """
    from lutherie_geom.theory.statics import cone_ring, seat_slope

    n = len(vectors)
    if isinstance(c, parts.BallOnFlat | parts.ScrewInBody):
        return np.zeros((0, n)) if getattr(c, "captive", False) else np.array([[-1.0]])
    if isinstance(c, parts.AnyFace):
        if c.captive:
            return np.zeros((0, n))
        return np.array([[-1.0, 0, 0], [-1, 1, 0], [-1, -1, 0], [-1, 0, 1], [-1, 0, -1]])
    carries = getattr(c, "carries", "both")
    if carries != "both":
        toward = draws(c) if isinstance(c, parts.ScrewInNeck) else -1.0
        return np.array([[-toward if carries == "tension" else toward]])
    faces = getattr(c, "faces", None)
    if faces is None:
        return np.zeros((0, n))
    if isinstance(c, parts.BallOnRim):
        seat = Seat(c.name, "rim", c.rim_radius, float(seat_slope(ball_radius=c.ball_radius, rim_radius=c.rim_radius)),
                    c.touches or FACETS)
        side: Any = _across(faces)
    elif isinstance(c, parts.BallInCone | parts.BallInVee):
        kind = "vee groove" if isinstance(c, parts.BallInVee) else "cone"
        ring = cone_ring(ball_radius=1.0, half_angle=c.half_angle)  # its slope is the same for a ball of any size
        seat = Seat(c.name, kind, math.nan, float(seat_slope(ball_radius=1.0, rim_radius=ring)), FACETS)
        side = c.along if isinstance(c, parts.BallInVee) else _across(faces)
    else:
        return np.zeros((0, n))
    side = np.asarray(side) / np.linalg.norm(side)
    # A seat faces -x, a vee runs along y: its own axes in the body.
    own = np.stack([-np.asarray(faces), side, np.cross(-np.asarray(faces), side)])
    return np.asarray(seat.facets("smooth") @ own @ vectors.T)


def _across(faces: Any) -> Array:
    """A direction square to the way in which a seat faces: straight across where it faces the neck."""
    axis = np.eye(3)[int(np.argmin(np.abs(faces)))]
    return np.asarray(axis - np.dot(axis, faces) * np.asarray(faces))


def _program(layout: Layout, p: SpatialPose, wrench: Array, about: Array, preload: dict[str, float] | None,
             free: tuple[str, ...] = (), cost: Array | None = None, more: Array | None = None) -> Any:
    """Linear program over the contacts' rows, the tensions of the ``free`` clamps [N] and how often a load ``more`` (6,) is put
    on; the least of all these tensions together unless a ``cost`` of each unknown is given."""
    from scipy.optimize import linprog

    if np.ndim(wrench) != 1 or p.batch:
        raise ValueError(f"wrench has shape {np.shape(wrench)} at poses with {p.batch} batch axes; linear programming takes one "
                         "load at one pose: shape (6,) and no batch")
    rows, pushes, place, scale = _matrices(layout, p, {**(preload or {}), **dict.fromkeys(free, 0.0)})
    lines = {c.name: c.pull(p.rigid) for c in preload_contacts(layout)}
    extra = [lines[name] for name in free] + ([] if more is None else [_moved(more, about, place)])
    n, k = len(rows), len(extra)
    limits: list[Array] = []
    at = 0
    for c in layout.file.contacts:
        for part in contacts_of(c):
            allowed = rows_allowed(c, rows[at:at + part.rows, :3])
            if len(allowed):
                block = np.zeros((len(allowed), n + k))
                block[:, at:at + part.rows] = allowed
                limits.append(block)
            at += part.rows
    equal = np.column_stack([rows.T, *extra]) * scale[:, None]
    upper = np.concatenate(limits) if limits else None
    return linprog(np.repeat([0.0, 1.0], [n, k]) if cost is None else cost, A_ub=upper,
                   b_ub=None if upper is None else np.zeros(len(upper)), A_eq=equal,
                   b_eq=-(_moved(wrench, about, place) + pushes) * scale, bounds=[(None, None)] * n + [(0, None)] * k,
                   method="highs")


def least_preload(layout: Layout, p: SpatialPose, wrench: Array, about: Array, clamp: str,
                  preload: dict[str, float] | None = None) -> float:
    """Least force [N] of one clamp or spring, the others as they are, with which no contact lifts under a load (6,).

    inf when no force does. No friction: a ball that would begin to climb its seat counts as lifting.
    """
    found = _program(layout, p, wrench, about, preload, (clamp,))
    return float(found.fun) if found.status == 0 else math.inf


def least_preloads(layout: Layout, p: SpatialPose, wrench: Array, about: Array) -> dict[str, float]:
    """Tension [N] of every clamp and spring with which no contact lifts under a load (6,), least in all together.

    All inf when no tensions do; empty when the joint has neither clamp nor spring (whether it lifts: :func:`lifts`).
    """
    names = tuple(c.name for c in preload_contacts(layout))
    found = _program(layout, p, wrench, about, None, names)
    least = found.x[len(found.x) - len(names):] if found.status == 0 else np.full(len(names), math.inf)
    return {k: float(v) for k, v in zip(names, least, strict=True)}


def lifts(layout: Layout, p: SpatialPose, wrench: Array, about: Array, preload: dict[str, float] | None = None) -> bool:
    """True when no set of forces that the contacts can give balances a load (6,) with the preloads: something lifts."""
    return bool(_program(layout, p, wrench, about, preload).status != 0)


def load_factor(layout: Layout, p: SpatialPose, wrench: Array, more: Array, about: Array,
                preload: dict[str, float] | None = None) -> float:
    """How many times a load ``more`` (6,) may come on top of ``wrench`` before something lifts [1]: nan when it lifts without,
    inf when it never does. No friction."""
    rows = layout.contacts.rows
    found = _program(layout, p, wrench, about, preload, (), np.append(np.zeros(rows), -1.0), more)
    return -float(found.fun) if found.status == 0 else math.inf if found.status == 3 else math.nan


def force_bounds(layout: Layout, p: SpatialPose, wrench: Array, about: Array,
                 preload: dict[str, float] | None = None) -> tuple[Bound, ...]:
    """Least and greatest force [N] on the neck that balance and the contacts allow under a load (6,), no friction.

    Three for each contact, along the body's axes; a contact of one row gives one, along its row. Equal ends: balance decides.
    All are nan when the load can't be held without something lifting.
    """

    rows = _matrices(layout, p, preload)[0]
    found, at = [], 0
    for c in layout.contacts.contacts:
        own = rows[at:at + c.rows, :3]
        axes = [("", np.ones(1))] if c.rows == 1 else [(f" {w}", own[:, k]) for k, w in enumerate(AXES)]
        for words, each in axes:
            cost = np.zeros(len(rows))
            cost[at:at + c.rows] = each
            ends = [_program(layout, p, wrench, about, preload, (), sign * cost) for sign in (1.0, -1.0)]
            low, high = (sign * e.fun if e.status == 0 else np.nan if e.status == 2 else -sign * np.inf
                         for sign, e in zip((1.0, -1.0), ends, strict=True))
            found.append(Bound(c.name + words, float(low), float(high)))
        at += c.rows
    return tuple(found)
