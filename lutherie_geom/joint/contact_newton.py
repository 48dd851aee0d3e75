"""Newton's method for contacts, all samples at once; a sample that can't be solved says why and gives no pose.

A step is that of least squares: it serves 6 rows and consistent sets of more alike. It comes from the normal equations, which
are quick over many samples; where a motion is nearly free they lose too many digits, and singular values take over. Steps are
limited, and halved while they don't bring the contacts closer. Samples go in chunks that stay near the processor.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, reduce
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from lutherie_geom.joint.contact_body import RANK_TOLERANCE, REASONS, Solution
from lutherie_geom.joint.contact_posed import Parts, Posed, RigidPose, parts
from lutherie_geom.theory.contact import small_turn

if TYPE_CHECKING:
    from lutherie_geom.joint.contact_body import Contacts
    from lutherie_geom.joint.contact_kinds import Array

OK, SINGULAR, OUT_OF_REACH, OTHER_BRANCH, NOT_A_NUMBER = range(5)  # places in REASONS
STEP_DONE = 1e-10  # mm: Newton squares the error, so the pose after such a step is exact to rounding
SQUARED = 1e-5  # mm: the same for 6 rows, where the error after a step is the step squared over the size of the joint
LONGEST_STEP = 0.5  # of the characteristic length: half a radian at most
HALVINGS = 12
CHUNK = 8192
CLEAR = 1e8  # an upper bound of the squared condition below which no motion is anywhere near free


@dataclass
class _System:
    """Contacts of one chunk (n samples), with what does not change from pose to pose."""

    layout: Contacts
    kept: list[list[list[Array]] | None]
    posed: tuple[Parts, list[Posed]]
    """The pose looked at last, with the contacts carried there."""

    @classmethod
    def of(cls, layout: Contacts, at: Parts) -> _System:
        posed = [layout.posed(c, at) for c in layout.contacts]
        return cls(layout, [p.slopes()[1] if p.contact.steady else None for p in posed], (at, posed))

    def carried(self, at: Parts) -> list[Posed]:
        if self.posed[0] is not at:
            self.posed = at, [self.layout.posed(c, at) for c in self.layout.contacts]
        return self.posed[1]

    def misses(self, at: Parts) -> Array:
        """(rows, n) [mm]."""
        found = np.empty((self.layout.rows, *self.layout.shape))
        for row, value in zip(found, (r for p in self.carried(at) for r in p.misses()), strict=True):
            row[...] = value
        return found

    def matrix(self, at: Parts) -> Array:
        """Wrench matrix (rows, 6, n), rotations scaled; n is 1 where all samples share it."""
        per_length = 1 / self.layout.length
        found = [row for p, kept in zip(self.carried(at), self.kept, strict=True) for row in p.slopes(kept)[0]]
        room = np.broadcast_shapes((1,), np.shape(per_length), *(np.shape(v) for row in found for v in row))
        matrix = np.empty((len(found), 6, *room))
        for out, row in zip(matrix, found, strict=True):
            for j, value in enumerate(row):
                out[j] = value if j < 3 else value * per_length
        return matrix


class _Normal:
    """Normal equations of a wrench matrix (rows, 6, n), factored as L D L' with samples innermost.

    LAPACK would be called once for each sample, and a call for six unknowns costs several times the arithmetic.
    """

    def __init__(self, matrix: Array, near: _Normal | None = None) -> None:
        self.near = near
        a = [[np.einsum("rn,rn->n", matrix[:, i], matrix[:, j]) for j in range(i + 1)] for i in range(6)]
        self.matrix, self.size = matrix, sum((a[i][i] for i in range(1, 6)), a[0][0])
        self.low: list[list[Array]] = [[] for _ in range(6)]
        self.part: list[Array] = []
        for j in range(6):
            # A free motion leaves a pivot of rounding; kept above zero, it ends as a step that is not to be trusted.
            self.part.append(1 / np.maximum(a[j][j], 1e-15 * self.size))
            column = [a[i][j] * self.part[j] for i in range(j + 1, 6)]
            for i in range(j + 1, 6):
                for k in range(j + 1, i + 1):
                    a[i][k] -= column[i - j - 1] * a[k][j]
                self.low[i].append(column[i - j - 1])

    def step(self, miss: Array) -> Array:
        """Step of least squares (6, n) [mm] for misses (rows, n)."""
        x = -np.einsum("rjn,rn->jn", self.matrix, miss)
        for i in range(1, 6):
            for j in range(i):
                x[i] -= self.low[i][j] * x[j]
        for i in range(5, -1, -1):
            x[i] *= self.part[i]
            for j in range(i + 1, 6):
                x[i] -= self.low[j][i] * x[j]
        return np.asarray(x)

    @cached_property
    def clear(self) -> NDArray[np.bool_]:
        """Where no motion is anywhere near free: trace times trace of the inverse bounds the squared condition from above."""
        if self.near is not None and bool(np.all(self.near.clear)):
            # Singular values move by no more than the matrix does: half the least one is left where it moved by less than half.
            gone = self.matrix - self.near.matrix
            if np.all(4 * np.einsum("rjn,rjn->n", gone, gone) * self.near.inverse_trace < 1):
                return np.ones(self.size.shape, dtype=bool)
        return np.asarray(self.inverse_trace * self.size < CLEAR)

    @cached_property
    def inverse_trace(self) -> Array:
        """Trace of the inverse (n,) [1]: its reciprocal is no more than the square of the least singular value."""
        total = np.zeros_like(self.size)
        for i in range(6):
            column = [np.ones_like(self.size)]
            total += self.part[i]
            for k in range(i + 1, 6):
                value = -sum((self.low[k][i + j] * column[j] for j in range(1, k - i)), self.low[k][i] * column[0])
                column.append(value)
                total += value * value * self.part[k]
        return np.asarray(total)


def _held(normal: _Normal) -> NDArray[np.bool_]:
    """Where all six motions are held."""
    held = normal.clear.copy()
    if not held.all():
        s = np.linalg.svd(np.moveaxis(normal.matrix[..., ~held], -1, 0), compute_uv=False)
        held[~held] = s[:, 5] > RANK_TOLERANCE * s[:, 0] if s.shape[-1] == 6 else False
    return held


def _same_side(first: _Normal, last: Array) -> NDArray[np.bool_]:
    """Whether the joint can come from the nominal pose to the last one without a dead centre between.

    Beyond a dead centre the determinant has the other sign. It can't have changed where the matrix has moved by less than the
    least singular value that it began with.
    """
    gone = last - first.matrix
    same = np.asarray(np.einsum("rjn,rjn->n", gone, gone) * first.inverse_trace < 1)
    far = np.flatnonzero(~same)
    if far.size:
        a, b = (np.moveaxis(np.broadcast_to(m, gone.shape)[..., far], -1, 0) for m in (first.matrix, last))
        same[far] = np.linalg.det(np.swapaxes(a, -1, -2) @ b) > 0
    return same


def _step(normal: _Normal, miss: Array) -> Array:
    """Step of least squares (6, n) [mm]; by singular values where a motion is nearly free."""
    step = normal.step(miss)
    if not normal.clear.all():
        doubtful = ~np.broadcast_to(normal.clear, miss.shape[1:])
        whole = np.broadcast_to(normal.matrix, (*normal.matrix.shape[:2], *miss.shape[1:]))
        u, s, vt = np.linalg.svd(np.moveaxis(whole[..., doubtful], -1, 0), full_matrices=False)
        safe = np.where(s > 1e-12 * s[:, :1], s, np.inf)
        along = (np.swapaxes(u, -1, -2) @ miss.T[doubtful, :, None]) / safe[..., None]
        step[:, doubtful] = -(np.swapaxes(vt, -1, -2) @ along)[..., 0].T
    return step


def _moved(at: Parts, move: Array, length: Array) -> Parts:
    """The pose after a step (6, n) [mm]: turned about the body's axes, then moved."""
    half = move[3:] / (2 * length)
    t, r = small_turn.raw(*half), at.rotation
    new = [[t[3 * i] * r[0][j] + t[3 * i + 1] * r[1][j] + t[3 * i + 2] * r[2][j] for j in range(3)] for i in range(3)]
    return Parts(new, [at.position[k] + move[k] for k in range(3)])


def _merged(mask: NDArray[np.bool_], new: Parts, old: Parts) -> Parts:
    return Parts([[np.where(mask, new.rotation[i][j], old.rotation[i][j]) for j in range(3)] for i in range(3)],
                 [np.where(mask, new.position[k], old.position[k]) for k in range(3)])


@dataclass
class _Found:
    """What became of the samples of a chunk."""

    rotation: Array
    position: Array
    count: NDArray[np.int_]
    rest: NDArray[np.bool_]
    matrix: Array
    """The wrench matrix (rows, 6, n) of the last step: the pose has moved from it by no more than that step."""
    held: NDArray[np.bool_]
    miss: Array


def _iterate(system: _System, at: Parts, floor: Array, iterations: int, normal: _Normal | None) -> _Found:
    """Newton's steps for every sample of a chunk (n). ``normal``: the normal equations at its first pose, if known."""
    layout, n = system.layout, len(floor)
    found = _Found(np.empty((n, 3, 3)), np.empty((n, 3)), np.zeros(n, dtype=int), np.zeros(n, dtype=bool),
                   np.empty((layout.rows, 6, n)), np.zeros(n, dtype=bool), np.empty(n))
    enough, idx, whole = SQUARED if layout.rows == 6 else STEP_DONE, np.arange(n), layout
    length = layout.length
    # Contacts that fight keep missing, and rounding of their sum of squares hides the last steps: let these pass.
    room = 1.0 if layout.rows == 6 else 1 + 1e-12
    r, done = system.misses(at), np.zeros(n, dtype=bool)
    for turn in range(iterations):
        close = np.abs(r).max(axis=0) <= floor[idx]
        if normal is None or turn:
            normal = _Normal(system.matrix(at), normal if idx.size == n else None)
        step = _step(normal, r)
        size = np.abs(step).max(axis=0)
        small = size <= enough
        step *= np.minimum(1.0, LONGEST_STEP * length / np.maximum(size, 1e-300))
        before, fraction = np.einsum("ij,ij->j", r, r), np.where(close | done, 0.0, 1.0)
        for halving in range(HALVINGS + 1):
            new = _moved(at, fraction * step, length)
            missed = system.misses(new)
            worse = ~(np.einsum("ij,ij->j", missed, missed) < before * room) & ~small & ~close & ~done
            if not worse.any() or halving == HALVINGS:
                break
            fraction = np.where(worse, fraction / 2, fraction)
        at, r = (_merged(~worse, new, at), np.where(worse, r, missed)) if worse.any() else (new, missed)
        found.count[idx] += (fraction > 0) & ~worse
        done |= close | small | worse
        # Go on with all samples until a third of them is at rest: choosing the others costs as much as a step.
        if done.mean() <= 0.33 and turn + 1 < iterations:
            continue
        there = _Found(np.moveaxis(np.array(at.rotation), -1, 0), np.array(at.position).T, found.count[idx], done,
                       normal.matrix, _held(normal), np.abs(r).max(axis=0))
        if done.all() and idx.size == n:
            return there
        found.rotation[idx], found.position[idx], found.rest[idx] = there.rotation, there.position, done
        found.held[idx], found.miss[idx], found.matrix[..., idx] = there.held, there.miss, there.matrix
        idx = idx[~done]
        if not idx.size:
            break
        layout = whole._take(idx)
        at = parts(RigidPose(found.rotation[idx], found.position[idx], layout.reference), apart=True)
        system, length = _System.of(layout, at), layout.length
        r, done = r[:, ~done], np.zeros(idx.size, dtype=bool)
    return found


def _nominal(layout: Contacts) -> Parts:
    """The nominal pose, in single numbers as far as all samples share it."""
    one, none = np.ones(()), np.zeros(())
    return Parts([[one if i == j else none for j in range(3)] for i in range(3)], [layout.reference[..., k] for k in range(3)])


def _chunk(layout: Contacts, start: RigidPose | None, tolerance: float, iterations: int) -> tuple[NDArray[Any], ...]:
    """Rotation, position, reason, steps and worst miss of every sample of a chunk, from ``start`` or the nominal pose."""
    n = layout.shape[0]
    values = [v for c in layout.contacts for v in c.values.values()] + list(layout.reference.T)
    # One sum finds any nan or infinity; the largest number says how far rounding can go.
    largest = reduce(np.maximum, [np.abs(v) for v in values]) + np.zeros(n)
    reason = np.full(n, OK, dtype=np.int8)
    reason[~np.isfinite(largest)] = NOT_A_NUMBER
    for c in layout.contacts:
        if "length" in c.values:  # squared on the way, a negative length would pass for a positive one
            reason[np.broadcast_to(c.values["length"] <= 0, n)] = OUT_OF_REACH
    rotation, position = np.full((n, 3, 3), np.nan), np.full((n, 3), np.nan)
    count, miss = np.zeros(n, dtype=int), np.full(n, np.nan)
    able = np.flatnonzero(reason == OK)
    if able.size < n:
        layout = layout._take(able)
    if able.size:
        nominal = _nominal(layout)
        system = _System.of(layout, nominal)
        first = _Normal(system.matrix(nominal))
        held = np.broadcast_to(_held(first), able.size)
        if not held.all():
            miss[able] = np.abs(system.misses(nominal)).max(axis=0)
            reason[able[~held]] = SINGULAR
            able = able[held]
            layout = layout._take(np.flatnonzero(held))
            nominal, every = _nominal(layout), np.broadcast_to(first.matrix, (*first.matrix.shape[:2], held.size))
            system, first = _System.of(layout, nominal), _Normal(every[..., held])
    if able.size:
        begun = nominal if start is None else parts(RigidPose(start.rotation[able], start.position[able], layout.reference))
        # Rounding of a coordinate: a miss as small as this says nothing more about the pose.
        found = _iterate(system, begun, 8 * np.finfo(float).eps * largest[able], iterations, first if start is None else None)
        say = np.where(found.held & found.rest, np.where(_same_side(first, found.matrix), OK, OTHER_BRANCH), SINGULAR)
        count[able], miss[able] = found.count, found.miss
        reason[able] = np.where(found.miss <= tolerance, say, OUT_OF_REACH)
        if able.size == n and not reason.any():
            return found.rotation, found.position, reason, count, miss
        good = reason[able] == OK
        rotation[able[good]], position[able[good]] = found.rotation[good], found.position[good]
    return rotation, position, reason, count, miss


def newton(layout: Contacts, start: RigidPose | None, tolerance: float, iterations: int) -> Solution:
    """Solve every sample from the pose ``start`` (or the nominal one); see :meth:`Contacts.solve`. ``tolerance`` [mm]."""
    shape = layout.shape
    n = int(np.prod(shape, dtype=int))
    begun = None if start is None else RigidPose(np.broadcast_to(start.rotation, (*shape, 3, 3)).reshape(n, 3, 3),
                                                 np.broadcast_to(start.position, (*shape, 3)).reshape(n, 3), layout.reference)
    found = []
    for first in range(0, n, CHUNK):
        which = np.arange(first, min(first + CHUNK, n))
        here = None if begun is None else RigidPose(begun.rotation[which], begun.position[which], begun.reference)
        found.append(_chunk(layout._take(which), here, tolerance, iterations))
    r, m, reason, count, miss = (np.concatenate(v) for v in zip(*found, strict=True)) if found else _none()
    reference = np.broadcast_to(layout.reference, (*shape, 3))
    return Solution(layout, RigidPose(r.reshape(*shape, 3, 3), m.reshape(*shape, 3), reference),
                    (reason == OK).reshape(shape), REASONS[reason].reshape(shape), count.reshape(shape), miss.reshape(shape))


def _none() -> tuple[NDArray[Any], ...]:
    return np.empty((0, 3, 3)), np.empty((0, 3)), np.empty(0, dtype=np.int8), np.empty(0, dtype=int), np.empty(0)
