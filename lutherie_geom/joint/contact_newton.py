"""Newton's method for contacts, all samples at once; a sample that can't be solved says why and gives no pose.

A step is the least-squares solution by singular values: it serves 6 rows and consistent sets of more alike, and shows a
free motion when it meets one. Steps are limited, and halved while they don't bring the contacts closer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lutherie_geom.joint.contact_body import (
    NOT_A_NUMBER,
    OK,
    OTHER_BRANCH,
    OUT_OF_REACH,
    RANK_TOLERANCE,
    SINGULAR,
    RigidPose,
    Solution,
    _scale,
)
from lutherie_geom.theory.contact import small_turn

if TYPE_CHECKING:
    from lutherie_geom.joint.contact_body import Contacts
    from lutherie_geom.joint.contact_kinds import Array

STEP_DONE = 1e-10  # mm: Newton squares the error, so the pose after such a step is exact to rounding
LONGEST_STEP = 0.5  # of the characteristic length: half a radian at most
HALVINGS = 12


def turned(rotation: Array, vector: Array) -> Array:
    """The rotation followed by a turn about a small vector (..., 3) [rad] along the body's axes."""
    parts = small_turn.raw(*np.moveaxis(vector / 2, -1, 0))
    turn = np.stack(np.broadcast_arrays(*parts), axis=-1).reshape(*vector.shape[:-1], 3, 3)
    return np.asarray(turn @ rotation)


def decomposed(layout: Contacts, pose: RigidPose, scale: Array) -> tuple[Array, Array, Array, NDArray[np.bool_]]:
    """Singular values of the scaled wrench matrix and whether all six motions are held."""
    u, s, vt = np.linalg.svd(layout.wrenches(pose) / scale[:, None, :], full_matrices=False)
    full = s[:, 5] > RANK_TOLERANCE * s[:, 0] if s.shape[-1] == 6 else np.zeros(len(s), dtype=bool)
    return u, s, vt, full


def _condition(s: Array) -> Array:
    """Largest against smallest of six singular values; infinite when a motion is free."""
    held = s[:, 5] if s.shape[-1] == 6 else np.zeros(len(s))
    return np.asarray(np.divide(s[:, 0], held, out=np.full(len(s), np.inf), where=held > 0))


def newton(layout: Contacts, start: RigidPose, tolerance: float, iterations: int) -> Solution:
    """Solve every sample from the pose ``start``; see :meth:`Contacts.solve`. ``tolerance`` [mm]."""
    shape = layout.shape
    n = int(np.prod(shape, dtype=int))
    flat = layout._take(np.arange(n))
    reason = np.full(n, OK, dtype="<U16")
    values = np.stack([*(v for c in flat.contacts for v in c.values.values()), *flat.reference.T])
    reason[~np.isfinite(values).all(axis=0)] = NOT_A_NUMBER
    for c in flat.contacts:
        if "length" in c.values:  # squared on the way, a negative length would pass for a positive one
            reason[c.values["length"] <= 0] = OUT_OF_REACH
    # Rounding of a coordinate: a miss as small as this says nothing more about the pose.
    floor = 8 * np.finfo(float).eps * np.max(np.abs(values), axis=0)
    rotation = np.broadcast_to(start.rotation, (*shape, 3, 3)).reshape(n, 3, 3).copy()
    position = np.broadcast_to(start.position, (*shape, 3)).reshape(n, 3).copy()
    count, miss, condition = np.zeros(n, dtype=int), np.full(n, np.nan), np.full(n, np.nan)
    done = reason != OK
    nominal = np.full((n, 6, flat.rows), np.nan)
    if (~done).any():
        idx = np.flatnonzero(~done)
        sub = flat._take(idx)
        scale = _scale(sub.length)
        u, s, vt, full = decomposed(sub, sub.nominal(), scale)
        nominal[idx[full]] = np.swapaxes(vt[full], -1, -2) / s[full, None, :] @ np.swapaxes(u[full], -1, -2)
        reason[idx[~full]] = SINGULAR
        miss[idx] = np.abs(sub.miss(sub.nominal())).max(axis=-1)
        condition[idx] = _condition(s)
        done[idx[~full]] = True

    for _ in range(iterations):
        idx = np.flatnonzero(~done)
        if not idx.size:
            break
        sub = flat._take(idx)
        scale = _scale(sub.length)
        at = RigidPose(rotation[idx], position[idx], sub.reference)
        r = sub.miss(at)
        u, s, vt, full = decomposed(sub, at, scale)
        close = np.abs(r).max(axis=-1) <= floor[idx]
        safe = np.where(s > 1e-12 * s[:, :1], s, np.inf)
        step = -(np.swapaxes(vt, -1, -2) @ ((np.swapaxes(u, -1, -2) @ r[..., None]) / safe[..., None]))[..., 0]
        size = np.abs(step).max(axis=-1)
        small = size <= STEP_DONE
        step *= np.minimum(1.0, LONGEST_STEP * sub.length / np.maximum(size, 1e-300))[:, None]
        before = np.sum(r * r, axis=-1)
        fraction = np.where(close, 0.0, 1.0)
        for halving in range(HALVINGS + 1):
            move = fraction[:, None] * step / scale
            new = RigidPose(turned(at.rotation, move[:, 3:]), at.position + move[:, :3], sub.reference)
            after = np.sum(sub.miss(new) ** 2, axis=-1)
            worse = ~(after < before) & ~small & ~close
            if not worse.any() or halving == HALVINGS:
                break
            fraction = np.where(worse, fraction / 2, fraction)
        keep = ~worse
        rotation[idx[keep]], position[idx[keep]] = new.rotation[keep], new.position[keep]
        count[idx] += fraction > 0
        done[idx] = close | small | worse
    unfinished = ~done

    idx = np.flatnonzero(reason == OK)
    if idx.size:
        sub = flat._take(idx)
        at = RigidPose(rotation[idx], position[idx], sub.reference)
        _, s, _, full = decomposed(sub, at, _scale(sub.length))
        miss[idx] = np.abs(sub.miss(at)).max(axis=-1)
        condition[idx] = _condition(s)
        # Between the nominal pose and one beyond a dead centre the determinant changes its sign: both close the contacts,
        # but the joint can't pass from one to the other.
        side = np.linalg.det(nominal[idx] @ (sub.wrenches(at) / _scale(sub.length)[:, None, :]))
        found = np.where(side > 0, OK, OTHER_BRANCH)
        found = np.where(full & ~unfinished[idx], found, SINGULAR)
        reason[idx] = np.where(miss[idx] <= tolerance, found, OUT_OF_REACH)
    good = reason == OK
    pose = RigidPose(np.where(good[:, None, None], rotation, np.nan).reshape(*shape, 3, 3),
                     np.where(good[:, None], position, np.nan).reshape(*shape, 3), flat.reference.reshape(*shape, 3))
    return Solution(pose, good.reshape(shape), reason.reshape(shape), count.reshape(shape), miss.reshape(shape),
                    condition.reshape(shape))
