"""What contributes how much: Sobol indices, first-order and total, with intervals.

The first-order index of an input is the share of the variance that goes if that input alone were exact; the total index is
the share that stays if all others were exact. Samples are laid out after Saltelli: two independent designs A and B, and A
with one input at a time taken from B; n samples of d inputs cost n (d + 2) evaluations. First-order indices by the estimator
of Janon, which uses B and its partner alike, less the chance agreement of A and B, which is known to be none and blurs the small
indices; total ones by that of Jansen. All are kept as moments, merged chunk by chunk.

Rows of even numbers that make one input together (a group that errs together) are taken from B as one block.

The intervals come from leaving out one stretch of samples at a time (jackknife). Stretches of one scrambling of Sobol points
balance each other, so that the intervals are about as wide as chance would make them and on average hold more often than they
say; what a scrambling has wrong in all its stretches alike they do not see (a rare small index is missed). With four
``scrambles`` or more, one of them is left out at a time: the interval says what it holds, about indices that are less sharp.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import reduce
from typing import Any

import numpy as np
from scipy.stats import qmc
from scipy.stats import t as student

from lutherie_geom.studies.sampling import BITS, CHUNK, PARTS, jobs, ordered, part, whole, whole_chunk
from lutherie_geom.studies.tally import Array

__all__ = ["Indices", "indices"]


@dataclass(frozen=True)
class Indices:
    """Sobol indices [-], (readings, inputs), and their intervals (readings, inputs, 2) at the ``confidence``.

    ``mean`` and ``variance`` (readings,) in the unit of the reading and its square; indices of a reading that does not vary
    are nan.
    Interval ends may lie a little below 0 or above 1: they are not cut, so that noise shows as noise.
    """

    first: Array
    total: Array
    first_interval: Array
    total_interval: Array
    mean: Array
    variance: Array
    confidence: float
    samples: int
    evaluations: int

    def ranked(self, reading: int = 0) -> list[int]:
        """Numbers of the inputs, the largest total index first."""
        return [int(i) for i in np.argsort(-self.total[reading], kind="stable")]


@dataclass(frozen=True)
class _Moments:
    """Moments of one or more chunks. ``a``, ``b`` are A and B, ``c`` is A with an input from B; squares are about the means."""

    count: int
    mean_a: Array
    mean_b: Array
    mean_c: Array
    square_a: Array
    square_b: Array
    square_c: Array
    product_bc: Array
    product_ab: Array
    jump: Array  # sum of (a - c)²

    def merge(self, o: _Moments) -> _Moments:
        """Both together (Chan, Golub, LeVeque)."""
        n = self.count + o.count
        w, f = o.count / n, self.count * (o.count / n)
        a, b, c = o.mean_a - self.mean_a, o.mean_b - self.mean_b, o.mean_c - self.mean_c
        return _Moments(n, self.mean_a + a * w, self.mean_b + b * w, self.mean_c + c * w, self.square_a + o.square_a + f * a * a,
                        self.square_b + o.square_b + f * b * b, self.square_c + o.square_c + f * c * c,
                        self.product_bc + o.product_bc + f * b[:, None] * c, self.product_ab + o.product_ab + f * a * b,
                        self.jump + o.jump)

    def mean(self) -> Array:
        return (self.mean_a + self.mean_b) / 2

    def variance(self) -> Array:
        return (self.square_a + self.square_b) / (2 * self.count) + ((self.mean_a - self.mean_b) / 2) ** 2

    def first(self) -> Array:
        apart = ((self.mean_b[:, None] - self.mean_c) / 2) ** 2
        common = self.product_bc / self.count - apart
        share = common / ((self.square_b[:, None] + self.square_c) / (2 * self.count) + apart)
        by_chance = self.product_ab / self.count / self.variance()
        # The smaller the share, the more A with one input from B is A itself, and its agreement with B that of A.
        return np.asarray(share - by_chance[:, None] * (1 - share))

    def total(self) -> Array:
        return np.asarray(self.jump / (2 * self.count) / self.variance()[:, None])


@dataclass(frozen=True)
class _Saltelli:
    """The model on A, B and the mixed designs; readings come out as (readings * (inputs + 2), n)."""

    model: Callable[[Array], Array]
    blocks: tuple[tuple[int, ...], ...]

    def __call__(self, u: Array) -> Array:
        a, b = np.split(u, 2)
        mixed = a.copy()
        found = [self._read(a), self._read(b)]
        for rows in map(list, self.blocks):
            mixed[rows] = b[rows]
            found.append(self._read(mixed))
            mixed[rows] = a[rows]
        return np.concatenate(found)

    def _read(self, u: Array) -> Array:
        y = np.array(self.model(u), dtype=float, ndmin=2)  # copied: the next call may overwrite u or its readings
        if y.ndim != 2 or y.shape[1] != u.shape[1]:
            raise ValueError(f"the model gave shape {y.shape} for {u.shape[1]} samples: give (n,) or (readings, n)")
        if not np.isfinite(y).all():
            r = int(np.flatnonzero(~np.isfinite(y).all(axis=1))[0])
            raise ValueError(f"reading {r} has no value for {int((~np.isfinite(y[r])).sum())} of {u.shape[1]} samples: indices "
                             "need a value for each; use tighter spreads, or a reading that has one everywhere")
        return y


@dataclass(frozen=True)
class _Summing:
    """Moments of a chunk, stretch by stretch: the model likes longer chunks than the intervals do."""

    inputs: int
    stretch: int

    def of(self, values: Array) -> tuple[_Moments, ...]:
        return tuple(self._stretch(values[:, a:a + self.stretch]) for a in range(0, values.shape[1], self.stretch))

    def _stretch(self, values: Array) -> _Moments:
        y = values.reshape(self.inputs + 2, -1, values.shape[1])
        means = y.mean(axis=2)
        # A reading that does not vary must give exactly zero, whatever the rounding of its mean.
        means = np.where((y == y[:, :, :1]).all(axis=2), y[:, :, 0], means)
        off = y - means[:, :, None]
        squares = (off * off).sum(axis=2)
        jump = ((y[2:] - y[0]) ** 2).sum(axis=2)
        product = (off[2:] * off[1]).sum(axis=2)
        return _Moments(values.shape[1], means[0], means[1], means[2:].T, squares[0], squares[1], squares[2:].T, product.T,
                        (off[0] * off[1]).sum(axis=1), jump.T)

    def merge(self, first: tuple[_Moments, ...], second: tuple[_Moments, ...]) -> tuple[_Moments, ...]:
        return first + second


def _blocks(blocks: Sequence[Sequence[int]] | None, rows: int) -> tuple[tuple[int, ...], ...]:
    """The blocks, each row in exactly one; without any, each row by itself."""
    found = tuple((i,) for i in range(rows)) if blocks is None else tuple(tuple(at) for at in blocks)
    if () in found or sorted(i for at in found for i in at) != list(range(rows)):
        raise ValueError(f"blocks is {blocks!r}: each row of u, 0 to {rows - 1}, must stand in exactly one, and none be empty")
    return found


def indices(model: Callable[[Array], Array], inputs: int, samples: int, seed: int, *,
            blocks: Sequence[Sequence[int]] | None = None, known: Array | None = None, confidence: float = 0.95,
            scrambles: int = 1, chunk: int = CHUNK // 4, executor: Executor | None = None,
            fresh: Callable[[], Executor] | None = None, progress: Callable[[int, int], None] | None = None,
            stop: threading.Event | None = None) -> Indices:
    """Sobol indices [-] of a ``model`` of independent inputs: ``samples`` base samples, ``samples * (inputs + 2)`` evaluations.

    ``model(u)`` takes u (inputs, n) [-], even between 0 and 1, and gives (n,) or (readings, n). Correlated inputs have no such
    shares: the rows of u must lead to independent inputs, or those that lead to correlated ones stand in one of the ``blocks``,
    rows of u that count as one input: ``[(0,), (1, 3), (2,)]``, each row in one. Then the results have one column a block, in
    this order, and the evaluations are ``samples * (blocks + 2)``. ``samples`` is best a power of two. ``known`` (readings / 2,
    columns): the second half of the readings are sums over the inputs, one like each of the first half, of which the indices are
    known [-]; what the sample has wrong of these is taken off the first half, which alone is told. ``executor``, ``fresh``,
    ``progress`` (base samples) and ``stop`` as in :func:`lutherie_geom.studies.sampling.run`.
    """
    inputs = whole("inputs", inputs, 1, qmc.Sobol.MAXDIM // 2)
    scrambles = whole("scrambles", scrambles, 1, 1024)
    if 1 < scrambles < 4:
        raise ValueError(f"scrambles is {scrambles}: give 1, or 4 and more, since fewer tell no error")
    samples = whole("samples", samples, 64 * scrambles, scrambles * 2**BITS)
    seed = whole("seed", seed, 0, 2**63)
    chunk = whole_chunk(chunk)
    stretch = chunk if scrambles > 1 else min(chunk, 1 << (samples // PARTS).bit_length() - 1)
    if not 0 < confidence < 1:
        raise ValueError(f"confidence is {confidence!r}: give a number between 0 and 1, 0.95 for 95 in 100")
    columns = _blocks(blocks, inputs)
    parts: dict[int, _Moments] = {}
    done = 0
    todo = jobs(2 * inputs, samples, seed, scrambles, chunk)
    for job, found in ordered(_Saltelli(model, columns), _Summing(len(columns), stretch), todo, executor, fresh, stop):
        for k, moments in enumerate(found):
            here = part(replace(job, first=job.first + k * stretch), samples, scrambles, stretch)
            parts[here] = parts[here].merge(moments) if here in parts else moments
        done += job.count
        if progress is not None:
            progress(done, samples)
    if done < samples:
        raise InterruptedError(f"stopped after {done} of {samples} samples: no indices")
    return _joined(list(parts.values()), confidence, samples, samples * (len(columns) + 2), known)


def _joined(parts: list[_Moments], confidence: float, samples: int, evaluations: int, known: Array | None) -> Indices:
    """Indices of all parts together, and intervals from leaving out one at a time."""
    every = reduce(_Moments.merge, parts)
    r = len(parts)
    reach = float(student.ppf((1 + confidence) / 2, r - 1))
    found: list[Any] = []
    told = len(every.mean()) if known is None else len(known)

    def mended(value: Array) -> Array:
        if known is None:
            return value
        part = every.variance()[told:] / every.variance()[:told]  # what the sum is of the reading
        off = part[:, None] * (value[told:] - known)
        return np.asarray(value[:told] - np.where(np.isfinite(off), off, 0.0))

    with np.errstate(invalid="ignore", divide="ignore"):
        others = [reduce(_Moments.merge, parts[:k] + parts[k + 1:]) for k in range(r)]
        for what in (_Moments.first, _Moments.total):
            value = mended(what(every))
            without = np.array([mended(what(o)) for o in others])
            error = np.sqrt((r - 1) / r * ((without - without.mean(axis=0)) ** 2).sum(axis=0))
            found += [value, np.stack([value - reach * error, value + reach * error], axis=-1)]
    return Indices(found[0], found[2], found[1], found[3], every.mean()[:told], every.variance()[:told], confidence, samples,
                   evaluations)
