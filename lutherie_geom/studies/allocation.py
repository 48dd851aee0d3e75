"""Allocation: the cheapest set of tolerances that keeps a stated yield, and the price of one more instrument in a hundred.

The search goes by the straight-line model; the set it finds is then judged on the full model, if one is given, and the
straight line is asked for more or less until the full model meets the yield (so may a yield after set-up be asked for).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from lutherie_geom.design.spread import Spread
from lutherie_geom.studies.allocation_model import AllocationError, Choice, Curve, Problem, Windows
from lutherie_geom.studies.allocation_result import Allocated, Allocation, PriceCurve, said
from lutherie_geom.studies.allocation_search import CUT, Sampled, cheapest
from lutherie_geom.studies.allocation_smooth import Smooth

__all__ = ["Allocated", "Allocation", "AllocationError", "Choice", "Curve", "PriceCurve", "Problem", "Windows", "allocate",
           "price_curve"]

Judge = Callable[[tuple[Spread, ...]], float]
"""Yield [1] of one spread per input, on whatever model."""


def _wanted(share: Any) -> float:
    if isinstance(share, bool) or not isinstance(share, int | float) or not 0 < share < 1:
        raise AllocationError(f"yield is {share!r}; it must be between 0 and 1, neither of them: 0.95 for 95 in 100. "
                              "No tolerance makes every instrument right")
    return float(share)


@dataclass(frozen=True)
class _Set:
    """A set found: its choices, cost and straight-line yield; ``price`` at the margin where there is one."""

    chosen: tuple[Choice, ...]
    cost: float
    share: float
    proven: bool
    price: float = math.nan
    index: tuple[int, ...] = ()

    @property
    def spreads(self) -> tuple[Spread, ...]:
        return tuple(c.spread for c in self.chosen)


class _Solver:
    """The two searches behind one door."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.smooth = Smooth(problem) if problem.continuous else None
        self.sampled = None if problem.continuous else Sampled(problem)

    def best(self) -> _Set:
        """Everything at its tightest."""
        if self.sampled is not None:
            return self._listed(self.sampled.tightest, True)
        assert self.smooth is not None
        return self._curved(self.smooth.tightest, math.nan)

    @property
    def floor(self) -> float:
        """Cost of everything at its cheapest."""
        if self.sampled is not None:
            return float(sum(c.min() for c in self.sampled.costs))
        assert self.smooth is not None
        return self.smooth.cost(np.array([c.loosest for c in self.smooth.curves]))

    def at(self, share: float, cut: int = CUT) -> _Set | None:
        """The cheapest set for a yield by the straight line."""
        if self.sampled is not None:
            found, proven = cheapest(self.sampled, share, cut)
            return None if found is None else self._listed(found, proven)
        assert self.smooth is not None
        smooth = self.smooth.cheapest(share)
        return None if smooth is None else self._curved(smooth.halves, smooth.price)

    def looser(self, found: _Set, i: int) -> _Set:
        """The set with input ``i`` one choice cheaper."""
        assert self.sampled is not None
        return self._listed(self.sampled.looser(found.index, i), False)

    def _listed(self, index: tuple[int, ...], proven: bool) -> _Set:
        s = self.sampled
        assert s is not None
        chosen = tuple(o[k] for o, k in zip(s.options, index, strict=True))
        return _Set(chosen, s.cost(index), s.share(index), proven, index=index)

    def _curved(self, halves: np.ndarray, price: float) -> _Set:
        s = self.smooth
        assert s is not None
        chosen = tuple(c.choice(t) for c, t in zip(s.curves, halves, strict=True))
        return _Set(chosen, s.cost(halves), s.share(halves)[0], True, price)

    def misses(self, found: _Set) -> np.ndarray:
        """Share [1] outside each window: sampled, or by normal errors."""
        if self.sampled is not None:
            return self.sampled.misses(found.index)
        from scipy.stats import norm

        sd = np.sqrt(np.maximum(self.problem.variance(found.spreads).sum(axis=1), 1e-300))
        low, high = self.problem.windows.room
        return np.asarray(norm.cdf(low / sd) + norm.sf(high / sd))

    def margins(self, found: _Set) -> list[tuple[float, float]]:
        """(saved, lost) by the next looser choice of each input; on a curve by a twentieth more."""
        out: list[tuple[float, float]] = []
        if (s := self.sampled) is not None:
            for i in range(len(found.index)):
                new = s.looser(found.index, i)
                out.append((found.cost - s.cost(new), found.share - s.share(new)))
            return out
        assert self.smooth is not None
        halves = np.array([c.spread.half for c in found.chosen])
        for i, curve in enumerate(self.smooth.curves):
            more = halves.copy()
            more[i] = min(1.05 * halves[i], curve.loosest)
            out.append((float(curve.cost(halves[i]) - curve.cost(more[i])), found.share - self.smooth.share(more)[0]))
        return out


def allocate(problem: Problem, share: float, *, full: Judge | None = None, tries: int = 8, cut: int = CUT) -> Allocation:
    """The cheapest set that keeps the yield ``share`` [1] over all windows jointly.

    ``full``, if given, has the last word: a function of one spread per input that gives the yield [1] on the full model, before
    or after set-up; at most 2 ``tries`` + 1 sets are judged by it. ``cut``: nodes after which the proof is given up.
    An AllocationError if the yield cannot be had, with the best there is and the inputs that stand in the way.
    """
    share, solver = _wanted(share), _Solver(problem)
    best = solver.best()
    if problem.continuous and full is None and any(s.kind != "normal" for s in best.spreads):
        full = _sampled_judge(problem)
    at_best = full(best.spreads) if full is not None else best.share
    if at_best < share:
        raise AllocationError(_unreachable(problem, solver, best, at_best, share))
    if full is None:
        found = solver.at(share, cut)
        found = found or best
        return _told(problem, solver, *_in_order(solver, found, share, None, math.nan)[:2], share, None, 0,
                     _price(solver, found, share + 0.01, cut))
    base, judged, ways = _corrected(solver, best, at_best, share, full, tries, cut)
    aim = _unscore(_score(base.share) + _score(share + 0.01) - _score(judged)) if share + 0.01 < 1 else 1.0
    price = _price(solver, base, aim, cut)
    found, judged, more = _trimmed(solver, base, judged, share, full, tries)
    found, swaps, judged = _in_order(solver, found, share, full, judged)
    return _told(problem, solver, found, swaps, share, judged, ways + more + 1, price)


def _score(share: float) -> float:
    """Normal score of a yield [1], kept finite."""
    from scipy.special import ndtri

    return float(ndtri(min(max(share, 1e-4), 1 - 1e-5)))


def _unscore(score: float) -> float:
    from scipy.special import ndtr

    return float(ndtr(score))


def _price(solver: _Solver, found: _Set, share: float, cut: int) -> float:
    """Cost of one more per cent: ``share`` is the straight line's yield with it."""
    if solver.smooth is not None:
        return found.price * 0.01
    more = solver.at(share, cut) if share < 1 else None
    return math.nan if more is None else max(more.cost - found.cost, 0.0)


def _trimmed(solver: _Solver, found: _Set, judged: float, share: float, full: Judge, tries: int) -> tuple[_Set, float, int]:
    """The set after single cheaper choices that the full model lets pass: it may rank sets otherwise than the slopes do."""
    tried: set[tuple[int, ...]] = set()
    while solver.sampled is not None and len(tried) < tries:
        offers = sorted((lost / saved, i) for i, (saved, lost) in enumerate(solver.margins(found)) if saved > 0)
        new = next((s for s in (solver.looser(found, i) for _, i in offers) if s.index not in tried), None)
        if new is None:
            break
        tried.add(new.index)
        y = full(new.spreads)
        if y >= share:
            found, judged = new, y
    return found, judged, len(tried)


def _corrected(solver: _Solver, best: _Set, at_best: float, share: float, full: Judge, tries: int, cut: int
               ) -> tuple[_Set, float, int]:
    """The straight line's aim is moved, in normal scores, by what the full model misses or has to spare, and kept between
    aims that were too low and high enough."""
    kept, kept_yield = best, at_best
    low, high = -4.0, _score(best.share)
    z, seen, stride = min(_score(share), high), {}, 1.1
    for _ in range(tries):
        found = solver.at(_unscore(z), cut)
        if found is None:
            high = min(high, z)
        else:
            stride = 2 * stride if found.spreads in seen else 1.1  # the same set again: the aim must move further
            if found.spreads not in seen:
                seen[found.spreads] = full(found.spreads)
            y = seen[found.spreads]
            if y >= share:
                if found.cost <= kept.cost:
                    kept, kept_yield = found, y
                high = min(high, z)
                if found.cost <= solver.floor + 1e-9:
                    break
            else:
                low = max(low, _score(found.share))  # any aim up to the set's own yield would give it again
        if high - low < 0.01:
            break
        step = _score(share) - _score(y) if found is not None else 0.0
        near = z + stride * step
        z = near if low + 0.1 * (high - low) < near < high - 0.002 else (low + high) / 2
    return kept, kept_yield, len(seen)


def _sampled_judge(problem: Problem) -> Judge:
    """Yield by the straight line, but with the spreads' own kinds."""
    u, (low, high) = problem.even(), problem.windows.room

    def judge(spreads: tuple[Spread, ...]) -> float:
        draws = np.empty_like(u)
        for g, s in zip(problem.groups or (), spreads, strict=True):
            draws[list(g)] = s.draw(u[list(g)])
        moved = problem.slopes @ draws
        return float(((moved >= low[:, None]) & (moved <= high[:, None])).all(axis=0).mean())

    return judge


def _in_order(solver: _Solver, found: _Set, share: float, full: Judge | None, judged: float
              ) -> tuple[_Set, tuple[tuple[int, int], ...], float]:
    """Of sets that differ only in which of two inputs is made by which process, and that no sample tells apart, the one whose
    earlier input is made the tighter way; with the pairs that may be swapped, and what the full model says of it."""
    if (s := solver.sampled) is None:
        return found, (), judged
    swaps: list[tuple[int, int]] = []
    for i, k in combinations(range(len(found.index)), 2):
        if found.index[i] == found.index[k] or s.options[i] != s.options[k]:
            continue
        other = list(found.index)
        other[i], other[k] = other[k], other[i]
        new = solver._listed(tuple(other), found.proven)
        if abs(new.share - found.share) > 2 * math.sqrt(share * (1 - share) / solver.problem.samples):
            continue
        if s.options[i][found.index[i]].cost < s.options[i][found.index[k]].cost:
            y = full(new.spreads) if full is not None else new.share
            if y < share:
                continue
            found, judged = new, y
        swaps.append((i, k))
    return found, tuple(swaps), judged


def _worst(problem: Problem, solver: _Solver, found: _Set) -> tuple[str, np.ndarray, float]:
    """The window that fails most, each input's share of its variance, and how often it fails."""
    low, high = problem.windows.room
    added = problem.variance(found.spreads)
    sd = np.sqrt(np.maximum(added.sum(axis=1), 0.0))
    misses = solver.misses(found)
    # Where several never fail, the one with the least room for its spread.
    k = max(range(len(misses)), key=lambda r: (misses[r], sd[r] / min(-low[r], high[r])))
    return problem.windows.names[k], added[k] / sd[k] ** 2 if sd[k] > 0 else np.zeros(added.shape[1]), float(misses[k])


def _unreachable(problem: Problem, solver: _Solver, best: _Set, at_best: float, share: float) -> str:
    window, shares, miss = _worst(problem, solver, best)
    by = sorted(zip(shares, problem.names, best.chosen, strict=True), key=lambda x: -x[0])[:3]
    limiting = ", ".join(f"{name} ({c.process}, {said(c.spread)}: {100 * part:.0f} % of its variance)" for part, name, c in by)
    return (f"yield of {100 * share:g} in 100 cannot be had: with every input at its tightest it is {100 * at_best:.1f}. "
            f"What fails most is {window} ({100 * miss:.1f} in 100 by the slopes), limited by {limiting}. Ask for less, find a "
            "tighter process for these, or widen the window")


def _told(problem: Problem, solver: _Solver, found: _Set, swaps: tuple[tuple[int, int], ...], share: float,
          full: float | None, ways: int, price: float) -> Allocation:
    window, shares, _ = _worst(problem, solver, found)
    rows = tuple(Allocated(n, c.process, c.spread, c.cost, float(p), *m)
                 for n, c, p, m in zip(problem.names, found.chosen, shares, solver.margins(found), strict=True))
    how = ("Lagrange multiplier: what the next small part costs, times one per cent" if problem.continuous else
           "difference to the cheapest set for one per cent more, by the slopes; sets come in jumps, another sample may find "
           "the next one")
    return Allocation(rows, share, found.share, full, found.cost, price, how, window,
                      found.proven or found.cost <= solver.floor + 1e-9, problem.cost_unit, ways,
                      math.sqrt(found.share * (1 - found.share) / problem.samples),
                      swaps=tuple((problem.names[i], problem.names[k]) for i, k in swaps))


def price_curve(problem: Problem, yields: Sequence[float] = (0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 0.98, 0.99), *, cut: int = 500
                ) -> PriceCurve:
    """Cost of the cheapest set for each of the ``yields`` [1], by the straight line."""
    solver = _Solver(problem)
    wanted = tuple(map(_wanted, yields))
    sets = [solver.at(y, cut) for y in wanted]
    costs = np.array([math.nan if s is None else s.cost for s in sets])
    # A set that keeps a higher yield keeps a lower one too: an unproven search may have missed that.
    order = np.argsort(wanted)[::-1]
    costs[order] = np.fmin.accumulate(costs[order])
    return PriceCurve(wanted, tuple(map(float, costs)), problem.cost_unit, solver.best().share)
