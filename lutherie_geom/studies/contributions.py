"""What contributes to each reading, ranked: shares of the variance by exact slopes, and by Sobol indices with intervals.

Three numbers stand beside each error. The first-order share comes from the slopes alone and needs no sample. The Sobol index
*alone* is the part of the variance that goes if this error alone were none; the index *with others* is the part that stays
if all others were none. On a straight reading the three are one and the same; where it bends or breaks, they part. The sample
also reads, beside each joint, the straight line that comes nearest: its indices are known without a sample, and what the sample
has wrong of them it has wrong of the reading too. Printed are the digits that another sample would print again.

Numbers that err together have no shares of their own: a group counts as one input, sampled as a whole.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy.special import ndtri

from lutherie_geom.design.input_words import in_the_file, words_and_names, words_of
from lutherie_geom.design.lines import folded
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.many import many
from lutherie_geom.joint.pose import pose
from lutherie_geom.studies.digits import NOT_KNOWN, decimals, stable_digits
from lutherie_geom.studies.first_order import FirstOrder, first_order
from lutherie_geom.studies.gradients import Exact, action_at, floor_least, gap_least, margin_at, reveal_least
from lutherie_geom.studies.sampling import CHUNK, Job, three_turns, uniform
from lutherie_geom.studies.second_order import AsBuilt
from lutherie_geom.studies.sobol import Indices, indices
from lutherie_geom.studies.sources import TURNS, pushed
from lutherie_geom.studies.spreads import Spreads, Variable, Varying

__all__ = ["READ", "Contributions", "Contributor", "Joints", "Ranking", "contributions", "error_slopes"]

READ = (action_at(0), action_at(-1), gap_least, floor_least, reveal_least, margin_at(0), margin_at(-1))
"""What is read of every sampled joint [mm], in this order: actions at fret 12, least gap, floor and reveal, edge margins."""
SHOWN = 0.005  # of the variance: less is counted, not listed
FITTED = 2**12  # joints to which the straight lines are fitted


@dataclass(frozen=True)
class Joints:
    """Model of even numbers: u (variables, n) [1] in, readings [mm] (7, n) out, in the order of :data:`READ`. The screws are
    turned by ``turns`` (tilt, bass, treble) [turn], and by what they are off. What is out of reach reads nan."""

    spreads: Spreads
    nominal: Dimensions
    turns: tuple[float, float, float] = (0.0, 0.0, 0.0)
    backend: str = "numpy"

    @cached_property
    def _varying(self) -> Varying:
        return self.spreads.varying(self.nominal)

    def __call__(self, u: Array) -> Array:
        return self.read(self._varying.draw(u))

    def read(self, deviations: Array) -> Array:
        """The same for given deviations (variables, n) [unit of each number]."""
        dims, off = self._varying.built(deviations)
        turned = {k: t + off.get(k, 0.0) for k, t in zip(TURNS, self.turns, strict=True)}
        r = many(dims, frets=(12,), backend=self.backend, **turned)
        found = np.empty((len(READ), deviations.shape[1]))
        for row, values in zip(found, (r.action[0, 0], r.action[-1, 0], r.least_gap, r.floor, r.reveal, *r.margin), strict=True):
            row[:] = values
        return found


@dataclass(frozen=True)
class _Beside:
    """The joints, and beside each reading the straight line ``lines`` (readings, variables) that comes nearest to it."""

    joints: Joints
    lines: Array

    def __call__(self, u: Array) -> Array:
        off = self.joints._varying.draw(u)
        # einsum adds in one order; a matrix product may not, and a study must give the same bits on every worker.
        return np.concatenate([self.joints.read(off), np.einsum("rv,vn->rn", self.lines, off, optimize=False)])


def _nearest(joints: Joints, inputs: Sequence[Sequence[int]], count: int) -> tuple[_Beside, Array]:
    """The model with its lines, by least squares over a sample of its own, and the lines' indices (readings, inputs) [1]."""
    off = joints._varying.draw(uniform(Job(count, 0, 0, 0, FITTED)))
    off = off - off.mean(axis=1, keepdims=True)
    read = joints.read(off)
    able = np.isfinite(read).all(axis=0)
    size = np.maximum(off.std(axis=1, keepdims=True), 1e-300)
    lines = np.zeros((len(read), count))
    if able.all():  # where some joints cannot stand there will be no shares
        lines = np.linalg.lstsq((off / size).T, (read - read.mean(axis=1, keepdims=True)).T, rcond=None)[0].T / size.T
    # Spreads drawn as they are written have the variance that is written; a sample, and a group that is not normal, their own.
    exact = np.array([v.spread.standard_deviation for v in joints._varying.variables])
    drawn = np.cov(off).reshape(count, count)
    r = joints.spreads.correlation(joints.nominal)
    kinds = [v.spread.kind for v in joints._varying.variables]

    def variance(at: Sequence[int]) -> Array:
        i = np.ix_(at, at)
        plain = all(kinds[k] == "normal" for k in at) if len(at) > 1 else kinds[at[0]] != "measured"
        c = r[i] * np.outer(exact[list(at)], exact[list(at)]) if plain else drawn[i]
        return np.einsum("ri,ij,rj->r", lines[:, list(at)], c, lines[:, list(at)])

    own = np.stack([variance(at) for at in inputs], axis=1)
    whole_ = own.sum(axis=1, keepdims=True)
    return _Beside(joints, lines), own / np.where(whole_ > 0, whole_, np.nan)


@dataclass(frozen=True)
class Contributor:
    """One error, or one group of them, in one reading. ``part``: its standard deviation there by first order [mm]; ``share``
    of the variance by first order, ``first`` and ``total`` Sobol index, each [1], with their intervals. ``first_error`` and
    ``total_error`` [1] are standard errors over all inputs of the reading alike, steady enough to choose digits by."""

    names: tuple[str, ...]
    part: float
    share: float
    first: float
    first_interval: tuple[float, float]
    total: float
    total_interval: tuple[float, float]
    first_error: float
    total_error: float

    @property
    def name(self) -> str:
        """The names joined by "with"."""
        return " with ".join(self.names)


@dataclass(frozen=True)
class Ranking:
    """One reading [mm] and its contributors, the largest total index first; those as good in the digits printed, in the order of
    the file. ``standard``: standard uncertainty by first order, ``sampled``: standard deviation of the sampled joints, with its
    standard error ``sampled_error``; ``reason``: why first order is not to be trusted, if it is not."""

    key: str
    words: str
    unit: str
    nominal: float
    standard: float
    sampled: float
    sampled_error: float
    reason: str
    items: tuple[Contributor, ...]

    @property
    def trustworthy(self) -> bool:
        """True if the reading runs straight enough over the spreads for first order to hold."""
        return not self.reason

    @property
    def together(self) -> float:
        """Part of the variance [1] that no error brings alone, only several of them together."""
        return 1.0 - sum(c.first for c in self.items)

    def __iter__(self) -> Iterator[Contributor]:
        return iter(self.items)

    @property
    def shown(self) -> tuple[Contributor, ...]:
        """Contributors that are printed: those of half a per cent and more, whatever the sample."""
        return tuple(c for c in self.items if max(c.total - 2 * c.total_error, abs(c.share)) >= SHOWN)

    @property
    def table(self) -> str:
        """The reading and its largest contributors, in words; of numbers that err together each has a line."""
        head = f"{self.words} [{self.unit}]"
        if not self.standard > 0 and not self.sampled > 0:
            return f"{head}: does not vary"
        said = [[words_of(n) for n in c.names] for c in self.shown]
        wide = max([28, *(len(w) + 5 * (k > 0) for words in said for k, w in enumerate(words))])
        sampled = "" if self.trustworthy else f", {stable_digits(self.sampled, self.sampled_error, most=3)} sampled"
        lines = [f"{head}: sd {self.standard:.3f} by first order{sampled}",
                 f"  {'share of the variance [%] from':<{wide}}{'first order':>13}{'alone':>11}{'with others':>13}"]
        for words, c in zip(said, self.shown, strict=True):
            row = f"{100 * c.share:>13.1f}{_percent(c.first, c.first_error):>11}{_percent(c.total, c.total_error):>13}"
            lines += [f"  {words[0]:<{wide}}{row}", *(f"  with {w}" for w in words[1:])]
        if len(self.shown) < len(self.items):
            lines.append(f"  and {len(self.items) - len(self.shown)} more, each under {100 * SHOWN:g} %")
        if self.reason:
            lines.append(folded(f"  first order not to be trusted: {self.reason}"))
        return "\n".join(lines)

    def __str__(self) -> str:
        return "\n".join([self.table, *in_the_file(n for c in self.shown for n in c.names)])

    __repr__ = __str__


def _percent(value: float, error: float) -> str:
    """A share in the digits that another sample would print again; one of which none stands is less than half its place."""
    said = stable_digits(100 * value, 100 * error, most=1)
    return f"under {10.0 ** -decimals(100 * error, 1) / 2:g}" if said == NOT_KNOWN and math.isfinite(value) else said


@dataclass(frozen=True)
class Contributions:
    """What contributes to every reading of a design; intervals hold at the ``confidence``."""

    name: str
    items: tuple[Ranking, ...]
    idle: tuple[str, ...]
    confidence: float
    samples: int
    evaluations: int

    def __iter__(self) -> Iterator[Ranking]:
        return iter(self.items)

    def __getitem__(self, key: str) -> Ranking:
        for r in self.items:
            if r.key == key:
                return r
        raise KeyError(f"no reading {key!r}; there are: {', '.join(r.key for r in self.items)}")

    def __str__(self) -> str:
        lines = [f"{self.name}: what contributes, {self.evaluations} joints read", *(r.table for r in self.items)]
        if self.idle:
            lines.append(folded(f"moves no reading: {'; '.join(words_and_names(n) for n in self.idle)}"))
        lines += in_the_file(n for r in self.items for c in r.shown for n in c.names)
        return "\n".join(lines)

    __repr__ = __str__


def _inputs(spreads: Spreads, names: Sequence[str]) -> tuple[tuple[int, ...], ...]:
    """Places of the numbers that make each input: a group stands where its first number does."""
    groups = [tuple(names.index(n) for n in g.names) for g in spreads.groups]
    grouped = {i for g in groups for i in g}
    return tuple(sorted([*groups, *((i,) for i in range(len(names)) if i not in grouped)], key=min))


def contributions(design: Any, spreads: Spreads | None = None, samples: int = 2**13, seed: int = 1, *,
                  turns: tuple[float, float, float] = (0.0, 0.0, 0.0), confidence: float = 0.95, backend: str = "numpy",
                  executor: Executor | None = None, fresh: Callable[[], Executor] | None = None,
                  progress: Callable[[int, int], None] | None = None, stop: threading.Event | None = None,
                  chunk: int = CHUNK // 4) -> Contributions:
    """Ranks what contributes to each reading of a design, its screws turned by ``turns`` (tilt, bass, treble) [turn].

    ``spreads`` are the design's own unless given; ``samples`` base samples cost so many times (inputs + 2) joints. Raises
    ``SpreadError`` if nothing has a tolerance, ``ValueError`` if a sampled joint cannot stand, since a share needs a value from
    each. The rest as in :func:`lutherie_geom.studies.sobol.indices`.
    """
    spreads = Spreads.of_design(design) if spreads is None else spreads
    turns, d = three_turns(turns), design.dimensions()
    model = Joints(spreads, d, turns, backend)
    names = tuple(v.name for v in spreads.variables(d))
    inputs = _inputs(spreads, names)
    p = pose(d, **dict(zip(TURNS, turns, strict=True)))
    straight = first_order(p, spreads, READ)
    beside, known = _nearest(model, inputs, len(names))
    found = indices(beside, len(names), samples, seed, blocks=inputs, known=known, confidence=confidence, executor=executor,
                    fresh=fresh, progress=progress, stop=stop, chunk=chunk)
    rows = tuple(_ranked(r, k, [tuple(names[i] for i in at) for at in inputs], found) for k, r in enumerate(straight))
    return Contributions(design.name, rows, spreads.idle, confidence, found.samples, found.evaluations)


def _ranked(r: FirstOrder, k: int, inputs: list[tuple[str, ...]], found: Indices) -> Ranking:
    share = {c.name: c.share for c in r.contributions}
    part = {c.name: c.part for c in r.contributions}
    first_error, total_error = _error(found.first_interval[k], found), _error(found.total_interval[k], found)
    place = 10.0 ** -decimals(100 * total_error, 1) / 100 if math.isfinite(total_error) else math.inf
    rows = []
    for i in sorted(range(len(inputs)), key=lambda i: -round(float(found.total[k, i]) / place) if math.isfinite(place) else 0):
        own = sum(share[n] for n in inputs[i])  # between groups nothing is correlated: a group's own variance over the whole
        alone = abs(part[inputs[i][0]]) if len(inputs[i]) == 1 else r.standard * max(own, 0.0) ** 0.5
        rows.append(Contributor(inputs[i], alone, own, float(found.first[k, i]), _two(found.first_interval[k, i]),
                                float(found.total[k, i]), _two(found.total_interval[k, i]), first_error, total_error))
    sampled = float(found.variance[k]) ** 0.5
    return Ranking(r.key, r.words, r.unit, r.nominal, r.standard, sampled, sampled / math.sqrt(2 * found.samples), r.reason,
                   tuple(rows))


def _error(intervals: Array, found: Indices) -> float:
    """Standard error [1] of the indices of one reading, from all its intervals together: that of one alone swings too much."""
    half = np.diff(intervals, axis=-1) / 2 / ndtri((1 + found.confidence) / 2)
    return float(np.sqrt(np.mean(half**2)))


def _two(pair: Array) -> tuple[float, float]:
    return float(pair[0]), float(pair[1])


def error_slopes(d: Dimensions, variables: Sequence[Variable], reading: Exact, *, tilt: Array = 0.0, bass: Array = 0.0,
                 treble: Array = 0.0) -> np.ndarray:
    """Exact slopes of a reading by every error, (variables, *batch) [unit of the reading per unit of the number]: for a batch of
    joints, each exactly as designed, at turns [turn]. For maps over dimensions."""
    ways = (v.way(d.strings) for v in variables)
    moves = tuple(pushed(d, {}, {}, *(({}, way) if v.plain else (way, {}))) for v, way in zip(variables, ways, strict=True))
    p = pose(d, tilt=tilt, bass=bass, treble=treble)
    return AsBuilt(p, lambda: tuple(fields | turns for fields, turns in moves), np.shape(p.theta)).gradient(reading)
