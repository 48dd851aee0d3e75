"""What an allocation of tolerances is asked: the choices for each input, the windows, and the straight-line model between.

Readings move by slope times deviation; each deviation follows the spread that was chosen for it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from lutherie_geom.design.spread import Spread, SpreadError

__all__ = ["AllocationError", "Choice", "Curve", "Problem", "Windows"]


class AllocationError(ValueError):
    """A question about tolerances that makes no sense or has no answer. The message names field, value, unit and range."""


def _number(value: Any, low: float, said: str, unit: str, *, above: bool = False) -> float:
    good = isinstance(value, int | float | np.number) and not isinstance(value, bool) and math.isfinite(value)
    if not good or value < low or (above and value == low):
        raise AllocationError(f"{said} is {value!r} {unit}; it must be {'more than ' if above else ''}{low:g}"
                              f"{'' if above else ' or more'} {unit}".rstrip())
    return float(value)


@dataclass(frozen=True)
class Choice:
    """One way to make an input: the process, the spread it leaves [unit of the input], what it costs [unit of cost]."""

    process: str
    spread: Spread
    cost: float

    def __post_init__(self) -> None:
        _number(self.cost, 0.0, f"{self.process}: cost", "")


@dataclass(frozen=True)
class Curve:
    """Any tolerance ± t between two ends [unit of the input], at cost = ``fixed`` + ``work`` / t ** ``power`` [unit of cost].

    ``sds``: how many standard deviations the half t is, for a normal spread.
    """

    process: str
    fixed: float
    work: float
    power: float
    tightest: float
    loosest: float
    kind: str = "normal"
    sds: float = 2.0
    unit: str = "mm"

    def __post_init__(self) -> None:
        for name, low, above in (("fixed", 0.0, False), ("work", 0.0, True), ("power", 0.0, True), ("tightest", 0.0, True)):
            _number(getattr(self, name), low, f"{self.process}: {name}", self.unit if name == "tightest" else "", above=above)
        _number(self.loosest, self.tightest, f"{self.process}: loosest", self.unit)
        self.spread(self.tightest)

    def cost(self, half: Any) -> Any:
        """Cost [unit of cost] of ± half [unit of the input]; arrays broadcast."""
        return self.fixed + self.work / half**self.power

    def slope(self, half: Any) -> Any:
        """Change of the cost per unit of the half: negative, looser is cheaper."""
        return -self.power * self.work / half ** (self.power + 1)

    def spread(self, half: float) -> Spread:
        """The spread ± half."""
        return Spread.plus_minus(float(half), self.kind, sds=self.sds, unit=self.unit)

    def choice(self, half: float) -> Choice:
        """The curve at one tolerance."""
        return Choice(self.process, self.spread(half), float(self.cost(half)))

    def choices(self, count: int = 12) -> tuple[Choice, ...]:
        """The curve as ``count`` steps of even ratio."""
        return tuple(self.choice(t) for t in np.unique(np.geomspace(self.tightest, self.loosest, count)))


@dataclass(frozen=True)
class Windows:
    """What every reading must meet: names, nominal values, lower and upper limits (± infinity where there is none), all in the
    readings' own units, one each per reading."""

    names: tuple[str, ...]
    nominal: np.ndarray
    low: np.ndarray
    high: np.ndarray

    def __post_init__(self) -> None:
        n = len(self.names)
        for key in ("nominal", "low", "high"):
            a = np.asarray(getattr(self, key), dtype=float)
            if a.shape != (n,) or np.isnan(a).any():
                raise AllocationError(f"windows: {key} must be {n} numbers, one for each of {', '.join(self.names)}")
            object.__setattr__(self, key, a)
        for k, name in enumerate(self.names):
            low, x, high = self.low[k], self.nominal[k], self.high[k]
            if not low < high:
                raise AllocationError(f"{name}: limits crossed, lower {low:g} is not below upper {high:g}")
            if math.isinf(low) and math.isinf(high):
                raise AllocationError(f"{name}: has no limit on either side; leave it out")
            if not low < x < high:
                raise AllocationError(f"{name}: the design itself reads {x:.4g}, not inside {low:.4g} to {high:.4g}; tighter "
                                      "work cannot mend that: move the design first")

    @property
    def room(self) -> np.ndarray:
        """(low, high) less the nominal, shape (2, readings)."""
        return np.stack([self.low - self.nominal, self.high - self.nominal])


@dataclass(frozen=True)
class Problem:
    """Inputs with the choices for each, and how they move the readings.

    ``slopes`` (readings, variables) [unit of reading per unit of variable]. ``groups``: which variables each input stands for;
    they are made alike, cost once and err each for itself (six saddle heights by one process). Without it an input is a
    variable. ``correlation`` (variables, variables) [1] of their normal scores. ``samples`` even points judge the yield.
    """

    names: tuple[str, ...]
    slopes: np.ndarray
    windows: Windows
    options: tuple[tuple[Choice, ...] | Curve, ...]
    groups: tuple[tuple[int, ...], ...] | None = None
    correlation: np.ndarray | None = None
    samples: int = 2**13
    seed: int = 1
    cost_unit: str = "min"
    shared: bool = field(default=False, init=False)

    def __post_init__(self) -> None:
        from lutherie_geom.design.tolerances import Group

        n, slopes = len(self.names), np.asarray(self.slopes, dtype=float)
        if n == 0:
            raise AllocationError("no inputs: give one or more with a choice of processes")
        if slopes.ndim != 2 or slopes.shape[0] != len(self.windows.names) or not np.isfinite(slopes).all():
            raise AllocationError(f"slopes of shape {slopes.shape} for {len(self.windows.names)} readings; they must be finite, "
                                  "(readings, variables)")
        groups = self.groups or tuple((k,) for k in range(slopes.shape[1]))
        taken = sorted(k for g in groups for k in g)
        if len(groups) != n or taken != list(range(slopes.shape[1])):
            raise AllocationError(f"{n} inputs, {len(groups)} groups over {slopes.shape[1]} columns of slopes: each column must "
                                  "stand in one group, and each input have one")
        if len(self.options) != n:
            raise AllocationError(f"choices for {len(self.options)} of {n} inputs")
        kept: list[tuple[Choice, ...] | Curve] = []
        for name, o in zip(self.names, self.options, strict=True):
            if not isinstance(o, Curve) and not o:
                raise AllocationError(f"{name}: no choices; give a process or a cost curve, or leave the input out")
            for s in (c.spread for c in o) if not isinstance(o, Curve) and len(o) > 1 else ():
                if s.absolute or not math.isclose(s.low, -s.high, abs_tol=1e-15):
                    raise AllocationError(f"{name}: limits {s.low:+g} {s.high:+g} {s.unit} are uneven; to choose among spreads, "
                                          "put the design's number in their middle and write ±")
            kept.append(o if isinstance(o, Curve) else tuple(o))
        if not all(isinstance(o, Curve) for o in kept):
            kept = [o.choices() if isinstance(o, Curve) else o for o in kept]
        if self.correlation is not None:
            try:
                r = Group(tuple(map(str, range(slopes.shape[1]))), self.correlation).correlation
            except SpreadError as e:
                raise AllocationError(str(e)) from None
            object.__setattr__(self, "correlation", r)
            object.__setattr__(self, "shared", bool(np.abs(r - np.eye(len(r))).max() > 0))
        if not 256 <= self.samples <= 2**20 or self.samples & (self.samples - 1):
            raise AllocationError(f"samples is {self.samples}; it must be a power of two from 256 to {2**20}")
        for key, value in (("slopes", slopes), ("groups", groups), ("options", tuple(kept))):
            object.__setattr__(self, key, value)

    @property
    def continuous(self) -> bool:
        """Whether every input has a cost curve rather than a list."""
        return isinstance(self.options[0], Curve)

    def even(self) -> np.ndarray:
        """Even numbers (variables, samples) in 0..1, the same for every set that is compared."""
        from scipy.special import ndtr

        return np.asarray(ndtr(self.joined(self.scores())))

    def scores(self) -> np.ndarray:
        """Independent normal scores (variables, samples)."""
        from scipy.special import ndtri

        from lutherie_geom.studies.sampling import Job, uniform

        return np.asarray(ndtri(uniform(Job(self.slopes.shape[1], self.seed, 0, 0, self.samples))))

    def joined(self, scores: np.ndarray) -> np.ndarray:
        """Independent normal scores made to correlate."""
        if not self.shared or self.correlation is None:
            return scores
        w, q = np.linalg.eigh(self.correlation)
        return np.asarray((q * np.sqrt(np.maximum(w, 0.0))) @ q.T @ scores)

    def variance(self, spreads: Sequence[Spread]) -> np.ndarray:
        """What each input adds to the variance of each reading, (readings, inputs) [unit of reading squared]; with correlation
        an input's share may be negative."""
        sds = np.empty(self.slopes.shape[1])
        for g, s in zip(self.groups or (), spreads, strict=True):
            sds[list(g)] = s.standard_deviation
        parts = self.slopes * sds
        pulled = parts * (parts @ self.correlation if self.correlation is not None else parts)
        return np.stack([pulled[:, list(g)].sum(axis=1) for g in self.groups or ()], axis=1)
