"""Before and after set-up: what the spreads do to each reading, and how many instruments of a hundred meet the limits.

Every instrument of a sample is read as it comes together, then its three screws are turned to their best
(:mod:`lutherie_geom.studies.setup`) and it is read again. The difference is what adjustability buys.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from lutherie_geom.design.limits import Limits
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.many import ManyReadings
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.studies.after import turned_sums
from lutherie_geom.studies.agreement import FINEST, agreement, tolerance_of
from lutherie_geom.studies.first_order import first_order
from lutherie_geom.studies.gradients import Exact, action_at, action_least, floor_least, gap_least, margin_at, reveal_least
from lutherie_geom.studies.sampling import CHUNK, Job, Run, run, uniform, whole, whole_chunk
from lutherie_geom.studies.setup import REACH_PIVOT, STEP, SetUp, best_turns, set_up
from lutherie_geom.studies.spreads import Spreads, Varying
from lutherie_geom.studies.tally import Array, Summary
from lutherie_geom.studies.yield_table import KEYS, TURNED, BeforeAfter, Row, model_names

__all__ = ["before_and_after"]

COVER = 0.95
FIRST = 4096  # samples that set the histograms' range
SAMPLES = 2**21
"""Instruments read unless told otherwise: so many that any share in 100 prints with its last whole digit (see ``digits``)."""


def _read(r: ManyReadings) -> list[Array]:
    return [r.action[0, 1], r.action[-1, 1], r.centring, r.least_gap, r.reveal, r.floor, r.margin[0], r.margin[1],
            r.action[:, 0].min(axis=0)]


@dataclass(frozen=True)
class _Instruments:
    """Model of even numbers u (variables, n): the instruments built, read, set up and read again, (readings, n)."""

    spreads: Spreads
    nominal: Dimensions
    plan: SetUp
    backend: str

    @cached_property
    def _varying(self) -> Varying:
        return self.spreads.varying(self.nominal)

    def __call__(self, u: Array) -> Array:
        dims, off = self._varying.built(self._varying.draw(u))
        n = u.shape[1]
        off = {k: np.broadcast_to(np.asarray(v, dtype=float), (n,)) for k, v in off.items()}
        if dims.batch == 0:  # nothing but the screws varies
            dims = dims.replaced(alpha=np.full(n, float(dims.alpha)))
        b = best_turns(self.plan, dims, **off, backend=self.backend)
        before = (self.plan.rooms(b.before, True).min(axis=0) >= 0) & (self.plan.objective(b.before) <= 1)
        turned = [np.asarray(v) - off.get(k, 0.0) for k, v in zip(TURNED, (b.tilt, b.bass, b.treble), strict=True)]
        return np.stack([*_read(b.before), before, *_read(b.after), b.passes, *turned])


def _limits(limits: Limits) -> dict[str, tuple[float, float]]:
    found = {k: (getattr(limits, k).low, getattr(limits, k).high) for k in KEYS[:3]}
    found |= {k: (getattr(limits, k), math.inf) for k in KEYS[3:6]}
    return found | {k: (limits.least_margin, math.inf) for k in KEYS[6:8]} | {KEYS[8]: (0.0, math.inf)}


def _exact(plan: SetUp) -> dict[str, Exact]:
    """Every reading with its exact slopes, for first order."""
    bass, treble = margin_at(0), margin_at(-1)

    def centring(p: Pose) -> dict[str, Any]:
        a, b = bass.slopes(p), treble.slopes(p)
        return {k: (a.get(k, 0.0) - b.get(k, 0.0)) / 2 for k in {*a, *b}}

    fret = plan.limits.fret
    middle = Exact("strings.centring", "strings off the board's middle, to treble", "mm",
                   lambda p: (bass.value(p) - treble.value(p)) / 2, centring)
    found = (action_at(0, fret), action_at(-1, fret), middle, gap_least, reveal_least, floor_least, bass, treble,
             action_least(1, plan.nominal.strings))
    return dict(zip(KEYS, found, strict=True))


def before_and_after(design: Any, spreads: Spreads | None = None, samples: int = SAMPLES, seed: int = 1, *,
                     limits: Limits | None = None, step: float = STEP, reach: float = REACH_PIVOT,
                     backend: str = "numpy", executor: Executor | None = None, fresh: Callable[[], Executor] | None = None,
                     progress: Callable[[int, int], None] | None = None, stop: threading.Event | None = None,
                     chunk: int = CHUNK) -> BeforeAfter:
    """Readings [mm] and shares of instruments that meet the limits, before and after set-up in steps of ``step`` [turn].

    ``spreads`` and ``limits`` are the design's own unless given; ``step`` and ``reach`` [turn] as in
    :func:`lutherie_geom.studies.setup.set_up`. The result depends on these, ``samples``, ``seed``, ``chunk``
    and ``backend`` ("numpy" or "compiled"), not on who computes: ``executor``, ``fresh``, ``progress``, ``stop`` as in
    :func:`lutherie_geom.studies.sampling.run`.
    """
    samples, seed, chunk = whole("samples", samples, 64, 2**30), whole("seed", seed, 0, 2**63), whole_chunk(chunk)
    spreads = Spreads.of_design(design) if spreads is None else spreads
    plan = set_up(design, limits=limits, step=step, reach=reach)
    count = len(spreads.variables(plan.nominal))
    model = _Instruments(spreads, plan.nominal, plan, backend)
    bounds = _limits(plan.limits)
    pairs = [*(bounds[k] for k in KEYS), (0.5, None), *(bounds[k] for k in KEYS), (0.5, None), *[(None, None)] * len(TURNED)]
    first = model(uniform(Job(count, seed, 0, 0, min(FIRST, samples))))
    found = run(model, count, samples, seed, executor=executor, fresh=fresh, summary=Summary.fitted(first, pairs), chunk=chunk,
                progress=progress, stop=stop)
    return _result(design, plan, spreads, bounds, found)


def _result(design: Any, plan: SetUp, spreads: Spreads, bounds: dict[str, tuple[float, float]], found: Run) -> BeforeAfter:
    exact, tally = _exact(plan), found.tally
    turned_up = turned_sums(design, plan, spreads, lambda r: np.stack(_read(r)))
    straight = first_order(pose(plan.nominal), spreads, tuple(exact.values()))
    names = model_names()
    sides = [(1 - COVER) / 2, (1 + COVER) / 2]
    ends, ends_error = tally.quantile(sides), tally.quantile_error(sides)
    share, share_error = tally.share_inside, tally.share_error
    rows = []
    for i, (k, e, s) in enumerate(zip(KEYS, exact.values(), straight, strict=True)):
        b, a = names.index(f"{k}_before"), names.index(f"{k}_after")
        sd = float(turned_up.standard[i])
        near, near_after = tolerance_of(s.standard), tolerance_of(sd) if math.isfinite(sd) else FINEST
        rows.append(Row(k, _words(k, e), bounds[k], s.nominal, s.worst, s.interval, _two(ends[b]), _two(ends_error[b]),
                        _two(ends[a]), _two(ends_error[a]), agreement(ends[b], ends_error[b], s.interval, near), near,
                        float(share[b]), float(share_error[b]), float(share[a]), float(share_error[a]), _two(turned_up.worst[i]),
                        _two(turned_up.usual[i]), agreement(ends[a], ends_error[a], turned_up.usual[i], near_after), near_after,
                        s.reason))
    b, a, able = (names.index(k) for k in ("passes_before", "passes_after", "turn_tilt"))
    gain_error = math.hypot(share_error[a], share_error[b])
    turned = {k: _two(ends[names.index(f"turn_{k}")]) for k in TURNED}
    return BeforeAfter(design.name, tuple(rows), float(share[b]), float(share_error[b]), float(share[a]), float(share_error[a]),
                       float(1 - share[able]), float(share_error[able]), 100 * float(share[a] - share[b]), 100 * gain_error,
                       turned, plan.step, plan.reach, found, design.units, spreads.idle)


def _two(pair: Array) -> tuple[float, float]:
    return float(pair[0]), float(pair[1])


def _words(key: str, e: Exact) -> str:
    return {"centring": "strings off centre, treble +", "least_reveal": "least reveal of the heel",
            "least_floor": "least floor clearance", "least_gap": "least gap under the tongue",
            "margin_bass": "edge margin, bass", "margin_treble": "edge margin, treble",
            "over_fret_1": "least action at fret 1"}.get(key, e.words)
