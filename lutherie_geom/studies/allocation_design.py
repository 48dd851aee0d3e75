"""Allocation for a design: each number with a tolerance is a kind of feature, and the table of processes says who can make it.

The straight line goes by the exact slopes at the nominal pose. After set-up it counts what no turning of the screws can
mend; the last word has the whole joint, built and set up many times.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from itertools import combinations
from types import MappingProxyType
from typing import Any

import numpy as np

from lutherie_geom.design.limits import Limits
from lutherie_geom.design.processes import Processes, processes
from lutherie_geom.design.spread import Spread, SpreadError
from lutherie_geom.design.tolerances import bare
from lutherie_geom.joint.pose import pose
from lutherie_geom.studies.allocation import Allocation, AllocationError, Choice, Judge, Problem, Windows, allocate
from lutherie_geom.studies.gradients import action_at, floor_least, gap_least, margin_at, reveal_least
from lutherie_geom.studies.spreads import Spreads, Variable

__all__ = ["FEATURES", "after_turning", "allocation_for", "judge_for", "problem_for"]

FEATURES: Mapping[str, str] = MappingProxyType({
    **dict.fromkeys(("pivot.z", "pivot.spacing", "heel.ball_height", "tilt_screw.head_z", "tilt_screw.receiver_x",
                     "tilt_screw.receiver_z", "tongue.gap"), "hole position"),
    **dict.fromkeys(("pivot.x", "heel.ball_depth", "tilt_screw.head_x"), "hole depth"),
    **dict.fromkeys(("neck.angle", "heel.yaw", "heel.draught"), "angle"),
    **dict.fromkeys(("heel.foot_z", "heel.half_width_top", "heel.half_width_foot", "tongue.length", "tongue.width",
                     "board.width_nut", "board.width_last", "pocket.side_gap"), "outline"),
    **dict.fromkeys(("board.thickness", "tongue.wood"), "thickness"),
    **dict.fromkeys(("strings.nut_height_bass", "strings.nut_height_treble"), "nut slot"),
    **dict.fromkeys(("strings.nut_place", "strings.nut_spread", "strings.saddle_spread", "strings.bridge_shift"), "string place"),
    **dict.fromkeys(("strings.bridge_place", "strings.compensation"), "saddle position"),
    **dict.fromkeys(("board.relief", "board.fall_away.drop"), "fret line"),
    **dict.fromkeys(("board.radius_nut", "board.radius_last"), "board radius"),
    "heel.floor_clearance": "face", "pocket.depth": "pocket depth", "strings.saddle_heights": "saddle height",
    "strings.scale": "fret place",
})
"""Kind of feature that each number of a design is; a number not named here keeps its tolerance, at no cost."""
KEPT = "as in the design"
_SET = ("tilt_screw.set", "pivot.set_bass", "pivot.set_treble")


def after_turning(slopes: Any, turns: Any, windows: Windows) -> tuple[np.ndarray, Windows]:
    """What no turning of the screws can mend, as slopes (conditions, variables) and windows.

    ``slopes`` (readings, variables) and ``turns`` (readings, screws): what an error, and what a turn, does to each reading. Some
    turns bring every reading into its window exactly if each of these conditions holds: a mixture of limits, weighted so that
    turning does nothing to it, and counted in parts of its own room [1], the limit being 1 (the screws eliminated from the
    linear inequalities; a mixture takes at most one limit more than there are screws). Steps and stops are left out.
    """
    slopes, turns = np.asarray(slopes, dtype=float), np.asarray(turns, dtype=float)
    low, high = windows.room
    sides = [(r, sign, sign * end) for r in range(len(low)) for sign, end in ((1.0, high[r]), (-1.0, low[r])) if np.isfinite(end)]
    at, part = [r for r, _, _ in sides], np.array([sign / room for _, sign, room in sides])[:, None]
    turn, error = turns[at] * part, slopes[at] * part
    turn = turn / max(np.abs(turn).max(initial=0.0), 1e-300)
    mixed, names = [], []
    for size in range(1, turns.shape[1] + 2):
        picks = np.array(list(combinations(range(len(sides)), size))).reshape(-1, size)
        _, s, vt = np.linalg.svd(np.swapaxes(turn[picks], 1, 2), full_matrices=True)
        s = np.concatenate([s, np.zeros((len(s), max(size - s.shape[1], 0)))], axis=1)[:, :size]
        weights = vt[:, -1] * np.sign(vt[:, -1].sum(axis=1))[:, None]
        alone = (s[:, -1] < 1e-9) & ((s[:, -2] > 1e-9) if size > 1 else True) & (weights > 1e-9).all(axis=1)
        for pick, w in zip(picks[alone], weights[alone], strict=True):
            g = w @ error[pick] / w.sum()
            if np.abs(g).max(initial=0.0) > 1e-12:
                mixed.append(g)
                names.append(_asked({f"{windows.names[at[k]]}": sides[k][1] > 0 for k in pick}))
    n = len(names)
    return np.array(mixed).reshape(n, slopes.shape[1]), Windows(tuple(names), np.zeros(n), np.full(n, -np.inf), np.ones(n))


def _asked(sides: Mapping[str, bool]) -> str:
    """A mixture of limits in words: what is too low at once, and what too high."""
    said = [f"{' and '.join(names)} too {'high' if high else 'low'}"
            for high in (True, False) if (names := [n for n, up in sides.items() if up == high])]
    return ", while ".join(said) + (" at once" if len(sides) > 1 else "")


def _nominal(design: Any, name: str) -> float | None:
    """Size of the feature [mm], for grades that go by it; None where the design has no such single number."""
    value = design
    for part in bare(name).split("."):
        value = getattr(value, part, None)
    if isinstance(value, list):
        value = max(value)
    return abs(float(value)) if isinstance(value, int | float) else None


def _choices(design: Any, name: str, v: Variable, table: Processes, features: Mapping[str, str]) -> tuple[Choice, ...]:
    feature = features.get(name, features.get(bare(name)))
    if feature is None:
        return (Choice(KEPT, replace(v.spread, nominal=None), 0.0),)
    found = []
    for p in table.holding(feature):
        held = p.holds[feature]
        try:
            spread = held.at(_nominal(design, name))
        except SpreadError:
            continue  # a grade that does not go down or up to this size
        if spread.unit != v.spread.unit:
            raise AllocationError(f"{name}: {p.name} holds {held.spread} for {feature!r}, in {spread.unit}; it must be in "
                                  f"{v.spread.unit}")
        found.append(Choice(p.name, spread, held.minutes))
    return tuple(found)


def _owner(v: Variable, names: Any) -> str:
    return v.name if v.name in names else v.field


def problem_for(design: Any, *, table: Processes | None = None, features: Mapping[str, str] = FEATURES, set_up: bool = True,
                limits: Limits | None = None, samples: int = 2**13, seed: int = 1) -> Problem:
    """The straight-line question for a design with tolerances: which process for each, within its limits.

    ``table``: processes, the shipped ones if None. ``set_up``: whether the screws are turned to their best. SpreadError if the
    design has no tolerances; AllocationError if it misses its own limits.
    """
    from lutherie_geom.studies.first_order import first_order
    from lutherie_geom.studies.setup import limits_of
    from lutherie_geom.studies.setup import set_up as plan_of

    table = processes() if table is None else table
    limits = limits_of(design) if limits is None else limits
    own, d = Spreads.of_design(design), design.dimensions()
    names, plan = tuple(own.of), plan_of(design, limits=limits)
    p = _set_pose(plan, d) if set_up else pose(d)
    # What a turn does is what a wrong turn does: asked for along with the rest.
    turned = Spreads({**dict.fromkeys(_SET, Spread.plus_minus(0.0, unit="turn")), **own.of}, own.groups, own.common)
    every = turned.variables(d)
    asked = (action_at(0, limits.fret), action_at(-1, limits.fret), margin_at(0), margin_at(-1), gap_least, reveal_least,
             floor_least)
    read = list(first_order(p, turned, asked))
    slopes = [{c.name: c.slope for c in r.contributions} for r in read]
    g = np.array([[by[v.name] for v in every] for by in slopes])
    x = np.array([r.nominal for r in read])
    rows = ("action at the bass", "action at the treble", "centring", "least gap", "least reveal", "least floor clearance",
            "edge margin, bass", "edge margin, treble")
    mix = np.zeros((8, 7))
    for row, (column, weight) in enumerate([(0, 1), (1, 1), (2, 0.5), (4, 1), (5, 1), (6, 1), (2, 1), (3, 1)]):
        mix[row, column] = weight
    mix[2, 3] = -0.5  # centring is half of what one margin has more than the other
    g, x = mix @ g, mix @ x
    aims = [getattr(limits, n) for n in ("action_bass", "action_treble", "centring")]
    least = [limits.least_gap, limits.least_reveal, limits.least_floor, limits.least_margin, limits.least_margin]
    low = np.array([w.low for w in aims] + least)
    high = np.array([w.high for w in aims] + 5 * [np.inf])
    kept = [k for k, v in enumerate(every) if _owner(v, names) in names]
    variables = [every[k] for k in kept]
    groups = tuple(tuple(k for k, v in enumerate(variables) if _owner(v, names) == n) for n in names)
    idle = [n for n, g_ in zip(names, groups, strict=True) if not g_]
    if idle:
        raise AllocationError(f"{idle[0]}: every string of it has a tolerance of its own; leave out the one for all")
    options = tuple(_choices(design, n, variables[at_[0]], table, features) for n, at_ in zip(names, groups, strict=True))
    order = turned.correlation(d)[np.ix_(kept, kept)]
    windows, errors = Windows(rows, x, low, high), g[:, kept]
    if set_up:
        turns = g[:, [[v.name for v in every].index(n) for n in _SET]]
        errors, windows = after_turning(*_with_reach(errors, turns, windows, p, plan))
    asked_for = Problem(names, errors, windows, options, groups, order if own.groups else None, samples, seed)
    return _that_matter(asked_for) if set_up else asked_for


def _set_pose(plan: Any, d: Any) -> Any:
    """The design as drawn, its screws turned to their best."""
    from lutherie_geom.studies.setup import best_turns

    best = best_turns(plan, d.replaced(z_p=np.array([float(d.z_p)])))
    turns = {n: float(getattr(best, n)[0]) for n in ("tilt", "bass", "treble")}
    if not np.isfinite(list(turns.values())).all():
        raise AllocationError("the design itself has no setting of its screws within their stops: move the design first")
    return pose(d, **turns)


def _with_reach(errors: np.ndarray, turns: np.ndarray, windows: Windows, p: Any, plan: Any
                ) -> tuple[np.ndarray, np.ndarray, Windows]:
    """How far the screws go, as windows of their own: of the tilt screw, and of both pivot screws together [turn]."""
    low, high = ([plan.tilt[i], plan.step * end] for i, end in ((0, min(plan.ks) - 0.5), (1, max(plan.ks) + 0.5)))
    wider = Windows((*windows.names, "turn of the tilt screw", "turn of both pivot screws"),
                    np.append(windows.nominal, [p.tilt, (p.bass + p.treble) / 2]), np.append(windows.low, low),
                    np.append(windows.high, high))
    still = np.zeros((2, errors.shape[1]))
    return np.append(errors, still, axis=0), np.append(turns, [[1, 0, 0], [0, 0.5, 0.5]], axis=0), wider


def _that_matter(problem: Problem) -> Problem:
    """Without the conditions that are never met first on the way from the design as drawn to a joint built with the loosest
    work, nor those farther off than 5 standard deviations: there are dozens, and few count."""
    loosest = np.empty(problem.slopes.shape[1])
    for g, o in zip(problem.groups or (), problem.options, strict=True):
        loosest[list(g)] = max(c.spread.standard_deviation for c in o) if isinstance(o, tuple) else 0.0
    moved = (problem.slopes * loosest) @ problem.joined(problem.scores())
    first = np.bincount(moved.argmax(axis=0), minlength=len(moved)) >= 1e-3 * moved.shape[1]
    near = 5 * moved.std(axis=1) > 1
    kept = np.flatnonzero(first & near if (first & near).any() else first)
    w = problem.windows
    return replace(problem, slopes=problem.slopes[kept], windows=Windows(tuple(w.names[k] for k in kept), w.nominal[kept],
                                                                         w.low[kept], w.high[kept]))


def judge_for(design: Any, *, set_up: bool = True, limits: Limits | None = None, samples: int = 2**12, seed: int = 1) -> Judge:
    """Yield [1] of one spread per toleranced number of the design, on the whole joint, before or after set-up."""
    from lutherie_geom.joint.many import many
    from lutherie_geom.studies.sampling import Job, uniform
    from lutherie_geom.studies.setup import best_turns
    from lutherie_geom.studies.setup import set_up as plan_of

    own, d, plan = Spreads.of_design(design), design.dimensions(), plan_of(design, limits=limits)
    u = uniform(Job(len(own.variables(d)), seed, 0, 0, samples))

    def judge(spreads: tuple[Spread, ...]) -> float:
        tried = Spreads(dict(zip(own.of, spreads, strict=True)), own.groups, own.common)
        dims, turns = tried.built(d, tried.draw(d, u))
        if set_up:
            return float(best_turns(plan, dims, **turns).passes.mean())
        r = many(dims, turns["tilt"], turns["bass"], turns["treble"], frets=plan.frets)
        return float(((plan.rooms(r, True).min(axis=0) >= 0) & (plan.objective(r) <= 1)).mean())

    return judge


def allocation_for(design: Any, share: float, *, table: Processes | None = None, features: Mapping[str, str] = FEATURES,
                   set_up: bool = True, limits: Limits | None = None, samples: int = 2**12, seed: int = 1, tries: int = 8
                   ) -> Allocation:
    """The cheapest processes for the toleranced numbers of a design that keep the yield ``share`` [1] over all its limits.

    Costs are minutes of work. ``set_up``: judged after the screws are turned to their best, otherwise as put together.
    ``samples`` instruments judge each set on the whole joint. ``limits``: other ones than the design's own.
    """
    table = processes() if table is None else table
    problem = problem_for(design, table=table, features=features, set_up=set_up, limits=limits, seed=seed)
    judge = judge_for(design, set_up=set_up, limits=limits, samples=samples, seed=seed)
    found = allocate(problem, share, full=judge, tries=tries)
    used = [table[n] for n in dict.fromkeys(r.process for r in found.rows) if n in table.items]
    error = math.sqrt(share * (1 - share) / samples)  # of the judge, near what was asked for
    return replace(found, full_error=error, notes=(f"tolerances: {table.mark}; minutes: {table.minutes_mark}",
                                 *(f"{p.name}: {p.caution}" for p in used if p.caution)))
