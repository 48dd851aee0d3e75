"""What contributes to each reading, ranked: shares of the variance by exact slopes, and by Sobol indices with intervals.

Three numbers stand beside each error. The first-order share comes from the slopes alone and needs no sample. The Sobol index
*alone* is the part of the variance that goes if this error alone were none; the index *with others* is the part that stays
if all others were none. On a straight reading the three are one and the same; where it bends or breaks, they part.

Numbers that err together have no shares of their own: a group counts as one input, sampled as a whole.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from lutherie_geom.design.input_words import in_the_file, words_and_names, words_of
from lutherie_geom.design.lines import folded
from lutherie_geom.joint.dimensions import Array, Dimensions
from lutherie_geom.joint.many import many
from lutherie_geom.joint.pose import pose
from lutherie_geom.studies.first_order import FirstOrder, first_order
from lutherie_geom.studies.gradients import Exact, action_at, floor_least, gap_least, margin_at, reveal_least
from lutherie_geom.studies.sampling import CHUNK
from lutherie_geom.studies.second_order import AsBuilt
from lutherie_geom.studies.sobol import Indices, indices
from lutherie_geom.studies.sources import TURNS, pushed
from lutherie_geom.studies.spreads import Spreads, Variable, Varying

__all__ = ["READ", "Contributions", "Contributor", "Joints", "Ranking", "contributions", "error_slopes"]

READ = (action_at(0), action_at(-1), gap_least, floor_least, reveal_least, margin_at(0), margin_at(-1))
"""What is read of every sampled joint [mm], in this order: actions at fret 12, least gap, floor and reveal, edge margins."""
SHOWN = 0.005  # of the variance: less is counted, not listed


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
class Contributor:
    """One error, or one group of them, in one reading. ``part``: its standard deviation there by first order [mm]; ``share``
    of the variance by first order, ``first`` and ``total`` Sobol index, each [1], with their intervals."""

    names: tuple[str, ...]
    part: float
    share: float
    first: float
    first_interval: tuple[float, float]
    total: float
    total_interval: tuple[float, float]

    @property
    def name(self) -> str:
        """The names joined by "with"."""
        return " with ".join(self.names)


@dataclass(frozen=True)
class Ranking:
    """One reading [mm] and its contributors, the largest total index first. ``standard``: standard uncertainty by first order,
    ``sampled``: standard deviation of the sampled joints; ``reason``: why first order is not to be trusted, if it is not."""

    key: str
    words: str
    unit: str
    nominal: float
    standard: float
    sampled: float
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
        """Contributors that are printed: those of half a per cent and more."""
        return tuple(c for c in self.items if max(c.total, abs(c.share)) >= SHOWN)

    @property
    def table(self) -> str:
        """The reading and its largest contributors, in words; of numbers that err together each has a line."""
        said = [[words_of(n) for n in c.names] for c in self.shown]
        wide = max(28, *(len(w) + 5 * (k > 0) for words in said for k, w in enumerate(words)))
        lines = [f"{self.words} [{self.unit}]: sd {self.standard:.3f} by first order, {self.sampled:.3f} sampled",
                 f"  {'share of the variance [%] from':<{wide}}{'first order':>12}{'alone':>16}{'with others':>16}"]
        for words, c in zip(said, self.shown, strict=True):
            row = f"{100 * c.share:>12.1f}{_percent(c.first, c.first_interval):>16}{_percent(c.total, c.total_interval):>16}"
            lines += [f"  {words[0]:<{wide}}{row}", *(f"  with {w}" for w in words[1:])]
        if len(self.shown) < len(self.items):
            lines.append(f"  and {len(self.items) - len(self.shown)} more, each under {100 * SHOWN:g} %")
        if self.reason:
            lines.append(folded(f"  first order not to be trusted: {self.reason}"))
        return "\n".join(lines)

    def __str__(self) -> str:
        return "\n".join([self.table, *in_the_file(n for c in self.shown for n in c.names)])

    __repr__ = __str__


def _percent(value: float, interval: tuple[float, float]) -> str:
    low, here, high = (round(100 * v) + 0 for v in (interval[0], value, interval[1]))
    return f"{here} ({low} to {high})"


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
        lines = [f"{self.name}: what contributes, {self.evaluations} joints read, intervals hold {100 * self.confidence:g} "
                 "times in 100",
                 *(r.table for r in self.items)]
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
    d = design.dimensions()
    model = Joints(spreads, d, turns, backend)
    names = tuple(v.name for v in spreads.variables(d))
    inputs = _inputs(spreads, names)
    p = pose(d, **dict(zip(TURNS, turns, strict=True)))
    straight = first_order(p, spreads, READ)
    found = indices(model, len(names), samples, seed, blocks=inputs, confidence=confidence, executor=executor, fresh=fresh,
                    progress=progress, stop=stop, chunk=chunk)
    rows = tuple(_ranked(r, k, [tuple(names[i] for i in at) for at in inputs], found) for k, r in enumerate(straight))
    return Contributions(design.name, rows, spreads.idle, confidence, found.samples, found.evaluations)


def _ranked(r: FirstOrder, k: int, inputs: list[tuple[str, ...]], found: Indices) -> Ranking:
    share = {c.name: c.share for c in r.contributions}
    part = {c.name: c.part for c in r.contributions}
    rows = []
    for i in found.ranked(k):
        own = sum(share[n] for n in inputs[i])  # between groups nothing is correlated: a group's own variance over the whole
        alone = abs(part[inputs[i][0]]) if len(inputs[i]) == 1 else r.standard * max(own, 0.0) ** 0.5
        rows.append(Contributor(inputs[i], alone, own, float(found.first[k, i]), _two(found.first_interval[k, i]),
                                float(found.total[k, i]), _two(found.total_interval[k, i])))
    return Ranking(r.key, r.words, r.unit, r.nominal, r.standard, float(found.variance[k]) ** 0.5, r.reason, tuple(rows))


def _two(pair: Array) -> tuple[float, float]:
    return float(pair[0]), float(pair[1])


def error_slopes(d: Dimensions, variables: Sequence[Variable], reading: Exact, *, tilt: Array = 0.0, bass: Array = 0.0,
                 treble: Array = 0.0) -> np.ndarray:
    """Exact slopes of a reading by every error, (variables, *batch) [unit of the reading per unit of the number]: for a batch of
    joints, each exactly as designed, at turns [turn]. For maps over dimensions."""
    ways = (v.way(d.strings) for v in variables)
    moves = (pushed(d, {}, {}, *(({}, way) if v.plain else (way, {}))) for v, way in zip(variables, ways, strict=True))
    p = pose(d, tilt=tilt, bass=bass, treble=treble)
    return AsBuilt(p, tuple(fields | turns for fields, turns in moves), np.shape(p.theta)).gradient(reading)
