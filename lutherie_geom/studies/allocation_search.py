"""The cheapest set of choices that keeps a yield: a start from integer programming, exchanges, then branch and bound.

Every set is judged on the same even points, so sets are compared exactly. Branch and bound takes it that a tighter choice never
lowers the yield: true for errors that do not correlate and windows about the design's reading. Where it runs to its
end the set is the cheapest there is; where it is cut short the best set found is given, and not called proven.
"""

from __future__ import annotations

from functools import cached_property
from itertools import combinations
from typing import Any

import numpy as np

from lutherie_geom.studies.allocation_model import Choice, Problem

__all__ = ["Sampled", "cheapest"]

Set = tuple[int, ...]
CUT = 4000
"""Nodes of branch and bound after which the search is cut short: about a second."""


class Sampled:
    """Yield of any set of choices on common even points. ``effects[i][c]`` is (readings, samples) [unit of reading]."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.options: list[tuple[Choice, ...]] = [o for o in problem.options if isinstance(o, tuple)]
        self.costs = [np.array([c.cost for c in o]) for o in self.options]
        low, high = problem.windows.room
        # A joint on the very limit counts as inside, whatever the order of addition did to the last digit.
        self.low, self.high = (low - 1e-12)[:, None], (high + 1e-12)[:, None]
        u, self.effects, self.least = problem.even(), [], []
        for g, options in zip(problem.groups or (), self.options, strict=True):
            at, slopes = list(g), problem.slopes[:, list(g)]
            draws = np.stack([c.spread.draw(u[at]) for c in options])
            near = np.take_along_axis(draws, np.abs(draws).argmin(axis=0)[None], axis=0)[0]
            self.effects.append([slopes @ d for d in draws])
            self.least.append(slopes @ near)  # at least as tight as every choice, point by point

    def total(self, chosen: Set) -> np.ndarray:
        """Readings less their nominal, (readings, samples)."""
        return np.sum([e[c] for e, c in zip(self.effects, chosen, strict=True)], axis=0)

    def inside(self, moved: np.ndarray) -> float:
        """Share [1] of the points inside all windows."""
        return float(((moved >= self.low) & (moved <= self.high)).all(axis=0).mean())

    def share(self, chosen: Set) -> float:
        """Yield [1] of a set."""
        return self.inside(self.total(chosen))

    def misses(self, chosen: Set) -> np.ndarray:
        """Share [1] of the points outside each window."""
        moved = self.total(chosen)
        return np.asarray(1.0 - ((moved >= self.low) & (moved <= self.high)).mean(axis=1))

    def cost(self, chosen: Set) -> float:
        """Cost of a set."""
        return float(sum(c[k] for c, k in zip(self.costs, chosen, strict=True)))

    def looser(self, chosen: Set, i: int) -> Set:
        """The set with input ``i`` one choice cheaper; the same set where there is none."""
        cost = self.costs[i]
        cheaper = [(cost[c], -c) for c in range(len(cost)) if cost[c] < cost[chosen[i]]]
        return (*chosen[:i], -max(cheaper)[1], *chosen[i + 1:]) if cheaper else chosen

    @cached_property
    def tightest(self) -> Set:
        """The set with the highest yield: the least standard deviation everywhere, unless another kind of spread does better."""
        now = [min((c.spread.standard_deviation, c.cost, k) for k, c in enumerate(o))[2] for o in self.options]
        best, i, since = self.share(tuple(now)), 0, 0
        while since < len(now):
            rest = self.total(tuple(now)) - self.effects[i][now[i]]
            each = [self.inside(rest + e) for e in self.effects[i]]
            since += 1
            if max(each) > best:
                best, now[i], since = max(each), int(np.argmax(each)), 0
            i = (i + 1) % len(now)
        return tuple(now)


def cheapest(s: Sampled, share: float, cut: int = CUT) -> tuple[Set | None, bool]:
    """The cheapest set that keeps the ``share`` [1], and whether it is proven; None if no set was found."""
    start = [_start(s, share), s.tightest]
    able = [c for c in start if c is not None and s.share(c) >= share]
    if not able:
        return None, False
    best = min((_exchanged(s, share, c) for c in able), key=s.cost)
    best, finished = _branched(s, share, best, cut)
    return _exchanged(s, share, best), finished and not s.problem.shared


def _start(s: Sampled, share: float) -> Set | None:
    """Each window alone is a limit to a sum of variances: an integer program. How strict each must be for all to hold together is
    found by halving."""
    from scipy.optimize import Bounds, LinearConstraint, brentq, milp
    from scipy.sparse import block_diag, csr_array
    from scipy.special import ndtr

    room = s.problem.windows.room
    one: Any = block_diag([np.ones((1, len(c))) for c in s.costs])
    cost = np.concatenate(s.costs)
    spreads = [o.spread.standard_deviation for options in s.options for o in options]
    column = np.repeat(np.arange(len(s.costs)), [len(c) for c in s.costs])
    power = np.stack([(s.problem.slopes[:, list(g)] ** 2).sum(axis=1) for g in s.problem.groups or ()], axis=1)
    added = power[:, column] * np.square(spreads)
    scale = added.max(axis=1)
    scale[scale == 0] = 1.0

    def widest(low: float, high: float, kept: float) -> float:
        width = min(-low, high)

        def over(z: float) -> float:
            return float(ndtr(high * z / width) - ndtr(low * z / width)) - kept

        return float(brentq(over, 1e-6, 40.0)) if over(1e-6) < 0 else 1e-6

    def at(kept: float) -> Set | None:
        limit = np.array([(min(-lo, hi) / widest(lo, hi, kept)) ** 2 for lo, hi in room.T]) / scale
        found = milp(cost, integrality=np.ones(len(cost), dtype=int), bounds=Bounds(0, 1),
                     options={"time_limit": 2.0, "mip_rel_gap": 1e-3},
                     constraints=[LinearConstraint(one, 1, 1),
                                  LinearConstraint(csr_array(added / scale[:, None]), -np.inf, limit)])
        if found.x is None:
            return None
        picked, first = [], 0
        for c in s.costs:
            picked.append(int(np.argmax(found.x[first: first + len(c)])))
            first += len(c)
        return tuple(picked)

    best, low, high = None, max(share, 1e-3), 1.0 - (1.0 - share) / (10 * len(room.T))
    for k in range(9):
        kept = low if k == 0 else (low + high) / 2  # one window, normal errors: the first is the answer
        found = at(kept)
        if found is not None and s.share(found) >= share:
            best = found if best is None or s.cost(found) < s.cost(best) else best
            high = kept
            if k == 0:
                break
        elif found is None:
            high = kept
        else:
            low = kept
    return best


def _exchanged(s: Sampled, share: float, chosen: Set) -> Set:
    """The set after every single step and every exchange between two inputs that saves has been taken."""
    now = list(chosen)
    while True:
        total = s.total(tuple(now))
        base = s.inside(total)
        steps: list[tuple[float, float, int, int]] = []
        for i, e in enumerate(s.effects):
            rest = total - e[now[i]]
            steps += [(s.costs[i][c] - s.costs[i][now[i]], s.inside(rest + e[c]), i, c) for c in range(len(e)) if c != now[i]]
        single = min(((d, i, c) for d, y, i, c in steps if y >= share and d < -1e-9), default=None)
        if single is not None:
            now[single[1]] = single[2]
            continue
        pairs = sorted((a[0] + b[0], a, b) for a, b in combinations(steps, 2)
                       if a[2] != b[2] and a[0] + b[0] < -1e-9 and a[1] + b[1] - base >= share - 0.02)
        for _, (_, _, i, c), (_, _, j, d) in pairs[:3000]:
            moved = total - s.effects[i][now[i]] - s.effects[j][now[j]] + s.effects[i][c] + s.effects[j][d]
            if s.inside(moved) >= share:
                now[i], now[j] = c, d
                break
        else:
            return tuple(now)


def _branched(s: Sampled, share: float, best: Set, cut: int) -> tuple[Set, bool]:
    """Depth first, the weightiest input first; a branch ends where its cheapest rest is dearer than the best set, or where even
    the tightest rest loses the yield."""
    reach = [float(np.max([np.abs(e).mean(axis=1) / np.minimum(-s.low, s.high)[:, 0] for e in es])) for es in s.effects]
    order = sorted(range(len(reach)), key=lambda i: -reach[i])
    least = [s.least[i] for i in order]
    rest = [np.zeros_like(least[0])]
    for e in reversed(least):
        rest.insert(0, rest[0] + e)
    known: list[list[int]] = []
    cheapest_each = [float(s.costs[i].min()) for i in order]
    floor = sum(cheapest_each)
    top = s.cost(best)
    for k, i in enumerate(order):
        by_cost = np.argsort(s.costs[i], kind="stable")
        known.append([int(c) for c in by_cost if s.inside(rest[0] - least[k] + s.effects[i][c]) >= share
                      and floor - cheapest_each[k] + s.costs[i][c] < top - 1e-9])
    tail = [0.0]
    for k in range(len(order) - 1, -1, -1):
        tail.insert(0, tail[0] + min((float(s.costs[order[k]][c]) for c in known[k]), default=np.inf))
    state = {"nodes": 0, "top": top}
    found = list(best)
    picked = [0] * len(order)

    def down(k: int, moved: np.ndarray, cost: float) -> bool:
        if k == len(order):
            state["top"] = cost
            for j, i in enumerate(order):
                found[i] = picked[j]
            return True
        for c in known[k]:
            more = cost + float(s.costs[order[k]][c])
            if more + tail[k + 1] >= state["top"] - 1e-9:
                break  # the others of this input cost more still
            state["nodes"] += 1
            if state["nodes"] > cut:
                return False
            new = moved + s.effects[order[k]][c]
            if s.inside(new + rest[k + 1]) >= share:
                picked[k] = c
                if not down(k + 1, new, more):
                    return False
        return True

    finished = down(0, np.zeros_like(least[0]), 0.0)
    return tuple(found), finished
