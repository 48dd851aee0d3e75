"""First order: what the spreads of the dimensions do to a reading, from its exact slopes.

At worst every dimension stands at the limit that hurts (:mod:`lutherie_geom.studies.worst`). In practice errors partly cancel:
variances add (root-sum-square), which holds as long as the reading runs straight over the spreads. Whether it does is checked
against the exact reading, and the second order is given beside it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from lutherie_geom.design.input_words import words_of
from lutherie_geom.design.lines import folded
from lutherie_geom.design.spread import SpreadError
from lutherie_geom.design.units import convert
from lutherie_geom.joint.dimensions import Array
from lutherie_geom.joint.pose import Pose
from lutherie_geom.studies.digits import plain_pair
from lutherie_geom.studies.gradients import Exact, action_at, floor_least, gap_least, margin_at, reveal_least
from lutherie_geom.studies.second_order import Around, AsBuilt
from lutherie_geom.studies.spreads import Spreads, Variable
from lutherie_geom.studies.worst import extremes

__all__ = ["Contribution", "FirstOrder", "FirstOrders", "Propagated", "READINGS", "effective_freedom", "first_order", "propagate"]

READINGS = (action_at(0), action_at(-1), gap_least, floor_least, reveal_least, action_at(0, 1), action_at(-1, 1),
            action_at(0, None), action_at(-1, None), margin_at(0), margin_at(-1))
COVER_95 = 1.959963984540054
"""Standard deviations either side of the mean that hold 95 % of a normal distribution."""
NOT_TRUSTED = "* first order not to be trusted: the reading bends or breaks within the spreads"
BENT = 0.1
"""Departure from the straight line, as a part of the standard uncertainty, from which first order is not to be trusted."""

BREAK = 0.3
"""Change of a second-order correction with the step, as a part of itself, from which the reading breaks and does not bend."""


@dataclass(frozen=True)
class Propagated:
    """Standard uncertainty [unit of the reading], and per input its part [same unit, signed] and share of the variance [1].

    With correlation a share may be negative: that input takes away what another brings.
    """

    standard: float
    parts: np.ndarray
    shares: np.ndarray


def propagate(slopes: Array, sds: Array, correlations: Any = None) -> Propagated:
    """Law of propagation: u² = Σ Σ r (slope sd) (slope sd). Slopes in unit of reading per unit of input, sds in the input's.

    ``correlations`` is a matrix [1]; without it the inputs err independently.
    """
    g, s = np.asarray(slopes, dtype=float), np.asarray(sds, dtype=float)
    if g.shape != s.shape or g.ndim != 1:
        raise SpreadError(f"{g.size} slopes for {s.size} standard deviations; there must be one of each per input")
    if not np.all(s >= 0):
        raise SpreadError(f"standard deviation {s[~(s >= 0)][0]:g} is negative or no number; it must be 0 or more")
    r = np.eye(len(g)) if correlations is None else np.asarray(correlations, dtype=float)
    if r.shape != (len(g), len(g)):
        raise SpreadError(f"correlation matrix of shape {r.shape} for {len(g)} inputs")
    parts = g * s
    pulled = parts * (r @ parts)
    variance = max(float(pulled.sum()), 0.0)
    return Propagated(math.sqrt(variance), parts, pulled / variance if variance > 0 else np.zeros_like(pulled))


def effective_freedom(parts: Array, freedoms: Array) -> float:
    """Degrees of freedom [1] of a standard uncertainty put together from independent parts [unit of the reading], each known
    from a number of repeated measurements (``freedoms``, infinity for what is certain): Welch-Satterthwaite."""
    c, nu = np.asarray(parts, dtype=float), np.asarray(freedoms, dtype=float)
    if not np.all(nu > 0):
        raise SpreadError(f"degrees of freedom {nu[~(nu > 0)][0]:g} must be more than 0")
    below = float((c**4 / nu).sum())
    return float((c**2).sum() ** 2) / below if below > 0 else math.inf


@dataclass(frozen=True)
class Contribution:
    """One dimension's part in a reading.

    unit: of the dimension; slope [unit of reading per unit]; sd [unit]; part = slope x sd [unit of reading]; share of the
    variance [1]; at_worst: what its limits do to the reading, (down, up) [unit of reading].
    """

    name: str
    unit: str
    slope: float
    sd: float
    part: float
    share: float
    at_worst: tuple[float, float]


@dataclass(frozen=True)
class FirstOrder:
    """One reading under the spreads, all in the reading's unit.

    nominal: at the dimensions as designed; mean: moved by uneven limits; worst: lowest and highest exact
    reading with every dimension within its limits (± 2 sd for a normal spread unless said otherwise), nan where it is out of
    reach; standard: root-sum-square standard uncertainty;
    interval: mean ± 1.96 standard. mean_second, standard_second: the same with the second order, whose second derivatives
    are changes of the exact slopes over ± 1 sd; nan where the reading breaks within the spreads (a least point that changes
    place). ``trustworthy`` is False, with the ``reason``, where the reading bends or breaks within the
    spreads: ``bend`` is its largest departure from the straight line, over the standard uncertainty [1], and ``mean_shift``
    what the second-order terms of the single dimensions add to the mean.
    """

    key: str
    words: str
    unit: str
    nominal: float
    mean: float
    worst: tuple[float, float]
    standard: float
    interval: tuple[float, float]
    contributions: tuple[Contribution, ...]
    bend: float
    mean_shift: float
    reason: str
    mean_second: float
    standard_second: float

    @property
    def trustworthy(self) -> bool:
        """True if the reading runs straight enough over the spreads for first order to hold."""
        return not self.reason

    def __str__(self) -> str:
        lines = [f"{self.words} [{self.unit}]",
                 f"  nominal {self.nominal:.3f}, mean {self.mean:.3f}",
                 f"  at worst {self.worst[0]:.3f} to {self.worst[1]:.3f}",
                 f"  95 in 100 {self.interval[0]:.3f} to {self.interval[1]:.3f} (standard uncertainty {self.standard:.4f})"]
        off = max(abs(self.mean_second - self.mean), abs(self.standard_second - self.standard))
        if math.isnan(off):
            lines.append("  with the second order: none, the reading breaks within the spreads")
        elif off > 0.01 * self.standard:
            lines.append(f"  with the second order: mean {self.mean_second:.3f}, standard uncertainty {self.standard_second:.4f}")
        if self.reason:
            lines.append(folded(f"  not to be trusted: {self.reason}"))
        lines.append(f"  {'from':<22}{'slope':>12}{'sd':>12} {'':<8}{'does':>10}{'share':>9}")
        shown = [c for c in self.contributions if abs(c.share) >= 0.0005]
        lines += [f"  {c.name:<22}{c.slope:>12.4g}{c.sd:>12.4g} {c.unit:<8}{c.part:>+10.4f}{100 * c.share:>8.1f}%" for c in shown]
        if len(shown) < len(self.contributions):
            lines.append(f"  and {len(self.contributions) - len(shown)} more, each under 0.05 % of the variance")
        return "\n".join(lines)

    __repr__ = __str__


@dataclass(frozen=True)
class FirstOrders:
    """First-order results of several readings, in the order asked for."""

    items: tuple[FirstOrder, ...]
    idle: tuple[str, ...] = ()
    """Numbers with a tolerance that move no reading studied here."""

    def __iter__(self) -> Iterator[FirstOrder]:
        return iter(self.items)

    def __len__(self) -> int:
        return len(self.items)

    def __getitem__(self, key: str) -> FirstOrder:
        for r in self.items:
            if r.key == key:
                return r
        raise KeyError(f"no reading {key!r}; there are: {', '.join(r.key for r in self.items)}")

    def tell(self, units: Any = "mm") -> str:
        """The table, lengths in "mm" or "inch"."""
        unit, most = ("in", 4) if units == "inch" else ("mm", 3)
        named = [f"{r.words} [{unit if r.unit == 'mm' else r.unit}]" for r in self.items]
        wide = max([38, *map(len, named)]) + 1
        lines = [f"{'reading':<{wide}}{'nominal':>8}{'at worst':>17}{'95 in 100':>17}{'sd':>8}   largest share"]
        for r, words in zip(self.items, named, strict=True):
            system: Any = units if r.unit == "mm" else "mm"
            worst, usual = (plain_pair(v, system) for v in (r.worst, r.interval))
            top = f"{r.contributions[0].name} {100 * r.contributions[0].share:.0f} %" if r.standard > 0 else "none"
            here, sd = (f"{convert(v, system):.{most}f}" for v in (r.nominal, r.standard))
            lines.append(f"{words:<{wide}}{here:>8}{worst:>17}{usual:>17}{sd:>8}{' *' if r.reason else '  '} {top}")
        if any(not r.trustworthy for r in self.items):
            lines.append(NOT_TRUSTED)
        if self.idle:
            lines.append(folded(f"moves no reading: {', '.join(self.idle)}"))
        return "\n".join(lines)

    def __str__(self) -> str:
        return self.tell()

    __repr__ = __str__


def first_order(p: Pose, spreads: Spreads, readings: Sequence[Exact] = READINGS) -> FirstOrders:
    """Every reading at a pose (its turns held) under the spreads, with the check against the exact reading."""
    if not np.ndim(p.theta) == np.ndim(p.psi) == p.of.batch == 0:
        raise SpreadError("first order needs one joint at one pose, not a batch")
    variables, r = spreads.variables(p.of), spreads.correlation(p.of)
    here, around = AsBuilt.of(p, spreads, np.zeros(len(variables))), Around.of(p, spreads)
    return FirstOrders(tuple(_one(p, spreads, variables, r, here, around, e) for e in readings), spreads.idle)


def _one(p: Pose, spreads: Spreads, variables: Sequence[Variable], r: np.ndarray, here: AsBuilt, around: Around, e: Exact
         ) -> FirstOrder:
    g, sds = here.gradient(e), np.array([v.spread.standard_deviation for v in variables])
    means = np.array([v.spread.mean for v in variables])
    ends = np.sort(np.array([[g_i * x for x in v.spread.limits] for g_i, v in zip(g, variables, strict=True)]).reshape(-1, 2))
    found = propagate(g, sds, r)
    nominal = float(e.value(p))
    mean = nominal + float(g @ means)
    bend, shift, reason = _straight(p, spreads, variables, r, e, g, nominal, found)
    rows = [Contribution(v.name, v.spread.unit, float(g[i]), float(sds[i]), float(found.parts[i]), float(found.shares[i]),
                         (float(ends[i, 0]), float(ends[i, 1]))) for i, v in enumerate(variables)]
    rows.sort(key=lambda c: -abs(c.share))
    mean_second, wide = _second(around, e, mean, found.standard)
    reach = COVER_95 * found.standard
    worst = extremes(p, spreads, e)
    if np.isnan(worst).any() and not reason:
        reason = "at worst there is no exact reading (out of reach)"
    interval = mean - reach, mean + reach
    return FirstOrder(e.key, e.words, e.unit, nominal, mean, worst, found.standard, interval, tuple(rows), bend, shift, reason,
                      mean_second, wide)


def _second(around: Around, e: Exact, mean: float, standard: float) -> tuple[float, float]:
    """Mean and standard uncertainty with the second order; nan where the reading breaks: there the slopes jump, and derivatives
    over half the step come out at least twice as large."""
    found = np.array(around.moments(e))
    over, half = found[:2], found[2:]
    same = np.abs(half - over) <= BREAK * np.abs(over - (mean, standard)) + 0.01 * standard + 1e-9
    return (float(over[0]), float(over[1])) if np.all(same) else (math.nan, math.nan)


def _straight(p: Pose, spreads: Spreads, variables: Sequence[Variable], r: np.ndarray, e: Exact, g: np.ndarray, nominal: float,
              found: Propagated) -> tuple[float, float, str]:
    """How far the exact reading leaves the straight line: each dimension alone at ± 1 sd, then all together along the
    likeliest way to ± 1 and ± 2 standard uncertainties. One batch of exact readings, no derivative is taken from it."""
    sds, n = np.array([v.spread.standard_deviation for v in variables]), len(variables)
    steps = np.concatenate([np.diag(sds), -np.diag(sds)], axis=1)
    if found.standard > 0:
        way = sds * (r @ found.parts) / found.standard
        steps = np.concatenate([steps, np.outer(way, [1.0, -1.0, 2.0, -2.0])], axis=1)
    exact = AsBuilt.of(p, spreads, steps).value(e)  # what cannot be read is nan, and said below
    off = exact - nominal - g @ steps
    shift = float((off[:n] + off[n : 2 * n]).sum() / 2)
    if not np.all(np.isfinite(exact)):
        k = int(np.argmax(~np.isfinite(exact)))
        return math.inf, math.nan, f"{_who(variables, n, k)} there is no exact reading (out of reach)"
    # Departures at 2 sd grow fourfold if the line merely bends; halving them twice judges all steps alike.
    weighed = np.abs(off) / np.r_[np.ones(2 * n), [1, 1, 4, 4][: steps.shape[1] - 2 * n]]
    k = int(np.argmax(weighed))
    scale = max(found.standard, 1e-12)
    bend = float(weighed[k] / scale)
    if weighed[k] < 1e-9:
        return 0.0, shift, ""
    if bend <= BENT:
        moves = abs(shift) > BENT * scale
        return bend, shift, f"second-order terms together move the mean by {shift:+.4f} {e.unit}" if moves else ""
    return bend, shift, (f"{_who(variables, n, k)} the exact reading is {exact[k]:.4f} {e.unit}, by the slopes it would be "
                         f"{exact[k] - off[k]:.4f}")


def _who(variables: Sequence[Variable], n: int, k: int) -> str:
    if k < 2 * n:
        return f"with {words_of(variables[k % n].name)} off by {'+' if k < n else '-'}1 sd"
    return f"with all of them off together by {1 if k < 2 * n + 2 else 2} sd of the reading"
