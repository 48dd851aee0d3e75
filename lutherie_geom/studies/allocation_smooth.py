"""The cheapest tolerances on smooth cost curves: the yield of normal errors, with its exact slopes, and a constrained search.

Along any direction from the design's reading a window is left at one distance only, and the length of a vector of
independent normal scores follows chi: averaging its distribution over directions gives a yield that is smooth in every tolerance.
Spreads of another kind are taken as normal ones of the same standard deviation; what that costs is put right by the caller.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lutherie_geom.studies.allocation_model import Curve, Problem

__all__ = ["Smooth"]


@dataclass(frozen=True)
class Found:
    """Halves ± [unit of each input], cost, yield [1], and the cost of yield at the margin [cost per 1 of yield]."""

    halves: np.ndarray
    cost: float
    share: float
    price: float


class Smooth:
    """Yield and cost of continuous tolerances."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.curves = [o for o in problem.options if isinstance(o, Curve)]
        raw = problem.scores()
        ways = problem.joined(raw / np.linalg.norm(raw, axis=0))  # chi is the length of what does not correlate
        self.way = np.concatenate([ways, -ways], axis=1)
        self.of = np.empty(problem.slopes.shape[1], dtype=int)
        for k, g in enumerate(problem.groups or ()):
            self.of[list(g)] = k
        # Standard deviation per unit of half.
        self.per = np.array([c.spread(1.0).standard_deviation for c in self.curves])

    def share(self, halves: np.ndarray) -> tuple[float, np.ndarray]:
        """Yield [1], and its slopes by every half [1 per unit of the input]."""
        from scipy.stats import chi2

        p = self.problem
        sds = (self.per * halves)[self.of]
        moved = (p.slopes * sds) @ self.way
        low, high = p.windows.room
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = np.where(moved > 0, high[:, None] / moved, low[:, None] / moved)
        reach = np.where(moved == 0, np.inf, reach)
        first = reach.argmin(axis=0)
        each = np.arange(reach.shape[1])
        r, d = reach[first, each], moved[first, each]
        n = p.slopes.shape[1]
        safe = np.where(np.isfinite(r), r, 1e6)
        density = chi2.pdf(safe**2, n) * 2 * safe
        with np.errstate(divide="ignore", invalid="ignore"):
            pull = np.where(np.isfinite(r) & (d != 0), -density * safe / d, 0.0)
        by_variable = (p.slopes[first].T * self.way * pull).mean(axis=1)
        slopes = np.bincount(self.of, by_variable, len(self.curves)) * self.per
        return float(chi2.cdf(safe**2, n).mean()), slopes

    def cost(self, halves: np.ndarray) -> float:
        """Cost of all halves together."""
        return float(sum(c.cost(t) for c, t in zip(self.curves, halves, strict=True)))

    @property
    def tightest(self) -> np.ndarray:
        """Every input at its tightest."""
        return np.array([c.tightest for c in self.curves])

    def cheapest(self, wanted: float) -> Found | None:
        """The cheapest halves that keep the yield ``wanted`` [1]; None if none were found.

        Worked in logarithms of the tolerances, and of the share that fails: both then run nearly straight.
        """
        from scipy.optimize import brentq, minimize

        low = np.log(self.tightest)
        high = np.log([c.loosest for c in self.curves])
        if self.share(np.exp(low))[0] < wanted:
            return None
        if self.share(np.exp(high))[0] >= wanted:
            return self._found(np.exp(high))
        # Start where a single window of equal weight would end: t ** (power + 2) as work over slope squared.
        room = np.minimum(-self.problem.windows.room[0], self.problem.windows.room[1])
        weight = np.bincount(self.of, ((self.problem.slopes / room[:, None]) ** 2).sum(axis=0), len(self.curves)) * self.per**2
        even = np.array([np.log(c.power * c.work / max(w, 1e-12)) / (c.power + 2)
                         for c, w in zip(self.curves, weight, strict=True)])

        def shifted(by: float) -> np.ndarray:
            return np.clip(even + by, low, high)

        by = brentq(lambda b: self.share(np.exp(shifted(b)))[0] - wanted, float((low - even).min()), float((high - even).max()))
        unit = max(self.cost(np.exp(shifted(by))) - sum(c.fixed for c in self.curves), 1e-12)

        def cost(x: np.ndarray) -> tuple[float, np.ndarray]:
            t = np.exp(x)
            return (self.cost(t) / unit, np.array([c.slope(a) * a for c, a in zip(self.curves, t, strict=True)]) / unit)

        def kept(x: np.ndarray) -> float:
            return float(np.log((1 - wanted) / max(1 - self.share(np.exp(x))[0], 1e-12)))

        def kept_slopes(x: np.ndarray) -> np.ndarray:
            y, g = self.share(np.exp(x))
            return np.asarray(g * np.exp(x) / max(1 - y, 1e-12))

        run = minimize(cost, shifted(by), jac=True, method="SLSQP", bounds=list(zip(low, high, strict=True)),
                       constraints=[{"type": "ineq", "fun": kept, "jac": kept_slopes}], options={"maxiter": 300, "ftol": 1e-10})
        x = np.clip(run.x, low, high)
        if kept(x) < 0:  # a hair outside: draw all in alike
            x = np.maximum(x - brentq(lambda b: kept(np.maximum(x - b, low)), 0.0, float((x - low).max()) + 1e-9), low)
        start = shifted(by)  # a search that went astray is not worse than where it began
        return self._found(np.exp(x if self.cost(np.exp(x)) <= self.cost(np.exp(start)) else start))

    def _found(self, halves: np.ndarray) -> Found:
        y, g = self.share(halves)
        inner = [(-c.slope(t) * t, -g_i * t) for c, t, g_i in zip(self.curves, halves, g, strict=True)
                 if c.tightest * 1.0001 < t < c.loosest * 0.9999 and g_i < 0]
        # At the best set all inner inputs give the same price; the sum over them is the steadiest of such quotients.
        price = sum(a for a, _ in inner) / sum(b for _, b in inner) if inner else float("nan")
        return Found(halves, self.cost(halves), y, price)
