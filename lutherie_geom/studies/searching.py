"""Search: which sizes of the joint trade one aim best against the others, where the present design stands, what to change first.

A scrambled Sobol sequence fills the box of the free dimensions; what can't be built is left out by the rules that design files
are read by; the rest is read in one batch, and the joints that no other betters (the front) are kept. Further samples are then
drawn close to the front. A front is a list of fair trades: which to take is the builder's choice. Forces are among the aims, no
strength is: look at the strength of what is chosen before it is cut.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from numbers import Real
from typing import Any

import numpy as np

from lutherie_geom.design.lines import folded
from lutherie_geom.joint.layout_readings import ScrewCoupling
from lutherie_geom.studies.sampling import whole
from lutherie_geom.studies.search_aims import AIMS, Aim, aim_slopes, aims_of, read_aims, read_coupling
from lutherie_geom.studies.search_space import Free, drawn, possible, present, spaces, spread_over

__all__ = ["Change", "Search", "non_dominated", "search"]

SAMPLES = 2048
PART = 0.05
"""What counts as one small change of a free dimension: this part of its range."""
BLOCK = 512
BACK = 4  # tries on the way back from a joint that can't be built
EVEN = 1e-9  # readings closer than this part of the front's spread count as even


def non_dominated(costs: np.ndarray) -> np.ndarray:
    """Which points (n,) of costs (aims, n), the less the better in each, no other point betters: none is as low in every aim and
    lower in one. Points with nan are never kept; equal points are kept all."""
    c = np.asarray(costs, dtype=float)
    if c.ndim != 2:
        raise ValueError(f"costs has shape {c.shape}; give (aims, points)")
    keep = np.zeros(c.shape[1], dtype=bool)
    read = np.flatnonzero(np.isfinite(c).all(axis=0))
    # Sorted by the first aim, then the second ...: a point can only be bettered by one that stands before it.
    order = read[np.lexsort(c[::-1, read])]
    front = np.empty((len(c), 0))
    for start in range(0, len(order), BLOCK):
        part = order[start:start + BLOCK]
        block = c[:, part]
        left = ~_beaten(block, front)
        left[left] = ~_beaten(block[:, left], block[:, left])
        keep[part[left]] = True
        front = np.concatenate([front, block[:, left]], axis=1)
    return keep


def _beaten(points: np.ndarray, by: np.ndarray) -> np.ndarray:
    """Which points (aims, n) some of the others (aims, m) better."""
    no_worse = np.ones((points.shape[1], by.shape[1]), dtype=bool)
    lower = np.zeros_like(no_worse)
    for mine, other in zip(points, by, strict=True):
        no_worse &= other[None, :] <= mine[:, None]
        lower |= other[None, :] < mine[:, None]
    return np.asarray((no_worse & lower).any(axis=1))


@dataclass(frozen=True)
class Change:
    """A small change of one free dimension: from, to [its unit], what every aim gains by it (aims,) [front's spread, positive is
    better] to first order, and the weighted sum of that [1]."""

    free: Free
    start: float
    to: float
    gains: np.ndarray
    merit: float

    def __str__(self) -> str:
        way = self.free.more if self.to > self.start else self.free.less
        return f"{self.free.words}: {way}, from {self.start:.3g} to {self.to:.3g} {self.free.unit}"

    __repr__ = __str__


@dataclass(frozen=True)
class Search:
    """What a search found. Free dimensions come in the order of ``free``, aims in that of ``aims``, each in its unit.

    values (dimensions, n) and readings (aims, n) of the front; start (dimensions,) and now (aims,): the design as it stands;
    slopes (aims, dimensions) at the design; ``looked``: joints sampled, and how many of them can't be built.
    """

    design: Any
    free: tuple[Free, ...]
    aims: tuple[Aim, ...]
    weights: np.ndarray
    values: np.ndarray
    readings: np.ndarray
    start: np.ndarray
    now: np.ndarray
    slopes: np.ndarray
    looked: tuple[int, int]

    @property
    def signs(self) -> np.ndarray:
        """1 for an aim to be had small, -1 for one to be had large (aims,)."""
        return np.array([float(a.sign) for a in self.aims])

    @property
    def best(self) -> np.ndarray:
        """The best reading of each aim alone on the front (aims,)."""
        return self.signs * (self.signs[:, None] * self.readings).min(axis=1)

    @property
    def spread(self) -> np.ndarray:
        """From the best to the worst reading of each aim on the front (aims,); 1 where the front does not spread."""
        found = np.ptp(self.readings, axis=1)
        return np.where(found > 0, found, 1.0)

    def lost(self, readings: np.ndarray) -> np.ndarray:
        """How far readings (aims, ...) stay behind the front's best of each aim, in parts of the front's spread [1]."""
        room = (-1,) + (1,) * (np.ndim(readings) - 1)
        return (readings - self.best.reshape(room)) * self.signs.reshape(room) / self.spread.reshape(room)

    @property
    def better(self) -> np.ndarray:
        """Points of the front that are as good as the present design in every aim and better in one (n,)."""
        off = self.lost(self.readings) - self.lost(self.now)[:, None]
        return np.asarray(np.all(off <= EVEN, axis=0) & np.any(off < -EVEN, axis=0))

    @property
    def on_front(self) -> bool:
        """True when nothing that was looked at betters the present design."""
        return not bool(self.better.any())

    @property
    def compromise(self) -> int:
        """The point of the front whose largest weighted loss in any aim is least; of several, the one that loses least in all."""
        w = self.weights[:, None] * self.lost(self.readings)
        return int(np.lexsort((w.sum(axis=0), np.round(w.max(axis=0), 9)))[0])

    @property
    def free_gain(self) -> int | None:
        """Of the points that better the present design, the one that gains most, weighted; None when it lies on the front."""
        if self.on_front:
            return None
        gain = self.weights @ (self.lost(self.now)[:, None] - self.lost(self.readings))
        return int(np.argmax(np.where(self.better, gain, -np.inf)))

    @property
    def changes(self) -> tuple[Change, ...]:
        """Each free dimension by a twentieth of its range the way that gains (or costs least), the best first: by the slopes.

        To first order, and within the dimension's range; whether the changed joint can be built is asked too.
        """
        unit = np.nan_to_num(self.slopes) * -self.signs[:, None] / self.spread[:, None]
        tries = []
        for k, f in enumerate(self.free):
            size, ends = PART * (f.high - f.low), (min(f.low, self.start[k]), max(f.high, self.start[k]))
            made = [self._change(k, f, float(np.clip(self.start[k] + way * size, *ends)), unit[:, k]) for way in (-1, 1)]
            tries += [(k, c) for c in made if c.to != c.start]
        values = np.repeat(self.start[:, None], len(tries), axis=1)
        values[[k for k, _ in tries], range(len(tries))] = [c.to for _, c in tries]
        able = possible(self.design, self.free, values)
        found: dict[int, Change] = {}
        for (k, c), fits in zip(tries, able, strict=True):
            if fits and (k not in found or c.merit > found[k].merit):
                found[k] = c
        return tuple(sorted(found.values(), key=lambda c: -c.merit))

    def _change(self, k: int, f: Free, to: float, unit: np.ndarray) -> Change:
        gains = unit * (to - self.start[k])
        return Change(f, float(self.start[k]), to, gains, float(self.weights @ gains))

    def said(self, change: Change) -> str:
        """A change in words: what gets better by it and what worse, by the slopes."""
        k = self.free.index(change.free)
        moved = self.slopes[:, k] * (change.to - change.start)
        parts: dict[bool, list[str]] = {True: [], False: []}
        for a, by, gain in zip(self.aims, moved, change.gains, strict=True):
            if abs(gain) >= 0.005:
                parts[bool(gain > 0)].append(f"{a.words.partition(':')[0].partition(',')[0]} {by:+.3g} {a.unit}".rstrip())
        told = "; ".join(f"{w} {', '.join(parts[g])}" for g, w in ((True, "better"), (False, "worse")) if parts[g])
        return f"{change}: {told or 'nothing that counts'}"

    def coupling(self, values: np.ndarray) -> ScrewCoupling:
        """Coupling at values (dimensions, n) of the free dimensions, with both its parts [mm for 1/16 turn], each (n,)."""
        return read_coupling(spread_over(self.design.dimensions(), self.free, values))

    def design_at(self, place: int) -> Any:
        """The design with the sizes of one point of the front."""
        return drawn(self.design, self.free, self.values[:, place])

    def __str__(self) -> str:
        looked, unfit = self.looked
        lines = [f"{self.design.name}: {looked} joints looked at, {unfit} can't be built, {self.values.shape[1]} on the front"]
        places = {"compromise": self.compromise} | ({} if self.free_gain is None else {"nothing lost": self.free_gain})
        heads = ["now", *places]
        lines.append(f"{'':<44}" + "".join(f"{h:>14}" for h in heads) + f"{'best alone':>14}")
        for i, a in enumerate(self.aims):
            cells = [self.now[i], *(self.readings[i, k] for k in places.values()), self.best[i]]
            lines.append(f"{_short(a.words) + (f' [{a.unit}]' if a.unit else ''):<44}" + "".join(f"{v:14.4g}" for v in cells))
            if a.key == "coupled":
                seen = self.coupling(np.stack([self.start, *(self.values[:, k] for k in places.values())], axis=1))
                lines += [f"  {words + ' [mm for 1/16 turn]':<42}" + "".join(f"{v:14.4g}" for v in row)
                          for words, row in (("pivot screw on a string", seen.other), ("tilt screw on it", seen.own))]
        for i, f in enumerate(self.free):
            cells = [self.start[i], *(self.values[i, k] for k in places.values())]
            lines.append(f"{_short(f.words) + f' [{f.unit}]':<44}" + "".join(f"{v:14.4g}" for v in cells))
        lines.append("None of them betters the present design: each gain has its price." if self.on_front else
                     f"{int(self.better.sum())} points of the front better the present design in something and lose in nothing.")
        if unasked := [_short(a.words) for a in AIMS if a not in self.aims]:
            lines.append(f"Not asked, and so free to get worse: {', '.join(unasked)}.")
        if first := self.changes:
            lines.append("First: " + self.said(first[0]))
        return folded(*lines)

    __repr__ = __str__


def _short(words: str) -> str:
    return words.partition(":")[0].partition(",")[0]


def _weights(aims: Sequence[Aim], given: Mapping[str, float] | None) -> np.ndarray:
    if given is not None and not isinstance(given, Mapping):
        raise ValueError(f"weights is {given!r}: give numbers by the keys of aims, of {', '.join(a.key for a in aims)}")
    for key, w in (given or {}).items():
        if key not in {a.key for a in aims}:
            raise ValueError(f"weights has no aim {key!r}; there are {', '.join(a.key for a in aims)}")
        if isinstance(w, bool) or not isinstance(w, Real) or not 0 <= w < np.inf:
            raise ValueError(f"weights[{key!r}] is {w!r}: give a number from 0 up, finite")
    found = np.array([float((given or {}).get(a.key, 1.0)) for a in aims])
    if not found.sum() > 0:
        raise ValueError("weights are all 0; at least one aim must count")
    return found


def _one_changed(start: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """The start (dimensions,) with one size changed by parts of its range, both ways, within the range: (dimensions, n)."""
    n = len(start)
    steps = PART * np.array([-2.0, -1.0, -0.5, -0.2, 0.2, 0.5, 1.0, 2.0])
    found = start[:, None, None] + ((high - low)[:, None] * np.eye(n))[:, :, None] * steps
    inside = ((found >= np.minimum(low, start)[:, None, None]) & (found <= np.maximum(high, start)[:, None, None])).all(axis=0)
    return np.asarray(found[:, inside])


def _near(values: np.ndarray, low: np.ndarray, high: np.ndarray, n: int, size: float, rng: np.random.Generator
          ) -> tuple[np.ndarray, np.ndarray]:
    """n points of the front, and where to look beside them: some of their dimensions off by ``size`` of the range or so."""
    start = values[:, rng.integers(values.shape[1], size=n)]
    off = rng.normal(scale=size, size=start.shape) * (rng.random(start.shape) < 0.5)
    return start, np.clip(start + off * (high - low)[:, None], low[:, None], high[:, None])


def search(design: Any, free: Sequence[str] | None = None, aims: Sequence[str] | None = None, *,
           weights: Mapping[str, float] | None = None, samples: int = SAMPLES, rounds: int = 4, seed: int = 1) -> Search:
    """Search the free dimensions (keys of ``search_space.FREE``, all for None) for the best trades between aims (keys of
    ``search_aims.AIMS``).

    The design with one size changed, ``samples`` to fill the box, then ``rounds`` of half as many close to the front, ever
    closer. ``weights`` [1] by aim count for the compromise and for what to change first, never for the front. Same seed, same
    front. Raises ValueError for keys, weights, counts or a seed that don't fit, and where nothing sampled can be built.
    """
    from scipy.stats import qmc

    chosen, wanted = spaces(free), aims_of(aims)
    samples, rounds = whole("samples", samples, 16, 2**20), whole("rounds", rounds, 0, 20)
    seed = whole("seed", seed, 0, 2**32 - 1)
    heavy, base = _weights(wanted, weights), design.dimensions()
    low, high = (np.array([getattr(f, end) for f in chosen]) for end in ("low", "high"))
    signs = np.array([float(a.sign) for a in wanted])
    start = present(chosen, base)

    def read(values: np.ndarray) -> np.ndarray:
        return read_aims(design, spread_over(base, chosen, values), wanted)

    cube = qmc.Sobol(len(chosen), seed=seed).random_base2(int(np.ceil(np.log2(samples))))[:samples].T
    # Besides the box: the design itself with one size changed, for what gains something and costs nothing.
    full = np.concatenate([_one_changed(start, low, high), low[:, None] + (high - low)[:, None] * cube], axis=1)
    rng = np.random.default_rng(seed)
    values, readings = np.empty((len(chosen), 0)), np.empty((len(wanted), 0))
    looked = unfit = 0
    for k in range(rounds + 1):
        tried = (full, full) if not k else _near(values, low, high, samples // 2, 0.4 / 2**k, rng)
        for _ in range(BACK if k else 1):
            able = possible(design, chosen, tried[1])
            looked, unfit = looked + len(able), unfit + int((~able).sum())
            fit = tried[1][:, able]
            if fit.shape[1]:
                values, readings = (np.concatenate([a, b], axis=1) for a, b in ((values, fit), (readings, read(fit))))
            # What can't be built goes half the way back to where it came from: so the search comes up to the rules' edge.
            tried = tried[0][:, ~able], (tried[0] + tried[1])[:, ~able] / 2
        kept = non_dominated(signs[:, None] * readings)
        values, readings = values[:, kept], readings[:, kept]
        if not values.shape[1]:
            raise ValueError(f"none of {looked} joints sampled can be built and held: free other sizes, or take more samples")
    return Search(design, chosen, wanted, heavy, values, readings, start, read(start[:, None])[:, 0],
                  aim_slopes(design, chosen, wanted), (looked, unfit))
