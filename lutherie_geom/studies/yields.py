"""Before and after set-up: what the spreads do to each reading, and how many instruments of a hundred meet the limits.

Every instrument of a sample is read as it comes together, then its three screws are turned to their best
(:mod:`lutherie_geom.studies.setup`) and it is read again. The difference is what adjustability buys.

Whether root-sum-square agrees with the Monte Carlo interval is judged as JCGM 101 clause 8 does (from memory): both ends must
agree within half a unit of the standard uncertainty's last significant digit. One digit is taken: hundredths at the bench.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from lutherie_geom.design.limits import Limits
from lutherie_geom.design.lines import folded
from lutherie_geom.joint.dimensions import Dimensions
from lutherie_geom.joint.many import ManyReadings
from lutherie_geom.joint.pose import Pose, pose
from lutherie_geom.studies.digits import NOT_KNOWN, stable_digits
from lutherie_geom.studies.first_order import first_order
from lutherie_geom.studies.gradients import Exact, action_at, floor_least, gap_least, margin_at, reveal_least
from lutherie_geom.studies.sampling import CHUNK, Job, Run, run, uniform, whole, whole_chunk
from lutherie_geom.studies.setup import REACH_PIVOT, STEP, SetUp, best_turns, set_up
from lutherie_geom.studies.spreads import Spreads, Varying
from lutherie_geom.studies.tally import Array, Summary

__all__ = ["BeforeAfter", "Row", "before_and_after", "numerical_tolerance"]

KEYS = ("action_bass", "action_treble", "centring", "least_gap", "least_reveal", "least_floor", "margin_bass", "margin_treble",
        "over_fret_1")
COVER = 0.95
TURNED = ("tilt", "bass", "treble")
FIRST = 4096  # samples that set the histograms' range
SAMPLES = 2**21
"""Instruments read unless told otherwise: so many that any share in 100 prints with its last whole digit (see ``digits``)."""


def numerical_tolerance(standard: float, digits: int = 1) -> float:
    """Half a unit of the last of so many significant ``digits`` of a standard uncertainty [its unit] (JCGM 101, from memory)."""
    if not standard >= 0 or math.isinf(standard):
        raise ValueError(f"standard uncertainty is {standard!r}: give a finite number of 0 or more")
    return 0.0 if standard == 0 else 0.5 * 10.0 ** (math.floor(math.log10(standard)) - digits + 1)


@dataclass(frozen=True)
class Row:
    """One reading [mm]. ``limits`` (low, high), infinite for none. nominal; ``worst``: every dimension at its limit, and
    ``usual``: 95 in 100 by root-sum-square, both as it comes together; ``before`` and ``after``: the interval that holds 95 in
    100 of the sample, with their standard errors; ``agree``: root-sum-square and sample, within ``tolerance``. ``inside_before``
    and ``inside_after``: share [-] that meets the limits, with standard errors.
    """

    key: str
    words: str
    limits: tuple[float, float]
    nominal: float
    worst: tuple[float, float]
    usual: tuple[float, float]
    before: tuple[float, float]
    before_error: tuple[float, float]
    after: tuple[float, float]
    after_error: tuple[float, float]
    agree: bool
    tolerance: float
    inside_before: float
    inside_before_error: float
    inside_after: float
    inside_after_error: float
    unit: str = "mm"


@dataclass(frozen=True)
class BeforeAfter:
    """All readings before and after set-up. Shares [-] with standard errors: ``passing_before``, ``passing_after`` meet every
    limit at once, and their strings clear fret 1; ``lost`` have no setting within their stops. ``gain`` is in instruments per
    hundred, with its error. ``turned``: from and to what turn 95 in 100 of the screws (tilt, bass, treble) are turned [turn].
    """

    name: str
    rows: tuple[Row, ...]
    passing_before: float
    passing_before_error: float
    passing_after: float
    passing_after_error: float
    lost: float
    lost_error: float
    gain: float
    gain_error: float
    turned: dict[str, tuple[float, float]]
    step: float
    run: Run = field(repr=False)

    @property
    def samples(self) -> int:
        """Instruments read."""
        return self.run.samples

    def __getitem__(self, key: str) -> Row:
        for r in self.rows:
            if r.key == key:
                return r
        raise KeyError(f"no reading {key!r}; there are: {', '.join(r.key for r in self.rows)}")

    def distribution(self, key: str, after: bool = False) -> tuple[Array, Array]:
        """Edges of bins [mm] (turns [turn] for tilt, bass, treble) and the share of instruments in each [-]."""
        t = self.run.tally
        names = _names()
        wanted = f"turn_{key}" if key in TURNED else f"{key}_{'after' if after else 'before'}"
        if wanted not in names:
            raise KeyError(f"no reading {key!r}; there are: {', '.join((*KEYS, *TURNED))}")
        i = names.index(wanted)
        inner = t.histogram[i, 1:-1]
        return t.start[i] + t.width[i] * np.arange(len(inner) + 1), inner / t.samples

    def __str__(self) -> str:
        said = "" if self.run.complete else f", stopped: {self.run.asked} were asked for"
        wide = max(len(r.words) for r in self.rows) + 1
        lines = [folded(f"{self.name}: {self.samples} instruments, before and after set-up in steps of {self.step:g} turn{said}"),
                 "as put together [mm] (rss: 95 in 100 by root-sum-square; counted: 95 in 100 of the sample)",
                 f"  {'':<{wide}}{'nominal':>8}{'at worst':>16}{'rss':>16}{'counted':>16}{'agree':>8}"]
        lines += [f"  {r.words:<{wide}}{r.nominal:>8.2f}{_plain(r.worst):>16}{_plain(r.usual):>16}"
                  f"{_pair(r.before, r.before_error):>16}{'yes' if r.agree else 'no':>8}" for r in self.rows]
        lines += ["set up [mm], and how many instruments in 100 meet the limits",
                  f"  {'':<{wide}}{'95 in 100':>16}{'limits':>16}{'before':>12}{'after':>12}"]
        lines += [f"  {r.words:<{wide}}{_pair(r.after, r.after_error):>16}{_window(r.limits):>16}"
                  f"{_share(r.inside_before, r.inside_before_error):>12}{_share(r.inside_after, r.inside_after_error):>12}"
                  for r in self.rows]
        lines.append(f"  {'all limits at once':<{wide + 32}}{_share(self.passing_before, self.passing_before_error):>12}"
                     f"{_share(self.passing_after, self.passing_after_error):>12}")
        lines.append(f"adjustability buys {stable_digits(self.gain, self.gain_error, most=1)} instruments in 100; "
                     f"{_share(self.lost, self.lost_error)} in 100 have no setting within their stops")
        lines.append("screws turned, 95 in 100: " + ", ".join(f"{k} {a:+.2f} to {b:+.2f}" for k, (a, b) in self.turned.items())
                     + " turn")
        return "\n".join(lines)

    __repr__ = __str__


def _plain(pair: tuple[float, float]) -> str:
    return f"{pair[0]:.2f} to {pair[1]:.2f}"


def _pair(pair: tuple[float, float], error: tuple[float, float]) -> str:
    ends = [stable_digits(v, e, most=2) for v, e in zip(pair, error, strict=True)]
    return NOT_KNOWN if set(ends) == {NOT_KNOWN} else " to ".join(ends)


def _share(value: float, error: float) -> str:
    return stable_digits(100 * value, 100 * error, most=1)


def _window(limits: tuple[float, float]) -> str:
    low, high = limits
    return f"at least {low:g}" if math.isinf(high) else f"{low:.2f} to {high:.2f}"


def _names() -> list[str]:
    """What the model gives, in order."""
    return [*(f"{k}_before" for k in KEYS), "passes_before", *(f"{k}_after" for k in KEYS), "passes_after",
            *(f"turn_{k}" for k in TURNED)]


def _read(plan: SetUp, r: ManyReadings, passes: Array) -> list[Array]:
    return [r.action[0, 1], r.action[-1, 1], r.centring, r.least_gap, r.reveal, r.floor, r.margin[0], r.margin[1],
            r.action[:, 0].min(axis=0), passes]


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
        return np.stack([*_read(self.plan, b.before, before), *_read(self.plan, b.after, b.passes), *turned])


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
    lowest = int(plan.read(plan.nominal, np.zeros((3, 1))).action[:, 0, 0].argmin())
    middle = Exact("strings.centring", "strings off the board's middle, to treble", "mm",
                   lambda p: (bass.value(p) - treble.value(p)) / 2, centring)
    found = (action_at(0, fret), action_at(-1, fret), middle, gap_least, reveal_least, floor_least, bass, treble,
             action_at(lowest, 1))
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
    return _result(design.name, plan, spreads, bounds, found)


def _result(name: str, plan: SetUp, spreads: Spreads, bounds: dict[str, tuple[float, float]], found: Run) -> BeforeAfter:
    exact, tally = _exact(plan), found.tally
    straight = first_order(pose(plan.nominal), spreads, tuple(exact.values()))
    names = _names()
    sides = [(1 - COVER) / 2, (1 + COVER) / 2]
    ends, ends_error = tally.quantile(sides), tally.quantile_error(sides)
    share, share_error = tally.share_inside, tally.share_error
    rows = []
    for k, e, s in zip(KEYS, exact.values(), straight, strict=True):
        b, a = names.index(f"{k}_before"), names.index(f"{k}_after")
        near = numerical_tolerance(s.standard)
        agree = bool(np.all(np.abs(ends[b] - s.interval) <= near + 1e-9))
        rows.append(Row(k, _words(k, e, plan), bounds[k], s.nominal, s.worst, s.interval, _two(ends[b]), _two(ends_error[b]),
                        _two(ends[a]), _two(ends_error[a]), agree, near, float(share[b]), float(share_error[b]),
                        float(share[a]), float(share_error[a])))
    b, a, able = (names.index(k) for k in ("passes_before", "passes_after", "turn_tilt"))
    gain_error = math.hypot(share_error[a], share_error[b])
    turned = {k: _two(ends[names.index(f"turn_{k}")]) for k in TURNED}
    return BeforeAfter(name, tuple(rows), float(share[b]), float(share_error[b]), float(share[a]), float(share_error[a]),
                       float(1 - share[able]), float(share_error[able]), 100 * float(share[a] - share[b]), 100 * gain_error,
                       turned, plan.step, found)


def _two(pair: Array) -> tuple[float, float]:
    return float(pair[0]), float(pair[1])


def _words(key: str, e: Exact, plan: SetUp) -> str:
    return {"centring": "strings off centre, treble +", "least_reveal": "least reveal of the heel",
            "least_floor": "least floor clearance", "least_gap": "least gap under the tongue",
            "margin_bass": "edge margin, bass", "margin_treble": "edge margin, treble",
            "over_fret_1": "least action at fret 1"}.get(key, e.words)
